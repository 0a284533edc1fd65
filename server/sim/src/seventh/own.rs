//! What a boat and her crew are like, for the whole session.

use crate::dice::Dice;

#[derive(Clone, Debug)]
pub(super) struct Own {
    pub(super) waterline_m: f64,
    /// Hull speed times how well she is sailed.
    top_mps: f64,
    pub(super) pointing_deg: f64,
    pub(super) running_deg: f64,
    /// To gather way, s.
    pub(super) gathers_s: f64,
    /// How far she shoots without sails from a good speed, m, in a first guess.
    pub(super) shoots_m: f64,
    /// Of the wind, lying stopped and upright.
    pub(super) windage: f64,
    pub(super) steers_deg: f64,
    pub(super) steers_s: f64,
    /// 1: the average beginner; more: worse.
    pub(super) green: f64,
    pub(super) patience: f64,
    /// Way left on in a stop, over that of others.
    pub(super) creeps: f64,
}

impl Own {
    pub(super) fn draw(dice: &mut Dice) -> Own {
        let waterline_m = dice.between(3.0, 4.3);
        // 1.34 kn per root foot (hull_speed.csv) is 1.25 m/s per root metre.
        let hull_mps = 1.25 * f64::sqrt(waterline_m);
        Own {
            waterline_m,
            top_mps: hull_mps * dice.between(0.85, 1.12),
            // 40 to 50 degrees; beginners lower (wind.md).
            pointing_deg: dice.between(44.0, 58.0),
            running_deg: dice.between(145.0, 172.0),
            gathers_s: dice.log_normal(6.5, 0.35),
            // No boat of the recordings loses half of her way in 3 s but once in a hundred slowings.
            shoots_m: dice.log_normal(15.0, 0.3).max(9.0),
            // 2.9 % of the wind: V-hull skiff upright (leeway.csv); sails make it less or more.
            windage: dice.between(0.014, 0.034),
            steers_deg: dice.between(4.0, 12.5),
            steers_s: dice.between(6.0, 18.0),
            green: dice.log_normal(1.0, 0.45),
            patience: dice.log_normal(1.0, 0.2),
            creeps: dice.log_normal(1.0, 0.35),
        }
    }

    /// The speed she settles on, m/s: between those that detection.md gives for close-hauled and reaching
    /// training dinghies in light and in moderate wind.
    pub(super) fn settles_mps(&self, off_deg: f64, wind_mps: f64) -> f64 {
        const SHAPE: [(f64, f64); 8] = [
            (0.0, 0.0),
            (24.0, 0.0),
            (36.0, 0.42),
            (47.0, 0.70),
            (70.0, 0.90),
            (100.0, 1.0),
            (140.0, 0.90),
            (180.0, 0.76),
        ];
        let off_deg = off_deg.abs().min(180.0);
        let upper = SHAPE.iter().position(|(deg, _)| *deg >= off_deg).unwrap_or(SHAPE.len() - 1).max(1);
        let ((low_deg, low), (high_deg, high)) = (SHAPE[upper - 1], SHAPE[upper]);
        let shape = low + (high - low) * (off_deg - low_deg) / (high_deg - low_deg);
        let drive = 1.0 - (-wind_mps / 3.2).exp();
        // Off the wind the light ones begin to plane.
        let planes = if off_deg > 80.0 { 0.09 * (wind_mps - 6.0).clamp(0.0, 4.0) } else { 0.0 };
        self.top_mps * shape * (drive + planes)
    }
}
