//! Holds what was said against what happened, one session at a time.
//!
//! Definitions (also in `TRUTH.md` of the simulator). A capsize runs from the moment she goes over to the
//! moment she is under way again; "while it lasts" ends when she is upright. Drills on purpose are counted
//! apart and no alert on them is false.

use std::collections::BTreeMap;

use dunlin_sim::{CapsizeTruth, Crossing, HeelSensor, Reason, Truth, rfc3339};

use super::{
    measures::{Finding, Matched, Measures, THRESHOLDS},
    said::{Episode, Level, Output},
};

/// An alert this long after she sails again is about something else, ms.
const AFTER_SAILING_MS: i64 = 10_000;
/// A true alert that still stands this long after she sails again has become a false one, ms.
const OUTSTAYED_MS: i64 = 60_000;
/// A feed that delivered at least this share of its fixes while she was over was alive.
const ALIVE: f64 = 0.5;
/// Crossings shallower than this (about two errors of a phone) are not asked for, m.
const DEEP_M: f64 = 10.0;
/// A tack or gybe report belongs to a true one from this long before the wind was passed to this long
/// after she had settled, ms.
const TURN_EARLY_MS: i64 = 3_000;
const TURN_LATE_MS: i64 = 25_000;
/// Stands for "not before the end"; far from overflow, ms.
const FOREVER_MS: i64 = i64::MAX / 2;
/// A cause this far back may still explain an alert, ms.
const CAUSE_MS: i64 = 45_000;

/// Scores one session.
pub fn judge(truth: &Truth, output: &Output) -> Measures {
    let mut judge = Judge { truth, output, m: Measures { sessions: 1, ..Measures::default() } };
    judge.hours();
    judge.capsizes();
    judge.false_capsizes();
    judge.crossings();
    judge.contact();
    judge.vanes();
    judge.turns();
    judge.roundings();
    judge.wind();
    judge.m
}

struct Judge<'a> {
    truth: &'a Truth,
    output: &'a Output,
    m: Measures,
}

fn under_way(capsize: &CapsizeTruth) -> i64 {
    capsize.sailing_ms.unwrap_or(FOREVER_MS)
}

fn upright(capsize: &CapsizeTruth) -> i64 {
    capsize.righted_ms.unwrap_or(FOREVER_MS)
}

fn seconds(ms: i64) -> f64 {
    ms as f64 / 1000.0
}

impl<'a> Judge<'a> {
    fn of(&self, boat: &str, kind: &str) -> Vec<&'a Episode> {
        self.output.episodes.iter().filter(|episode| episode.boat == boat && episode.kind == kind).collect()
    }

    fn finding(&mut self, boat: &str, t_ms: i64, what: &str, cause: &str) {
        let session = format!("{} {}", self.truth.scenario, self.truth.seed);
        self.m.findings.push(Finding {
            session,
            boat: boat.into(),
            t: rfc3339(t_ms),
            what: what.into(),
            cause: cause.into(),
        });
    }

    fn is_dinghy(&self, boat: &str) -> bool {
        self.truth.boats.iter().any(|b| b.id == boat && b.role == "dinghy")
    }

    fn hours(&mut self) {
        for boat in self.truth.boats.iter().filter(|boat| boat.role == "dinghy") {
            if let Some(from) = boat.afloat_from_ms {
                let to = boat.afloat_to_ms.unwrap_or(self.truth.end_ms);
                self.m.boat_hours += seconds(to - from) / 3600.0;
            }
        }
        for episode in &self.output.episodes {
            let level = format!("{:?}", episode.points[0].level).to_lowercase();
            *self.m.raised.entry(format!("{} {level}", episode.kind)).or_default() += 1;
        }
    }

    /// The first moment at warning or above that belongs to this capsize.
    fn first_warning(&self, capsize: &CapsizeTruth) -> Option<i64> {
        let spans = self
            .of(&capsize.boat, "capsize")
            .into_iter()
            .flat_map(|episode| episode.spans_at(Level::Warning));
        spans
            .filter(|(from, to)| *from <= under_way(capsize) && *to >= capsize.start_ms)
            .map(|(from, _)| from.max(capsize.start_ms))
            .min()
    }

    fn capsizes(&mut self) {
        for capsize in &self.truth.capsizes {
            let warned = self.first_warning(capsize);
            if capsize.drill {
                self.m.drills.note(warned.is_some());
                continue;
            }
            self.m.capsizes += 1;
            let end = upright(capsize).min(self.truth.end_ms);
            let any = self
                .output
                .episodes
                .iter()
                .any(|episode| episode.boat == capsize.boat && episode.stands_in(capsize.start_ms, end));
            self.m.any_alert.note(any);
            let lasting = end - capsize.start_ms >= 60_000;
            let alive = capsize.feed_alive >= ALIVE;
            // One that began in the last half minute of the session cannot be judged by delay.
            let cut_off = self.truth.end_ms - capsize.start_ms < 60_000;
            if alive && !cut_off {
                let delay = warned.map(|at| at - capsize.start_ms);
                self.m.within_30.note(delay.is_some_and(|ms| ms <= 30_000));
                self.m.within_60.note(delay.is_some_and(|ms| ms <= 60_000));
                self.m.delays_s.extend(delay.map(seconds));
                if lasting {
                    self.m.long_alive.note(warned.is_some_and(|at| at <= end));
                }
                if capsize.heel == HeelSensor::Sound {
                    self.m.with_heel.note(warned.is_some());
                    self.m.heel_delays_s.extend(delay.map(seconds));
                }
                self.curve_found(capsize);
            }
            if !any || (alive && lasting && warned.is_none_or(|at| at > end)) {
                let state = if alive { "feed alive" } else { "feed dead" };
                let what = format!(
                    "missed capsize of {:.0} s, {state}{}",
                    seconds(end - capsize.start_ms),
                    if any { ", some alert" } else { "" }
                );
                let cause = format!("{}{}", capsize.cause, if capsize.again { " again" } else { "" });
                self.finding(&capsize.boat, capsize.start_ms, &what, &cause);
            }
            self.clearing(capsize, alive);
        }
    }

    fn clearing(&mut self, capsize: &CapsizeTruth, alive: bool) {
        let (Some(righted), Some(sailing), true) = (capsize.righted_ms, capsize.sailing_ms, alive) else {
            return;
        };
        let again = self.truth.capsizes.iter().any(|other| {
            other.boat == capsize.boat
                && other.start_ms > capsize.start_ms
                && other.start_ms < sailing + 120_000
        });
        if again {
            return;
        }
        let spans = self
            .of(&capsize.boat, "capsize")
            .into_iter()
            .flat_map(|episode| episode.spans_at(Level::Warning));
        let standing = spans.filter(|(from, to)| *from <= righted && *to > righted).map(|(_, to)| to).max();
        if let Some(to) = standing {
            let to = to.min(self.truth.end_ms);
            self.m.clear_s.push(seconds(to - righted));
            self.m.clear_after_sailing_s.push(seconds((to - sailing).max(0)));
        }
    }

    fn curve_found(&mut self, capsize: &CapsizeTruth) {
        let limit = (capsize.start_ms + 60_000).min(under_way(capsize));
        let episodes = self.of(&capsize.boat, "capsize");
        for (i, threshold) in THRESHOLDS.iter().enumerate() {
            let found = episodes.iter().any(|episode| {
                let n = episode.points.len();
                (0..n).any(|k| {
                    let point = episode.points[k];
                    let until = episode.points.get(k + 1).map_or(episode.end_or_never(), |next| next.t_ms);
                    point.confidence.is_some_and(|stated| stated >= *threshold)
                        && point.t_ms <= limit
                        && until >= capsize.start_ms
                })
            });
            self.m.curve[i].found_60.note(found);
        }
    }

    /// Whether a capsize alert on this boat at this moment is about a real one.
    fn is_true(&self, boat: &str, t_ms: i64) -> bool {
        let capsized = self
            .truth
            .capsizes
            .iter()
            .any(|c| c.boat == boat && c.start_ms <= t_ms && t_ms <= under_way(c) + AFTER_SAILING_MS);
        // A person in the water beside a stopped boat is no false alarm either.
        let person = self.truth.overboard.iter().any(|o| {
            o.boat == boat && o.start_ms <= t_ms && t_ms <= o.end_ms.unwrap_or(FOREVER_MS) + AFTER_SAILING_MS
        });
        capsized || person
    }

    fn false_capsizes(&mut self) {
        let output = self.output;
        for episode in output.episodes.iter().filter(|episode| episode.kind == "capsize") {
            let boat = &episode.boat;
            let raised = episode.points[0];
            let true_at_raise = self.is_true(boat, raised.t_ms);
            if let Some(stated) = raised.confidence {
                // An alert may be raised on the stop that becomes a capsize: true if it comes true while it stands.
                self.m.at_raise.note(stated, true_at_raise);
            }
            for (i, threshold) in THRESHOLDS.iter().enumerate() {
                let first = episode
                    .points
                    .iter()
                    .find(|point| point.confidence.is_some_and(|stated| stated >= *threshold));
                self.m.curve[i].false_n +=
                    u64::from(first.is_some_and(|point| !self.is_true(boat, point.t_ms)));
            }
            match episode.first_at(Level::Warning) {
                Some(at) if !self.is_true(boat, at) => {
                    let cause = self.cause(boat, at);
                    *self.m.false_warnings.entry(cause.clone()).or_default() += 1;
                    self.finding(boat, at, "false capsize", &cause);
                }
                Some(_) => {}
                None if !true_at_raise => {
                    *self.m.false_cautions.entry(self.cause(boat, raised.t_ms)).or_default() += 1
                }
                None => {}
            }
            self.false_time(episode);
        }
    }

    fn false_time(&mut self, episode: &Episode) {
        for (from, to) in episode.spans_at(Level::Warning) {
            let to = to.min(self.truth.end_ms);
            // Taken second by second: the spans of truth may be several.
            let mut t = from;
            while t < to {
                let excused =
                    self.truth.capsizes.iter().any(|c| {
                        c.boat == episode.boat && c.start_ms <= t && t <= under_way(c) + OUTSTAYED_MS
                    }) || self.truth.overboard.iter().any(|o| {
                        o.boat == episode.boat
                            && o.start_ms <= t
                            && t <= o.end_ms.unwrap_or(FOREVER_MS) + OUTSTAYED_MS
                    });
                self.m.false_seconds += if excused { 0.0 } else { 1.0 };
                t += 1000;
            }
        }
    }

    /// What was really the matter with a boat when something false was said of her.
    fn cause(&self, boat: &str, t_ms: i64) -> String {
        if !self.is_dinghy(boat) {
            return "no dinghy".into();
        }
        if self.truth.frozen.iter().any(|f| f.boat == boat && f.start_ms <= t_ms && t_ms <= f.end_ms + 30_000)
        {
            return "frozen tracker".into();
        }
        let spells: Vec<_> = self
            .truth
            .spells
            .iter()
            .filter(|s| s.boat == boat && s.start_ms <= t_ms && s.end_ms >= t_ms - CAUSE_MS)
            .collect();
        let word = |reason: Reason| {
            serde_json::to_value(reason).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
        };
        if let Some(now) = spells.iter().rev().find(|s| s.end_ms >= t_ms - 3_000) {
            return word(now.reason);
        }
        if self.truth.silences.iter().any(|s| {
            s.boat == boat && s.start_ms <= t_ms && s.end_ms.is_none_or(|end| end >= t_ms - CAUSE_MS)
        }) {
            return "silence".into();
        }
        spells
            .iter()
            .max_by_key(|s| s.end_ms)
            .map_or("sailing".into(), |s| format!("after {}", word(s.reason)))
    }

    fn crossings(&mut self) {
        let truth = self.truth;
        for (kind, early, crossings) in
            [("outside-area", "drifting-out", &truth.exits), ("no-go", "nearing-no-go", &truth.no_go)]
        {
            let (mut found, mut delays, mut missed) = (Vec::new(), Vec::new(), Vec::new());
            for crossing in crossings {
                let end = crossing.end_ms.unwrap_or(truth.end_ms);
                if crossing.depth_m < DEEP_M || end - crossing.start_ms < 10_000 {
                    continue;
                }
                let hit = self
                    .of(&crossing.boat, kind)
                    .into_iter()
                    .find(|episode| episode.stands_in(crossing.start_ms - 5_000, end + 5_000));
                found.push(hit.is_some());
                delays
                    .extend(hit.map(|episode| seconds((episode.start_ms() - crossing.start_ms).max(-5_000))));
                if hit.is_none() {
                    missed.push((
                        crossing.boat.clone(),
                        crossing.start_ms,
                        format!("missed {kind}, {:.0} m deep", crossing.depth_m),
                    ));
                }
                self.drift_lead(crossing, kind, early);
            }
            let mut wrong = Vec::new();
            for episode in self.output.episodes.iter().filter(|episode| episode.kind == kind) {
                let at = episode.start_ms();
                let real = crossings.iter().any(|c| {
                    c.boat == episode.boat
                        && c.start_ms - 20_000 <= at
                        && at <= c.end_ms.unwrap_or(truth.end_ms) + 20_000
                });
                if !real && self.is_dinghy(&episode.boat) {
                    wrong.push((episode.boat.clone(), at, format!("false {kind}")));
                }
            }
            let early_wrong =
                self.output.episodes.iter().filter(|episode| episode.kind == early).filter(|episode| {
                    let at = episode.start_ms();
                    !crossings.iter().any(|c| {
                        c.boat == episode.boat
                            && c.end_ms.unwrap_or(truth.end_ms) >= at
                            && c.start_ms <= at + 300_000
                    })
                });
            self.m.drift_false += early_wrong.count() as u64;
            let (share, all_delays, false_n) = if kind == "no-go" {
                (&mut self.m.no_go, &mut self.m.no_go_delays_s, &mut self.m.no_go_false)
            } else {
                (&mut self.m.exits, &mut self.m.exit_delays_s, &mut self.m.exit_false)
            };
            found.into_iter().for_each(|hit| share.note(hit));
            all_delays.extend(delays);
            *false_n += wrong.len() as u64;
            for (boat, at, what) in missed.into_iter().chain(wrong) {
                let cause = self.cause(&boat, at);
                self.finding(&boat, at, &what, &cause);
            }
        }
    }

    fn drift_lead(&mut self, crossing: &Crossing, kind: &str, early: &str) {
        let Some(since) = crossing.drifting_since_ms else { return };
        if crossing.start_ms - since < 60_000 {
            return;
        }
        let standing = self
            .output
            .episodes
            .iter()
            .filter(|e| e.boat == crossing.boat && (e.kind == early || e.kind == kind));
        // Announced without a gap up to the crossing (fifteen seconds are forgiven).
        let lead = standing
            .filter(|e| e.start_ms() <= crossing.start_ms && e.end_or_never() >= crossing.start_ms - 15_000)
            .map(|e| seconds(crossing.start_ms - e.start_ms()))
            .fold(0.0, f64::max);
        self.m.drift_45.note(lead >= 45.0);
        self.m.drift_leads_s.push(lead);
        if lead < 45.0 {
            let what = format!("drift over a boundary announced {lead:.0} s before, {early}");
            let cause = self.cause(&crossing.boat, crossing.start_ms);
            self.finding(&crossing.boat, crossing.start_ms, &what, &cause);
        }
    }

    fn contact(&mut self) {
        let truth = self.truth;
        for silence in &truth.silences {
            let end = silence.end_ms.unwrap_or(truth.end_ms);
            if end - silence.start_ms < 60_000 || self.ashore(&silence.boat, silence.start_ms) {
                continue;
            }
            let said = self
                .of(&silence.boat, "lost-contact")
                .into_iter()
                .find(|e| e.stands_in(silence.start_ms, end));
            self.m.lost.note(said.is_some());
            self.m.lost_delays_s.extend(said.map(|e| seconds((e.start_ms() - silence.start_ms).max(0))));
            if said.is_none() {
                self.finding(
                    &silence.boat,
                    silence.start_ms,
                    "missed lost contact",
                    if silence.capsized { "capsized" } else { "well" },
                );
            }
        }
        for frozen in &truth.frozen {
            if frozen.end_ms - frozen.start_ms < 60_000 || frozen.moved_m < 30.0 {
                continue;
            }
            let said = self
                .of(&frozen.boat, "frozen-tracker")
                .into_iter()
                .any(|e| e.stands_in(frozen.start_ms, frozen.start_ms + 60_000));
            self.m.frozen.note(said);
            if !said {
                self.finding(&frozen.boat, frozen.start_ms, "missed frozen tracker", "");
            }
        }
        let output = self.output;
        for episode in &output.episodes {
            let at = episode.start_ms();
            let covered = match episode.kind.as_str() {
                "lost-contact" => truth.silences.iter().any(|s| {
                    s.boat == episode.boat && s.start_ms <= at && at <= s.end_ms.unwrap_or(FOREVER_MS) + 2_000
                }),
                "frozen-tracker" => truth
                    .frozen
                    .iter()
                    .any(|f| f.boat == episode.boat && f.start_ms <= at && at <= f.end_ms + 10_000),
                _ => continue,
            };
            if !covered {
                let n = if episode.kind == "lost-contact" {
                    &mut self.m.lost_false
                } else {
                    &mut self.m.frozen_false
                };
                *n += 1;
                let cause = self.cause(&episode.boat, at);
                self.finding(&episode.boat, at, &format!("false {}", episode.kind), &cause);
            }
        }
        for person in &truth.overboard {
            if let Some(beacon) = person
                .beacon_ms
                .filter(|at| *at < truth.end_ms - 60_000 && person.end_ms.is_none_or(|end| end > *at))
            {
                let said = output
                    .episodes
                    .iter()
                    .any(|e| e.kind == "person-overboard" && e.stands_in(beacon, beacon + 60_000));
                self.m.overboard.note(said);
            }
        }
    }

    fn vanes(&mut self) {
        let said = || self.output.episodes.iter().filter(|e| e.kind == "wind-disagrees");
        for lying in &self.truth.lying_vanes {
            self.m.vanes.note(said().any(|e| e.stands_in(lying.start_ms, lying.start_ms + 600_000)));
        }
        let lies = |at: i64| self.truth.lying_vanes.iter().any(|lying| at >= lying.start_ms);
        self.m.vanes_false = said().filter(|e| !lies(e.start_ms())).count() as u64;
    }

    fn ashore(&self, boat: &str, t_ms: i64) -> bool {
        self.truth
            .spells
            .iter()
            .any(|s| s.boat == boat && s.reason == Reason::Landing && s.start_ms <= t_ms && t_ms <= s.end_ms)
    }

    fn turns(&mut self) {
        let truth = self.truth;
        let mut used = vec![false; self.output.turns.len()];
        let mut by_boat: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (i, turn) in self.output.turns.iter().enumerate() {
            by_boat.entry(&turn.boat).or_default().push(i);
        }
        let (mut tacks, mut gybes) = (Matched::default(), Matched::default());
        for real in truth.manoeuvres.iter().filter(|real| !real.unscored) {
            let matched = if real.kind == "tack" { &mut tacks } else { &mut gybes };
            let candidates = by_boat.get(real.boat.as_str()).into_iter().flatten();
            let hit = candidates.copied().find(|i| {
                let said = &self.output.turns[*i];
                !used[*i]
                    && said.kind == real.kind
                    && said.t_ms >= real.crossed_ms - TURN_EARLY_MS
                    && said.t_ms <= real.settled_ms + TURN_LATE_MS
            });
            match hit {
                Some(i) => {
                    used[i] = true;
                    matched.right += 1;
                }
                None => matched.missed += 1,
            }
        }
        for (i, said) in self.output.turns.iter().enumerate() {
            let excused = truth.manoeuvres.iter().any(|real| {
                real.unscored
                    && real.boat == said.boat
                    && said.t_ms >= real.crossed_ms - 20_000
                    && said.t_ms <= real.settled_ms + 40_000
            });
            if !used[i] && !excused {
                if said.kind == "tack" { tacks.wrong += 1 } else { gybes.wrong += 1 }
            }
        }
        self.m.tacks = tacks;
        self.m.gybes = gybes;
    }

    fn roundings(&mut self) {
        let truth = self.truth;
        let mut used = vec![false; self.output.roundings.len()];
        let near = |said_ms: i64, left_ms: i64| said_ms >= left_ms - 60_000 && said_ms <= left_ms + 30_000;
        for real in truth.roundings.iter().filter(|real| real.meant) {
            let hit = self.output.roundings.iter().enumerate().position(|(i, said)| {
                !used[i]
                    && said.boat == real.boat
                    && said.mark == real.mark
                    && said.hand == real.hand
                    && near(said.t_ms, real.left_ms)
            });
            match hit {
                Some(i) => {
                    used[i] = true;
                    self.m.roundings.right += 1;
                }
                None => self.m.roundings.missed += 1,
            }
        }
        for (i, said) in self.output.roundings.iter().enumerate() {
            let passed = truth.roundings.iter().any(|real| {
                !real.meant
                    && real.boat == said.boat
                    && real.mark == said.mark
                    && near(said.t_ms, real.left_ms)
            });
            self.m.roundings.wrong += u64::from(!used[i] && !passed);
        }
    }

    fn wind(&mut self) {
        for said in &self.output.winds {
            let after = self.truth.wind.partition_point(|wind| wind.t_ms < said.t_ms);
            let Some(real) = self.truth.wind.get(after.min(self.truth.wind.len().saturating_sub(1))) else {
                continue;
            };
            // There is no direction to speak of in a calm.
            if real.speed_kn < 1.5 {
                continue;
            }
            let error = ((said.from_deg - real.from_deg + 180.0).rem_euclid(360.0) - 180.0).abs();
            let errors = self.m.wind.entry(said.basis.clone()).or_default();
            errors.errors_deg.push(error);
            if let Some(sd) = said.sd_deg {
                errors.within_sd.note(error <= sd);
            }
        }
    }
}
