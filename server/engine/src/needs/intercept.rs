//! Meeting a moving target: course to steer and time.

use crate::units::{Bearing, Local, Velocity};

/// How a boat of a given speed meets a target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meeting {
    /// Seconds from now.
    pub after_s: f64,
    /// Course to steer; `None` when both are at one place already or the target comes to us.
    pub steer: Option<Bearing>,
    /// Where, as seen in the frame the velocity was given in.
    pub at: Local,
}

/// Rounding of the discriminant, as a share of the terms it is the difference of.
const ROUNDING: f64 = 1e-12;

/// Soonest meeting of a boat at `from`, able to make `speed_mps`, with a target at `target` moving at
/// `velocity`; `None` when they never meet (the target is as fast and not closing, or faster) or
/// only after a day and more.
///
/// Speed and velocity must be in one frame: with both in the same stream, that of the water.
/// With t the time and r the way to the target, |r + v t| = s t is divided by t and solved for 1/t,
/// so that equal speeds, where the equation in t has only one root, need no case of their own.
pub fn meet(from: Local, speed_mps: f64, target: Local, velocity: Velocity) -> Option<Meeting> {
    let (east, north) = (target.east_m - from.east_m, target.north_m - from.north_m);
    let distance2 = east * east + north * north;
    if distance2 == 0.0 {
        return Some(Meeting { after_s: 0.0, steer: None, at: target });
    }
    let opening = east * velocity.east_mps + north * velocity.north_mps;
    let target2 = velocity.east_mps.powi(2) + velocity.north_mps.powi(2);
    let spare = distance2 * (target2 - speed_mps * speed_mps);
    let discriminant = opening * opening - spare;
    let rounding = ROUNDING * (opening * opening + spare.abs());
    if discriminant < -rounding {
        return None;
    }
    let per_s = (discriminant.max(0.0).sqrt() - opening) / distance2;
    let after_s = 1.0 / per_s;
    // A meeting beyond a day is rounding, not a meeting.
    if !(after_s > 0.0 && after_s < 86_400.0) {
        return None;
    }
    let at = target.after(velocity, after_s);
    let steer = from.bearing_to(at).filter(|_| speed_mps > 0.0);
    Some(Meeting { after_s, steer, at })
}

/// When two boats are nearest, seconds from now (0 when they draw apart), and how near, metres.
pub fn closest(own: Local, own_velocity: Velocity, other: Local, other_velocity: Velocity) -> (f64, f64) {
    let relative = other_velocity.minus(own_velocity);
    let (east, north) = (other.east_m - own.east_m, other.north_m - own.north_m);
    let speed2 = relative.east_mps.powi(2) + relative.north_mps.powi(2);
    let closing = -(east * relative.east_mps + north * relative.north_mps);
    let after_s = if speed2 > 0.0 { (closing / speed2).max(0.0) } else { 0.0 };
    let nearest = own.after(own_velocity, after_s);
    (after_s, nearest.distance_m(other.after(other_velocity, after_s)))
}
