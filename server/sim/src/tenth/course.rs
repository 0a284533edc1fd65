//! Where a boat sails to: the marks of an exercise, one after the other.

use super::{air::Wind, helm::Helm, hull::Hull, widely};
use crate::{
    dice::Dice,
    plane::{Vec2, fold_180},
};

/// Near enough to a mark, m; and on to the next after so long in any case, s.
const NEAR_M: f64 = 22.0;
const TIRED_S: f64 = 420.0;

/// An exercise: its marks.
#[derive(Clone, Debug)]
pub(super) struct Exercise {
    pub(super) from_s: f64,
    marks: Vec<Vec2>,
}

/// What is sailed in a session, first things first. Up and down, to and fro, a triangle, or here and there.
pub(super) fn programme(lasts_s: f64, from_deg: f64, dice: &mut Dice) -> Vec<Exercise> {
    let (mut from_s, mut all) = (0.0, Vec::new());
    while from_s < lasts_s {
        let size_m = widely(dice, 70.0, 260.0);
        let hand = dice.sign();
        let mark = |off_deg: f64, times: f64| Vec2::along(from_deg + hand * off_deg, size_m * times);
        let marks = match dice.pick(4) {
            0 => vec![mark(0.0, 1.2), mark(180.0, 1.2)],
            1 => vec![mark(85.0, 1.2), mark(-85.0, 1.2)],
            2 => vec![mark(0.0, 1.2), mark(-90.0, 0.8), mark(180.0, 1.0)],
            _ => (0..6)
                .map(|_| Vec2::along(dice.between(0.0, 360.0), size_m * dice.between(0.3, 1.5)))
                .collect(),
        };
        all.push(Exercise { from_s, marks });
        from_s += widely(dice, 500.0, 2_000.0);
    }
    all
}

/// One boat's way through it.
#[derive(Clone, Debug)]
pub(super) struct Course {
    marks: Vec<Vec2>,
    next: usize,
    since_s: f64,
    board_until_s: f64,
}

impl Course {
    /// Each passes the marks in her own way, and not all at once.
    pub(super) fn draw(exercise: &Exercise, t_s: f64, dice: &mut Dice) -> Course {
        let wide = |mark: &Vec2| *mark + Vec2::new(dice.normal(), dice.normal()) * 18.0;
        let marks: Vec<Vec2> = exercise.marks.iter().map(wide).collect();
        Course { next: dice.pick(marks.len()), marks, since_s: t_s, board_until_s: t_s }
    }

    pub(super) fn mark(&self) -> Vec2 {
        self.marks.get(self.next).copied().unwrap_or_default()
    }

    /// How far off the wind she should go, degrees, above 0 with the wind on the starboard side.
    pub(super) fn off_deg(&mut self, sailed: &Sailed, dice: &mut Dice) -> f64 {
        if (self.mark() - sailed.at).length() < NEAR_M || sailed.t_s > self.since_s + TIRED_S {
            self.next = (self.next + 1) % self.marks.len().max(1);
            self.since_s = sailed.t_s;
        }
        let bearing_deg = (self.mark() - sailed.at).bearing_deg();
        let off_deg = fold_180(sailed.wind.from_deg - bearing_deg);
        let beat_deg = sailed.hull.no_go_deg + sailed.helm.bears_off_deg;
        let side = sailed.side;
        let limit_deg = if off_deg.abs() < beat_deg {
            beat_deg
        } else if off_deg.abs() > sailed.helm.run_deg {
            sailed.helm.run_deg
        } else {
            return off_deg;
        };
        if sailed.t_s < self.board_until_s {
            return side * limit_deg;
        }
        let is_first = self.board_until_s < self.since_s;
        self.board_until_s = sailed.t_s + dice.log_normal(sailed.helm.board_s, 0.35);
        if is_first { side * limit_deg } else { -side * limit_deg }
    }
}

/// What is needed to know where to steer.
#[derive(Debug)]
pub(super) struct Sailed<'a> {
    pub(super) at: Vec2,
    pub(super) side: f64,
    pub(super) wind: Wind,
    pub(super) t_s: f64,
    pub(super) hull: &'a Hull,
    pub(super) helm: &'a Helm,
}
