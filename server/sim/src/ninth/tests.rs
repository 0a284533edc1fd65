//! What the ninth water promises: a truth that agrees with the motion. What it is held to: `tests/simple_rule.rs`.

use std::collections::BTreeMap;

use crate::{
    ninth::water::{NINTH_WATER, NinthWater},
    plane::kn,
    trial::{self, START_MS, Speeds, mean, within},
    truth::{Reason, Truth},
};

/// A whole session, with speeds over the ground.
fn sailed(scenario: &'static str, seed: u64) -> (Truth, Speeds, Vec<String>) {
    trial::sailed(NinthWater::new(scenario, seed, seed, START_MS), 4, |water| {
        water
            .boats
            .iter()
            .map(|boat| (boat.id.clone(), kn((boat.hull.way + water.day.stream).length())))
            .collect()
    })
}

#[test]
fn one_seed_gives_the_same_bytes_and_another_does_not() {
    let (_, _, one) = sailed("ninth-squalls", 91_001);
    let (_, _, again) = sailed("ninth-squalls", 91_001);
    let (_, _, other) = sailed("ninth-squalls", 91_002);
    assert!(one == again, "the same seed");
    assert!(one != other, "another seed");
}

#[test]
fn a_capsized_hull_drifts_and_a_righted_boat_sails_on() {
    let (mut over, mut after, mut quick, mut all) = (Vec::new(), Vec::new(), 0, 0);
    for (scenario, seed) in ["ninth-basin", "ninth-squalls", "ninth-mute"].into_iter().zip(91_003..) {
        let (truth, speeds, _) = sailed(scenario, seed);
        for capsize in &truth.capsizes {
            (quick, all) = (quick + u32::from(capsize.quick), all + 1);
            let own = &speeds[&capsize.boat];
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
    assert!(0 < quick && quick < all, "{quick} of {all} went over at once");
    // leeway.md: some 2 % of the wind, to which the stream comes.
    let fastest = over.iter().fold(0.0, |most: f64, kn| most.max(*kn));
    let (over, after) = (mean(over), mean(after));
    assert!(fastest < 1.2 && over < 0.6 && after > 0.9, "{over} kn, at most {fastest}, then {after}");
}

#[test]
fn hands_make_stops_slow_and_sailing_fast() {
    let (truth, speeds, _) = sailed("ninth-basin", 91_004);
    let stopped = [Reason::HoveTo, Reason::Waiting, Reason::Rafted, Reason::Recovering];
    let stops = truth.spells.iter().filter(|spell| stopped.contains(&spell.reason));
    let long = stops.filter(|spell| spell.end_ms - spell.start_ms > 60_000);
    let slow = long.map(|spell| mean(within(&speeds[&spell.boat], spell.start_ms + 30_000, spell.end_ms)));
    let slow = mean(slow);
    assert!(slow < 0.8, "{slow:.2} kn in stops");
    let sailing = speeds.iter().flat_map(|(id, all)| {
        let own: Vec<_> = truth.spells.iter().filter(|spell| spell.boat == *id).collect();
        all.iter()
            .filter(move |(at_ms, _)| own.iter().all(|s| *at_ms < s.start_ms || *at_ms > s.end_ms + 5_000))
            .map(|(_, kn)| *kn)
            .collect::<Vec<_>>()
    });
    let sailing = mean(sailing);
    assert!(1.5 < sailing && sailing < 4.5, "{sailing:.2} kn under sail");
}

#[test]
fn stops_are_as_many_and_as_long_as_crews_make_them() {
    let mut seconds: BTreeMap<Reason, Vec<f64>> = BTreeMap::new();
    let mut hours = 0.0;
    for (scenario, seed) in NINTH_WATER.into_iter().cycle().zip(91_011..91_026) {
        let (truth, ..) = sailed(scenario, seed);
        hours += truth.boats.iter().filter(|boat| boat.role == "dinghy").count() as f64;
        for spell in truth.spells {
            let lasted_s = (spell.end_ms - spell.start_ms) as f64 / 1000.0;
            assert!(lasted_s > 0.0, "{spell:?}");
            seconds.entry(spell.reason).or_default().push(lasted_s);
        }
    }
    for (reason, per_h, lasts_s) in [
        (Reason::HoveTo, (0.25, 1.0), (150.0, 450.0)),
        (Reason::Waiting, (0.4, 1.6), (90.0, 280.0)),
        (Reason::InIrons, (0.3, 1.5), (30.0, 110.0)),
        (Reason::Rafted, (0.08, 0.5), (80.0, 280.0)),
        (Reason::DrillPickUp, (0.15, 0.9), (20.0, 60.0)),
        (Reason::Capsized, (0.4, 1.7), (50.0, 220.0)),
        (Reason::Recovering, (0.4, 1.7), (15.0, 80.0)),
    ] {
        let all = seconds.get(&reason).map_or(&[][..], Vec::as_slice);
        let rate = all.len() as f64 / hours;
        assert!(per_h.0 < rate && rate < per_h.1, "{rate:.2} {reason:?} an hour");
        let lasted_s = mean(all.iter().copied());
        assert!(lasts_s.0 < lasted_s && lasted_s < lasts_s.1, "{reason:?} of {lasted_s:.0} s");
    }
}
