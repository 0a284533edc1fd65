//! One wind instrument: what it says, smoothed, and how far it can be believed.

use super::{
    gusts::Gusts,
    vectors::{DirectionMean, air_from_apparent, from_of},
};
use crate::{
    fixes::What,
    moment::Moment,
    tracks::Motion,
    units::{Bearing, Velocity},
};

/// What a vane is fixed to.
#[derive(Clone, Copy, Debug)]
pub enum Carrier<'a> {
    /// A mast that does not move. Its angles count from `heading` where a compass gives one, else
    /// from true north, as such masts are usually set up (common practice, no source).
    Mast {
        /// Which way its zero points.
        heading: Option<Bearing>,
    },
    /// A boat under way, as her track believes her to be moving.
    Afloat(&'a Motion),
}

/// Time constant of a vane's smoothing, s. A wind wanders 5 to 10 degrees over minutes
/// (`wind.md`, common practice): slower would lag behind it, faster would follow every gust.
const SMOOTHING_S: f64 = 25.0;
/// A vane not heard for this long says nothing any more, s.
const STALE_S: f64 = 120.0;
/// Gusts turn the wind for about this long, so readings closer together are not independent, s.
const GUST_S: f64 = 8.0;
/// Error of a well set-up mast that no averaging takes away, degrees (our choice; the reference
/// gives 7 for a masthead vane before calibration).
const MAST_BIAS_DEG: f64 = 3.0;
/// The same for a vane afloat with a compass (EP 2354798, para 0002: 7 degrees).
const AFLOAT_BIAS_DEG: f64 = 7.0;
/// The same when the course has to stand for the heading: leeway of 3 to 8 degrees on top.
const NO_COMPASS_BIAS_DEG: f64 = 9.0;
/// Under this speed a course does not tell which way the bow points, m/s.
const COURSE_IS_HEADING_MPS: f64 = 1.0;

/// One instrument's wind over the ground.
#[derive(Clone, Debug)]
pub struct Vane {
    direction: DirectionMean,
    speed_sum: f64,
    speed_weight: f64,
    bias_deg: f64,
    heard: Moment,
    began: Moment,
    /// A compass direction was heard of late: it is preferred to angles from a moving bow.
    compass_heard: Option<Moment>,
    /// Its recent strength.
    pub gusts: Gusts,
}

impl Vane {
    /// A vane of which nothing was heard yet.
    pub fn new(now: Moment) -> Vane {
        Vane {
            direction: DirectionMean::default(),
            speed_sum: 0.0,
            speed_weight: 0.0,
            bias_deg: AFLOAT_BIAS_DEG,
            heard: now,
            began: now,
            compass_heard: None,
            gusts: Gusts::default(),
        }
    }

    /// Takes one statement in; `false` when it says nothing of the wind or cannot be used.
    pub fn hear(&mut self, now: Moment, carrier: Carrier<'_>, what: &What) -> bool {
        let Some(reading) = read(carrier, what) else {
            return false;
        };
        if matches!(what, What::GroundWind { .. }) {
            self.compass_heard = Some(now);
        } else if self.compass_heard.is_some_and(|at| now.s_since(at) < 10.0) {
            return false; // the instrument itself reckons the same wind better
        }
        let elapsed_s = now.s_since(self.heard).max(0.0);
        let keep = (-elapsed_s / SMOOTHING_S).exp();
        // Several readings a second must not count for more than one.
        let weight = if self.direction.weight() > 0.0 { elapsed_s.clamp(0.05, 2.0) } else { 1.0 };
        self.direction.fade(keep);
        self.speed_sum *= keep;
        self.speed_weight *= keep;
        if let Some(from) = reading.from {
            self.direction.add(from, weight);
        }
        if let Some(speed_mps) = reading.speed_mps {
            self.speed_sum += weight * speed_mps;
            self.speed_weight += weight;
            self.gusts.hear(now, speed_mps);
        }
        self.bias_deg = reading.bias_deg;
        self.heard = now;
        true
    }

    /// When it last spoke.
    pub fn heard(&self) -> Moment {
        self.heard
    }

    /// Where its wind comes from and one standard deviation in degrees; `None` when stale.
    pub fn direction(&self, now: Moment) -> Option<(Bearing, f64)> {
        let age_s = now.s_since(self.heard);
        if age_s > STALE_S {
            return None;
        }
        let from = self.direction.mean()?;
        let spread_deg = self.direction.sd_deg()?;
        let span_s = self.heard.s_since(self.began).min(2.0 * SMOOTHING_S);
        let independent = 1.0 + span_s / GUST_S;
        let variance = self.bias_deg.powi(2)
            + spread_deg.powi(2) / independent
            + super::DRIFT_DEG2_PER_S * age_s.max(0.0);
        Some((from, variance.sqrt()))
    }

    /// Mean speed in m/s; `None` when stale or never said.
    pub fn speed_mps(&self, now: Moment) -> Option<f64> {
        (now.s_since(self.heard) <= STALE_S && self.speed_weight > 0.0)
            .then(|| self.speed_sum / self.speed_weight)
    }
}

/// One reading turned into a wind over the ground.
struct Reading {
    from: Option<Bearing>,
    speed_mps: Option<f64>,
    bias_deg: f64,
}

fn read(carrier: Carrier<'_>, what: &What) -> Option<Reading> {
    match *what {
        What::GroundWind { from, speed_mps } => Some(Reading {
            from: Some(from),
            speed_mps,
            bias_deg: match carrier {
                Carrier::Mast { .. } => MAST_BIAS_DEG,
                Carrier::Afloat(_) => AFLOAT_BIAS_DEG,
            },
        }),
        What::ApparentWind { angle_deg, speed_mps } => {
            let (heading, motion, bias_deg) = frame(carrier)?;
            let air = air_from_apparent(heading, angle_deg, speed_mps, motion);
            Some(Reading { from: from_of(air), speed_mps: Some(air.speed_mps()), bias_deg })
        }
        What::TrueWindFromBow { angle_deg, speed_mps } => {
            let (heading, _, bias_deg) = frame(carrier)?;
            Some(Reading { from: Some(heading.turned(angle_deg)), speed_mps: Some(speed_mps), bias_deg })
        }
        _ => None,
    }
}

/// Which way the carrier's bow points, how it moves, and how well its vane can be believed.
fn frame(carrier: Carrier<'_>) -> Option<(Bearing, Velocity, f64)> {
    match carrier {
        Carrier::Mast { heading } => {
            Some((heading.unwrap_or(Bearing::NORTH), Velocity::default(), MAST_BIAS_DEG))
        }
        Carrier::Afloat(motion) if motion.heading_sensed => {
            Some((motion.heading?, motion.velocity, AFLOAT_BIAS_DEG))
        }
        Carrier::Afloat(motion) if motion.speed_mps() >= COURSE_IS_HEADING_MPS => {
            Some((motion.course?, motion.velocity, NO_COMPASS_BIAS_DEG))
        }
        Carrier::Afloat(_) => None,
    }
}
