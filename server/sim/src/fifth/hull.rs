//! How a boat follows what her crew want: way behind a push, heading behind a rate, leeway behind the wind.

use crate::{
    dice::Dice,
    plane::{Vec2, fold_180, wrap_360},
};

/// Way lost at the least while she slows down, m/s2: the last of it does not fade for ever.
const RUBS_MPS2: f64 = 0.03;
/// The helm is put over as if to be on the heading in so many seconds.
const HELM_S: f64 = 2.0;

/// What is wanted of her for a moment.
#[derive(Clone, Copy, Debug)]
pub(super) struct Order {
    pub(super) heading_deg: f64,
    pub(super) rate_dps: f64,
    /// Ahead; astern below 0.
    pub(super) way_mps: f64,
    /// Time constant with which the way goes to it.
    pub(super) tau_s: f64,
    /// Through the water, beside the way.
    pub(super) drift: Vec2,
    pub(super) jerk: Vec2,
}

#[derive(Clone, Debug)]
pub(super) struct Hull {
    pub(super) at: Vec2,
    pub(super) heading_deg: f64,
    pub(super) way_mps: f64,
    /// Through the water, all of it.
    pub(super) through: Vec2,
    push_mps: f64,
    yaw_dps: f64,
    drift: Vec2,
    /// Time constants, s: gathering way, coasting with loose sails, being braked.
    pub(super) gather_s: f64,
    pub(super) coast_s: f64,
    pub(super) brake_s: f64,
    /// From the wish to a drawing sail.
    sheet_s: f64,
    yaw_s: f64,
    drift_s: f64,
}

impl Hull {
    pub(super) fn draw(at: Vec2, heading_deg: f64, sheet_s: f64, dice: &mut Dice) -> Hull {
        // Way is gone, by nine tenths, after 2.3 time constants: as slowly as recorded dinghies lose it
        // (`tests/slowing.rs`).
        Hull {
            at,
            heading_deg,
            way_mps: dice.between(0.5, 1.5),
            through: Vec2::default(),
            push_mps: 0.5,
            yaw_dps: 0.0,
            drift: Vec2::default(),
            gather_s: dice.between(1.4, 4.6),
            coast_s: dice.between(12.0, 22.0) / 2.3,
            brake_s: dice.between(9.0, 15.0) / 2.3,
            sheet_s,
            yaw_s: dice.between(0.4, 1.2),
            drift_s: dice.between(2.5, 8.0),
        }
    }

    pub(super) fn step(&mut self, order: &Order, stream: Vec2, step_s: f64) {
        let follow = |tau_s: f64| 1.0 - (-step_s / tau_s).exp();
        let off_deg = fold_180(order.heading_deg - self.heading_deg);
        let rate_dps = (off_deg / HELM_S).clamp(-order.rate_dps, order.rate_dps);
        self.yaw_dps += (rate_dps - self.yaw_dps) * follow(self.yaw_s);
        self.heading_deg = wrap_360(self.heading_deg + self.yaw_dps * step_s);
        // Sheets take time to come in and none to let go.
        self.push_mps = if order.way_mps > self.way_mps.max(0.0) {
            let from_mps = self.push_mps.min(order.way_mps);
            from_mps + (order.way_mps - from_mps) * follow(self.sheet_s)
        } else {
            order.way_mps
        };
        let gap_mps = self.push_mps - self.way_mps;
        let least_mps = (RUBS_MPS2 * step_s).min(gap_mps.abs());
        self.way_mps += gap_mps.signum() * (gap_mps.abs() * follow(order.tau_s)).max(least_mps);
        self.drift += (order.drift - self.drift) * follow(self.drift_s);
        self.through = Vec2::along(self.heading_deg, self.way_mps) + self.drift + order.jerk;
        self.at += (self.through + stream) * step_s;
    }

    /// Made fast to something that moves through the water like that.
    pub(super) fn held(&mut self, beside: Vec2, heading_deg: f64, velocity: Vec2, stream: Vec2, step_s: f64) {
        let pull = beside - self.at;
        let want = velocity - stream + pull.unit() * (0.3 * pull.length()).min(0.6);
        // She is heavy to drag along.
        let want = want.unit() * want.length().min(0.7);
        self.through += (want - self.through) * (1.0 - (-step_s / 1.5).exp());
        let turn_dps = (fold_180(heading_deg - self.heading_deg) / 3.0).clamp(-12.0, 12.0);
        self.heading_deg = wrap_360(self.heading_deg + turn_dps * step_s);
        self.way_mps = self.through.dot(Vec2::along(self.heading_deg, 1.0));
        (self.push_mps, self.yaw_dps) = (0.0, 0.0);
        self.drift = self.through - Vec2::along(self.heading_deg, self.way_mps);
        self.at += (self.through + stream) * step_s;
    }
}
