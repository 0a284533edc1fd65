//! What one session of the second water draws: how its boats stop, drift and are heard.
//!
//! Wide on purpose, and none of them the first water's: dinghies lose their way over five to ten
//! seconds, no more abruptly than recorded ones (`tests/slowing.rs`), drift at 1.5 to 2.5 % of the wind on their side (`leeway.md`: 1.65 to 1.73) and at more with the rig in the air
//! (reasoned).

use crate::dice::Dice;

/// Drawn once for a session.
#[derive(Clone, Debug)]
pub(crate) struct Habits {
    /// How fast a boat caught in irons loses her way, s, and her sternway in the end, m/s.
    pub(crate) irons_s: f64,
    pub(crate) astern_mps: f64,
    /// Chance that a tack ends in irons.
    pub(crate) irons: f64,
    /// The same for boats that heave to; their drift as a share of the wind.
    pub(crate) heave_s: f64,
    pub(crate) hove_drift: f64,
    /// The same for boats that wait with loose sails, and the most they forge ahead, m/s.
    pub(crate) wait_s: f64,
    pub(crate) wait_drift: f64,
    pub(crate) wait_mps: f64,
    /// How fast a boat stops beside a dummy, s.
    pub(crate) pick_s: f64,
    /// How fast she stops on her side, s: from, to.
    pub(crate) over_s: (f64, f64),
    /// Drift on her side as a share of the wind, and its spread in direction, degrees.
    pub(crate) over_drift: f64,
    pub(crate) over_off_deg: f64,
    /// Turning, as a multiple of the usual.
    pub(crate) agile: f64,
    /// How the helm wanders, degrees, and how fast boats gather way and lose it under sail, s.
    pub(crate) helm_deg: f64,
    pub(crate) gather_s: f64,
    pub(crate) lose_s: f64,
    /// Share of the newest second in the speed that a phone tells, and its error, m/s.
    pub(crate) newest: f64,
    pub(crate) doppler_mps: f64,
}

impl Habits {
    /// Draws within the ranges, or with `strange` outside them: by up to three tenths below, or above.
    pub(crate) fn draw(strange: bool, dice: &mut Dice) -> Habits {
        let mut of = |low: f64, high: f64| match strange {
            false => dice.between(low, high),
            true if dice.chance(0.5) => dice.between(0.7 * low, low),
            true => dice.between(high, 1.3 * high),
        };
        Habits {
            irons_s: of(5.0, 10.0),
            astern_mps: of(0.05, 0.5),
            irons: of(0.02, 0.1),
            heave_s: of(5.0, 11.0),
            hove_drift: of(0.025, 0.05),
            wait_s: of(5.0, 11.0),
            wait_drift: of(0.025, 0.05),
            wait_mps: of(0.1, 0.5),
            pick_s: of(4.5, 9.0),
            over_s: (of(0.6, 1.2), of(1.8, 4.0)),
            over_drift: of(0.014, 0.024),
            over_off_deg: of(10.0, 40.0),
            agile: of(0.6, 1.3),
            helm_deg: of(3.0, 9.0),
            gather_s: of(3.0, 8.0),
            lose_s: of(5.0, 10.0),
            newest: of(0.4, 0.95).min(1.0),
            doppler_mps: of(0.03, 0.12),
        }
    }
}
