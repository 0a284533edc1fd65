//! What a boat is doing.

use super::over::Over;
use crate::truth::Reason;

#[derive(Clone, Copy, Debug)]
pub(super) enum Doing {
    Sails,
    /// Through the wind with the bow, to that side (+1: wind from starboard). `fumbled`: the helm hesitates.
    Tacks {
        to: f64,
        since_s: f64,
        fumbled: bool,
    },
    /// With the stern.
    Gybes {
        to: f64,
        since_s: f64,
    },
    /// Sheet let run in a gust.
    Spills {
        until_s: f64,
    },
    Stops(Stop),
    Over(Over),
    /// On a line astern of a safety boat.
    Towed,
}

/// A stop and how it is held.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stop {
    pub(super) reason: Reason,
    pub(super) until_s: f64,
    /// The angle she is held at, wind on the starboard side above 0.
    pub(super) off_deg: f64,
    /// The way she keeps.
    pub(super) fore_mps: f64,
    /// Since when the crew sheet in to sail on.
    pub(super) leaves_s: Option<f64>,
}

impl Doing {
    pub(super) fn reason(&self) -> Option<Reason> {
        match self {
            Doing::Stops(stop) => Some(stop.reason),
            Doing::Over(_) => Some(Reason::Capsized),
            Doing::Towed => Some(Reason::Towed),
            _ => None,
        }
    }

    pub(super) fn stop(&self) -> Option<Stop> {
        match self {
            Doing::Stops(stop) => Some(*stop),
            _ => None,
        }
    }

    pub(super) fn over(&self) -> Option<Over> {
        match self {
            Doing::Over(over) => Some(*over),
            _ => None,
        }
    }
}
