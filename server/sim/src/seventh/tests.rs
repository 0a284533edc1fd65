//! What the seventh water promises: a truth that agrees with the motion. What it is held to: `tests/simple_rule.rs`.

use std::collections::BTreeMap;

use crate::{
    plane::kn,
    seventh::water::{SEVENTH_WATER, SeventhWater},
    truth::{Reason, Truth},
};

const START_MS: i64 = 1_780_308_000_000;

/// When, Unix ms, and how fast over the ground, kn, each second, by boat.
type Speeds = BTreeMap<String, Vec<(i64, f64)>>;

/// A whole session: the truth, the motion, the log.
fn sailed(scenario: &'static str, seed: u64) -> (Truth, Speeds, Vec<String>) {
    let mut water = SeventhWater::new(scenario, seed, seed, START_MS);
    let (mut speeds, mut lines) = (Speeds::new(), Vec::new());
    let mut steps = 0;
    while !water.is_over() {
        lines.extend(water.step().into_iter().map(|line| line.text));
        steps += 1;
        if steps % 4 == 0 {
            for boat in &water.boats {
                let over_ground = boat.through() + water.stream;
                speeds
                    .entry(boat.id.clone())
                    .or_default()
                    .push((START_MS + steps * 250, kn(over_ground.length())));
            }
        }
    }
    (water.finish(), speeds, lines)
}

fn mean(of: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = of.fold((0.0, 0), |(sum, n), value| (sum + value, n + 1));
    sum / f64::from(n.max(1))
}

fn within(speeds: &[(i64, f64)], from_ms: i64, to_ms: i64) -> impl Iterator<Item = f64> + '_ {
    speeds.iter().filter(move |(at_ms, _)| from_ms <= *at_ms && *at_ms < to_ms).map(|(_, kn)| *kn)
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
    let (over, after, before) = [over, after, before].map(|all| mean(all.into_iter())).into();
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
