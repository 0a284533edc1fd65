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

use super::density::{ln_ring, lognormal_hazard};
use super::model::{Condition, Lie, Onsets, TURN_LASTS_S, TURN_PACE, TURNS_PER_H, rest, successors};

const COUNT: usize = Condition::COUNT;
/// Share of seconds in which a boat does what no model foretells (a wave, a shove, a bad fix).
const ODD: f64 = 0.03;
/// Such a second's velocity is normal about nothing with this spread, m/s.
const ODD_SD: f64 = 2.0;
/// Time constant of gathering way under sail, s (a light dinghy: 5 to 8; practice).
const GATHER_S: f64 = 6.0;
/// How much speed varies from second to second under sail, m/s per root second.
const SURGE_MPS: f64 = 0.2;
/// How far a crew's speed of the moment strays from what is expected, as a share.
const PACE_SPREAD: f64 = 0.4;
/// How a course wanders under sail, and in a turn, radians per root second.
const STEER_RAD: f64 = 0.12;
/// See [`STEER_RAD`].
const TURN_RAD: f64 = 0.5;
/// A mean velocity at rest is believed within so many standard deviations of its prior.
const HELD_SD: f64 = 2.2;
/// Scatter is learned over this time, s, ...
const SCATTER_MEMORY_S: f64 = 8.0;
/// ... no single error counting for more than this many expected ones, ...
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

    /// The one normal that has the mean and covariance of the mixture.
    fn merged(self, weight: f64, other: Axis, other_weight: f64) -> Axis {
        let sum = weight + other_weight;
        if sum <= 0.0 {
            return other;
        }
        let (a, b) = (weight / sum, other_weight / sum);
        let (du, dm) = (self.u - other.u, self.m - other.m);
        Axis {
            u: a * self.u + b * other.u,
            m: a * self.m + b * other.m,
            uu: a * self.uu + b * other.uu + a * b * du * du,
            um: a * self.um + b * other.um + a * b * du * dm,
            mm: a * self.mm + b * other.mm + a * b * dm * dm,
        }
    }

    fn predicted(self, keep: f64, offset: f64, noise: f64, wander: f64) -> Axis {
        let gain = 1.0 - keep;
        Axis {
            u: self.m + offset,
            m: self.m,
            uu: keep * keep * self.uu + 2.0 * keep * gain * self.um + gain * gain * self.mm + noise,
            um: keep * self.um + gain * self.mm,
            mm: self.mm + wander,
        }
    }

    /// The mean cannot be learned beyond what the condition allows: a boat that keeps sailing at
    /// three knots does not become one becalmed at three knots.
    fn held(self, mean: f64, sd: f64) -> Axis {
        Axis { m: self.m.clamp(mean - HELD_SD * sd, mean + HELD_SD * sd), ..self }
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

/// One condition's share and what it says of the motion.
#[derive(Clone, Copy, Debug, Default)]
struct Model {
    share: f64,
    age_s: f64,
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
    pub lies: &'a [Lie; COUNT],
    /// How often each begins.
    pub onsets: &'a Onsets,
    /// What else was seen (heel, heading, company), as ln likelihoods.
    pub other: &'a [f64; COUNT],
}

/// The belief over conditions.
#[derive(Clone, Debug)]
pub(crate) struct Bank {
    models: [Model; COUNT],
    /// The velocity of the step before as smoothed over the last seconds, and its variance.
    before: Option<((f64, f64), f64)>,
    /// ln likelihood of the last step's motion, by condition.
    pub(crate) motion: [f64; COUNT],
}

impl Bank {
    /// Before anything is seen: she may be sailing, lying or ashore; not capsized.
    pub(crate) fn new() -> Bank {
        let mut models = [Model { scatter: 1.0, ..Model::default() }; COUNT];
        for (condition, share) in [
            (Condition::Sailing, 0.5),
            (Condition::Waiting, 0.2),
            (Condition::Ashore, 0.2),
            (Condition::Moored, 0.099),
            (Condition::Capsized, 0.001),
        ] {
            models[condition.ix()].share = share;
        }
        Bank { models, before: None, motion: [0.0; COUNT] }
    }

    /// The probability of `condition`.
    pub(crate) fn share(&self, condition: Condition) -> f64 {
        self.models[condition.ix()].share
    }

    /// Seconds that `condition` has lasted, if it is true.
    pub(crate) fn age_s(&self, condition: Condition) -> f64 {
        self.models[condition.ix()].age_s
    }

    /// The mean velocity she keeps if `condition` is true: down and across the wind, m/s.
    pub(crate) fn lie(&self, condition: Condition) -> (f64, f64) {
        let model = &self.models[condition.ix()];
        (model.down.m, model.across.m)
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

    /// Every share times `exp(ln[condition])`, and again summing to one.
    pub(crate) fn weigh(&mut self, ln: &[f64; COUNT]) {
        let top = (0..COUNT)
            .filter(|&ix| self.models[ix].share > 0.0)
            .map(|ix| ln[ix])
            .fold(f64::NEG_INFINITY, f64::max);
        let mut sum = 0.0;
        for (model, ln) in self.models.iter_mut().zip(ln) {
            model.share *= (ln - top).exp();
            sum += model.share;
        }
        if sum.is_nan() || sum <= 0.0 {
            return;
        }
        for model in &mut self.models {
            model.share /= sum;
        }
    }

    /// Time passes and a velocity is seen.
    pub(crate) fn step(&mut self, step: &Step) {
        let (before, before_var) = self.before.unwrap_or((step.seen, step.var));
        self.switch(step, before, before_var);
        let mut ln = [0.0; COUNT];
        for condition in Condition::ALL {
            let ix = condition.ix();
            let foretold = if condition.makes_way() {
                self.under_way(condition, step, before, before_var)
            } else {
                self.lying(condition, step)
            };
            let (x, y) = step.seen;
            let odd_var = ODD_SD * ODD_SD;
            let odd = ODD / (2.0 * PI * odd_var) * (-(x * x + y * y) / (2.0 * odd_var)).exp();
            self.motion[ix] = ((1.0 - ODD) * foretold.exp() + odd).ln();
            ln[ix] = self.motion[ix] + step.other[ix];
        }
        self.weigh(&ln);
        let foretold_var = before_var + SURGE_MPS * SURGE_MPS * step.dt_s;
        let gain = foretold_var / (foretold_var + step.var);
        let smoothed =
            (before.0 + gain * (step.seen.0 - before.0), before.1 + gain * (step.seen.1 - before.1));
        self.before = Some((smoothed, gain * step.var));
    }

    /// Conditions end and begin, over the step's time.
    fn switch(&mut self, step: &Step, before: (f64, f64), before_var: f64) {
        let dt = step.dt_s.min(20.0);
        let mut entering = [0.0; COUNT];
        for condition in Condition::ALL {
            let ix = condition.ix();
            let share = self.models[ix].share;
            let mut left = 0.0;
            let mut goes = |to: Condition, rate_per_s: f64, entering: &mut [f64; COUNT]| {
                let flow = share * (1.0 - (-rate_per_s * dt).exp());
                entering[to.ix()] += flow;
                left += flow;
            };
            let rates = if condition.makes_way() {
                &step.onsets.sailing_per_h
            } else {
                let age = self.models[ix].age_s + dt / 2.0;
                let kept = rest(condition);
                let hazard = lognormal_hazard(age, kept.lasts_s, kept.lasts_spread);
                for &(next, part) in successors(condition) {
                    goes(next, hazard * part, &mut entering);
                }
                &step.onsets.resting_per_h
            };
            match condition {
                Condition::Sailing => goes(Condition::Manoeuvring, TURNS_PER_H / 3600.0, &mut entering),
                Condition::Manoeuvring => goes(Condition::Sailing, 1.0 / TURN_LASTS_S, &mut entering),
                _ => (),
            }
            for to in Condition::ALL {
                if to != condition && rates[to.ix()] > 0.0 {
                    goes(to, rates[to.ix()] / 3600.0, &mut entering);
                }
            }
            self.models[ix].share = (share - left).max(0.0);
        }
        for condition in Condition::ALL {
            let ix = condition.ix();
            let lie = step.lies[ix];
            let model = &mut self.models[ix];
            let (stay, enter) = (model.share, entering[ix]);
            let down = Axis::entering(before.0, before_var, lie.down_mps, lie.down_sd);
            let across = Axis::entering(before.1, before_var, lie.across_mps, lie.across_sd);
            model.down = model.down.merged(stay, down, enter);
            model.across = model.across.merged(stay, across, enter);
            model.scatter =
                if stay + enter > 0.0 { (stay * model.scatter + enter) / (stay + enter) } else { 1.0 };
            model.age_s = if stay + enter > 0.0 { (stay * model.age_s) / (stay + enter) + dt } else { dt };
            model.share = stay + enter;
        }
    }

    /// A condition at rest foretells, is told, and answers with the ln likelihood of what was seen.
    fn lying(&mut self, condition: Condition, step: &Step) -> f64 {
        let kept = rest(condition);
        let dt = step.dt_s;
        let keep = (-dt / kept.stop_s).exp();
        let model = &mut self.models[condition.ix()];
        let (way_x, way_y) = (model.down.u - model.down.m, model.across.u - model.across.m);
        let (turned_x, turned_y) = if step.wind_known && kept.luff_dps > 0.0 {
            luffed(way_x, way_y, kept.luff_dps.to_radians() * dt)
        } else {
            (way_x, way_y)
        };
        // The loss of way varies along it, the course across it.
        let along = kept.stop_spread * (1.0 - keep);
        let aside = kept.veer_rad * keep * dt.sqrt();
        let swing = kept.swing_mps * kept.swing_mps * (1.0 - keep * keep);
        let wander = kept.wander_mps * kept.wander_mps * dt;
        let noise = |part: f64, other: f64| (along * part).powi(2) + (aside * other).powi(2) + swing;
        model.down = model.down.predicted(keep, keep * turned_x, noise(turned_x, turned_y), wander);
        model.across = model.across.predicted(keep, keep * turned_y, noise(turned_y, turned_x), wander);
        let (sx, sy) = (model.down.uu + step.var, model.across.uu + step.var);
        let (dx, dy) = (step.seen.0 - model.down.u, step.seen.1 - model.across.u);
        let distance = dx * dx / sx + dy * dy / sy;
        let ln =
            -(2.0 * PI).ln() - 0.5 * (sx * sy).ln() - model.scatter.ln() - 0.5 * distance / model.scatter;
        // An odd second teaches little: trusted by the chance that it was not one.
        let trust = 1.0 / (1.0 + ODD * (0.5 * distance).exp().min(1e12));
        let lie = step.lies[condition.ix()];
        model.down = model.down.told(step.seen.0, step.var, trust).held(lie.down_mps, lie.down_sd);
        model.across = model.across.told(step.seen.1, step.var, trust).held(lie.across_mps, lie.across_sd);
        model.scatter = learned(model.scatter, distance / 2.0, dt);
        ln
    }

    /// Sailing and manoeuvring: the speed relaxes towards what is expected of her; the course goes
    /// on as it was, more or less; from rest she may set off in any direction.
    fn under_way(&mut self, condition: Condition, step: &Step, before: (f64, f64), before_var: f64) -> f64 {
        let dt = step.dt_s;
        let speed = before.0.hypot(before.1);
        let (pace, gather_s, steer) = match condition {
            Condition::Manoeuvring => (TURN_PACE, GATHER_S / 2.0, TURN_RAD),
            _ => (1.0, GATHER_S, STEER_RAD),
        };
        let gain = 1.0 - (-dt / gather_s).exp();
        let radius = speed * (1.0 - gain) + step.expected_mps * pace * gain;
        let spread = gain * PACE_SPREAD * step.expected_mps;
        let surge = SURGE_MPS * SURGE_MPS * dt.min(GATHER_S);
        let var = step.var + before_var + surge + spread * spread;
        let (about, kappa) = if speed > 1e-6 {
            let course_var = before_var / (speed * speed) + steer * steer * dt;
            ((before.0 / speed, before.1 / speed), 1.0 / course_var)
        } else {
            ((1.0, 0.0), 0.0)
        };
        let model = &mut self.models[condition.ix()];
        let ln = ln_ring(step.seen, about, radius, kappa, var * model.scatter);
        let (seen_x, seen_y) = step.seen;
        let off = (seen_x.hypot(seen_y) - radius).powi(2) / var;
        model.scatter = learned(model.scatter, off, dt);
        ln
    }
}

/// The scatter after one more squared error of `square` (1 when it is as foretold).
fn learned(scatter: f64, square: f64, dt_s: f64) -> f64 {
    let gain = 1.0 - (-dt_s / SCATTER_MEMORY_S).exp();
    let square = square.min(SCATTER_CLIP);
    (scatter + gain * (square - scatter)).clamp(SCATTER_RANGE.0, SCATTER_RANGE.1)
}

/// Way turned towards the wind (which comes from -x) by at most `by` radians.
fn luffed(x: f64, y: f64, by: f64) -> (f64, f64) {
    let off = y.atan2(-x); // 0: dead to windward
    let to = off.signum() * (off.abs() - by).max(0.0);
    let way = x.hypot(y);
    (-way * to.cos(), way * to.sin())
}
