//! The safety boat: patrols, lies, goes alongside, stands by capsizes, passes close by, tells her own wind.

use super::{air::Air, boat::Boat, passage::Kind};
use crate::{
    dice::{Dice, Wander},
    plane::{Chart, Vec2, fold_180, wrap_360},
    sentence,
};

/// What she can do: m/s, m/s in a second, degrees in a second.
const FASTEST_MPS: f64 = 8.0;
const PUSHES_MPS2: f64 = 1.3;
const TURNS_DPS: f64 = 35.0;
/// This near she has come to a boat, m.
const COME_M: f64 = 4.5;
/// A boat she stands by is left alone after so long upright, s.
const STAYS_S: f64 = 30.0;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Task {
    Lie {
        until_s: f64,
    },
    Cruise {
        to: Vec2,
        mps: f64,
    },
    /// To a boat: alongside to raft, or to stand by.
    Go {
        ix: usize,
        raft: bool,
    },
    StandBy {
        ix: usize,
        until_s: f64,
    },
    /// Close past a boat that sails.
    Pass {
        ix: usize,
        until_s: f64,
        beam_m: f64,
    },
    /// Everybody is called round her.
    Talk {
        until_s: f64,
    },
}

#[derive(Clone, Debug)]
pub(super) struct Safety {
    pub(super) at: Vec2,
    pub(super) velocity: Vec2,
    heading_deg: f64,
    task: Task,
    has_vane: bool,
    /// What the vane is off by, and how much of the wind there is at its height (10 m wind is 1.1 to 1.3
    /// times that at 2 m: common practice).
    vane_off_deg: f64,
    vane_share: f64,
    vane_noise: Wander,
    error: [Wander; 2],
    pub(super) next_s: f64,
    dice: Dice,
}

impl Safety {
    pub(super) fn draw(has_vane: bool, from_deg: f64, mut dice: Dice) -> Safety {
        Safety {
            at: Vec2::along(dice.between(0.0, 360.0), 60.0),
            velocity: Vec2::default(),
            heading_deg: from_deg,
            task: Task::Lie { until_s: dice.between(10.0, 120.0) },
            has_vane,
            vane_off_deg: dice.sign() * dice.between(0.0, 6.0),
            vane_share: dice.between(0.78, 0.95),
            vane_noise: Wander::new(dice.between(2.0, 6.0), dice.between(1.0, 8.0), &mut dice),
            error: [0, 1].map(|_| Wander::new(1.4, 150.0, &mut dice)),
            next_s: dice.between(0.0, 1.0),
            dice,
        }
    }

    /// Nobody needs her.
    pub(super) fn is_free(&self) -> bool {
        matches!(self.task, Task::Lie { .. } | Task::Cruise { .. } | Task::Pass { .. })
    }

    /// A capsize calls her off even from a talk.
    pub(super) fn may_leave(&self) -> bool {
        self.is_free() || matches!(self.task, Task::Talk { .. })
    }

    /// The boat she has come alongside of to raft.
    pub(super) fn rafts_with(&self, boats: &[Boat]) -> Option<usize> {
        let Task::Go { ix, raft: true } = self.task else { return None };
        boats.get(ix).filter(|boat| (boat.at - self.at).length() < COME_M).map(|_| ix)
    }

    pub(super) fn go(&mut self, ix: usize, raft: bool) {
        self.task = Task::Go { ix, raft };
    }

    pub(super) fn talk(&mut self, until_s: f64) {
        self.task = Task::Talk { until_s };
    }

    pub(super) fn step(&mut self, t_s: f64, step_s: f64, boats: &[Boat], air: Air, stream: Vec2) {
        self.decide(t_s, boats);
        let idle = Vec2::along(air.from_deg + 180.0, 0.03 * air.mps) + stream;
        let towards = |goal: Vec2, with: Vec2, most_mps: f64| {
            let way = goal - self.at;
            with + way.unit() * (way.length() / 2.5).min(most_mps)
        };
        let wanted = match self.task {
            Task::Lie { .. } | Task::Talk { .. } => idle,
            Task::Cruise { to, mps } => towards(to, Vec2::default(), mps),
            Task::Go { ix, .. } | Task::StandBy { ix, .. } => match boats.get(ix) {
                Some(boat) => {
                    towards(boat.at + Vec2::along(boat.heading_deg + 90.0, 2.2), boat.velocity, 6.5)
                }
                None => idle,
            },
            Task::Pass { ix, beam_m, .. } => match boats.get(ix) {
                Some(boat) => {
                    let abeam = Vec2::along(boat.heading_deg + 90.0, beam_m);
                    towards(boat.at + abeam + boat.velocity * 2.0, boat.velocity, 5.0)
                }
                None => idle,
            },
        };
        let push = wanted - self.velocity;
        self.velocity += push.unit() * push.length().min(PUSHES_MPS2 * step_s);
        if self.velocity.length() > FASTEST_MPS {
            self.velocity = self.velocity.unit() * FASTEST_MPS;
        }
        let through = self.velocity - stream;
        // Without way she falls off until the wind is abeam.
        let (bow_deg, turns_dps) = if through.length() > 0.8 {
            (through.bearing_deg(), TURNS_DPS)
        } else {
            (air.from_deg + 95.0, 3.0)
        };
        let turn_deg = fold_180(bow_deg - self.heading_deg).clamp(-turns_dps * step_s, turns_dps * step_s);
        self.heading_deg = wrap_360(self.heading_deg + turn_deg);
        self.at += self.velocity * step_s;
    }

    fn decide(&mut self, t_s: f64, boats: &[Boat]) {
        let near = |ix: usize, m: f64| boats.get(ix).is_none_or(|boat| (boat.at - self.at).length() < m);
        let (kind, sails) = match self.task {
            Task::Go { ix, .. } | Task::StandBy { ix, .. } | Task::Pass { ix, .. } => {
                let boat = boats.get(ix);
                (boat.and_then(Boat::kind), boat.is_none_or(Boat::is_sailing))
            }
            _ => (None, false),
        };
        let done = match self.task {
            Task::Lie { until_s } | Task::Talk { until_s } => t_s >= until_s,
            Task::Cruise { to, .. } => (to - self.at).length() < 12.0,
            // Whoever sails again needs nobody.
            Task::Go { ix, raft } if !sails => {
                if !raft && near(ix, COME_M) {
                    self.task = Task::StandBy { ix, until_s: t_s + STAYS_S };
                }
                false
            }
            Task::StandBy { ix, until_s } if !sails => {
                if matches!(kind, Some(Kind::Over(_))) {
                    self.task = Task::StandBy { ix, until_s: t_s + STAYS_S };
                }
                t_s >= until_s
            }
            Task::Pass { ix, until_s, beam_m } => t_s >= until_s || near(ix, beam_m.abs() + 2.5),
            Task::Go { .. } | Task::StandBy { .. } => true,
        };
        if done {
            self.task = self.next(t_s, boats);
        }
    }

    fn next(&mut self, t_s: f64, boats: &[Boat]) -> Task {
        let dice = &mut self.dice;
        match dice.pick(10) {
            0..4 => Task::Lie { until_s: t_s + dice.between(30.0, 200.0) },
            4 | 5 => Task::Pass {
                ix: dice.pick(boats.len()),
                until_s: t_s + 90.0,
                beam_m: dice.sign() * dice.between(3.0, 9.0),
            },
            _ => {
                let sum = boats.iter().fold(Vec2::default(), |sum, boat| sum + boat.at);
                let middle = sum * (1.0 / boats.len().max(1) as f64);
                let to = middle + Vec2::along(dice.between(0.0, 360.0), dice.between(20.0, 300.0));
                Task::Cruise { to, mps: dice.between(1.5, 5.5) }
            }
        }
    }

    /// What she says each second.
    pub(super) fn speak(&mut self, now_ms: i64, chart: &Chart, air: Air) -> Vec<String> {
        let dice = &mut self.dice;
        let error = self.error.each_mut().map(|axis| axis.step(1.0, dice));
        let (lat, lon) = chart.lat_lon(self.at + Vec2::new(error[0], error[1]));
        let told = self.velocity + Vec2::new(dice.normal(), dice.normal()) * 0.05;
        let mut lines = vec![sentence::rmc(now_ms, lat, lon, told.length(), Some(told.bearing_deg()))];
        if self.has_vane {
            let low = Air { mps: air.mps * self.vane_share, ..air };
            let felt = low.felt_by(self.velocity);
            let off_deg = self.vane_off_deg + self.vane_noise.step(1.0, dice) + 1.5 * dice.normal();
            let speed_mps = (felt.mps * (1.0 + 0.06 * dice.normal())).max(0.0);
            lines.push(sentence::hdt(wrap_360(self.heading_deg + dice.normal())));
            lines.push(sentence::mwv_relative(
                wrap_360(felt.from_deg + off_deg - self.heading_deg),
                speed_mps,
            ));
        }
        lines
    }
}
