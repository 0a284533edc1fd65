//! The phones: a position that is off for minutes, and a speed the receiver has smoothed.

use super::measured::{self, Range};
use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps},
};

/// What one fix says.
pub(super) struct Told {
    pub(super) at: Vec2,
    pub(super) speed_mps: f64,
    /// `None`: she is said to lie still.
    pub(super) course_deg: Option<f64>,
    pub(super) late_ms: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Phone {
    slow: [Wander; 2],
    white_m: f64,
    /// A part of the error of the told velocity stays for some seconds.
    motion: [Wander; 2],
    noise_mps: f64,
    smooth_s: f64,
    smoothed: Vec2,
    /// Below it she is said to lie still.
    still_mps: f64,
    lost: f64,
    late_s: Range,
    /// Silent from then, until then.
    silent_s: Range,
    dice: Dice,
}

impl Phone {
    pub(super) fn draw(mut dice: Dice) -> Phone {
        let within = |range: Range, dice: &mut Dice| dice.between(range.0, range.1);
        let (slow_m, slow_s) =
            (within(measured::FIX_SLOW_M, &mut dice), within(measured::FIX_SLOW_S, &mut dice));
        // The noise of speed is one axis': along the course.
        let noise_mps = within(measured::SPEED_NOISE_MPS, &mut dice);
        let motion_s = dice.between(1.5, 4.0);
        let late_s = dice.between(0.08, 0.5);
        Phone {
            slow: [Wander::new(slow_m, slow_s, &mut dice), Wander::new(slow_m, slow_s, &mut dice)],
            white_m: within(measured::FIX_WHITE_M, &mut dice),
            motion: [0.6, 0.6].map(|share| Wander::new(share * noise_mps, motion_s, &mut dice)),
            noise_mps: 0.8 * noise_mps,
            smooth_s: if dice.chance(0.1) { 0.1 } else { within(measured::SPEED_SMOOTH_S, &mut dice) },
            smoothed: Vec2::default(),
            still_mps: if dice.chance(measured::STILL_SHARE) { dice.between(0.15, 0.4) } else { 0.0 },
            lost: dice.between(0.0, 0.02),
            late_s: (late_s, late_s + dice.between(0.05, 0.5)),
            silent_s: (f64::INFINITY, f64::INFINITY),
            dice,
        }
    }

    /// Under the hull: silent some seconds after she went over, perhaps for good.
    pub(super) fn drown(&mut self, t_s: f64) {
        let from_s = t_s + self.dice.between(3.0, 20.0);
        let lasts_s =
            if self.dice.chance(0.4) { f64::INFINITY } else { self.dice.log_normal(90.0, 0.7).max(12.0) };
        if !(self.silent_s.0..self.silent_s.1).contains(&t_s) {
            self.silent_s = (from_s, from_s + lasts_s);
        }
    }

    /// It filters all the time, told or not.
    pub(super) fn watch(&mut self, velocity: Vec2, step_s: f64) {
        self.smoothed += (velocity - self.smoothed) * (1.0 - (-step_s / self.smooth_s).exp());
    }

    /// The fix of this second; `None` if none is sent.
    pub(super) fn fix(&mut self, at: Vec2, t_s: f64) -> Option<Told> {
        let dice = &mut self.dice;
        let white_m = self.white_m;
        let off_m = self.slow.each_mut().map(|axis| axis.step(1.0, dice) + white_m * dice.normal());
        let noise_mps = self.noise_mps;
        let off_mps = self.motion.each_mut().map(|axis| axis.step(1.0, dice) + noise_mps * dice.normal());
        let (is_lost, late_s) = (dice.chance(self.lost), dice.between(self.late_s.0, self.late_s.1));
        if is_lost || (self.silent_s.0..self.silent_s.1).contains(&t_s) {
            return None;
        }
        let told = self.smoothed + Vec2::new(off_mps[0], off_mps[1]);
        let lies_still = told.length() < self.still_mps.max(mps(0.01));
        Some(Told {
            at: at + Vec2::new(off_m[0], off_m[1]),
            speed_mps: if lies_still { 0.0 } else { told.length() },
            course_deg: (!lies_still).then(|| told.bearing_deg()),
            late_ms: (late_s * 1000.0) as i64,
        })
    }
}
