//! A session's kind of boat: how fast, how close to the wind, how she gathers and loses way.

use super::widely;
use crate::dice::Dice;

/// Water's pull, m/s2.
const GRAVITY: f64 = 9.81;

#[derive(Clone, Debug)]
pub(super) struct Hull {
    pub(super) waterline_m: f64,
    /// Closest to the wind she sails.
    pub(super) no_go_deg: f64,
    top_mps: f64,
    /// Wind in which she has about two thirds of her top speed.
    rises_mps: f64,
    /// Shares of it close-hauled and on a run.
    close: f64,
    run: f64,
    /// From which wind she planes, and how much faster for each m/s more.
    planes: Option<(f64, f64)>,
    pub(super) gathers_s: f64,
    /// With her sheets eased, and head to wind.
    pub(super) loses_s: f64,
    pub(super) luffs_s: f64,
    pub(super) turns_deg_s: f64,
    pub(super) leeway_deg: f64,
    /// Drift with sails flapping: share of the wind, and how far off downwind it may be.
    pub(super) flaps: f64,
    pub(super) flaps_deg: f64,
    pub(super) astern_mps: f64,
}

impl Hull {
    /// Guesses all, but the speed of a wave as long as her waterline (`hull_speed.csv`), leeway of some degrees
    /// (`wind.md`) and the drift of upright boats, 1.8 to 3.7 % of the wind (`leeway.md`), which is taken wider.
    pub(super) fn draw(dice: &mut Dice) -> Hull {
        let waterline_m = dice.between(2.4, 5.2);
        let planes = dice.chance(0.5);
        Hull {
            waterline_m,
            no_go_deg: dice.between(36.0, 55.0),
            top_mps: (GRAVITY * waterline_m / std::f64::consts::TAU).sqrt(),
            rises_mps: dice.between(2.2, 5.0),
            close: dice.between(0.6, 0.9),
            run: dice.between(0.6, 0.95),
            planes: planes.then(|| (dice.between(6.0, 9.0), dice.between(0.04, 0.15))),
            gathers_s: widely(dice, 2.5, 12.0),
            loses_s: widely(dice, 5.0, 20.0),
            luffs_s: widely(dice, 5.0, 14.0),
            turns_deg_s: widely(dice, 10.0, 35.0),
            leeway_deg: dice.between(2.0, 9.0),
            flaps: widely(dice, 0.01, 0.042),
            flaps_deg: dice.between(0.0, 45.0),
            astern_mps: dice.between(0.0, 0.35),
        }
    }

    /// Another boat of the kind.
    pub(super) fn sister(&self, dice: &mut Dice) -> Hull {
        let mut sister = self.clone();
        sister.top_mps *= dice.log_normal(1.0, 0.04);
        sister.no_go_deg += 1.5 * dice.normal();
        sister.gathers_s *= dice.log_normal(1.0, 0.1);
        sister.loses_s *= dice.log_normal(1.0, 0.1);
        sister.flaps = (sister.flaps * dice.log_normal(1.0, 0.15)).min(0.06);
        sister
    }

    /// Well sailed.
    pub(super) fn speed_mps(&self, off_deg: f64, wind_mps: f64) -> f64 {
        let off_deg = off_deg.abs();
        let pinched_deg = self.no_go_deg * 0.6;
        let between = |from: (f64, f64), to: (f64, f64)| {
            from.1 + (to.1 - from.1) * ((off_deg - from.0) / (to.0 - from.0)).clamp(0.0, 1.0)
        };
        let shape = match off_deg {
            off if off < self.no_go_deg => between((pinched_deg, 0.0), (self.no_go_deg, self.close)),
            off if off < 100.0 => between((self.no_go_deg, self.close), (100.0, 1.0)),
            _ => between((110.0, 1.0), (180.0, self.run)),
        };
        let planing = match self.planes {
            Some((from_mps, gain)) if (80.0..160.0).contains(&off_deg) => {
                gain * (wind_mps - from_mps).max(0.0)
            }
            _ => 0.0,
        };
        self.top_mps * (1.0 - (-wind_mps / self.rises_mps).exp()) * shape * (1.0 + planing.min(0.8))
    }
}
