//! A boat on her side: how she went, how she drifts and when she comes up.

use super::law::Law;
use crate::{dice::Dice, notes::SeenOver, plane::Vec2};

/// Guesses: of capsizes the quick ones, those that turn right over, those righted at once, those that need help,
/// and of rightings those that end in going over again.
const QUICK: f64 = 0.8;
const INVERTS: f64 = 0.25;
const AT_ONCE: f64 = 0.34;
const NEEDS_HELP: f64 = 0.2;
pub(super) const AGAIN: f64 = 0.13;
/// No hull on her side drifts faster through the water, m/s; a guess.
const MOST_MPS: f64 = 0.62;
/// Beginners need 1 to 5 minutes (`detection.md`), a good crew about 20 s.
const SOON: Law = Law::LogNormal { median_s: 18.0, spread: 0.4 };
const LATER: Law = Law::LogNormal { median_s: 85.0, spread: 0.65 };
/// From help beside her to upright; and at the latest they manage by themselves. Guesses.
pub(super) const HELPED: Law = Law::LogNormal { median_s: 50.0, spread: 0.5 };
const AT_LAST: Law = Law::LogNormal { median_s: 700.0, spread: 0.3 };

#[derive(Clone, Copy, Debug)]
pub(super) struct Over {
    pub(super) seen: SeenOver,
    pub(super) up_s: f64,
    pub(super) needs_help: bool,
    /// Her crew rights her before she fills.
    pub(super) at_once: bool,
    /// How quickly she loses her way, rad/s.
    pub(super) stops: f64,
    /// Drift through the water, of the wind; and how far off downwind.
    drifts: f64,
    aside_deg: f64,
}

impl Over {
    pub(super) fn draw(cause: &'static str, t_s: f64, dice: &mut Dice) -> Over {
        let (quick, inverted) = (dice.chance(QUICK), dice.chance(INVERTS));
        let at_once = !inverted && dice.chance(AT_ONCE);
        let needs_help = !at_once && dice.chance(NEEDS_HELP);
        let lasts = match (at_once, needs_help) {
            (true, _) => SOON,
            (_, true) => AT_LAST,
            _ => LATER,
        };
        // A swamped skiff goes 1.65 to 1.73 % of the wind downwind (`leeway.md`); a dinghy with her rig in the
        // water was seen to move 0.4 m/s some 60 to 75 degrees off it. Some of each, and between; a guess.
        let (drifts, aside_deg) = if !inverted && dice.chance(0.58) {
            (dice.log_normal(0.05, 0.4), dice.between(30.0, 78.0))
        } else {
            (dice.log_normal(0.018, 0.25), (18.0 * dice.normal()).abs())
        };
        Over {
            seen: SeenOver { cause, quick, inverted },
            up_s: t_s + lasts.draw(dice) * if inverted { 1.4 } else { 1.0 },
            needs_help,
            at_once,
            // Some stop at once, some slide on; those that go slowly more so.
            stops: dice.log_normal(if quick { 1.1 } else { 0.55 }, 0.55).clamp(0.12, 2.2),
            drifts,
            aside_deg: aside_deg * dice.sign(),
        }
    }

    /// What the wind makes of her, m/s.
    pub(super) fn drift(&self, wind: Vec2) -> Vec2 {
        let mps = self.drifts * wind.length();
        wind.turned(self.aside_deg).unit() * mps.min(MOST_MPS)
    }
}
