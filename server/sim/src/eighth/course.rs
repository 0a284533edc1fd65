//! What the class is told to sail, as marks to go to one after the other (geometry: `exercises.md`).

use crate::{dice::Dice, plane::Vec2};

/// An exercise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Exercise {
    /// To and fro across the wind, turning up round each mark.
    Eight,
    /// Windward, wing and leeward mark.
    Triangle,
    /// To windward and back.
    Beat,
    /// Away from a dummy and back to it.
    Overboard,
    /// The boat ahead is the mark.
    Follow,
}

const ALL: [Exercise; 5] =
    [Exercise::Eight, Exercise::Triangle, Exercise::Beat, Exercise::Overboard, Exercise::Follow];

/// From when on which exercise: three or four in a session, none twice in a row.
pub(super) fn programme(lasts_s: f64, dice: &mut Dice) -> Vec<(f64, Exercise)> {
    let parts = 3 + dice.pick(2);
    let mut last = dice.pick(ALL.len());
    (0..parts)
        .map(|part| {
            last = (last + 1 + dice.pick(ALL.len() - 1)) % ALL.len();
            let late_s = if part == 0 { 0.0 } else { dice.between(-90.0, 90.0) };
            (lasts_s * part as f64 / parts as f64 + late_s, ALL[last])
        })
        .collect()
}

/// One boat's way through an exercise.
#[derive(Clone, Debug)]
pub(super) struct Course {
    pub(super) exercise: Exercise,
    marks: Vec<Vec2>,
    next: usize,
}

impl Course {
    /// Each boat has marks of her own, a little off those of the others: a pond is not that narrow.
    pub(super) fn draw(exercise: Exercise, from_deg: f64, dice: &mut Dice) -> Course {
        let up = |x: f64, y: f64| Vec2::along(from_deg, y) + Vec2::along(from_deg + 90.0, x);
        let size = dice.between(0.8, 1.2);
        let hand = dice.sign();
        let here = up(dice.between(-120.0, 120.0), dice.between(-120.0, 120.0));
        let corners: &[(f64, f64)] = match exercise {
            // On a line across the wind.
            Exercise::Eight => &[(-90.0, -10.0), (90.0, -10.0)],
            Exercise::Triangle | Exercise::Follow => &[(0.0, 220.0), (-130.0, 90.0), (0.0, -40.0)],
            Exercise::Beat => &[(0.0, 260.0), (20.0, -120.0)],
            Exercise::Overboard => &[(80.0, -15.0), (0.0, 0.0)],
        };
        let marks = corners.iter().map(|(x, y)| here + up(hand * x, *y) * size).collect();
        Course { exercise, marks, next: 0 }
    }

    pub(super) fn mark(&self) -> Vec2 {
        self.marks.get(self.next).copied().unwrap_or_default()
    }

    /// Round its marks one turns up into the wind.
    pub(super) fn turns_up(&self) -> bool {
        self.exercise == Exercise::Eight
    }

    pub(super) fn rounded(&mut self) {
        self.next = (self.next + 1) % self.marks.len().max(1);
    }

    /// The dummy lies at the next mark.
    pub(super) fn is_to_the_dummy(&self) -> bool {
        self.exercise == Exercise::Overboard && self.next == 1
    }
}
