//! Which side of a line a boat is on, from positions that err by metres for minutes.

use super::latch::{Holds, Latch, Says};
use crate::{moment::Moment, units::Local};

/// Over the line for three fixes at 1 Hz, so that no single bad one counts; well back for four.
/// Common practice, no source.
const SURE_HOLDS: Holds = Holds { raise_ms: 2_000, clear_ms: 3_000 };

/// By her position over the line, though within its doubt: a little longer, for this is said of
/// boats that only touch the line.
const PERHAPS_HOLDS: Holds = Holds { raise_ms: 5_000, clear_ms: 3_000 };

/// By this many standard deviations of the position she is perhaps over, and by no less than this,
/// metres.
const PERHAPS: (f64, f64) = (0.35, 1.0);

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

/// How far from a line a boat certainly is, from an earlier, exact distance: moving by d changes the
/// distance to anything by no more than d. It spares most fixes the search for the nearest edge.
#[derive(Clone, Copy, Debug, Default)]
pub struct Clearance {
    known: Option<(Local, f64)>,
}

impl Clearance {
    /// Whether a boat at `at` is certainly on the right side by more than `least_m` metres.
    pub fn exceeds(&self, at: Local, least_m: f64) -> bool {
        self.known.is_some_and(|(from, clear_m)| clear_m - from.distance_m(at) > least_m)
    }

    /// At `at` she was on the right side by `clear_m` metres exactly (negative: on the wrong side).
    pub fn note(&mut self, at: Local, clear_m: f64) {
        self.known = Some((at, clear_m));
    }
}

impl Line {
    /// Whether nothing is believed or suspected.
    pub fn is_quiet(&self) -> bool {
        *self == Line::default()
    }

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
        self.perhaps = self.perhaps.after(at, says((PERHAPS.0 * sd_m).max(PERHAPS.1)), PERHAPS_HOLDS);
        self.surely = self.surely.after(at, says(doubt_m), SURE_HOLDS);
    }

    /// What is believed now; `None`: on the right side.
    pub fn over(&self) -> Option<Over> {
        let (perhaps, surely) = (self.perhaps.on_since(), self.surely.on_since());
        let since = perhaps.into_iter().chain(surely).min()?;
        Some(Over { since, sure: surely.is_some() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Looks once a second; gives what was believed after each.
    fn looks(over_m: impl IntoIterator<Item = f64>, sd_m: f64) -> Vec<Option<Over>> {
        let mut line = Line::default();
        let seconds = over_m.into_iter().zip(0..);
        seconds
            .map(|(over_m, s)| {
                line.look(Moment(s * 1000), over_m, sd_m);
                line.over()
            })
            .collect()
    }

    fn sure(over: &Option<Over>) -> Option<bool> {
        over.map(|over| over.sure)
    }

    #[test]
    fn how_far_over_and_for_how_long_decide() {
        for (over_m, seconds, sd_m, expected) in [
            (6.0, 2, 3.0, None),
            (6.0, 3, 3.0, Some(true)),
            (2.0, 5, 3.0, None),
            (2.0, 6, 3.0, Some(false)), // touching the line is never beyond doubt
            (2.0, 500, 3.0, Some(false)),
            (15.0, 6, 16.0, Some(false)), // a poor receiver
            (21.0, 3, 90.0, Some(true)),  // however poor, 20 m are enough
            (0.9, 500, 3.0, None),
        ] {
            let seen = looks(std::iter::repeat_n(over_m, seconds), sd_m);
            let last = seen.last().and_then(sure);
            assert_eq!(last, expected, "{over_m} m over for {seconds} looks, good to {sd_m} m");
        }
    }

    #[test]
    fn coming_back_takes_ten_metres() {
        let there_and_back = |back_m: f64, seconds| {
            let over = std::iter::repeat_n(8.0, 5).chain(std::iter::repeat_n(-back_m, seconds));
            looks(over, 3.0).last().and_then(sure)
        };
        assert_eq!(there_and_back(9.9, 600), Some(true));
        assert_eq!(there_and_back(10.1, 3), Some(true));
        assert_eq!(there_and_back(10.1, 4), None);
    }

    proptest! {
        /// A boat that lies at the line, her receiver erring by `sd_m` for minutes, never chatters:
        /// three or more activations within a minute (ISA-18.2, in secondary texts).
        #[test]
        fn errors_of_a_receiver_do_not_flap(
            sd_m in 1.0..5.0_f64,
            correlation_s in 30.0..600.0_f64,
            truly_over_m in -4.0..4.0_f64,
            kicks in prop::collection::vec(-1.7..1.7_f64, 600),
        ) {
            let keeps = (-1.0 / correlation_s).exp();
            let mut error_m = 0.0;
            let over_m = kicks.iter().map(|kick| {
                error_m = keeps * error_m + sd_m * (1.0 - keeps * keeps).sqrt() * kick;
                truly_over_m + error_m
            });
            let seen = looks(over_m, sd_m);
            let turns = seen.windows(2).enumerate();
            let raised: Vec<usize> = turns
                .filter(|(_, pair)| pair[0].is_none() && pair[1].is_some())
                .map(|(second, _)| second)
                .collect();
            prop_assert!(raised.windows(3).all(|three| three[2] - three[0] > 60), "{raised:?}");
            prop_assert!(raised.len() <= 4, "{raised:?}");
        }
    }
}
