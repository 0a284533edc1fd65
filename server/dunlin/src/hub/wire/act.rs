//! What a person does from a tablet, and the answer.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

use super::DayChange;

/// The answer to an action.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Outcome {
    /// The request it answers.
    pub request: u32,
    /// `null`: done and on disk. Else why not, in words.
    pub refused: Option<String>,
    /// A handle for undoing it, while it can be undone.
    pub undo: Option<u32>,
}

/// What a tablet asks.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(deny_unknown_fields)]
#[ts(export)]
pub struct FromTablet {
    /// The tablet's own number for it; answered by an [`Outcome`]. Sending the same number again
    /// on one connection is answered again and done once.
    pub request: u32,
    /// What.
    pub action: Action,
}

/// What a person can do from a tablet.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
#[ts(export)]
pub enum Action {
    /// "I have seen it."
    Acknowledge {
        /// Which.
        alert: u32,
    },
    /// "Quiet for a moment": no sound for 30 s on any tablet; nobody has taken the alert on.
    Silence {
        /// Which.
        alert: u32,
    },
    /// A safety boat goes (or no longer: `null`). Handing over is the same with another boat.
    Attend {
        /// Which.
        alert: u32,
        /// Which safety boat.
        boat: Option<u32>,
    },
    /// All clear.
    Clear {
        /// Which.
        alert: u32,
        /// Why.
        reason: String,
    },
    /// Heads counted.
    Heads {
        /// Which.
        alert: u32,
        /// How many.
        counted: u32,
    },
    /// What a person sees of a boat.
    Mark {
        /// Which.
        boat: u32,
        /// `capsized`, `person_overboard`, `needs_help`, `fine`, `ashore`, `afloat`, `stood_down`.
        mark: String,
    },
    /// Persons aboard.
    Aboard {
        /// Which.
        boat: u32,
        /// How many.
        persons: u32,
    },
    /// Wind by hand; `null` direction takes it back.
    SetWind {
        /// Where from.
        from_deg: Option<f64>,
        /// How strong.
        speed_kn: Option<f64>,
    },
    /// Stream by hand; `null` takes it back.
    SetStream {
        /// Where to.
        towards_deg: Option<f64>,
        /// How fast.
        speed_kn: Option<f64>,
    },
    /// Session's wind limit.
    SetWindLimit {
        /// Knots.
        limit_kn: Option<f64>,
    },
    /// A source speaks for a boat.
    Assign {
        /// Which source.
        source: String,
        /// Which boat; `null`: nobody.
        boat: Option<u32>,
    },
    /// A person-overboard exercise begins or ends.
    Drill {
        /// Which.
        boat: u32,
        /// Begins.
        on: bool,
    },
    /// A signal to everyone afloat; `null` takes it down.
    Signal {
        /// `all-in`, `stop`, `move`.
        signal: Option<String>,
        /// A few words.
        words: String,
    },
    /// A line in the log.
    Note {
        /// About which boat.
        boat: Option<u32>,
        /// What.
        text: String,
    },
    /// Takes an action back.
    Undo {
        /// The handle from its outcome.
        undo: u32,
    },
    /// A change to the day's papers.
    Day {
        /// What.
        change: DayChange,
    },
}
