//! Capsizes: found or missed, how soon, how soon cleared, and what was called one and was none.

use dunlin_sim::{CapsizeTruth, HeelSensor};

use super::{FOREVER_MS, Judge, seconds, under_way, upright};
use crate::score::{
    measures::THRESHOLDS,
    said::{Episode, Level},
};

/// An alert this long after she sails again is about something else, ms.
const AFTER_SAILING_MS: i64 = 10_000;
/// A true alert that still stands this long after she sails again has become a false one, ms.
const OUTSTAYED_MS: i64 = 60_000;
/// A feed that delivered at least this share of its fixes while she was over was alive.
const ALIVE: f64 = 0.5;

impl Judge<'_> {
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

    pub(super) fn capsizes(&mut self) {
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

    pub(super) fn false_capsizes(&mut self) {
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
                if !excused {
                    self.m.false_seconds += 1.0;
                    self.m.false_seconds_heard += f64::from(u8::from(self.heard(&episode.boat, t, t + 1000)));
                }
                t += 1000;
            }
        }
    }
}
