//! What a dinghy of the third water is doing.

use crate::{dice::Wander, third::over::Over, truth::Reason};

/// How a crew wait.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Way {
    /// Boom held out: she goes astern.
    Back,
    /// Everything loose.
    Lie,
    /// A little sheet in.
    Creep,
    /// With the rudder, towards the wind.
    Scull,
}

#[derive(Clone, Debug)]
pub(super) struct Wait {
    pub(super) way: Way,
    /// Seconds in which they luff up to it; 0: everything is let fly at once.
    pub(super) gently_s: f64,
    /// How far off the wind they try to keep her.
    pub(super) off_deg: f64,
    pub(super) for_safety: bool,
}

#[derive(Clone, Debug)]
pub(super) struct HeaveTo {
    pub(super) off_deg: f64,
    /// She swings to and fro by so much, in so long.
    pub(super) swing_deg: f64,
    pub(super) period_s: f64,
    /// The main's angle to the wind, degrees.
    pub(super) attack_deg: f64,
    pub(super) wander: Wander,
}

#[derive(Clone, Debug)]
pub(super) enum Doing {
    Sailing,
    /// Sails close-hauled towards a dummy until then.
    Approach,
    /// Alongside the dummy; `false`: still luffing up to it.
    PickUp {
        stopped: bool,
    },
    Waiting(Wait),
    HoveTo(HeaveTo),
    /// Head to wind without way; they will fall off to this side.
    Irons {
        side: f64,
    },
    /// Made fast to the safety boat of this number.
    Rafted {
        to: usize,
    },
    /// Things have gone out of hand and her way is going; over she goes at the end of it.
    Losing,
    Over(Box<Over>),
    /// Upright, crew climbing in and bailing; `true`: sheets are in and she gathers way.
    Recovering {
        sheets_in: bool,
    },
}

impl Doing {
    /// Why she is not simply sailing.
    pub(super) fn reason(&self) -> Option<Reason> {
        match self {
            Doing::Sailing | Doing::Approach | Doing::Losing => None,
            Doing::PickUp { .. } => Some(Reason::DrillPickUp),
            Doing::Waiting(_) => Some(Reason::Waiting),
            Doing::HoveTo(_) => Some(Reason::HoveTo),
            Doing::Irons { .. } => Some(Reason::InIrons),
            Doing::Rafted { .. } => Some(Reason::Rafted),
            Doing::Over(_) => Some(Reason::Capsized),
            Doing::Recovering { .. } => Some(Reason::Recovering),
        }
    }
}
