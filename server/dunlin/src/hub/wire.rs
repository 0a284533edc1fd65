//! Every message between the hub and a tablet. TypeScript is generated from here.
//!
//! Times are milliseconds since 1970-01-01T00:00:00Z on the server's scale; speeds are knots,
//! distances metres, angles degrees true clockwise from north unless a field says otherwise.
//! `null` is "not known" and never zero.

mod act;
mod alerts;
mod boats;
mod change;
mod day;
mod setup;
mod tally;

use serde::{Deserialize, Serialize};
use ts_rs::TS;

pub use self::{
    act::{Action, FromTablet, Outcome},
    alerts::{AlertState, Attending, Cleared, DriftArea, Need, PersonRef, Said, Way},
    boats::{BoatFacts, BoatNow, ManoeuvreState, Stranger, Tick, Trail, TrailPoint, WindPoint, WindState},
    change::DayChange,
    day::{BoatCheck, CentreRules, Closed, Cover, DayState, Defect, Person, SessionState, TideRow},
    setup::{BoatInfo, MarkShape, SetupState, StreamState, ZoneShape},
    tally::{LogLine, Notice, SignalState, TallyEntry, TallyState},
};

/// The version of this protocol; a tablet that speaks another reloads itself.
pub const WIRE_VERSION: u32 = 1;

/// What the hub tells a tablet.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[ts(export)]
pub enum ToTablet {
    /// Everything, replacing all that was known before. First message of every connection.
    Snapshot(Box<Snapshot>),
    /// Positions and what follows from them, several times a second.
    Tick(Tick),
    /// One alert as it stands now; sent at once, outside the tick.
    Alert(AlertState),
    /// Where a boat was while she could not be heard: to be put into her trail by time.
    Late(Trail),
    /// A tack or gybe completed.
    Manoeuvre(ManoeuvreState),
    /// The head count changed.
    Tally(TallyState),
    /// The day's papers changed: session, crews, persons, checks, defects.
    Day(DayState),
    /// The set-up changed: site, fleet, settings.
    Setup(SetupState),
    /// dunlin itself is degraded, or no longer: "not recording", "feed mast is silent".
    Notices {
        /// All that stand; replaces the list before.
        notices: Vec<Notice>,
    },
    /// A signal to everyone afloat changed (all in, stop, move).
    Signal {
        /// The one that stands; `null`: none.
        signal: Option<SignalState>,
    },
    /// A line of the day's log.
    Log(LogLine),
    /// The answer to an action this tablet asked for.
    Outcome(Outcome),
}

/// Everything a tablet needs to show what the others show.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Snapshot {
    /// [`WIRE_VERSION`].
    pub version: u32,
    /// Server time.
    pub now_ms: i64,
    /// When the server began watching; a restart is a gap in the watch and is shown.
    pub watching_since_ms: i64,
    /// Who this tablet is.
    pub you: You,
    /// Site, fleet, settings.
    pub setup: SetupState,
    /// All boats.
    pub tick: Tick,
    /// Trails, newest last.
    pub trails: Vec<Trail>,
    /// The wind of the last twenty minutes, newest last.
    pub winds: Vec<WindPoint>,
    /// Standing alerts and those cleared lately.
    pub alerts: Vec<AlertState>,
    /// Recent manoeuvres.
    pub manoeuvres: Vec<ManoeuvreState>,
    /// Head count.
    pub tally: TallyState,
    /// Session papers.
    pub day: DayState,
    /// Degradations.
    pub notices: Vec<Notice>,
    /// Signal to everyone afloat, if one stands.
    pub signal: Option<SignalState>,
    /// The day's log, newest last, at most 200 lines.
    pub log: Vec<LogLine>,
}

/// Who a tablet is to the server.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct You {
    /// The name its actions are signed with.
    pub name: String,
    /// What it may do.
    pub role: AccessRole,
}

/// What a person may do.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, PartialEq, Eq, PartialOrd, Ord, TS)]
#[serde(rename_all = "snake_case")]
#[ts(export)]
pub enum AccessRole {
    /// See.
    Viewer,
    /// Act on alerts, tally, marks.
    Instructor,
    /// Set up, override, close the day.
    DutyOfficer,
}
