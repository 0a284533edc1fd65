//! Who somebody is, what they may do, and what each action asks for.

use crate::hub::wire::{AccessRole, Action, DayChange};

/// Who a request comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Principal {
    /// Nobody we know.
    Nobody,
    /// A person with a key.
    Person {
        /// Number of the key, for revoking it.
        key: i64,
        /// The name their actions are signed with.
        name: String,
        /// What they may do.
        role: AccessRole,
    },
    /// A boat's phone or tracker: it may send for this boat and nothing else.
    Boat {
        /// Number of the key.
        key: i64,
        /// What is painted on her.
        boat: String,
    },
}

impl Principal {
    /// The person's role; `None` for boats and strangers.
    pub fn role(&self) -> Option<AccessRole> {
        match self {
            Principal::Person { role, .. } => Some(*role),
            Principal::Nobody | Principal::Boat { .. } => None,
        }
    }
}

/// What a route asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Needs {
    /// Anyone on the network: the page itself, joining, the certificate.
    Nothing,
    /// A boat's key, given in the socket's first message.
    BoatKey,
    /// A person with at least this role.
    Role(AccessRole),
    /// The same on a socket, which is opened and then closed with code 4401: a browser does not
    /// tell its page the status of a refused socket, and the page must know that it has to join.
    Socket(AccessRole),
}

impl Needs {
    /// Whether `who` may.
    pub fn met_by(self, who: &Principal) -> bool {
        match (self, who) {
            (Needs::Nothing, _) | (Needs::BoatKey, Principal::Boat { .. }) => true,
            (Needs::Role(least) | Needs::Socket(least), Principal::Person { role, .. }) => *role >= least,
            (Needs::BoatKey, Principal::Nobody | Principal::Person { .. })
            | (Needs::Role(_) | Needs::Socket(_), Principal::Nobody | Principal::Boat { .. }) => false,
        }
    }
}

/// The word for a role, in the papers and in the addresses.
pub fn role_word(role: AccessRole) -> &'static str {
    match role {
        AccessRole::Viewer => "viewer",
        AccessRole::Instructor => "instructor",
        AccessRole::DutyOfficer => "duty-officer",
    }
}

/// The role a word stands for.
pub fn role_from_word(word: &str) -> Option<AccessRole> {
    [AccessRole::Viewer, AccessRole::Instructor, AccessRole::DutyOfficer]
        .into_iter()
        .find(|role| role_word(*role) == word)
}

/// The least role that may do this from a tablet.
pub fn action_needs(action: &Action) -> AccessRole {
    match action {
        Action::Acknowledge { .. }
        | Action::Silence { .. }
        | Action::Attend { .. }
        | Action::Clear { .. }
        | Action::Heads { .. }
        | Action::Mark { .. }
        | Action::Aboard { .. }
        | Action::SetWind { .. }
        | Action::SetStream { .. }
        | Action::Drill { .. }
        | Action::Signal { .. }
        | Action::Note { .. }
        | Action::Undo { .. } => AccessRole::Instructor,
        Action::SetWindLimit { .. } | Action::Assign { .. } => AccessRole::DutyOfficer,
        Action::Day { change } => change_needs(change),
    }
}

/// The least role that may change this in the day's papers.
pub fn change_needs(change: &DayChange) -> AccessRole {
    match change {
        DayChange::Place { .. }
        | DayChange::Stand { .. }
        | DayChange::PersonNote { .. }
        | DayChange::Buoyancy { .. }
        | DayChange::Ready { .. }
        | DayChange::After { .. }
        | DayChange::Reefed { .. }
        | DayChange::Defect { .. }
        | DayChange::AddPeople { .. } => AccessRole::Instructor,
        DayChange::Session { .. }
        | DayChange::Close { .. }
        | DayChange::DeletePerson { .. }
        | DayChange::Override { .. }
        | DayChange::Mended { .. }
        | DayChange::Items { .. }
        | DayChange::Rules { .. } => AccessRole::DutyOfficer,
    }
}
