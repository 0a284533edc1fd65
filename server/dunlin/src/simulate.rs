//! `dunlin simulate`: an invented afternoon as files, with the truth beside it.

use std::{
    fs,
    io::{BufWriter, Write},
    path::PathBuf,
};

use anyhow::{Context, bail};
use dunlin_sim::{OTHER_WATERS, SCENARIOS, Session};

/// Writes an invented session: site.geojson, fleet.toml, log.nmea and truth.json.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Everything is drawn from this number: the same number gives the same bytes.
    #[arg(long)]
    pub seed: u64,
    /// What kind of afternoon; `list` prints the names.
    #[arg(long)]
    pub scenario: String,
    /// The folder to write to; made if it is not there.
    #[arg(long, default_value = ".")]
    pub out: PathBuf,
}

/// Runs the command.
///
/// # Errors
/// An unknown scenario (the known ones are named) or a file that cannot be written.
pub fn run(args: Args) -> anyhow::Result<()> {
    if args.scenario == "list" {
        for name in scenarios() {
            println!("{name}");
        }
        return Ok(());
    }
    let Some(mut session) = Session::new(&args.scenario, args.seed) else {
        let known = scenarios().join(", ");
        bail!("there is no scenario \"{}\"; the scenarios are {known}", args.scenario);
    };
    let put = |name: &str, text: &str| {
        let path = args.out.join(name);
        fs::write(&path, text).with_context(|| format!("cannot write {}", path.display()))
    };
    fs::create_dir_all(&args.out)
        .with_context(|| format!("cannot make the folder {}", args.out.display()))?;
    put("site.geojson", &session.site_geojson())?;
    put("fleet.toml", &session.fleet_toml())?;
    let path = args.out.join("log.nmea");
    let file = fs::File::create(&path).with_context(|| format!("cannot write {}", path.display()))?;
    let mut log = BufWriter::new(file);
    let mut lines = 0_u64;
    for line in session.by_ref() {
        writeln!(log, "{}\r", line.text).with_context(|| format!("cannot write {}", path.display()))?;
        lines += 1;
    }
    log.flush().with_context(|| format!("cannot write {}", path.display()))?;
    let truth = session.truth();
    put("truth.json", &serde_json::to_string_pretty(&truth)?)?;
    println!(
        "{lines} lines, {} boats, {} capsizes, in {}",
        truth.boats.len(),
        truth.capsizes.len(),
        args.out.display()
    );
    Ok(())
}

/// The names of all scenarios, of every water.
fn scenarios() -> Vec<&'static str> {
    let others = OTHER_WATERS.iter().flat_map(|water| water.scenarios);
    SCENARIOS.iter().chain(others).copied().collect()
}
