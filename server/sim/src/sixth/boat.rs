//! One dinghy: what her crew is doing, and what becomes of her in a step.

use std::collections::VecDeque;

use super::{
    air::Air,
    course::Course,
    habits::{Habits, Own},
    helm::{Helm, Kind as Turning, Steered},
    hull::{Hull, Push},
    measured,
    over::Over,
    phone::Phone,
    safety::Beside,
    stops::{Kind, Stop},
};
use crate::{
    dice::{Dice, Wander},
    notes::Seen,
    plane::{Vec2, wrap_360},
    truth::Reason,
};

/// Her speed that long ago is noted at a capsize, s.
const BEFORE_S: f64 = 5.0;

#[derive(Clone, Debug)]
pub(super) enum Doing {
    Sail,
    /// With the sheets eased, until then, keeping a share of her pace; then perhaps a stop.
    Ease(f64, f64, Option<Kind>),
    Stop(Stop),
    /// A gust has turned her into the wind; then she falls over.
    RoundUp(f64),
    Over(Over),
    /// Upright and full of water, until then; the share of her pace she has, and the angle to the wind.
    Recover(f64, f64, f64),
}

/// What is around her.
pub(super) struct Around<'a> {
    pub(super) t_s: f64,
    pub(super) step_s: f64,
    pub(super) air: Air,
    pub(super) stream: Vec2,
    pub(super) course: &'a Course,
    pub(super) habits: &'a Habits,
    /// The safety boat if it means to lie alongside this boat.
    pub(super) beside: Option<Beside>,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: String,
    pub(super) hull: Hull,
    pub(super) phone: Phone,
    pub(super) own: Own,
    pub(super) doing: Doing,
    pub(super) helm: Helm,
    /// Others wait here: so will she, then.
    pub(super) joins_s: f64,
    /// She has begun to wait, or wants the safety boat, in this step.
    pub(super) stopped_now: Option<Kind>,
    began: bool,
    pub(super) late_until_s: f64,
    /// Wind of the last half minute, m/s.
    pub(super) used_mps: f64,
    pub(super) pace: Wander,
    pub(super) trim: Wander,
    before: VecDeque<f64>,
    pub(super) dice: Dice,
    off_deg: f64,
}

impl Boat {
    pub(super) fn draw(ix: usize, air: Air, phone: Phone, mut dice: Dice) -> Boat {
        let own = Own::draw(&mut dice);
        let helm = Helm::draw(&mut dice);
        let within = |range: (f64, f64), dice: &mut Dice| dice.between(range.0, range.1);
        let heading_deg = air.from_deg + dice.sign() * dice.between(60.0, 130.0);
        let (pace, trim) =
            (within(measured::PACE_SPREAD, &mut dice), within(measured::TRIM_SPREAD, &mut dice));
        let hull = Hull {
            at: Vec2::along(dice.between(0.0, 360.0), dice.between(20.0, 160.0)),
            heading_deg: wrap_360(heading_deg),
            way_mps: own.pace_mps(90.0, air.speed_mps) * 0.7,
            lee: Vec2::default(),
        };
        Boat {
            id: format!("N{}", ix + 1),
            hull,
            phone,
            own,
            doing: Doing::Sail,
            helm,
            joins_s: f64::INFINITY,
            stopped_now: None,
            began: false,
            late_until_s: 0.0,
            used_mps: air.speed_mps,
            pace: Wander::new(pace, measured::SWAY_S, &mut dice),
            trim: Wander::new(trim, 110.0, &mut dice),
            before: VecDeque::new(),
            dice,
            off_deg: hull.off_deg(air.from_deg),
        }
    }

    pub(super) fn is_over(&self) -> bool {
        matches!(self.doing, Doing::Over(_))
    }

    pub(super) fn is_sailing(&self) -> bool {
        matches!(self.doing, Doing::Sail)
    }

    pub(super) fn needs_help(&self) -> bool {
        matches!(&self.doing, Doing::Over(over) if over.needs_help)
    }

    pub(super) fn stop(&self) -> Option<&Stop> {
        if let Doing::Stop(stop) = &self.doing { Some(stop) } else { None }
    }

    pub(super) fn reason(&self) -> Option<Reason> {
        match &self.doing {
            Doing::Sail | Doing::Ease(..) | Doing::RoundUp(_) => None,
            Doing::Stop(stop) => Some(stop.reason()),
            Doing::Over(_) => Some(Reason::Capsized),
            Doing::Recover(..) => Some(Reason::Recovering),
        }
    }

    pub(super) fn seen(&self) -> Seen<'_> {
        Seen {
            id: &self.id,
            reason: self.reason(),
            began: self.began,
            over: if let Doing::Over(over) = &self.doing { Some(over.seen()) } else { None },
            before_mps: self.before.front().copied().unwrap_or_default(),
            off_deg: self.off_deg,
            heading_deg: self.hull.heading_deg,
            way_mps: self.hull.way_mps,
        }
    }

    pub(super) fn step(&mut self, around: &Around) {
        (self.began, self.stopped_now) = (false, None);
        let (air, t_s, step_s) = (around.air, around.t_s, around.step_s);
        self.used_mps += (air.speed_mps - self.used_mps) * (step_s / 25.0);
        self.befall(around);
        let push = match std::mem::replace(&mut self.doing, Doing::Sail) {
            Doing::Sail => self.sail(around, 1.0),
            Doing::Ease(until_s, share, then) => {
                if t_s < until_s || self.helm.turn.is_some() {
                    self.doing = Doing::Ease(until_s, share, then);
                } else if let Some(kind) = then {
                    self.begin_stop(kind, t_s);
                }
                self.sail(around, share)
            }
            Doing::Stop(mut stop) => {
                let pace_mps = self.own.pace_mps(80.0, air.speed_mps);
                let here = (air, pace_mps, around.stream);
                let push = stop.step(&mut self.hull, here, around.beside, (t_s, step_s), &mut self.dice);
                if stop.is_over(t_s) {
                    self.sail_on(air, t_s);
                } else {
                    self.doing = Doing::Stop(stop);
                }
                push
            }
            Doing::RoundUp(until_s) => {
                self.hull.turn_to(air.from_deg - 15.0 * self.off_deg.signum(), 18.0 * step_s);
                if t_s < until_s {
                    self.doing = Doing::RoundUp(until_s);
                } else {
                    self.capsize("gust", true, t_s);
                }
                Push {
                    way_mps: 0.1,
                    length_m: 0.8 * measured::GLIDE_LENGTH_M.0,
                    lee: self.leeway(air),
                    lee_s: 3.0,
                }
            }
            Doing::Over(over) => {
                let push = over.push(air, t_s);
                self.hull.turn(over.swing_deg_per_s(t_s) * step_s);
                if over.is_righted(t_s) {
                    let lasts_s = self.dice.log_normal(45.0, 0.6).clamp(12.0, 260.0);
                    let share = self.dice.between(0.02, 0.25);
                    let angle_deg = self.dice.between(50.0, 115.0);
                    self.doing = Doing::Recover(t_s + lasts_s, share, angle_deg);
                } else {
                    self.doing = Doing::Over(over);
                }
                push
            }
            Doing::Recover(until_s, share, angle_deg) => {
                let to_deg = air.from_deg - angle_deg * self.off_deg.signum();
                self.hull.turn_to(to_deg, 5.0 * step_s);
                if t_s < until_s {
                    self.doing = Doing::Recover(until_s, share, angle_deg);
                } else {
                    self.sail_on(air, t_s);
                }
                let along_mps = measured::LOOSE_DRIFT.0 * air.speed_mps + measured::LOOSE_DRIFT_MPS;
                let way_mps = share * self.own.pace_mps(80.0, air.speed_mps);
                let lee = air.flow().unit() * along_mps;
                Push { way_mps, length_m: 6.0, lee, lee_s: 6.0 }
            }
        };
        self.hull.step(&push, around.stream, step_s);
        self.off_deg = self.hull.off_deg(air.from_deg);
        self.before.push_back(self.hull.through().length());
        if self.before.len() as f64 * step_s > BEFORE_S {
            self.before.pop_front();
        }
    }

    fn sail_on(&mut self, air: Air, t_s: f64) {
        self.helm.settle(self.hull.off_deg(air.from_deg), t_s, &mut self.dice);
        self.late_until_s = t_s + self.dice.between(0.0, 5.0);
        self.doing = Doing::Sail;
    }

    pub(super) fn begin_stop(&mut self, kind: Kind, t_s: f64) {
        let stop = Stop::draw(kind, self.off_deg, self.own.tack_length_m, t_s, &mut self.dice);
        self.doing = Doing::Stop(stop);
        (self.began, self.stopped_now) = (true, Some(kind));
        self.helm.turn = None;
    }

    pub(super) fn capsize(&mut self, cause: &'static str, slow: bool, t_s: f64) {
        self.doing = Doing::Over(Over::draw(cause, slow, t_s, &mut self.dice));
        self.began = true;
        self.helm.turn = None;
    }

    /// The safety boat stands by.
    pub(super) fn help(&mut self, t_s: f64) {
        if let Doing::Over(over) = &mut self.doing {
            over.help(t_s, &mut self.dice);
        }
    }

    /// Under sail, with that share of the drive.
    fn sail(&mut self, around: &Around, share: f64) -> Push {
        let (air, t_s, step_s) = (around.air, around.t_s, around.step_s);
        let gust = air.speed_mps / self.used_mps.max(0.5);
        let spills = ((gust - 1.12) / 0.15).clamp(0.0, 1.0);
        let kept = 1.0 - spills * (1.0 - self.own.spills_to);
        let luff = (spills * self.own.luffs_deg, around.habits.fails_tack);
        let with = (air, around.course, &self.own);
        let steered = self.helm.steer(&mut self.hull, with, (t_s, step_s), luff, &mut self.dice);
        match steered {
            Steered::Done(Turning::Tack) => {
                let (late_s, spread) = measured::TRIM_LATE_S;
                self.late_until_s = t_s + self.dice.log_normal(late_s, spread).min(14.0);
            }
            Steered::InIrons => {
                self.off_deg = self.hull.off_deg(air.from_deg);
                self.begin_stop(Kind::Irons, t_s);
            }
            Steered::On | Steered::Done(Turning::Gybe) => {}
        }
        let off_deg = self.hull.off_deg(air.from_deg);
        let vary = 1.0 + self.pace.step(step_s, &mut self.dice) + self.trim.step(step_s, &mut self.dice);
        let pace_mps = self.own.pace_mps(off_deg, air.speed_mps);
        let late = if t_s < self.late_until_s { 0.6 } else { 1.0 };
        let mut way_mps = pace_mps * vary * kept * share * late;
        let slows = way_mps < self.hull.way_mps;
        let mut length_m = if slows { measured::GLIDE_LENGTH_M.0 } else { measured::GAIN_LENGTH_M };
        if let Some(turn) = self.helm.turn {
            (way_mps, length_m) = match turn.kind {
                // The sails shake well before she is head to wind.
                Turning::Tack if off_deg.abs() < self.own.close_deg - 6.0 => {
                    (pace_mps.min(0.0), self.own.tack_length_m)
                }
                Turning::Tack => (way_mps, length_m),
                Turning::Gybe => (way_mps * turn.drive, measured::GYBE_LENGTH_M),
            };
        }
        Push { way_mps, length_m, lee: self.leeway(air), lee_s: 3.0 }
    }

    /// Sideways with the sails full.
    fn leeway(&self, air: Air) -> Vec2 {
        let beam = self.off_deg.to_radians().sin().abs();
        air.flow().unit() * (0.05 * self.hull.way_mps.abs() * (0.4 + 0.6 * beam))
    }
}
