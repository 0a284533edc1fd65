//! The safety boats: they loiter, go to who has gone over, right her, come alongside for a word, tow.

use super::STEP_S;
use crate::{
    dice::Dice,
    plane::{Vec2, mps},
};

/// What a safety boat is about.
#[derive(Clone, Copy, Debug)]
pub(super) enum Job {
    /// Near there, until she is needed or wants another place.
    Loiters {
        near: Vec2,
    },
    GoesTo {
        boat: usize,
    },
    /// Alongside.
    Holds {
        boat: usize,
    },
    Tows {
        boat: usize,
        towards_deg: f64,
    },
}

#[derive(Clone, Debug)]
pub(super) struct Safety {
    pub(super) id: String,
    pub(super) at: Vec2,
    pub(super) velocity: Vec2,
    pub(super) job: Job,
    pub(super) has_vane: bool,
    /// How far her vane is out, degrees.
    pub(super) vane_out_deg: f64,
    haste_mps: f64,
    pub(super) dice: Dice,
}

impl Safety {
    pub(super) fn draw(ix: usize, has_vane: bool, mut dice: Dice) -> Safety {
        let at = Vec2::along(dice.between(0.0, 360.0), dice.between(20.0, 120.0));
        Safety {
            id: format!("heron-{}", ix + 1),
            at,
            velocity: Vec2::default(),
            job: Job::Loiters { near: at },
            has_vane,
            vane_out_deg: 4.0 * dice.normal(),
            haste_mps: mps(dice.between(11.0, 17.0)),
            dice,
        }
    }

    /// The other end of her tow line.
    pub(super) fn line_end(&self) -> Vec2 {
        self.at - self.velocity.unit() * 9.0
    }

    /// One step; `boat` is where the boat of her job is and how she moves.
    pub(super) fn step(&mut self, boat: Option<(Vec2, Vec2)>, drift: Vec2) {
        let wished = match (self.job, boat) {
            (Job::Loiters { near }, _) => {
                // Out of gear until she has gone astray, as they do.
                let off = near - self.at;
                if off.length() > 25.0 { off.unit() * mps(4.0) } else { drift }
            }
            (Job::GoesTo { .. }, Some((at, velocity))) => {
                let off = at - self.at;
                velocity + off.unit() * (off.length() / 6.0).min(self.haste_mps)
            }
            (Job::Holds { .. }, Some((at, velocity))) => {
                let off = at - self.at;
                velocity + off.unit() * ((off.length() - 3.0) / 3.0).clamp(-1.0, 2.0)
            }
            (Job::Tows { towards_deg, .. }, _) => Vec2::along(towards_deg, mps(2.8)),
            (_, None) => drift,
        };
        self.velocity += (wished - self.velocity) * (STEP_S / 2.5);
        self.at += self.velocity * STEP_S;
    }
}
