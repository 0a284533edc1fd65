//! Sails the fitting season and keeps whole stops, second by second, for the nets over seconds.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs::File,
    io::{self, BufWriter, Write},
    path::Path,
    sync::atomic::{AtomicUsize, Ordering},
    thread,
};

use dunlin_engine::{
    conditions::{INPUTS, Sense},
    fleet::BoatIx,
    moment::Moment,
};

use super::{
    sail::{Work, run, state, work},
    share::Share,
};

/// So long before a stop the net begins, ms.
const BEFORE_MS: i64 = 30_000;
/// The seeds of the first part are sailed in thirds, to files of their own: nets that are to differ learn different ones.
const THIRDS: [usize; 3] = [0, 1, 2];

/// One second of a boat.
struct Look {
    at: Moment,
    values: [f32; INPUTS],
    stopped: bool,
    /// Whether she was capsized; `None`: no question.
    capsized: Option<bool>,
}

/// Sails what is not in files yet.
pub fn sail_all(share: &Share, to: &Path) -> io::Result<()> {
    THIRDS.into_iter().try_for_each(|third| {
        let file = to.join(format!("{}-{}.seconds", share.water, third + 1));
        if file.exists() { Ok(()) } else { sail(share, third, &file) }
    })
}

/// Sails a third of the seeds and writes stops to a file: of each the number of seconds, and for each of them what the net
/// is told, whether she had lost her way and whether she was capsized (not a number: no question), in four bytes each.
fn sail(share: &Share, third: usize, to: &Path) -> io::Result<()> {
    let all = work(share, 0);
    let seeds: BTreeSet<u64> = all.iter().map(|work| work.seed).collect();
    let seeds: Vec<u64> = seeds.into_iter().skip(third).step_by(3).collect();
    let work: Vec<Work> = all.into_iter().filter(|work| seeds.contains(&work.seed)).collect();
    let (work, next) = (&work, &AtomicUsize::new(0));
    let sailed = |_| {
        let mut stops = Vec::new();
        while let Some(work) = work.get(next.fetch_add(1, Ordering::Relaxed)) {
            stops.push((work.seed, work.scenario, work.alone, stops_of(work)));
        }
        stops
    };
    let mut all: Vec<_> = thread::scope(|scope| {
        let runs = [0, 1].map(|core| scope.spawn(move || sailed(core)));
        runs.into_iter().flat_map(|run| run.join().expect("a session runs to its end")).collect()
    });
    all.sort_by_key(|(seed, scenario, alone, _)| (*seed, *scenario, *alone));
    let mut file = BufWriter::new(File::create(to)?);
    all.iter().try_for_each(|(.., bytes)| file.write_all(bytes))?;
    eprintln!("{}: {} sessions", share.water, work.len());
    file.flush()
}

fn stops_of(work: &Work) -> Vec<u8> {
    let mut boats: BTreeMap<BoatIx, Vec<Look>> = BTreeMap::new();
    let mut other: BTreeSet<BoatIx> = BTreeSet::new();
    let mut last: BTreeMap<BoatIx, Moment> = BTreeMap::new();
    let (names, truth) = run(work, |now, engine| {
        for (boat, second) in engine.seconds() {
            if last.insert(boat, second.at) == Some(second.at) {
                continue;
            }
            if second.stopped.is_some_and(|sense| sense != Sense::Blind) {
                other.insert(boat);
            }
            let stopped = second.stopped.is_some();
            boats.entry(boat).or_default().push(Look {
                at: now,
                values: second.values,
                stopped,
                capsized: None,
            });
        }
    });
    let mut bytes = Vec::new();
    for (boat, mut looks) in boats {
        let Some(name) = names.get(usize::from(boat.0)).filter(|_| !other.contains(&boat)) else { continue };
        looks.iter_mut().for_each(|look| look.capsized = state(&truth, name, look.at.0));
        stops(&looks).for_each(|stop| write(stop, &mut bytes));
    }
    bytes
}

/// Stretches in which every second lies within half a minute before one that is to be told.
fn stops(looks: &[Look]) -> impl Iterator<Item = &[Look]> {
    let mut until = i64::MIN;
    let mut taken: Vec<bool> = Vec::with_capacity(looks.len());
    for look in looks.iter().rev() {
        if look.stopped && look.capsized.is_some() {
            until = look.at.0 - BEFORE_MS;
        }
        taken.push(until != i64::MIN && look.at.0 >= until);
    }
    taken.reverse();
    let with: Vec<(&Look, bool)> = looks.iter().zip(taken).collect();
    let mut at = 0;
    let runs: Vec<(usize, bool)> = with
        .chunk_by(|a, b| a.1 == b.1 && b.0.at.ms_since(a.0.at) <= BEFORE_MS)
        .map(|run| (run.len(), run[0].1))
        .collect();
    runs.into_iter().filter_map(move |(seconds, taken)| {
        at += seconds;
        taken.then(|| &looks[at - seconds..at])
    })
}

fn write(stop: &[Look], to: &mut Vec<u8>) {
    to.extend((stop.len() as u32).to_le_bytes());
    for look in stop {
        let stopped = f32::from(u8::from(look.stopped));
        let capsized = look.capsized.map_or(f32::NAN, |capsized| f32::from(u8::from(capsized)));
        for value in look.values.iter().chain([&stopped, &capsized]) {
            to.extend(value.to_le_bytes());
        }
    }
}
