//! Which side of a boundary a boat is on, from positions that err by metres for minutes.

use crate::moment::Moment;

/// How long she has to be seen over the line before it is believed, ms: three fixes at 1 Hz, so
/// that no single bad one counts. Common practice, no source.
pub const HOLD_MS: i64 = 2_000;

/// How long she has to be seen well back before it is believed, ms. Common practice, no source.
pub const BACK_HOLD_MS: i64 = 3_000;

/// How far back behind the line she has to be, metres: about twice the usual error of a phone
/// (GPS.gov: 4.9 m), as safety nets of air traffic space raising and clearing.
pub const BACK_M: f64 = 10.0;

/// Over the line by this many standard deviations of the position it counts as beyond doubt...
const OVER_SDS: f64 = 1.0;

/// ...and by no less than this, metres: no phone is better than this for minutes on end.
const OVER_LEAST_M: f64 = 2.5;

/// ...and by no more than this, metres: a poor receiver may delay the alert, not prevent it.
const OVER_MOST_M: f64 = 20.0;

/// What one position says of the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lies {
    /// On the right side by more than [`BACK_M`].
    WellBack,
    /// So near that the position's error decides.
    Near,
    /// On the wrong side by more than its error.
    Over,
}

impl Lies {
    /// From how far over the line a position is, metres (negative: on the right side), and its
    /// standard deviation, metres.
    pub fn at(over_m: f64, sd_m: f64) -> Lies {
        let doubt_m = (OVER_SDS * sd_m).clamp(OVER_LEAST_M, OVER_MOST_M);
        if over_m > doubt_m {
            Lies::Over
        } else if over_m < -BACK_M {
            Lies::WellBack
        } else {
            Lies::Near
        }
    }
}

/// What is believed of a boat and a line she must not cross.
///
/// ```text
///   Right --over--> Suspect --over for HOLD--> Wrong --well back--> Returning
///     ^                |                         ^                   |     |
///     +--near or back--+                         +---near or over----+     |
///     +-----------------well back for BACK_HOLD----------------------------+
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Crossing {
    /// On the right side.
    #[default]
    Right,
    /// Seen over the line, not long enough to say so.
    Suspect {
        /// The first such position.
        since: Moment,
    },
    /// Over the line.
    Wrong {
        /// The first position over it.
        since: Moment,
    },
    /// Seen well back, not long enough to say so.
    Returning {
        /// The first position over the line.
        since: Moment,
        /// The first position well back.
        back: Moment,
    },
}

impl Crossing {
    /// After a position taken at `at` (event time, so that late fixes count as what they are).
    #[must_use]
    pub fn after(self, at: Moment, lies: Lies) -> Crossing {
        use Crossing::{Returning, Right, Suspect, Wrong};
        use Lies::{Near, Over, WellBack};
        match (self, lies) {
            (Right, Over) => Suspect { since: at },
            (Right, Near | WellBack) | (Suspect { .. }, Near | WellBack) => Right,
            (Suspect { since }, Over) if at.ms_since(since) >= HOLD_MS => Wrong { since },
            (Suspect { since }, Over) => Suspect { since },
            (Wrong { since }, Near | Over) | (Returning { since, .. }, Near | Over) => Wrong { since },
            (Wrong { since }, WellBack) => Returning { since, back: at },
            (Returning { back, .. }, WellBack) if at.ms_since(back) >= BACK_HOLD_MS => Right,
            (Returning { since, back }, WellBack) => Returning { since, back },
        }
    }

    /// Since when she is believed to be over the line; `None` while she is not.
    pub fn wrong_since(self) -> Option<Moment> {
        match self {
            Crossing::Right | Crossing::Suspect { .. } => None,
            Crossing::Wrong { since } | Crossing::Returning { since, .. } => Some(since),
        }
    }
}
