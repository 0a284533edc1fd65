//! The simple rule of the season sailed elsewhere, on this water: slower than 0.8 kn for 20 s is a capsize.

use std::collections::BTreeMap;

use super::sailed;
use crate::{
    seventh::water::SEVENTH_WATER,
    truth::{Reason, Truth},
};

const SLOW_KN: f64 = 0.8;
const SLOW_MS: i64 = 20_000;

/// When the rule speaks and when it falls silent, of each boat.
fn alerts(lines: &[String]) -> Vec<(String, i64, i64)> {
    let mut slow_since: BTreeMap<&str, i64> = BTreeMap::new();
    let mut said = Vec::new();
    for line in lines {
        let Some((tag, rest)) = line.split_once("RMC,") else { continue };
        let Some(id) = tag.split_once("s:phone-").and_then(|(_, id)| id.split(',').next()) else { continue };
        let at_ms: i64 = tag.split_once("c:").and_then(|(_, at)| at.split('*').next()?.parse().ok()).unwrap();
        let kn: f64 = rest.split(',').nth(6).and_then(|kn| kn.parse().ok()).unwrap();
        if kn < SLOW_KN {
            slow_since.entry(id).or_insert(at_ms);
        } else if let Some(since_ms) = slow_since.remove(id).filter(|since_ms| at_ms - since_ms >= SLOW_MS) {
            said.push((id.to_owned(), since_ms + SLOW_MS, at_ms));
        }
    }
    said
}

fn is_about_a_capsize(truth: &Truth, id: &str, at_ms: i64) -> bool {
    let lasts = |until_ms: Option<i64>| until_ms.map_or(i64::MAX, |until_ms| until_ms + 10_000);
    let own = truth.capsizes.iter().filter(|capsize| capsize.boat == id);
    own.into_iter().any(|capsize| capsize.start_ms <= at_ms && at_ms <= lasts(capsize.sailing_ms))
}

#[test]
fn the_simple_rule_is_as_wrong_here_as_elsewhere() {
    let (mut causes, mut seconds, mut hours): (BTreeMap<Reason, f64>, f64, f64) = Default::default();
    let mut all = 0.0;
    // Clubs and days differ: it takes some of them.
    for (scenario, seed) in SEVENTH_WATER.into_iter().cycle().zip(71_021..71_033) {
        let (truth, _, lines) = sailed(scenario, seed);
        hours += truth.boats.iter().filter(|boat| boat.role == "dinghy").count() as f64;
        for (id, from_ms, to_ms) in alerts(&lines) {
            if is_about_a_capsize(&truth, &id, from_ms) {
                continue;
            }
            all += 1.0;
            seconds += (to_ms - from_ms) as f64 / 1000.0;
            let own = truth.spells.iter().filter(|spell| spell.boat == id);
            for spell in own.filter(|spell| spell.start_ms <= from_ms && from_ms <= spell.end_ms) {
                *causes.entry(spell.reason).or_default() += 1.0;
            }
        }
    }
    // Elsewhere 3.00 an hour, 326 s of it; of 1,452 false ones 491 hove to, 396 waiting, 228 in irons, 109 alongside.
    let per_h = all / hours;
    assert!(1.9 < per_h && per_h < 4.2, "{per_h:.2} false alerts an hour");
    let seconds_per_h = seconds / hours;
    assert!(190.0 < seconds_per_h && seconds_per_h < 480.0, "{seconds_per_h:.0} s an hour");
    for (reason, share) in
        [(Reason::HoveTo, 0.34), (Reason::Waiting, 0.27), (Reason::InIrons, 0.16), (Reason::Rafted, 0.075)]
    {
        let here = causes.get(&reason).copied().unwrap_or_default() / all;
        assert!(0.5 * share < here && here < 1.7 * share, "{reason:?}: {here:.2} of all, elsewhere {share}");
    }
}
