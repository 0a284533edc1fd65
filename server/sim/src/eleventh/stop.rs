//! The ways in which a beginner's boat stops, or nearly does: how often, for how long, and what she does
//! meanwhile. How often and how long are set so that a simple rule scores here as it does elsewhere
//! (`tests/simple_rule.rs`); the rest are guesses.

use crate::{dice::Dice, truth::Reason};

#[derive(Debug)]
pub(super) struct Kind {
    /// In the truth; `None`: she sails, only slowly.
    pub(super) reason: Option<Reason>,
    /// Begun so often in an hour of sailing, besides what turns, marks and safety boats cause.
    pub(super) per_h: f64,
    median_s: f64,
    spread: f64,
    /// How she lies: angle off the wind, degrees.
    off_deg: (f64, f64),
    /// Way she keeps, as a share of the wind's speed; astern below 0.
    way: (f64, f64),
    /// How much of the wind's speed she is blown to leeward besides. `leeway.md` has 2.9 % and a few cm/s of an
    /// upright skiff; with a sail up it may be more, with a board down less.
    drift: (f64, f64),
    /// Her crew sheets in for some seconds so often an hour, to stay where she is.
    pub(super) creeps_per_h: f64,
}

pub(super) const HOVE_TO: Kind = Kind {
    reason: Some(Reason::HoveTo),
    per_h: 1.05,
    median_s: 225.0,
    spread: 0.6,
    off_deg: (40.0, 70.0),
    way: (0.0, 0.07),
    drift: (0.025, 0.05),
    creeps_per_h: 2.0,
};
pub(super) const WAITS: Kind = Kind {
    reason: Some(Reason::Waiting),
    per_h: 0.2,
    median_s: 180.0,
    spread: 0.7,
    off_deg: (35.0, 80.0),
    way: (0.0, 0.05),
    drift: (0.025, 0.05),
    creeps_per_h: 7.0,
};
pub(super) const IN_IRONS: Kind = Kind {
    reason: Some(Reason::InIrons),
    per_h: 0.14,
    median_s: 65.0,
    spread: 0.7,
    off_deg: (-12.0, 12.0),
    way: (-0.07, -0.02),
    drift: (0.01, 0.02),
    creeps_per_h: 0.0,
};
pub(super) const PICK_UP: Kind = Kind {
    reason: Some(Reason::DrillPickUp),
    per_h: 0.16,
    median_s: 45.0,
    spread: 0.5,
    off_deg: (45.0, 75.0),
    way: (0.0, 0.03),
    drift: (0.03, 0.045),
    creeps_per_h: 10.0,
};
/// Sheets eased, looking about.
pub(super) const DAWDLES: Kind = Kind {
    reason: None,
    per_h: 0.5,
    median_s: 45.0,
    spread: 0.5,
    off_deg: (50.0, 110.0),
    way: (0.02, 0.12),
    drift: (0.01, 0.025),
    creeps_per_h: 20.0,
};
/// Held alongside a safety boat.
pub(super) const RAFTED: Kind = Kind {
    reason: Some(Reason::Rafted),
    per_h: 0.0,
    median_s: 110.0,
    spread: 0.5,
    off_deg: (20.0, 80.0),
    way: (0.0, 0.015),
    drift: (0.02, 0.04),
    creeps_per_h: 0.0,
};

/// Those that just happen while she sails.
pub(super) const ANY_TIME: [&Kind; 5] = [&HOVE_TO, &WAITS, &IN_IRONS, &PICK_UP, &DAWDLES];

/// One of them, while it lasts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stop {
    pub(super) kind: &'static Kind,
    pub(super) until_s: f64,
    pub(super) off_deg: f64,
    pub(super) way: f64,
    pub(super) drift: f64,
    /// How long her way takes to go: a hull with momentum, unlike one that has gone over.
    pub(super) lag_s: f64,
    /// Her crew sheets in until then.
    pub(super) creeps_until_s: f64,
}

impl Stop {
    /// `side`: the one the wind is on.
    pub(super) fn draw(kind: &'static Kind, side: f64, t_s: f64, dice: &mut Dice) -> Stop {
        let mut any = |range: (f64, f64)| dice.between(range.0, range.1);
        let (off_deg, way, drift, lag_s) =
            (any(kind.off_deg), any(kind.way), any(kind.drift), any((2.5, 9.0)));
        Stop {
            kind,
            until_s: t_s + dice.log_normal(kind.median_s, kind.spread).max(10.0),
            off_deg: side * off_deg,
            way,
            drift,
            lag_s,
            creeps_until_s: t_s,
        }
    }
}
