//! Holds what was said against what happened, one session at a time.
//!
//! Definitions (also in `TRUTH.md` of the simulator). A capsize runs from the moment she goes over to the
//! moment she is under way again; "while it lasts" ends when she is upright. Drills on purpose are counted
//! apart and no alert on them is false.

mod capsizes;
mod contact;
mod sailing;
mod zones;

use dunlin_sim::{CapsizeTruth, Reason, Truth, rfc3339};

use super::{
    measures::{Finding, Measures},
    said::{Episode, Output},
};

/// Stands for "not before the end"; far from overflow, ms.
const FOREVER_MS: i64 = i64::MAX / 2;
/// A gap between reports up to this long leaves a boat heard, ms.
const HEARD_MS: i64 = 10_000;
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

    /// Whether the boat's feed told where she was all that time: no silence and no frozen tracker.
    fn heard(&self, boat: &str, from_ms: i64, to_ms: i64) -> bool {
        let truth = self.truth;
        let silent = truth.silences.iter().any(|silence| {
            let end_ms = silence.end_ms.unwrap_or(FOREVER_MS);
            silence.boat == boat
                && end_ms - silence.start_ms > HEARD_MS
                && silence.start_ms < to_ms
                && end_ms > from_ms
        });
        let frozen = truth
            .frozen
            .iter()
            .any(|frozen| frozen.boat == boat && frozen.start_ms < to_ms && frozen.end_ms > from_ms);
        !silent && !frozen
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
}
