//! What a whole session has in common, drawn widely: no two groups of beginners are alike.

use crate::dice::Dice;

/// Rates are per boat-hour under sail; a boat is not under sail all the time, so they stand above what is
/// met. How often beginners stop, and what it is worth: reasoned, no source.
#[derive(Clone, Debug)]
pub(super) struct Habits {
    pub(super) heave_to: f64,
    pub(super) waits: f64,
    pub(super) rafts: f64,
    pub(super) dummies: f64,
    pub(super) reefs: f64,
    /// At 11 kn of wind.
    pub(super) capsizes: f64,
    /// Share of the waits that begin with a hard luff.
    pub(super) luffs: f64,
    /// Share of the tacks that fail, of those the share that end in irons, and of the rest those that are
    /// slow.
    pub(super) fails: f64,
    pub(super) irons: f64,
    pub(super) slow_tacks: f64,
    /// Share of those who heave to by a tack that leaves the jib where it was.
    pub(super) tacks_to_stop: f64,
    /// Towards nervous below 0, towards keen above.
    pub(super) spirit: f64,
    /// Passes of the safety boat close by somebody, an hour.
    pub(super) passes: f64,
    /// Share of the capsizes the safety boat would come to; some are up again before.
    pub(super) attends: f64,
}

impl Habits {
    pub(super) fn draw(dice: &mut Dice) -> Habits {
        // The mean of the log-normal is brought back to the rate that was asked for.
        let mut often =
            |rate: f64, spread: f64| rate * dice.log_normal((-0.5 * spread * spread).exp(), spread);
        let (heave_to, waits) = (often(1.2, 0.5), often(1.05, 0.5));
        let (rafts, dummies, reefs) = (often(0.42, 0.6), often(0.18, 0.7), often(0.35, 0.5));
        let capsizes = often(0.98, 0.3);
        Habits {
            heave_to,
            waits,
            rafts,
            dummies,
            reefs,
            capsizes,
            luffs: dice.between(0.08, 0.32),
            fails: dice.between(0.02, 0.16),
            irons: dice.between(0.3, 0.7),
            slow_tacks: dice.between(0.05, 0.3),
            tacks_to_stop: dice.between(0.0, 0.5),
            spirit: dice.between(-0.7, 0.7),
            passes: dice.between(2.0, 14.0),
            attends: dice.between(0.55, 0.9),
        }
    }
}
