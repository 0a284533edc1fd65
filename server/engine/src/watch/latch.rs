//! The small state machine that every rule of the watch is: off, rising, on, falling.

use crate::moment::Moment;

/// What one look says of a rule's condition. Raising and clearing have different conditions, so
/// between them lies a band in which nothing changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Says {
    /// The clear condition is met.
    No,
    /// Neither is met.
    Unsure,
    /// The raise condition is met.
    Yes,
}

/// How long conditions have to last before they are believed, ms.
#[derive(Clone, Copy, Debug)]
pub struct Holds {
    /// The raise condition.
    pub raise_ms: i64,
    /// The clear condition.
    pub clear_ms: i64,
}

/// Whether a rule's alert stands.
///
/// ```text
///   Off --yes--> Rising --yes for raise_ms--> On --no--> Falling
///    ^              |                         ^            |  |
///    +--no, unsure--+                         +-yes,unsure-+  |
///    +------------------no for clear_ms-----------------------+
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Latch {
    /// Nothing to say.
    #[default]
    Off,
    /// The raise condition is met, not for long enough.
    Rising {
        /// The first look that met it.
        since: Moment,
    },
    /// The alert stands.
    On {
        /// The first look that met the raise condition.
        since: Moment,
    },
    /// The alert stands; the clear condition is met, not for long enough.
    Falling {
        /// The first look that met the raise condition.
        since: Moment,
        /// The first look that met the clear condition.
        clear: Moment,
    },
}

impl Latch {
    /// After a look at `at`: event time, so that what arrives late counts as what it is. A hold of
    /// 0 ms acts on the first look.
    #[must_use]
    pub fn after(self, at: Moment, says: Says, holds: Holds) -> Latch {
        use Latch::{Falling, Off, On, Rising};
        use Says::{No, Unsure, Yes};
        match (self, says) {
            (Off, Yes) if holds.raise_ms <= 0 => On { since: at },
            (Off, Yes) => Rising { since: at },
            (Off | Rising { .. }, No | Unsure) => Off,
            (Rising { since }, Yes) if at.ms_since(since) >= holds.raise_ms => On { since },
            (Rising { since }, Yes) => Rising { since },
            (On { since } | Falling { since, .. }, Yes | Unsure) => On { since },
            (On { .. }, No) if holds.clear_ms <= 0 => Off,
            (On { since }, No) => Falling { since, clear: at },
            (Falling { clear, .. }, No) if at.ms_since(clear) >= holds.clear_ms => Off,
            (Falling { since, clear }, No) => Falling { since, clear },
        }
    }

    /// Since when the condition of the standing alert holds; `None` while none stands.
    pub fn on_since(self) -> Option<Moment> {
        match self {
            Latch::Off | Latch::Rising { .. } => None,
            Latch::On { since } | Latch::Falling { since, .. } => Some(since),
        }
    }
}
