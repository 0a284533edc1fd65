//! What differs from one water to the next: how idle boats drift, how crews wait, how boats go over.
//!
//! A watch that is fitted or judged on one set of such figures learns that set. Each session draws its own,
//! as widely as sources and common practice leave room, so that only what holds on all waters pays.

use crate::{dice::Dice, scenario::SessionPlan};

/// The figures of one session's water and people.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Habits {
    /// Drift of an upright boat lying idle, as a share of the 10 m wind: 1.8 to 4 % in the leeway table.
    pub(crate) idle_drift: f64,
    /// How long boats carry their way, as a multiple of the class's: crews, loads, waves.
    pub(crate) carries: f64,
    /// Power that sails left flapping still give.
    pub(crate) flapping: f64,
    /// Power kept when hove-to.
    pub(crate) hove_to: f64,
    /// Drift of a capsized boat as a share of the 10 m wind, least and most: from the published 1.7 % of a
    /// swamped skiff to the 0.4 m/s in about 9 m/s of wind seen of a dinghy with her rig in the water.
    pub(crate) over_drift: (f64, f64),
    /// How far off downwind a capsized boat goes at most, degrees: seen up to 75.
    pub(crate) over_off_deg: f64,
    /// Share of capsizes that happen in a second or two.
    pub(crate) quick: f64,
    /// How long a capsized boat carries her way, as a multiple of the usual.
    pub(crate) over_carries: f64,
    /// Median time of climbing in and bailing, s: half a minute for some two (common practice).
    pub(crate) bails_s: f64,
    /// How fast boats in irons swing and gather sternway, as a multiple of the usual.
    pub(crate) irons: f64,
}

/// The middle of each.
pub(crate) const MIDDLING: Habits = Habits {
    idle_drift: 0.03,
    carries: 1.0,
    flapping: 0.06,
    hove_to: 0.24,
    over_drift: (0.017, 0.045),
    over_off_deg: 75.0,
    quick: 0.8,
    over_carries: 1.0,
    bails_s: 24.0,
    irons: 1.0,
};

impl Habits {
    /// Draws a water of its own.
    pub(crate) fn draw(dice: &mut Dice) -> Habits {
        Habits {
            idle_drift: dice.between(0.018, 0.042),
            carries: dice.between(0.7, 1.5),
            flapping: dice.between(0.0, 0.13),
            hove_to: dice.between(0.12, 0.36),
            over_drift: (dice.between(0.01, 0.024), dice.between(0.03, 0.055)),
            over_off_deg: dice.between(40.0, 75.0),
            quick: dice.between(0.6, 0.95),
            over_carries: dice.between(0.7, 1.5),
            bails_s: dice.between(12.0, 45.0),
            irons: dice.between(0.6, 1.5),
        }
    }
}

/// Draws the habits of a session and lets them change its plan: how often crews stop for what, and what
/// their receivers make of speed.
pub(crate) fn settle(plan: &mut SessionPlan, seed: u64) {
    let mut dice = Dice::new(seed, "habits", 0);
    plan.habits = Habits::draw(&mut dice);
    let rates = &mut plan.rates;
    for rate in [&mut rates.wait, &mut rates.heave_to, &mut rates.raft, &mut rates.drill, &mut rates.irons] {
        *rate *= dice.log_normal(1.0, 0.45);
    }
    plan.radio.smoothing_s = (0.1, dice.between(0.4, 2.6));
    plan.radio.wet_loss = dice.between(-0.2, 0.2).max(0.0);
    plan.radio.doppler_mps = (0.03, dice.between(0.07, 0.17));
}
