//! Which side of a line a boat is on, from positions that err by metres for minutes.

use super::latch::{Holds, Latch, Says};
use crate::moment::Moment;

/// Over the line for three fixes at 1 Hz, so that no single bad one counts; well back for four.
/// Common practice, no source.
const SURE_HOLDS: Holds = Holds { raise_ms: 2_000, clear_ms: 3_000 };

/// By her position over the line, though within its doubt: a little longer, for this is said of
/// boats that only touch the line.
const PERHAPS_HOLDS: Holds = Holds { raise_ms: 4_000, clear_ms: 3_000 };

/// How far back behind the line she has to be to be believed back, metres: about twice the usual
/// error of a phone (GPS.gov: 4.9 m), as the safety nets of air traffic part raising and clearing.
pub const BACK_M: f64 = 10.0;

/// Over the line by this many standard deviations of the position it counts as over...
const OVER_SDS: f64 = 1.0;

/// ...and by no less than this, metres: no phone is better than this for minutes on end.
const OVER_LEAST_M: f64 = 2.5;

/// ...and by no more than this, metres: a poor receiver may delay the alert, not prevent it.
const OVER_MOST_M: f64 = 20.0;

/// What is believed of a boat and a line she must not cross: a latch for "by her position" and one
/// for "beyond the doubt of her position".
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Line {
    perhaps: Latch,
    surely: Latch,
}

/// Over the line, and whether that is beyond doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Over {
    /// The first position over it.
    pub since: Moment,
    /// Whether the position's error cannot explain it.
    pub sure: bool,
}

impl Line {
    /// Takes in a position of `at` (event time, so that late fixes count as what they are), how far
    /// over the line it is, metres (negative: on the right side), and its standard deviation, metres.
    pub fn look(&mut self, at: Moment, over_m: f64, sd_m: f64) {
        let says = |doubt_m: f64| {
            if over_m > doubt_m {
                Says::Yes
            } else if over_m < -BACK_M {
                Says::No
            } else {
                Says::Unsure
            }
        };
        let doubt_m = (OVER_SDS * sd_m).clamp(OVER_LEAST_M, OVER_MOST_M);
        self.perhaps = self.perhaps.after(at, says(0.0), PERHAPS_HOLDS);
        self.surely = self.surely.after(at, says(doubt_m), SURE_HOLDS);
    }

    /// What is believed now; `None`: on the right side.
    pub fn over(&self) -> Option<Over> {
        let (perhaps, surely) = (self.perhaps.on_since(), self.surely.on_since());
        let since = perhaps.into_iter().chain(surely).min()?;
        Some(Over { since, sure: surely.is_some() })
    }
}
