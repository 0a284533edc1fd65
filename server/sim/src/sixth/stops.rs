//! The ways of lying stopped that are no emergency, and what each does to her.

use super::{
    air::Air,
    hull::{Hull, Push},
    measured,
    safety::Beside,
};
use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, fold_180},
    truth::Reason,
};

/// Made fast or let go within this, m.
const ALONGSIDE_M: f64 = 4.0;
/// Nobody waits longer for the safety boat, s.
const PATIENCE_S: f64 = 170.0;

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Kind {
    Irons,
    HeaveTo,
    Wait,
    Drill,
    /// Waits for the safety boat, then lies alongside.
    Raft,
}

#[derive(Clone, Debug)]
pub(super) struct Stop {
    pub(super) kind: Kind,
    until_s: f64,
    alongside: bool,
    length_m: f64,
    /// Share of her usual pace that she keeps.
    share: f64,
    /// She rounds up first and keeps less, until then.
    up_until_s: f64,
    off_deg: f64,
    turn_deg_per_s: f64,
    /// Share of the wind, downwind.
    lee: f64,
    sway: Wander,
}

impl Stop {
    pub(super) fn draw(kind: Kind, off_deg: f64, tack_length_m: f64, t_s: f64, dice: &mut Dice) -> Stop {
        let side = off_deg.signum();
        let (glide_m, spread) = measured::GLIDE_LENGTH_M;
        let glide_m = dice.log_normal(glide_m, spread);
        let within = |range: (f64, f64), dice: &mut Dice| dice.between(range.0, range.1);
        let (lasts_s, least_s, most_s) = match kind {
            Kind::Irons => (18.0, 8.0, 70.0),
            Kind::HeaveTo => (65.0, 20.0, 240.0),
            Kind::Wait => (60.0, 12.0, 300.0),
            Kind::Drill => (16.0, 7.0, 50.0),
            Kind::Raft => (90.0, 30.0, 240.0),
        };
        let (share, angle_deg) = match kind {
            Kind::Irons => (0.0, off_deg.abs()),
            Kind::HeaveTo => (dice.between(0.15, 0.33), dice.between(42.0, 68.0)),
            Kind::Drill => (dice.between(0.0, 0.12), dice.between(35.0, 60.0)),
            Kind::Wait | Kind::Raft if dice.chance(measured::LIES_STILL) => {
                (dice.between(0.0, 0.05), dice.between(12.0, 40.0))
            }
            Kind::Wait | Kind::Raft => {
                (within(measured::WAITING_SHARE, dice), within(measured::WAITING_OFF_DEG, dice))
            }
        };
        let still = if kind == Kind::Wait { 1.0 } else { 0.6 };
        let sway_mps = still * within(measured::SWAY_MPS, dice);
        let up_s = if dice.chance(0.6) { dice.between(2.0, 10.0) } else { 0.0 };
        Stop {
            kind,
            until_s: t_s + dice.log_normal(lasts_s, 0.6).clamp(least_s, most_s),
            alongside: false,
            length_m: if kind == Kind::Irons { tack_length_m } else { glide_m },
            share,
            up_until_s: t_s + up_s,
            off_deg: side * angle_deg,
            turn_deg_per_s: dice.between(5.0, 14.0),
            lee: within(measured::LOOSE_DRIFT, dice),
            sway: Wander::new(sway_mps, 0.7 * measured::SWAY_S, dice),
        }
    }

    pub(super) fn reason(&self) -> Reason {
        match self.kind {
            Kind::Irons => Reason::InIrons,
            Kind::HeaveTo => Reason::HoveTo,
            Kind::Drill => Reason::DrillPickUp,
            Kind::Raft if self.alongside => Reason::Rafted,
            Kind::Wait | Kind::Raft => Reason::Waiting,
        }
    }

    pub(super) fn is_over(&self, t_s: f64) -> bool {
        let patience_s = if self.kind == Kind::Raft && !self.alongside { PATIENCE_S } else { 0.0 };
        t_s >= self.until_s + patience_s
    }

    /// The safety boat is made fast.
    fn make_fast(&mut self, t_s: f64, dice: &mut Dice) {
        self.alongside = true;
        self.until_s = t_s + dice.log_normal(70.0, 0.5).clamp(20.0, 260.0);
    }

    /// Turns her and gives what acts on her; `pace_mps` is what she would sail on a reach now.
    pub(super) fn step(
        &mut self,
        hull: &mut Hull,
        (air, pace_mps, stream): (Air, f64, Vec2),
        beside: Option<Beside>,
        (t_s, step_s): (f64, f64),
        dice: &mut Dice,
    ) -> Push {
        let down = air.flow().unit();
        let loose = down * (self.lee * air.speed_mps + measured::LOOSE_DRIFT_MPS);
        if let Some(beside) = beside.filter(|_| self.kind == Kind::Raft) {
            if !self.alongside && (beside.at - hull.at).length() < ALONGSIDE_M {
                self.make_fast(t_s, dice);
            }
            if self.alongside {
                let pull = (beside.at - hull.at) * 0.2;
                return Push {
                    way_mps: 0.0,
                    length_m: 2.0,
                    lee: beside.velocity - stream + pull,
                    lee_s: 1.5,
                };
            }
        }
        let sway_mps = self.sway.step(step_s, dice);
        let mut off_deg = self.off_deg;
        let mut way_mps = self.share * pace_mps + sway_mps;
        if t_s < self.up_until_s {
            (off_deg, way_mps) = (0.6 * off_deg, 0.3 * way_mps);
        }
        if self.kind == Kind::Irons {
            way_mps = -0.035 * air.speed_mps + 0.5 * sway_mps;
            if t_s > self.until_s - 7.0 {
                // The jib is held aback and she pays off.
                off_deg = 60.0 * off_deg.signum();
                way_mps = 0.15;
            }
        }
        let turn_deg = fold_180(air.from_deg - off_deg - hull.heading_deg);
        let most_deg = self.turn_deg_per_s * step_s;
        hull.turn(turn_deg.clamp(-most_deg, most_deg));
        let lee = if self.kind == Kind::HeaveTo { loose * 1.3 } else { loose };
        Push { way_mps, length_m: self.length_m, lee, lee_s: 6.0 }
    }
}
