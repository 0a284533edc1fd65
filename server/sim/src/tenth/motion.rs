//! How a hull moves: she follows what is asked of her with lags.

use super::STEP_S;
use crate::plane::{Vec2, fold_180, wrap_360};

/// What the moment asks of her.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wish {
    pub(super) heading_deg: f64,
    pub(super) turns_deg_s: f64,
    pub(super) way_mps: f64,
    /// In which two thirds of the change are made, s.
    pub(super) way_s: f64,
    /// Through the water besides her way.
    pub(super) drift: Vec2,
}

/// In which a drift sets in, s: a guess.
const DRIFT_S: f64 = 4.0;

#[derive(Clone, Copy, Debug)]
pub(super) struct Motion {
    pub(super) at: Vec2,
    pub(super) heading_deg: f64,
    pub(super) way_mps: f64,
    pub(super) drift: Vec2,
}

impl Motion {
    pub(super) fn follow(&mut self, wish: &Wish, stream: Vec2) {
        let error_deg = fold_180(wish.heading_deg - self.heading_deg);
        let most_deg = wish.turns_deg_s * STEP_S;
        // The last of a turn is made gently.
        let turn_deg = (error_deg * (STEP_S / 0.8)).clamp(-most_deg, most_deg);
        self.heading_deg = wrap_360(self.heading_deg + turn_deg);
        self.way_mps += (wish.way_mps - self.way_mps) * (1.0 - (-STEP_S / wish.way_s.max(0.1)).exp());
        self.drift += (wish.drift - self.drift) * (1.0 - (-STEP_S / DRIFT_S).exp());
        self.at += (self.through() + stream) * STEP_S;
    }

    /// Through the water, m/s.
    pub(super) fn through(&self) -> Vec2 {
        Vec2::along(self.heading_deg, self.way_mps) + self.drift
    }
}
