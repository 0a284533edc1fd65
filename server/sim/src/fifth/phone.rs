//! The phones of the fifth water. What they get wrong has nothing to do with what the boat does.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, kn, mps},
};

/// What one fix says.
pub(super) struct Told {
    pub(super) at: Vec2,
    /// Speed and, if it moves, course; `None` from a phone that tells positions alone.
    pub(super) motion: Option<(f64, Option<f64>)>,
    pub(super) late_ms: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Phone {
    /// Position error, m: one axis each.
    slow: [Wander; 2],
    /// Error of the told velocity, m/s.
    motion: [Wander; 2],
    smooth_s: f64,
    smoothed: Vec2,
    step_kn: f64,
    /// Below it she is said to lie still.
    still_mps: f64,
    positions_only: bool,
    /// Under water from then on.
    pub(super) dead_from_s: f64,
    late_s: (f64, f64),
    dice: Dice,
}

impl Phone {
    /// Errors that last minutes: Schumayer et al. 2020 (white noise models fail) and Wilson (about a minute).
    /// Their size spans what the GPS accuracy page gives for phones. Velocity about 0.1 kn: common practice,
    /// no source, and so are the habits of the software.
    pub(super) fn draw(mut dice: Dice) -> Phone {
        let (sd_m, tau_s) = (dice.between(1.5, 4.0), dice.between(60.0, 240.0));
        let (sd_mps, motion_s) = (dice.between(0.04, 0.1), dice.between(0.8, 5.0));
        let still_kn = if dice.chance(0.125) { dice.between(0.2, 0.4) } else { 0.0 };
        let late_from_s = dice.between(0.1, 0.6);
        Phone {
            slow: [Wander::new(sd_m, tau_s, &mut dice), Wander::new(sd_m, tau_s, &mut dice)],
            motion: [Wander::new(sd_mps, motion_s, &mut dice), Wander::new(sd_mps, motion_s, &mut dice)],
            smooth_s: dice.between(0.0, 1.2),
            smoothed: Vec2::default(),
            step_kn: if dice.chance(0.5) { 0.01 } else { 0.1 },
            still_mps: mps(still_kn),
            positions_only: dice.chance(0.05),
            dead_from_s: f64::INFINITY,
            late_s: (late_from_s, dice.between(late_from_s, 1.0)),
            dice,
        }
    }

    /// It filters all the time, told or not.
    pub(super) fn watch(&mut self, velocity: Vec2, step_s: f64) {
        let share = if self.smooth_s < 0.05 { 1.0 } else { 1.0 - (-step_s / self.smooth_s).exp() };
        self.smoothed += (velocity - self.smoothed) * share;
    }

    /// The fix of this second; `None` if it is lost.
    pub(super) fn fix(&mut self, at: Vec2, t_s: f64) -> Option<Told> {
        let dice = &mut self.dice;
        let slow = self.slow.each_mut().map(|axis| axis.step(1.0, dice) + 0.3 * dice.normal());
        let error = self.motion.each_mut().map(|axis| axis.step(1.0, dice));
        let (is_lost, late_s) = (dice.chance(0.01), dice.between(self.late_s.0, self.late_s.1));
        if is_lost || t_s >= self.dead_from_s {
            return None;
        }
        let told = self.smoothed + Vec2::new(error[0], error[1]);
        let speed_mps = mps((kn(told.length()) / self.step_kn).round() * self.step_kn);
        let is_still = speed_mps < self.still_mps || speed_mps <= 0.0;
        let motion = if is_still { (0.0, None) } else { (speed_mps, Some(told.bearing_deg())) };
        Some(Told {
            at: at + Vec2::new(slow[0], slow[1]),
            motion: (!self.positions_only).then_some(motion),
            late_ms: (late_s * 1000.0) as i64,
        })
    }
}
