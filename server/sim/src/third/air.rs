//! The third water's wind: cells of more and of less wind that travel with it, slow shifts, and lulls for all.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps, wrap_360},
};

/// How far out cells are born and die, m.
const EDGE_M: f64 = 900.0;
/// Cells in the field at a time; so many that a boat is mostly in one or between two. Reasoned.
const CELLS: usize = 22;
/// A cell travels slower than the wind that made it. Reasoned.
const CELL_PACE: f64 = 0.8;
/// Wind at a small boat's sails against that at 10 m, which is very roughly 1.1 to 1.3 times that at 2 m. Common
/// practice, no source.
pub(super) const AT_SAILS: f64 = 0.85;

/// The wind at one place, at 10 m.
#[derive(Clone, Copy, Debug)]
pub(super) struct Air {
    pub(super) from_deg: f64,
    pub(super) mps: f64,
}

impl Air {
    /// Towards, as a vector over the ground.
    pub(super) fn flow(self) -> Vec2 {
        Vec2::along(self.from_deg + 180.0, self.mps)
    }
}

#[derive(Clone, Copy, Debug)]
struct Cell {
    at: Vec2,
    radius_m: f64,
    /// Share of the mean wind added in the middle.
    more: f64,
    /// Turn of the wind on the right-hand edge; the left one has the opposite: a gust fans out.
    fan_deg: f64,
}

/// The wind of a session.
#[derive(Clone, Debug)]
pub(super) struct Field {
    pub(super) from_deg: f64,
    pub(super) mean_mps: f64,
    /// Share by which the wind grows within the hour.
    grows: f64,
    shift: Wander,
    surge: Wander,
    gusty: f64,
    cells: Vec<Cell>,
    /// When everybody's wind goes, for how long, and what is left of it.
    lulls: Vec<(f64, f64, f64)>,
    now: Air,
    dice: Dice,
}

impl Field {
    pub(super) fn draw(scenario: &str, mut dice: Dice) -> Field {
        let (least_kn, gusty) = match scenario {
            "third-steady" => (5.0, dice.between(0.05, 0.14)),
            "third-gusty" => (7.0, dice.between(0.24, 0.42)),
            // Nobody takes beginners out in a stream they cannot sail against.
            "third-stream" => (8.5, dice.between(0.08, 0.28)),
            _ => (5.0, dice.between(0.08, 0.28)),
        };
        let (from_deg, mean_mps) = (dice.between(0.0, 360.0), mps(dice.between(least_kn, 20.0)));
        let lulls = (0..dice.pick(3))
            .map(|_| (dice.between(300.0, 3_300.0), dice.between(40.0, 110.0), dice.between(0.04, 0.2)))
            .collect();
        let mut field = Field {
            from_deg,
            mean_mps,
            grows: dice.between(-0.25, 0.25),
            shift: Wander::new(dice.between(3.0, 9.0), dice.between(150.0, 700.0), &mut dice),
            surge: Wander::new(dice.between(0.03, 0.1), dice.between(60.0, 200.0), &mut dice),
            gusty,
            cells: Vec::new(),
            lulls,
            now: Air { from_deg, mps: mean_mps },
            dice,
        };
        for _ in 0..CELLS {
            let along_m = field.dice.between(-EDGE_M, EDGE_M);
            let cell = field.cell(along_m);
            field.cells.push(cell);
        }
        field
    }

    fn cell(&mut self, upwind_m: f64) -> Cell {
        let across_m = self.dice.between(-EDGE_M, EDGE_M);
        // Gusts are stronger than the holes between them are deep. Common practice, no source.
        let more = self.gusty * if self.dice.chance(0.55) { 1.6 } else { -1.1 };
        Cell {
            at: Vec2::new(across_m, upwind_m).turned(self.now.from_deg),
            radius_m: self.dice.between(50.0, 170.0),
            more: more * self.dice.between(0.4, 1.3),
            fan_deg: self.dice.between(0.0, 14.0),
        }
    }

    /// Lets time pass; gives the wind of the place without its single gusts.
    pub(super) fn step(&mut self, t_s: f64, step_s: f64) -> Air {
        let shift_deg = self.shift.step(step_s, &mut self.dice);
        let surge = self.surge.step(step_s, &mut self.dice);
        let grown = 1.0 + self.grows * (t_s / 3_600.0 - 0.5) + surge;
        let lull = self.lulls.iter().map(|lull| left_of_it(*lull, t_s)).fold(1.0, f64::min);
        self.now = Air {
            from_deg: wrap_360(self.from_deg + shift_deg),
            mps: (self.mean_mps * grown * lull).max(0.15),
        };
        let way = self.now.flow() * (CELL_PACE * step_s);
        for ix in 0..self.cells.len() {
            self.cells[ix].at += way;
            if self.cells[ix].at.length() > 1.45 * EDGE_M {
                self.cells[ix] = self.cell(EDGE_M);
            }
        }
        self.now
    }

    /// The wind at a place, gusts and all; `ripple` is the boat's own share of turbulence.
    pub(super) fn at(&self, place: Vec2, ripple: f64) -> Air {
        let (mut more, mut turn_deg) = (ripple, 0.0);
        let right = Vec2::along(self.now.from_deg + 270.0, 1.0);
        for cell in &self.cells {
            let away = place - cell.at;
            let radii = away.length() / cell.radius_m;
            if radii < 2.5 {
                let share = (-radii * radii).exp();
                more += cell.more * share;
                turn_deg += cell.fan_deg * share * away.dot(right) / cell.radius_m;
            }
        }
        Air {
            from_deg: wrap_360(self.now.from_deg - turn_deg),
            mps: (self.now.mps * (1.0 + more).max(0.15)).max(0.1),
        }
    }
}

/// What a lull leaves of the wind: it goes within 15 s and comes back within 25 s.
fn left_of_it((at_s, lasts_s, left): (f64, f64, f64), t_s: f64) -> f64 {
    let gone =
        ((t_s - at_s) / 15.0).clamp(0.0, 1.0).min(((at_s + lasts_s + 25.0 - t_s) / 25.0).clamp(0.0, 1.0));
    1.0 - (1.0 - left) * gone
}
