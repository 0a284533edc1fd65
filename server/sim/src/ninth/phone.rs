//! A phone aboard: what its receiver tells, and when it does not.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps},
};

/// What a phone says, and how late it arrives.
#[derive(Clone, Copy, Debug)]
pub(super) struct Told {
    pub(super) at: Vec2,
    pub(super) speed_mps: f64,
    pub(super) course_deg: Option<f64>,
    pub(super) late_ms: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Phone {
    error: [Wander; 2],
    /// What an arm, a swell or a swimmer does to it, m/s.
    sways: [Wander; 2],
    /// How much of it when its owner swims.
    swims_mps: f64,
    /// Waves come in groups.
    swell: [Wander; 2],
    phase: f64,
    /// Of the receiver's own speed, s.
    lag_s: f64,
    noise_mps: f64,
    /// Told as none.
    zero_mps: f64,
    loses: f64,
    gaps_ph: f64,
    late_ms: f64,
    moves: Vec2,
    course_deg: Option<f64>,
    silent_from_s: f64,
    silent_to_s: f64,
    late_to_s: f64,
    dice: Dice,
}

impl Phone {
    /// detection.md: errors of some metres that last one to ten minutes; a Doppler speed good to about 0.1 kn; many
    /// phones that say exactly 0 when slow. How many of them do, loss and delays are guesses.
    pub(super) fn draw(mut dice: Dice) -> Phone {
        let (sd_m, tau_s) = (dice.between(1.2, 3.5), dice.between(60.0, 500.0));
        let sways_s = dice.between(1.5, 4.0);
        let draw = |sd: f64, tau_s: f64, dice: &mut Dice| {
            [Wander::new(sd, tau_s, dice), Wander::new(sd, tau_s, dice)]
        };
        Phone {
            error: draw(sd_m, tau_s, &mut dice),
            sways: draw(1.0, sways_s, &mut dice),
            swims_mps: dice.log_normal(0.125, 0.5),
            swell: draw(0.32, 12.0, &mut dice),
            phase: dice.between(0.0, std::f64::consts::TAU),
            lag_s: dice.between(0.5, 1.9),
            noise_mps: mps(dice.between(0.05, 0.16)),
            zero_mps: if dice.chance(0.25) { mps(dice.between(0.2, 0.45)) } else { 0.0 },
            loses: dice.between(0.002, 0.025),
            gaps_ph: dice.log_normal(0.6, 0.6),
            late_ms: dice.between(120.0, 500.0),
            moves: Vec2::default(),
            course_deg: None,
            silent_from_s: f64::INFINITY,
            silent_to_s: 0.0,
            late_to_s: 0.0,
            dice,
        }
    }

    /// How the boat moves over the ground; `wave` is the speed of the water in the waves, m/s, with its period.
    pub(super) fn watch(&mut self, moves: Vec2, wave: (Vec2, f64), in_water: bool, dt_s: f64) {
        let (along, period_s) = wave;
        self.phase = (self.phase + dt_s * std::f64::consts::TAU / period_s) % std::f64::consts::TAU;
        let [one, two] = self.swell.each_mut().map(|part| part.step(dt_s, &mut self.dice));
        let heaves = along * (one * self.phase.cos() + two * self.phase.sin());
        let [east, north] = self.sways.each_mut().map(|part| part.step(dt_s, &mut self.dice));
        // A swimmer goes along the hull and back at some tenths of a metre a second, someone aboard only leans. Guesses.
        let sways = Vec2::new(east, north) * if in_water { self.swims_mps } else { 0.02 };
        let felt = moves + heaves + sways;
        self.moves = self.moves + (felt - self.moves) * (1.0 - (-dt_s / self.lag_s).exp());
    }

    /// One in some goes down with a crew, for a while or for good.
    pub(super) fn may_drown(&mut self, t_s: f64) {
        if self.dice.chance(0.09) {
            self.silent_from_s = t_s + self.dice.between(1.0, 40.0);
            self.silent_to_s = f64::INFINITY;
        } else if self.dice.chance(0.25) {
            self.silent_from_s = t_s + self.dice.between(0.0, 60.0);
            self.silent_to_s = self.silent_from_s + self.dice.log_normal(10.0, 0.7);
        }
    }

    /// Dried on a sleeve, some come back.
    pub(super) fn comes_up(&mut self, t_s: f64) {
        if self.silent_to_s.is_infinite() && self.dice.chance(0.5) {
            self.silent_to_s = t_s + self.dice.log_normal(60.0, 0.8);
        }
    }

    /// Each second.
    pub(super) fn fix(&mut self, at: Vec2, t_s: f64) -> Option<Told> {
        let [east, north] = self.error.each_mut().map(|part| part.step(1.0, &mut self.dice));
        let hushed = self.silent_from_s <= t_s && t_s < self.silent_to_s;
        if t_s > self.silent_to_s {
            self.silent_from_s = f64::INFINITY;
        }
        if self.silent_from_s.is_infinite() && self.dice.happens(self.gaps_ph, 1.0) {
            self.silent_from_s = t_s;
            self.silent_to_s = t_s + self.dice.log_normal(9.0, 0.8);
        }
        if self.dice.happens(1.5, 1.0) {
            self.late_to_s = t_s + self.dice.between(3.0, 15.0);
        }
        if hushed || self.dice.chance(self.loses) {
            return None;
        }
        let white = |dice: &mut Dice, sd: f64| Vec2::new(sd * dice.normal(), sd * dice.normal());
        let told = self.moves + white(&mut self.dice, self.noise_mps);
        let slow = told.length() < self.zero_mps;
        if !slow {
            self.course_deg = Some(told.bearing_deg());
        }
        let held_up_ms = if t_s < self.late_to_s { 3_000.0 * self.dice.unit() } else { 0.0 };
        let late_ms = (self.late_ms * self.dice.log_normal(1.0, 0.3) + held_up_ms) as i64;
        Some(Told {
            at: at + Vec2::new(east, north) + white(&mut self.dice, 0.4),
            speed_mps: if slow { 0.0 } else { told.length() },
            course_deg: self.course_deg.filter(|_| !slow),
            late_ms,
        })
    }
}
