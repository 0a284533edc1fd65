//! A phone in a pocket: what it tells each second, and when it tells nothing. Guesses unless a source is named.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps},
};

/// Correlated and white error of a position, "typical" (`detection.md`).
const STRAYS_M: f64 = 2.5;
const STRAYS_S: f64 = 120.0;
const WHITE_M: f64 = 1.0;
/// A receiver's speed is good to about 0.1 kn (`detection.md`).
const SPEED_KN: f64 = 0.1;
/// Of fixes lost, dry; gaps an hour; phones that a ducking silences.
const LOST: f64 = 0.008;
const GAPS_PER_H: f64 = 0.4;
const DROWNS: f64 = 0.05;

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
    stray: [Wander; 2],
    speed: [Wander; 2],
    wet: [Wander; 2],
    /// Some filters are smoother than others, s.
    lag_s: f64,
    /// Below this it tells 0, and no course.
    still_mps: f64,
    lost_wet: f64,
    behind: Vec2,
    velocity: Vec2,
    is_wet: bool,
    silent_until_s: f64,
    dice: Dice,
}

impl Phone {
    pub(super) fn draw(mut dice: Dice) -> Phone {
        let wet_mps = dice.log_normal(0.11, 0.4);
        let is_smooth = dice.chance(0.3);
        Phone {
            stray: [0; 2].map(|_| Wander::new(STRAYS_M, STRAYS_S, &mut dice)),
            speed: [0; 2].map(|_| Wander::new(mps(SPEED_KN) * 0.7, 6.0, &mut dice)),
            wet: [0; 2].map(|_| Wander::new(wet_mps, 4.0, &mut dice)),
            lag_s: if is_smooth { dice.between(1.5, 3.5) } else { dice.between(0.4, 1.2) },
            still_mps: if dice.chance(0.25) { mps(dice.between(0.2, 0.45)) } else { 0.0 },
            lost_wet: dice.between(0.02, 0.15),
            behind: Vec2::default(),
            velocity: Vec2::default(),
            is_wet: false,
            silent_until_s: 0.0,
            dice,
        }
    }

    /// Each step.
    pub(super) fn follow(&mut self, velocity: Vec2, is_wet: bool, t_s: f64, dt_s: f64) {
        self.velocity += (velocity - self.velocity) * (dt_s / self.lag_s).min(1.0);
        // A smoothed place trails the true one.
        self.behind = self.velocity * (0.4 * self.lag_s);
        if is_wet && !self.is_wet && self.dice.chance(DROWNS) {
            self.silent_until_s = t_s + self.dice.log_normal(500.0, 1.0);
        }
        self.is_wet = is_wet;
    }

    /// Each second.
    pub(super) fn fix(&mut self, at: Vec2, t_s: f64) -> Option<Told> {
        let dice = &mut self.dice;
        let mut next = |pair: &mut [Wander; 2]| {
            let [east, north] = pair;
            Vec2::new(east.step(1.0, dice), north.step(1.0, dice))
        };
        let (stray, speed, wet) = (next(&mut self.stray), next(&mut self.speed), next(&mut self.wet));
        if dice.happens(GAPS_PER_H, 1.0) {
            self.silent_until_s = self.silent_until_s.max(t_s + dice.log_normal(15.0, 0.6));
        }
        if t_s < self.silent_until_s || dice.chance(if self.is_wet { self.lost_wet } else { LOST }) {
            return None;
        }
        let white = Vec2::new(dice.normal(), dice.normal());
        let told = self.velocity + speed + white * (mps(SPEED_KN) * 0.6);
        let told = if self.is_wet { told + wet } else { told };
        let is_still = told.length() < self.still_mps;
        let late_ms =
            if dice.chance(0.02) { dice.between(900.0, 4_500.0) } else { dice.between(80.0, 350.0) };
        Some(Told {
            at: at - self.behind + stray + Vec2::new(dice.normal(), dice.normal()) * WHITE_M,
            speed_mps: if is_still { 0.0 } else { told.length() },
            course_deg: (!is_still).then(|| told.bearing_deg()),
            late_ms: late_ms as i64,
        })
    }
}
