//! What the twelfth water promises of its truth. What it is held to elsewhere: `tests/simple_rule.rs`,
//! `slowing.rs`.

use crate::{
    plane::kn,
    trial::{self, START_MS, Speeds, mean, within},
    truth::{Reason, Truth},
    twelfth::water::{TWELFTH_WATER, TwelfthWater},
};

/// A whole session, with speeds over the ground.
fn sailed(scenario: &'static str, seed: u64) -> (Truth, Speeds, Vec<String>) {
    trial::sailed(TwelfthWater::new(scenario, seed, seed, START_MS), 4, |water| {
        let told = |boat: &super::boat::Boat| kn((boat.hull.through() + water.stream).length());
        water.boats.iter().map(|boat| (boat.id.to_owned(), told(boat))).collect()
    })
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let lines = |seed| sailed("twelfth-squally", seed).2;
    assert!(lines(121_001) == lines(121_001), "the same seed");
    assert!(lines(121_001) != lines(121_002), "another seed");
}

#[test]
fn only_the_bare_one_tells_no_wind() {
    for scenario in TWELFTH_WATER {
        let (_, _, lines) = sailed(scenario, 121_003);
        let tells = lines.iter().any(|line| line.contains("MWD") || line.contains("MWV"));
        assert_eq!(tells, scenario != "twelfth-bare", "{scenario}");
        assert!(lines.iter().any(|line| line.contains("s:ember")), "{scenario}: a safety boat is heard");
    }
}

#[test]
fn a_hull_that_lies_over_drifts_and_does_not_sail() {
    let (mut before, mut over, mut after) = (Vec::new(), Vec::new(), Vec::new());
    for seed in 121_004..121_008 {
        let (truth, speeds, _) = sailed("twelfth-squally", seed);
        for capsize in &truth.capsizes {
            let own = &speeds[&capsize.boat];
            before.push(capsize.speed_before_kn);
            let righted_ms = capsize.righted_ms.unwrap_or(truth.end_ms);
            if righted_ms - capsize.start_ms > 40_000 {
                over.push(mean(within(own, capsize.start_ms + 20_000, righted_ms)));
            }
            if let Some(sailing_ms) = capsize.sailing_ms {
                assert!(sailing_ms > righted_ms, "under way before she is upright");
                after.extend(within(own, sailing_ms + 10_000, sailing_ms + 40_000));
            }
        }
    }
    assert!(over.len() > 20, "{} capsizes", over.len());
    // 0.4 m/s, as one was seen to move, is 0.8 kn; wind and stream differ.
    assert!(over.iter().all(|kn| (0.02..1.7).contains(kn)), "{over:?}");
    let [before, over, after] = [before, over, after].map(|all| mean(&all));
    assert!(over < 0.75 && before > 1.2 && after > 1.2, "{before:.2}, then {over:.2}, then {after:.2} kn");
}

#[test]
fn spells_hold_slow_boats_and_the_rest_is_sailing() {
    let (mut stopped, mut sailing) = (Vec::new(), Vec::new());
    for seed in 121_009..121_012 {
        let (truth, speeds, _) = sailed("twelfth-lesson", seed);
        for (id, all) in &speeds {
            let afloat_ms =
                truth.boats.iter().find(|boat| boat.id == *id).and_then(|boat| boat.afloat_from_ms);
            let own: Vec<_> = truth.spells.iter().filter(|spell| spell.boat == *id).collect();
            for (at_ms, kn) in
                all.iter().filter(|(at_ms, _)| afloat_ms.is_some_and(|ms| *at_ms > ms + 20_000))
            {
                let within = |early_ms: i64, late_ms: i64| {
                    own.iter()
                        .find(|spell| (spell.start_ms + early_ms..=spell.end_ms + late_ms).contains(at_ms))
                };
                match (within(20_000, 0), within(0, 5_000)) {
                    (Some(spell), _) if spell.reason != Reason::Towed => stopped.push(*kn),
                    (None, None) => sailing.push(*kn),
                    _ => (),
                }
            }
        }
    }
    let slow = sailing.iter().filter(|kn| **kn < 0.8).count() as f64 / sailing.len() as f64;
    let [stopped, sailing] = [stopped, sailing].map(|all| mean(&all));
    assert!(stopped < 0.8, "{stopped:.2} kn in stops");
    assert!((1.6..4.5).contains(&sailing) && slow < 0.1, "{sailing:.2} kn under sail, {slow:.2} of it slow");
}

#[test]
fn safety_boats_go_to_those_that_are_over() {
    let (mut over, mut attended, mut up) = (0, 0, 0);
    for seed in 121_012..121_016 {
        let (truth, ..) = sailed("twelfth-squally", seed);
        over += truth.capsizes.len();
        attended += truth.capsizes.iter().filter(|capsize| capsize.attended).count();
        up += truth.capsizes.iter().filter(|capsize| capsize.righted_ms.is_some()).count();
    }
    assert!(attended * 3 > over && up * 10 > over * 8, "{attended} attended, {up} up of {over}");
}

#[test]
fn crews_tack_and_gybe() {
    let (truth, ..) = sailed("twelfth-lesson", 121_016);
    let fair =
        |kind: &str| truth.manoeuvres.iter().filter(|turn| turn.kind == kind && !turn.unscored).count();
    let (tacks, gybes) = (fair("tack"), fair("gybe"));
    let boats = truth.boats.len();
    assert!(tacks > boats * 4 && gybes > boats, "{tacks} tacks and {gybes} gybes of {boats} boats");
}
