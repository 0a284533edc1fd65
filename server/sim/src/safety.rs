//! The safety boats: they patrol, talk to crews alongside, tow, and go to whoever is over.

use crate::{
    dice::Dice,
    plane::{Vec2, fold_180, wrap_360},
};

/// What a safety boat is about.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Task {
    /// Up and down near the fleet, towards this point, stopping there until the moment given.
    Patrol { to: Vec2, rest_until_s: f64 },
    /// To a capsized boat or a person in the water, and stand by her.
    Attend { dinghy: usize, arrived_s: Option<f64> },
    /// Alongside a dinghy for a talk.
    Talk { dinghy: usize },
    /// Takes dinghies in tow and brings them to a point.
    Tow { dinghies: Vec<usize>, to: Vec2, made_fast_s: Option<f64>, beach: bool },
}

/// A safety boat.
#[derive(Clone, Debug)]
pub(crate) struct SafetyBoat {
    pub(crate) at: Vec2,
    pub(crate) heading_deg: f64,
    pub(crate) speed_mps: f64,
    pub(crate) velocity: Vec2,
    pub(crate) task: Task,
    pub(crate) dice: Dice,
}

impl SafetyBoat {
    pub(crate) fn new(at: Vec2, dice: Dice) -> SafetyBoat {
        SafetyBoat {
            at,
            heading_deg: 0.0,
            speed_mps: 0.0,
            velocity: Vec2::default(),
            task: Task::Patrol { to: at, rest_until_s: 60.0 },
            dice,
        }
    }

    pub(crate) fn is_free(&self) -> bool {
        matches!(self.task, Task::Patrol { .. })
    }

    /// Drives towards a point and stops `short_m` before it; at most `top_mps`.
    pub(crate) fn drive(&mut self, to: Vec2, short_m: f64, top_mps: f64, drift: Vec2, dt_s: f64) {
        let off = to - self.at;
        let left = off.length() - short_m;
        // Slows so as to stop within about four seconds' run.
        let want = if left <= 0.3 { 0.0 } else { (0.28 * left + 0.25).min(top_mps) };
        if left > 0.3 {
            let turn = fold_180(off.bearing_deg() - self.heading_deg).clamp(-35.0 * dt_s, 35.0 * dt_s);
            self.heading_deg = wrap_360(self.heading_deg + turn);
        }
        let change = (want - self.speed_mps).clamp(-2.5 * dt_s, 1.6 * dt_s);
        self.speed_mps += change;
        let turning = (1.0 - fold_180(off.bearing_deg() - self.heading_deg).abs() / 90.0).max(0.15);
        self.velocity = Vec2::along(self.heading_deg, self.speed_mps * turning) + drift;
        self.at += self.velocity * dt_s;
    }
}
