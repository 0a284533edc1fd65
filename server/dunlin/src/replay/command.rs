//! `dunlin replay --site site.geojson --fleet fleet.toml LOG...`

use std::{
    fs::File,
    io::{self, BufWriter, IsTerminal as _, Read, Write},
    path::{Path, PathBuf},
};

use anyhow::{Context as _, bail};
use dunlin_engine::{Setup, effect::Effect, input::FeedName, units::mps_from_kn};
use indicatif::{ProgressBar, ProgressStyle};

use super::{
    day,
    merge::Merge,
    summary::{Span, Summary},
    try_run,
};
use crate::{journal, output, setup};

/// Replays recorded logs and prints what the watch would have said, one JSON object a line.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The site: GeoJSON with areas and marks.
    #[arg(long)]
    site: Option<PathBuf>,
    /// The fleet: TOML with the boats.
    #[arg(long)]
    fleet: Option<PathBuf>,
    /// The session's wind limit, knots.
    #[arg(long, value_name = "KNOTS")]
    wind_limit: Option<f64>,
    /// Prints a table for people instead of JSON Lines.
    #[arg(long)]
    summary: bool,
    /// Also prints what was refused, as objects of the type "discard".
    #[arg(long)]
    discards: bool,
    /// Logs of NMEA sentences, merged by arrival, lines of one millisecond in the order in which the logs are
    /// given; "-" reads standard input. Or one day's file (DATA/days/2026-06-01.sqlite), which brings its own site and fleet.
    #[arg(required = true, value_name = "LOG")]
    logs: Vec<PathBuf>,
}

/// Does it.
///
/// # Errors
/// When a set-up file has errors (all are printed first) or a log cannot be read.
pub fn execute(args: Args) -> anyhow::Result<()> {
    let (mut setup, problems) = setup::load(args.site.as_deref(), args.fleet.as_deref());
    for problem in &problems {
        eprintln!("{problem}");
    }
    if setup::any_error(&problems) {
        bail!("the set-up files have errors; nothing was replayed");
    }
    setup.wind_limit_mps = args.wind_limit.map(mps_from_kn);
    if let Some(path) = args.logs.iter().find(|path| day::is_day(path)) {
        let [_] = args.logs.as_slice() else {
            bail!("a day's file is replayed by itself, without other logs")
        };
        let given = args.site.is_some() || args.fleet.is_some();
        return tell_day(&args, path, given.then_some(setup));
    }
    let bar = progress(&args.logs);
    let mut logs: Vec<(FeedName, Box<dyn Read>)> = Vec::new();
    for path in &args.logs {
        logs.push(open(path, &bar)?);
    }
    let out = io::stdout();
    let mut out = BufWriter::with_capacity(64 * 1024, out.lock());
    let told = tell(&args, setup, logs, &mut out).and_then(|()| out.flush());
    bar.finish_and_clear();
    match told {
        // Whoever read us has seen enough, as `| head` does.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        told => told.context("the replay stopped"),
    }
}

/// Tells a day's file, with its own set-up unless another is given.
fn tell_day(args: &Args, path: &Path, given: Option<Setup>) -> anyhow::Result<()> {
    let cannot = || format!("cannot replay {}: is it a day's file of this dunlin?", path.display());
    let setup = match given {
        Some(setup) => setup,
        None => journal::setup_of(path).with_context(cannot)?.with_context(cannot)?,
    };
    let fleet = setup.fleet.clone();
    let mut out = BufWriter::with_capacity(64 * 1024, io::stdout().lock());
    let mut summary = Summary::default();
    let mut span = Span::default();
    let mut failed = None;
    let counted = day::replay(path, &setup, |t, effects| {
        span.line(t);
        for effect in effects {
            if failed.is_some() {
                return;
            }
            if args.summary {
                summary.effect(t, effect);
            } else if args.discards || !matches!(effect, Effect::Discard(_)) {
                failed = writeln!(out, "{}", output::line(&fleet, t, effect)).err();
            }
        }
    })
    .with_context(cannot)?;
    if counted.unread > 0 {
        eprintln!(
            "warning: {} entries name a boat no longer in the fleet, or cannot be read",
            counted.unread
        );
    }
    if counted.damaged {
        eprintln!("warning: the file is damaged; what comes after the damage is not here");
    }
    let told = match failed {
        Some(error) => Err(error),
        None if args.summary => write!(out, "{}", summary.table(&fleet, &span)).and_then(|()| out.flush()),
        None => out.flush(),
    };
    match told {
        // Whoever read us has seen enough, as `| head` does.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        told => told.context("the replay stopped"),
    }
}

fn tell(
    args: &Args,
    setup: Setup,
    logs: Vec<(FeedName, Box<dyn Read>)>,
    out: &mut impl Write,
) -> io::Result<()> {
    let fleet = setup.fleet.clone();
    let mut merge = Merge::new(logs);
    let mut summary = Summary::default();
    let mut span = Span::default();
    let lines = merge.by_ref().inspect(|arrived| span.line(arrived.at));
    try_run(setup, lines, |t, effect| {
        if args.summary {
            summary.effect(t, effect);
        } else if args.discards || !matches!(effect, Effect::Discard(_)) {
            writeln!(out, "{}", output::line(&fleet, t, effect))?;
        }
        Ok::<(), io::Error>(())
    })?;
    if args.summary {
        write!(out, "{}", summary.table(&fleet, &span))?;
    }
    let odd = merge.oddities();
    for (count, what) in [
        (
            odd.bad_stamps,
            "lines have an arrival time that the lines around them deny; the last good one was used",
        ),
        (
            odd.late,
            "lines are stamped earlier than lines before them; they count as arriving with those (give logs of different times as separate files)",
        ),
        (odd.timeless, "lines carry no time at all and none is near; they count as arriving at the start"),
    ] {
        if count > 0 {
            eprintln!("warning: {count} {what}");
        }
    }
    match merge.failed() {
        Some((log, error)) => Err(io::Error::new(error.kind(), format!("{log}: {error}"))),
        None => Ok(()),
    }
}

/// Opens a log; `-` is standard input. Its untagged lines go by the file's stem.
fn open(path: &Path, bar: &ProgressBar) -> anyhow::Result<(FeedName, Box<dyn Read>)> {
    if path == Path::new("-") {
        let feed = FeedName("stdin".to_owned());
        return Ok((feed, Box::new(bar.wrap_read(io::stdin().lock()))));
    }
    let file = File::open(path).with_context(|| {
        format!("cannot read the log {}: check its name and that you may read it", path.display())
    })?;
    let stem = path.file_stem().unwrap_or(path.as_os_str());
    let feed = FeedName(stem.to_string_lossy().into_owned());
    Ok((feed, Box::new(bar.wrap_read(file))))
}

/// A bar over the bytes of all logs; hidden unless a person watches, and when a length is unknown.
fn progress(logs: &[PathBuf]) -> ProgressBar {
    let sizes: Option<Vec<u64>> = logs
        .iter()
        .map(|path| std::fs::metadata(path).ok().filter(|m| m.is_file()).map(|m| m.len()))
        .collect();
    let Some(sizes) = sizes.filter(|_| io::stderr().is_terminal()) else {
        return ProgressBar::hidden();
    };
    let bar = ProgressBar::new(sizes.iter().sum());
    if let Ok(style) = ProgressStyle::with_template("{bar:40} {bytes} of {total_bytes}, {eta} left") {
        bar.set_style(style);
    }
    bar
}
