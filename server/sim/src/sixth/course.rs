//! Where they mean to sail: round a triangle nobody has laid, or up and down.

use crate::{dice::Dice, plane::Vec2};

#[derive(Clone, Debug)]
pub(super) struct Course(Vec<Vec2>);

impl Course {
    pub(super) fn draw(from_deg: f64, dice: &mut Dice) -> Course {
        let size_m = dice.between(90.0, 230.0);
        let mut marks = vec![Vec2::along(from_deg + dice.between(-12.0, 12.0), size_m)];
        if dice.chance(0.65) {
            let side_deg = dice.sign() * dice.between(90.0, 130.0);
            marks.push(Vec2::along(from_deg + side_deg, size_m * dice.between(0.6, 1.1)));
        }
        marks.push(Vec2::along(from_deg + 180.0 + dice.between(-15.0, 15.0), size_m));
        Course(marks)
    }

    pub(super) fn mark(&self, leg: usize) -> Vec2 {
        self.0[leg % self.0.len()]
    }
}
