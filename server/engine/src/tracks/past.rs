//! Where a boat has been: a bounded history, and the straight line through its last part.

use std::collections::VecDeque;

use crate::{
    limits::HISTORY_MAX,
    tracks::Motion,
    units::{Local, Velocity},
};

/// The newest sample is replaced until this long after the one before it, ms: a 10 Hz feed is kept
/// at 2 Hz, as [`HISTORY_MAX`] says, and a 2 Hz feed whole.
const SPACING_MS: i64 = 600;

/// One remembered fix.
#[derive(Clone, Copy, Debug)]
struct Sample {
    motion: Motion,
    /// As measured, before the filter.
    fix: Local,
}

/// The history of one boat, oldest first.
#[derive(Clone, Debug, Default)]
pub(crate) struct Past {
    samples: VecDeque<Sample>,
}

impl Past {
    /// Remembers one fix; one that completes the newest (same time) replaces it.
    pub(crate) fn note(&mut self, motion: Motion, fix: Local) {
        let sample = Sample { motion, fix };
        let spaced = match self.samples.iter().rev().nth(1) {
            Some(before) => motion.at.ms_since(before.motion.at) >= SPACING_MS,
            None => true,
        };
        match self.samples.back_mut() {
            Some(newest) if newest.motion.at == motion.at || !spaced => *newest = sample,
            _ => {
                if self.samples.len() == HISTORY_MAX {
                    self.samples.pop_front();
                }
                self.samples.push_back(sample);
            }
        }
    }

    /// The receiver's error stepped from putting her at `from` to putting her at `to`: positions as
    /// measured are moved along, so that no drift is read from the step; motions stay as they were.
    pub(crate) fn shift(&mut self, from: Local, to: Local) {
        for sample in &mut self.samples {
            sample.fix.east_m += to.east_m - from.east_m;
            sample.fix.north_m += to.north_m - from.north_m;
        }
    }

    /// Forgets all: what follows is another place.
    pub(crate) fn clear(&mut self) {
        self.samples.clear();
    }

    /// The newest position as measured.
    pub(crate) fn newest_fix(&self) -> Option<Local> {
        self.samples.back().map(|sample| sample.fix)
    }

    pub(crate) fn motions(&self) -> impl DoubleEndedIterator<Item = &Motion> + ExactSizeIterator {
        self.samples.iter().map(|sample| &sample.motion)
    }

    /// The slope of the straight line fitted by least squares to the measured positions of the last
    /// `window_s` seconds before the newest; `None` when they span less than half of it.
    pub(crate) fn drift_over(&self, window_s: f64) -> Option<Velocity> {
        let newest = self.samples.back()?.motion.at;
        let recent = || {
            self.samples
                .iter()
                .rev()
                .map(|sample| (sample.motion.at.s_since(newest), sample.fix))
                .take_while(|(s, _)| -s <= window_s)
        };
        let (mut n, mut t_sum, mut t2_sum, mut span_s) = (0.0, 0.0, 0.0, 0.0);
        let (mut east, mut north, mut t_east, mut t_north) = (0.0, 0.0, 0.0, 0.0);
        // Relative to the newest fix: large plane coordinates would cost digits.
        let origin = self.samples.back()?.fix;
        for (t, fix) in recent() {
            let (e, m) = (fix.east_m - origin.east_m, fix.north_m - origin.north_m);
            n += 1.0;
            t_sum += t;
            t2_sum += t * t;
            east += e;
            north += m;
            t_east += t * e;
            t_north += t * m;
            span_s = -t;
        }
        let denominator = n * t2_sum - t_sum * t_sum;
        if span_s < window_s / 2.0 || denominator <= 0.0 {
            return None;
        }
        Some(Velocity {
            east_mps: (n * t_east - t_sum * east) / denominator,
            north_mps: (n * t_north - t_sum * north) / denominator,
        })
    }
}
