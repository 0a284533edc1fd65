//! The head count, the signal to everyone afloat, the log, and how dunlin itself is.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// The head count.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct TallyState {
    /// One entry a boat, in fleet order.
    pub entries: Vec<TallyEntry>,
    /// Boats afloat or landed and not counted.
    pub boats_out: u32,
    /// Persons in them.
    pub persons_out: u32,
    /// Persons whose whereabouts are not known: in a boat of no contact, or heads short.
    pub unaccounted: u32,
}

/// One boat in the head count.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct TallyEntry {
    /// Whose.
    pub boat: u32,
    /// `ashore`, `afloat`, `landed`, `returned`, `stood-down`.
    pub standing: String,
    /// Persons aboard.
    pub persons: u32,
    /// Since.
    pub since_ms: i64,
    /// Who said so; `null`: seen by her track.
    pub by: Option<String>,
}

/// dunlin itself is not well.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Notice {
    /// Stable name: `not-recording`, `feed-silent:mast`, `clock-moved`, `restarted`.
    pub code: String,
    /// Plain words with the remedy.
    pub text: String,
    /// Since.
    pub since_ms: i64,
}

/// A signal to everyone afloat.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct SignalState {
    /// `all-in`, `stop`, `move`.
    pub signal: String,
    /// A few words: "to the west area".
    pub words: String,
    /// Who gave it.
    pub by: String,
    /// When.
    pub at_ms: i64,
    /// Boats whose phones have shown it.
    pub seen: Vec<u32>,
    /// Boats that can be reached by phone at all.
    pub reachable: Vec<u32>,
}

/// A line of the day's log.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct LogLine {
    /// When.
    pub at_ms: i64,
    /// Who, or `dunlin`.
    pub by: String,
    /// About which boat.
    pub boat: Option<u32>,
    /// About which alert.
    pub alert: Option<u32>,
    /// What, in words.
    pub text: String,
}
