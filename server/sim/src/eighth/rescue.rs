//! A safety boat: goes about, comes when called, stays, tows; one of them may carry a wind instrument.

use super::wind::Wind;
use crate::{
    dice::Dice,
    plane::{Chart, Vec2, wrap_360},
    sentence,
};

/// Going about and hurrying, m/s: common practice, no source.
const AMBLES_MPS: f64 = 2.5;
const HURRIES_MPS: f64 = 7.0;
/// Closer than that to where she goes she lies still, m.
const THERE_M: f64 = 4.0;
/// She goes about within this of the middle, m, and lies somewhere for so long, s. Guesses.
const ABOUT_M: f64 = 200.0;
const LIES_S: (f64, f64) = (30.0, 240.0);
/// A hand-held instrument's height gives less than the wind at 10 m (1.1 to 1.3 times less, `leeway.md`).
const ALOFT: f64 = 0.85;
/// Speed and direction as told: noise. Guesses.
const VANE_DEG: f64 = 4.0;
const CUPS: f64 = 0.05;

/// What she is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Task {
    GoesAbout {
        until_s: f64,
    },
    /// Goes to a boat that wants a talk, and lies alongside.
    Visits {
        boat: usize,
    },
    /// Goes to one that is over, and stays until she sails.
    Helps {
        boat: usize,
    },
    Tows {
        boat: usize,
        until_s: f64,
    },
}

#[derive(Clone, Debug)]
pub(super) struct Safety {
    pub(super) name: String,
    pub(super) at: Vec2,
    velocity: Vec2,
    to: Vec2,
    pub(super) task: Task,
    has_vane: bool,
    vane_off_deg: f64,
    dice: Dice,
}

impl Safety {
    pub(super) fn draw(ix: usize, has_vane: bool, mut dice: Dice) -> Safety {
        Safety {
            name: format!("guard-{}", ix + 1),
            at: Vec2::along(dice.between(0.0, 360.0), dice.between(0.0, ABOUT_M)),
            velocity: Vec2::default(),
            to: Vec2::default(),
            task: Task::GoesAbout { until_s: 0.0 },
            has_vane,
            vane_off_deg: 3.0 * dice.normal(),
            dice,
        }
    }

    pub(super) fn is_free(&self) -> bool {
        matches!(self.task, Task::GoesAbout { .. })
    }

    pub(super) fn is_done(&mut self) {
        self.task = Task::GoesAbout { until_s: 0.0 };
    }

    /// `boat`: where the one is that she is busy with.
    pub(super) fn step(&mut self, t_s: f64, dt_s: f64, boat: Option<Vec2>, drift: Vec2) {
        if let Task::GoesAbout { until_s } = self.task
            && t_s >= until_s
        {
            self.to = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(0.0, ABOUT_M));
            self.task = Task::GoesAbout { until_s: t_s + self.dice.between(LIES_S.0, LIES_S.1) };
        }
        let (to, mps) = match self.task {
            Task::GoesAbout { .. } => (self.to, AMBLES_MPS),
            // The tow goes for the middle; near it, round and round.
            Task::Tows { .. } => (Vec2::along(t_s, ABOUT_M), 1.8),
            Task::Visits { .. } | Task::Helps { .. } => (boat.unwrap_or(self.at), HURRIES_MPS),
        };
        let way = to - self.at;
        // She takes her speed off on the last metres.
        let aim =
            if way.length() < THERE_M { drift } else { way.unit() * mps.min(0.25 * way.length() + 0.5) };
        self.velocity += (aim - self.velocity) * (dt_s / 2.0);
        self.at += self.velocity * dt_s;
    }

    /// Her lines of a second: position always, wind every second one.
    pub(super) fn speak(&mut self, now_ms: i64, second: u32, chart: &Chart, wind: Wind) -> Vec<String> {
        let noise = Vec2::new(self.dice.normal(), self.dice.normal());
        let (lat, lon) = chart.lat_lon(self.at + noise);
        let told = self.velocity + noise * 0.05;
        let mut lines = vec![sentence::rmc(now_ms, lat, lon, told.length(), Some(told.bearing_deg()))];
        if self.has_vane && second.is_multiple_of(2) {
            let from_deg = wrap_360(wind.from_deg + self.vane_off_deg + VANE_DEG * self.dice.normal());
            let mps = wind.mps * ALOFT * (1.0 + CUPS * self.dice.normal());
            lines.push(sentence::mwd(from_deg, mps));
        }
        lines
    }
}
