//! One boat's motion from imperfect fixes: predict, gate, update, coast.

mod bow;
mod choice;
mod estimate;
mod filter;
mod frozen;
mod gate;
mod grain;
mod past;
mod plane;
mod track;

pub use plane::Plane;
pub use track::{Track, Update};

use crate::{
    moment::Moment,
    units::{Bearing, Local, Velocity},
};

/// What is believed of one boat's motion at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// When, on our clock.
    pub at: Moment,
    /// Where.
    pub position: Local,
    /// One standard deviation of the position along each axis, metres (a receiver's error wanders
    /// for minutes).
    pub position_sd_m: f64,
    /// Over the ground.
    pub velocity: Velocity,
    /// One standard deviation of each velocity component, m/s.
    pub velocity_sd_mps: f64,
    /// What the receiver itself says of its motion at this fix, unsmoothed (Doppler, far better
    /// than positions at showing a sudden stop). Zero speed needs no course. `None` when it gave no
    /// speed, or speed without a course. Many phones say exactly 0 below a threshold of their own.
    pub said: Option<Velocity>,
    /// Course over the ground; `None` when too slow to say.
    pub course: Option<Bearing>,
    /// Which way the bow points, smoothed; `None` when neither a sensor nor speed tells.
    pub heading: Option<Bearing>,
    /// Whether `heading` comes from a sensor rather than from the course.
    pub heading_sensed: bool,
    /// Degrees a second, clockwise positive.
    pub turn_rate_dps: Option<f64>,
    /// Heel, degrees, positive to starboard; `None` when not sensed or too old.
    pub heel_deg: Option<f64>,
}

impl Motion {
    /// Speed over the ground, m/s.
    pub fn speed_mps(&self) -> f64 {
        self.velocity.speed_mps()
    }
}
