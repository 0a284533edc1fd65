//! How a hull gains and loses way. Drag goes with the square of the speed, so what differs from one manner of
//! stopping to the next is a length, and the lengths are measured.

use crate::plane::{Vec2, fold_180, wrap_360};

/// Near no way at all the square says nothing; then it dies in so many seconds: reasoned.
const SLOW_S: f64 = 14.0;

/// What acts on her in a step.
#[derive(Clone, Copy, Debug)]
pub(super) struct Push {
    /// The way she would come to.
    pub(super) way_mps: f64,
    /// The length it takes.
    pub(super) length_m: f64,
    /// What she would come to besides, of the wind.
    pub(super) lee: Vec2,
    pub(super) lee_s: f64,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Hull {
    pub(super) at: Vec2,
    pub(super) heading_deg: f64,
    /// Ahead; below 0 astern.
    pub(super) way_mps: f64,
    pub(super) lee: Vec2,
}

impl Hull {
    /// Through the water.
    pub(super) fn through(&self) -> Vec2 {
        Vec2::along(self.heading_deg, self.way_mps) + self.lee
    }

    pub(super) fn step(&mut self, push: &Push, stream: Vec2, step_s: f64) {
        let (way, want) = (self.way_mps, push.way_mps);
        let gain = (want * want.abs() - way * way.abs()) / push.length_m + (want - way) / SLOW_S;
        let next = way + gain * step_s;
        self.way_mps = next.clamp(way.min(want), way.max(want));
        self.lee += (push.lee - self.lee) * (1.0 - (-step_s / push.lee_s).exp());
        self.at += (self.through() + stream) * step_s;
    }

    /// Towards a heading, by the short way.
    pub(super) fn turn_to(&mut self, heading_deg: f64, most_deg: f64) {
        let turn_deg = fold_180(heading_deg - self.heading_deg);
        self.turn(turn_deg.clamp(-most_deg, most_deg));
    }

    pub(super) fn turn(&mut self, clockwise_deg: f64) {
        self.heading_deg = wrap_360(self.heading_deg + clockwise_deg);
    }

    /// Wind on the starboard side above 0.
    pub(super) fn off_deg(&self, from_deg: f64) -> f64 {
        fold_180(from_deg - self.heading_deg)
    }
}
