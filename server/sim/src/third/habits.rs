//! What is peculiar to one session of the third water: its people, its boats and its luck, all drawn wide.

use crate::dice::Dice;

/// A range that a session draws within another: no two sessions have the same.
fn within(low: f64, high: f64, dice: &mut Dice) -> (f64, f64) {
    let (one, two) = (dice.between(low, high), dice.between(low, high));
    let least = 0.15 * (high - low);
    (one.min(two), one.max(two).max(one.min(two) + least))
}

/// Ranges are of what each boat or each event then draws. Common practice, no source, unless said.
#[derive(Clone, Debug)]
pub(super) struct Habits {
    /// Per boat-hour under sail.
    pub(super) heave_to: f64,
    pub(super) wait: f64,
    pub(super) raft: f64,
    pub(super) pick_up: f64,
    pub(super) heave_s: (f64, f64),
    pub(super) wait_s: (f64, f64),
    /// Share of those who wait that let everything fly at speed.
    pub(super) lets_fly: f64,
    /// Weights of drifting back, lying, creeping and sculling while they wait.
    pub(super) ways: [f64; 4],
    pub(super) skill: (f64, f64),
    /// Drag of hull and rig on their side, N per (m/s)^2. Reasoned.
    pub(super) over_drag: (f64, f64),
    /// Drift of a boat on her side, share of the wind: wider than the swamped boats of Allen and Plourde 1999.
    pub(super) over_drift: (f64, f64),
    /// Spread of the drift's direction off downwind, degrees: Allen and Plourde 1999, boats and persons.
    pub(super) over_off_deg: f64,
    pub(super) jerk_mps: f64,
    pub(super) inverts: f64,
    /// How often a righting fails half-way, per capsize.
    pub(super) half_rights: f64,
    pub(super) rights_median_s: f64,
    pub(super) bails_s: (f64, f64),
    /// Share of the capsizes that the safety boat comes to.
    pub(super) attends: f64,
    /// Per hour and safety boat: passes close by somebody under sail.
    pub(super) passes: f64,
    /// When the fleet is called to a line, and when it starts from there.
    pub(super) gathers: Option<(f64, f64)>,
}

impl Habits {
    pub(super) fn draw(dice: &mut Dice) -> Habits {
        let call_s = dice.between(500.0, 2_700.0);
        Habits {
            heave_to: 1.25 * dice.log_normal(1.0, 0.35),
            wait: 0.95 * dice.log_normal(1.0, 0.35),
            raft: 0.4 * dice.log_normal(1.0, 0.4),
            pick_up: 0.36 * dice.log_normal(1.0, 0.4),
            heave_s: within(30.0, 300.0, dice),
            wait_s: within(15.0, 240.0, dice),
            lets_fly: dice.between(0.15, 0.8),
            ways: [(); 4].map(|()| dice.between(0.1, 1.0)),
            skill: within(0.0, 1.0, dice),
            over_drag: within(70.0, 240.0, dice),
            over_drift: within(0.010, 0.040, dice),
            over_off_deg: dice.between(12.0, 42.0),
            jerk_mps: dice.between(0.05, 0.35),
            inverts: dice.between(0.05, 0.35),
            half_rights: dice.between(0.1, 0.9),
            rights_median_s: 90.0 * dice.log_normal(1.0, 0.15),
            bails_s: within(5.0, 90.0, dice),
            attends: dice.between(0.1, 0.7),
            passes: dice.between(4.0, 20.0),
            gathers: dice.chance(0.5).then(|| (call_s, call_s + dice.between(150.0, 320.0))),
        }
    }

    /// Which way of waiting, 0 to 3.
    pub(super) fn way(&self, dice: &mut Dice) -> usize {
        let mut left = dice.unit() * self.ways.iter().sum::<f64>();
        for (ix, weight) in self.ways.iter().enumerate() {
            left -= weight;
            if left < 0.0 {
                return ix;
            }
        }
        0
    }
}

/// Draws from a range.
pub(super) fn from((low, high): (f64, f64), dice: &mut Dice) -> f64 {
    dice.between(low, high)
}
