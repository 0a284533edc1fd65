//! A boat that has gone over: how she lies, how she drifts, and how long it takes her crew to get her up.

use super::breeze::Wind;
use crate::{dice::Dice, plane::Vec2};

/// So many turn right over, and so many go down in less than 4 s. Guesses.
const TURNS_TURTLE: f64 = 0.2;
const IS_QUICK: f64 = 0.75;
/// So many crews step over the side and have her up at once. A guess.
const IS_DRY: f64 = 0.11;
/// So many never manage alone; a guess.
const NEEDS_HELP: f64 = 0.12;
/// With her rig in the water so many sail off sideways; a guess.
const SAILS_OFF: f64 = 0.35;

#[derive(Clone, Copy, Debug)]
pub(super) struct Over {
    pub(super) cause: &'static str,
    pub(super) quick: bool,
    pub(super) inverted: bool,
    pub(super) is_dry: bool,
    /// Upright again then, if nobody helps.
    pub(super) until_s: f64,
    /// Somebody sees her then.
    pub(super) seen_s: f64,
    /// Her way is gone with this lag.
    pub(super) lag_s: f64,
    /// How she drifts: so much of the wind's speed, so far off downwind, degrees.
    drift: f64,
    aside_deg: f64,
    /// Until then the sail, not yet under, drags her along so much faster.
    dragged_until_s: f64,
    dragged: f64,
}

impl Over {
    pub(super) fn draw(cause: &'static str, wind: Wind, t_s: f64, dice: &mut Dice) -> Over {
        let quick = dice.chance(IS_QUICK);
        let is_dry = dice.chance(IS_DRY);
        let inverted = !is_dry && dice.chance(TURNS_TURTLE);
        let median_s = if inverted { 170.0 } else { 80.0 };
        let lasts_s = if is_dry {
            dice.between(6.0, 22.0)
        } else if dice.chance(NEEDS_HELP) {
            f64::INFINITY
        } else {
            dice.log_normal(median_s, 0.7).max(15.0)
        };
        // Swamped skiffs make 1.65 to 1.73 % of the wind, mostly straight downwind (`leeway.md`). A dinghy with
        // her rig in the water has been seen to make 0.4 m/s some 60 to 75 degrees off it. Upside down the rig
        // holds her. The ranges are guesses about these.
        let (drift, aside_deg) = if inverted {
            (dice.between(0.008, 0.018), 15.0 * dice.normal())
        } else if dice.chance(SAILS_OFF) {
            (dice.between(0.2, 0.5) / wind.mps.max(2.5), dice.sign() * dice.between(25.0, 75.0))
        } else {
            (dice.between(0.014, 0.026), 15.0 * dice.normal())
        };
        Over {
            cause,
            quick,
            inverted,
            is_dry,
            until_s: t_s + lasts_s,
            seen_s: t_s + dice.log_normal(25.0, 0.7),
            lag_s: if quick { dice.between(1.5, 3.0) } else { dice.between(3.0, 5.0) },
            drift,
            aside_deg,
            dragged_until_s: t_s + if dice.chance(0.2) { dice.log_normal(28.0, 0.7) } else { 0.0 },
            dragged: dice.between(0.03, 0.09),
        }
    }

    /// Through the water.
    pub(super) fn drift(&self, wind: Wind, t_s: f64) -> Vec2 {
        let share = if t_s < self.dragged_until_s { self.drift.max(self.dragged) } else { self.drift };
        (wind.velocity() * share).turned(self.aside_deg)
    }
}
