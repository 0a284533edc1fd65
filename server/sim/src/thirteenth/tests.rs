//! What the thirteenth water promises. What it is held to: `tests/simple_rule.rs`.

use super::{
    hull::Hull,
    water::{THIRTEENTH_WATER, ThirteenthWater},
    weather::Weather,
};
use crate::{
    dice::Dice,
    plane::{Vec2, kn},
    trial::{self, START_MS, Speeds, mean, within},
    truth::{Reason, Truth},
};

/// A whole session, with speeds over the ground.
fn sailed(scenario: &'static str, seed: u64) -> (Truth, Speeds, Vec<String>) {
    trial::sailed(ThirteenthWater::new(scenario, seed, seed, START_MS), 4, |water| {
        let told =
            water.boats.iter().map(|boat| (boat.id.clone(), kn((boat.through() + water.stream).length())));
        told.collect()
    })
}

#[test]
fn a_seed_makes_the_same_bytes_each_time() {
    let (_, _, one) = sailed("thirteenth-squally", 131_001);
    let (_, _, again) = sailed("thirteenth-squally", 131_001);
    let (_, _, other) = sailed("thirteenth-squally", 131_002);
    assert!(one == again, "the same seed");
    assert!(one != other, "another seed");
}

#[test]
fn one_scenario_alone_has_no_instrument_and_every_wind_is_told() {
    for scenario in THIRTEENTH_WATER {
        let (truth, _, lines) = sailed(scenario, 131_003);
        let tells_wind = lines.iter().any(|line| line.contains("MWD"));
        assert_eq!(tells_wind, scenario != "thirteenth-no-instrument", "{scenario}");
        assert_eq!(truth.wind.len(), 360, "{scenario}: the wind every ten seconds");
    }
}

#[test]
fn a_hull_on_her_side_drifts_and_a_righted_boat_sails_on() {
    let (mut before, mut over, mut after) = (Vec::new(), Vec::new(), Vec::new());
    for seed in 131_004..131_009 {
        let (truth, speeds, _) = sailed("thirteenth-squally", seed);
        for capsize in &truth.capsizes {
            let own = &speeds[&capsize.boat];
            before.push(capsize.speed_before_kn);
            let righted_ms = capsize.righted_ms.unwrap_or(truth.end_ms);
            if righted_ms - capsize.start_ms > 30_000 {
                over.push(mean(within(own, capsize.start_ms + 15_000, righted_ms)));
            }
            if let Some(sailing_ms) = capsize.sailing_ms {
                assert!(capsize.righted_ms.is_some_and(|up_ms| sailing_ms > up_ms));
                after.extend(within(own, sailing_ms + 15_000, sailing_ms + 45_000));
            }
        }
    }
    assert!(over.len() >= 15, "{} capsizes", over.len());
    // The rig in the water may move her by 0.4 m/s and more, and the stream adds to it.
    assert!(over.iter().all(|kn| *kn < 2.0), "a hull faster than any drifts: {over:?}");
    let [before, over, after] = [before, over, after].map(|all| mean(&all));
    assert!(over < 0.9 && after > 1.3 && before > 1.3, "{before:.2}, then {over:.2}, then {after:.2} kn");
}

#[test]
fn spells_hold_slow_boats_and_the_rest_is_sailing() {
    let (mut stopped, mut sailing) = (Vec::new(), Vec::new());
    for seed in 131_010..131_012 {
        let (truth, speeds, _) = sailed("thirteenth-fair", seed);
        for (id, all) in &speeds {
            let own: Vec<_> = truth.spells.iter().filter(|spell| spell.boat == *id).collect();
            for (at_ms, kn) in all {
                let of = |from_s: i64, to_s: i64| {
                    let is_in = |from_ms: i64, to_ms: i64| {
                        from_ms + from_s * 1000 <= *at_ms && *at_ms <= to_ms + to_s * 1000
                    };
                    own.iter().find(|spell| is_in(spell.start_ms, spell.end_ms))
                };
                match (of(20, 0), of(0, 12)) {
                    (Some(spell), _) if spell.reason != Reason::Towed => stopped.push(*kn),
                    (None, None) => sailing.push(*kn),
                    _ => (),
                }
            }
        }
    }
    let [stopped, sailing] = [stopped, sailing].map(|all| mean(&all));
    assert!(stopped < 0.8, "{stopped:.2} kn in stops");
    assert!((2.0..4.5).contains(&sailing), "{sailing:.2} kn under sail");
}

#[test]
fn the_launches_help_talk_and_tow() {
    let (mut over, mut attended, mut up, mut talks, mut tows) = (0, 0, 0, 0, 0);
    for seed in 131_012..131_020 {
        let (truth, ..) = sailed("thirteenth-squally", seed);
        over += truth.capsizes.len();
        attended += truth.capsizes.iter().filter(|capsize| capsize.attended).count();
        up += truth.capsizes.iter().filter(|capsize| capsize.righted_ms.is_some()).count();
        talks += truth.spells.iter().filter(|spell| spell.reason == Reason::Rafted).count();
        tows += truth.spells.iter().filter(|spell| spell.reason == Reason::Towed).count();
    }
    assert!(attended * 10 > over * 2, "{attended} of {over} attended");
    assert!(up * 10 > over * 8, "{up} of {over} righted");
    assert!(talks > 8 && tows > 2, "{talks} talks, {tows} tows");
}

#[test]
fn a_gust_reaches_one_boat_after_another() {
    let mut weather = Weather::draw("thirteenth-squally", Dice::new(7, "front", 0));
    let from_deg = weather.mean_from_deg();
    let places = [150.0, -150.0].map(|upwind_m| Vec2::along(from_deg, upwind_m));
    let told: Vec<[f64; 2]> = (0..3_600)
        .map(|_| {
            weather.step(1.0);
            places.map(|at| weather.at(at).mps)
        })
        .collect();
    let alike = |lag_s: usize| {
        let [one, two] = [0, 1].map(|ix| mean(told.iter().map(|pair| pair[ix])));
        let pairs = told.iter().zip(&told[lag_s..]);
        mean(pairs.map(|(early, late)| (early[0] - one) * (late[1] - two)))
    };
    assert!(alike(45) > 1.2 * alike(0), "300 m at 5.6 to 7.6 m/s: {:.2}, {:.2}", alike(45), alike(0));
}

#[test]
fn a_hull_keeps_her_way_for_some_seconds() {
    let mut dice = Dice::new(1, "hull", 0);
    for _ in 0..50 {
        let mut hull = Hull::draw(3.8, 0.0, 2.0, &mut dice);
        (0..12).for_each(|_| hull.drive(0.0, None, 0.25));
        assert!(hull.way_mps > 1.0, "{:.2} m/s after 3 s", hull.way_mps);
        (0..100).for_each(|_| hull.drive(0.0, None, 0.25));
        assert!(hull.way_mps.abs() < 0.1, "{:.2} m/s after 28 s", hull.way_mps);
    }
}
