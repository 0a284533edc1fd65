//! What people wrote down, as it is stored: one record a row, never changed, only undone.

use serde::{Deserialize, Serialize};

/// A row of the tide table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tide {
    /// When, ms UTC.
    pub at_ms: i64,
    /// Height of tide, metres.
    pub height_m: Option<f64>,
    /// Where the stream goes to, degrees true.
    pub towards_deg: Option<f64>,
    /// How fast, knots.
    pub speed_kn: Option<f64>,
}

/// What a session is about.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// "Tuesday beginners".
    pub title: String,
    /// Who runs it.
    pub staff: Vec<String>,
    /// Everyone is expected back, ms UTC.
    pub back_by_ms: Option<i64>,
    /// Degrees Celsius.
    pub water_c: Option<f64>,
    /// Knots.
    pub wind_limit_kn: Option<f64>,
    /// Hand-entered.
    pub tides: Vec<Tide>,
}

/// Days after which positions and names go unless the centre says otherwise: learners are often
/// children, and a question about a session comes within weeks (our choice).
pub const KEEP_DAYS: u32 = 90;

/// The centre's own rules.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rules {
    /// Dinghies one safety boat may look after.
    pub dinghies_per_safety_boat: Option<f64>,
    /// Seconds within which every dinghy must be reached.
    pub reach_within_s: Option<f64>,
    /// Days after which positions and names are deleted; `None`: never, because somebody said so.
    pub keep_days: Option<u32>,
}

impl Default for Rules {
    fn default() -> Rules {
        Rules { dinghies_per_safety_boat: None, reach_within_s: None, keep_days: Some(KEEP_DAYS) }
    }
}

/// One thing written down. Boats are named by what is painted on them, since places in the fleet
/// list change when the fleet does.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "r", rename_all = "snake_case")]
pub enum Record {
    /// A session was opened, or its plan changed.
    Session(Plan),
    /// It was closed; with a reason if somebody was still out.
    Closed {
        /// The override.
        reason: Option<String>,
    },
    /// A person joined the list.
    Added {
        /// Their number.
        person: u32,
        /// As the centre lists them; empty once deleted.
        name: String,
        /// `learner`, `crew`, `staff`.
        part: String,
        /// The boat they were listed in.
        boat: Option<String>,
    },
    /// A person was deleted; what their rows said of them is gone.
    Deleted {
        /// Who it was.
        person: u32,
    },
    /// A person went into a boat, or out of one.
    Placed {
        /// Who.
        person: u32,
        /// Where; `None`: ashore.
        boat: Option<String>,
        /// What that makes them: `ashore`, `afloat`, `back`.
        standing: String,
    },
    /// Somebody said where a person stands.
    Stood {
        /// Who.
        person: u32,
        /// `ashore`, `afloat`, `back`, `unaccounted`.
        standing: String,
    },
    /// A boat went out with those listed in her.
    WentOut {
        /// Which.
        boat: String,
    },
    /// Somebody counted a boat's people ashore.
    CountedBack {
        /// Which.
        boat: String,
    },
    /// What staff must know.
    PersonNote {
        /// Who.
        person: u32,
        /// What.
        note: Option<String>,
    },
    /// Buoyancy aid seen.
    Buoyancy {
        /// Who.
        person: u32,
        /// Seen.
        checked: bool,
    },
    /// An item before launching.
    Ready {
        /// Which boat.
        boat: String,
        /// What.
        item: String,
        /// Ticked.
        done: bool,
    },
    /// An item after sailing.
    After {
        /// Which boat.
        boat: String,
        /// What.
        item: String,
        /// Ticked.
        done: bool,
    },
    /// Sail plan.
    Reefed {
        /// Which boat.
        boat: String,
        /// Reefed.
        reefed: bool,
    },
    /// A boat may go out with an open safety defect.
    Override {
        /// Which boat.
        boat: String,
        /// Why.
        reason: String,
    },
    /// Something is broken.
    Defect {
        /// Its number.
        defect: u32,
        /// Which boat.
        boat: String,
        /// What.
        text: String,
        /// She must not go out with it.
        safety: bool,
    },
    /// Mended.
    Mended {
        /// Which.
        defect: u32,
    },
    /// The centre's lists.
    Items {
        /// Before launching.
        check_items: Vec<String>,
        /// After sailing.
        after_items: Vec<String>,
    },
    /// The centre's rules.
    Rules(Rules),
    /// A line in the log.
    Note {
        /// About which boat.
        boat: Option<String>,
        /// What.
        text: String,
    },
    /// A signal to everyone afloat; `None`: taken down.
    Signal {
        /// `all-in`, `stop`, `move`.
        signal: Option<String>,
        /// A few words.
        words: String,
    },
    /// A boat's phone showed the signal.
    SignalSeen {
        /// Which.
        boat: String,
    },
}

impl Record {
    /// Whether it outlives the session: the state of boats, and the centre's lists and rules.
    pub fn is_lasting(&self) -> bool {
        match self {
            Record::Defect { .. } | Record::Mended { .. } | Record::Items { .. } | Record::Rules(_) => true,
            Record::Session(_)
            | Record::Closed { .. }
            | Record::Added { .. }
            | Record::Deleted { .. }
            | Record::Placed { .. }
            | Record::Stood { .. }
            | Record::WentOut { .. }
            | Record::CountedBack { .. }
            | Record::PersonNote { .. }
            | Record::Buoyancy { .. }
            | Record::Ready { .. }
            | Record::After { .. }
            | Record::Reefed { .. }
            | Record::Override { .. }
            | Record::Note { .. }
            | Record::Signal { .. }
            | Record::SignalSeen { .. } => false,
        }
    }
}

/// A record with who wrote it, and when.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Its place in the order of all entries.
    pub seq: i64,
    /// The session it belongs to; 0: it outlives the session.
    pub session: u32,
    /// When, ms UTC.
    pub at_ms: i64,
    /// Who.
    pub by: String,
    /// What.
    pub record: Record,
}
