//! The lesson: which exercise is called when, and the course each crew then sails.

use crate::{dice::Dice, plane::Vec2};

/// Marks lie so far from the middle: a guess, as all distances and times here.
const WINDWARD_M: f64 = 170.0;
const LEEWARD_M: f64 = 130.0;
const WING_M: f64 = 180.0;
/// Time to sail home in.
const HOME_S: f64 = 380.0;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Exercise {
    /// To the windward mark, and there the first ones wait for the others.
    Beat,
    Triangle,
    /// Hove to around the instructor.
    Talk,
    /// Each for herself: sail, stop, sail on.
    Alone,
    /// Pick something up.
    Drill,
    Home,
}

/// From when, and what.
pub(super) fn programme(lasts_s: f64, dice: &mut Dice) -> Vec<(f64, Exercise)> {
    let mut all = vec![(0.0, Exercise::Beat)];
    let mut at_s = dice.between(420.0, 600.0);
    let mut bag: Vec<Exercise> = Vec::new();
    while at_s < lasts_s - HOME_S - 150.0 {
        if bag.is_empty() {
            bag = vec![
                Exercise::Triangle,
                Exercise::Triangle,
                Exercise::Triangle,
                Exercise::Talk,
                Exercise::Alone,
                Exercise::Beat,
                Exercise::Drill,
            ];
        }
        let exercise = bag.swap_remove(dice.pick(bag.len()));
        all.push((at_s, exercise));
        at_s += match exercise {
            Exercise::Talk => dice.between(410.0, 620.0),
            Exercise::Drill => dice.between(200.0, 320.0),
            _ => dice.between(480.0, 700.0),
        };
    }
    all.push((lasts_s - HOME_S, Exercise::Home));
    all
}

/// What a crew sails, until something else is called.
#[derive(Clone, Debug)]
pub(super) struct Course {
    pub(super) exercise: Exercise,
    marks: Vec<Vec2>,
    next: usize,
    /// She stops then, whatever for.
    pub(super) stops_s: f64,
}

impl Course {
    /// `meeting`: where the instructor lies; `beach`: where home is.
    pub(super) fn draw(
        exercise: Exercise,
        from_deg: f64,
        [meeting, beach]: [Vec2; 2],
        t_s: f64,
        dice: &mut Dice,
    ) -> Course {
        let mut near = |bearing_deg: f64, off_m: f64| {
            Vec2::along(from_deg + bearing_deg, off_m) + Vec2::new(dice.normal(), dice.normal()) * 6.0
        };
        let marks = match exercise {
            Exercise::Beat => vec![near(0.0, WINDWARD_M), near(180.0, LEEWARD_M)],
            Exercise::Triangle => vec![near(0.0, WINDWARD_M), near(-100.0, WING_M), near(180.0, LEEWARD_M)],
            Exercise::Talk => vec![meeting + near(90.0, 0.0) * 3.0, near(90.0, 120.0), near(-90.0, 120.0)],
            Exercise::Alone | Exercise::Drill => vec![near(80.0, WING_M), near(-80.0, WING_M)],
            Exercise::Home => vec![beach, beach * 0.7 + near(90.0, 60.0), beach * 0.7 + near(-90.0, 60.0)],
        };
        let mut course = Course { exercise, marks, next: 0, stops_s: 0.0 };
        course.stops_s = match exercise {
            Exercise::Talk => t_s + dice.between(35.0, 85.0) + if dice.chance(0.4) { 3_600.0 } else { 0.0 },
            _ => course.next_stop_s(t_s, dice),
        };
        course
    }

    /// When she stops next.
    pub(super) fn next_stop_s(&self, t_s: f64, dice: &mut Dice) -> f64 {
        t_s + match self.exercise {
            Exercise::Alone => dice.between(200.0, 900.0),
            Exercise::Drill => dice.between(80.0, 400.0),
            Exercise::Talk => 3_600.0,
            // A rope, a drink, a word with the next boat.
            _ => dice.log_normal(3_000.0, 0.8).max(45.0),
        }
    }

    pub(super) fn aim(&self) -> Vec2 {
        self.marks.get(self.next).copied().unwrap_or_default()
    }

    /// True when she has just come to a mark where crews wait for the others.
    pub(super) fn passes(&mut self, at: Vec2, near_m: f64) -> bool {
        if (at - self.aim()).length() > near_m {
            return false;
        }
        let waits = self.exercise == Exercise::Beat && self.next == 0;
        self.next = (self.next + 1) % self.marks.len().max(1);
        waits
    }
}
