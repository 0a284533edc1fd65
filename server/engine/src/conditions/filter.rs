//! The arithmetic: a bank of motion models, one a condition, weighed by what each foretold.
//!
//! Each condition at rest is a linear model of the velocity over the water on two axes, down and
//! across the wind: the velocity `u` decays towards a mean `m` that this boat keeps in this
//! condition and that is not known beforehand. A Kalman filter of `(u, m)` on each axis foretells
//! the next velocity; how well it foretold is its likelihood. So the suddenness of a stop (the
//! decay), the turn towards the wind while stopping, the drift, and its steadiness are all weighed
//! by one rule, with the errors' correlation in time accounted for by the model and not by
//! counting each second as new. Sailing and manoeuvring foretell a speed rather than a velocity.
//!
//! Switching: Blom and Bar-Shalom 1988 (interacting multiple models), with durations: a condition
//! ends with the hazard of its age.

use std::f64::consts::PI;

use super::decay::{Decay, GATHER_S};
use super::density::{ln_ring, lognormal_hazard};
use super::model::{
    Condition, Lie, Onsets, RESTS, SHAPES, Stop, TURN_LASTS_S, TURN_PACE, TURNS_PER_H, successors,
};

const COUNT: usize = Condition::COUNT;
/// How many shapes there are.
pub(crate) const MODELS: usize = SHAPES.len();
/// Share of seconds in which a boat does what no model foretells (a wave, a shove, a bad fix).
const ODD: f64 = 0.03;
/// Such a second's velocity is normal about nothing with this spread, m/s.
const ODD_SD: f64 = 2.0;
/// How much speed varies from second to second under sail, m/s per root second.
const SURGE_MPS: f64 = 0.12;
/// How far a crew's speed of the moment strays from what is expected, as a share.
const PACE_SPREAD: f64 = 0.4;
/// How a course wanders under sail, and in a turn, radians per root second.
const STEER_RAD: f64 = 0.12;
/// See [`STEER_RAD`].
const TURN_RAD: f64 = 0.3;
/// A turn goes on at so much of its rate.
const TURN_KEPT: f64 = 0.8;
/// Below this product of speeds a course says little of a turn, (m/s)^2.
const TURN_SURE_M2PS2: f64 = 0.06;
/// A crew's pace changes over this time, s ...
const PACE_MEMORY_S: f64 = 20.0;
/// ... and an unlikely one never speaks louder than this.
const PACE_LN_MAX: f64 = 4.0;
/// She lies when her way is within so many swings of the mean.
const SWINGS: f64 = 2.0;
/// How far a stop strays from its own law within a second, as a share of what it loses.
const STOP_SPREAD: f64 = 0.3;
/// Besides, speed jitters by this from second to second while she stops, m/s.
const STOP_JITTER_MPS: f64 = 0.04;
/// Only close to the wind do her sails stop drawing: further off than this, as a cosine (100 degrees),
/// she must first round up to stop of her own will, ...
const OFF_WIND_COS: f64 = -0.178;
/// ... give or take this in radians per root second.
const ROUNDING_UP_RAD: f64 = 0.25;
/// A stop that takes more than so many of its time constants is not this stop.
const OVERDUE: f64 = 3.0;
/// A mean velocity at rest is believed within so many standard deviations of its prior.
const HELD_SD: f64 = 2.2;
/// In learning the scatter no single error counts for more than this many expected ones, ...
const SCATTER_CLIP: f64 = 5.0;
/// ... within these multiples of what is foretold.
const SCATTER_RANGE: (f64, f64) = (0.08, 2.5);

/// One axis of one condition: velocity and its mean, with their covariance.
#[derive(Clone, Copy, Debug, Default)]
struct Axis {
    u: f64,
    m: f64,
    uu: f64,
    um: f64,
    mm: f64,
}

impl Axis {
    fn entering(u: f64, u_var: f64, m: f64, m_sd: f64) -> Axis {
        Axis { u, m, uu: u_var, um: 0.0, mm: m_sd * m_sd }
    }

    /// The one normal that has the mean and covariance of the mixture with weights `a` and `b`.
    fn merged(self, a: f64, other: Axis, b: f64) -> Axis {
        let (du, dm) = (self.u - other.u, self.m - other.m);
        Axis {
            u: a * self.u + b * other.u,
            m: a * self.m + b * other.m,
            uu: a * self.uu + b * other.uu + a * b * du * du,
            um: a * self.um + b * other.um + a * b * du * dm,
            mm: a * self.mm + b * other.mm + a * b * dm * dm,
        }
    }

    fn predicted(self, keep: f64, offset: f64, wander: f64) -> Axis {
        let gain = 1.0 - keep;
        Axis {
            u: self.m + offset,
            m: self.m,
            uu: keep * keep * self.uu + 2.0 * keep * gain * self.um + gain * gain * self.mm,
            um: keep * self.um + gain * self.mm,
            mm: self.mm + wander,
        }
    }

    /// The mean cannot be learned beyond what the condition allows: a boat that keeps sailing at
    /// three knots does not become one becalmed at three knots.
    fn held(self, mean: f64, by: f64) -> Axis {
        Axis { m: self.m.clamp(mean - by, mean + by), ..self }
    }

    fn told(self, z: f64, var: f64, trust: f64) -> Axis {
        let s = self.uu + var;
        let (ku, km) = (trust * self.uu / s, trust * self.um / s);
        let innovation = z - self.u;
        Axis {
            u: self.u + ku * innovation,
            m: self.m + km * innovation,
            uu: (self.uu - ku * self.uu).max(1e-6),
            um: self.um - ku * self.um,
            mm: (self.mm - km * self.um).max(1e-6),
        }
    }
}

/// One shape's share and what it says of the motion.
#[derive(Clone, Copy, Debug, Default)]
struct Model {
    share: f64,
    age_s: f64,
    /// Her speed when it began, m/s.
    way_mps: f64,
    /// What was expected of her lying when it began.
    lie: Lie,
    /// How this boat's scatter compares with what is foretold: learned, so that a receiver quieter
    /// than assumed does not make every steady motion look like a hull adrift.
    scatter: f64,
    down: Axis,
    across: Axis,
}

/// What one step needs to know.
pub(crate) struct Step<'a> {
    /// Seconds since the step before.
    pub dt_s: f64,
    /// Velocity over the water, down and across the wind, m/s.
    pub seen: (f64, f64),
    /// Its variance on each axis.
    pub var: f64,
    /// Whether `down` and `across` mean anything.
    pub wind_known: bool,
    /// The speed to expect of her under sail, m/s.
    pub expected_mps: f64,
    /// Where each condition would have her go, before seeing any of it.
    pub lies: &'a [Lie; MODELS],
    /// How often each begins.
    pub onsets: &'a Onsets,
    /// What else was seen (heel, heading, company), as ln likelihoods.
    pub other: &'a [f64; COUNT],
}

/// The belief over conditions.
#[derive(Clone, Debug)]
pub(crate) struct Bank {
    models: [Model; MODELS],
    decay: Decay,
    /// The velocity of the step before as smoothed over the last seconds, and its variance.
    before: Option<((f64, f64), f64)>,
    /// How fast her course turns, radians a second, from down the wind to across.
    turn_rad_s: f64,
    /// The shares of the models added up: every rule asks for them, many times between two steps.
    shares: [f64; COUNT],
}

impl Bank {
    /// Before anything is seen: she may be sailing, lying or ashore; not capsized.
    pub(crate) fn new() -> Bank {
        let mut models = [Model { scatter: 1.0, ..Model::default() }; MODELS];
        for (condition, share) in [
            (Condition::Sailing, 0.5),
            (Condition::Waiting, 0.2),
            (Condition::Ashore, 0.2),
            (Condition::Moored, 0.099),
            (Condition::Capsized, 0.001),
        ] {
            for (model, shape) in models.iter_mut().zip(&SHAPES) {
                if shape.condition == condition {
                    model.share = share * shape.chance;
                }
            }
        }
        let shares = added_up(&models);
        Bank { models, decay: Decay::over(1.0), before: None, turn_rad_s: 0.0, shares }
    }

    fn of(&self, condition: Condition) -> &[Model] {
        let (first, end) = PLACES[condition.ix()];
        &self.models[first..end]
    }

    /// The mean over a condition's shapes, by their shares.
    fn mean(&self, condition: Condition, value: impl Fn(&Model) -> f64) -> f64 {
        let (mut sum, mut weight) = (0.0, 1e-300);
        for model in self.of(condition) {
            sum += model.share * value(model);
            weight += model.share;
        }
        sum / weight
    }

    /// The probability of `condition`.
    pub(crate) fn share(&self, condition: Condition) -> f64 {
        self.shares[condition.ix()]
    }

    /// Seconds that `condition` has lasted, if it is true.
    pub(crate) fn age_s(&self, condition: Condition) -> f64 {
        self.mean(condition, |model| model.age_s)
    }

    /// The mean velocity she keeps if `condition` is true: down and across the wind, m/s.
    pub(crate) fn lie(&self, condition: Condition) -> (f64, f64) {
        (self.mean(condition, |model| model.down.m), self.mean(condition, |model| model.across.m))
    }

    /// The wind's direction was revised: what is kept in its frame turns by `angle_rad`.
    pub(crate) fn turn_frame(&mut self, angle_rad: f64) {
        let (sin, cos) = angle_rad.sin_cos();
        let turned = |x: f64, y: f64| (x * cos - y * sin, x * sin + y * cos);
        for model in &mut self.models {
            (model.down.u, model.across.u) = turned(model.down.u, model.across.u);
            (model.down.m, model.across.m) = turned(model.down.m, model.across.m);
        }
        if let Some(((x, y), _)) = &mut self.before {
            (*x, *y) = turned(*x, *y);
        }
    }

    /// As much of `from` as `odds` times its share has in truth become `to`.
    pub(crate) fn move_over(&mut self, from: Condition, to: Condition, odds: f64) {
        let moved = self.share(from) * odds;
        for (model, shape) in self.models.iter_mut().zip(&SHAPES) {
            if shape.condition == to {
                model.share += moved * shape.chance;
            }
        }
        self.weigh(&[0.0; COUNT]);
    }

    /// Every share times `exp(ln[condition])`, and again summing to one.
    pub(crate) fn weigh(&mut self, ln: &[f64; COUNT]) {
        self.weigh_shapes(&[1.0; MODELS], ln);
    }

    /// Every share times its shape's likelihood and `exp(ln[condition])`, and again summing to one.
    fn weigh_shapes(&mut self, likelihoods: &[f64; MODELS], ln: &[f64; COUNT]) {
        let top = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let of_condition = ln.map(|ln| (ln - top).exp());
        let mut sum = 0.0;
        for ((model, shape), likelihood) in self.models.iter_mut().zip(&SHAPES).zip(likelihoods) {
            model.share *= likelihood * of_condition[shape.condition.ix()];
            sum += model.share;
        }
        if sum > 0.0 {
            for model in &mut self.models {
                model.share /= sum;
            }
        }
        self.shares = added_up(&self.models);
    }

    /// Time passes and a velocity is seen.
    pub(crate) fn step(&mut self, step: &Step) {
        if self.decay.dt_s != step.dt_s {
            self.decay = Decay::over(step.dt_s);
        }
        let (before, before_var) = self.before.unwrap_or((step.seen, step.var));
        self.switch(step, before, before_var);
        let mut likelihoods = [0.0; MODELS];
        let (x, y) = step.seen;
        let odd_var = ODD_SD * ODD_SD;
        let odd = ODD / (2.0 * PI * odd_var) * (-(x * x + y * y) / (2.0 * odd_var)).exp();
        for (ix, shape) in SHAPES.iter().enumerate() {
            let foretold = match shape.stop {
                Stop::Never => self.under_way(ix, step, before, before_var),
                Stop::Dragged(_) | Stop::Arrested(_) => self.lying(ix, step),
            };
            likelihoods[ix] = (1.0 - ODD) * foretold + odd;
        }
        self.weigh_shapes(&likelihoods, step.other);
        let foretold_var = before_var + SURGE_MPS * SURGE_MPS * step.dt_s;
        let gain = foretold_var / (foretold_var + step.var);
        let smoothed =
            (before.0 + gain * (step.seen.0 - before.0), before.1 + gain * (step.seen.1 - before.1));
        let dot = before.0 * smoothed.0 + before.1 * smoothed.1;
        let cross = before.0 * smoothed.1 - before.1 * smoothed.0;
        let sure = dot.hypot(cross) / (dot.hypot(cross) + TURN_SURE_M2PS2);
        let rate = sure * cross.atan2(dot) / step.dt_s;
        self.turn_rad_s += self.decay.turn_gain * (rate - self.turn_rad_s);
        self.before = Some((smoothed, gain * step.var));
    }

    /// Conditions end and begin, over the step's time.
    fn switch(&mut self, step: &Step, before: (f64, f64), before_var: f64) {
        let dt = step.dt_s.min(20.0);
        let mut entering = [0.0; COUNT];
        for condition in Condition::ALL {
            self.leave(condition, step.onsets, dt, &mut entering);
        }
        let way = before.0.hypot(before.1);
        for ((model, shape), lie) in self.models.iter_mut().zip(&SHAPES).zip(step.lies) {
            let (stayed, entered) = (model.share, entering[shape.condition.ix()] * shape.chance);
            let sum = stayed + entered;
            let stay = if sum > 0.0 { stayed / sum } else { 0.0 };
            let enter = 1.0 - stay;
            let down = Axis::entering(before.0, before_var, lie.down_mps, lie.down_sd);
            let across = Axis::entering(before.1, before_var, lie.across_mps, lie.across_sd);
            model.down = model.down.merged(stay, down, enter);
            model.across = model.across.merged(stay, across, enter);
            let mixed = |old: f64, new: f64| stay * old + enter * new;
            model.scatter = mixed(model.scatter, 1.0);
            model.way_mps = mixed(model.way_mps, way);
            model.lie = Lie {
                down_mps: mixed(model.lie.down_mps, lie.down_mps),
                down_sd: mixed(model.lie.down_sd, lie.down_sd),
                across_mps: mixed(model.lie.across_mps, lie.across_mps),
                across_sd: mixed(model.lie.across_sd, lie.across_sd),
                across_max: mixed(model.lie.across_max, lie.across_max),
            };
            model.age_s = mixed(model.age_s, 0.0) + dt;
            model.share = sum;
        }
    }

    /// One condition's shapes lose what ends or becomes another in `dt` seconds.
    fn leave(&mut self, condition: Condition, onsets: &Onsets, dt: f64, entering: &mut [f64; COUNT]) {
        let (begins_per_h, ends) = match condition {
            Condition::Manoeuvring => (&onsets.turning_per_h, Ends::Evenly(1.0 / TURN_LASTS_S)),
            Condition::Sailing => (&onsets.sailing_per_h, Ends::Evenly(TURNS_PER_H / 3600.0)),
            Condition::Capsized => (&onsets.capsized_per_h, Ends::WithAge),
            _ => (&onsets.resting_per_h, Ends::WithAge),
        };
        let others_per_s = (begins_per_h.iter().sum::<f64>() - begins_per_h[condition.ix()]) / 3600.0;
        let kept = &RESTS[condition.ix()];
        // What leaves is shared out by the rates, which are one for all her shapes but for the hazard.
        let (mut by_rate, mut by_hazard) = (0.0, 0.0);
        let (first, end) = PLACES[condition.ix()];
        for model in &mut self.models[first..end] {
            let hazard = match ends {
                Ends::Evenly(per_s) => per_s,
                Ends::WithAge => lognormal_hazard(model.age_s + dt / 2.0, kept.lasts_s, kept.lasts_spread),
            };
            let total = others_per_s + hazard;
            let left = model.share * (1.0 - (-total * dt).exp());
            let share = left / total.max(1e-300);
            by_rate += share;
            by_hazard += share * hazard;
            model.share = (model.share - left).max(0.0);
        }
        for (enters, per_h) in entering.iter_mut().zip(begins_per_h) {
            *enters += by_rate * per_h / 3600.0;
        }
        entering[condition.ix()] -= by_rate * begins_per_h[condition.ix()] / 3600.0;
        for &(next, part) in successors(condition) {
            entering[next.ix()] += by_hazard * part;
        }
    }

    /// A shape at rest foretells, is told, and answers with the likelihood of what was seen.
    fn lying(&mut self, ix: usize, step: &Step) -> f64 {
        let shape = &SHAPES[ix];
        let kept = &RESTS[shape.condition.ix()];
        let dt = step.dt_s;
        let (model, decay) = (&mut self.models[ix], &self.decay);
        let (way_x, way_y) = (model.down.u - model.down.m, model.across.u - model.across.m);
        let way = length(way_x, way_y);
        let mut overdue = 1.0;
        let luffs = step.wind_known && kept.luff_dps > 0.0;
        let rounding_up = luffs && -way_x < OFF_WIND_COS * way;
        let lies = way < SWINGS * kept.swing_mps;
        let (keep, along) = if lies {
            (decay.swing, 0.0)
        } else {
            let (keep, time_s) = match shape.stop {
                Stop::Never => (1.0, f64::INFINITY),
                Stop::Dragged(_) if rounding_up => (decay.rounding_up, f64::INFINITY),
                Stop::Dragged(time_s) => (decay.dragged[ix], time_s),
                Stop::Arrested(time_s) => {
                    let evenly = 1.0 - model.way_mps / time_s * dt / way;
                    (evenly.max(decay.arrested_tail), time_s)
                }
            };
            if model.age_s > OVERDUE * time_s {
                overdue = decay.overdue;
            }
            (keep, STOP_SPREAD * (1.0 - keep))
        };
        let (turned_x, turned_y) = if luffs && !lies {
            let by = if rounding_up { decay.rounds_up_by } else { decay.luffs_by[shape.condition.ix()] };
            luffed(way_x, way_y, way, by)
        } else {
            (way_x, way_y)
        };
        // The loss of way varies along it, the course across it; once she lies she swings.
        let wander = kept.wander_mps * kept.wander_mps * dt;
        let turned = length(turned_x, turned_y).max(1e-6);
        let (ex, ey) = (turned_x / turned, turned_y / turned);
        let (along_var, aside_var) = if !lies {
            let veer = if rounding_up { ROUNDING_UP_RAD } else { kept.veer_rad };
            let aside = veer * keep * dt.sqrt() * turned;
            ((along * turned).powi(2) + STOP_JITTER_MPS.powi(2), aside * aside)
        } else {
            let swing = kept.swing_mps * kept.swing_mps * (1.0 - decay.swing * decay.swing);
            (swing, swing)
        };
        model.down = model.down.predicted(keep, keep * turned_x, wander);
        model.across = model.across.predicted(keep, keep * turned_y, wander);
        let (dx, dy) = (step.seen.0 - model.down.u, step.seen.1 - model.across.u);
        // Told along and aside of her way, where the two are independent.
        let (ex2, ey2) = (ex * ex, ey * ey);
        let along_s = model.down.uu * ex2 + model.across.uu * ey2 + along_var + step.var;
        let aside_s = model.down.uu * ey2 + model.across.uu * ex2 + aside_var + step.var;
        let (d_along, d_aside) = (dx * ex + dy * ey, dy * ex - dx * ey);
        let distance = d_along * d_along / along_s + d_aside * d_aside / aside_s;
        let likelihood = overdue * (-0.5 * distance / model.scatter).exp()
            / (2.0 * PI * model.scatter * (along_s * aside_s).sqrt());
        model.down.uu += along_var * ex2 + aside_var * ey2;
        model.across.uu += along_var * ey2 + aside_var * ex2;
        // An odd second teaches little: trusted by the chance that it was not one.
        let trust = 1.0 / (1.0 + ODD * (0.5 * distance).exp().min(1e12));
        let lie = model.lie;
        model.down = model.down.told(step.seen.0, step.var, trust).held(lie.down_mps, HELD_SD * lie.down_sd);
        model.across = model.across.told(step.seen.1, step.var, trust).held(0.0, lie.across_max);
        model.scatter = learned(model.scatter, distance / 2.0, decay.scatter_gain);
        likelihood
    }

    /// Sailing and manoeuvring: speed goes towards her pace and the course on as it was, a turn as it
    /// turns; from rest she may set off in any direction. Answers with the likelihood of what was seen.
    fn under_way(&mut self, ix: usize, step: &Step, before: (f64, f64), before_var: f64) -> f64 {
        let dt = step.dt_s;
        let speed = before.0.hypot(before.1);
        let turns = SHAPES[ix].condition == Condition::Manoeuvring;
        let (steer, turned) =
            if turns { (TURN_RAD, TURN_KEPT * self.turn_rad_s * dt) } else { (STEER_RAD, 0.0) };
        let gain = self.decay.gather_gain;
        let radius = if turns {
            speed + self.decay.turn_slows_gain * (TURN_PACE * step.expected_mps - speed)
        } else {
            speed + gain * (step.expected_mps - speed)
        };
        let spread = gain * PACE_SPREAD * step.expected_mps;
        let surge = SURGE_MPS * SURGE_MPS * dt.min(GATHER_S) + spread * spread;
        let model = &mut self.models[ix];
        let var = (step.var + before_var + surge) * model.scatter;
        let (about, course_var) = if speed > 1e-6 {
            let course_var = before_var / (speed * speed) + steer * steer * dt;
            let (sin, cos) = turned.sin_cos();
            let (x, y) = (before.0 / speed, before.1 / speed);
            ((x * cos - y * sin, x * sin + y * cos), course_var * model.scatter)
        } else {
            ((1.0, 0.0), 1e6)
        };
        let ln = ln_ring(step.seen, about, radius, 1.0 / course_var, var);
        let (x, y) = step.seen;
        let seen = x.hypot(y);
        let aside = about.0 * y - about.1 * x;
        let off = (seen - radius).powi(2) / var;
        let aside = aside * aside / (var + course_var * radius * radius);
        model.scatter = learned(model.scatter, model.scatter * (off + aside) / 2.0, self.decay.scatter_gain);
        if turns {
            return ln.exp();
        }
        // Her pace is one thing for minutes: how unlikely it is counts once in that time.
        let off_pace = (seen - step.expected_mps) / (PACE_SPREAD * step.expected_mps.max(0.2));
        (ln - (0.5 * off_pace * off_pace).min(PACE_LN_MAX) * (dt / PACE_MEMORY_S).min(1.0)).exp()
    }
}

/// From which shape to before which each condition's are; [`SHAPES`] are in the conditions' order.
const PLACES: [(usize, usize); COUNT] = {
    let mut places = [(0, 0); COUNT];
    let mut at = 0;
    while at < MODELS {
        let place = &mut places[SHAPES[at].condition as usize];
        if place.1 == 0 {
            place.0 = at;
        }
        place.1 = at + 1;
        at += 1;
    }
    places
};

fn added_up(models: &[Model; MODELS]) -> [f64; COUNT] {
    let mut shares = [0.0; COUNT];
    for (model, shape) in models.iter().zip(&SHAPES) {
        shares[shape.condition.ix()] += model.share;
    }
    shares
}

/// How a condition ends.
#[derive(Clone, Copy)]
enum Ends {
    /// At this rate, a second.
    Evenly(f64),
    /// By the hazard of how long it has lasted.
    WithAge,
}

/// The scatter after one more squared error of `square` (1 when it is as foretold).
fn learned(scatter: f64, square: f64, gain: f64) -> f64 {
    let square = square.min(SCATTER_CLIP);
    (scatter + gain * (square - scatter)).clamp(SCATTER_RANGE.0, SCATTER_RANGE.1)
}

/// Way of length `way` turned towards the wind (which comes from -x) by at most the angle of which
/// sine and cosine are given.
fn luffed(x: f64, y: f64, way: f64, (sin, cos): (f64, f64)) -> (f64, f64) {
    if -x >= cos * way {
        return (-way, 0.0);
    }
    (x * cos - y.abs() * sin, (y.abs() * cos + x * sin).copysign(y))
}

/// Plainly: these are speeds, far from the ends of what a number can hold.
fn length(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}
