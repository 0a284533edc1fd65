//! A phone aboard: where it believes to be, how fast, and when it says nothing.

use super::STEP_S;
use crate::{
    dice::{Dice, Wander},
    plane::Vec2,
};

/// A fix as it leaves the phone.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fix {
    pub(super) at: Vec2,
    pub(super) speed_mps: f64,
    pub(super) course_deg: Option<f64>,
    pub(super) late_ms: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Phone {
    astray: [Wander; 2],
    slosh: [Wander; 2],
    white_m: f64,
    /// Its filter follows the truth with this lag.
    lag_s: f64,
    velocity: Vec2,
    /// Slower than this it says 0, as many do (`detection.md`); 0: it always says what it measures.
    still_mps: f64,
    lost: f64,
    mute_until_s: f64,
    is_wet: bool,
    dice: Dice,
}

impl Phone {
    pub(super) fn draw(mut dice: Dice) -> Phone {
        // "Typical": 2.5 m that remember themselves for 120 s, 1 m white (`detection.md`); phones differ: a guess.
        let worse = dice.log_normal(1.0, 0.3);
        let tau_s = dice.between(60.0, 300.0);
        let slosh_mps = dice.log_normal(0.09, 0.5);
        Phone {
            astray: [0; 2].map(|_| Wander::new(2.5 * worse, tau_s, &mut dice)),
            slosh: [0; 2].map(|_| Wander::new(slosh_mps, 5.0, &mut dice)),
            white_m: worse,
            lag_s: dice.between(0.4, 1.8),
            velocity: Vec2::default(),
            still_mps: if dice.chance(0.25) { dice.between(0.1, 0.3) } else { 0.0 },
            lost: dice.between(0.002, 0.03),
            mute_until_s: 0.0,
            is_wet: false,
            dice,
        }
    }

    /// Every step: its filter, and whether the water gets at it.
    pub(super) fn carry(&mut self, velocity: Vec2, is_wet: bool, t_s: f64) {
        self.velocity += (velocity - self.velocity) * (STEP_S / self.lag_s).min(1.0);
        if is_wet && !self.is_wet && self.dice.chance(0.06) {
            // Drowned for a long while, if not for good: a guess.
            self.mute_until_s = t_s + self.dice.log_normal(500.0, 1.0);
        }
        self.is_wet = is_wet;
    }

    /// Every second.
    pub(super) fn fix(&mut self, at: Vec2, t_s: f64) -> Option<Fix> {
        let dice = &mut self.dice;
        let astray = [0, 1].map(|axis| self.astray[axis].step(1.0, dice));
        let slosh = [0, 1].map(|axis| self.slosh[axis].step(1.0, dice));
        // No signal for a while, so often an hour: a guess.
        if dice.happens(0.4, 1.0) {
            self.mute_until_s = self.mute_until_s.max(t_s + dice.log_normal(15.0, 0.6));
        }
        // Under water much of what it would say is lost, and what it says is worse: guesses.
        let lost = if self.is_wet { self.lost + 0.08 } else { self.lost };
        if dice.chance(lost) || t_s < self.mute_until_s {
            return None;
        }
        // A receiver's own speed is good to 0.1 kn (`detection.md`).
        let mut velocity = self.velocity + Vec2::new(dice.normal(), dice.normal()) * 0.045;
        if self.is_wet {
            velocity += Vec2::new(slosh[0], slosh[1]);
        }
        let white = Vec2::new(dice.normal(), dice.normal()) * self.white_m;
        let late_ms = dice.log_normal(150.0, 0.8).min(4_000.0) as i64;
        let says_still = velocity.length() < self.still_mps;
        Some(Fix {
            at: at + Vec2::new(astray[0], astray[1]) + white,
            speed_mps: if says_still { 0.0 } else { velocity.length() },
            // Who stands still has no course.
            course_deg: (velocity.length() > self.still_mps.max(0.1)).then(|| velocity.bearing_deg()),
            late_ms,
        })
    }
}
