//! Wind that wanders, with gusts and lulls as fronts that cross the fleet. Numbers are guesses unless a source is
//! named.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, fold_180, wrap_360},
};

/// So far to windward of the middle a front is born, and so far to leeward it is forgotten, m.
const BORN_M: f64 = 700.0;
const GONE_M: f64 = 1_100.0;

/// The wind over the ground at a place.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wind {
    pub(super) from_deg: f64,
    pub(super) mps: f64,
}

impl Wind {
    pub(super) fn velocity(self) -> Vec2 {
        Vec2::along(self.from_deg + 180.0, self.mps)
    }
}

/// A gust, or below 0 a lull, as it travels downwind.
#[derive(Clone, Copy, Debug)]
struct Front {
    /// Of its edge, downwind of the middle.
    edge_m: f64,
    /// Across the wind.
    across_m: f64,
    half_wide_m: f64,
    long_m: f64,
    edge_long_m: f64,
    strength: f64,
    veer_deg: f64,
}

impl Front {
    fn draw(dice: &mut Dice, gusty: f64) -> Front {
        let strength = gusty * dice.log_normal(0.3, 0.5);
        let is_lull = dice.chance(0.3);
        Front {
            edge_m: -BORN_M,
            across_m: dice.between(-450.0, 450.0),
            half_wide_m: dice.between(90.0, 320.0),
            long_m: dice.log_normal(120.0, 0.5),
            edge_long_m: dice.between(8.0, 40.0),
            strength: if is_lull { -0.6 * strength.min(0.9) } else { strength.min(1.1) },
            veer_deg: 8.0 * dice.normal(),
        }
    }

    /// How much of it is felt there, 0..=1.
    fn felt(&self, along_m: f64, across_m: f64) -> f64 {
        let behind_m = self.edge_m - along_m;
        let lead = (behind_m / self.edge_long_m).clamp(0.0, 1.0);
        let tail = (-(behind_m - self.edge_long_m).max(0.0) / self.long_m).exp();
        let aside = (across_m - self.across_m) / self.half_wide_m;
        lead * tail * (-aside * aside).exp()
    }
}

#[derive(Clone, Debug)]
pub(super) struct Weather {
    mean: Wind,
    turns: [Wander; 2],
    strength: Wander,
    fronts: Vec<Front>,
    fronts_per_h: f64,
    gusty: f64,
    dice: Dice,
}

impl Weather {
    pub(super) fn draw(scenario: &str, mut dice: Dice) -> Weather {
        let (least, most, fronts_per_h, gusty) = match scenario {
            "thirteenth-light" => (2.5, 4.0, 20.0, 0.8),
            "thirteenth-squally" => (5.6, 7.6, 65.0, 1.35),
            "thirteenth-ebb" => (4.5, 6.8, 35.0, 0.9),
            _ => (4.8, 7.2, 35.0, 1.0),
        };
        let mean = Wind { from_deg: dice.between(0.0, 360.0), mps: dice.between(least, most) };
        // The wind wanders 5 to 10 degrees over minutes, more when light (`wind.md`).
        let is_light = mean.mps < 4.0;
        let wide = if is_light { 9.0 } else { 6.0 };
        Weather {
            mean,
            turns: [Wander::new(wide, 300.0, &mut dice), Wander::new(3.0, 25.0, &mut dice)],
            strength: Wander::new(if is_light { 0.2 } else { 0.1 }, 240.0, &mut dice),
            fronts: Vec::new(),
            fronts_per_h: fronts_per_h * dice.log_normal(1.0, 0.2),
            gusty: gusty * dice.log_normal(1.0, 0.15),
            dice,
        }
    }

    pub(super) fn step(&mut self, dt_s: f64) {
        let dice = &mut self.dice;
        self.turns.iter_mut().for_each(|turn| {
            turn.step(dt_s, dice);
        });
        self.strength.step(dt_s, dice);
        for front in &mut self.fronts {
            front.edge_m += self.mean.mps * dt_s;
        }
        self.fronts.retain(|front| front.edge_m < GONE_M + 3.0 * front.long_m);
        if self.dice.happens(self.fronts_per_h, dt_s) {
            self.fronts.push(Front::draw(&mut self.dice, self.gusty));
        }
    }

    /// What blows there.
    pub(super) fn at(&self, at: Vec2) -> Wind {
        let local = at.turned(-fold_180(self.mean.from_deg + 180.0));
        let (mut share, mut veer_deg) = (1.0 + self.strength.value, 0.0);
        for front in &self.fronts {
            let felt = front.felt(local.north, local.east);
            share += front.strength * felt;
            veer_deg += front.veer_deg * felt;
        }
        let turned_deg = self.turns[0].value + self.turns[1].value + veer_deg;
        Wind { from_deg: wrap_360(self.mean.from_deg + turned_deg), mps: (self.mean.mps * share).max(0.3) }
    }

    /// At the middle of the venue.
    pub(super) fn venue(&self) -> Wind {
        self.at(Vec2::default())
    }

    /// Where it comes from on the whole.
    pub(super) fn mean_from_deg(&self) -> f64 {
        self.mean.from_deg
    }
}
