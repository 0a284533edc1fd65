//! Alerts as they stand, who needs help first, and the ways there.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// An alert as it stands.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct AlertState {
    /// Its name.
    pub id: u32,
    /// Whose; `null`: the session's, or a person's in no boat.
    pub boat: Option<u32>,
    /// The person of the list it is about; `null`: it is not about one.
    pub person: Option<PersonRef>,
    /// `capsize`, `person-overboard`, `needs-help`, `outside-area`, `drifting-out`, `no-go`,
    /// `nearing-no-go`, `lost-contact`, `frozen-tracker`, `wind-over-limit`, `wind-disagrees`,
    /// `doubled-source`, `overdue`, `person-overdue`.
    pub about: String,
    /// `caution`, `warning`, `alarm`, `emergency`.
    pub level: String,
    /// Raised.
    pub raised_ms: i64,
    /// When the situation began as far as dunlin can tell.
    pub began_ms: i64,
    /// Last change.
    pub changed_ms: i64,
    /// 0..=1; `null` for facts.
    pub confidence: Option<f64>,
    /// Plain words, most telling first.
    pub evidence: Vec<String>,
    /// Who acknowledged, when.
    pub acknowledged: Option<Said>,
    /// Who stopped its sound for a moment; `at_ms` is when it may sound again.
    pub silenced: Option<Said>,
    /// Who is on the way.
    pub attended: Option<Attending>,
    /// Heads counted there; `null`: not counted.
    pub heads: Option<u32>,
    /// Over; reason in `by`-less words.
    pub cleared: Option<Cleared>,
    /// Whether this state is on disk already.
    pub recorded: bool,
}

/// A person of a session's list. Their name is in the day's papers alone.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct PersonRef {
    /// The session's number.
    pub session: u32,
    /// Their number in its list.
    pub id: u32,
}

/// A person and a time.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Said {
    /// Who.
    pub by: String,
    /// When.
    pub at_ms: i64,
}

/// A boat on her way to another.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Attending {
    /// Which safety boat.
    pub boat: u32,
    /// Who said so.
    pub by: String,
    /// When.
    pub at_ms: i64,
}

/// How an alert ended.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Cleared {
    /// When.
    pub at_ms: i64,
    /// Why.
    pub reason: String,
}

/// One line of the need list, ordered by the engine.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Need {
    /// The alert it is about.
    pub alert: u32,
    /// Whose; `null`: a person or a beacon of no boat we know.
    pub boat: Option<u32>,
    /// Why in this place, in words.
    pub why: String,
    /// Persons aboard (or in the water).
    pub persons: u32,
    /// Way there for each safety boat that is tracked, nearest in time first.
    pub ways: Vec<Way>,
    /// Where she will be: centre, and half-axes and direction of an area, per time ahead.
    pub drift: Vec<DriftArea>,
}

/// How a safety boat gets there.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Way {
    /// Which safety boat.
    pub safety: u32,
    /// Now.
    pub distance_m: f64,
    /// True bearing from the safety boat now.
    pub bearing_deg: f64,
    /// Course to steer to meet the drifting boat; `null`: cannot be met at that speed.
    pub steer_deg: Option<f64>,
    /// Seconds to get there; `null`: cannot be met.
    pub time_s: Option<f64>,
    /// The speed assumed for the safety boat, knots.
    pub at_kn: f64,
}

/// An area in which she will be with about 90 %.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct DriftArea {
    /// Minutes ahead.
    pub minutes: f64,
    /// Outline, `[lon, lat]`, closed.
    pub ring: Vec<[f64; 2]>,
}
