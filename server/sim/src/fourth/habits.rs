//! What one afternoon's people do more or less of than another's.

use super::class::Class;
use crate::dice::Dice;

/// Rates per boat-hour. Common practice, no source.
const HEAVE_TO: f64 = 1.0;
const WAIT: f64 = 0.9;
const RAFT: f64 = 0.25;
const PICK_UP: f64 = 0.2;
const SWAP: f64 = 0.4;
const TANGLE: f64 = 0.1;
const LUFF: f64 = 2.5;
const CAPSIZE: f64 = 0.9;
/// About so much of an hour a boat sails and does nothing else: only then something can begin.
const SAILS: f64 = 0.66;
/// The same for capsizes, which gusts and second capsizes make more of.
const SAILS_OR_GUSTS: f64 = 0.82;

#[derive(Clone, Debug)]
pub(super) struct Habits {
    pub(super) class: Class,
    /// Mean skill of the fleet, 0 to 1.
    pub(super) skill: f64,
    pub(super) heave_to: f64,
    pub(super) wait: f64,
    pub(super) raft: f64,
    pub(super) pick_up: f64,
    pub(super) swap: f64,
    pub(super) tangle: f64,
    pub(super) luff: f64,
    pub(super) capsize: f64,
    /// Share of the capsizes a safety boat sets out for.
    pub(super) attends: f64,
    /// How long stops, and how long capsizes last here, against the common.
    pub(super) stop_length: f64,
    pub(super) over_length: f64,
    /// Drift of a boat on her side, and of one upright with loose sails, as a share of the wind.
    pub(super) over_drift: f64,
    pub(super) loose_drift: f64,
    /// How far off downwind a boat on her side goes, degrees.
    pub(super) over_off_deg: f64,
    /// Share of the waits that begin with everything let go at once.
    pub(super) lets_go: f64,
    /// Share of the heaving-to done by a tack with the jib left.
    pub(super) by_tack: f64,
    /// Wave-made wobble of the speed, m/s.
    pub(super) chop_mps: f64,
}

impl Habits {
    pub(super) fn draw(class: Class, wind_mps: f64, dice: &mut Dice) -> Habits {
        // The mean of such a draw is 1.
        let mut about = |per_hour: f64| per_hour / SAILS * dice.log_normal(1.0, 0.4) / 1.083;
        let [heave_to, wait, raft] = [HEAVE_TO, WAIT, RAFT].map(&mut about);
        let [pick_up, swap, tangle, luff] = [PICK_UP, SWAP, TANGLE, LUFF].map(&mut about);
        let capsize = CAPSIZE / SAILS_OR_GUSTS * blows_over(wind_mps) * dice.log_normal(1.0, 0.25) / 1.03;
        Habits {
            class,
            skill: dice.between(0.2, 0.75),
            heave_to,
            wait,
            raft,
            pick_up,
            swap,
            tangle,
            luff,
            capsize,
            attends: dice.between(0.3, 0.7),
            stop_length: dice.log_normal(1.0, 0.25),
            over_length: dice.log_normal(1.0, 0.2),
            // An open boat that drifted at 3.65 % did at 1.73 % once swamped (Allen and Fitzgerald 1997).
            over_drift: dice.between(0.014, 0.026),
            loose_drift: dice.between(0.023, 0.037),
            over_off_deg: dice.between(5.0, 35.0),
            lets_go: dice.between(0.15, 0.7),
            by_tack: dice.between(0.2, 0.9),
            chop_mps: wind_mps * dice.between(0.006, 0.022),
        }
    }
}

/// Capsizes by wind, against those in 8 to 14 kn. Reasoned: few in light airs, twice as many at 18 kn.
fn blows_over(wind_mps: f64) -> f64 {
    match crate::plane::kn(wind_mps) {
        light if light < 8.0 => 0.35 + 0.65 * ((light - 5.0) / 3.0).clamp(0.0, 1.0),
        middling if middling < 14.0 => 1.0,
        strong => 1.0 + (strong - 14.0) / 4.0,
    }
}
