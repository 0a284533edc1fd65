//! A session's crews at the tiller: how well they steer, trim, tack and gybe.

use super::widely;
use crate::dice::Dice;

/// Guesses all; that beginners' tacks turn up to 120 deg and good ones lose less than half the speed in less than
/// 10 s is from `wind.md` and `exercises.md`.
#[derive(Clone, Debug)]
pub(super) struct Helm {
    /// Of what the boat could do.
    pub(super) skill: f64,
    pub(super) wanders_deg: f64,
    pub(super) wanders_s: f64,
    /// Share of the speed that comes and goes with the sheets.
    pub(super) neglects: f64,
    pub(super) neglects_s: f64,
    /// Further off the wind than she could point.
    pub(super) bears_off_deg: f64,
    pub(super) tack_s: f64,
    pub(super) tack_leaves: f64,
    pub(super) tack_fails: f64,
    pub(super) gybe_s: f64,
    pub(super) gybe_leaves: f64,
    /// On one board at the most.
    pub(super) board_s: f64,
    /// Furthest off the wind they dare to run.
    pub(super) run_deg: f64,
}

impl Helm {
    pub(super) fn draw(dice: &mut Dice) -> Helm {
        Helm {
            skill: dice.between(0.75, 1.0),
            wanders_deg: widely(dice, 2.0, 10.0),
            wanders_s: widely(dice, 4.0, 25.0),
            neglects: dice.between(0.03, 0.22),
            neglects_s: widely(dice, 8.0, 60.0),
            bears_off_deg: dice.between(0.0, 12.0),
            tack_s: widely(dice, 4.5, 13.0),
            tack_leaves: dice.between(0.35, 0.78),
            tack_fails: widely(dice, 0.02, 0.3),
            gybe_s: widely(dice, 3.0, 9.0),
            gybe_leaves: dice.between(0.6, 1.0),
            board_s: widely(dice, 25.0, 120.0),
            run_deg: dice.between(145.0, 172.0),
        }
    }

    /// Another crew of the same club.
    pub(super) fn another(&self, dice: &mut Dice) -> Helm {
        let mut other = self.clone();
        other.skill = (other.skill * dice.log_normal(1.0, 0.07)).min(1.0);
        other.wanders_deg *= dice.log_normal(1.0, 0.2);
        other.bears_off_deg += dice.between(-1.0, 4.0);
        other.tack_fails = (other.tack_fails * dice.log_normal(1.0, 0.5)).min(0.4);
        other.board_s *= dice.log_normal(1.0, 0.2);
        other
    }
}
