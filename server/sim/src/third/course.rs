//! What is sailed in a session, and how a crew get from one mark of it to the next.

use crate::{
    dice::Dice,
    plane::{Vec2, fold_180},
};

/// Marks fixed to the ground, and whether every turn is meant to be a tack (figure of eight).
#[derive(Clone, Debug)]
pub(super) struct Course {
    pub(super) marks: Vec<Vec2>,
    pub(super) tacks_only: bool,
    /// A line across the wind for the fleet to gather at.
    pub(super) line_m: f64,
    from_deg: f64,
}

impl Course {
    pub(super) fn draw(from_deg: f64, dice: &mut Dice) -> Course {
        let size_m = dice.between(110.0, 260.0);
        let (marks, tacks_only) = match dice.pick(4) {
            // Windward, wing, leeward; the wing mark to the left of the wind leaves all marks to port.
            0 => (vec![(0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)], false),
            1 => (vec![(0.0, 1.0), (1.0, 0.0), (0.0, -1.0)], false),
            2 => (vec![(0.05, 1.1), (-0.05, -1.0)], false),
            _ => (vec![(-0.8, 0.0), (0.8, 0.0)], true),
        };
        let skew_deg = 8.0 * dice.normal();
        let marks = marks
            .into_iter()
            .map(|(right, up): (f64, f64)| (Vec2::new(right, up) * size_m).turned(from_deg + skew_deg))
            .collect();
        Course { marks, tacks_only, line_m: dice.between(45.0, 120.0), from_deg }
    }

    pub(super) fn mark(&self, leg: usize) -> Vec2 {
        self.marks.get(leg % self.marks.len().max(1)).copied().unwrap_or_default()
    }

    /// A place on the line, -1 to 1 along it.
    pub(super) fn place(&self, along: f64) -> Vec2 {
        Vec2::new(0.5 * self.line_m * along, -20.0).turned(self.from_deg)
    }
}

/// How far off the wind to sail for a mark that lies `straight_deg` off it, when on `side` (1 starboard tack).
/// Closer than close-hauled nobody can; further down than they dare, they do not.
pub(super) fn off_for(straight_deg: f64, side: f64, close_deg: f64, broad_deg: f64) -> f64 {
    let straight_deg = fold_180(straight_deg);
    if straight_deg.abs() < close_deg {
        side * close_deg
    } else if straight_deg.abs() > broad_deg {
        side * broad_deg
    } else {
        straight_deg
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_upwind_is_beaten_to_and_one_abeam_is_sailed_to() {
        assert_eq!(off_for(10.0, -1.0, 45.0, 160.0), -45.0);
        assert_eq!(off_for(-170.0, 1.0, 45.0, 160.0), 160.0);
        assert_eq!(off_for(-90.0, 1.0, 45.0, 160.0), -90.0);
    }
}
