//! How finely a receiver's positions follow each other, learnt from the positions themselves.

use crate::{moment::Moment, units::Local};

/// Fixes further apart than this say more about the boat than about the receiver, seconds.
const GAP_MAX_S: f64 = 2.5;

/// One step of the running median, as a share of it: about forty fixes to change by a factor of e.
const STEP: f64 = 0.025;

/// Median of the absolute value of a normal deviate.
const MEDIAN_SD: f64 = 0.674_5;

/// Below this no receiver's grain is believed to be, metres: its last digit.
const GRAIN_MIN_M: f64 = 0.05;

/// Learns the standard deviation of what is new in each fix, along one axis, metres.
///
/// Three successive positions of a boat that keeps on lie on a line; how far the middle one is off
/// it tells the receiver's noise from fix to fix. The median over about a minute is not moved by
/// the few fixes in which she really turns or stops.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Grain {
    median_m: Option<f64>,
    last: Option<(Moment, Local)>,
    before: Option<(Moment, Local)>,
}

impl Grain {
    /// Takes one accepted position. `prior_m` is what is assumed of the grain to begin with.
    pub(crate) fn note(&mut self, at: Moment, fix: Local, prior_m: f64) {
        if let (Some((t0, a)), Some((t1, b))) = (self.before, self.last) {
            let (first_s, second_s) = (t1.s_since(t0), at.s_since(t1));
            if first_s > 0.05 && second_s > 0.05 && first_s <= GAP_MAX_S && second_s <= GAP_MAX_S {
                let ratio = second_s / first_s;
                let scale = (1.0 + (1.0 + ratio).powi(2) + ratio * ratio).sqrt();
                let mut median_m = self.median_m.unwrap_or(prior_m * MEDIAN_SD);
                for (a, b, c) in [(a.east_m, b.east_m, fix.east_m), (a.north_m, b.north_m, fix.north_m)] {
                    let off_m = (c - b - ratio * (b - a)).abs() / scale;
                    median_m *= if off_m > median_m { 1.0 + STEP } else { 1.0 - STEP };
                }
                self.median_m = Some(median_m.max(GRAIN_MIN_M * MEDIAN_SD));
            }
        }
        self.before = self.last;
        self.last = Some((at, fix));
    }

    /// The standard deviation, metres; `None` before three close fixes.
    pub(crate) fn sd_m(&self) -> Option<f64> {
        self.median_m.map(|median_m| median_m / MEDIAN_SD)
    }
}
