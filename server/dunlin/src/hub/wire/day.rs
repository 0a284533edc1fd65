//! The day's papers: session, people, checks, defects, cover.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

use super::Said;

/// The day's papers.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct DayState {
    /// The open session; `null`: none was opened, and the watch runs all the same.
    pub session: Option<SessionState>,
    /// Everyone on the list.
    pub people: Vec<Person>,
    /// Launch checks by boat.
    pub checks: Vec<BoatCheck>,
    /// Defects by boat, open ones and those mended today.
    pub defects: Vec<Defect>,
    /// The centre's own check list.
    pub check_items: Vec<String>,
    /// The centre's own list for after sailing.
    pub after_items: Vec<String>,
    /// Sun and dusk for today at the site; `null` without a site or where they do not happen.
    pub sunset_ms: Option<i64>,
    /// End of civil twilight.
    pub dusk_ms: Option<i64>,
    /// Cover: what the centre's rule says of the safety boats now.
    pub cover: Option<Cover>,
    /// The centre's own rules.
    pub rules: CentreRules,
}

/// The centre's own rules; local codes and the person in charge prevail over them.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct CentreRules {
    /// Dinghies one safety boat may look after; `null`: no such rule.
    pub dinghies_per_safety_boat: Option<f64>,
    /// Seconds within which every dinghy afloat must be reached; `null`: no such rule.
    pub reach_within_s: Option<f64>,
    /// Days after which positions and names are deleted; `null`: kept until deleted by hand.
    pub keep_days: Option<u32>,
}

/// One session.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct SessionState {
    /// Its number in the journal.
    pub id: u32,
    /// What it is called: "Tuesday beginners".
    pub title: String,
    /// Who runs it.
    pub staff: Vec<String>,
    /// Opened.
    pub opened_ms: i64,
    /// Everyone is expected back.
    pub back_by_ms: Option<i64>,
    /// Water temperature, degrees Celsius.
    pub water_c: Option<f64>,
    /// Wind limit, knots.
    pub wind_limit_kn: Option<f64>,
    /// Tide and stream as entered.
    pub tides: Vec<TideRow>,
    /// Closed; `null`: still open.
    pub closed: Option<Closed>,
}

/// A row of the tide table entered by hand.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct TideRow {
    /// When.
    pub at_ms: i64,
    /// Height of tide, metres, if entered.
    pub height_m: Option<f64>,
    /// Stream goes to, if entered.
    pub towards_deg: Option<f64>,
    /// Stream, knots, if entered.
    pub speed_kn: Option<f64>,
}

/// How a session was closed.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Closed {
    /// Who.
    pub by: String,
    /// When.
    pub at_ms: i64,
    /// Reason, when somebody was still out: an override.
    pub override_reason: Option<String>,
}

/// One person of the day.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Person {
    /// Number for the session.
    pub id: u32,
    /// First name, or however the centre lists them.
    pub name: String,
    /// `learner`, `crew`, `staff`.
    pub part: String,
    /// Boat they are in, or were in last.
    pub boat: Option<u32>,
    /// `ashore`, `afloat`, `back`, `unaccounted`.
    pub standing: String,
    /// Since.
    pub since_ms: i64,
    /// Who said so.
    pub by: Option<String>,
    /// Buoyancy aid seen on them.
    pub buoyancy_checked: bool,
    /// Anything staff must know; duty officers and instructors only.
    pub note: Option<String>,
}

/// Launch or after-sailing check of one boat.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct BoatCheck {
    /// Whose.
    pub boat: u32,
    /// Items ticked before launching.
    pub ready: Vec<String>,
    /// Items ticked after sailing.
    pub after: Vec<String>,
    /// Sails reefed.
    pub reefed: Option<bool>,
    /// Who overrode an open safety defect, and why.
    pub override_by: Option<String>,
    /// Why.
    pub override_reason: Option<String>,
}

/// Something broken.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Defect {
    /// Its number.
    pub id: u32,
    /// Which boat.
    pub boat: u32,
    /// What.
    pub text: String,
    /// She must not go out with it.
    pub safety: bool,
    /// Who wrote it down.
    pub by: String,
    /// When.
    pub at_ms: i64,
    /// Mended: who and when.
    pub mended: Option<Said>,
}

/// Safety cover against the centre's own rule.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Cover {
    /// Safety boats afloat and heard.
    pub safety_boats: u32,
    /// Dinghies afloat.
    pub dinghies: u32,
    /// Seconds to the boat that takes longest to reach; `null`: unknown.
    pub furthest_s: Option<f64>,
    /// Which that is.
    pub furthest_boat: Option<u32>,
    /// Thin, in words; `null`: within the centre's rule.
    pub thin: Option<String>,
}
