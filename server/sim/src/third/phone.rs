//! A receiver aboard a dinghy of the third water: what it says of where she is. It knows nothing of what she does.

use std::collections::VecDeque;

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, kn, mps},
};

/// Seconds between fixes.
pub(super) const EVERY_S: f64 = 1.0;

/// How it makes speed and course. Common practice, no source.
#[derive(Clone, Debug)]
enum Way {
    /// As measured.
    Raw,
    /// The mean of the last fixes' velocities.
    Mean(usize),
    /// Follows its own positions, correcting place and velocity by these shares of what surprises it.
    Follows { alpha: f64, beta: f64, at: Option<Vec2>, velocity: Vec2 },
}

/// One fix as told.
#[derive(Clone, Debug)]
pub(super) struct Told {
    pub(super) at: Vec2,
    /// `None` from receivers that tell positions only.
    pub(super) motion: Option<(f64, Option<f64>)>,
    pub(super) late_ms: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Phone {
    pub(super) next_s: f64,
    /// Under water from then on.
    pub(super) drowns_s: Option<f64>,
    /// Slow error: GPS.gov gives 4.9 m for a phone under open sky; Schumayer et al. 2020: it is not white.
    slow: [Wander; 2],
    white_m: f64,
    noise: [Wander; 2],
    way: Way,
    lately: VecDeque<Vec2>,
    positions_only: bool,
    rounds_to_kn: f64,
    course_from_mps: f64,
    still_mps: f64,
    late_s: (f64, f64),
    burst_per_fix: f64,
    lost: usize,
}

impl Phone {
    pub(super) fn draw(dice: &mut Dice) -> Phone {
        let (sd_m, tau_s) = (dice.between(2.0, 4.0) / 1.4, dice.between(50.0, 400.0));
        let (noise_mps, noise_s) = (dice.between(0.03, 0.14), dice.between(0.5, 3.0));
        let way = match dice.pick(3) {
            0 => Way::Raw,
            1 => Way::Mean(1 + dice.pick(3)),
            _ => Way::Follows {
                alpha: dice.between(0.4, 0.7),
                beta: dice.between(0.12, 0.3),
                at: None,
                velocity: Vec2::default(),
            },
        };
        let least_s = dice.between(0.1, 0.6);
        Phone {
            next_s: 0.25 * dice.pick(4) as f64,
            drowns_s: None,
            slow: [Wander::new(sd_m, tau_s, dice), Wander::new(sd_m, tau_s, dice)],
            white_m: dice.between(0.1, 0.5),
            noise: [Wander::new(noise_mps, noise_s, dice), Wander::new(noise_mps, noise_s, dice)],
            way,
            lately: VecDeque::new(),
            positions_only: dice.chance(0.1),
            rounds_to_kn: if dice.chance(0.5) { 0.1 } else { 0.01 },
            course_from_mps: if dice.chance(0.4) { mps(dice.between(0.3, 1.2)) } else { 0.0 },
            still_mps: if dice.chance(0.3) { mps(dice.between(0.2, 0.7)) } else { 0.0 },
            late_s: (least_s, dice.between(least_s, 1.5)),
            // Bursts of five on average: 1 to 3 fixes in a hundred.
            burst_per_fix: dice.between(0.002, 0.006),
            lost: 0,
        }
    }

    /// What it says of a place and a velocity over the ground; `None` when lost or under water.
    pub(super) fn fix(&mut self, at: Vec2, velocity: Vec2, t_s: f64, dice: &mut Dice) -> Option<Told> {
        let slow = self.slow.each_mut().map(|axis| axis.step(EVERY_S, dice));
        let noise = self.noise.each_mut().map(|axis| axis.step(EVERY_S, dice));
        let white = Vec2::new(dice.normal(), dice.normal()) * self.white_m;
        let seen = at + Vec2::new(slow[0], slow[1]) + white;
        let motion = self.motion(seen, velocity + Vec2::new(noise[0], noise[1]));
        if self.lost == 0 && dice.chance(self.burst_per_fix) {
            self.lost = 1 + dice.pick(9);
        }
        let late_s = dice.between(self.late_s.0, self.late_s.1);
        if self.drowns_s.is_some_and(|from_s| t_s >= from_s) {
            return None;
        }
        if self.lost > 0 {
            self.lost -= 1;
            return None;
        }
        let speed_mps = motion.length();
        let told_mps = if speed_mps < self.still_mps {
            0.0
        } else {
            mps((kn(speed_mps) / self.rounds_to_kn).round() * self.rounds_to_kn)
        };
        let course_deg = (told_mps > 0.0 && speed_mps >= self.course_from_mps).then(|| motion.bearing_deg());
        Some(Told {
            at: seen,
            motion: (!self.positions_only).then_some((told_mps, course_deg)),
            late_ms: (late_s * 1000.0) as i64,
        })
    }

    fn motion(&mut self, seen: Vec2, measured: Vec2) -> Vec2 {
        match &mut self.way {
            Way::Raw => measured,
            Way::Mean(n) => {
                self.lately.push_back(measured);
                while self.lately.len() > *n {
                    self.lately.pop_front();
                }
                let sum = self.lately.iter().fold(Vec2::default(), |sum, one| sum + *one);
                sum * (1.0 / self.lately.len().max(1) as f64)
            }
            Way::Follows { alpha, beta, at, velocity } => {
                let expected = at.map_or(seen, |at| at + *velocity * EVERY_S);
                let surprise = seen - expected;
                *at = Some(expected + surprise * *alpha);
                *velocity += surprise * (*beta / EVERY_S);
                *velocity
            }
        }
    }
}
