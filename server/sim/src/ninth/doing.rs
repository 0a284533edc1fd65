//! What a crew is about, and the reason of it that the truth keeps.

use crate::truth::Reason;

use super::over::Over;

/// A turn through the wind or with the stern through it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turn {
    /// The wind is to come from that side: 1 for starboard.
    pub(super) to: f64,
    pub(super) since_s: f64,
    pub(super) botched: bool,
    /// The boom has come over.
    pub(super) over: bool,
}

/// Head to wind without way.
#[derive(Clone, Copy, Debug)]
pub(super) struct Irons {
    /// They see what is wrong.
    pub(super) sees_s: f64,
    pub(super) to: f64,
}

/// Lying still on purpose.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wait {
    pub(super) until_s: f64,
    /// When they last took, or will next take, the sheet in to stay where they are.
    pub(super) trims_s: f64,
}

#[derive(Clone, Debug)]
pub(super) enum Doing {
    Sails,
    Tacks(Turn),
    Gybes(Turn),
    Irons(Irons),
    HeavesTo {
        until_s: f64,
    },
    Waits(Wait),
    PicksUp {
        until_s: f64,
    },
    /// Alongside a safety boat.
    Holds,
    Towed,
    Over(Over),
    /// Upright again, climbing in and bailing.
    Bails {
        until_s: f64,
    },
}

impl Doing {
    pub(super) fn reason(&self) -> Option<Reason> {
        match self {
            Doing::Sails | Doing::Tacks(_) | Doing::Gybes(_) => None,
            Doing::Irons(_) => Some(Reason::InIrons),
            Doing::HeavesTo { .. } => Some(Reason::HoveTo),
            Doing::Waits(_) => Some(Reason::Waiting),
            Doing::PicksUp { .. } => Some(Reason::DrillPickUp),
            Doing::Holds => Some(Reason::Rafted),
            Doing::Towed => Some(Reason::Towed),
            Doing::Over(_) => Some(Reason::Capsized),
            Doing::Bails { .. } => Some(Reason::Recovering),
        }
    }
}
