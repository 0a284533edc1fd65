//! The wind: a mean that wanders, and patches of more or less of it that travel down through the fleet.

use super::STEP_S;
use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps},
};

/// Patches are born so far to windward of the middle, live until so far to leeward, and so far to either side, m.
const BORN_M: f64 = 700.0;
const DIES_M: f64 = 800.0;
const ABREAST_M: f64 = 600.0;
/// They travel at this share of the mean wind: a guess.
const TRAVELS: f64 = 0.9;

/// What the wind does in a scenario; all guesses, but that it wanders 5 to 10 degrees over minutes (`wind.md`).
#[derive(Clone, Copy, Debug)]
pub(super) struct Day {
    pub(super) mean_kn: (f64, f64),
    pub(super) swing_deg: f64,
    pub(super) patches_per_h: f64,
    /// How much more or less wind there is in a patch, as a share of the mean.
    pub(super) force: (f64, f64),
}

/// The wind at a place.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wind {
    pub(super) from_deg: f64,
    pub(super) mps: f64,
    /// How much more than the mean it is, as a share of it; below 0 in a lull.
    pub(super) gust: f64,
}

impl Wind {
    /// The air's velocity.
    pub(super) fn velocity(self) -> Vec2 {
        Vec2::along(self.from_deg + 180.0, self.mps)
    }

    /// The same wind as felt by what floats in a stream.
    pub(super) fn over(self, stream: Vec2) -> Wind {
        let felt = self.velocity() - stream;
        Wind { from_deg: (felt * -1.0).bearing_deg(), mps: felt.length(), gust: self.gust }
    }
}

#[derive(Clone, Copy, Debug)]
struct Patch {
    at: Vec2,
    reach_m: f64,
    force: f64,
    veer_deg: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Breeze {
    day: Day,
    mean_from_deg: f64,
    mean_mps: f64,
    swing: Wander,
    surge: Wander,
    patches: Vec<Patch>,
    dice: Dice,
}

impl Breeze {
    pub(super) fn draw(day: Day, mut dice: Dice) -> Breeze {
        let mut breeze = Breeze {
            day,
            mean_from_deg: dice.between(0.0, 360.0),
            mean_mps: mps(dice.between(day.mean_kn.0, day.mean_kn.1)),
            swing: Wander::new(day.swing_deg, 300.0, &mut dice),
            surge: Wander::new(0.1, 200.0, &mut dice),
            patches: Vec::new(),
            dice,
        };
        let lives_s = (BORN_M + DIES_M) / (TRAVELS * breeze.mean_mps);
        for _ in 0..(day.patches_per_h * lives_s / 3600.0) as usize {
            let to_windward_m = breeze.dice.between(-DIES_M, BORN_M);
            breeze.begin_patch(to_windward_m);
        }
        breeze
    }

    fn begin_patch(&mut self, to_windward_m: f64) {
        let dice = &mut self.dice;
        let abeam = Vec2::along(self.mean_from_deg + 90.0, dice.between(-ABREAST_M, ABREAST_M));
        self.patches.push(Patch {
            at: Vec2::along(self.mean_from_deg, to_windward_m) + abeam,
            reach_m: dice.between(60.0, 180.0),
            force: dice.between(self.day.force.0, self.day.force.1),
            veer_deg: 6.0 * dice.normal(),
        });
    }

    pub(super) fn step(&mut self) {
        self.swing.step(STEP_S, &mut self.dice);
        self.surge.step(STEP_S, &mut self.dice);
        if self.dice.happens(self.day.patches_per_h, STEP_S) {
            self.begin_patch(BORN_M);
        }
        let (to_leeward, by_m) = (self.mean_from_deg + 180.0, TRAVELS * self.mean_mps * STEP_S);
        for patch in &mut self.patches {
            patch.at += Vec2::along(to_leeward, by_m);
        }
        self.patches.retain(|patch| patch.at.dot(Vec2::along(to_leeward, 1.0)) < DIES_M);
    }

    /// At a place on the water, over the ground.
    pub(super) fn at(&self, place: Vec2) -> Wind {
        let (mut gust, mut veer_deg) = (0.0, 0.0);
        for patch in &self.patches {
            let near = (-((place - patch.at).length() / patch.reach_m).powi(2)).exp();
            gust += patch.force * near;
            veer_deg += patch.veer_deg * near;
        }
        let gust = gust.clamp(-0.85, 0.9);
        let mps = self.mean_mps * (1.0 + self.surge.value).max(0.3) * (1.0 + gust);
        Wind { from_deg: self.mean_from_deg + self.swing.value + veer_deg, mps, gust }
    }
}
