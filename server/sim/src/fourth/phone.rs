//! The phone aboard: where it thinks it is, how fast it says it goes, and how late it says so.

use std::collections::VecDeque;

use super::filter::Filter;
use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, kn, mps},
};

/// Share of the phones that tell positions only.
const POSITIONS_ONLY: f64 = 0.06;

/// Where the lateness of its velocity comes from.
#[derive(Clone, Debug)]
enum Lag {
    /// Everything so many seconds later.
    Pure {
        later_s: f64,
        past: VecDeque<(f64, Vec2)>,
    },
    /// A running mean that forgets.
    Smooth {
        tau_s: f64,
        value: Option<Vec2>,
    },
    Filter(Filter),
}

/// What it says of the course at low speed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Slow {
    AsItIs,
    TheLast,
    Nothing,
}

/// One fix as told.
#[derive(Clone, Copy, Debug)]
pub(super) struct Told {
    pub(super) at: Vec2,
    /// Speed, m/s, and course; `None` from a phone that tells positions only.
    pub(super) motion: Option<(f64, Option<f64>)>,
    pub(super) late_ms: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Phone {
    pub(super) every_s: f64,
    pub(super) next_s: f64,
    /// Under water from then on.
    pub(super) drowned_s: Option<f64>,
    error: [Wander; 2],
    white_m: f64,
    noise: [Wander; 2],
    lag: Lag,
    lost: f64,
    late_s: f64,
    late_spread: f64,
    positions_only: bool,
    coarse: bool,
    /// Speeds below this are told as none, m/s.
    deaf_below_mps: f64,
    slow: Slow,
    last_course_deg: Option<f64>,
    dice: Dice,
}

impl Phone {
    pub(super) fn draw(every_s: f64, mut dice: Dice) -> Phone {
        // Position errors live for minutes (Wilson, GPS accuracy pages: about 1 min; Schumayer et al. 2020).
        let (error_m, lives_s) = (dice.between(1.5, 4.0), dice.between(60.0, 300.0));
        let (noise_mps, noise_s) = (dice.between(0.03, 0.15), dice.between(1.0, 6.0));
        let lag = match dice.pick(3) {
            0 => Lag::Pure { later_s: dice.between(0.0, 2.0), past: VecDeque::new() },
            1 => Lag::Smooth { tau_s: dice.between(0.05, 2.0), value: None },
            _ => Lag::Filter(Filter::new(dice.between(0.35, 1.2), dice.between(0.3, 0.7))),
        };
        Phone {
            every_s,
            next_s: dice.between(0.0, every_s),
            drowned_s: None,
            error: [0, 1].map(|_| Wander::new(error_m / std::f64::consts::SQRT_2, lives_s, &mut dice)),
            white_m: dice.between(0.2, 1.0),
            noise: [0, 1].map(|_| Wander::new(noise_mps, noise_s, &mut dice)),
            lag,
            lost: dice.between(0.005, 0.03),
            late_s: dice.between(0.1, 1.0),
            late_spread: dice.between(0.05, 0.4),
            positions_only: dice.chance(POSITIONS_ONLY),
            coarse: dice.chance(0.5),
            deaf_below_mps: if dice.chance(0.25) { mps(dice.between(0.2, 0.6)) } else { 0.0 },
            slow: match dice.pick(4) {
                0 | 1 => Slow::AsItIs,
                2 => Slow::TheLast,
                _ => Slow::Nothing,
            },
            last_course_deg: None,
            dice,
        }
    }

    /// Watches the boat between fixes: a late velocity is made of what was true before.
    pub(super) fn watch(&mut self, velocity: Vec2, t_s: f64, step_s: f64) {
        match &mut self.lag {
            Lag::Pure { later_s, past } => {
                past.push_back((t_s, velocity));
                while past.get(1).is_some_and(|entry| entry.0 <= t_s - *later_s) {
                    past.pop_front();
                }
            }
            Lag::Smooth { tau_s, value } => {
                let before = value.unwrap_or(velocity);
                *value = Some(velocity + (before - velocity) * (-step_s / *tau_s).exp());
            }
            Lag::Filter(_) => {}
        }
    }

    /// The fix due now, if it comes.
    pub(super) fn fix(&mut self, at: Vec2, velocity: Vec2, t_s: f64) -> Option<Told> {
        let (every_s, dice) = (self.every_s, &mut self.dice);
        let error = self.error.each_mut().map(|axis| axis.step(every_s, dice));
        let noise = self.noise.each_mut().map(|axis| axis.step(every_s, dice));
        let white = Vec2::new(dice.normal(), dice.normal()) * self.white_m;
        let mut place = at + Vec2::new(error[0], error[1]) + white;
        let noise = Vec2::new(noise[0], noise[1]);
        let velocity = match &mut self.lag {
            Lag::Pure { past, .. } => past.front().map_or(velocity, |entry| entry.1) + noise,
            Lag::Smooth { value, .. } => value.unwrap_or(velocity) + noise,
            Lag::Filter(filter) => {
                let told;
                (place, told) = filter.step(place, velocity + noise, every_s);
                told
            }
        };
        let late_s = (self.late_s * dice.log_normal(1.0, self.late_spread)).clamp(0.1, 2.0);
        let comes = !dice.chance(self.lost) && self.drowned_s.is_none_or(|from_s| t_s < from_s);
        let motion = (!self.positions_only).then(|| self.told(velocity));
        comes.then_some(Told { at: place, motion, late_ms: (late_s * 1000.0).round() as i64 })
    }

    fn told(&mut self, velocity: Vec2) -> (f64, Option<f64>) {
        let told_kn =
            if self.coarse { (kn(velocity.length()) * 10.0).round() / 10.0 } else { kn(velocity.length()) };
        let speed_mps = if mps(told_kn) < self.deaf_below_mps { 0.0 } else { mps(told_kn) };
        let is_slow = speed_mps < mps(0.5);
        let course_deg = match self.slow {
            Slow::TheLast if is_slow => self.last_course_deg,
            Slow::Nothing if is_slow => None,
            _ => Some(velocity.bearing_deg()),
        };
        self.last_course_deg = course_deg.or(self.last_course_deg);
        (speed_mps, course_deg)
    }
}
