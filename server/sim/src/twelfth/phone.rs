//! A phone in a pocket or a pouch: where it thinks it is, and when what it says arrives.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps},
};

/// Errors last "1 to 10 min" and are some metres: within 4.9 m under an open sky (`detection.md`).
const LASTS_S: (f64, f64) = (60.0, 400.0);
const ERROR_M: (f64, f64) = (1.5, 4.0);
/// Receiver speed is good to about 0.1 kn (`detection.md`).
const SPEED_KN: f64 = 0.1;
/// The rest are guesses: fixes lost, dry and wet; stalls of the link an hour; phones that a capsize silences.
const LOST: [f64; 2] = [0.012, 0.05];
const STALLS_PER_H: f64 = 3.0;
const DROWNS: f64 = 0.05;
/// Arms and waves move a wet phone about at so many knots, for some seconds.
const SPLASH_KN: f64 = 0.11;
const SPLASH_S: f64 = 3.0;

/// One fix.
#[derive(Clone, Copy, Debug)]
pub(super) struct Told {
    pub(super) at: Vec2,
    pub(super) speed_mps: f64,
    pub(super) course_deg: Option<f64>,
    pub(super) arrives_ms: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Phone {
    error_m: [Wander; 2],
    splash_mps: [Wander; 2],
    lag_s: f64,
    late_ms: f64,
    /// Slower than this it tells no course, and some tell no speed either.
    still_mps: f64,
    tells_zero: bool,
    felt: Vec2,
    wet: bool,
    mute_until_s: f64,
    stalled_until_ms: i64,
    arrived_ms: i64,
    dice: Dice,
}

impl Phone {
    pub(super) fn draw(mut dice: Dice) -> Phone {
        let (error_m, lasts_s) = (dice.between(ERROR_M.0, ERROR_M.1), dice.between(LASTS_S.0, LASTS_S.1));
        let splash_mps = mps(SPLASH_KN) * dice.log_normal(1.0, 1.0);
        Phone {
            error_m: [0; 2].map(|_| Wander::new(error_m, lasts_s, &mut dice)),
            splash_mps: [0; 2].map(|_| Wander::new(splash_mps, SPLASH_S, &mut dice)),
            lag_s: dice.between(0.4, 1.8),
            late_ms: dice.between(80.0, 700.0),
            still_mps: mps(dice.between(0.1, 0.35)),
            tells_zero: dice.chance(0.25),
            felt: Vec2::default(),
            wet: false,
            mute_until_s: 0.0,
            stalled_until_ms: 0,
            arrived_ms: 0,
            dice,
        }
    }

    /// Every step.
    pub(super) fn feel(&mut self, over_ground: Vec2, wet: bool, t_s: f64, dt_s: f64) {
        self.felt += (over_ground - self.felt) * (dt_s / self.lag_s).min(1.0);
        if wet && !self.wet && self.dice.chance(DROWNS) {
            self.mute_until_s = t_s + self.dice.log_normal(500.0, 0.8);
        }
        self.wet = wet;
    }

    /// Every second.
    pub(super) fn fix(&mut self, at: Vec2, t_s: f64, now_ms: i64) -> Option<Told> {
        let dice = &mut self.dice;
        let error = self.error_m.each_mut().map(|axis| axis.step(1.0, dice) + 0.7 * dice.normal());
        let splash = self.splash_mps.each_mut().map(|axis| axis.step(1.0, dice));
        if dice.happens(STALLS_PER_H, 1.0) {
            let lasts_s = dice.log_normal(6.0, 0.7).min(50.0);
            // Some links keep what they could not send, some lose it.
            if dice.chance(0.7) {
                self.stalled_until_ms = now_ms + (lasts_s * 1000.0) as i64;
            } else {
                self.mute_until_s = self.mute_until_s.max(t_s + lasts_s);
            }
        }
        if dice.chance(LOST[usize::from(self.wet)]) || t_s < self.mute_until_s {
            return None;
        }
        let sd_mps = mps(SPEED_KN) / std::f64::consts::SQRT_2;
        let mut velocity = self.felt + Vec2::new(dice.normal(), dice.normal()) * sd_mps;
        if self.wet {
            velocity += Vec2::new(splash[0], splash[1]);
        }
        let late_ms = (self.late_ms * dice.log_normal(1.0, 0.3)) as i64;
        // What was sent first arrives first.
        self.arrived_ms = (now_ms + late_ms).max(self.stalled_until_ms).max(self.arrived_ms + 1);
        let still = velocity.length() < self.still_mps;
        Some(Told {
            at: at + Vec2::new(error[0], error[1]),
            speed_mps: if still && self.tells_zero { 0.0 } else { velocity.length() },
            course_deg: (!still).then(|| velocity.bearing_deg()),
            arrives_ms: self.arrived_ms,
        })
    }
}
