//! How fast such a boat goes on each point of sailing.

use crate::plane::mps;

/// Of 4 m on the waterline (`hull_speed.csv`).
const HULL_KN: f64 = 4.86;
/// In so much wind she makes two thirds of it on a reach: a guess.
const TWO_THIRDS_KN: f64 = 9.5;
/// Angle off the wind, degrees, and the share of the best speed in that wind. Guesses of a general-purpose dinghy.
const SHARES: [(f64, f64); 8] = [
    (0.0, 0.0),
    (28.0, 0.05),
    (45.0, 0.66),
    (60.0, 0.84),
    (90.0, 1.0),
    (120.0, 0.97),
    (150.0, 0.8),
    (180.0, 0.7),
];

/// Through the water, sails trimmed well.
pub(super) fn speed_mps(off_deg: f64, wind_mps: f64) -> f64 {
    let best_mps = mps(HULL_KN) * (1.0 - (-1.1 * wind_mps / mps(TWO_THIRDS_KN)).exp());
    let off_deg = off_deg.abs().min(180.0);
    let between = SHARES.windows(2).find(|pair| off_deg <= pair[1].0);
    let share = between.map_or(0.0, |pair| {
        let ((from_deg, from), (to_deg, to)) = (pair[0], pair[1]);
        from + (to - from) * (off_deg - from_deg) / (to_deg - from_deg)
    });
    best_mps * share
}
