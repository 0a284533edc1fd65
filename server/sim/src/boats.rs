//! Invented classes of dinghy and how fast they sail.

use crate::plane::mps;

/// A class. Speeds follow from the waterline and the crew; nothing here is read by the watch.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Class {
    pub(crate) name: &'static str,
    pub(crate) waterline_m: f64,
    pub(crate) crew: u32,
    /// Fastest close-hauled and displacement speed, kn, in flat water with a good crew.
    pub(crate) top_kn: f64,
    /// Wind (m/s, at the sail) in which she reaches 63 % of it.
    pub(crate) wakes_at_mps: f64,
    /// Extra speed share on a reach for each m/s of wind past 6.5 m/s: planing.
    pub(crate) planing: f64,
    /// Closest angle to the wind a good crew holds, degrees (reference: 40 to 50).
    pub(crate) close_deg: f64,
    /// Time to lose 63 % of her way head to wind, s. Light boats stop within two or three lengths.
    pub(crate) carries_s: f64,
}

/// Three sizes met in schools: a two- or three-person trainer, a single-hander, a child's pram.
pub(crate) const CLASSES: [Class; 3] = [
    Class {
        name: "trainer",
        waterline_m: 3.9,
        crew: 3,
        top_kn: 4.9,
        wakes_at_mps: 3.2,
        planing: 0.07,
        close_deg: 45.0,
        carries_s: 4.5,
    },
    Class {
        name: "single-hander",
        waterline_m: 3.7,
        crew: 1,
        top_kn: 4.8,
        wakes_at_mps: 3.0,
        planing: 0.11,
        close_deg: 44.0,
        carries_s: 3.5,
    },
    Class {
        name: "pram",
        waterline_m: 2.2,
        crew: 1,
        top_kn: 3.5,
        wakes_at_mps: 2.7,
        planing: 0.03,
        close_deg: 48.0,
        carries_s: 3.0,
    },
];

/// Share of the class's speed at each true wind angle: none inside the no-go zone, most on a reach.
/// Shape from common experience; the speeds that result agree with the ranges in the reference
/// (close-hauled 1 to 2 kn in 4 to 6 kn of wind, 2.5 to 4 in 8 to 15).
const ANGLES: [(f64, f64); 9] = [
    (0.0, -0.10),
    (22.0, -0.02),
    (30.0, 0.22),
    (38.0, 0.62),
    (46.0, 0.84),
    (60.0, 0.98),
    (95.0, 1.10),
    (135.0, 1.02),
    (180.0, 0.80),
];

impl Class {
    /// Steady speed through the water with sails set, m/s, at a true wind angle (0..=180) and wind at the sail.
    pub(crate) fn speed_mps(&self, twa_deg: f64, wind_mps: f64) -> f64 {
        let angle = twa_deg.abs().min(180.0);
        let mut share = ANGLES[0].1;
        for pair in ANGLES.windows(2) {
            let [(a, low), (b, high)] = [pair[0], pair[1]];
            if angle >= a {
                share = low + (high - low) * ((angle - a) / (b - a)).min(1.0);
            }
        }
        if share < 0.0 {
            return share * 0.4 * wind_mps; // pushed astern by the flapping sail
        }
        let displacement = mps(self.top_kn) * (1.0 - (-wind_mps / self.wakes_at_mps).exp());
        let off_wind = ((angle - 60.0) / 35.0).clamp(0.0, 1.0) * ((175.0 - angle) / 30.0).clamp(0.0, 1.0);
        displacement * share * (1.0 + off_wind * self.planing * (wind_mps - 6.5).max(0.0))
    }
}
