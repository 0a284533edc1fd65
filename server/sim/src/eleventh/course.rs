//! Where they sail: marks that the instructor laid, and how a crew heads for one.

use crate::{
    dice::Dice,
    plane::{Vec2, fold_180},
};

/// Nobody runs squarer than this: beginners are told to keep off a dead run, degrees.
const SQUAREST_DEG: f64 = 160.0;

/// Marks sailed round one after another, in an order that suits the exercise.
#[derive(Clone, Debug)]
pub(super) struct Course {
    pub(super) marks: Vec<Vec2>,
}

impl Course {
    /// A beat and a run, a triangle, or a reach to and fro, some hundred metres long.
    pub(super) fn draw(from_deg: f64, dice: &mut Dice) -> Course {
        let (up, across) = (Vec2::along(from_deg, 1.0), Vec2::along(from_deg + 90.0, 1.0));
        let half_m = dice.between(90.0, 190.0);
        let hand = dice.sign();
        let marks = match dice.pick(3) {
            0 => vec![up * half_m, up * -half_m],
            1 => vec![up * half_m, across * (hand * half_m), up * -half_m],
            _ => vec![across * half_m + up * dice.between(-40.0, 40.0), across * -half_m],
        };
        Course { marks }
    }
}

/// How a crew would sail to what lies there: the angle off the wind, wind on the starboard side above 0. `side` is
/// the one the wind is on now; a crew that `has_had_enough` of it tacks on the way to windward.
pub(super) fn wished_off_deg(
    to: Vec2,
    from_deg: f64,
    side: f64,
    closest_deg: f64,
    has_had_enough: bool,
) -> f64 {
    let straight_deg = fold_180(from_deg - to.bearing_deg());
    if straight_deg.abs() < closest_deg {
        side * if has_had_enough { -closest_deg } else { closest_deg }
    } else if straight_deg.abs() > SQUAREST_DEG {
        side * SQUAREST_DEG
    } else {
        straight_deg
    }
}
