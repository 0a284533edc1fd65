//! How late a receiver's velocity is: phones smooth what they tell, and how sudden a stop looks hangs on by how
//! much.
//!
//! What is smoothed with a time constant `late` follows the truth as `truth = told + late * d told / dt`. Positions,
//! which are not smoothed so, tell the truth's mean over a few seconds. So `late` is the slope of what positions add
//! to the velocity told over how fast that changes, by least squares through the origin. Every tack shows it.

use std::collections::VecDeque;

use crate::{
    moment::Moment,
    units::{Local, Velocity},
};

/// Positions are compared over a span of these, s: longer and a turn is over before it shows, shorter and the
/// positions' own errors are all that does.
const SPAN_S: (f64, f64) = (1.9, 4.0);
/// Slower changes say nothing, m/s^2.
const CHANGE_MIN: f64 = 0.08;
/// Positions that say more than this beside what is told have leapt, m/s.
const LEAP_MPS: f64 = 1.5;
/// Before anything is seen, s: of the recordings with both, all have half a second to one ...
const USUAL_S: f64 = 0.8;
/// ... which counts like a tack or two, m^2/s^4.
const USUAL_WEIGHT: f64 = 1.0;
/// Older passages fade with this time constant, s.
const MEMORY_S: f64 = 1_800.0;
/// No receiver is believed later than this, s.
const LATE_MAX_S: f64 = 6.0;
/// Samples kept at most: a span of a fast receiver's, thinned.
const KEPT_MAX: usize = 16;
/// Samples closer together are thinned, s.
const APART_S: f64 = 0.4;

#[derive(Clone, Copy, Debug)]
struct Sample {
    at: Moment,
    place: Local,
    told: Velocity,
    /// Where the velocities told so far would have led, metres.
    led: Local,
}

/// One receiver's lateness, learned.
#[derive(Clone, Debug)]
pub(crate) struct Late {
    past: VecDeque<Sample>,
    with: f64,
    square: f64,
}

impl Late {
    pub(crate) fn new() -> Late {
        Late { past: VecDeque::new(), with: USUAL_S * USUAL_WEIGHT, square: USUAL_WEIGHT }
    }

    /// The time constant, s, 0 to [`LATE_MAX_S`].
    pub(crate) fn late_s(&self) -> f64 {
        (self.with / self.square).clamp(0.0, LATE_MAX_S)
    }

    /// A fix: where it puts her and the velocity believed of it. An exact zero, which means "below my threshold",
    /// begins anew.
    pub(crate) fn see(&mut self, at: Moment, place: Local, told: Velocity) {
        if told == Velocity::default() {
            self.past.clear();
            return;
        }
        let last = self.past.back().copied();
        let led = match last {
            Some(last) => {
                let dt_s = at.s_since(last.at);
                if dt_s < APART_S {
                    return;
                }
                if dt_s > SPAN_S.1 {
                    self.past.clear();
                }
                self.fade(dt_s);
                let mean = last.told.plus(told);
                Local {
                    east_m: last.led.east_m + mean.east_mps / 2.0 * dt_s,
                    north_m: last.led.north_m + mean.north_mps / 2.0 * dt_s,
                }
            }
            None => Local::default(),
        };
        self.past.push_back(Sample { at, place, told, led });
        while self.past.len() > KEPT_MAX
            || self.past.front().is_some_and(|first| at.s_since(first.at) > SPAN_S.1)
        {
            self.past.pop_front();
        }
        self.compare();
    }

    fn compare(&mut self) {
        let Some(now) = self.past.back().copied() else { return };
        let Some(then) = self.past.iter().rev().find(|then| now.at.s_since(then.at) >= SPAN_S.0) else {
            return;
        };
        let span_s = now.at.s_since(then.at);
        let change = now.told.minus(then.told);
        let (east, north) = (change.east_mps / span_s, change.north_mps / span_s);
        let more = |place: f64, led: f64| (place - led) / span_s;
        let (more_east, more_north) = (
            more(now.place.east_m - then.place.east_m, now.led.east_m - then.led.east_m),
            more(now.place.north_m - then.place.north_m, now.led.north_m - then.led.north_m),
        );
        let square = east * east + north * north;
        if square < CHANGE_MIN * CHANGE_MIN || more_east.hypot(more_north) > LEAP_MPS {
            return;
        }
        self.with += more_east * east + more_north * north;
        self.square += square;
    }

    /// Back towards what is usual.
    fn fade(&mut self, dt_s: f64) {
        let kept = (-dt_s / MEMORY_S).exp();
        self.with = USUAL_S * USUAL_WEIGHT + (self.with - USUAL_S * USUAL_WEIGHT) * kept;
        self.square = USUAL_WEIGHT + (self.square - USUAL_WEIGHT) * kept;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Bearing;

    /// A boat that tacks through a right angle every 40 s, heard through a receiver that smooths with `late_s`;
    /// its positions err by an even ripple.
    fn sailed(late_s: f64, minutes: i64) -> f64 {
        let (mut late, mut place, mut told) = (Late::new(), Local::default(), Velocity::default());
        let step_s = 0.1;
        for step in 0..minutes * 600 {
            let t_s = step as f64 * step_s;
            let into_s = t_s % 40.0;
            let turned = (into_s / 5.0).min(1.0) * 90.0;
            let course = if (t_s / 40.0) as i64 % 2 == 0 { 45.0 - turned } else { turned - 45.0 };
            let truth = Velocity::towards(Bearing::NORTH.turned(course), 2.0);
            place = place.after(truth, step_s);
            let share = 1.0 - (-step_s / late_s.max(1e-3)).exp();
            let by = truth.minus(told);
            told = Velocity {
                east_mps: told.east_mps + share * by.east_mps,
                north_mps: told.north_mps + share * by.north_mps,
            };
            if step % 10 == 0 {
                let heard = Local { east_m: place.east_m + 0.4 * (t_s * 1.7).sin(), ..place };
                late.see(Moment(step * 100), heard, told);
            }
        }
        late.late_s()
    }

    #[test]
    fn a_quarter_of_an_hour_of_tacks_tells_how_late_a_receiver_is() {
        for late_s in [0.0, 0.8, 2.0, 3.5] {
            let found_s = sailed(late_s, 15);
            assert!((found_s - late_s).abs() < 0.2 + 0.1 * late_s, "{late_s}: {found_s}");
        }
    }

    #[test]
    fn one_that_says_little_is_taken_as_usual() {
        let mut late = Late::new();
        for s in 0..600 {
            late.see(Moment(s * 1000), Local::default(), Velocity::default());
        }
        assert!((late.late_s() - USUAL_S).abs() < 1e-9);
    }
}
