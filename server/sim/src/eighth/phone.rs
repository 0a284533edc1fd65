//! A phone in a crew's pocket: what it tells each second, and when it tells nothing.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps},
};

/// Position error that remembers itself: 2.5 m for 120 s, with 1 m of white noise ("typical", `detection.md`).
const DRIFT_M: f64 = 2.5;
const DRIFT_S: f64 = 120.0;
const WHITE_M: f64 = 1.0;
/// The receiver's speed is good to about 0.1 kn (`detection.md`).
const SPEED_MPS: f64 = 0.05;
/// Below this some phones tell exactly 0; most leave out the course there. Guesses.
const STILL_KN: f64 = 0.25;
/// Fixes lost and late, of all; gaps an hour. Guesses.
const LOST: f64 = 0.01;
const LATE: f64 = 0.02;
const GAPS_PER_H: f64 = 0.5;
/// In the water so many fixes are lost, and an arm or a wave over the phone makes its speed so much worse. Guesses.
const LOST_WET: f64 = 0.06;
const WET_MPS: f64 = 0.11;
/// Of phones that go into the water so many fall silent: a guess.
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
    error: [Wander; 2],
    splash: [Wander; 2],
    lag_s: f64,
    shows_still: bool,
    /// Velocity as the receiver has it.
    heard: Vec2,
    silent_until_s: f64,
    wet: bool,
    dice: Dice,
}

impl Phone {
    pub(super) fn draw(mut dice: Dice) -> Phone {
        let wet_mps = WET_MPS * dice.log_normal(1.0, 0.4);
        Phone {
            error: [0; 2].map(|_| Wander::new(DRIFT_M, DRIFT_S, &mut dice)),
            splash: [0; 2].map(|_| Wander::new(wet_mps, 4.0, &mut dice)),
            lag_s: dice.between(0.5, 2.0),
            shows_still: dice.chance(0.2),
            heard: Vec2::default(),
            silent_until_s: 0.0,
            wet: false,
            dice,
        }
    }

    /// Every step: the receiver follows with its lag.
    pub(super) fn watch(&mut self, over_ground: Vec2, is_wet: bool, t_s: f64, dt_s: f64) {
        self.heard += (over_ground - self.heard) * (dt_s / self.lag_s).min(1.0);
        if is_wet && !self.wet && self.dice.chance(DROWNS) {
            // For good, or until somebody dries it.
            self.silent_until_s = t_s + self.dice.log_normal(600.0, 1.0);
        }
        self.wet = is_wet;
    }

    /// Once a second.
    pub(super) fn fix(&mut self, at: Vec2, t_s: f64) -> Option<Told> {
        let dice = &mut self.dice;
        let [east, north] = [0, 1].map(|axis| self.error[axis].step(1.0, dice));
        let splash = [0, 1].map(|axis| self.splash[axis].step(1.0, dice));
        if dice.happens(GAPS_PER_H, 1.0) {
            self.silent_until_s = self.silent_until_s.max(t_s + dice.between(8.0, 40.0));
        }
        let lost = dice.chance(if self.wet { LOST_WET } else { LOST });
        if lost || t_s < self.silent_until_s {
            return None;
        }
        let mut velocity = self.heard + Vec2::new(dice.normal(), dice.normal()) * SPEED_MPS;
        if self.wet {
            velocity += Vec2::new(splash[0], splash[1]);
        }
        let error = Vec2::new(east + WHITE_M * dice.normal(), north + WHITE_M * dice.normal());
        let late_ms =
            if dice.chance(LATE) { dice.between(1_000.0, 4_000.0) } else { dice.between(60.0, 300.0) };
        let is_still = velocity.length() < mps(STILL_KN);
        Some(Told {
            at: at + error,
            speed_mps: if is_still && self.shows_still { 0.0 } else { velocity.length() },
            course_deg: (!is_still).then(|| velocity.bearing_deg()),
            late_ms: late_ms as i64,
        })
    }
}
