//! Several sources speak for one boat: one of them is followed, and never two in turn.

use crate::{
    fixes::{Fix, Source},
    moment::Moment,
};

/// Sources of one boat remembered; of more, the one silent longest is forgotten.
const SOURCES_MAX: usize = 4;

/// The source in use is left at once when it has been silent this long, ms, ...
const SILENT_MS: i64 = 3_000;

/// ... or this many of its usual intervals, if that is longer.
const SILENT_INTERVALS: f64 = 2.5;

/// A better source must have been better for this long before it is followed, ms.
const BETTER_MS: i64 = 20_000;

/// How much better: this share of the other's cost.
const BETTER_SHARE: f64 = 0.6;

/// What a second between fixes costs, as metres of error: a boat turns or stops in it.
const INTERVAL_COST_MPS: f64 = 1.5;

/// What the lack of a reported speed costs, metres.
const SPEECHLESS_COST_M: f64 = 4.0;

/// Error of a source that states none, metres.
const UNSTATED_M: f64 = 5.0;

/// One source and how good it is.
#[derive(Clone, Debug)]
struct Candidate {
    source: Source,
    heard: Moment,
    interval_s: f64,
    cost_m: f64,
    better_since: Option<Moment>,
}

impl Candidate {
    fn is_silent(&self, now: Moment) -> bool {
        let patience_ms = (SILENT_INTERVALS * self.interval_s * 1000.0) as i64;
        now.ms_since(self.heard) > patience_ms.max(SILENT_MS)
    }
}

/// What to do with a fix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Pick {
    /// It comes from the source in use.
    Follow,
    /// It comes from a source that is in use from now on.
    Change,
    /// Another source is in use.
    Spare,
}

/// Chooses among the sources of one boat.
#[derive(Clone, Debug, Default)]
pub(crate) struct Choice {
    candidates: Vec<Candidate>,
    used: Option<Source>,
}

impl Choice {
    /// The source in use.
    pub(crate) fn used(&self) -> Option<&Source> {
        self.used.as_ref()
    }

    /// Takes one fix of `source` into account. `spoilt`: the source in use is known to be wrong.
    pub(crate) fn fix(&mut self, now: Moment, source: &Source, fix: &Fix, spoilt: bool) -> Pick {
        self.note(now, source, fix);
        if self.used.as_ref() == Some(source) {
            return Pick::Follow;
        }
        let used = self.used.as_ref().and_then(|used| self.find(used));
        let change = match used {
            None => true,
            Some(used) if spoilt || used.is_silent(now) => true,
            Some(used) => self.is_better(now, source, used.cost_m),
        };
        if !change {
            return Pick::Spare;
        }
        let first = self.used.replace(source.clone()).is_none();
        for candidate in &mut self.candidates {
            candidate.better_since = None;
        }
        if first { Pick::Follow } else { Pick::Change }
    }

    fn find(&self, source: &Source) -> Option<Candidate> {
        self.candidates.iter().find(|candidate| candidate.source == *source).cloned()
    }

    /// Whether `source` has been clearly cheaper than `cost_m` for long enough.
    fn is_better(&mut self, now: Moment, source: &Source, cost_m: f64) -> bool {
        let Some(candidate) = self.candidates.iter_mut().find(|other| other.source == *source) else {
            return false;
        };
        if candidate.cost_m >= BETTER_SHARE * cost_m {
            candidate.better_since = None;
            return false;
        }
        let since = *candidate.better_since.get_or_insert(now);
        now.ms_since(since) >= BETTER_MS
    }

    fn note(&mut self, now: Moment, source: &Source, fix: &Fix) {
        let error_m = fix.accuracy_m.unwrap_or(UNSTATED_M);
        let speechless_m = if fix.speed_mps.is_some() { 0.0 } else { SPEECHLESS_COST_M };
        if let Some(known) = self.candidates.iter_mut().find(|other| other.source == *source) {
            let interval_s = now.s_since(known.heard).max(0.0);
            if interval_s > 0.0 {
                known.interval_s += 0.2 * (interval_s.min(60.0) - known.interval_s);
            }
            let cost_m = error_m + speechless_m + INTERVAL_COST_MPS * known.interval_s;
            known.cost_m += 0.2 * (cost_m - known.cost_m);
            known.heard = now;
            return;
        }
        if self.candidates.len() >= SOURCES_MAX {
            let silent = self.candidates.iter().enumerate().min_by_key(|(_, other)| other.heard);
            if let Some((at, _)) = silent {
                self.candidates.remove(at);
            }
        }
        self.candidates.push(Candidate {
            source: source.clone(),
            heard: now,
            interval_s: 1.0,
            cost_m: error_m + speechless_m + INTERVAL_COST_MPS,
            better_since: None,
        });
    }
}
