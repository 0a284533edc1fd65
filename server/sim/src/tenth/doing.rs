//! What a boat is doing: one thing at a time.

use super::{
    over::{Cause, Over, Way},
    stops::Stop,
};
use crate::{notes::SeenOver, truth::Reason};

#[derive(Clone, Debug)]
pub(super) enum Doing {
    /// She gathers way so many times slower than she could, until she has it.
    Sails {
        dawdles: f64,
    },
    Turns(Turn),
    /// Something has gone wrong, and she will be past recovery then.
    GoesOver {
        at_s: f64,
        cause: Cause,
        way: Way,
    },
    Stops(Stop),
    IsOver(Over),
    Recovers {
        until_s: f64,
        again: bool,
    },
    /// She bears off after a stop, which lasts until she has way again.
    Leaves {
        reason: Option<Reason>,
        dawdles: f64,
        until_s: f64,
    },
    IsTowed,
}

/// A tack or a gybe.
#[derive(Clone, Debug)]
pub(super) struct Turn {
    pub(super) is_tack: bool,
    pub(super) from_s: f64,
    pub(super) lasts_s: f64,
    pub(super) from_deg: f64,
    /// Clockwise above 0.
    pub(super) turns_deg: f64,
    pub(super) to_side: f64,
    pub(super) way_mps: f64,
    pub(super) leaves: f64,
    pub(super) fails: bool,
    /// It ends in the water.
    pub(super) goes_over: bool,
}

impl Turn {
    pub(super) fn done(&self, t_s: f64) -> f64 {
        ((t_s - self.from_s) / self.lasts_s).clamp(0.0, 1.0)
    }
}

impl Doing {
    pub(super) fn reason(&self) -> Option<Reason> {
        match self {
            Doing::Sails { .. } | Doing::Turns(_) | Doing::GoesOver { .. } => None,
            Doing::Stops(stop) => stop.reason,
            Doing::IsOver(_) => Some(Reason::Capsized),
            Doing::Leaves { reason, .. } => *reason,
            Doing::Recovers { .. } => Some(Reason::Recovering),
            Doing::IsTowed => Some(Reason::Towed),
        }
    }

    pub(super) fn over(&self) -> Option<SeenOver> {
        match self {
            Doing::IsOver(over) => {
                Some(SeenOver { cause: over.cause.name(), quick: over.quick, inverted: over.inverted })
            }
            Doing::Sails { .. }
            | Doing::Turns(_)
            | Doing::GoesOver { .. }
            | Doing::Stops(_)
            | Doing::Recovers { .. }
            | Doing::Leaves { .. }
            | Doing::IsTowed => None,
        }
    }
}
