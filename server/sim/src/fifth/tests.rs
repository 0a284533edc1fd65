//! What must hold of the fifth water.

use super::*;
use crate::{
    plane::{kn, mps},
    session::Session,
    truth::{Reason, Spell},
};

/// Sails a session to its end and shows each boat after each step.
fn sailed(scenario: &'static str, seed: u64, mut see: impl FnMut(&FifthWater, &Boat)) -> Truth {
    let mut water = FifthWater::new(scenario, seed, seed.wrapping_mul(104_729), 0);
    while !water.is_over() {
        water.step();
        if water.t_s() < LASTS_S {
            water.boats.iter().for_each(|boat| see(&water, boat));
        }
    }
    water.finish()
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let sail = |seed| {
        let mut session = Session::new("fifth-tidal", seed).expect("a known scenario");
        let files = (session.site_geojson(), session.fleet_toml());
        let log: Vec<Line> = session.by_ref().collect();
        (files, log, serde_json::to_string(&session.truth()).expect("truth is JSON"))
    };
    let once = sail(3);
    assert!(once == sail(3), "two runs of one seed differ");
    assert!(once != sail(4), "another seed is another afternoon");
}

#[test]
fn every_capsize_lies_inside_its_spell() {
    for (scenario, seed) in FIFTH_WATER.into_iter().zip([17, 18, 19]) {
        let truth = sailed(scenario, seed, |_, _| {});
        let over = || truth.spells.iter().filter(|spell| spell.reason == Reason::Capsized);
        assert_eq!(over().count(), truth.capsizes.len(), "{scenario}");
        for capsize in &truth.capsizes {
            let end_ms = capsize.righted_ms.unwrap_or(truth.end_ms);
            let fits = |spell: &&Spell| {
                (&spell.boat, spell.start_ms, spell.end_ms) == (&capsize.boat, capsize.start_ms, end_ms)
            };
            assert_eq!(over().filter(fits).count(), 1, "{scenario}: {capsize:?}");
            assert!(capsize.righted_ms.is_none() || end_ms - capsize.start_ms >= 12_000, "{capsize:?}");
            assert!(capsize.sailing_ms.is_none_or(|sailing_ms| sailing_ms > end_ms), "{capsize:?}");
        }
    }
}

#[test]
fn speeds_are_sane() {
    for (scenario, seed) in FIFTH_WATER.into_iter().zip([7, 8, 9]) {
        let (mut sum_mps, mut n) = (0.0, 0.0);
        sailed(scenario, seed, |_, boat| {
            let through_mps = boat.hull.through.length();
            assert!(through_mps < mps(11.0), "{scenario}: {} kn", kn(through_mps));
            assert!(boat.hull.way_mps > -0.8, "{scenario}: {} astern", boat.hull.way_mps);
            assert!(boat.hull.at.length() < 1_500.0, "{scenario}: {} left the water", boat.id);
            if boat.is_sailing() {
                (sum_mps, n) = (sum_mps + through_mps, n + 1.0);
            }
        });
        let mean_kn = kn(sum_mps / n);
        assert!((1.5..4.5).contains(&mean_kn), "{scenario}: {mean_kn} kn under sail");
    }
}

#[test]
fn every_line_parses() {
    for scenario in FIFTH_WATER {
        let (mut last_ms, mut vane) = (i64::MIN, false);
        for line in Session::new(scenario, 21).expect("a known scenario").take(12_000) {
            assert!(line.arrival_ms >= last_ms, "lines stand in order of arrival");
            last_ms = line.arrival_ms;
            let sentence = line.text.rsplit('\\').next().expect("a sentence after its TAG block");
            assert!(nmea::parse_str(sentence).is_ok(), "{sentence}");
            vane |= sentence.contains("MWV");
        }
        assert_eq!(vane, scenario != "fifth-no-vane");
    }
}
