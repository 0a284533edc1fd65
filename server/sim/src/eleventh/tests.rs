//! What the eleventh water promises: a log and a truth that agree with the motion. What it is held to:
//! `tests/simple_rule.rs` and `tests/slowing.rs`.

use std::collections::BTreeMap;

use super::water::{ELEVENTH_WATER, EleventhWater, STEPS_PER_S};
use crate::{
    plane::kn,
    truth::{Reason, Truth},
};

const START_MS: i64 = 1_780_308_000_000;

/// Of a boat each second: Unix ms, speed over the ground and speed through the water, kn.
type Track = Vec<(i64, f64, f64)>;

struct Sailed {
    truth: Truth,
    tracks: BTreeMap<String, Track>,
    lines: Vec<String>,
}

fn sailed(scenario: &'static str, seed: u64) -> Sailed {
    let mut water = EleventhWater::new(scenario, seed, seed, START_MS);
    let (mut tracks, mut lines) = (BTreeMap::<String, Track>::new(), Vec::new());
    let mut steps = 0;
    while !water.is_over() {
        lines.extend(water.step().into_iter().map(|line| line.text));
        steps += 1;
        if steps % i64::from(STEPS_PER_S) == 0 {
            for boat in &water.boats {
                let through = boat.over_water();
                let at_ms = START_MS + steps * 1_000 / i64::from(STEPS_PER_S);
                let told = (at_ms, kn((through + water.stream).length()), kn(through.length()));
                tracks.entry(boat.id.clone()).or_default().push(told);
            }
        }
    }
    Sailed { truth: water.finish(), tracks, lines }
}

fn mean(of: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = of.fold((0.0, 0.0), |(sum, n), value| (sum + value, n + 1.0));
    sum / f64::max(n, 1.0)
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_seed_others() {
    let [one, again, other] = [11_001, 11_001, 11_002].map(|seed| sailed("eleventh-squalls", seed).lines);
    assert!(one == again);
    assert!(one != other);
}

#[test]
fn only_the_unmetered_scenario_lacks_a_wind_sentence() {
    for scenario in ELEVENTH_WATER {
        let tells_wind = sailed(scenario, 11_003).lines.iter().any(|line| line.contains("MWD"));
        assert_eq!(tells_wind, scenario != "eleventh-unmetered", "{scenario}");
    }
}

#[test]
fn a_capsized_hull_stops_and_drifts_and_is_righted_before_she_sails() {
    let (mut n, mut drifts_kn) = (0, Vec::new());
    for seed in 11_004..11_008 {
        let Sailed { truth, tracks, .. } = sailed("eleventh-squalls", seed);
        n += truth.capsizes.len();
        for capsize in &truth.capsizes {
            let righted_ms = capsize.righted_ms.unwrap_or(truth.end_ms);
            assert!(capsize.start_ms < righted_ms);
            assert!(capsize.sailing_ms.is_none_or(|sailing_ms| righted_ms < sailing_ms));
            let over = tracks[&capsize.boat].iter();
            let over = over.filter(|(at_ms, ..)| (capsize.start_ms + 15_000..righted_ms).contains(at_ms));
            drifts_kn.extend(over.map(|(.., through_kn)| *through_kn));
        }
    }
    assert!(n >= 20, "{n} capsizes");
    drifts_kn.sort_by(f64::total_cmp);
    let [low, middle, high] = [0.1, 0.5, 0.99].map(|at| drifts_kn[(drifts_kn.len() as f64 * at) as usize]);
    assert!(0.03 < low && low < 0.3 && (0.15..0.6).contains(&middle), "{low:.2}, {middle:.2} kn");
    assert!((0.6..1.6).contains(&high), "a wide range, and none sails: {high:.2} kn");
}

#[test]
fn spells_hold_slow_boats_and_the_rest_is_sailing() {
    let Sailed { truth, tracks, .. } = sailed("eleventh-fair", 11_009);
    let in_spell = |boat: &str, at_ms: i64, after_ms: i64, since_ms: i64| {
        let own = |reason: Reason| reason != Reason::Towed || after_ms > 0;
        truth.spells.iter().any(|spell| {
            let (from_ms, to_ms) = (spell.start_ms + since_ms, spell.end_ms + after_ms);
            spell.boat == boat && own(spell.reason) && (from_ms..=to_ms).contains(&at_ms)
        })
    };
    let all = || tracks.iter().flat_map(|(id, track)| track.iter().map(move |told| (id.as_str(), told)));
    let stopped = all().filter(|(id, told)| in_spell(id, told.0, 0, 20_000)).map(|(_, told)| told.1);
    let sailing = all().filter(|(id, told)| !in_spell(id, told.0, 15_000, 0)).map(|(_, told)| told.1);
    let (stopped_kn, sailing_kn) = (mean(stopped), mean(sailing));
    assert!(stopped_kn < 0.9, "{stopped_kn:.2} kn in stops");
    assert!((1.7..4.0).contains(&sailing_kn), "{sailing_kn:.2} kn under sail");
}

#[test]
fn safety_boats_attend_some_of_them_and_nearly_all_come_up() {
    let sessions = (11_011..11_015).map(|seed| sailed("eleventh-squalls", seed).truth);
    let all: Vec<_> = sessions.flat_map(|truth| truth.capsizes).collect();
    let attended = all.iter().filter(|capsize| capsize.attended).count();
    let righted = all.iter().filter(|capsize| capsize.righted_ms.is_some()).count();
    assert!(attended * 5 > all.len() && attended < all.len(), "{attended} of {}", all.len());
    assert!(righted * 10 > all.len() * 8, "{righted} of {}", all.len());
}
