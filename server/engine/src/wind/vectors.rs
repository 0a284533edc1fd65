//! Wind arithmetic: felt and true wind, and averages of directions.
//!
//! A wind is kept as the velocity of the air, towards where it goes; words and bearings of wind say
//! where it comes from.

use crate::units::{Bearing, Velocity};

/// Below this resultant length directions cancel and have no mean (`circular.csv`, C04 and C05).
const RESULTANT_MIN: f64 = 1e-12;

/// The velocity of the air over the ground from what a moving vane feels.
///
/// `angle_deg` is counted from the bow, positive to starboard; `motion` is the vane's motion over
/// the ground (course and speed, not heading), `heading` turns the angle into a direction.
pub fn air_from_apparent(heading: Bearing, angle_deg: f64, speed_mps: f64, motion: Velocity) -> Velocity {
    air_from(heading.turned(angle_deg), speed_mps).plus(motion)
}

/// The velocity of air that comes from `from` at `speed_mps`.
pub fn air_from(from: Bearing, speed_mps: f64) -> Velocity {
    Velocity::towards(from.reversed(), speed_mps)
}

/// Where moving air comes from; `None` in a calm.
pub fn from_of(air: Velocity) -> Option<Bearing> {
    // Rounding leaves a trace of motion where the parts cancel; no vane sees 1e-9 m/s.
    (air.speed_mps() > 1e-9).then(|| air.direction().map(Bearing::reversed)).flatten()
}

/// What is felt aboard a boat moving at `motion`: signed angle from the bow and speed in m/s.
///
/// The angle is `None` when no air moves past her.
pub fn apparent(air: Velocity, motion: Velocity, heading: Bearing) -> (Option<f64>, f64) {
    let felt = air.minus(motion);
    let angle = from_of(felt).map(|from| heading.turn_to(from));
    (angle, felt.speed_mps())
}

/// The signed angle of a wind to the bow, in `-180.0..180.0`; positive: starboard tack.
pub fn wind_angle(from: Bearing, heading: Bearing) -> f64 {
    heading.turn_to(from)
}

/// A running mean of directions, each with a weight.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DirectionMean {
    sin: f64,
    cos: f64,
    weight: f64,
}

impl DirectionMean {
    /// Takes one direction in; a weight that is not positive and finite changes nothing.
    pub fn add(&mut self, direction: Bearing, weight: f64) {
        if weight > 0.0 && weight.is_finite() {
            let (sin, cos) = direction.deg().to_radians().sin_cos();
            self.sin += weight * sin;
            self.cos += weight * cos;
            self.weight += weight;
        }
    }

    /// Lets all that was taken in count for `share` (0..=1) of what it did.
    pub fn fade(&mut self, share: f64) {
        self.sin *= share;
        self.cos *= share;
        self.weight *= share;
    }

    /// The sum of the weights taken in, faded.
    pub fn weight(&self) -> f64 {
        self.weight
    }

    /// Resultant length, 0..=1: 1 when all agree; 0 before anything was taken in.
    pub fn resultant(&self) -> f64 {
        if self.weight > 0.0 { (self.sin.hypot(self.cos) / self.weight).min(1.0) } else { 0.0 }
    }

    /// The mean direction; `None` when the directions cancel.
    pub fn mean(&self) -> Option<Bearing> {
        (self.resultant() > RESULTANT_MIN).then(|| Bearing::wrap(self.sin.atan2(self.cos).to_degrees()))
    }

    /// Circular standard deviation `sqrt(-2 ln R)` in degrees; `None` when there is no mean.
    ///
    /// Source: Mardia, K. V. and Jupp, P. E., Directional Statistics, 2000 (from memory); agrees
    /// with `scipy.stats.circstd` in `circular.csv`.
    pub fn sd_deg(&self) -> Option<f64> {
        (self.resultant() > RESULTANT_MIN)
            .then(|| (-2.0 * self.resultant().ln()).max(0.0).sqrt().to_degrees())
    }
}
