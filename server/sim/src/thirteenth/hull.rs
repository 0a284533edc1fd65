//! A hull: speed and heading as damped second-order responses to what is wished of them.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, fold_180, mps},
};

/// Faster than this nobody turns a dinghy, degrees a second; a guess.
const TURNS_DPS: f64 = 32.0;

#[derive(Clone, Debug)]
pub(super) struct Hull {
    pub(super) long_m: f64,
    /// Not wrapped, so that a turn has a hand.
    pub(super) heading_deg: f64,
    turning_dps: f64,
    /// Course the helm holds.
    aim_deg: f64,
    /// Hand of the turn she is in, clockwise above 0; 0 for the nearer one.
    pub(super) hand: f64,
    pub(super) way_mps: f64,
    gains_mps2: f64,
    /// How quickly she gathers and loses way, and answers the helm, rad/s.
    quick: f64,
    loses: f64,
    answers: f64,
    pub(super) damped: f64,
    surge: Wander,
}

impl Hull {
    pub(super) fn draw(long_m: f64, heading_deg: f64, way_mps: f64, dice: &mut Dice) -> Hull {
        Hull {
            long_m,
            heading_deg,
            turning_dps: 0.0,
            aim_deg: heading_deg,
            hand: 0.0,
            way_mps,
            gains_mps2: 0.0,
            quick: dice.between(0.32, 0.56),
            loses: dice.between(0.26, 0.46),
            answers: dice.between(0.7, 1.3),
            damped: dice.between(0.9, 1.2),
            surge: Wander::new(dice.between(0.03, 0.07), 3.0, dice),
        }
    }

    /// Towards that heading, the helm moving so fast.
    pub(super) fn steer(&mut self, to_deg: f64, helm_dps: f64, dt_s: f64) {
        let mut left_deg = fold_180(to_deg - self.aim_deg);
        if left_deg.abs() < 12.0 {
            self.hand = 0.0;
        } else if left_deg * self.hand < 0.0 {
            left_deg += 360.0 * self.hand;
        }
        self.aim_deg += left_deg.clamp(-helm_dps * dt_s, helm_dps * dt_s);
        let w = self.answers;
        let pull = w * w * (self.aim_deg - self.heading_deg) - 1.7 * w * self.turning_dps;
        self.turning_dps = (self.turning_dps + pull * dt_s).clamp(-TURNS_DPS, TURNS_DPS);
        self.heading_deg += self.turning_dps * dt_s;
    }

    /// Towards that way; `stops` is how quickly instead of her own manner.
    pub(super) fn drive(&mut self, to_mps: f64, stops: Option<f64>, dt_s: f64) {
        let own = if to_mps < self.way_mps { self.loses } else { self.quick };
        let w = stops.unwrap_or(own);
        let pull = w * w * (to_mps - self.way_mps) - 2.0 * self.damped * w * self.gains_mps2;
        self.gains_mps2 += pull * dt_s;
        self.way_mps += self.gains_mps2 * dt_s;
    }

    /// Speed through the water along the bow, with the surge of sea and crew when she moves.
    pub(super) fn ahead(&mut self, dt_s: f64, dice: &mut Dice) -> Vec2 {
        let surge_mps = self.surge.step(dt_s, dice) * (0.4 + 0.6 * (self.way_mps / 1.5).clamp(0.0, 1.0));
        Vec2::along(self.heading_deg, self.way_mps + surge_mps)
    }

    /// What a good crew would make at that angle in that wind, m/s.
    pub(super) fn could_mps(&self, off_deg: f64, wind_mps: f64) -> f64 {
        // Hull speed 1.34 times the root of the waterline in feet (`hull_speed.csv`); the rest is a guess at the
        // speeds of `detection.md`: close-hauled 2.5 to 4 kn in 8 to 15, a reach 4 to 7, a run somewhat less.
        let hull_mps = mps(1.34 * (0.93 * self.long_m / 0.3048).sqrt());
        let table = [
            (25.0, 0.0),
            (38.0, 0.45),
            (48.0, 0.78),
            (70.0, 1.0),
            (100.0, 1.12),
            (135.0, 1.05),
            (181.0, 0.82),
        ];
        let off_deg = off_deg.abs();
        let mut share = 0.0;
        for pair in table.windows(2) {
            let ((from, low), (to, high)) = (pair[0], pair[1]);
            if (from..to).contains(&off_deg) {
                share = low + (high - low) * (off_deg - from) / (to - from);
            }
        }
        // Off the wind she planes when it blows.
        let planes = if off_deg > 80.0 { 1.0 + 0.08 * (wind_mps - 7.0).clamp(0.0, 4.0) } else { 1.0 };
        hull_mps * share * (1.0 - (-wind_mps / 3.2).exp()) * planes
    }
}
