//! What the safety boats do: they go to boats that are over, tow some of them in, and have a talk with others.

use super::{
    doing::Doing,
    safety::{Safety, Task},
    water::TenthWater,
};
use crate::plane::{Vec2, mps};

/// Near enough to take hold, and near enough to count as attended, m.
const BESIDE_M: f64 = 7.0;
const ATTENDED_M: f64 = 15.0;
/// A tow's speed, knots: a guess.
const TOW_KN: f64 = 3.0;

impl TenthWater {
    /// One that nobody goes to yet wants help, from then on.
    pub(super) fn calls(&mut self, boat: usize, at_s: f64) {
        self.calls.push((at_s, boat));
    }

    pub(super) fn guard(&mut self) {
        for ix in 0..self.safety.len() {
            let mut own = self.safety[ix].clone();
            self.goes_about(&mut own);
            self.safety[ix] = own;
        }
        self.note_who_is_attended();
    }

    fn goes_about(&mut self, own: &mut Safety) {
        let (t_s, stream) = (self.t_s(), self.air.stream());
        match own.task {
            Task::Roams { to, until_s } => {
                own.steers(to, 3.0, own.cruise_mps * 0.5, stream);
                self.looks_about(own, t_s, until_s);
            }
            Task::Goes { boat, helps } => {
                let there = self.boats[boat].motion.at;
                own.steers(there, BESIDE_M * 0.7, own.cruise_mps, stream);
                let is_beside = (there - own.at).length() < BESIDE_M;
                if helps {
                    self.comes_to_help(own, boat, is_beside, t_s);
                } else {
                    self.comes_for_a_talk(own, boat, is_beside, t_s);
                }
            }
            Task::Helps { boat } => {
                own.steers(self.boats[boat].motion.at, BESIDE_M * 0.7, 2.0, stream);
                self.helps(own, boat, t_s);
            }
            Task::Talks { boat } => {
                own.steers(self.boats[boat].motion.at, 3.0, 1.5, stream);
                if !matches!(self.boats[boat].doing, Doing::Stops(_)) {
                    self.roams(own, t_s);
                }
            }
            Task::Tows { boat, to, until_s } => {
                own.steers(to, 5.0, mps(TOW_KN), stream);
                if t_s > until_s || (to - own.at).length() < 15.0 {
                    self.boats[boat].sails_on(1.5, false, t_s);
                    self.roams(own, t_s);
                }
            }
        }
    }

    fn roams(&self, own: &mut Safety, t_s: f64) {
        let to = Vec2::along(own.dice.between(0.0, 360.0), own.dice.between(10.0, 220.0));
        own.task = Task::Roams { to, until_s: t_s + own.dice.between(60.0, 240.0) };
    }

    fn looks_about(&mut self, own: &mut Safety, t_s: f64, until_s: f64) {
        if let Some(at) = self.calls.iter().position(|(at_s, _)| *at_s <= t_s) {
            let (_, boat) = self.calls.remove(at);
            own.task = Task::Goes { boat, helps: true };
        } else if t_s >= own.talks_at_s {
            let per_h = self.habits.stops.rafted.per_h;
            own.talks_at_s = t_s + own.dice.log_normal(1_150.0 / per_h, 0.7).max(60.0);
            let boat = own.dice.pick(self.boats.len());
            if self.boats[boat].is_sailing() {
                own.task = Task::Goes { boat, helps: false };
            }
        } else if t_s >= until_s {
            self.roams(own, t_s);
        }
    }

    fn comes_to_help(&mut self, own: &mut Safety, boat: usize, is_beside: bool, t_s: f64) {
        match &mut self.boats[boat].doing {
            Doing::IsOver(over) if is_beside => {
                let helped_s = t_s + own.dice.log_normal(40.0, 0.6);
                over.until_s = if over.helpless { helped_s } else { over.until_s.min(helped_s) };
                over.helpless = false;
                own.task = Task::Helps { boat };
            }
            Doing::Recovers { .. } if is_beside => own.task = Task::Helps { boat },
            Doing::IsOver(_) | Doing::Recovers { .. } => (),
            // She helped herself.
            Doing::Sails { .. }
            | Doing::Turns(_)
            | Doing::GoesOver { .. }
            | Doing::Stops(_)
            | Doing::Leaves { .. }
            | Doing::IsTowed => self.roams(own, t_s),
        }
    }

    fn helps(&mut self, own: &mut Safety, boat: usize, t_s: f64) {
        let towed = self.boats[boat].capsizing.towed;
        match &self.boats[boat].doing {
            Doing::IsOver(_) => (),
            Doing::Recovers { .. } => {
                if own.dice.happens(towed * 60.0, super::STEP_S) {
                    let to = Vec2::along(own.dice.between(0.0, 360.0), own.dice.between(10.0, 120.0));
                    self.boats[boat].does(Doing::IsTowed);
                    own.task = Task::Tows { boat, to, until_s: t_s + own.dice.between(60.0, 300.0) };
                }
            }
            Doing::Sails { .. }
            | Doing::Turns(_)
            | Doing::GoesOver { .. }
            | Doing::Stops(_)
            | Doing::Leaves { .. }
            | Doing::IsTowed => self.roams(own, t_s),
        }
    }

    fn comes_for_a_talk(&mut self, own: &mut Safety, boat: usize, is_beside: bool, t_s: f64) {
        let there = &mut self.boats[boat];
        if !matches!(there.doing, Doing::Sails { .. } | Doing::Turns(_)) {
            self.roams(own, t_s);
        } else if is_beside && there.is_sailing() {
            let custom = there.stops.rafted.clone();
            let stop = there.stop(&custom, t_s);
            there.does(Doing::Stops(stop));
            own.task = Task::Talks { boat };
        }
    }

    fn note_who_is_attended(&mut self) {
        for (boat, noted) in self.boats.iter().zip(&self.noted) {
            let is_over = boat.doing.over().is_some();
            let is_near = self.safety.iter().any(|safety| (safety.at - boat.motion.at).length() < ATTENDED_M);
            let capsize = noted.capsize.and_then(|ix| self.truth.capsizes.get_mut(ix));
            if let Some(capsize) = capsize.filter(|_| is_over && is_near) {
                capsize.attended = true;
            }
        }
    }
}
