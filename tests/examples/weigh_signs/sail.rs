//! Sails the fitting season of a water through the engine and keeps the seconds in which a boat has lost her way.

use std::{collections::BTreeMap, io, path::Path, thread};

use dunlin::setup;
use dunlin_engine::{
    Engine, Setup,
    conditions::{Sense, StopSeen},
    fleet::BoatIx,
    input::{FeedName, Input},
    moment::Moment,
};
use dunlin_sim::{Session, Truth};

use super::{
    rows::{self, Row},
    share::{PARTS, Share},
};

/// Neighbouring seconds say the same: one in so many is kept where no heel is told, of a fleet and of a boat that is
/// heard alone.
const KEPT: usize = 3;
const KEPT_ALONE: usize = 2;
/// Each session has so many dinghies at least, before all other craft of its fleet.
const NUMBERED: u64 = 8;

/// One session to be sailed.
pub struct Work {
    pub scenario: &'static str,
    pub seed: u64,
    /// The one boat that is heard; `None`: all.
    pub alone: Option<usize>,
}

/// What boats do on one water alone is learnt by heart, and so is a wind that is always told.
pub fn work(share: &Share, part: usize) -> Vec<Work> {
    let mut all = Vec::new();
    let sessions = share.sessions(part);
    all.extend(sessions.iter().map(|&(scenario, seed)| Work { scenario, seed, alone: None }));
    for &(scenario, seed) in sessions.iter().filter(|(scenario, _)| share.alone.contains(scenario)) {
        let boat = |n: u64| Some(((seed + 4 * n) % NUMBERED) as usize);
        all.extend((0..share.alone_boats).map(|n| Work { scenario, seed, alone: boat(n) }));
    }
    all
}

/// What is kept of sessions.
#[derive(Default)]
struct Kept {
    /// Without heel: of whole fleets, and of boats heard alone.
    blind: Vec<Row>,
    alone: Vec<Row>,
    /// With heel that can be believed, and where fixes are rare.
    felt: Vec<Row>,
    sparse: Vec<Row>,
}

/// Sails what is not in files yet.
pub fn sail_all(share: &Share, to: &Path) -> io::Result<()> {
    let missing = (0..PARTS).filter(|part| !share.file(to, "alone", *part).exists());
    missing.into_iter().try_for_each(|part| sail_part(share, part, to))
}

/// Sails them on both cores and writes what is kept: a file for each kind of second.
fn sail_part(share: &Share, part: usize, to: &Path) -> io::Result<()> {
    let work = work(share, part);
    let runs: Vec<Kept> = thread::scope(|scope| {
        let work = &work;
        let runs = [0, 1].map(|first| {
            scope.spawn(move || {
                let mut kept = Kept::default();
                work.iter().skip(first).step_by(2).for_each(|work| sail(work, &mut kept));
                kept
            })
        });
        runs.into_iter().map(|run| run.join().expect("a session runs to its end")).collect()
    });
    let write = |kind: &str, of: fn(&Kept) -> &Vec<Row>| {
        let rows: Vec<Row> = runs.iter().flat_map(of).cloned().collect();
        eprintln!("{}, {kind}: {} seconds of {} sessions", share.water, rows.len(), work.len());
        rows::write(&share.file(to, kind, part), &rows)
    };
    write("blind", |kept| &kept.blind)?;
    if share.has_senses() {
        write("felt", |kept| &kept.felt)?;
        write("sparse", |kept| &kept.sparse)?;
    }
    write("alone", |kept| &kept.alone)
}

/// One session through the engine, which is looked at after each line; gives the boats' names and the truth.
pub fn run(work: &Work, mut look: impl FnMut(Moment, &Engine)) -> (Vec<String>, Truth) {
    let mut session = Session::new(work.scenario, work.seed).expect("a scenario of the list");
    let (site, _) = setup::site::parse("site", &session.site_geojson());
    let (fleet, _) = setup::fleet::parse("fleet", &session.fleet_toml());
    let source = |boat: usize| fleet.get(boat).and_then(|boat| boat.sources.first());
    let heard = work.alone.and_then(source).map(|source| format!("s:{source},"));
    let names: Vec<String> = fleet.iter().map(|boat| boat.id.clone()).collect();
    let mut engine = Engine::new(Setup { site, fleet, wind_limit_mps: None });
    let feed = FeedName("log".into());
    for line in session.by_ref() {
        if heard.as_ref().is_some_and(|source| !line.text.contains(source)) {
            continue;
        }
        let now = Moment(line.arrival_ms);
        let _effects = engine.on(now, Input::Line { feed: feed.clone(), line: line.text.into_bytes() });
        look(now, &engine);
    }
    let truth = session.truth();
    (names, truth)
}

/// One session through the engine: the seconds taken of those in which a boat afloat has lost her way.
fn sail(work: &Work, kept: &mut Kept) {
    let mut seen: Vec<(BoatIx, Moment, StopSeen)> = Vec::new();
    let mut last: BTreeMap<BoatIx, Moment> = BTreeMap::new();
    let (names, truth) = run(work, |now, engine| {
        for (boat, at, signs) in engine.signs() {
            if last.insert(boat, at) != Some(at) {
                seen.push((boat, now, *signs));
            }
        }
    });
    let labelled: Vec<(Sense, Row)> = seen
        .into_iter()
        .filter_map(|(boat, at, seen)| {
            let capsized = state(&truth, names.get(usize::from(boat.0))?, at.0)?;
            Some((seen.sense, Row { values: seen.values.map(|value| value as f32), capsized }))
        })
        .collect();
    let of = |sense: Sense, every: usize| {
        let rows = labelled.iter().filter(move |(of, _)| *of == sense).step_by(every);
        rows.map(|(_, row)| row.clone())
    };
    if work.alone.is_some() {
        return kept.alone.extend(of(Sense::Blind, KEPT_ALONE));
    }
    kept.blind.extend(of(Sense::Blind, KEPT));
    kept.felt.extend(of(Sense::Felt, 1));
    kept.sparse.extend(of(Sense::Sparse, 1));
}

/// Whether a boat is capsized; `None` when that is no question: ashore, or righted and not yet under way.
pub fn state(truth: &Truth, boat: &str, at_ms: i64) -> Option<bool> {
    let of = truth.boats.iter().find(|b| b.id == boat)?;
    let afloat = of.afloat_from_ms? <= at_ms && of.afloat_to_ms.is_none_or(|to| at_ms <= to);
    afloat.then_some(())?;
    for capsize in truth.capsizes.iter().filter(|capsize| capsize.boat == boat && capsize.start_ms <= at_ms) {
        if capsize.righted_ms.is_none_or(|righted| at_ms < righted) {
            return Some(true);
        }
        if capsize.sailing_ms.is_none_or(|sailing| at_ms < sailing + 3_000) {
            return None;
        }
    }
    Some(false)
}
