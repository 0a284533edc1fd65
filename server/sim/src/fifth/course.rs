//! The exercises: marks to sail to in turn, or a safety boat to follow.

use crate::{dice::Dice, plane::Vec2};

#[derive(Clone, Debug)]
pub(super) struct Course {
    /// To be passed in this order, again and again.
    pub(super) marks: Vec<Vec2>,
    /// At the marks she turns up through the wind, even if the other way round is shorter.
    pub(super) by_tack: bool,
    /// She follows the safety boat as long as that leads.
    pub(super) follows: bool,
}

impl Course {
    /// Geometry of each exercise: common practice, no source. Sizes: reasoned.
    pub(super) fn draw(from_deg: f64, dice: &mut Dice) -> Course {
        let size_m = dice.between(70.0, 230.0);
        let up = Vec2::along(from_deg, size_m);
        let abeam = up.turned(90.0);
        let (marks, by_tack, follows) = match dice.pick(5) {
            0 => (vec![up, up * -0.6], false, false),
            1 => {
                let wing = abeam * (0.8 * dice.sign());
                (vec![up, wing, up * -0.8], false, false)
            }
            2 => (vec![abeam, abeam * -1.0], true, false),
            3 => (vec![abeam, abeam * -1.0], dice.chance(0.5), false),
            _ => (vec![abeam, abeam * -1.0 + up * -0.3], dice.chance(0.5), true),
        };
        Course { marks, by_tack, follows }
    }

    pub(super) fn mark(&self, leg: usize) -> Vec2 {
        self.marks[leg % self.marks.len()]
    }
}
