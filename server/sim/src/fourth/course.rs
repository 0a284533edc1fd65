//! Where the boats are told to sail: four exercises round buoys nobody wrote down, and how to steer there.

use crate::{dice::Dice, plane::Vec2};

/// Boards and courses closer together than this are not sailed, s.
const LEAST_BOARD_S: f64 = 9.0;

#[derive(Clone, Debug)]
pub(super) struct Course {
    pub(super) marks: Vec<Vec2>,
    /// Turns at the ends go through the wind with the bow; `None`: as each crew likes.
    pub(super) by_bow: Option<bool>,
}

impl Course {
    pub(super) fn draw(from_deg: f64, dice: &mut Dice) -> Course {
        let half_m = dice.between(70.0, 230.0);
        let hand = dice.sign();
        // Upwind is north here, and turned to the wind below; askew by what an instructor's eye is off.
        let (marks, by_bow) = match dice.pick(4) {
            0 => (vec![(0.0, half_m), (0.0, -half_m)], None),
            1 => (vec![(0.0, half_m), (hand * -half_m, 0.0), (0.0, -half_m)], None),
            2 => (vec![(-half_m, 0.0), (half_m, 0.0)], None),
            // Across the wind, a little below the beam, and up round each end.
            _ => (vec![(-half_m, -15.0), (half_m, -15.0)], Some(true)),
        };
        let centre = Vec2::along(dice.between(0.0, 360.0), dice.between(0.0, 260.0));
        let askew_deg = from_deg + 7.0 * dice.normal();
        let marks = marks
            .into_iter()
            .map(|(east, north)| centre + Vec2::new(east, north).turned(askew_deg))
            .collect();
        Course { marks, by_bow }
    }
}

/// What to do about the goal.
#[derive(Clone, Copy, Debug)]
pub(super) enum Steer {
    /// Steer so far off the wind on this side.
    Keep(f64),
    /// Tack or gybe, and be so far off on the other side.
    Tack(f64),
    Gybe(f64),
}

/// How a boat sails it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Manner {
    /// Closest to the wind and deepest before it, degrees.
    pub(super) beat_deg: f64,
    pub(super) run_deg: f64,
    /// Longest board to windward, s.
    pub(super) board_s: f64,
    /// Bow through the wind where both ways are equally far.
    pub(super) by_bow: bool,
}

/// Steering for a goal that lies `goal_deg` off the wind, from a course `off_deg` off on `side`.
pub(super) fn steer(goal_deg: f64, side: f64, off_deg: f64, since_turn_s: f64, manner: Manner) -> Steer {
    let Manner { beat_deg, run_deg, .. } = manner;
    let (deep_deg, same_side) = (goal_deg.abs(), goal_deg * side > 0.0);
    let may_turn = since_turn_s > LEAST_BOARD_S;
    if deep_deg < beat_deg {
        let fetches = !same_side && deep_deg > beat_deg - 3.0;
        let bored = since_turn_s > manner.board_s;
        // Only from close to the wind: out of a run she luffs up first.
        return if may_turn && (fetches || bored) && off_deg < beat_deg + 12.0 {
            Steer::Tack(beat_deg)
        } else {
            Steer::Keep(beat_deg)
        };
    }
    if same_side || deep_deg > run_deg {
        return Steer::Keep(deep_deg.min(run_deg));
    }
    if !may_turn {
        return Steer::Keep(off_deg.clamp(beat_deg, run_deg));
    }
    let by_bow_deg = off_deg + deep_deg;
    let by_bow = if (135.0..225.0).contains(&by_bow_deg) { manner.by_bow } else { by_bow_deg < 180.0 };
    if by_bow { Steer::Tack(deep_deg) } else { Steer::Gybe(deep_deg) }
}
