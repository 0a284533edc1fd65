//! What the seventh water promises: a truth that agrees with the motion. What it is held to: `tests/simple_rule.rs`.

use std::collections::BTreeMap;

use crate::{
    plane::kn,
    seventh::water::{SEVENTH_WATER, SeventhWater},
    trial::{self, START_MS, Speeds, mean, within},
    truth::{Reason, Truth},
};

/// A whole session, with speeds over the ground.
fn sailed(scenario: &'static str, seed: u64) -> (Truth, Speeds, Vec<String>) {
    trial::sailed(SeventhWater::new(scenario, seed, seed, START_MS), 4, |water| {
        water
            .boats
            .iter()
            .map(|boat| (boat.id.clone(), kn((boat.through() + water.stream).length())))
            .collect()
    })
}

#[test]
fn one_seed_gives_the_same_bytes_and_another_does_not() {
    let (_, _, one) = sailed("seventh-gusty", 71_001);
    let (_, _, again) = sailed("seventh-gusty", 71_001);
    let (_, _, other) = sailed("seventh-gusty", 71_002);
    assert!(one == again, "the same seed");
    assert!(one != other, "another seed");
}

#[test]
fn a_capsized_hull_is_slow_and_a_righted_boat_sails_on() {
    let (mut over, mut after, mut before) = (Vec::new(), Vec::new(), Vec::new());
    for scenario in ["seventh-trade", "seventh-gusty", "seventh-no-vane"] {
        let (truth, speeds, _) = sailed(scenario, 71_003);
        for capsize in &truth.capsizes {
            let own = &speeds[&capsize.boat];
            before.push(capsize.speed_before_kn);
            let righted_ms = capsize.righted_ms.unwrap_or(truth.end_ms);
            if righted_ms - capsize.start_ms > 30_000 {
                over.push(mean(within(own, capsize.start_ms + 20_000, righted_ms)));
            }
            assert!(capsize.sailing_ms.is_none_or(|sailing_ms| sailing_ms > righted_ms));
            let Some(sailing_ms) = capsize.sailing_ms.filter(|at_ms| at_ms + 40_000 < truth.end_ms) else {
                continue;
            };
            after.push(mean(within(own, sailing_ms + 10_000, sailing_ms + 40_000)));
        }
    }
    assert!(over.len() >= 8, "{} capsizes", over.len());
    let fast = over.iter().filter(|kn| **kn > 1.4).count();
    assert!(fast == 0, "{fast} hulls faster than any that was measured");
    let (over, after, before) = [over, after, before].map(mean).into();
    assert!(over < 0.75 && after > 1.2 && before > 1.2, "{before} then {over} then {after} kn");
}

#[test]
fn spells_hold_slow_boats_and_the_rest_is_sailing() {
    let (truth, speeds, _) = sailed("seventh-trade", 71_004);
    let stopped = [Reason::HoveTo, Reason::Waiting, Reason::Rafted, Reason::Recovering];
    let stops = truth.spells.iter().filter(|spell| stopped.contains(&spell.reason));
    let long = stops.filter(|spell| spell.end_ms - spell.start_ms > 60_000);
    let slow = long.map(|spell| mean(within(&speeds[&spell.boat], spell.start_ms + 30_000, spell.end_ms)));
    let slow = mean(slow);
    assert!(slow < 0.9, "{slow:.2} kn in stops");
    let sailing = speeds.iter().flat_map(|(id, all)| {
        let own: Vec<_> = truth.spells.iter().filter(|spell| spell.boat == *id).collect();
        all.iter()
            .filter(move |(at_ms, _)| own.iter().all(|s| *at_ms < s.start_ms || *at_ms > s.end_ms + 5_000))
            .map(|(_, kn)| *kn)
            .collect::<Vec<_>>()
    });
    let sailing = mean(sailing);
    assert!(sailing > 2.0 && sailing < 5.5, "{sailing:.2} kn under sail");
}

#[test]
fn stops_are_as_many_and_as_long_as_meant() {
    let mut seconds: BTreeMap<Reason, Vec<f64>> = BTreeMap::new();
    let mut hours = 0.0;
    for (scenario, seed) in SEVENTH_WATER.into_iter().cycle().zip(71_011..71_021) {
        let (truth, ..) = sailed(scenario, seed);
        hours += truth.boats.iter().filter(|boat| boat.role == "dinghy").count() as f64;
        for spell in truth.spells {
            let lasted_s = (spell.end_ms - spell.start_ms) as f64 / 1000.0;
            assert!(lasted_s > 0.0, "{spell:?}");
            seconds.entry(spell.reason).or_default().push(lasted_s);
        }
    }
    for (reason, per_h, lasts_s) in [
        (Reason::HoveTo, (0.6, 2.2), (120.0, 280.0)),
        (Reason::Waiting, (0.5, 2.2), (120.0, 280.0)),
        (Reason::InIrons, (0.3, 1.4), (30.0, 100.0)),
        (Reason::Rafted, (0.08, 0.8), (80.0, 280.0)),
        (Reason::Capsized, (0.4, 1.7), (50.0, 200.0)),
        (Reason::Recovering, (0.4, 1.7), (20.0, 100.0)),
    ] {
        let all = seconds.get(&reason).map_or(&[][..], Vec::as_slice);
        let rate = all.len() as f64 / hours;
        assert!(per_h.0 < rate && rate < per_h.1, "{rate:.2} {reason:?} an hour");
        let lasted_s = mean(all.iter().copied());
        assert!(lasts_s.0 < lasted_s && lasted_s < lasts_s.1, "{reason:?} of {lasted_s:.0} s");
    }
}
