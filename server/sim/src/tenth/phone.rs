//! A session's kind of phones, and what each tells once a second, or does not.

use super::{STEP_S, widely};
use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps},
};

/// What phones of this session are like.
#[derive(Clone, Debug)]
pub(super) struct Phones {
    drift_m: f64,
    drift_s: f64,
    white_m: f64,
    /// Each way; of a speed as a whole it is 1.4 times as much.
    speed_mps: f64,
    lag_s: f64,
    /// So many tell exactly 0 below that, knots, and leave out the course or tell any.
    freeze: f64,
    still_kn: f64,
    leave_out: f64,
    lost: f64,
    gaps_per_h: f64,
    late: f64,
    latency_ms: f64,
    /// In the water: fixes lost, noise of the speed, and phones that fall silent, many of them for good.
    lost_wet: f64,
    wet_mps: f64,
    drown: f64,
    for_good: f64,
}

impl Phones {
    /// A typical phone is 1 m of white noise, 2.5 m for 120 s and about 0.1 kn (`detection.md`); the ranges around it,
    /// and the rest, are guesses.
    pub(super) fn draw(dice: &mut Dice) -> Phones {
        Phones {
            drift_m: widely(dice, 1.0, 6.0),
            drift_s: widely(dice, 20.0, 400.0),
            white_m: widely(dice, 0.2, 2.0),
            speed_mps: mps(widely(dice, 0.03, 0.3)) * std::f64::consts::FRAC_1_SQRT_2,
            lag_s: dice.between(0.0, 3.0),
            freeze: dice.unit(),
            still_kn: dice.between(0.1, 0.6),
            leave_out: dice.unit(),
            lost: widely(dice, 0.001, 0.05),
            gaps_per_h: widely(dice, 0.05, 2.0),
            late: widely(dice, 0.002, 0.08),
            latency_ms: widely(dice, 50.0, 900.0),
            lost_wet: widely(dice, 0.005, 0.3),
            wet_mps: widely(dice, 0.02, 0.2),
            drown: dice.between(0.0, 0.1),
            for_good: dice.unit(),
        }
    }
}

/// One fix as sent.
#[derive(Clone, Copy, Debug)]
pub(super) struct Told {
    pub(super) at: Vec2,
    pub(super) speed_mps: f64,
    pub(super) course_deg: Option<f64>,
    pub(super) late_ms: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Phone {
    kind: Phones,
    error: [Wander; 2],
    splash: [Wander; 2],
    freezes: bool,
    leaves_out: bool,
    heard: Vec2,
    /// From and until.
    silent_s: (f64, f64),
    is_wet: bool,
    dice: Dice,
}

impl Phone {
    pub(super) fn draw(kinds: &Phones, mut dice: Dice) -> Phone {
        let mut kind = kinds.clone();
        for number in [&mut kind.drift_m, &mut kind.white_m, &mut kind.speed_mps, &mut kind.wet_mps] {
            *number *= dice.log_normal(1.0, 0.25);
        }
        kind.lag_s = (kind.lag_s + dice.between(-0.4, 0.4)).max(0.05);
        Phone {
            error: [0; 2].map(|_| Wander::new(kind.drift_m, kind.drift_s, &mut dice)),
            splash: [0; 2].map(|_| Wander::new(kind.wet_mps, 4.0, &mut dice)),
            freezes: dice.chance(kind.freeze),
            leaves_out: dice.chance(kind.leave_out),
            heard: Vec2::default(),
            silent_s: (0.0, 0.0),
            is_wet: false,
            kind,
            dice,
        }
    }

    /// Every step: the receiver follows with its lag.
    pub(super) fn watch(&mut self, over_ground: Vec2, is_wet: bool, t_s: f64) {
        self.heard += (over_ground - self.heard) * (1.0 - (-STEP_S / self.kind.lag_s).exp());
        if is_wet && !self.is_wet && self.dice.chance(self.kind.drown) {
            // Some seconds may pass before the water is in, or the phone under the hull.
            let from_s = t_s + self.dice.between(0.0, 20.0);
            let for_good = self.dice.chance(self.kind.for_good);
            let lasts_s = if for_good { f64::INFINITY } else { self.dice.log_normal(90.0, 1.0) };
            self.silent_s = (from_s, from_s + lasts_s);
        }
        self.is_wet = is_wet;
    }

    /// Once a second.
    pub(super) fn fix(&mut self, at: Vec2, t_s: f64) -> Option<Told> {
        let (kind, dice) = (&self.kind, &mut self.dice);
        let error = self.error.each_mut().map(|axis| axis.step(1.0, dice));
        let splash = self.splash.each_mut().map(|axis| axis.step(1.0, dice));
        if dice.happens(kind.gaps_per_h, 1.0) && t_s >= self.silent_s.1 {
            self.silent_s = (t_s, t_s + dice.log_normal(15.0, 0.7));
        }
        let lost = if self.is_wet { kind.lost_wet.max(kind.lost) } else { kind.lost };
        if dice.chance(lost) || (self.silent_s.0..self.silent_s.1).contains(&t_s) {
            return None;
        }
        let mut velocity = self.heard + Vec2::new(dice.normal(), dice.normal()) * kind.speed_mps;
        if self.is_wet {
            velocity += Vec2::new(splash[0], splash[1]);
        }
        let white = Vec2::new(dice.normal(), dice.normal()) * kind.white_m;
        let mut late_ms = kind.latency_ms * dice.between(0.7, 1.5);
        if dice.chance(kind.late) {
            late_ms += dice.between(800.0, 4_000.0);
        }
        let is_still = velocity.length() < mps(kind.still_kn);
        Some(Told {
            at: at + Vec2::new(error[0], error[1]) + white,
            speed_mps: if is_still && self.freezes { 0.0 } else { velocity.length() },
            course_deg: (!is_still || !self.leaves_out).then(|| velocity.bearing_deg()),
            late_ms: late_ms as i64,
        })
    }
}
