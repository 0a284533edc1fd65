//! `dunlin score`: what a watch said against what really happened.

pub mod judge;
#[cfg(test)]
mod judge_tests;
pub mod measures;
pub mod said;
pub mod table;

use std::{
    fs,
    io::{BufRead, BufReader},
    path::PathBuf,
};

use anyhow::Context;
use dunlin_sim::Truth;

/// Scores alerts (JSON Lines, as `dunlin replay` writes them) against a session's truth.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The truth file that `dunlin simulate` wrote.
    #[arg(long)]
    pub truth: PathBuf,
    /// What was said; `-` reads standard input.
    pub alerts: PathBuf,
    /// Print one JSON object instead of tables.
    #[arg(long)]
    pub json: bool,
    /// Also list each miss and each false alert.
    #[arg(long)]
    pub list: bool,
}

/// Runs the command.
///
/// # Errors
/// A file that cannot be read, or a line that is not of the published form (named by its number).
pub fn run(args: Args) -> anyhow::Result<()> {
    let text =
        fs::read_to_string(&args.truth).with_context(|| format!("cannot read {}", args.truth.display()))?;
    let truth: Truth = serde_json::from_str(&text)
        .with_context(|| format!("{} is not a truth file", args.truth.display()))?;
    let reader: Box<dyn BufRead> = if args.alerts.as_os_str() == "-" {
        Box::new(BufReader::new(std::io::stdin()))
    } else {
        let file =
            fs::File::open(&args.alerts).with_context(|| format!("cannot read {}", args.alerts.display()))?;
        Box::new(BufReader::new(file))
    };
    let mut gatherer = said::Gatherer::default();
    for (n, line) in reader.lines().enumerate() {
        let place = || format!("{} line {}", args.alerts.display(), n + 1);
        gatherer.take(&line.with_context(place)?).with_context(place)?;
    }
    let measures = judge::judge(&truth, &gatherer.finish());
    if args.json {
        println!("{}", serde_json::to_string_pretty(&measures)?);
        return Ok(());
    }
    print!("{}{}", table::table(&measures, None), table::details(&measures));
    print!("{}", table::remaining(&measures));
    if args.list {
        print!("\n{}", table::findings(&measures));
    }
    Ok(())
}
