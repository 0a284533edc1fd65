//! A safety boat: where she is, what she is about, and what her mast tells of the wind.

use super::{STEP_S, phone::Phone, weather::Wind};
use crate::{
    dice::{Dice, Wander},
    plane::Vec2,
};

/// What she is about, and with which boat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Task {
    Loiters {
        to: Vec2,
        until_s: f64,
    },
    /// Where `helps`: to a boat that was over.
    Goes {
        boat: usize,
        helps: bool,
    },
    Beside {
        boat: usize,
    },
    Tows {
        boat: usize,
        to: Vec2,
    },
}

#[derive(Clone, Debug)]
pub(super) struct Safety {
    pub(super) name: String,
    pub(super) at: Vec2,
    pub(super) task: Task,
    pub(super) velocity: Vec2,
    pub(super) phone: Phone,
    /// She stood by a boat that was over.
    pub(super) is_helping: bool,
    /// The instrument at her mast, if she has one: its errors.
    pub(super) vane: Option<Vane>,
    pub(super) dice: Dice,
}

/// A vane that is off by a little for good, and shakes.
#[derive(Clone, Debug)]
pub(super) struct Vane {
    off_deg: f64,
    scale: f64,
    shakes: Wander,
}

impl Safety {
    pub(super) fn draw(ix: usize, has_vane: bool, phone: Phone, mut dice: Dice) -> Safety {
        let at = Vec2::along(dice.between(0.0, 360.0), dice.between(30.0, 120.0));
        // A vane is off by some degrees, 7 before it is calibrated (`wind.md`); the 10 m wind is 1.1 to 1.3 times
        // that in hand height (`leeway.md`).
        let vane = has_vane.then(|| Vane {
            off_deg: 4.0 * dice.normal(),
            scale: 1.0 / dice.between(1.05, 1.25),
            shakes: Wander::new(5.0, 4.0, &mut dice),
        });
        Safety {
            name: format!("launch-{}", ix + 1),
            at,
            task: Task::Loiters { to: at, until_s: 0.0 },
            velocity: Vec2::default(),
            phone,
            is_helping: false,
            vane,
            dice,
        }
    }

    /// Whose boat she is busy with.
    pub(super) fn busy_with(&self) -> Option<usize> {
        match self.task {
            Task::Loiters { .. } => None,
            Task::Goes { boat, .. } | Task::Beside { boat } | Task::Tows { boat, .. } => Some(boat),
        }
    }

    /// From where and how strong she says it blows.
    pub(super) fn tells_wind(&mut self, wind: Wind) -> Option<Wind> {
        let vane = self.vane.as_mut()?;
        let shakes_deg = vane.shakes.step(2.0, &mut self.dice);
        let from_deg = crate::plane::wrap_360(wind.from_deg + vane.off_deg + shakes_deg);
        let mps = wind.mps * vane.scale * self.dice.log_normal(1.0, 0.05);
        Some(Wind { from_deg, mps })
    }

    /// Motors there as fast as that at most; stays when she is near.
    pub(super) fn motor(&mut self, to: Vec2, most_mps: f64, near_m: f64, drift: Vec2, stream: Vec2) {
        let way = to - self.at;
        let left_m = (way.length() - near_m).max(0.0);
        let wished = way.unit() * (0.3 * left_m).min(most_mps) + drift * if left_m > 0.0 { 0.0 } else { 1.0 };
        self.velocity += (wished - self.velocity) * (STEP_S / 2.0);
        self.at += (self.velocity + stream) * STEP_S;
    }
}
