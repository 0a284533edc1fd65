//! Fits the weights of signs (`server/engine/src/conditions/weights.rs`) on the fitting season, of nine waters,
//! and prints the file: `cargo run --release -p dunlin-tests --example weigh_signs > weights.rs`.
//!
//! Penalised logistic regression: each sign has a broken line through its own quantiles; a penalty on the
//! differences of neighbours keeps it smooth (Eilers and Marx 1996), one on the values keeps it small.
//! Newton's method on the normal equations; nothing is random. What is left over is looked at over every
//! pair of signs; the pairs that would explain most of it get a table each (`pairs.rs`).

mod pairs;
mod share;

use std::{collections::BTreeMap, thread};

use dunlin::setup;
use dunlin_engine::{
    Engine, Setup,
    conditions::{SIGN_NAMES, SIGNS, Sense, StopSeen},
    fleet::BoatIx,
    input::{FeedName, Input},
    moment::Moment,
};
use dunlin_sim::{Session, Truth};
use pairs::{quantiles, spot};
use share::SHARES;

/// Quantiles at which the lines may bend.
const QUANTILES: [f64; 7] = [0.01, 0.1, 0.25, 0.5, 0.75, 0.9, 0.99];
/// Penalty on the difference of neighbouring points, per squared unit of ln odds.
const ROUGHNESS: f64 = 40.0;
/// Penalty on the values themselves.
const SIZE: f64 = 5.0;
/// Signs whose weight may only rise with their value, or only fall: where the physics says so, the fit must
/// not say otherwise for the sake of a few sessions.
const RISES: [&str; 18] = [
    "fell",
    "fell m/s",
    "fell off the wind",
    "fell below",
    "short of luffing",
    "pace before",
    "wind",
    "gust",
    "heel",
    "heel lasts",
    "heel above before",
    "lies over",
    "models",
    "models lately",
    "models and way",
    "decay sharp",
    "land",
    "fleet",
];
/// See [`RISES`].
const FALLS: [&str; 9] =
    ["stands up", "decay", "took", "lies ahead", "swings", "burst", "way left", "gybe", "gathers"];
/// Penalty on a step the wrong way.
const WRONG_WAY: f64 = 1e5;
/// Each session has so many dinghies at least, before all other craft of its fleet.
const NUMBERED: u64 = 8;
/// Of those again one in so many for the tables of pairs.
const PAIRS_EVERY: usize = 4;
/// Fewer seconds than this are too few for tables of pairs: they were learnt by heart, and found less.
const PAIRS_ROWS: usize = 50_000;
/// Newton steps; it settles in some ten, as the wrong ways are found.
const STEPS: usize = 14;

#[derive(Clone)]
struct Row {
    seen: StopSeen,
    capsized: bool,
}

/// One session to be sailed.
struct Work {
    scenario: &'static str,
    seed: u64,
    /// The one boat that is heard; `None`: all.
    alone: Option<usize>,
    /// Of its seconds without heel one in so many is taken.
    every: usize,
    /// Each of those counts so often.
    times: usize,
    /// Whether its other seconds are taken.
    senses: bool,
}

/// What boats do on one water alone is learnt by heart, and so is a wind that is always told.
fn work() -> Vec<Work> {
    let mut all = Vec::new();
    for share in SHARES {
        let (every, senses) = (share.every, share.has_senses());
        let sessions = share.sessions();
        all.extend(sessions.iter().map(|&(scenario, seed)| Work {
            scenario,
            seed,
            alone: None,
            every,
            times: 1,
            senses,
        }));
        let (boats, every, times) = share.alone_boats;
        for &(scenario, seed) in sessions.iter().filter(|(scenario, _)| share.alone.contains(scenario)) {
            let boat = |n: u64| Some(((seed + 4 * n) % NUMBERED) as usize);
            all.extend((0..boats).map(|n| Work {
                scenario,
                seed,
                alone: boat(n),
                every,
                times,
                senses: false,
            }));
        }
    }
    all
}

fn main() {
    let work = work();
    let halves: Vec<Vec<Row>> = thread::scope(|scope| {
        let work = &work;
        let runs = [0, 1].map(|first| {
            let part = work.iter().skip(first).step_by(2);
            scope.spawn(move || part.flat_map(sail).collect())
        });
        runs.into_iter().map(|run| run.join().expect("a session runs to its end")).collect()
    });
    let rows: Vec<Row> = halves.into_iter().flatten().collect();
    eprintln!("{} sessions", work.len());
    println!(
        "//! The weight of each sign: value and ln odds. Written by `tests/examples/weigh_signs`, which fits them"
    );
    println!("//! on the fitting season; not to be changed by hand.\n");
    println!(
        "#![allow(clippy::approx_constant, reason = \"a weight may lie near a constant of mathematics\")]\n"
    );
    println!("use super::weigh::{{Pair, Scale, Weight}};\n");
    let mut scales = [Vec::new(), Vec::new(), Vec::new()];
    for row in rows {
        scales[row.seen.sense as usize].push(row);
    }
    let [blind, felt, sparse] = scales;
    println!("/// Where no heel is told, or none to be believed.");
    print("BLIND", blind);
    println!("\n/// Where heel can be believed.");
    print("FELT", felt);
    println!("\n/// Where fixes come every few seconds and no heel is told.");
    print("SPARSE", sparse);
}

/// One session through the engine: the seconds taken of those in which a boat afloat has lost her way.
fn sail(work: &Work) -> Vec<Row> {
    let mut session = Session::new(work.scenario, work.seed).expect("a scenario of the list");
    let (site, _) = setup::site::parse("site", &session.site_geojson());
    let (fleet, _) = setup::fleet::parse("fleet", &session.fleet_toml());
    let source = |boat: usize| fleet.get(boat).and_then(|boat| boat.sources.first());
    let heard = work.alone.and_then(source).map(|source| format!("s:{source},"));
    let names: Vec<String> = fleet.iter().map(|boat| boat.id.clone()).collect();
    let mut engine = Engine::new(Setup { site, fleet, wind_limit_mps: None });
    let feed = FeedName("log".into());
    let mut seen: Vec<(BoatIx, Moment, StopSeen)> = Vec::new();
    let mut last: BTreeMap<BoatIx, Moment> = BTreeMap::new();
    for line in session.by_ref() {
        if heard.as_ref().is_some_and(|source| !line.text.contains(source)) {
            continue;
        }
        let now = Moment(line.arrival_ms);
        let _effects = engine.on(now, Input::Line { feed: feed.clone(), line: line.text.into_bytes() });
        for (boat, at, signs) in engine.signs() {
            if last.insert(boat, at) != Some(at) {
                seen.push((boat, now, *signs));
            }
        }
    }
    let truth = session.truth();
    let labelled = seen.into_iter().filter_map(|(boat, at, seen)| {
        let capsized = state(&truth, names.get(usize::from(boat.0))?, at.0)?;
        Some(Row { seen, capsized })
    });
    let (blind, other): (Vec<Row>, Vec<Row>) = labelled.partition(|row| row.seen.sense == Sense::Blind);
    let other = other.into_iter().filter(|_| work.senses);
    let taken = blind.into_iter().step_by(work.every);
    taken.flat_map(|row| std::iter::repeat_n(row, work.times)).chain(other).collect()
}

/// Whether a boat is capsized; `None` when that is no question: ashore, or righted and not yet under way.
fn state(truth: &Truth, boat: &str, at_ms: i64) -> Option<bool> {
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

/// Where a row's values fall on the lines: index and share of each coefficient touched.
fn touched(row: &Row, lines: &[Vec<f64>], out: &mut Vec<(usize, f64)>) {
    out.clear();
    let mut start = 0;
    for (knots, &value) in lines.iter().zip(&row.seen.values) {
        let (left, share) = spot(knots, value);
        out.push((start + left, 1.0 - share));
        if share > 0.0 {
            out.push((start + left + 1, share));
        }
        start += knots.len() + 1;
    }
    out.push((start, 1.0));
}

/// Slope and bend of the loss, and the loss, summed over some rows.
struct Sums {
    slope: Vec<f64>,
    bend: Vec<Vec<f64>>,
    loss: f64,
}

fn sums(rows: &[Row], lines: &[Vec<f64>], weights: &[f64]) -> Sums {
    let count = weights.len();
    let mut sums = Sums { slope: vec![0.0; count], bend: vec![vec![0.0; count]; count], loss: 0.0 };
    let mut at = Vec::new();
    for row in rows {
        touched(row, lines, &mut at);
        let z: f64 = at.iter().map(|&(ix, share)| weights[ix] * share).sum();
        let p = 1.0 / (1.0 + (-z).exp());
        let (off, flat) = (p - f64::from(u8::from(row.capsized)), (p * (1.0 - p)).max(1e-9));
        sums.loss -= if row.capsized { p.max(1e-12).ln() } else { (1.0 - p).max(1e-12).ln() };
        // What a row touches is in ascending order.
        for (n, &(i, a)) in at.iter().enumerate() {
            sums.slope[i] += off * a;
            for &(j, b) in &at[..=n] {
                sums.bend[i][j] += flat * a * b;
            }
        }
    }
    sums
}

fn fit(rows: &[Row], lines: &[Vec<f64>]) -> Vec<f64> {
    let count = lines.iter().map(|knots| knots.len() + 1).sum::<usize>() + 1;
    let mut weights = vec![0.0; count];
    for step in 0..STEPS {
        let (one, two) = rows.split_at(rows.len() / 2);
        let (mut all, other) = thread::scope(|scope| {
            let run = scope.spawn(|| sums(two, lines, &weights));
            (sums(one, lines, &weights), run.join().expect("sums are finite"))
        });
        add_to(&mut all.slope, &other.slope);
        for (row, more) in all.bend.iter_mut().zip(&other.bend) {
            add_to(row, more);
        }
        penalise(lines, &weights, &mut all.slope, &mut all.bend);
        eprintln!("step {step}: loss {:.6} a row", (all.loss + other.loss) / rows.len() as f64);
        for (weight, by) in weights.iter_mut().zip(solve(all.bend, all.slope)) {
            *weight -= by;
        }
    }
    weights
}

fn add_to(sum: &mut [f64], more: &[f64]) {
    for (sum, more) in sum.iter_mut().zip(more) {
        *sum += more;
    }
}

fn penalise(lines: &[Vec<f64>], weights: &[f64], slope: &mut [f64], bend: &mut [Vec<f64>]) {
    let mut start = 0;
    for (knots, name) in lines.iter().zip(&SIGN_NAMES) {
        for ix in start..=start + knots.len() {
            slope[ix] += SIZE * weights[ix];
            bend[ix][ix] += SIZE;
        }
        for ix in start + 1..start + knots.len() {
            let rise = weights[ix] - weights[ix - 1];
            let wrong = (RISES.contains(name) && rise < 0.0) || (FALLS.contains(name) && rise > 0.0);
            let stiff = if wrong { WRONG_WAY } else { ROUGHNESS };
            slope[ix] += stiff * rise;
            slope[ix - 1] -= stiff * rise;
            bend[ix][ix] += stiff;
            bend[ix - 1][ix - 1] += stiff;
            bend[ix][ix - 1] -= stiff;
        }
        start += knots.len() + 1;
    }
}

/// Solves a symmetric positive system given by its lower half (Cholesky).
fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Vec<f64> {
    let n = b.len();
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = a[i][j] - (0..j).map(|k| a[i][k] * a[j][k]).sum::<f64>();
            a[i][j] = if i == j { sum.max(1e-12).sqrt() } else { sum / a[j][j] };
        }
    }
    for i in 0..n {
        b[i] = (b[i] - (0..i).map(|k| a[i][k] * b[k]).sum::<f64>()) / a[i][i];
    }
    for i in (0..n).rev() {
        b[i] = (b[i] - (i + 1..n).map(|k| a[k][i] * b[k]).sum::<f64>()) / a[i][i];
    }
    b
}

/// Fits one scale and prints it.
fn print(name: &str, rows: Vec<Row>) {
    let capsized = rows.iter().filter(|row| row.capsized).count();
    eprintln!("{name}: {} seconds looked at, {capsized} of them capsized", rows.len());
    let lines: Vec<Vec<f64>> = (0..SIGNS).map(|sign| quantiles(&rows, sign, &QUANTILES)).collect();
    let weights = fit(&rows, &lines);
    println!("#[rustfmt::skip]\npub(crate) static {name}: Scale = Scale {{");
    println!("    before: {:.3},\n    weights: &[", weights[weights.len() - 1]);
    let mut start = 0;
    for (name, knots) in SIGN_NAMES.iter().zip(&lines) {
        let points: Vec<String> = knots
            .iter()
            .zip(&weights[start..])
            .map(|(at, weight)| format!("({at:?}, {weight:.3})"))
            .collect();
        let unknown = weights[start + knots.len()];
        println!(
            "        Weight {{ sign: {name:?}, unknown: {unknown:.3}, points: &[{}] }},",
            points.join(", ")
        );
        start += knots.len() + 1;
    }
    println!("    ],");
    match rows.len() < PAIRS_ROWS {
        true => println!("    lines: &[],\n    pairs: &[],"),
        false => print_pairs(rows, &lines, &weights),
    }
    println!("}};");
}

/// Fits the tables of pairs to what the lines leave over, and prints them.
fn print_pairs(rows: Vec<Row>, lines: &[Vec<f64>], weights: &[f64]) {
    let rows: Vec<Row> = rows.into_iter().step_by(PAIRS_EVERY).collect();
    let mut at = Vec::new();
    let alone: Vec<f64> = rows
        .iter()
        .map(|row| {
            touched(row, lines, &mut at);
            at.iter().map(|&(ix, share)| weights[ix] * share).sum()
        })
        .collect();
    let tables = pairs::fit(&rows, &alone);
    println!("    lines: &[");
    for lines in &tables.lines {
        println!("        &{lines:?},");
    }
    println!("    ],\n    pairs: &[");
    for ((a, b), values) in &tables.pairs {
        let values: Vec<String> = values.iter().map(|value| format!("{value:.3}")).collect();
        let (first, second) = (SIGN_NAMES[*a], SIGN_NAMES[*b]);
        println!(
            "        Pair {{ of: ({a}, {b}), ln_odds: &[{}] }}, // {first} and {second}",
            values.join(", ")
        );
    }
    println!("    ],");
}
