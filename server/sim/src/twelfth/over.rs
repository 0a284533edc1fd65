//! A boat that went over: how she lies, where she drifts, and when she comes up.

use super::{crew::Crew, hull::Push, wind::Breeze};
use crate::{dice::Dice, plane::Vec2};

/// Drift of a swamped or capsized skiff, share of the wind: 1.65 to 1.73 % (`leeway.md`).
const SWAMPED: f64 = 0.0169;
/// Of capsizes, those that turn right over, and those no crew of beginners gets up alone: guesses.
const INVERTS: f64 = 0.25;
const NEEDS_HELP: f64 = 0.13;

/// Of those on their side so many go across the wind on their rig, a guess: one was seen to at 0.4 m/s, 60 to 75
/// deg off downwind, which is taken to be in a wind of so many m/s.
const ACROSS: f64 = 0.4;
const ACROSS_MPS: (f64, f64) = (0.34, 0.62);
const FRESH_MPS: f64 = 5.5;

/// How she lies on her side.
#[derive(Clone, Copy, Debug)]
enum Lies {
    /// As a swamped skiff, at that share of the wind.
    Swamped(f64),
    /// Across the wind: m/s in a fresh one. The rig that drives her also brakes: it goes with the wind's root.
    Across(f64),
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Over {
    pub(super) cause: &'static str,
    pub(super) since_s: f64,
    /// From upright to flat.
    pub(super) falls_s: f64,
    /// She turns right over after that.
    inverts_s: Option<f64>,
    /// With nobody's help; `None`: she waits for some.
    pub(super) until_s: Option<f64>,
    lies: Lies,
    off_downwind_deg: f64,
    /// The drag of the rig in the water, as a multiple of the upright hull's.
    grip: f64,
}

impl Over {
    pub(super) fn draw(cause: &'static str, crew: &Crew, way_mps: f64, t_s: f64, dice: &mut Dice) -> Over {
        let inverts_s = dice.chance(INVERTS).then(|| t_s + dice.between(5.0, 60.0));
        let slower = if inverts_s.is_some() { 1.5 } else { 1.0 };
        // "beginners 1 to 5 min, or not without help", an old hand 20 s (`detection.md`).
        let median_s = (108.0 - 90.0 * crew.skill) * slower;
        let lasts_s = dice.log_normal(median_s, 0.95).clamp(9.0, 600.0);
        let (lies, off_deg) = if dice.chance(ACROSS) {
            (Lies::Across(dice.between(ACROSS_MPS.0, ACROSS_MPS.1)), dice.between(40.0, 80.0))
        } else {
            (Lies::Swamped(SWAMPED * dice.log_normal(1.1, 0.3)), dice.between(5.0, 40.0))
        };
        Over {
            cause,
            since_s: t_s,
            falls_s: if way_mps > 0.8 { dice.between(1.2, 5.5) } else { dice.between(2.5, 8.0) },
            inverts_s,
            until_s: (!dice.chance(NEEDS_HELP * crew.clumsiness())).then_some(t_s + lasts_s),
            lies,
            off_downwind_deg: off_deg * dice.sign(),
            grip: dice.between(8.0, 20.0),
        }
    }

    pub(super) fn inverts(&self) -> bool {
        self.inverts_s.is_some_and(|at_s| self.until_s.is_none_or(|until_s| at_s < until_s))
    }

    pub(super) fn is_flat(&self, t_s: f64) -> bool {
        t_s >= self.since_s + self.falls_s
    }

    pub(super) fn push(&self, wind: Breeze, t_s: f64) -> Push {
        let fallen = ((t_s - self.since_s) / self.falls_s).clamp(0.0, 1.0);
        let is_inverted = self.inverts_s.is_some_and(|at_s| t_s >= at_s);
        let (drift_mps, off_deg) = match self.lies {
            // Upside down there is no rig in the wind and all of it in the water.
            _ if is_inverted => (0.9 * SWAMPED * wind.mps, 0.3 * self.off_downwind_deg),
            Lies::Swamped(share) => (share * wind.mps, self.off_downwind_deg),
            Lies::Across(mps) => (mps * (wind.mps / FRESH_MPS).sqrt(), self.off_downwind_deg),
        };
        Push {
            way_mps: 0.0,
            // The mast swings to leeward.
            heading_deg: wind.from_deg + if off_deg < 0.0 { 95.0 } else { -95.0 },
            turn_deg_s: 6.0,
            least_deg_s: 1.5,
            slip: Vec2::along(wind.from_deg + 180.0 + off_deg, drift_mps * fallen),
            drag: 1.0 + self.grip * fallen,
        }
    }
}

/// Righted and full of water.
pub(super) fn swamped(wind: Breeze) -> Vec2 {
    Vec2::along(wind.from_deg + 180.0, SWAMPED * wind.mps)
}
