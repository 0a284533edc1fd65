//! What comes in: lines, phone reports, people's decisions, and the passing of time.

use crate::{
    fleet::BoatIx,
    moment::{FixTime, Moment},
    units::{Bearing, Position},
};

/// Names one feed of the session: the port, socket or file that bytes came through.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FeedName(pub String);

/// One event of a session. With its [`crate::moment::Moment`] it is all the engine ever learns.
#[derive(Clone, Debug, PartialEq)]
pub enum Input {
    /// One raw line as the feed gave it, without the line end; any bytes at all.
    Line {
        /// Where it came through; names the source when the line has no TAG block that does.
        feed: FeedName,
        /// The bytes, at most [`crate::limits::LINE_MAX`] of them (the shell cuts and counts).
        line: Vec<u8>,
    },
    /// One report from a phone's socket, already decoded.
    Report {
        /// The source the phone's key stands for.
        source: String,
        /// What it said.
        report: Report,
    },
    /// A person decided something.
    Command {
        /// Who: a name as people on the beach know it.
        by: String,
        /// What.
        command: Command,
    },
    /// Nothing arrived; time passed.
    Wake,
}

/// What a phone on board reports. `None` is "not said", never zero.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// When the phone says it took the fix.
    pub taken: FixTime,
    /// Where; `None` for a report that only carries a button or a battery.
    pub position: Option<Position>,
    /// 68 % radius of the position, metres.
    pub accuracy_m: Option<f64>,
    /// Speed over the ground, m/s.
    pub speed_mps: Option<f64>,
    /// Course over the ground.
    pub course: Option<Bearing>,
    /// Which way the bow points.
    pub heading: Option<Bearing>,
    /// Heel in degrees, positive to starboard, -180..=180.
    pub heel_deg: Option<f64>,
    /// Battery, 0..=100 per cent.
    pub battery_pct: Option<f64>,
    /// `Some(true)`: the help button was held; `Some(false)`: "we are fine" was pressed.
    pub help: Option<bool>,
}

/// Names one alert of a session; never used again in that session.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AlertId(pub u32);

/// Names one person of a session's list. Who that is, only the day's papers say: so that a name can be
/// deleted, none comes into the engine or the journal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PersonId {
    /// The session's number in the papers.
    pub session: u32,
    /// Their number in its list.
    pub number: u32,
}

/// What a person can tell the engine.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// "I have seen it." Stops the sound, not the alert.
    Acknowledge(AlertId),
    /// "Quiet for a moment." Stops the sound for 30 s; nobody has taken the alert on.
    Silence(AlertId),
    /// "This boat is on its way." `None`: nobody is any more.
    Attend(AlertId, Option<BoatIx>),
    /// Ended by hand, with the reason given.
    Clear(AlertId, String),
    /// Heads counted at a boat in trouble: how many of her crew are accounted for.
    HeadsCounted(AlertId, u8),
    /// A person says what they see of a boat.
    Mark(BoatIx, HandMark),
    /// Persons aboard now (swaps afloat change it).
    Aboard(BoatIx, u8),
    /// Wind by hand; `None` takes it back.
    SetWind(Option<HandWind>),
    /// Tidal stream: where it goes to and how fast (m/s); `None`: as estimated, else unknown.
    SetStream(Option<(Bearing, f64)>),
    /// The session's wind limit, m/s; `None`: no limit.
    SetWindLimit(Option<f64>),
    /// When everyone is expected back; boats still out then are overdue. `None`: no such time.
    SetBackBy(Option<Moment>),
    /// This source speaks for this boat from now on; `None`: for nobody.
    Assign(String, Option<BoatIx>),
    /// The head count says that this person, in no boat that is out, should have been back since then.
    PersonOverdue(PersonId, Moment),
    /// The head count misses this person no longer; with the reason.
    PersonAccounted(PersonId, String),
    /// A person-overboard exercise begins (`true`) or ends at this boat; drills never hide real alerts.
    Drill(BoatIx, bool),
}

/// What a person marks by hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HandMark {
    /// She is on her side or upside down.
    Capsized,
    /// Someone is in the water away from the boat.
    PersonOverboard,
    /// She wants help.
    NeedsHelp,
    /// Seen and well; ends alerts of her own motion.
    Fine,
    /// On the beach, people counted.
    Ashore,
    /// Afloat.
    Afloat,
    /// Out of use for the session: moored, on the trailer.
    StoodDown,
}

/// Wind entered by a person.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HandWind {
    /// Where it comes from, over the ground.
    pub from: Bearing,
    /// How strong, m/s; `None` when only the direction is known.
    pub speed_mps: Option<f64>,
}
