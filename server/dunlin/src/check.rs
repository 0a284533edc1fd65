//! `dunlin check`: all that is wrong with the set-up files, at once.

use std::path::PathBuf;

use crate::{
    config::Config,
    setup::{self, Problem, Severity},
};

/// Says all that is wrong with the set-up files: file, line and remedy.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The configuration; the site and the fleet that it names are checked with it.
    #[arg(long, required_unless_present_any = ["site", "fleet"])]
    config: Option<PathBuf>,
    /// A site file to check by itself.
    #[arg(long)]
    site: Option<PathBuf>,
    /// A fleet file to check by itself.
    #[arg(long)]
    fleet: Option<PathBuf>,
}

/// Checks and prints; `false` when anything was found. Here a warning is an error too: whoever asks
/// wants to know that a key was misspelt.
pub fn execute(args: Args) -> bool {
    let problems = problems(&args);
    for problem in &problems {
        println!("{problem}");
    }
    match problems.len() {
        0 => println!("The set-up is sound."),
        1 => println!("1 problem found."),
        count => println!("{count} problems found."),
    }
    problems.is_empty()
}

fn problems(args: &Args) -> Vec<Problem> {
    let mut problems = Vec::new();
    let mut site = args.site.clone();
    let mut fleet = args.fleet.clone();
    if let Some(path) = &args.config {
        let (config, found) = Config::load(path);
        problems.extend(found);
        problems.extend(missing_files(&config));
        site = site.or(config.site);
        fleet = fleet.or(config.fleet);
    }
    let (_, found) = setup::load(site.as_deref(), fleet.as_deref());
    problems.extend(found);
    for problem in &mut problems {
        problem.severity = Severity::Error;
    }
    problems
}

/// Files that only the running server would open.
fn missing_files(config: &Config) -> Vec<Problem> {
    let own = config.hub.https.iter().filter_map(|https| https.own.as_ref());
    let own = own.flat_map(|(certificate, key)| [("certificate", certificate), ("key", key)]);
    let map = config.hub.base_map.iter().map(|path| ("base_map", path));
    own.chain(map)
        .filter(|(_, path)| !path.is_file())
        .map(|(key, path)| Problem {
            severity: Severity::Error,
            file: path.display().to_string(),
            line: None,
            what: "is not there".to_owned(),
            remedy: format!("correct {key} in the configuration, or put the file there"),
        })
        .collect()
}
