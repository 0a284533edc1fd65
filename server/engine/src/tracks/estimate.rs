//! Position and velocity on both axes: carried forward, told things, surprised.

use crate::{
    moment::Moment,
    tracks::filter::Axis,
    units::{Bearing, Local, Velocity},
};

/// Standard deviation of a reported speed and course along each axis: this much, m/s ...
const DOPPLER_SD_MPS: f64 = 0.15;

/// ... and this much for every metre of stated accuracy: few satellites spoil both. Doppler is good
/// to about 0.05 m/s (from memory); a bouncing antenna and a phone's own smoothing cost more. The
/// still receiver of the field data (11 m stated) wanders by 0.4 m/s.
const DOPPLER_SD_PER_M: f64 = 0.02;

/// ... and this much of the speed, for its course.
const DOPPLER_SD_SHARE: f64 = 0.03;

/// Standard deviation of "exactly 0" from a receiver that may mean "below my threshold", m/s.
const ZERO_SD_MPS: f64 = 0.3;

/// Speed below which a receiver that gives no course is taken to be about at rest, m/s.
const CRAWL_MPS: f64 = 0.5;

/// Density of acceleration of a boat with way on, m^2/s^3: 0.22 m/s of change in a second.
pub(crate) const WAY_Q: f64 = 0.05;

/// The same of a boat that lies still: waves, and nothing else.
const REST_Q: f64 = 0.01;

/// Speed at which she has way on, m/s.
const WAY_MPS: f64 = 1.0;

/// Variance of a velocity of which nothing is known, m^2/s^2.
const UNKNOWN_VAR: f64 = 4.0;

/// Squared normalised surprise above which the motion has changed: 1 % of the time by chance for
/// two degrees of freedom.
const SURPRISE: f64 = 9.2;

/// Largest change of velocity read from positions alone, m/s: a tack at 3 m/s.
pub(crate) const TURN_MPS: f64 = 4.0;

/// What a receiver's positions are taken to be like, along each axis.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Noise {
    /// Variance of what is fresh in each fix, m^2.
    pub(crate) white_var: f64,
    /// Density of the wander of the error from fix to fix, m^2/s.
    pub(crate) wander_q: f64,
}

/// Position and velocity on both axes at one time.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Estimate {
    pub(crate) taken: Moment,
    pub(crate) east: Axis,
    pub(crate) north: Axis,
    /// How far the newest position was from where the motion before it led.
    strayed: Local,
}

impl Estimate {
    /// The first: where the fix says, at a speed unknown.
    pub(crate) fn begun(taken: Moment, at: Local, noise: Noise) -> Estimate {
        Estimate {
            taken,
            east: Axis::new(at.east_m, noise.white_var, UNKNOWN_VAR),
            north: Axis::new(at.north_m, noise.white_var, UNKNOWN_VAR),
            strayed: Local::default(),
        }
    }

    /// Carried forward to `taken`.
    #[must_use]
    pub(crate) fn predicted(self, taken: Moment, noise: Noise) -> Estimate {
        let dt_s = taken.s_since(self.taken).max(0.0);
        let way = (self.velocity().speed_mps() / WAY_MPS).min(1.0).powi(2);
        let accel_q = REST_Q + (WAY_Q - REST_Q) * way;
        Estimate {
            taken,
            east: self.east.predicted(dt_s, accel_q, noise.wander_q),
            north: self.north.predicted(dt_s, accel_q, noise.wander_q),
            strayed: self.strayed,
        }
    }

    /// Told a velocity with standard deviation `sd_mps` along each axis. One that surprises is
    /// followed at once: boats stop within a second, and the model of steady way does not know it.
    #[must_use]
    pub(crate) fn with_velocity(self, told: Velocity, sd_mps: f64) -> Estimate {
        let var = sd_mps * sd_mps;
        let off = told.minus(self.velocity());
        let (east2, north2) = (off.east_mps * off.east_mps, off.north_mps * off.north_mps);
        let surprise = east2 / (self.east.vel_var + var) + north2 / (self.north.vel_var + var);
        let (mut east, mut north) = (self.east, self.north);
        if surprise > SURPRISE {
            (east, north) = (east.surprised(east2), north.surprised(north2));
        }
        Estimate {
            east: east.with_velocity(told.east_mps, var),
            north: north.with_velocity(told.north_mps, var),
            ..self
        }
    }

    /// Told a position, `dt_s` seconds after the one before. Where `alone`, positions are all that
    /// tells of her motion: then two that stray to the same side say that it has changed. Where her
    /// velocity is told as well, one that strays is a step of the receiver's error (a reflection),
    /// and moves her position but not her velocity.
    #[must_use]
    pub(crate) fn with_position(self, at: Local, noise: Noise, dt_s: f64, alone: bool) -> Estimate {
        let var = noise.white_var;
        let (mut east, mut north) = (self.east, self.north);
        let off = Local { east_m: at.east_m - east.pos_m, north_m: at.north_m - north.pos_m };
        let surprise = off.east_m * off.east_m / (east.pos_var + var)
            + off.north_m * off.north_m / (north.pos_var + var);
        if surprise > SURPRISE && !alone {
            east.pos_var += off.east_m * off.east_m;
            north.pos_var += off.north_m * off.north_m;
        } else if alone && dt_s > 0.0 && surprise > SURPRISE && self.strays_again(off) {
            let changed = |off_m: f64| (off_m / dt_s.max(1.0)).clamp(-TURN_MPS, TURN_MPS).powi(2);
            east = east.turned(changed(off.east_m), dt_s);
            north = north.turned(changed(off.north_m), dt_s);
        }
        Estimate {
            taken: self.taken,
            east: east.with_position(at.east_m, var),
            north: north.with_position(at.north_m, var),
            strayed: off,
        }
    }

    /// Whether `off` is to the side on which the position before already was, within 60 degrees.
    fn strays_again(&self, off: Local) -> bool {
        let along = self.strayed.east_m * off.east_m + self.strayed.north_m * off.north_m;
        let size = |local: Local| local.distance_m(Local::default());
        along > 0.5 * size(self.strayed) * size(off)
    }

    /// As `self` with `var` (m^2) more doubt of the position alone.
    #[must_use]
    pub(crate) fn unsettled(mut self, var: f64) -> Estimate {
        self.east.pos_var += var;
        self.north.pos_var += var;
        self
    }

    /// Slowed to `speed_max_mps`: positions out of step with their times can ask for more.
    #[must_use]
    pub(crate) fn limited(mut self, speed_max_mps: f64) -> Estimate {
        let speed_mps = self.velocity().speed_mps();
        if speed_mps > speed_max_mps {
            self.east.vel_mps *= speed_max_mps / speed_mps;
            self.north.vel_mps *= speed_max_mps / speed_mps;
        }
        self
    }

    pub(crate) fn position(&self) -> Local {
        Local { east_m: self.east.pos_m, north_m: self.north.pos_m }
    }

    pub(crate) fn velocity(&self) -> Velocity {
        Velocity { east_mps: self.east.vel_mps, north_mps: self.north.vel_mps }
    }

    pub(crate) fn velocity_sd_mps(&self) -> f64 {
        ((self.east.vel_var + self.north.vel_var) / 2.0).sqrt()
    }

    /// Mean variance of the position along an axis, the receiver's wander left out, m^2.
    pub(crate) fn position_var(&self) -> f64 {
        (self.east.pos_var + self.north.pos_var) / 2.0
    }
}

/// The velocity a receiver reports and its standard deviation along each axis, m/s; `None` when it
/// says too little.
pub(crate) fn reported(
    speed_mps: Option<f64>,
    course: Option<Bearing>,
    accuracy_m: f64,
) -> Option<(Velocity, f64)> {
    let sd_mps = DOPPLER_SD_MPS + DOPPLER_SD_PER_M * accuracy_m;
    match (speed_mps?, course) {
        (0.0, _) => Some((Velocity::default(), sd_mps.max(ZERO_SD_MPS))),
        (speed, Some(course)) => Some((Velocity::towards(course, speed), sd_mps + DOPPLER_SD_SHARE * speed)),
        // A crawl without a course: she is about at rest, in whatever direction.
        (speed, None) if speed < CRAWL_MPS => Some((Velocity::default(), sd_mps.max(ZERO_SD_MPS) + speed)),
        (_, None) => None,
    }
}
