//! `dunlin season`: many simulated afternoons through the watch and through the naive rule, scored side by
//! side in one process.

use std::{
    collections::BTreeMap,
    sync::{
        Mutex,
        atomic::{AtomicUsize, Ordering},
    },
};

use anyhow::{Context, anyhow, bail};
use clap::builder::{PossibleValue, PossibleValuesParser};
use dunlin_engine::{Setup, effect::Effect, input::FeedName, moment::Moment};
use dunlin_sim::{OTHER_WATERS, OtherWater, SCENARIOS, Season, Session, Truth, sessions};

use crate::{
    naive::Naive,
    output,
    replay::{self, merge::Arrived},
    score::{
        judge::judge,
        measures::Measures,
        said::Gatherer,
        table::{self, Row, figure},
    },
    setup,
};

/// The water that is sailed unless another is asked for.
const FIRST: &str = "first";
/// The floors of the short season there: a figure's key, then the value it must not be worse than.
const FLOORS: &str = include_str!("../../sim/seeds/floors.txt");

/// Scores the watch on a season of simulated sessions, with the naive rule beside it.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The judging seeds (the default): for the verdict, never for tuning.
    #[arg(long, conflicts_with_all = ["tune", "short"])]
    pub judge: bool,
    /// The tuning seeds.
    #[arg(long, conflicts_with = "short")]
    pub tune: bool,
    /// A few sessions; fails when a figure falls below its floor.
    #[arg(long)]
    pub short: bool,
    /// On which water.
    #[arg(long, default_value = FIRST, value_parser = waters())]
    pub water: String,
    /// Only these scenarios (repeat it).
    #[arg(long)]
    pub scenario: Vec<String>,
    /// Only this seed, whatever the season's file says.
    #[arg(long)]
    pub seed: Option<u64>,
    /// Lists each remaining miss and false alert.
    #[arg(long)]
    pub list: bool,
    /// Prints one JSON object of all raw figures instead of tables.
    #[arg(long)]
    pub json: bool,
    /// Sessions at a time.
    #[arg(long, default_value_t = 2)]
    pub threads: usize,
}

/// The waters there are, as the command line takes and explains them.
fn waters() -> PossibleValuesParser {
    let first = PossibleValue::new(FIRST).help("whole afternoons with marks, zones and a landing place");
    let others = OTHER_WATERS.iter().map(|water| PossibleValue::new(water.name).help(water.about));
    PossibleValuesParser::new(std::iter::once(first).chain(others))
}

/// One session's figures: the watch's and the naive rule's.
struct Scored {
    scenario: &'static str,
    watch: Measures,
    naive: Measures,
}

/// Runs the command.
///
/// # Errors
/// An unknown scenario, a session that cannot be set up, or (short season) a figure below its floor.
pub fn run(args: Args) -> anyhow::Result<()> {
    let season = if args.short {
        Season::Short
    } else if args.tune {
        Season::Tuning
    } else {
        Season::Judging
    };
    let other = OtherWater::named(&args.water);
    let (names, mut work, floors) = match other {
        None => (&SCENARIOS[..], sessions(season), FLOORS),
        Some(water) => (water.scenarios, water.sessions(season), water.floors),
    };
    if let Some(seed) = args.seed {
        work = names.iter().map(|name| (*name, seed)).collect();
    }
    if !args.scenario.is_empty() {
        for name in &args.scenario {
            if !names.contains(&name.as_str()) {
                bail!("there is no scenario \"{name}\" here; the scenarios are {}", names.join(", "));
            }
        }
        work.retain(|(name, _)| args.scenario.iter().any(|wanted| wanted == name));
    }
    let scored = sail_all(&work, args.threads.max(1))?;
    let (mut watch, mut naive) = (Measures::default(), Measures::default());
    let mut rows: BTreeMap<&str, (Measures, Measures)> = BTreeMap::new();
    for one in &scored {
        watch.add(&one.watch);
        naive.add(&one.naive);
        let row = rows.entry(one.scenario).or_default();
        row.0.add(&one.watch);
        row.1.add(&one.naive);
    }
    if args.json {
        println!("{}", serde_json::to_string(&serde_json::json!({ "watch": watch, "naive": naive }))?);
    } else {
        let water = other.map(|water| format!(", {} water", water.name)).unwrap_or_default();
        println!("Season: {season:?} seeds{water}\n\n{}", table::table(&watch, Some(("naive", &naive))));
        print!("{}", by_scenario(&rows));
        print!("{}{}", table::details(&watch), table::remaining(&watch));
        print!("{}", with_and_without_instrument(&rows));
        if args.list {
            print!("\n{}", table::findings(&watch));
        }
    }
    if args.short { hold_floors(floors, &table::rows(&watch)) } else { Ok(()) }
}

/// Sails all sessions, a few at a time; the order of the result is that of `work` whatever the threads do.
fn sail_all(work: &[(&'static str, u64)], threads: usize) -> anyhow::Result<Vec<Scored>> {
    let next = AtomicUsize::new(0);
    let results: Mutex<BTreeMap<usize, anyhow::Result<Scored>>> = Mutex::new(BTreeMap::new());
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let n = next.fetch_add(1, Ordering::Relaxed);
                    let Some((scenario, seed)) = work.get(n) else { return };
                    let scored = sail(scenario, *seed);
                    eprint!("\r{}/{} sessions ", n + 1, work.len());
                    if let Ok(mut results) = results.lock() {
                        results.insert(n, scored);
                    }
                }
            });
        }
    });
    eprintln!();
    let results = results.into_inner().map_err(|_| anyhow!("a session panicked"))?;
    if results.len() != work.len() {
        bail!("a session did not finish");
    }
    results.into_values().collect()
}

/// One session through both watches.
fn sail(scenario: &'static str, seed: u64) -> anyhow::Result<Scored> {
    let mut session =
        Session::new(scenario, seed).ok_or_else(|| anyhow!("there is no scenario \"{scenario}\""))?;
    let (site, fleet) = (session.site_geojson(), session.fleet_toml());
    let setup = read(&site, &fleet).with_context(|| format!("{scenario} {seed}"))?;
    let boats = setup.fleet.clone();
    let mut naive = Naive::new(&site, &fleet)?;
    let (mut said, mut naively) = (Gatherer::default(), Gatherer::default());
    let mut trouble = None;
    let feed = FeedName("log".into());
    let lines = session.by_ref().map(|line| {
        for said in naive.hear(&line.text) {
            trouble = trouble.take().or(naively.take(&said).err());
        }
        Arrived {
            at: Moment(line.arrival_ms),
            feed: feed.clone(),
            line: line.text.into_bytes(),
            too_long: false,
        }
    });
    replay::try_run(setup, lines, |t, effect| {
        if matches!(effect, Effect::Discard(_)) {
            return Ok(());
        }
        said.take(&output::line(&boats, t, effect))
    })?;
    if let Some(error) = trouble {
        return Err(error);
    }
    let truth: Truth = session.truth();
    Ok(Scored { scenario, watch: judge(&truth, &said.finish()), naive: judge(&truth, &naively.finish()) })
}

fn read(site: &str, fleet: &str) -> anyhow::Result<Setup> {
    let (site, mut problems) = setup::site::parse("site.geojson", site);
    let (fleet, more) = setup::fleet::parse("fleet.toml", fleet);
    problems.extend(more);
    if setup::any_error(&problems) {
        let all: Vec<String> = problems.iter().map(ToString::to_string).collect();
        bail!("the simulated set-up has errors: {}", all.join("; "));
    }
    Ok(Setup { site, fleet, wind_limit_mps: None })
}

/// The figures that differ most between scenarios, one row each.
fn by_scenario(rows: &BTreeMap<&str, (Measures, Measures)>) -> String {
    let keys = [
        "long-alive",
        "any-alert",
        "within-30",
        "within-60",
        "delay-median",
        "delay-p90",
        "false",
        "cautions",
        "false-seconds",
        "clear-median",
        "tack-recall",
        "tack-precision",
        "gybe-recall",
        "gybe-precision",
    ];
    let mut text = format!(
        "\n| scenario | hours | capsizes | {} | naive found 60 s | naive false |\n|{}\n",
        keys.join(" | "),
        " --- |".repeat(keys.len() + 5)
    );
    for (name, (watch, naive)) in rows {
        let all = table::rows(watch);
        let value = |rows: &[Row], key: &str| {
            figure(rows.iter().find(|row| row.key == key).and_then(|row| row.value))
        };
        let cells: Vec<String> = keys.iter().map(|key| value(&all, key)).collect();
        let naive = table::rows(naive);
        text += &format!(
            "| {name} | {:.0} | {} | {} | {} | {} |\n",
            watch.boat_hours,
            watch.capsizes,
            cells.join(" | "),
            value(&naive, "within-60"),
            value(&naive, "false")
        );
    }
    text
}

/// Manoeuvres and capsizes where there is no wind instrument, against everywhere else.
fn with_and_without_instrument(rows: &BTreeMap<&str, (Measures, Measures)>) -> String {
    let (mut with, mut without) = (Measures::default(), Measures::default());
    for (name, (watch, _)) in rows {
        if *name == "no-instrument" { without.add(watch) } else { with.add(watch) }
    }
    let mut text = String::from("\n| figure | with instrument | without |\n| --- | --- | --- |\n");
    let keys = [
        "long-alive",
        "within-30",
        "within-60",
        "false",
        "tack-precision",
        "tack-recall",
        "gybe-precision",
        "gybe-recall",
        "wind-instrument",
        "wind-fleet",
        "wind-fleet-sd",
    ];
    for (a, b) in table::rows(&with).iter().zip(table::rows(&without)) {
        if keys.contains(&a.key) {
            text += &format!("| {} | {} | {} |\n", a.name, figure(a.value), figure(b.value));
        }
    }
    text
}

/// Fails when a figure is worse than its floor; a figure that cannot be measured has no floor.
fn hold_floors(floors: &str, rows: &[Row]) -> anyhow::Result<()> {
    let mut below = Vec::new();
    for line in floors.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#')) {
        let (key, floor) = line
            .split_once(char::is_whitespace)
            .with_context(|| format!("floors: \"{line}\" is not a key and a number"))?;
        let floor: f64 = floor.trim().parse().with_context(|| format!("floors: \"{line}\" has no number"))?;
        let row = rows
            .iter()
            .find(|row| row.key == key)
            .with_context(|| format!("floors: there is no figure \"{key}\""))?;
        let Some(value) = row.value else { bail!("{}: nothing to measure in this season", row.name) };
        let holds = if row.up { value >= floor } else { value <= floor };
        if !holds {
            below.push(format!(
                "{}: {} against the floor of {}",
                row.name,
                figure(Some(value)),
                figure(Some(floor))
            ));
        }
    }
    if below.is_empty() { Ok(()) } else { bail!("below the floor:\n  {}", below.join("\n  ")) }
}
