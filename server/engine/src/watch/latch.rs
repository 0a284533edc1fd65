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

#[cfg(test)]
mod tests {
    use super::{
        Latch::{Falling, Off, On, Rising},
        Says::{No, Unsure, Yes},
        *,
    };
    use proptest::prelude::*;

    const HOLDS: Holds = Holds { raise_ms: 3_000, clear_ms: 5_000 };

    #[test]
    fn every_state_answers_every_look() {
        let (since, clear) = (Moment(10_000), Moment(20_000));
        for (state, says, at, expected) in [
            (Off, No, 12_000, Off),
            (Off, Unsure, 12_000, Off),
            (Off, Yes, 10_000, Rising { since }),
            (Rising { since }, No, 12_999, Off),
            (Rising { since }, Unsure, 12_999, Off), // a hold is unbroken or it is none
            (Rising { since }, Yes, 12_999, Rising { since }),
            (Rising { since }, Yes, 13_000, On { since }), // the hold is inclusive
            (On { since }, Yes, 20_000, On { since }),
            (On { since }, Unsure, 20_000, On { since }), // the band between raising and clearing
            (On { since }, No, 20_000, Falling { since, clear }),
            (Falling { since, clear }, Yes, 24_999, On { since }),
            (Falling { since, clear }, Unsure, 24_999, On { since }),
            (Falling { since, clear }, No, 24_999, Falling { since, clear }),
            (Falling { since, clear }, No, 25_000, Off),
        ] {
            assert_eq!(state.after(Moment(at), says, HOLDS), expected, "{state:?} seeing {says:?} at {at}");
        }
        let at_once = Holds { raise_ms: 0, clear_ms: 0 };
        assert_eq!(Off.after(since, Yes, at_once), On { since });
        assert_eq!(On { since }.after(clear, No, at_once), Off);
    }

    proptest! {
        #[test]
        fn holds_are_held(looks in prop::collection::vec((1..4_000_i64, 0..3_u8), 0..300)) {
            let (mut latch, mut now) = (Off, Moment(0));
            let (mut not_yes, mut not_no) = (now, now);
            for (gap_ms, look) in looks {
                let says = [No, Unsure, Yes][usize::from(look)];
                let before = latch.on_since().is_some();
                now = now.plus_ms(gap_ms);
                latch = latch.after(now, says, HOLDS);
                not_yes = if says == Yes { not_yes } else { now };
                not_no = if says == No { not_no } else { now };
                match (before, latch.on_since().is_some()) {
                    (false, true) => prop_assert!(now.ms_since(not_yes) > HOLDS.raise_ms),
                    (true, false) => prop_assert!(now.ms_since(not_no) > HOLDS.clear_ms),
                    (false, false) | (true, true) => (),
                }
            }
        }
    }
}
