//! A crew: how good they are, and what follows from it. All of it guesses.

use crate::dice::{Dice, Wander};

#[derive(Clone, Debug)]
pub(super) struct Crew {
    /// 0 on the first day, 1 at the end of the second course.
    pub(super) skill: f64,
    /// The sheet is in the cleat rather than in a hand.
    pub(super) cleats: bool,
    /// As close to the wind as they sail: "40 to 50" (`wind.md`), the timid less.
    pub(super) close_deg: f64,
    /// How fast they turn her with good way on.
    pub(super) turn_deg_s: f64,
    /// Of what she could sail.
    pub(super) pace: f64,
    /// From sheet out to sheet in.
    pub(super) trim_s: f64,
    /// Off the course they want, degrees.
    pub(super) steer_deg: Wander,
    /// Beside the trim they want.
    pub(super) attention: Wander,
}

impl Crew {
    pub(super) fn draw(dice: &mut Dice) -> Crew {
        let skill = dice.between(0.0, 1.0);
        Crew {
            skill,
            cleats: dice.chance(0.65 - 0.4 * skill),
            close_deg: 52.0 - 6.0 * skill + dice.between(-3.0, 3.0),
            turn_deg_s: 18.0 + 11.0 * skill + dice.between(-2.0, 2.0),
            pace: 0.72 + 0.2 * skill + dice.between(-0.05, 0.05),
            trim_s: 6.5 - 3.0 * skill,
            steer_deg: Wander::new(8.0 - 5.0 * skill, 14.0, dice),
            attention: Wander::new(0.25 - 0.16 * skill, 25.0, dice),
        }
    }

    /// What may go wrong goes wrong for the unskilled this much more often; 1 for the middling.
    pub(super) fn clumsiness(&self) -> f64 {
        1.6 - 1.2 * self.skill
    }

    pub(super) fn step(&mut self, dt_s: f64, dice: &mut Dice) {
        self.steer_deg.step(dt_s, dice);
        self.attention.step(dt_s, dice);
    }
}
