//! Which way the bow points: a sensor where it tells the truth, else the course.

use crate::{
    moment::Moment,
    units::{Bearing, Velocity},
};

/// Smoothing of a sensed heading, seconds: a hull of 4 m cannot turn much faster.
const SMOOTH_S: f64 = 0.8;

/// Smoothing of the turn rate, seconds.
const TURN_SMOOTH_S: f64 = 1.5;

/// A sensed heading older than this says nothing of now, ms.
const SENSED_MAX_AGE_MS: i64 = 5_000;

/// Slower than this, stream and wander rather than the bow decide the course, m/s.
const COURSE_SPEED_MPS: f64 = 0.5;

/// Faster than this, course and bow of a sailing hull agree within leeway and stream, m/s.
const CHECK_SPEED_MPS: f64 = 1.0;

/// Turning faster than this the course lags behind the bow, degrees a second.
const CHECK_TURN_DPS: f64 = 10.0;

/// Memory of the check of sensor against course, seconds under way: several legs, since a compass
/// beside a magnet can be right on one of them.
const CHECK_S: f64 = 300.0;

/// Seconds under way that the sensor is trusted before any was seen: a fixed compass is the rule,
/// and one that lies is found out within about this time.
const PRIOR_S: f64 = 20.0;

/// Below this mean resultant length of (heading - course) a sensor has nothing to do with the hull:
/// a phone in a pocket, a compass beside a magnet. 0.85 is a circular standard deviation of 33
/// degrees; of the recordings of one boat's evenings, one compass has 7 degrees and one has 60.
const HONEST_RESULTANT: f64 = 0.85;

/// The mean of (heading - course) may be this far off before the sensor is disbelieved, degrees:
/// leeway and a stream of a third of the boat's speed give 25.
const HONEST_OFFSET_DEG: f64 = 30.0;

/// Smooths and judges the headings of one boat.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Bow {
    sensed: Option<(Moment, Bearing)>,
    shown: Option<(Moment, Bearing)>,
    turn_dps: Option<f64>,
    /// Weighted sums of cos and sin of (heading - course), and of the weights, seconds.
    agree_cos: f64,
    agree_sin: f64,
    agree_s: f64,
}

/// What [`Bow`] makes of it all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pointing {
    pub(crate) heading: Option<Bearing>,
    pub(crate) sensed: bool,
    pub(crate) turn_dps: Option<f64>,
}

impl Bow {
    /// Takes one heading of the sensor.
    pub(crate) fn sense(&mut self, at: Moment, heading: Bearing) {
        let smoothed = match self.sensed {
            Some((then, before)) if at.ms_since(then) <= SENSED_MAX_AGE_MS => {
                let dt_s = at.s_since(then).max(0.0);
                let gain = 1.0 - (-dt_s / SMOOTH_S).exp();
                before.turned(gain * before.turn_to(heading))
            }
            _ => heading,
        };
        self.sensed = Some((at, smoothed));
    }

    /// Takes the velocity after a fix `dt_s` seconds after the one before, and says how she points.
    pub(crate) fn step(
        &mut self,
        at: Moment,
        dt_s: f64,
        velocity: Velocity,
        velocity_sd_mps: f64,
    ) -> Pointing {
        let speed_mps = velocity.speed_mps();
        let course = velocity
            .direction()
            .filter(|_| speed_mps > COURSE_SPEED_MPS && speed_mps > 2.0 * velocity_sd_mps);
        let sensed = self
            .sensed
            .filter(|(then, _)| at.ms_since(*then) <= SENSED_MAX_AGE_MS)
            .map(|(_, heading)| heading);
        if let (Some(heading), Some(course)) = (sensed, course)
            && speed_mps > CHECK_SPEED_MPS
            && self.turn_dps.is_none_or(|turn_dps| turn_dps.abs() < CHECK_TURN_DPS)
        {
            self.check(heading, course, dt_s.clamp(0.0, 5.0));
        }
        let sensed = sensed.filter(|_| self.honest());
        let heading = sensed.or(course);
        self.turn(at, heading);
        Pointing { heading, sensed: sensed.is_some(), turn_dps: self.turn_dps }
    }

    fn check(&mut self, heading: Bearing, course: Bearing, dt_s: f64) {
        let keep = (-dt_s / CHECK_S).exp();
        let (sin, cos) = course.turn_to(heading).to_radians().sin_cos();
        self.agree_cos = self.agree_cos * keep + cos * dt_s;
        self.agree_sin = self.agree_sin * keep + sin * dt_s;
        self.agree_s = self.agree_s * keep + dt_s;
    }

    /// Whether the sensor follows the hull, as far as is known.
    pub(crate) fn honest(&self) -> bool {
        let cos = self.agree_cos + PRIOR_S;
        let resultant = cos.hypot(self.agree_sin) / (self.agree_s + PRIOR_S);
        let offset_deg = self.agree_sin.atan2(cos).to_degrees();
        resultant >= HONEST_RESULTANT && offset_deg.abs() <= HONEST_OFFSET_DEG
    }

    fn turn(&mut self, at: Moment, heading: Option<Bearing>) {
        let Some(heading) = heading else {
            (self.shown, self.turn_dps) = (None, None);
            return;
        };
        if let Some((then, before)) = self.shown {
            let dt_s = at.s_since(then);
            if dt_s > 0.0 && dt_s <= 10.0 {
                let rate = before.turn_to(heading) / dt_s;
                let gain = 1.0 - (-dt_s / TURN_SMOOTH_S).exp();
                let last = self.turn_dps.unwrap_or(rate);
                self.turn_dps = Some(last + gain * (rate - last));
            } else if dt_s > 10.0 {
                self.turn_dps = None;
            }
        }
        self.shown = Some((at, heading));
    }
}
