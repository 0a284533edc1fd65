//! The boat as a point with a heading, way along it and a slip beside it. Way is lost by a drag that grows with
//! it, and by every degree of turn.

use crate::plane::{Vec2, fold_180, kn, mps, wrap_360};

/// Drag of an upright trainer: m/s^2 for each (m/s)^2 and for each m/s. With sails let fly she runs off half of
/// three knots in some six seconds: a guess.
const DRAG_SQUARE: f64 = 0.075;
const DRAG_LINEAR: f64 = 0.045;
/// Share of the way lost in a radian of turn, a guess: a tack costs about a quarter of it besides the luffing.
const TURN_COSTS: f64 = 0.16;
/// The rudder bites fully at this way.
const RUDDER_MPS: f64 = 1.2;
const TURN_LAG_S: f64 = 0.8;
const SLIP_LAG_S: f64 = 4.0;

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Hull {
    pub(super) at: Vec2,
    pub(super) heading_deg: f64,
    /// Through the water, along the heading.
    pub(super) way_mps: f64,
    /// Through the water besides.
    pub(super) slip: Vec2,
    turn_deg_s: f64,
}

/// What works on her.
#[derive(Clone, Copy, Debug)]
pub(super) struct Push {
    /// The way at which thrust and drag would balance.
    pub(super) way_mps: f64,
    pub(super) heading_deg: f64,
    pub(super) turn_deg_s: f64,
    /// What sails or a paddle turn her by with no way on.
    pub(super) least_deg_s: f64,
    pub(super) slip: Vec2,
    /// So many times the upright hull's drag.
    pub(super) drag: f64,
}

impl Hull {
    pub(super) fn at(at: Vec2, heading_deg: f64) -> Hull {
        Hull { at, heading_deg, ..Hull::default() }
    }

    pub(super) fn through(&self) -> Vec2 {
        Vec2::along(self.heading_deg, self.way_mps) + self.slip
    }

    pub(super) fn step(&mut self, push: &Push, stream: Vec2, dt_s: f64) {
        let bite = (self.way_mps.abs() / RUDDER_MPS).min(1.2);
        let most = (push.turn_deg_s * bite).max(push.least_deg_s);
        let wanted = fold_180(push.heading_deg - self.heading_deg).clamp(-most, most);
        self.turn_deg_s += (wanted - self.turn_deg_s) * (dt_s / TURN_LAG_S).min(1.0);
        self.heading_deg = wrap_360(self.heading_deg + self.turn_deg_s * dt_s);
        let drag = |way: f64| way * (DRAG_SQUARE * way.abs() + DRAG_LINEAR);
        let turning = TURN_COSTS * self.turn_deg_s.abs().to_radians() * self.way_mps;
        self.way_mps += ((drag(push.way_mps) - drag(self.way_mps)) * push.drag - turning) * dt_s;
        self.slip += (push.slip - self.slip) * (dt_s / SLIP_LAG_S).min(1.0);
        self.at += (self.through() + stream) * dt_s;
    }
}

/// What she sails at that angle off that wind, well trimmed: 2.5 to 4 kn close-hauled in 8 to 15 kn of wind, 4
/// to 7 reaching, 1 to 2 and 2 to 3 in 4 to 6 (`detection.md`); a laden trainer is at the lower end.
pub(super) fn polar_mps(off_deg: f64, wind_mps: f64) -> f64 {
    const SHAPE: [(f64, f64); 7] =
        [(25.0, 0.0), (45.0, 0.7), (65.0, 0.92), (95.0, 1.0), (130.0, 0.97), (160.0, 0.82), (180.0, 0.76)];
    let off_deg = off_deg.abs().clamp(25.0, 180.0);
    let share = SHAPE.windows(2).find(|pair| off_deg <= pair[1].0).map_or(0.0, |pair| {
        let along = (off_deg - pair[0].0) / (pair[1].0 - pair[0].0);
        pair[0].1 + along * (pair[1].1 - pair[0].1)
    });
    mps(share * 5.4 * (1.0 - (-kn(wind_mps) / 9.0).exp()))
}
