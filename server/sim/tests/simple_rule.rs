//! What the seventh water and those after it are held to: a simple rule, slower than 0.8 kn for 20 s is a capsize,
//! was scored on a season that has nothing to do with this program, and must score about the same on them.

use std::collections::BTreeMap;

use dunlin_sim::{OtherWater, Reason, Session, Truth};

const SLOW_KN: f64 = 0.8;
const SLOW_MS: i64 = 20_000;
/// An alert this soon after she sails again is still about the capsize, ms.
const AFTER_MS: i64 = 10_000;

/// When the rule speaks and when it falls silent.
struct Alert {
    boat: String,
    from_ms: i64,
    to_ms: i64,
}

/// Boat, Unix ms and knots of a line that tells them.
fn told(line: &str) -> Option<(&str, i64, f64)> {
    let (tag, rest) = line.split_once("RMC,")?;
    let id = tag.split_once("s:phone-")?.1.split(',').next()?;
    let at_ms = tag.split_once("c:")?.1.split('*').next()?.parse().ok()?;
    Some((id, at_ms, rest.split(',').nth(6)?.parse().ok()?))
}

fn alerts(lines: &[String]) -> Vec<Alert> {
    let mut slow: BTreeMap<&str, (i64, i64)> = BTreeMap::new();
    let mut said = Vec::new();
    let mut say = |id: &str, since_ms: i64, to_ms: i64| {
        if to_ms - since_ms >= SLOW_MS {
            said.push(Alert { boat: id.to_owned(), from_ms: since_ms + SLOW_MS, to_ms });
        }
    };
    for (id, at_ms, kn) in lines.iter().filter_map(|line| told(line)) {
        if kn < SLOW_KN {
            slow.entry(id).or_insert((at_ms, at_ms)).1 = at_ms;
        } else if let Some((since_ms, _)) = slow.remove(id) {
            say(id, since_ms, at_ms);
        }
    }
    for (id, (since_ms, last_ms)) in slow {
        say(id, since_ms, last_ms);
    }
    said
}

/// What the rule gets right and wrong in a season.
#[derive(Default)]
struct Score {
    hours: f64,
    capsizes: f64,
    /// Of capsizes of a minute and more whose phones live, those with an alert while they last; and how many there are.
    long: (f64, f64),
    /// Of all whose phones live: some alert while they last; a new one within a minute; and how many there are.
    any: f64,
    soon: f64,
    alive: f64,
    /// From the capsize to the first alert while she is over; 0 if one stood before.
    delays_s: Vec<f64>,
    false_seconds: f64,
    causes: BTreeMap<Option<Reason>, f64>,
}

impl Score {
    fn add(&mut self, truth: &Truth, alerts: &[Alert]) {
        self.hours += truth.boats.iter().filter(|boat| boat.role == "dinghy").count() as f64;
        self.capsizes += truth.capsizes.len() as f64;
        for capsize in truth.capsizes.iter().filter(|capsize| capsize.feed_alive > 0.5) {
            let until_ms = capsize.sailing_ms.unwrap_or(truth.end_ms);
            let own = alerts.iter().filter(|alert| alert.boat == capsize.boat);
            let during = own.filter(|alert| alert.from_ms < until_ms && alert.to_ms > capsize.start_ms);
            let after_ms: Vec<i64> = during.map(|alert| alert.from_ms - capsize.start_ms).collect();
            let is_found = !after_ms.is_empty();
            let righted_ms = capsize.righted_ms.unwrap_or(truth.end_ms);
            let first_ms = after_ms.iter().min().filter(|ms| capsize.start_ms + **ms < righted_ms);
            self.delays_s.extend(first_ms.map(|ms| (*ms).max(0) as f64 / 1000.0));
            self.alive += 1.0;
            self.any += f64::from(u8::from(is_found));
            self.soon += f64::from(u8::from(after_ms.iter().any(|ms| (0..=60_000).contains(ms))));
            if capsize.righted_ms.unwrap_or(truth.end_ms) - capsize.start_ms >= 60_000 {
                self.long.0 += f64::from(u8::from(is_found));
                self.long.1 += 1.0;
            }
        }
        for alert in alerts {
            let at_ms = alert.from_ms;
            let until = |sailing_ms: Option<i64>| sailing_ms.map_or(truth.end_ms, |ms| ms + AFTER_MS);
            let mut own = truth.capsizes.iter().filter(|capsize| capsize.boat == alert.boat);
            if own.any(|capsize| capsize.start_ms <= at_ms && at_ms <= until(capsize.sailing_ms)) {
                continue;
            }
            self.false_seconds += (alert.to_ms - at_ms) as f64 / 1000.0;
            let mut own = truth.spells.iter().filter(|spell| spell.boat == alert.boat);
            let cause = own.find(|spell| spell.start_ms <= at_ms && at_ms <= spell.end_ms);
            *self.causes.entry(cause.map(|spell| spell.reason)).or_default() += 1.0;
        }
    }
}

/// Sails some of a water's sessions and holds the rule's figures there to those from elsewhere.
fn hold(water: &str, sessions: u64, from_seed: u64) {
    let scenarios = OtherWater::named(water).expect("a water of the list").scenarios;
    let mut score = Score::default();
    // Clubs and days differ: it takes some of them.
    for (scenario, seed) in scenarios.iter().cycle().zip(from_seed..from_seed + sessions) {
        let mut session = Session::new(scenario, seed).expect("a scenario of the list");
        let lines: Vec<String> = session.by_ref().map(|line| line.text).collect();
        score.add(&session.truth(), &alerts(&lines));
    }
    let about = |what: &str, here: f64, elsewhere: f64, by: f64| {
        println!("{water}, {what}: {here:.2}, elsewhere {elsewhere}");
        assert!(
            elsewhere / by < here && here < elsewhere * by,
            "{water}, {what}: {here:.2}, elsewhere {elsewhere}"
        );
    };
    // Elsewhere 0.87 capsizes an hour, 0.93 of the long ones found; 3.00 false alerts an hour, 326 s of them; of
    // 1,452 false ones 491 hove to, 396 waiting, 228 in irons, 109 alongside.
    about("capsizes an hour", score.capsizes / score.hours, 0.87, 1.5);
    about("long ones found", score.long.0 / score.long.1, 0.93, 1.1);
    score.delays_s.sort_by(f64::total_cmp);
    let delay_s = score.delays_s[score.delays_s.len() / 2];
    let (any, soon) = (score.any / score.alive, score.soon / score.alive);
    println!(
        "{water}, any found: {any:.2}, elsewhere 0.86; anew within 60 s: {soon:.2}, elsewhere 0.63; median delay {delay_s:.0} s"
    );
    // The tenth and those after it agree in all three. On the seventh more are found so soon, on the eighth more at all;
    // on the ninth an alert stands already when many go over.
    let agrees = ["tenth", "eleventh", "twelfth", "thirteenth"].contains(&water);
    if agrees || water == "ninth" {
        about("any found", any, 0.86, 1.14);
        about("found anew within 60 s", soon, 0.63, 1.18);
    }
    if water != "ninth" {
        about("median delay, s", delay_s, 26.0, 1.4);
    }
    let all: f64 = score.causes.values().sum();
    about("false alerts an hour", all / score.hours, 3.0, 1.35);
    about("seconds of them an hour", score.false_seconds / score.hours, 326.0, 1.4);
    for (reason, share) in
        [(Reason::HoveTo, 0.34), (Reason::Waiting, 0.27), (Reason::InIrons, 0.16), (Reason::Rafted, 0.075)]
    {
        let here = score.causes.get(&Some(reason)).copied().unwrap_or_default() / all;
        about(&format!("share of {reason:?}"), here, share, 1.8);
    }
}

#[test]
fn the_simple_rule_scores_on_the_seventh_water_what_it_scores_elsewhere() {
    hold("seventh", 20, 71_021);
}

#[test]
fn the_simple_rule_scores_on_the_eighth_water_what_it_scores_elsewhere() {
    hold("eighth", 20, 81_021);
}

#[test]
fn the_simple_rule_scores_on_the_ninth_water_what_it_scores_elsewhere() {
    hold("ninth", 20, 91_031);
}

#[test]
fn the_simple_rule_scores_on_the_tenth_water_what_it_scores_elsewhere() {
    // Every session is a world of its own there: it takes more of them.
    hold("tenth", 60, 101_031);
}

#[test]
fn the_simple_rule_scores_on_the_eleventh_water_what_it_scores_elsewhere() {
    hold("eleventh", 20, 111_021);
}

#[test]
fn the_simple_rule_scores_on_the_twelfth_water_what_it_scores_elsewhere() {
    hold("twelfth", 20, 121_021);
}

#[test]
fn the_simple_rule_scores_on_the_thirteenth_water_what_it_scores_elsewhere() {
    hold("thirteenth", 20, 131_021);
}
