//! What a person changes in the day's papers.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

use super::{CentreRules, TideRow};

/// A change to the day's papers.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
#[ts(export)]
pub enum DayChange {
    /// Opens a session, or changes the open one.
    Session {
        /// Title.
        title: String,
        /// Staff.
        staff: Vec<String>,
        /// Back by.
        back_by_ms: Option<i64>,
        /// Water temperature.
        water_c: Option<f64>,
        /// Wind limit, knots.
        wind_limit_kn: Option<f64>,
        /// Tide rows.
        tides: Vec<TideRow>,
    },
    /// Closes it; refused while anyone is out unless a reason is given by a duty officer.
    Close {
        /// The override.
        override_reason: Option<String>,
    },
    /// Adds people: one a line "name" or "name;part;boat id".
    AddPeople {
        /// The pasted text.
        text: String,
    },
    /// Removes a person and everything personal about them.
    DeletePerson {
        /// Who.
        person: u32,
    },
    /// Puts a person in a boat (also a swap afloat), or ashore with `null`.
    Place {
        /// Who.
        person: u32,
        /// Which.
        boat: Option<u32>,
    },
    /// Says where a person stands: `ashore`, `afloat`, `back`, `unaccounted`.
    Stand {
        /// Who.
        person: u32,
        /// How.
        standing: String,
    },
    /// What staff must know of a person; `null` takes it away.
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
    /// Ticks an item of the launch check.
    Ready {
        /// Which.
        boat: u32,
        /// Item.
        item: String,
        /// Ticked.
        done: bool,
    },
    /// Ticks an item of the after-sailing list.
    After {
        /// Which.
        boat: u32,
        /// Item.
        item: String,
        /// Ticked.
        done: bool,
    },
    /// Reefed or not.
    Reefed {
        /// Which.
        boat: u32,
        /// Reefed.
        reefed: bool,
    },
    /// Lets a boat with an open safety defect go out.
    Override {
        /// Which.
        boat: u32,
        /// Why.
        reason: String,
    },
    /// Writes down a defect.
    Defect {
        /// Which.
        boat: u32,
        /// What.
        text: String,
        /// She must not go out with it.
        safety: bool,
    },
    /// A defect is mended.
    Mended {
        /// Which.
        defect: u32,
    },
    /// The centre's own lists.
    Items {
        /// Before launching.
        check_items: Vec<String>,
        /// After sailing.
        after_items: Vec<String>,
    },
    /// The centre's own rules.
    Rules {
        /// All of them; replaces those before.
        rules: CentreRules,
    },
}
