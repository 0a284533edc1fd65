//! A capsized boat: how she goes over, what then stops her, where she drifts, and when she is up again.

use super::{air::Air, hull::Push, measured};
use crate::{dice::Dice, notes::SeenOver, plane::Vec2};

/// Nobody is helped sooner after the safety boat has come, nor later, s.
const HELPED_S: (f64, f64) = (25.0, 120.0);
/// From upright to flat in less is quick, as the truth has it, s.
const QUICK_S: f64 = 4.0;
/// Even a crew that needs help manages in the end, s: reasoned.
const AT_LAST_S: (f64, f64) = (420.0, 1_200.0);

#[derive(Clone, Debug)]
pub(super) struct Over {
    cause: &'static str,
    inverted: bool,
    began_s: f64,
    roll_s: f64,
    length_m: f64,
    glide_m: f64,
    /// Share of the wind downwind, and what chance adds, m/s at 10 m/s.
    drift: f64,
    spread_mps: f64,
    side: f64,
    sheer_mps: f64,
    lie_deg_per_s: f64,
    right_s: f64,
    pub(super) needs_help: bool,
    helped: bool,
}

impl Over {
    /// `slow`: she has rounded up already and rolls over lazily.
    pub(super) fn draw(cause: &'static str, slow: bool, t_s: f64, dice: &mut Dice) -> Over {
        let within = |range: (f64, f64), dice: &mut Dice| dice.between(range.0, range.1);
        let (length_m, spread) = measured::OVER_LENGTH_M;
        let (glide_m, glide_spread) = measured::GLIDE_LENGTH_M;
        let (right_s, right_spread) = measured::RIGHTED_S;
        let needs_help = dice.chance(0.13);
        let alone_s = dice.log_normal(right_s, right_spread).clamp(20.0, 480.0);
        let lasts_s = if needs_help { within(AT_LAST_S, dice) } else { alone_s };
        let sheers = dice.chance(measured::SHEERS);
        Over {
            cause,
            inverted: dice.chance(0.25),
            began_s: t_s,
            roll_s: if slow { dice.between(3.0, 7.0) } else { dice.between(0.8, 3.5) },
            length_m: dice.log_normal(length_m, spread),
            glide_m: dice.log_normal(glide_m, glide_spread),
            drift: within(measured::OVER_DRIFT, dice),
            spread_mps: measured::OVER_SPREAD_MPS * dice.normal(),
            side: dice.sign(),
            sheer_mps: if sheers { within(measured::SHEER_MPS, dice) } else { 0.0 },
            lie_deg_per_s: 2.0 * dice.normal(),
            right_s: t_s + lasts_s,
            needs_help,
            helped: false,
        }
    }

    pub(super) fn seen(&self) -> SeenOver {
        SeenOver { cause: self.cause, quick: self.roll_s < QUICK_S, inverted: self.inverted }
    }

    pub(super) fn is_righted(&self, t_s: f64) -> bool {
        t_s >= self.right_s
    }

    /// The safety boat is there.
    pub(super) fn help(&mut self, t_s: f64, dice: &mut Dice) {
        if !self.helped {
            self.helped = true;
            self.right_s =
                self.right_s.min(t_s + dice.between(HELPED_S.0, HELPED_S.1)).max(self.began_s + 20.0);
        }
    }

    /// Through the water, of the wind.
    pub(super) fn drift(&self, air: Air) -> Vec2 {
        let down = air.flow().unit();
        let chance_mps = self.spread_mps * (0.5 + air.speed_mps / 20.0);
        let along_mps = (self.drift * air.speed_mps + chance_mps).max(0.0);
        // It takes wind to sheer.
        let across_mps =
            measured::OVER_ACROSS * air.speed_mps + self.sheer_mps * (air.speed_mps / 8.0).min(1.0);
        down * along_mps + down.turned(90.0) * (self.side * across_mps)
    }

    pub(super) fn push(&self, air: Air, t_s: f64) -> Push {
        let flat = ((t_s - self.began_s) / self.roll_s).clamp(0.0, 1.0);
        // The rig digs in well before she lies flat.
        let in_water = (1.6 * flat).min(1.0);
        let length_m = 1.0 / (in_water / self.length_m + (1.0 - in_water) / self.glide_m);
        Push { way_mps: 0.0, length_m, lee: self.drift(air), lee_s: 6.0 }
    }

    /// How fast she swings round her rig.
    pub(super) fn swing_deg_per_s(&self, t_s: f64) -> f64 {
        self.lie_deg_per_s * (-(t_s - self.began_s) / 20.0).exp()
    }
}
