//! How fast a training dinghy sails: one table over the angle to the wind, one curve over its strength.

use crate::plane::{kn, mps};

/// Angle off the wind, degrees, and share of the speed on a beam reach: a guess in the shape of any dinghy's polar.
const SHAPE: [(f64, f64); 9] = [
    (0.0, 0.0),
    (25.0, 0.05),
    (35.0, 0.4),
    (45.0, 0.68),
    (60.0, 0.86),
    (90.0, 1.0),
    (120.0, 0.98),
    (150.0, 0.8),
    (180.0, 0.7),
];
/// Reaching: 2 to 3 kn in 4 to 6 kn of wind, 4 to 7 in 8 to 15 (`detection.md`, typical training dinghy).
const MOST_KN: f64 = 6.5;
const WIND_KN: f64 = 9.0;

/// Way that the sails give at last, m/s, of an average crew.
pub(super) fn way_mps(off_deg: f64, wind_mps: f64) -> f64 {
    let off_deg = off_deg.abs().min(180.0);
    let shape = SHAPE.windows(2).find_map(|leg| match leg {
        [(low, less), (high, more)] if (*low..=*high).contains(&off_deg) => {
            Some(less + (more - less) * (off_deg - low) / (high - low))
        }
        _ => None,
    });
    let reach_kn = MOST_KN * (1.0 - (-kn(wind_mps) / WIND_KN).exp());
    mps(reach_kn * shape.unwrap_or_default())
}
