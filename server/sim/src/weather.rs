//! Wind over the water and the stream in it.
//!
//! The wind is a mean that shifts slowly, oscillates, carries moving cells of gust and lull, and may
//! bring a squall front or die away. Speeds are at 10 m; [`at_height`] brings them down to a sail or a vane.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, wrap_360},
    scenario::{Front, WeatherPlan},
};

/// How strongly the wind grows with height over open water: exponent 0.11 of the power law
/// (Hsu, Meindl and Gilhousen 1994, J. Appl. Meteor. 33, 757-765; from memory).
const HEIGHT_EXPONENT: f64 = 0.11;

/// Mean life of one gust or lull cell, s. Reasoning: a dark patch on the water is followed by eye for
/// a minute or two.
const CELL_LIFE_S: f64 = 110.0;
/// How many cells live at once over a site of about 1 km2; a helmsman meets one every minute or so.
const CELLS: usize = 14;
/// Half the width of the square that cells are born in, m.
const CELL_FIELD_M: f64 = 750.0;

/// The factor from 10 m wind to wind at `height_m`.
pub(crate) fn at_height(height_m: f64) -> f64 {
    (height_m / 10.0).powf(HEIGHT_EXPONENT)
}

#[derive(Clone, Debug)]
struct Cell {
    centre: Vec2,
    radius_m: f64,
    /// Share of the mean speed added at the centre (negative: a lull).
    strength: f64,
    /// Direction change at the centre, degrees.
    turn_deg: f64,
    age_s: f64,
    life_s: f64,
}

impl Cell {
    fn born(centre: Vec2, dice: &mut Dice, gustiness: f64) -> Cell {
        // Gusts are a little commoner and stronger than lulls; gust factors of 1.3 to 1.6 over water
        // are common knowledge among sailors (no source).
        let strength =
            gustiness * if dice.chance(0.6) { dice.between(0.3, 1.3) } else { -dice.between(0.3, 0.9) };
        Cell {
            centre,
            radius_m: dice.between(60.0, 190.0),
            strength,
            turn_deg: 9.0 * dice.normal() * (gustiness / 0.3).min(1.5),
            age_s: 0.0,
            life_s: CELL_LIFE_S * dice.between(0.6, 1.6),
        }
    }

    /// 0 far away or at birth and death, 1 in the middle of a grown cell.
    fn weight(&self, at: Vec2) -> f64 {
        let off = at - self.centre;
        let near = off.dot(off) / (self.radius_m * self.radius_m);
        if near > 6.0 {
            return 0.0;
        }
        let grown = (self.age_s / 8.0).min((self.life_s - self.age_s) / 20.0).clamp(0.0, 1.0);
        grown * (-near).exp()
    }
}

/// Wind and stream of one session.
#[derive(Clone, Debug)]
pub(crate) struct Weather {
    plan: WeatherPlan,
    dice: Dice,
    t_s: f64,
    slow_turn: Wander,
    slow_force: Wander,
    swing_phase: f64,
    cells: Vec<Cell>,
}

impl Weather {
    pub(crate) fn new(plan: WeatherPlan, seed: u64) -> Weather {
        let mut dice = Dice::new(seed, "weather", 0);
        let cells = (0..CELLS)
            .map(|_| {
                let at = Vec2::new(
                    dice.between(-CELL_FIELD_M, CELL_FIELD_M),
                    dice.between(-CELL_FIELD_M, CELL_FIELD_M),
                );
                let mut cell = Cell::born(at + plan.middle, &mut dice, plan.gustiness);
                cell.age_s = dice.between(0.0, cell.life_s);
                cell
            })
            .collect();
        Weather {
            slow_turn: Wander::new(plan.wander_deg, 420.0, &mut dice),
            slow_force: Wander::new(0.08, 300.0, &mut dice),
            swing_phase: dice.between(0.0, std::f64::consts::TAU),
            t_s: 0.0,
            cells,
            plan,
            dice,
        }
    }

    pub(crate) fn step(&mut self, dt_s: f64) {
        self.t_s += dt_s;
        self.slow_turn.step(dt_s, &mut self.dice);
        self.slow_force.step(dt_s, &mut self.dice);
        let (from, speed) = self.mean();
        let carried = Vec2::along(from + 180.0, speed * 0.9 * dt_s); // cells ride a little slower than the 10 m wind
        for cell in &mut self.cells {
            cell.centre += carried;
            cell.age_s += dt_s;
            if cell.age_s > cell.life_s {
                let reach = speed.max(1.0) * CELL_LIFE_S * 0.5;
                let up = Vec2::along(from, self.dice.between(-CELL_FIELD_M, CELL_FIELD_M) + reach);
                let across = Vec2::along(from + 90.0, self.dice.between(-CELL_FIELD_M, CELL_FIELD_M));
                *cell = Cell::born(self.plan.middle + up + across, &mut self.dice, self.plan.gustiness);
            }
        }
    }

    /// The venue's mean wind now, without cells and front: where from (degrees true) and speed at 10 m (m/s).
    pub(crate) fn mean(&self) -> (f64, f64) {
        let (share, turn) = self.plan.at(self.t_s);
        let swing = self.plan.swing_deg
            * (std::f64::consts::TAU * self.t_s / self.plan.swing_period_s + self.swing_phase).sin();
        let from = self.plan.from_deg + turn + swing + self.slow_turn.value;
        let speed = self.plan.speed_mps * share * (1.0 + self.slow_force.value.clamp(-0.25, 0.25));
        (wrap_360(from), speed.max(0.05))
    }

    /// The wind at 10 m at a place: where from (degrees true), speed (m/s).
    pub(crate) fn wind10(&self, at: Vec2) -> (f64, f64) {
        let (mut from, mut speed) = self.mean();
        let mut gain = 0.0;
        for cell in &self.cells {
            let weight = cell.weight(at);
            gain += weight * cell.strength;
            from += weight * cell.turn_deg;
        }
        speed *= (1.0 + gain).clamp(0.35, 1.9);
        if let Some(front) = &self.plan.front {
            let weight = self.front_weight(front, at);
            speed *= 1.0 + weight * (front.gain - 1.0);
            from += weight * front.turn_deg;
        }
        (wrap_360(from), speed)
    }

    /// The mean wind with the front where it has passed: what a fair observer calls the wind of the venue.
    pub(crate) fn venue(&self) -> (f64, f64) {
        let (from, speed) = self.mean();
        match &self.plan.front {
            None => (from, speed),
            Some(front) => {
                let weight = self.front_weight(front, self.plan.middle);
                (wrap_360(from + weight * front.turn_deg), speed * (1.0 + weight * (front.gain - 1.0)))
            }
        }
    }

    /// 0 before the front, 1 under the squall, falling again behind it.
    fn front_weight(&self, front: &Front, at: Vec2) -> f64 {
        let downwind = Vec2::along(self.plan.from_deg + 180.0, 1.0);
        let here = front.at_s + (at - self.plan.middle).dot(downwind) / front.speed_mps;
        let since = self.t_s - here;
        (since / front.rise_s).clamp(0.0, 1.0) * (1.0 - (since - front.lasts_s) / 180.0).clamp(0.0, 1.0)
    }

    /// The stream at a place: metres per second over the ground, towards where it goes.
    pub(crate) fn stream(&self, at: Vec2) -> Vec2 {
        let plan = &self.plan;
        let turn_of_tide = (std::f64::consts::TAU * self.t_s / (12.42 * 3600.0) + plan.stream_phase).cos();
        // Weaker inshore: friction over shallow ground. The site's shore lies at negative `offshore`.
        let offshore = (at - plan.middle).dot(plan.offshore);
        let shear = (1.0 + plan.stream_shear * offshore / 400.0).clamp(0.3, 1.7);
        plan.stream * (turn_of_tide * shear)
    }
}
