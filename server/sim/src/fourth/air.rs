//! The afternoon's wind: shifts slow enough to sail by, gusts that all share in part, sometimes a lull.

use std::f64::consts::TAU;

use super::curve::Curve;
use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps, wrap_360},
};

/// Share of the sessions with a lull over all.
const LULLS: f64 = 0.25;

/// Wind at one place and moment, 10 m up.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Air {
    pub(super) from_deg: f64,
    pub(super) mps: f64,
}

impl Air {
    /// The same wind as felt by what moves with `velocity`.
    pub(super) fn felt_by(self, velocity: Vec2) -> Air {
        let felt = Vec2::along(self.from_deg + 180.0, self.mps) - velocity;
        Air { from_deg: wrap_360(felt.bearing_deg() + 180.0), mps: felt.length() }
    }
}

#[derive(Clone, Debug)]
pub(super) struct Field {
    pub(super) from_deg: f64,
    pub(super) mean_mps: f64,
    /// What the gusts of single boats amount to, as a share of the wind, and how long they last.
    pub(super) gust_share: f64,
    pub(super) gust_tau_s: f64,
    shift: Wander,
    swing_deg: f64,
    swing_s: f64,
    swell: Wander,
    lull: Option<Curve>,
    dice: Dice,
}

impl Field {
    pub(super) fn draw(least_kn: f64, mut dice: Dice) -> Field {
        let lull = dice.chance(LULLS).then(|| {
            let (depth, lasts_s) = (dice.between(0.03, 0.2), dice.between(60.0, 240.0));
            let (falls_s, comes_s) = (dice.between(10.0, 40.0), dice.between(8.0, 40.0));
            let begins_s = dice.between(300.0, 3_100.0);
            Curve::from(1.0).hold(begins_s).to(falls_s, depth).hold(lasts_s).to(comes_s, 1.0)
        });
        Field {
            from_deg: dice.between(0.0, 360.0),
            mean_mps: mps(dice.between(least_kn, 18.0)),
            gust_share: dice.between(0.07, 0.2),
            gust_tau_s: dice.between(7.0, 22.0),
            shift: Wander::new(dice.between(2.0, 8.0), dice.between(180.0, 500.0), &mut dice),
            swing_deg: dice.between(0.0, 8.0),
            swing_s: dice.between(360.0, 900.0),
            swell: Wander::new(dice.between(0.04, 0.13), dice.between(20.0, 70.0), &mut dice),
            lull,
            dice,
        }
    }

    /// The wind all have in common.
    pub(super) fn step(&mut self, t_s: f64, step_s: f64) -> Air {
        let shift_deg = self.shift.step(step_s, &mut self.dice);
        let swing_deg = self.swing_deg * (TAU * t_s / self.swing_s).sin();
        let swell = self.swell.step(step_s, &mut self.dice);
        let lull = self.lull.as_ref().map_or(1.0, |lull| lull.at(t_s));
        Air {
            from_deg: wrap_360(self.from_deg + shift_deg + swing_deg),
            mps: (self.mean_mps * lull * (1.0 + swell)).max(0.2),
        }
    }

    /// Hardly any wind over all.
    pub(super) fn is_lull(&self, t_s: f64) -> bool {
        self.lull.as_ref().is_some_and(|lull| lull.at(t_s) < 0.6)
    }
}
