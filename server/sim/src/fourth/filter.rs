//! A short Kalman filter of position and velocity, as receivers carry one: the less it believes in sudden
//! changes, the later it tells of them.

use crate::plane::Vec2;

/// How good the filter thinks a measured position is, m.
const PLACE_M: f64 = 3.0;

/// Both axes share their gains, so the covariance is kept once: of position, between, of velocity.
#[derive(Clone, Debug)]
pub(super) struct Filter {
    state: Option<(Vec2, Vec2)>,
    variance: [f64; 3],
    /// Expected change of velocity in a second, and how good a measured velocity is held to be, m/s.
    change_mps: f64,
    velocity_mps: f64,
}

impl Filter {
    pub(super) fn new(change_mps: f64, velocity_mps: f64) -> Filter {
        Filter { state: None, variance: [9.0, 0.0, 1.0], change_mps, velocity_mps }
    }

    /// One pair of measurements; gives the position and velocity believed after it.
    pub(super) fn step(&mut self, place: Vec2, velocity: Vec2, step_s: f64) -> (Vec2, Vec2) {
        let Some((at, way)) = self.state else {
            self.state = Some((place, velocity));
            return (place, velocity);
        };
        let q = self.change_mps.powi(2);
        let [pp, pv, vv] = self.variance;
        let pp = pp + 2.0 * step_s * pv + step_s * step_s * vv + q * step_s.powi(3) / 3.0;
        let pv = pv + step_s * vv + q * step_s.powi(2) / 2.0;
        let vv = vv + q * step_s;
        let at = at + way * step_s;
        // The position first, then the velocity.
        let (gain_p, gain_v) = (pp / (pp + PLACE_M.powi(2)), pv / (pp + PLACE_M.powi(2)));
        let missed = place - at;
        let (at, way) = (at + missed * gain_p, way + missed * gain_v);
        let (pp, pv, vv) = ((1.0 - gain_p) * pp, (1.0 - gain_p) * pv, vv - gain_v * pv);
        let sum = vv + self.velocity_mps.powi(2);
        let (gain_p, gain_v) = (pv / sum, vv / sum);
        let missed = velocity - way;
        let (at, way) = (at + missed * gain_p, way + missed * gain_v);
        self.variance = [pp - gain_p * pv, (1.0 - gain_v) * pv, (1.0 - gain_v) * vv];
        self.state = Some((at, way));
        (at, way)
    }
}
