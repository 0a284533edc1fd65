//! How abruptly boats that do not capsize slow down, held to recordings of real dinghies.
//!
//! Five evenings of a Laser and of small unballasted dinghies (8.8 h by their receivers' speeds, more than 80 m off the
//! landing place, made a speed a second): of 170 times that a boat lost a quarter of her way and more within 3 s, 26
//! lost 0.4 and more, two 0.5, one 0.6; 0.15, 0.01 and 0.006 of them. Tacks are most of them. Beginners in heavier boats
//! may be clumsier: they may lose half of their way so fast ten times as often, and no more.

use std::collections::{BTreeMap, VecDeque};

use dunlin_sim::{OTHER_WATERS, Reason, Season, Session, Truth, sessions};

/// Way that is looked at, m/s, and over how long it is the most, s.
const WAY_MPS: f64 = 1.2;
const WAY_S: usize = 10;
/// What counts as a slowing, and as an abrupt one: shares of the way lost within 3 s.
const SLOWS: f64 = 0.25;
const ABRUPT: [f64; 2] = [0.5, 0.6];
/// So large a part of the slowings may be abrupt.
const MAY: [f64; 2] = [0.12, 0.04];
/// Slowings closer together are one, s.
const APART_S: i64 = 15;
/// Phones that tell more than this from the truth are not what is held here.
const ODD_PHONES: &str = "second-phones";

/// Source, second and speed of a line that tells one.
fn told(line: &str) -> Option<(&str, f64)> {
    let source = line.split_once("s:")?.1.split(',').next()?;
    let rmc = line.split_once("RMC,")?.1;
    let knots: f64 = rmc.split(',').nth(6)?.parse().ok()?;
    Some((source, knots * 0.514_444))
}

/// The shares of way lost in each slowing of a boat that is neither capsized, aground, landing nor under tow.
fn slowings(scenario: &'static str, seed: u64) -> Vec<f64> {
    let mut session = Session::new(scenario, seed).expect("a scenario of the list");
    let fleet = session.fleet_toml();
    let sources: BTreeMap<String, String> = fleet
        .split("[[boat]]")
        .filter(|boat| boat.contains("role = \"dinghy\""))
        .filter_map(|boat| {
            let of = |key: &str| Some(boat.split_once(key)?.1.split('"').nth(1)?.to_owned());
            Some((of("\nsource =")?, of("\nid =")?))
        })
        .collect();
    let mut lately: BTreeMap<String, VecDeque<(i64, f64)>> = BTreeMap::new();
    let mut found: Vec<(String, i64, f64)> = Vec::new();
    for line in session.by_ref() {
        let Some((source, mps)) = told(&line.text) else { continue };
        let Some(id) = sources.get(source) else { continue };
        let past = lately.entry(id.clone()).or_default();
        past.push_back((line.arrival_ms, mps));
        if past.len() > WAY_S + 1 {
            past.pop_front();
        }
        let way_mps = past.iter().map(|(_, mps)| *mps).fold(0.0, f64::max);
        let before = past.len().checked_sub(4).and_then(|ix| past.get(ix));
        let Some((before_ms, before_mps)) = before.filter(|_| way_mps >= WAY_MPS) else { continue };
        let lost = (before_mps - mps) / way_mps;
        if lost > SLOWS && line.arrival_ms - before_ms < 4_000 {
            found.push((id.clone(), line.arrival_ms, lost));
        }
    }
    let truth = session.truth();
    found.retain(|(id, at_ms, _)| is_afloat_and_well(&truth, id, *at_ms));
    // The worst of each slowing.
    found.sort_by(|one, two| two.2.total_cmp(&one.2));
    let mut kept: Vec<(String, i64, f64)> = Vec::new();
    for slowing in found {
        if kept.iter().all(|other| other.0 != slowing.0 || (other.1 - slowing.1).abs() > APART_S * 1_000) {
            kept.push(slowing);
        }
    }
    kept.into_iter().map(|(_, _, lost)| lost).collect()
}

fn is_afloat_and_well(truth: &Truth, id: &str, at_ms: i64) -> bool {
    let near = |from_ms: i64, to_ms: i64| from_ms - 4_000 <= at_ms && at_ms <= to_ms + 4_000;
    let afloat = truth.boats.iter().find(|boat| boat.id == id).and_then(|boat| boat.afloat_from_ms);
    let hurt = [Reason::Capsized, Reason::Aground, Reason::Landing, Reason::Towed, Reason::Rafted];
    afloat.is_some_and(|from_ms| at_ms > from_ms + 60_000)
        && !truth.spells.iter().any(|spell| {
            spell.boat == id && hurt.contains(&spell.reason) && near(spell.start_ms, spell.end_ms)
        })
}

#[test]
fn no_water_slows_more_abruptly_than_recorded_dinghies_do() {
    let others = OTHER_WATERS.iter().map(|water| (water.name, water.sessions(Season::Short)));
    let waters = std::iter::once(("first", sessions(Season::Short))).chain(others);
    for (water, sessions) in waters {
        let taken = sessions.into_iter().filter(|(scenario, _)| {
            // The strange one is drawn outside what is likely, on purpose.
            *scenario != ODD_PHONES && *scenario != "second-strange"
        });
        let lost: Vec<f64> = taken.take(3).flat_map(|(scenario, seed)| slowings(scenario, seed)).collect();
        assert!(lost.len() > 100, "{water}: {} slowings", lost.len());
        for (abrupt, may) in ABRUPT.into_iter().zip(MAY) {
            let share = lost.iter().filter(|lost| **lost > abrupt).count() as f64 / lost.len() as f64;
            println!("{water}: {share:.3} of {} lose more than {abrupt}", lost.len());
            assert!(share <= may, "{water}: {share:.3} of {} lose more than {abrupt} in 3 s", lost.len());
        }
    }
}
