//! What a session and each of its crews are like: drawn once.

use super::measured::{self, Range};
use crate::dice::Dice;

/// Hull speed in m/s is this times the root of the waterline in m (detection.md: Froude number 0.399).
const HULL_SPEED: f64 = 1.249;
/// Wind at which some 0.63 of her best speed is reached, m/s, and how steeply, to give detection.md's typical
/// speeds: close-hauled 1 to 2 kn in 4 to 6 kn of wind, 2.5 to 4 in 8 to 15, half as much again on a reach.
const LIVELY_MPS: f64 = 4.5;
const LIVELY: f64 = 1.3;
/// Share of hull speed at angles to the wind: from the same.
const DRIVE: [(f64, f64); 8] = [
    (12.0, -0.12),
    (30.0, 0.4),
    (45.0, 0.84),
    (60.0, 1.0),
    (90.0, 1.27),
    (120.0, 1.3),
    (150.0, 1.12),
    (180.0, 1.04),
];

/// Of the whole session.
#[derive(Clone, Debug)]
pub(super) struct Habits {
    /// Capsizes: how often against the usual.
    pub(super) tips: f64,
    pub(super) fails_tack: f64,
    /// Per boat-hour under way.
    pub(super) heaves_to: f64,
    pub(super) waits: f64,
    pub(super) drills: f64,
    pub(super) rafts: f64,
    /// A sheet slips, someone looks elsewhere.
    pub(super) dawdles: f64,
    /// A boat close by waits with her.
    pub(super) joins: f64,
    /// Share of capsizes the safety boat goes to.
    pub(super) attends: f64,
    /// Share of capsizes that end a phone's feed for a time.
    pub(super) drowns: f64,
}

impl Habits {
    pub(super) fn draw(dice: &mut Dice) -> Habits {
        let mut about = |usual: f64| dice.log_normal(usual, 0.3);
        let (tips, fails_tack) = (about(1.15), about(0.045));
        let (heaves_to, waits, drills, rafts) = (about(0.9), about(0.27), about(0.3), about(0.46));
        Habits {
            tips,
            fails_tack,
            heaves_to,
            waits,
            drills,
            rafts,
            dawdles: dice.between(1.0, 6.0),
            joins: dice.between(0.05, 0.2),
            attends: dice.between(0.5, 0.95),
            drowns: dice.between(0.05, 0.3),
        }
    }
}

/// Of one crew and her boat.
#[derive(Clone, Debug)]
pub(super) struct Own {
    pub(super) waterline_m: f64,
    /// Share of what the boat can do.
    skill: f64,
    pub(super) close_deg: f64,
    pub(super) tack_length_m: f64,
    pub(super) turn_deg_per_s: f64,
    /// They spill the wind in a gust: how much drive is left, and how far they luff.
    pub(super) spills_to: f64,
    pub(super) luffs_deg: f64,
    /// Seconds on one board.
    pub(super) board_s: f64,
}

impl Own {
    pub(super) fn draw(dice: &mut Dice) -> Own {
        let mut of = |range: Range| dice.between(range.0, range.1);
        Own {
            waterline_m: (of((3.5, 4.2)) * 10.0).round() / 10.0,
            skill: of((0.75, 1.0)),
            close_deg: of((42.0, 56.0)),
            tack_length_m: of(measured::TACK_LENGTH_M),
            turn_deg_per_s: of(measured::TURN_DEG_PER_S),
            spills_to: of((0.45, 1.0)),
            luffs_deg: of((0.0, 22.0)),
            board_s: of((40.0, 100.0)),
        }
    }

    /// The speed she comes to, well sailed as her crew can.
    pub(super) fn pace_mps(&self, off_deg: f64, wind_mps: f64) -> f64 {
        let off_deg = off_deg.abs();
        let share = DRIVE.windows(2).find(|pair| off_deg <= pair[1].0).map_or(DRIVE[7].1, |pair| {
            let ((from, low), (to, high)) = (pair[0], pair[1]);
            low + (high - low) * ((off_deg - from) / (to - from)).max(0.0)
        });
        let lively = 1.0 - (-(wind_mps / LIVELY_MPS).powf(LIVELY)).exp();
        self.skill * HULL_SPEED * self.waterline_m.sqrt() * lively * share
    }
}
