//! A capsize: over, the way off her, adrift, and up again.

use crate::{
    dice::{Dice, Wander},
    fifth::{
        air::Air,
        hull::{Hull, Order},
    },
    plane::{Vec2, wrap_360},
};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cause {
    Gust,
    Gybe,
    Tack,
    ToWindward,
}

impl Cause {
    pub(super) fn draw(dice: &mut Dice) -> Cause {
        match dice.unit() {
            share if share < 0.4 => Cause::Gust,
            share if share < 0.62 => Cause::Gybe,
            share if share < 0.8 => Cause::Tack,
            _ => Cause::ToWindward,
        }
    }

    /// As the truth calls it.
    pub(super) fn name(self) -> &'static str {
        match self {
            Cause::Gust => "gust",
            Cause::Gybe => "gybe",
            Cause::Tack => "tack",
            Cause::ToWindward => "to-windward",
        }
    }
}

#[derive(Clone, Debug)]
pub(super) struct Over {
    pub(super) cause: Cause,
    pub(super) inverted: bool,
    pub(super) righted_s: f64,
    flat_s: f64,
    heading_deg: f64,
    rate_dps: f64,
    tau_s: f64,
    drifts: f64,
    aside: Wander,
    swing: Wander,
    jerk: Vec2,
}

impl Over {
    /// Drift 1.2-2.8 % of the wind: about the 1.65-1.8 % that Allen and Plourde 1999 have for a capsized
    /// skiff and for a small dinghy under bare pole. Durations: reasoned from accounts of 20 s to 5 min.
    pub(super) fn begin(cause: Cause, t_s: f64, hull: &Hull, off_deg: f64, dice: &mut Dice) -> Over {
        // To windward she bears away more often than not; else she rounds up.
        let up = if dice.chance(if cause == Cause::ToWindward { 0.3 } else { 0.7 }) { 1.0 } else { -1.0 };
        let turn_deg = up * off_deg.signum() * dice.between(10.0, 60.0);
        let flat_s = dice.between(1.0, 3.0);
        let side = dice.sign();
        Over {
            cause,
            inverted: dice.chance(0.15),
            righted_s: t_s + dice.log_normal(85.0, 0.8).max(12.0),
            flat_s: t_s + flat_s,
            heading_deg: wrap_360(hull.heading_deg + turn_deg),
            rate_dps: turn_deg.abs() / flat_s,
            // A fifth of the way is left after 2-5 s.
            tau_s: dice.between(2.0, 5.0) / 5f64.ln(),
            drifts: dice.between(0.012, 0.028),
            aside: {
                let mut aside = Wander::new(dice.between(8.0, 24.0), dice.between(40.0, 150.0), dice);
                aside.value = side * dice.between(0.0, 50.0);
                aside
            },
            swing: Wander::new(25.0, dice.between(30.0, 90.0), dice),
            jerk: Vec2::default(),
        }
    }

    pub(super) fn order(&mut self, t_s: f64, step_s: f64, air: Air, dice: &mut Dice) -> Order {
        let aside_deg = self.aside.step(step_s, dice).clamp(-50.0, 50.0);
        let is_flat = t_s > self.flat_s;
        let was_deg = self.swing.value;
        let swing_deg = self.swing.step(step_s, dice) - was_deg;
        if is_flat {
            self.heading_deg = wrap_360(self.heading_deg + swing_deg);
        }
        // People climb about: a heave now and then, gone at once.
        self.jerk = self.jerk * (-step_s / 0.7).exp();
        if is_flat && dice.happens(360.0, step_s) {
            self.jerk = Vec2::along(dice.between(0.0, 360.0), dice.between(0.05, 0.3));
        }
        Order {
            heading_deg: self.heading_deg,
            rate_dps: if is_flat { 3.0 } else { self.rate_dps },
            way_mps: 0.0,
            tau_s: self.tau_s,
            drift: Vec2::along(air.from_deg + 180.0 + aside_deg, air.speed_mps * self.drifts),
            jerk: self.jerk,
        }
    }
}
