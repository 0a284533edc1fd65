//! Which side of a line a boat is on, from positions that err by metres for minutes.

use super::latch::{Holds, Says};

/// Over the line for three fixes at 1 Hz, so that no single bad one counts; well back for four.
/// Common practice, no source.
pub const HOLDS: Holds = Holds { raise_ms: 2_000, clear_ms: 3_000 };

/// How far back behind the line she has to be to be believed back, metres: about twice the usual
/// error of a phone (GPS.gov: 4.9 m), as the safety nets of air traffic part raising and clearing.
pub const BACK_M: f64 = 10.0;

/// Over the line by this many standard deviations of the position it counts as over...
const OVER_SDS: f64 = 1.0;

/// ...and by no less than this, metres: no phone is better than this for minutes on end.
const OVER_LEAST_M: f64 = 2.5;

/// ...and by no more than this, metres: a poor receiver may delay the alert, not prevent it.
const OVER_MOST_M: f64 = 20.0;

/// What a position says of "she is over the line": how far over it she is, metres (negative: on the
/// right side), with the position's standard deviation, metres.
pub fn over(over_m: f64, sd_m: f64) -> Says {
    let doubt_m = (OVER_SDS * sd_m).clamp(OVER_LEAST_M, OVER_MOST_M);
    if over_m > doubt_m {
        Says::Yes
    } else if over_m < -BACK_M {
        Says::No
    } else {
        Says::Unsure
    }
}
