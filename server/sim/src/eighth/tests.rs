//! What the eighth water promises: a truth that agrees with the motion. What it is held to: `tests/simple_rule.rs`.

use crate::{
    eighth::water::{EIGHTH_WATER, EighthWater},
    plane::kn,
    trial::{self, START_MS, Speeds, mean, within},
    truth::{Reason, Truth},
};

/// A whole session, with speeds over the ground.
fn sailed(scenario: &'static str, seed: u64) -> (Truth, Speeds, Vec<String>) {
    trial::sailed(EighthWater::new(scenario, seed, seed, START_MS), 4, |water| {
        water
            .boats
            .iter()
            .map(|boat| (boat.id.clone(), kn((boat.through() + water.stream).length())))
            .collect()
    })
}

#[test]
fn one_seed_gives_the_same_bytes_and_another_does_not() {
    let (_, _, one) = sailed("eighth-puffs", 81_001);
    let (_, _, again) = sailed("eighth-puffs", 81_001);
    let (_, _, other) = sailed("eighth-puffs", 81_002);
    assert!(one == again, "the same seed");
    assert!(one != other, "another seed");
}

#[test]
fn only_one_scenario_has_no_wind_instrument() {
    for scenario in EIGHTH_WATER {
        let (_, _, lines) = sailed(scenario, 81_003);
        let tells_wind = lines.iter().any(|line| line.contains("MWD"));
        assert_eq!(tells_wind, scenario != "eighth-no-vane", "{scenario}");
    }
}

#[test]
fn a_capsized_hull_drifts_and_a_righted_boat_sails_on() {
    let (mut before, mut over, mut after) = (Vec::new(), Vec::new(), Vec::new());
    for seed in 81_004..81_007 {
        let (truth, speeds, _) = sailed("eighth-puffs", seed);
        for capsize in &truth.capsizes {
            let own = &speeds[&capsize.boat];
            before.push(capsize.speed_before_kn);
            let righted_ms = capsize.righted_ms.unwrap_or(truth.end_ms);
            if righted_ms - capsize.start_ms > 30_000 {
                over.push(mean(within(own, capsize.start_ms + 15_000, righted_ms)));
            }
            if let Some(sailing_ms) = capsize.sailing_ms {
                assert!(sailing_ms > capsize.righted_ms.unwrap_or(i64::MAX));
                after.extend(within(own, sailing_ms + 15_000, sailing_ms + 45_000));
            }
        }
    }
    assert!(over.len() >= 10, "{} capsizes", over.len());
    assert!(over.iter().all(|kn| *kn < 1.3), "a hull faster than any drifts: {over:?}");
    let [before, over, after] = [before, over, after].map(|all| mean(&all));
    assert!(over < 0.7 && after > 1.2 && before > 1.2, "{before:.2}, then {over:.2}, then {after:.2} kn");
}

#[test]
fn spells_hold_slow_boats_and_the_rest_is_sailing() {
    let (truth, speeds, _) = sailed("eighth-plain", 81_008);
    let (mut stopped, mut sailing) = (Vec::new(), Vec::new());
    for (id, all) in &speeds {
        let own: Vec<_> = truth.spells.iter().filter(|spell| spell.boat == *id).collect();
        for (at_ms, kn) in all {
            let of = |from_s: i64, to_s: i64| {
                own.iter().find(|s| s.start_ms + from_s * 1000 <= *at_ms && *at_ms <= s.end_ms + to_s * 1000)
            };
            match (of(20, 0), of(0, 10)) {
                (Some(spell), _) if spell.reason != Reason::Towed => stopped.push(*kn),
                (None, None) => sailing.push(*kn),
                _ => (),
            }
        }
    }
    let [stopped, sailing] = [stopped, sailing].map(|all| mean(&all));
    assert!(stopped < 0.9, "{stopped:.2} kn in stops");
    assert!((1.8..5.0).contains(&sailing), "{sailing:.2} kn under sail");
}

#[test]
fn a_safety_boat_helps_those_that_cannot_right_her() {
    let (mut over, mut attended, mut up) = (0, 0, 0);
    for seed in 81_011..81_015 {
        let (truth, ..) = sailed("eighth-puffs", seed);
        over += truth.capsizes.len();
        attended += truth.capsizes.iter().filter(|capsize| capsize.attended).count();
        up += truth.capsizes.iter().filter(|capsize| capsize.righted_ms.is_some()).count();
    }
    assert!(attended * 10 > over, "{attended} of {over} attended");
    assert!(up * 10 > over * 8, "{up} of {over} righted");
}
