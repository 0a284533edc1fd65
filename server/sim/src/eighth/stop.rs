//! The ways in which a beginners' boat is slow without being capsized. Shares are of the wind's speed; all of
//! them and all times are guesses unless a source stands beside them.

use crate::{dice::Dice, truth::Reason};

/// A kind of stop.
#[derive(Clone, Copy, Debug)]
pub(super) struct Kind {
    pub(super) reason: Option<Reason>,
    /// How long: median, s, and spread of the logarithm.
    lasts: (f64, f64),
    /// Angle off the wind she lies at.
    off_deg: (f64, f64),
    /// Way ahead and drift to leeward, shares of the wind.
    ahead: (f64, f64),
    down: (f64, f64),
}

/// Stopped head to wind; makes sternway.
pub(super) const IRONS: Kind = Kind {
    reason: Some(Reason::InIrons),
    lasts: (34.0, 0.6),
    off_deg: (-15.0, 15.0),
    ahead: (-0.03, 0.0),
    down: (0.02, 0.035),
};
/// Jib backed, helm down.
pub(super) const HOVE_TO: Kind = Kind {
    reason: Some(Reason::HoveTo),
    lasts: (300.0, 0.5),
    off_deg: (45.0, 70.0),
    ahead: (0.015, 0.065),
    down: (0.03, 0.05),
};
/// Sails flapping. An upright hull drifts at about 2.9 % of the wind (SKIFF-2, `leeway.md`).
pub(super) const WAITS: Kind = Kind {
    reason: Some(Reason::Waiting),
    lasts: (290.0, 0.6),
    off_deg: (50.0, 90.0),
    ahead: (0.0, 0.06),
    down: (0.025, 0.045),
};
/// A sheet, a cleat or a rudder wants seeing to.
pub(super) const ADJUSTS: Kind = Kind { lasts: (60.0, 0.5), ..WAITS };
/// Alongside a safety boat, both drifting.
pub(super) const RAFTED: Kind = Kind {
    reason: Some(Reason::Rafted),
    lasts: (180.0, 0.5),
    off_deg: (30.0, 90.0),
    ahead: (0.0, 0.01),
    down: (0.02, 0.035),
};
/// The dummy is got hold of and hauled in.
pub(super) const PICK_UP: Kind = Kind {
    reason: Some(Reason::DrillPickUp),
    lasts: (10.0, 0.5),
    off_deg: (40.0, 70.0),
    ahead: (0.0, 0.04),
    down: (0.025, 0.045),
};
/// Under way with the sheets eased and nobody minding the speed.
pub(super) const DAWDLES: Kind = Kind {
    reason: None,
    lasts: (40.0, 0.5),
    off_deg: (60.0, 110.0),
    ahead: (0.03, 0.12),
    down: (0.02, 0.03),
};

/// A stop that lasts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stop {
    pub(super) reason: Option<Reason>,
    pub(super) until_s: f64,
    pub(super) off_deg: f64,
    pub(super) ahead: f64,
    pub(super) down: f64,
}

impl Stop {
    /// `side`: the one the wind is on; they do not turn round to stop.
    pub(super) fn draw(kind: &Kind, t_s: f64, side: f64, dice: &mut Dice) -> Stop {
        let (median_s, spread) = kind.lasts;
        Stop {
            reason: kind.reason,
            until_s: t_s + dice.log_normal(median_s, spread),
            off_deg: side * dice.between(kind.off_deg.0, kind.off_deg.1),
            ahead: dice.between(kind.ahead.0, kind.ahead.1),
            down: dice.between(kind.down.0, kind.down.1),
        }
    }
}
