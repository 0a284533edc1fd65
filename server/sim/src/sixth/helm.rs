//! The hand on the tiller: which angle to the wind, and when to go about.

use super::{air::Air, course::Course, habits::Own, hull::Hull, measured};
use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, fold_180},
};

/// Nobody tries to run straighter than this.
const DEEP_DEG: f64 = 158.0;
/// Further out they sail back, m.
const FAR_M: f64 = 420.0;
const AT_MARK_M: f64 = 14.0;
/// Given up: s.
const TURN_LASTS_S: f64 = 16.0;

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Kind {
    Tack,
    Gybe,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Turn {
    pub(super) kind: Kind,
    /// The side the wind comes from at first.
    side: f64,
    to_deg: f64,
    rate_deg_per_s: f64,
    since_s: f64,
    pub(super) drive: f64,
    /// She stops so near the wind: a failed tack.
    fails_at_deg: Option<f64>,
}

/// What came of a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Steered {
    On,
    Done(Kind),
    InIrons,
}

#[derive(Clone, Debug)]
pub(super) struct Helm {
    leg: usize,
    /// The side she wants the wind on: above 0 starboard.
    side: f64,
    pub(super) turn: Option<Turn>,
    board_until_s: f64,
    yaw: Wander,
}

impl Helm {
    pub(super) fn draw(dice: &mut Dice) -> Helm {
        let yaw_deg = dice.between(measured::YAW_DEG.0, measured::YAW_DEG.1);
        Helm {
            leg: dice.pick(3),
            side: dice.sign(),
            turn: None,
            board_until_s: dice.between(10.0, 60.0),
            yaw: Wander::new(yaw_deg, dice.between(3.0, 9.0), dice),
        }
    }

    /// The angle she wants, wind on the starboard side above 0.
    fn wish_deg(&mut self, at: Vec2, air: Air, course: &Course, own: &Own, t_s: f64) -> f64 {
        if (course.mark(self.leg) - at).length() < AT_MARK_M {
            self.leg += 1;
        }
        let mark = if at.length() > FAR_M { Vec2::default() } else { course.mark(self.leg) };
        let off_deg = fold_180(air.from_deg - (mark - at).bearing_deg());
        if (own.close_deg..=DEEP_DEG).contains(&off_deg.abs()) {
            return off_deg;
        }
        let side = if t_s > self.board_until_s { -self.side } else { self.side };
        side * if off_deg.abs() < 90.0 { own.close_deg } else { DEEP_DEG - 4.0 }
    }

    /// A step under sail; `luff_deg` closer to the wind than she would.
    pub(super) fn steer(
        &mut self,
        hull: &mut Hull,
        (air, course, own): (Air, &Course, &Own),
        (t_s, step_s): (f64, f64),
        (luff_deg, fails_tack): (f64, f64),
        dice: &mut Dice,
    ) -> Steered {
        let yaw_deg = self.yaw.step(step_s, dice);
        // A rudder needs water past it.
        let grip = (0.35 + 0.65 * hull.way_mps.abs()).min(1.0);
        let off_deg = hull.off_deg(air.from_deg);
        let Some(turn) = self.turn else {
            let wish_deg = self.wish_deg(hull.at, air, course, own, t_s);
            if wish_deg.signum() != self.side && off_deg.signum() == self.side {
                let kind = if off_deg.abs() + wish_deg.abs() < 180.0 { Kind::Tack } else { Kind::Gybe };
                self.begin(kind, wish_deg, own, t_s, fails_tack, dice);
                return Steered::On;
            }
            self.side = wish_deg.signum();
            let steered_deg = self.side * (wish_deg.abs() - luff_deg).max(32.0) + yaw_deg;
            hull.turn_to(air.from_deg - steered_deg, 11.0 * grip * step_s);
            return Steered::On;
        };
        let towards = if turn.kind == Kind::Tack { turn.side } else { -turn.side };
        hull.turn(towards * turn.rate_deg_per_s * grip * step_s);
        let off_deg = hull.off_deg(air.from_deg);
        let across = off_deg.signum() != turn.side;
        let near_wind = turn.kind == Kind::Tack && off_deg.abs() < 20.0;
        let fails = turn.fails_at_deg.is_some_and(|at_deg| off_deg.abs() < at_deg);
        if near_wind && (fails || hull.way_mps < 0.12) {
            self.turn = None;
            return Steered::InIrons;
        }
        let there = across
            && match turn.kind {
                Kind::Tack => (turn.to_deg.abs() - 6.0..120.0).contains(&off_deg.abs()),
                Kind::Gybe => off_deg.abs() < turn.to_deg.abs() + 6.0,
            };
        if there || t_s - turn.since_s > TURN_LASTS_S {
            (self.turn, self.side) = (None, off_deg.signum());
            self.board_until_s = t_s + dice.log_normal(own.board_s, 0.4);
            return Steered::Done(turn.kind);
        }
        Steered::On
    }

    fn begin(&mut self, kind: Kind, to_deg: f64, own: &Own, t_s: f64, fails_tack: f64, dice: &mut Dice) {
        let slower = if kind == Kind::Gybe { 0.7 } else { 1.0 };
        let fails = kind == Kind::Tack && dice.chance(fails_tack);
        let fails_at_deg = fails.then(|| dice.between(2.0, 14.0));
        self.turn = Some(Turn {
            kind,
            side: self.side,
            to_deg,
            rate_deg_per_s: own.turn_deg_per_s * slower * dice.log_normal(1.0, 0.15),
            since_s: t_s,
            drive: dice.between(measured::GYBE_DRIVE.0, measured::GYBE_DRIVE.1),
            fails_at_deg,
        });
    }

    /// Whatever side she has come to lie on is hers now.
    pub(super) fn settle(&mut self, off_deg: f64, t_s: f64, dice: &mut Dice) {
        (self.turn, self.side) = (None, off_deg.signum());
        self.board_until_s = t_s + dice.between(15.0, 60.0);
    }
}
