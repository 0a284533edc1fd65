//! A boat that is over: how fast she loses her way, how she drifts, how long until she is up again.

use super::wind::Wind;
use crate::{dice::Dice, plane::Vec2};

/// Seconds until they have her up, of those who manage alone: beginners 1 to 5 min (`detection.md`), those who
/// are quick at it 20 to 30 s.
const RIGHTED_S: (f64, f64) = (95.0, 0.75);
/// Bailing and climbing in, s: a guess.
const BAILED_S: (f64, f64) = (35.0, 0.8);

/// A capsize while it lasts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Over {
    pub(super) cause: &'static str,
    pub(super) inverted: bool,
    /// Over so many seconds she loses five sixths of her way.
    pub(super) takes_s: f64,
    /// When she is up; `None`: not without help.
    pub(super) until_s: Option<f64>,
    pub(super) is_helped: bool,
    pub(super) bails_s: f64,
    /// Drift, shares of the wind: downwind and to its right.
    down: f64,
    across: f64,
}

impl Over {
    pub(super) fn draw(cause: &'static str, t_s: f64, slow_hands: f64, dice: &mut Dice) -> Over {
        let inverted = dice.chance(0.3);
        let alone = !dice.chance(if inverted { 0.25 } else { 0.08 });
        let longer = if inverted { 1.5 } else { 1.0 };
        let lasts_s = dice.log_normal(RIGHTED_S.0 * slow_hands * longer, RIGHTED_S.1).max(12.0);
        Over {
            cause,
            inverted,
            takes_s: dice.between(2.0, 10.0),
            until_s: alone.then_some(t_s + lasts_s),
            is_helped: false,
            bails_s: dice.log_normal(BAILED_S.0, BAILED_S.1).max(6.0),
            // 1.65 to 2.3 % downwind, 0.39 % across to either side (SKIFF-3 and our choice, `leeway.md`).
            down: dice.between(0.0165, 0.023),
            across: 0.0039 * dice.sign(),
        }
    }

    /// Upright to flat in less than 4 s. She is flat before the last of her way is gone.
    pub(super) fn is_quick(&self) -> bool {
        self.takes_s < 6.0
    }

    pub(super) fn drift(&self, wind: Wind) -> Vec2 {
        let to_deg = wind.from_deg + 180.0;
        Vec2::along(to_deg, self.down * wind.mps) + Vec2::along(to_deg + 90.0, self.across * wind.mps)
    }
}
