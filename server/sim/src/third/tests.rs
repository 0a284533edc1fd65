//! What must hold of the third water.

use std::collections::BTreeSet;

use super::*;
use crate::{
    plane::kn,
    session::Session,
    third::hull::{Hands, Hull},
    truth::Reason,
};

/// 2026-06-01, 10:00 UTC.
const START_MS: i64 = 1_780_308_000_000;

fn sailed(scenario: &str, seed: u64) -> (Vec<Line>, Truth) {
    let mut session = Session::new(scenario, seed).expect("a known scenario");
    let log = session.by_ref().collect();
    (log, session.truth())
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let bytes = |seed| {
        let (log, truth) = sailed("third-gusty", seed);
        (log, serde_json::to_string(&truth).expect("truth is JSON"))
    };
    let (one, two) = (bytes(7), bytes(7));
    assert!(one == two, "two runs of one seed differ");
    assert!(one.0 != bytes(8).0, "another seed is another afternoon");
}

#[test]
fn every_capsize_is_a_spell_and_no_two_reasons_hold_at_once() {
    for scenario in THIRD_WATER {
        let (_, truth) = sailed(scenario, 4242);
        let over = truth.spells.iter().filter(|spell| spell.reason == Reason::Capsized);
        assert_eq!(over.count(), truth.capsizes.len(), "{scenario}");
        for capsize in &truth.capsizes {
            let end_ms = capsize.righted_ms.unwrap_or(truth.end_ms);
            let spell = truth.spells.iter().find(|spell| {
                spell.reason == Reason::Capsized
                    && spell.boat == capsize.boat
                    && spell.start_ms <= capsize.start_ms
                    && end_ms <= spell.end_ms
            });
            assert!(spell.is_some(), "{scenario}: {capsize:?} lies in no spell");
            assert!(capsize.righted_ms.is_none_or(|up_ms| up_ms >= capsize.start_ms + 10_000), "{capsize:?}");
            assert!(capsize.sailing_ms.is_none_or(|on_ms| on_ms >= end_ms), "{capsize:?}");
            assert!((0.0..=1.0).contains(&capsize.feed_alive), "{capsize:?}");
        }
        for boat in &truth.boats {
            let mut free_ms = truth.start_ms;
            for spell in truth.spells.iter().filter(|spell| spell.boat == boat.id) {
                assert!(free_ms <= spell.start_ms && spell.start_ms <= spell.end_ms, "{scenario}: {spell:?}");
                free_ms = spell.end_ms;
            }
        }
        assert_eq!(truth.wind.len(), 360, "{scenario}: the wind every ten seconds");
        let tacks = truth.manoeuvres.iter().filter(|turn| turn.kind == "tack" && !turn.unscored).count();
        assert!(tacks > 50, "{scenario}: {tacks} tacks");
    }
}

/// Median; the order of the values is lost.
fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or_default()
}

#[test]
fn speeds_are_those_of_training_dinghies_and_boats_in_irons_fall_astern() {
    let (mut close, mut reach, mut irons, mut hove_to) = (vec![], vec![], vec![], vec![]);
    let mut reasons = BTreeSet::new();
    for seed in 1..=12 {
        let mut water = ThirdWater::new("third-steady", seed, seed * 7_919, START_MS);
        while !water.is_over() {
            water.step();
            for boat in water.boats.iter().filter(|_| water.steps.is_multiple_of(8)) {
                let air = water.field.at(boat.hull.at, 0.0);
                let ahead_kn = kn(boat.hull.ahead_mps());
                reasons.extend(boat.reason());
                match (boat.reason(), boat.off_deg(air).abs()) {
                    (Some(Reason::InIrons), _) => irons.push(ahead_kn),
                    (Some(Reason::HoveTo), _) => hove_to.push(ahead_kn),
                    (None, off_deg) if (8.0..15.0).contains(&kn(air.mps)) => match off_deg {
                        40.0..60.0 => close.push(ahead_kn),
                        75.0..125.0 => reach.push(ahead_kn),
                        _ => {}
                    },
                    _ => {}
                }
                // Close-hauled 2.5 to 4, reaching 4 to 7, typical training dinghies: common practice, no source.
                assert!(ahead_kn < 9.0, "{} makes {ahead_kn} kn", boat.id);
            }
        }
    }
    let (close, reach) = (median(&mut close), median(&mut reach));
    assert!((2.5..4.0).contains(&close), "close-hauled {close} kn");
    assert!((3.6..7.0).contains(&reach) && reach > close, "reaching {reach} kn");
    let (irons, hove_to) = (median(&mut irons), median(&mut hove_to));
    assert!((-2.0..-0.2).contains(&irons), "in irons {irons} kn");
    assert!((-0.3..1.5).contains(&hove_to), "hove to {hove_to} kn");
    for reason in [Reason::Waiting, Reason::Rafted, Reason::DrillPickUp, Reason::Capsized, Reason::Recovering]
    {
        assert!(reasons.contains(&reason), "nobody {reason:?}");
    }
}

#[test]
fn head_to_wind_she_goes_astern_and_the_helm_does_nothing_without_way() {
    let air = Air { from_deg: 0.0, mps: 6.0 };
    let mut hull = Hull::draw(&mut Dice::new(1, "hull", 0));
    let hands = Hands { sheet: 1.0, sheet_per_s: 1.0, ..Hands::default() };
    for _ in 0..40 {
        hull.step(0.25, air, Vec2::default(), &hands);
    }
    assert!(hull.ahead_mps() < -0.1 && hull.at.north < 0.0, "{hull:?}");

    let calm = Air { from_deg: 0.0, mps: 0.0 };
    let mut hull = Hull::draw(&mut Dice::new(1, "hull", 0));
    hull.step(0.25, calm, Vec2::default(), &Hands { helm: 1.0, ..Hands::default() });
    assert_eq!(hull.turn_dps, 0.0);
}

#[test]
fn every_line_decodes_elsewhere() {
    let mut kinds = BTreeSet::new();
    for scenario in ["third-stream", "third-no-vane"] {
        for seed in 1..=4 {
            for line in Session::new(scenario, seed).expect("a known scenario").take(12_000) {
                let (_, sentence) = line.text[1..].split_once('\\').expect("an end of the TAG block");
                assert!(nmea::parse_str(sentence).is_ok(), "{sentence}");
                let kind = sentence[3..6].to_owned();
                assert!(kind != "MWV" || scenario != "third-no-vane", "a vane where there is none");
                kinds.insert(kind);
            }
        }
    }
    let all = ["GGA", "HDT", "MWV", "RMC"].map(str::to_owned);
    assert!(all.iter().all(|kind| kinds.contains(kind)), "only {kinds:?}");
}
