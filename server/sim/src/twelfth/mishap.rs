//! Who goes over, and when. Chances are guesses, brought to 0.87 an hour of an independent season.

use super::{
    boat::{Boat, Now},
    doing::Doing,
};
use crate::{plane::kn, truth::Reason};

/// Common to all of them.
const OFTEN: f64 = 0.94;
/// A gust or lull is that much beside the wind of the last half minute.
const GUST: f64 = 1.2;
const LULL: f64 = 0.78;

impl Boat {
    /// What capsizes her in this step, if anything does.
    pub(super) fn goes_over(&mut self, now: &Now, dt_s: f64) -> Option<&'static str> {
        // Half a gale to a beginner is force 4; below force 2 only clumsiness is left.
        let strength = ((kn(now.wind.mps) - 5.0) / 8.0).clamp(0.06, 1.8);
        let often = OFTEN * strength * self.crew.clumsiness();
        let ratio = now.wind.mps / self.felt_mps.max(0.5);
        self.felt_mps += (now.wind.mps - self.felt_mps) * dt_s / 25.0;
        let (gust, lull) = (ratio > GUST && !self.in_gust, ratio < LULL && !self.in_lull);
        self.in_gust = ratio > if self.in_gust { 1.08 } else { GUST };
        self.in_lull = ratio < if self.in_lull { 0.9 } else { LULL };
        let dice = &mut self.dice;
        let off_deg = now.off_deg.abs();
        match self.doing {
            Doing::Sails | Doing::Tacks { .. } | Doing::Gybes { .. } if gust => {
                let held = if self.crew.cleats { 0.105 } else { 0.025 };
                if dice.chance(held * often) {
                    return Some("gust");
                }
                // Most let the sheet run, and she stands up and loses way.
                if dice.chance(0.35 + 0.5 * self.crew.skill) && off_deg < 120.0 {
                    self.doing = Doing::Spills { until_s: now.t_s + dice.between(2.5, 8.0) };
                }
                None
            }
            Doing::Sails | Doing::Spills { .. } if lull => {
                dice.chance(0.045 * often).then_some("to-windward")
            }
            Doing::Gybes { .. } if off_deg > 165.0 && !self.has_crossed => {
                self.has_crossed = true;
                dice.chance(0.028 * often).then_some("gybe")
            }
            Doing::Tacks { since_s, .. } if off_deg < 25.0 && !self.has_crossed => {
                self.has_crossed = true;
                // Late: the old windward side is the new lee side, and the crew still sits on it.
                let late = if now.t_s - since_s > 4.5 { 2.0 } else { 1.0 };
                dice.chance(0.0035 * late * often).then_some("tack")
            }
            Doing::Sails => dice.happens(0.07 * often, dt_s).then_some("gust"),
            Doing::Stops(stop) => {
                let (per_h, cause) = match stop.reason {
                    Reason::InIrons => (10.0, "irons"),
                    Reason::HoveTo => (0.7, "gust"),
                    Reason::Waiting => (0.6, "gust"),
                    Reason::Rafted => (2.4, "to-windward"),
                    Reason::Recovering => (3.5, "gust"),
                    _ => (0.5, "gust"),
                };
                dice.happens(per_h * often, dt_s).then_some(cause)
            }
            _ => None,
        }
    }
}
