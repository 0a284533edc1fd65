//! What a dinghy's state asks of her, and how she follows it: first-order lags, no forces.

use super::{
    STEP_S,
    boat::{Around, Boat, State},
    speed::speed_mps,
};
use crate::plane::{Vec2, fold_180, wrap_360};

/// What a state makes of her: angle off the wind, way through the water and the lag it follows with, drift.
pub(super) struct Wish {
    off_deg: f64,
    way_mps: f64,
    lag_s: f64,
    drift: Vec2,
}

impl Boat {
    pub(super) fn wish(&self, around: &Around) -> Wish {
        let wind = around.wind;
        let blown = |share: f64| wind.velocity() * share;
        let side = self.off_deg.signum();
        // Leeway under sail: a guess.
        let leeway = blown(if self.off_deg.abs() < 100.0 { 0.012 } else { 0.0 });
        let trimmed_mps =
            speed_mps(self.off_deg, wind.mps) * (self.trimmed + self.trim.value).clamp(0.4, 1.0);
        // She picks up in 5 s: a guess.
        let lag_s = if trimmed_mps > self.way_mps { 5.0 } else { self.carries_s };
        match self.state {
            State::Sailing => {
                let off_deg = self.wished_off_deg(around) + self.helm.value;
                Wish { off_deg, way_mps: trimmed_mps, lag_s, drift: leeway }
            }
            State::Turning { to_off_deg, .. } => {
                Wish { off_deg: to_off_deg, way_mps: trimmed_mps, lag_s, drift: leeway }
            }
            State::Stopped(stop) => {
                let creeps = around.t_s < stop.creeps_until_s;
                let way_mps = if creeps { 0.5 * trimmed_mps } else { stop.way * wind.mps };
                let off_deg = stop.off_deg + 1.5 * self.helm.value;
                Wish { off_deg, way_mps, lag_s: stop.lag_s, drift: blown(stop.drift) }
            }
            State::Capsized(over) => {
                // Her bow comes round to windward of the beam, slowly.
                let drift = over.drift(wind, around.t_s);
                Wish { off_deg: 70.0 * side, way_mps: 0.0, lag_s: over.lag_s, drift }
            }
            State::Recovering { .. } => {
                Wish { off_deg: 65.0 * side, way_mps: 0.02 * wind.mps, lag_s: 6.0, drift: blown(0.035) }
            }
            State::Towed { .. } => {
                let Some((line, pulls)) = around.tow else {
                    return Wish { off_deg: self.off_deg, way_mps: 0.0, lag_s: 6.0, drift: leeway };
                };
                let way = pulls - around.stream + (line - self.at) * 0.2;
                let off_deg = fold_180(wind.from_deg - way.bearing_deg());
                Wish { off_deg, way_mps: way.length().min(2.5), lag_s: 2.5, drift: Vec2::default() }
            }
        }
    }

    pub(super) fn follow(&mut self, wish: &Wish, around: &Around) {
        let to_turn_deg = fold_180(around.wind.from_deg - wish.off_deg - self.heading_deg);
        let by_deg = match self.state {
            State::Turning { dps, .. } => dps * STEP_S,
            // A hull on her side swings slowly, one with hardly any way does not answer her rudder.
            State::Capsized(_) => (to_turn_deg / 20.0).clamp(-4.0, 4.0) * STEP_S,
            _ => {
                let most_dps = 3.0 + 9.0 * (self.way_mps.abs() / 1.2).min(1.0);
                (to_turn_deg / 2.0).clamp(-most_dps, most_dps) * STEP_S
            }
        };
        self.heading_deg = wrap_360(self.heading_deg + by_deg);
        self.way_mps += (wish.way_mps - self.way_mps) * STEP_S / wish.lag_s;
        self.drift += (wish.drift - self.drift) * (STEP_S / 5.0);
        self.off_deg = fold_180(around.wind.from_deg - self.heading_deg);
    }
}
