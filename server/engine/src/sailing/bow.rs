//! Which way the bow points, as well as it can be known from a track.

use crate::{
    moment::Moment,
    tracks::Motion,
    units::{Bearing, fold},
    wind::WaterWind,
};

/// Below this speed through the water a course does not tell which way a boat points, m/s.
const COURSE_MPS: f64 = 0.45;
/// A compass further than this from the course, on the whole, is in a hand or a pocket, degrees.
/// Leeway, stream and a badly set compass stay well below it.
const HONEST_DEG: f64 = 30.0;
/// Time constant of that comparison, s.
const HONESTY_S: f64 = 40.0;

/// What is known of one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pointing {
    /// The way she points, or moves through the water; `None` when neither is known.
    pub heading: Option<Bearing>,
    /// The same unwrapped: turns add up.
    pub unwrapped_deg: f64,
    /// Through the water as far as the stream is known, m/s.
    pub speed_mps: f64,
}

/// Follows one boat's bow.
#[derive(Clone, Debug, Default)]
pub struct Bow {
    unwrapped_deg: f64,
    begun: bool,
    seen: Option<Moment>,
    /// Mean distance of compass and course, degrees; `None` until compared.
    compass_off_deg: Option<f64>,
}

impl Bow {
    /// Takes in her newest motion.
    pub fn see(&mut self, motion: &Motion, wind: Option<&WaterWind>) -> Pointing {
        let stream = wind.map_or_else(Default::default, |wind| wind.stream);
        let through_water = motion.velocity.minus(stream);
        let speed_mps = through_water.speed_mps();
        let course =
            through_water.direction().filter(|_| speed_mps >= COURSE_MPS.max(1.5 * motion.velocity_sd_mps));
        let elapsed_s = self.seen.map_or(1.0, |seen| motion.at.s_since(seen).clamp(0.0, 5.0));
        self.seen = Some(motion.at);
        let sensed = motion.heading.filter(|_| motion.heading_sensed);
        if let (Some(sensed), Some(course)) = (sensed, course)
            && speed_mps > 1.0
        {
            let off = sensed.turn_to(course).abs();
            let share = 1.0 - (-elapsed_s / HONESTY_S).exp();
            let before = self.compass_off_deg.unwrap_or(off);
            self.compass_off_deg = Some(before + share * (off - before));
        }
        let honest = self.compass_off_deg.is_some_and(|off| off <= HONEST_DEG);
        let heading = sensed.filter(|_| honest).or(course);
        if let Some(heading) = heading {
            self.unwrapped_deg = if self.begun {
                self.unwrapped_deg + fold(heading.deg() - self.unwrapped_deg)
            } else {
                heading.deg()
            };
            self.begun = true;
        }
        Pointing { heading, unwrapped_deg: self.unwrapped_deg, speed_mps }
    }
}
