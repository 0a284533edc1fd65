//! What the tenth water promises: a truth that agrees with the motion. What it is held to: `tests/simple_rule.rs`.

use super::water::{TENTH_WATER, TenthWater};
use crate::{
    plane::kn,
    trial::{self, START_MS, Speeds, mean, within},
    truth::{Reason, Truth},
};

/// A whole session, with speeds through the water.
fn sailed(scenario: &'static str, seed: u64) -> (Truth, Speeds, Vec<String>) {
    trial::sailed(TenthWater::new(scenario, seed, seed, START_MS), 4, |water| {
        water.boats.iter().map(|boat| (boat.id.clone(), kn(boat.motion.through().length()))).collect()
    })
}

#[test]
fn one_seed_gives_the_same_bytes_and_another_does_not() {
    let (_, _, one) = sailed("tenth-squally", 101_001);
    let (_, _, again) = sailed("tenth-squally", 101_001);
    let (_, _, other) = sailed("tenth-squally", 101_002);
    assert!(one == again, "the same seed");
    assert!(one != other, "another seed");
}

#[test]
fn only_one_scenario_has_no_wind_instrument() {
    for scenario in TENTH_WATER {
        let (_, _, lines) = sailed(scenario, 101_003);
        let tells_wind = lines.iter().any(|line| line.contains("MWD"));
        assert_eq!(tells_wind, scenario != "tenth-bare", "{scenario}");
    }
}

#[test]
fn sessions_are_worlds_of_their_own() {
    let hulls = (0..40).map(|seed| TenthWater::new("tenth-any", seed, seed, START_MS).habits.hull);
    let no_go_deg: Vec<f64> = hulls.map(|hull| hull.no_go_deg).collect();
    let least = no_go_deg.iter().copied().fold(f64::INFINITY, f64::min);
    let most = no_go_deg.iter().copied().fold(0.0, f64::max);
    assert!(least < 39.0 && most > 52.0, "{least:.0} to {most:.0} deg");
}

#[test]
fn the_stream_of_one_scenario_runs_against_the_wind() {
    for seed in 101_020..101_030 {
        let water = TenthWater::new("tenth-contrary", seed, seed, START_MS);
        let (wind, stream) = (water.air.wind(), water.air.stream());
        assert!(wind.off_deg(stream.bearing_deg()).abs() < 90.0, "{wind:?}, {stream:?}");
        assert!(kn(stream.length()) > 0.15);
    }
}

#[test]
fn nobody_is_carried_out_of_the_area() {
    for seed in 101_030..101_036 {
        let mut water = TenthWater::new("tenth-contrary", seed, seed, START_MS);
        while !water.is_over() {
            water.step();
            assert!(water.boats.iter().all(|boat| boat.motion.at.length() < 3_000.0), "seed {seed}");
        }
    }
}

#[test]
fn a_capsized_hull_drifts_and_a_righted_boat_sails_on() {
    let (mut before, mut over, mut after) = (Vec::new(), Vec::new(), Vec::new());
    for seed in 101_004..101_010 {
        let (truth, speeds, _) = sailed("tenth-any", seed);
        for capsize in &truth.capsizes {
            let own = &speeds[&capsize.boat];
            before.push(capsize.speed_before_kn);
            let righted_ms = capsize.righted_ms.unwrap_or(truth.end_ms);
            if righted_ms - capsize.start_ms > 45_000 {
                over.push(mean(within(own, capsize.start_ms + 30_000, righted_ms)));
            }
            if let Some(sailing_ms) = capsize.sailing_ms {
                assert!(sailing_ms >= capsize.righted_ms.unwrap_or(i64::MAX));
                after.extend(within(own, sailing_ms + 15_000, sailing_ms + 45_000));
            }
        }
    }
    assert!(over.len() >= 10, "{} capsizes", over.len());
    assert!(over.iter().all(|kn| *kn < 1.6), "a hull faster than any drifts: {over:?}");
    let [before, over, after] = [before, over, after].map(|all| mean(&all));
    assert!(over < 0.7 && after > 1.2 && before > 1.2, "{before:.2}, then {over:.2}, then {after:.2} kn");
}

#[test]
fn spells_hold_slow_boats_and_the_rest_is_sailing() {
    let (mut stopped, mut sailing) = (Vec::new(), Vec::new());
    for seed in 101_011..101_014 {
        let (truth, speeds, _) = sailed("tenth-any", seed);
        for (id, all) in &speeds {
            let own: Vec<_> = truth.spells.iter().filter(|spell| spell.boat == *id).collect();
            for (at_ms, kn) in all {
                let of = |from_s: i64, to_s: i64| {
                    own.iter()
                        .find(|s| s.start_ms + from_s * 1000 <= *at_ms && *at_ms <= s.end_ms + to_s * 1000)
                };
                match (of(25, 0), of(0, 10)) {
                    (Some(spell), _) if spell.reason != Reason::Towed => stopped.push(*kn),
                    (None, None) => sailing.push(*kn),
                    _ => (),
                }
            }
        }
    }
    let [stopped, sailing] = [stopped, sailing].map(|all| mean(&all));
    assert!(stopped < 0.8, "{stopped:.2} kn in stops");
    assert!((1.6..5.0).contains(&sailing), "{sailing:.2} kn under sail");
}
