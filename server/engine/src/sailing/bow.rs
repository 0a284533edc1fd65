//! Which way the bow points, as well as it can be known from a track.

use crate::{
    moment::Moment,
    tracks::Motion,
    units::{Bearing, Velocity, fold},
    wind::WaterWind,
};

/// Below this speed through the water a course does not tell which way a boat points, m/s.
const COURSE_MPS: f64 = 0.4;
/// Nor below this share of her own brisk speed: a boat in irons goes astern, and one that lies
/// there drifts downwind, and both would read as running.
const COURSE_SHARE: f64 = 0.4;
/// Way lost is regained downwind only at this share of it.
const UNDER_WAY_SHARE: f64 = 0.65;
/// Further than this off the wind is downwind here, degrees.
const ADRIFT_DEG: f64 = 115.0;
/// After a while without way a turn up to this is taken to have gone through the wind, degrees.
const GAP_TURN_DEG: f64 = 250.0;
/// Time constants of the brisk speed, s: it rises within a board and falls with the wind.
const BRISK_RISE_S: f64 = 12.0;
const BRISK_FALL_S: f64 = 400.0;
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
    /// Whether that is way enough for her to steer and for her course to mean anything.
    pub way: bool,
    /// For how long the heading was unknown before this moment, s; 0 while it is known throughout.
    pub unseen_s: f64,
}

/// Follows one boat's bow.
#[derive(Clone, Debug, Default)]
pub struct Bow {
    unwrapped_deg: f64,
    begun: bool,
    known: Option<Moment>,
    adrift: bool,
    brisk_mps: f64,
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
        let elapsed_s = self.seen.map_or(1.0, |seen| motion.at.s_since(seen).clamp(0.0, 5.0));
        self.seen = Some(motion.at);
        let time_s = if speed_mps > self.brisk_mps { BRISK_RISE_S } else { BRISK_FALL_S };
        self.brisk_mps += (1.0 - (-elapsed_s / time_s).exp()) * (speed_mps - self.brisk_mps);
        let way = self.way(through_water, motion.velocity_sd_mps, wind);
        let course = through_water.direction().filter(|_| way);
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
        // Fixes 5 s apart leave no gap by themselves.
        let unseen_s = match (heading, self.known) {
            (Some(_), Some(known)) => motion.at.s_since(known) - elapsed_s,
            (_, _) => 0.0,
        };
        let unseen_s = if unseen_s > 0.5 { unseen_s } else { 0.0 };
        if let Some(heading) = heading {
            self.known = Some(motion.at);
            self.unwrapped_deg = match (self.begun, wind) {
                (false, _) => heading.deg(),
                (true, Some(wind)) if unseen_s > 0.0 => self.after_a_gap(heading, wind),
                (true, _) => self.unwrapped_deg + fold(heading.deg() - self.unwrapped_deg),
            };
            self.begun = true;
        }
        Pointing { heading, unwrapped_deg: self.unwrapped_deg, speed_mps, way, unseen_s }
    }

    /// Whether she has way on. Once lost it is not regained by moving downwind slowly: that is how
    /// a boat moves which lies in irons, on her side or with sails let go.
    fn way(&mut self, through_water: Velocity, velocity_sd_mps: f64, wind: Option<&WaterWind>) -> bool {
        let speed_mps = through_water.speed_mps();
        let steers_mps = COURSE_MPS.max(COURSE_SHARE * self.brisk_mps).max(velocity_sd_mps);
        let off_wind = wind
            .zip(through_water.direction())
            .map_or(180.0, |(wind, course)| course.turn_to(wind.from).abs());
        let needs_mps = if off_wind > ADRIFT_DEG {
            if self.adrift { steers_mps.max(UNDER_WAY_SHARE * self.brisk_mps) } else { steers_mps }
        } else {
            0.3f64.max(0.25 * self.brisk_mps).max(velocity_sd_mps)
        };
        self.adrift = speed_mps < needs_mps;
        !self.adrift
    }

    /// The heading unwrapped after a while in which it could not be known. A boat without way
    /// falls off to either side of the wind; she does not bear away before it.
    fn after_a_gap(&self, heading: Bearing, wind: &WaterWind) -> f64 {
        let before = fold(wind.from.deg() - self.unwrapped_deg);
        let after = heading.turn_to(wind.from);
        let through_head_deg = before - after;
        let turn_deg = if through_head_deg.abs() <= GAP_TURN_DEG {
            through_head_deg
        } else {
            fold(heading.deg() - self.unwrapped_deg)
        };
        self.unwrapped_deg + turn_deg
    }
}
