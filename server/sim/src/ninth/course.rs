//! Exercises: marks to be sailed to one after the other, and what a crew must do now to get there.

use crate::{
    dice::Dice,
    plane::{Vec2, fold_180, wrap_360},
};

/// What to do next.
#[derive(Clone, Copy, Debug)]
pub(super) enum Next {
    Steer(f64),
    /// To have the wind on that side: 1 for starboard.
    Tack(f64),
    Gybe(f64),
}

/// What a group sails.
#[derive(Clone, Debug)]
pub(super) struct Exercise {
    pub(super) marks: Vec<Vec2>,
    /// The others follow one of them.
    pub(super) follows: bool,
    pub(super) until_s: f64,
}

impl Exercise {
    /// One of those that are in exercises.md, and reaches to and fro. Sizes are common practice, no source.
    pub(super) fn draw(middle: Vec2, from_deg: f64, t_s: f64, dice: &mut Dice) -> Exercise {
        let size_m = dice.between(70.0, 170.0);
        let up = Vec2::along(from_deg + dice.between(-12.0, 12.0), 1.0);
        let right = up.turned(90.0);
        let (marks, follows) = match dice.pick(10) {
            0 | 1 => (vec![right * size_m * 0.6, right * -size_m * 0.6], false),
            2 | 3 => (vec![up * size_m, right * -size_m * 0.7, up * -size_m], false),
            4..=6 => (vec![up * size_m, up * -size_m], false),
            7 => (vec![(right + up * 0.4) * size_m * 0.7, (right + up * 0.4) * -size_m * 0.7], false),
            _ => (vec![right * size_m, up * size_m, right * -size_m, up * -size_m], true),
        };
        let marks = marks.into_iter().map(|mark| middle + mark).collect();
        Exercise { marks, follows, until_s: t_s + dice.between(600.0, 1_500.0) }
    }
}

/// Where a boat is in it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Course {
    pub(super) next: usize,
    /// How far to one side a mark may lie before she tacks for it, degrees.
    tack_at_deg: f64,
    turned_s: f64,
}

impl Course {
    pub(super) fn new(ix: usize, dice: &mut Dice) -> Course {
        Course { next: ix, tack_at_deg: dice.between(15.0, 42.0), turned_s: -60.0 }
    }

    /// Goes on to the next mark when she is near this one.
    pub(super) fn mark(&mut self, exercise: &Exercise, at: Vec2, dice: &mut Dice) -> Option<Vec2> {
        let mark = *exercise.marks.get(self.next % exercise.marks.len().max(1))?;
        if (mark - at).length() < 14.0 {
            self.next += 1;
            self.tack_at_deg = dice.between(15.0, 42.0);
        }
        Some(mark)
    }

    /// `off_deg` is whence the wind comes off her bow.
    pub(super) fn towards(
        &mut self,
        target: Vec2,
        at: Vec2,
        (from_deg, off_deg, close_deg): (f64, f64, f64),
        t_s: f64,
    ) -> Next {
        let bearing_deg = (target - at).bearing_deg();
        let side = if off_deg < 0.0 { -1.0 } else { 1.0 };
        let right_deg = fold_180(bearing_deg - from_deg);
        let free = t_s - self.turned_s > 12.0;
        if right_deg.abs() < close_deg {
            // Too close to the wind to lie: on this board until the mark is well to the other side.
            if free && off_deg.abs() < 80.0 && side * right_deg > self.tack_at_deg {
                self.turned_s = t_s;
                return Next::Tack(-side);
            }
            return Next::Steer(wrap_360(from_deg - side * close_deg));
        }
        let there = if right_deg > 0.0 { -1.0 } else { 1.0 };
        if there == side || right_deg.abs() > 174.0 {
            return Next::Steer(bearing_deg);
        }
        if !free {
            return Next::Steer(wrap_360(from_deg - side * off_deg.abs().clamp(close_deg, 165.0)));
        }
        self.turned_s = t_s;
        if off_deg.abs() + right_deg.abs() < 190.0 { Next::Tack(there) } else { Next::Gybe(there) }
    }
}
