//! What is seen of a boat that has lost her way, as numbers that are alike for every boat.
//!
//! Nothing here knows where marks are, which says more about where boats wait in one place than about how
//! they capsize; nor where safety boats go: a rescuer on her way must not be the reason to call for one.
//! Of places only land counts, and that only as she stopped: she may drift ashore on her side.

use super::{
    around::Surroundings,
    gaps::Gaps,
    receiver::Through,
    stopping::{Second, Stopping, follow},
    way_lost::WayLost,
};

/// She has lost her way below this share of the most she made lately ...
const LOST_SHARE: f64 = 0.55;
/// ... or, if that is less than this share of what is expected of her, of that, ...
const EXPECTED_SHARE: f64 = 0.6;
/// ... but in the lightest wind at this speed, m/s.
const FASTEST_MIN_MPS: f64 = 0.5;
/// "Lately" fades with this time constant, s.
const FASTEST_MEMORY_S: f64 = 60.0;
/// Heel beyond this is looked at even while she makes way, degrees.
pub(crate) const HEEL_LOOK_DEG: f64 = 60.0;
/// Heel beyond this counts the seconds she lies over, degrees (`detection.md`: past about 75 lasting is
/// near proof; a hull on her side rolls by ten).
const HEEL_OVER_DEG: f64 = 65.0;
/// Heel below this counts the seconds she stands up, degrees: dinghies are sailed below it (practice), and a rig in
/// the water does not let her stand so.
const HEEL_UP_DEG: f64 = 30.0;
/// A sensor that shows more than this while she makes way lies: no dinghy sails on her side, degrees.
const HEEL_HONEST_DEG: f64 = 28.0;
/// One that shows less than this as a rule is believed wholly, degrees (reasoned: of readings under sail in the
/// recordings 95 % are below 25).
const HEEL_TRUSTED_DEG: f64 = 15.0;
/// On her side she goes no faster than the second, m/s, and hardly ever than the first: rig and hull drag
/// in the water (`leeway.md`: 0.4 m/s seen).
const ON_SIDE_MPS: (f64, f64) = (0.6, 1.2);
/// So many trusted seconds on her side make a stop of her drift.
const LIES_SURE_S: f64 = 4.0;
/// So many seconds on her side, or standing up, say all that they can.
const OVER_SURE_S: f64 = 12.0;
/// Where the wind's speed is not known it is taken as this, m/s.
const WIND_USUAL_MPS: f64 = 5.0;
/// Drift is measured in a wind of at least this, m/s: below it the water moves her more.
const WIND_MIN_MPS: f64 = 1.5;
/// A stop says half as much of a boat with this little way, m/s.
const WAY_HALF_MPS: f64 = 0.8;
/// No odds of the motion models say more than this.
const MODEL_SURE: f64 = 13.8;

/// How many signs there are.
pub const SIGNS: usize = 49;

/// A feed with more than so many seconds between fixes is a sparse one.
const SPARSE_S: f64 = 2.5;
/// A boat that stops this near to a safety boat, metres between antennas, came alongside as a rule: receivers
/// err by some five (`detection.md` (c)).
const ALONGSIDE_M: f64 = 10.0;
/// What that says for a capsize, as a ln likelihood ratio (reasoned: of boats that stop beside one hardly one
/// in ten has gone over just there). A safety boat that comes to her afterwards says nothing.
pub(crate) const ALONGSIDE_LN: f64 = -2.5;
/// She is beside it for as long as it is this near, metres: both receivers err, and it lies at a line's length.
const BESIDE_M: f64 = 20.0;
/// So many seconds below the receiver's threshold say all that they can.
const ZEROS_SURE_S: f64 = 30.0;
/// Land further away than this is as good as none, metres.
const NEAR_M: f64 = 60.0;
/// Signs that are crossed with another count from its middle: ln of the age in s, course in degrees off the
/// wind and degrees to one unit, ln of the wind in m/s; and the models' odds are told in fives.
const AGE_MIDDLE: f64 = 2.5;
/// See [`AGE_MIDDLE`].
const COURSE_MIDDLE_DEG: (f64, f64) = (90.0, 60.0);
/// See [`AGE_MIDDLE`].
const WIND_MIDDLE: f64 = 1.6;

/// Their names, in order, as in the table of weights.
pub const NAMES: [&str; SIGNS] = [
    "fell",
    "fell m/s",
    "fell off the wind",
    "fell below",
    "took",
    "short of luffing",
    "swung",
    "pace before",
    "course before",
    "age",
    "lies at",
    "lies down wind",
    "lies ahead",
    "swings",
    "wanders",
    "burst",
    "way left",
    "speed",
    "wind",
    "gust",
    "gybe",
    "idle",
    "heel",
    "heel before",
    "heel steady",
    "heel lasts",
    "heel above before",
    "lies over",
    "stands up",
    "bow",
    "models",
    "models lately",
    "models and way",
    "decay",
    "decay sharp",
    "decay doubt",
    "decay to",
    "decay scatter",
    "land",
    "fleet",
    "sharp by age",
    "models by age",
    "sharp by models",
    "sharp by course",
    "lies by wind",
    "told late",
    "told in doubt",
    "told nothing",
    "gathers",
];

/// How well a boat is seen: the same stop shows itself differently through each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sense {
    /// A fix a second or so, and no heel that can be believed.
    Blind,
    /// Heel can be believed: it says most, and the rest less than otherwise.
    Felt,
    /// Seconds between fixes, no heel: little shows of how a stop began.
    Sparse,
}

/// What is seen of a boat that has lost her way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StopSeen {
    /// Through what.
    pub sense: Sense,
    /// One value for each of [`NAMES`]; NaN: not known.
    pub values: [f64; SIGNS],
}

/// What one second brings, besides her motion.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Look<'a> {
    /// Since the look before, s.
    pub dt_s: f64,
    /// Velocity over the water, down and across the wind, m/s.
    pub velocity: (f64, f64),
    /// Speed to expect of her under sail, m/s.
    pub expected_mps: f64,
    /// Heel, degrees; `None`: no sensor.
    pub heel_deg: Option<f64>,
    /// Sensed heading off the wind, degrees; `None`: no compass or no wind.
    pub off_wind_deg: Option<f64>,
    /// The capsized share of the motion models.
    pub capsized: f64,
    /// What her receiver is like.
    pub through: Through,
    /// What surrounds her.
    pub around: &'a Surroundings,
}

/// The signs of one boat, kept from second to second.
#[derive(Clone, Debug, Default)]
pub(crate) struct Signs {
    stopping: Stopping,
    started: bool,
    smooth_mps: f64,
    slow_mps: f64,
    fastest_mps: f64,
    pace: f64,
    gybe_s: Option<f64>,
    land_m: Option<f64>,
    came_alongside: bool,
    beside: bool,
    idle: f64,
    gaps: Gaps,
    heel: Option<f64>,
    heel_usual: Option<f64>,
    heel_mean: f64,
    heel_square: f64,
    over_s: f64,
    up_s: f64,
    bow: Option<f64>,
    models: f64,
    models_lately: f64,
}

/// Natural logarithm of the odds.
pub(crate) fn ln_odds(probability: f64) -> f64 {
    (probability / (1.0 - probability)).ln().clamp(-MODEL_SURE, MODEL_SURE)
}

fn ln(value: f64) -> f64 {
    value.max(1e-3).ln()
}

/// `value` where it is known.
fn known(is: bool, value: f64) -> f64 {
    if is { value } else { f64::NAN }
}

/// 1 up to `all`, 0 from `none` on, a line between.
fn falls(value: f64, all: f64, none: f64) -> f64 {
    ((none - value) / (none - all)).clamp(0.0, 1.0)
}

/// How far a sensor is trusted that shows `usual_deg` while she sails, 0..=1.
fn trusted(usual_deg: f64) -> f64 {
    falls(usual_deg, HEEL_TRUSTED_DEG, HEEL_HONEST_DEG)
}

impl Signs {
    /// Takes one second in and gives the signs; `None` while she makes way and no heel speaks against it.
    pub(crate) fn see(&mut self, look: &Look) -> Option<StopSeen> {
        let dt_s = look.dt_s.min(10.0);
        let speed_mps = look.velocity.0.hypot(look.velocity.1);
        let odds = ln_odds(look.capsized);
        if !self.started {
            *self = Signs {
                started: true,
                smooth_mps: speed_mps,
                slow_mps: speed_mps,
                models: odds,
                models_lately: odds,
                ..Signs::default()
            };
        }
        follow(&mut self.smooth_mps, speed_mps, dt_s, 1.2);
        follow(&mut self.slow_mps, speed_mps, dt_s, 5.0);
        self.fastest_mps = (self.fastest_mps * (-dt_s / FASTEST_MEMORY_S).exp()).max(self.smooth_mps);
        let usual_mps = self.fastest_mps.max(EXPECTED_SHARE * look.expected_mps).max(FASTEST_MIN_MPS);
        // What a hull on her side drifts is no way that she makes, however little she made before.
        let lies = self.heel_usual.is_some_and(|usual_deg| self.lies_over(usual_deg) >= LIES_SURE_S);
        let stopped = self.smooth_mps <= LOST_SHARE * usual_mps || lies;
        let idles = f64::from(u8::from(speed_mps < 0.4 * look.expected_mps));
        follow(&mut self.idle, idles, dt_s, 400.0);
        follow(&mut self.models, odds, dt_s, 4.0);
        follow(&mut self.models_lately, odds, dt_s, 15.0);
        self.feel(look, dt_s, stopped);
        self.gaps.see(look.dt_s, stopped);
        let safety_m = look.around.safety.map(|safety| safety.distance_m);
        self.beside = safety_m.is_some_and(|safety_m| safety_m < BESIDE_M);
        let began = self.stopping.age_s == 0.0 && stopped;
        let second = Second {
            dt_s,
            velocity: look.velocity,
            smooth_mps: self.smooth_mps,
            gust: look.around.gust_ratio().clamp(0.3, 2.5),
        };
        self.stopping.see(&second, stopped);
        if began {
            self.pace = self.stopping.way_mps / look.expected_mps.max(0.3);
            self.gybe_s = look.around.since_gybe_s;
            let places = [look.around.landing_m, look.around.shore_m];
            self.land_m = places.into_iter().flatten().min_by(f64::total_cmp);
            self.came_alongside = safety_m.is_some_and(|safety_m| safety_m < ALONGSIDE_M);
        }
        let looked_at = stopped || look.heel_deg.is_some_and(|heel| heel.abs() > HEEL_LOOK_DEG);
        looked_at.then(|| self.told(look))
    }

    /// What heel and compass say.
    fn feel(&mut self, look: &Look, dt_s: f64, stopped: bool) {
        if let Some(heel_deg) = look.heel_deg {
            let size = heel_deg.abs();
            follow(self.heel.get_or_insert(size), size, dt_s, 2.5);
            follow(&mut self.heel_mean, heel_deg, dt_s, 20.0);
            follow(&mut self.heel_square, (heel_deg - self.heel_mean).powi(2), dt_s, 20.0);
            let usual = self.heel_usual.get_or_insert(size.min(25.0));
            // Only way that a hull on her side cannot make tells that a sensor lies: one that drifts there for
            // minutes would else prove her own sensor wrong.
            let sails = size < HEEL_LOOK_DEG || self.smooth_mps > ON_SIDE_MPS.1;
            if !stopped && sails {
                follow(usual, size, dt_s, 120.0);
            }
            self.over_s = if size > HEEL_OVER_DEG { self.over_s + dt_s } else { 0.0 };
            self.up_s = if size < HEEL_UP_DEG { self.up_s + dt_s } else { 0.0 };
        }
        if let Some(off_deg) = look.off_wind_deg {
            let towards = off_deg.to_radians().cos();
            follow(self.bow.get_or_insert(towards), towards, dt_s, 6.0);
        }
    }

    /// What is told apart from the weighed signs, as a ln likelihood ratio for a capsize: fixes missing since
    /// she stopped, and whether she stopped beside a safety boat.
    pub(crate) fn beside_ln(&self) -> f64 {
        let alongside_ln = if self.came_alongside { ALONGSIDE_LN } else { 0.0 };
        self.gaps.ln_ratio() + alongside_ln
    }

    /// She stopped beside a safety boat that is still there: who is taken hold of stops as suddenly as who goes over.
    pub(crate) fn is_held(&self) -> bool {
        self.came_alongside && self.beside
    }

    /// For how long she lies over without a reading that says otherwise, s.
    pub(crate) fn over_s(&self) -> f64 {
        self.over_s
    }

    /// Seconds on her side, as far as the sensor is to be trusted and she goes no faster than a boat that lies so:
    /// each alone says little, all three are near proof.
    fn lies_over(&self, usual_deg: f64) -> f64 {
        let slow = falls(self.smooth_mps, ON_SIDE_MPS.0, ON_SIDE_MPS.1);
        self.over_s.min(OVER_SURE_S) * trusted(usual_deg) * slow
    }

    /// A stop says the less the less way there was to lose.
    fn weight(&self) -> f64 {
        self.stopping.way_mps / (self.stopping.way_mps + WAY_HALF_MPS)
    }

    fn told(&self, look: &Look) -> StopSeen {
        let stop = &self.stopping;
        let around = look.around;
        let (has_stopped, lies) = (stop.age_s > 0.0, stop.lies_s >= 5.0);
        let wind_known = around.wind.is_some();
        let speed = around.wind.and_then(|wind| wind.speed_mps);
        let wind_mps = speed.unwrap_or(WIND_USUAL_MPS).max(WIND_MIN_MPS);
        let course_deg = stop.course_deg.abs();
        let fell_mps = stop.fell * stop.way_mps;
        let (down, across) = stop.lie;
        let side = stop.course_deg.to_radians().sin();
        let usual_deg = self.heel_usual.unwrap_or(0.0);
        let heels = self.heel.is_some() && usual_deg < HEEL_HONEST_DEG;
        let stopped_known = has_stopped && wind_known;
        let sense = match heels {
            true => Sense::Felt,
            false if self.gaps.rhythm_s > SPARSE_S => Sense::Sparse,
            false => Sense::Blind,
        };
        let lies_known = lies && wind_known;
        let decay = |of: &dyn Fn(&WayLost) -> f64| stop.decay.as_ref().map_or(f64::NAN, of);
        let land = self.land_m.filter(|land_m| has_stopped && *land_m < NEAR_M).unwrap_or(f64::NAN);
        let age = ln(stop.age_s.max(0.5));
        let sharp = decay(&|decay| decay.sharp) * self.weight();
        let lies_at = known(lies, down.hypot(across) / wind_mps);
        let values = [
            known(has_stopped, stop.fell),
            known(has_stopped, fell_mps),
            known(stopped_known, fell_mps * (course_deg - 40.0) / 140.0),
            known(has_stopped, (fell_mps - self.slow_mps).max(-2.0)),
            stop.took_s.map_or(f64::NAN, |took_s| (ln(took_s) - 1.8) * self.weight()),
            known(stopped_known, (course_deg - 60.0).max(0.0) - stop.luffed_deg),
            known(has_stopped, stop.swung_deg * self.weight()),
            known(has_stopped, self.pace),
            known(stopped_known, course_deg),
            age,
            lies_at,
            known(lies_known, down / wind_mps),
            known(lies_known, across * side / wind_mps),
            known(lies, stop.swings_mps()),
            known(lies, stop.wanders_mps),
            known(stop.lies_s > 8.0, stop.burst_mps / look.expected_mps.max(0.3)),
            known(has_stopped, self.smooth_mps / stop.way_mps.max(0.3)),
            self.slow_mps,
            known(speed.is_some(), ln(wind_mps)),
            known(has_stopped, stop.gust),
            known(has_stopped, self.gybe_s.map_or(6.0, |s| ln(s + 1.0).min(6.0))),
            self.idle,
            known(heels, self.heel.unwrap_or(0.0)),
            known(heels, usual_deg),
            known(heels, self.heel_square.sqrt()),
            known(heels, self.over_s.min(20.0)),
            known(heels, self.heel.unwrap_or(0.0) - usual_deg),
            known(heels, self.lies_over(usual_deg)),
            known(heels, self.up_s.min(OVER_SURE_S) * trusted(usual_deg)),
            self.bow.unwrap_or(f64::NAN),
            self.models,
            self.models_lately,
            known(has_stopped, self.models * self.weight()),
            decay(&|decay| decay.ln_tau - 1.0) * self.weight(),
            sharp,
            decay(&|decay| decay.ln_tau_sd),
            decay(&|decay| decay.to_mps / wind_mps),
            decay(&|decay| decay.scatter_mps),
            land,
            known(around.fleet.boats > 2, around.fleet.moving_share),
            sharp * (age - AGE_MIDDLE),
            self.models * (age - AGE_MIDDLE) / 5.0,
            sharp * self.models / 5.0,
            sharp * known(stopped_known, (course_deg - COURSE_MIDDLE_DEG.0) / COURSE_MIDDLE_DEG.1),
            lies_at * known(speed.is_some(), 10.0 * (ln(wind_mps) - WIND_MIDDLE)),
            look.through.late_s,
            look.through.doubt_mps,
            look.through.zeros_s.min(ZEROS_SURE_S),
            known(has_stopped, self.smooth_mps - stop.slowest_mps),
        ];
        StopSeen { sense, values }
    }
}
