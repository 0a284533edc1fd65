//! What the safety boats do about the fleet: see who is over, go there, stand by, help, tow, and have a word
//! with the others. Times and chances are guesses.

use super::{STEP_S, doing::Doing, safety::Task, stops, water::TwelfthWater};
use crate::{plane::Vec2, truth::Reason};

/// A coxswain looks round so often that one who is over is seen after some such time, s.
const SEES_S: f64 = 18.0;
/// Alongside.
const NEAR_M: f64 = 6.0;
/// Counts as attended.
const ATTENDED_M: f64 = 15.0;
/// A crew that were helped up and cannot get going are taken in tow at this rate; of those spoken to, so many.
const TOWED_PER_H: f64 = 20.0;
const TOWED: f64 = 0.05;

impl TwelfthWater {
    pub(super) fn keep_watch(&mut self) {
        for ix in 0..self.safety.len() {
            let goal = self.decide(ix);
            self.safety[ix].steer(goal, self.stream);
        }
        for (boat, noted) in self.boats.iter().zip(&self.noted) {
            let near = |at: Vec2| (at - boat.hull.at).length() < ATTENDED_M;
            let open = noted.capsize.filter(|_| boat.doing.over().is_some());
            if let Some(capsize) = open.and_then(|ix| self.truth.capsizes.get_mut(ix)) {
                capsize.attended |= self.safety.iter().any(|safety| near(safety.at));
            }
        }
    }

    /// The nearest that is over and that nobody goes to.
    fn over_near(&self, at: Vec2) -> Option<usize> {
        let helped: Vec<usize> = self.safety.iter().filter_map(|safety| safety.task.helps()).collect();
        let is_free = |ix: &usize| self.boats[*ix].doing.over().is_some() && !helped.contains(ix);
        let far_m = |ix: &usize| (self.boats[*ix].hull.at - at).length();
        (0..self.boats.len()).filter(is_free).min_by(|one, two| far_m(one).total_cmp(&far_m(two)))
    }

    /// What safety boat `ix` does next; gives where she heads.
    fn decide(&mut self, ix: usize) -> Vec2 {
        let t_s = self.t_s();
        let (at, task) = (self.safety[ix].at, self.safety[ix].task);
        let busy = task.helps().is_some() || matches!(task, Task::Tows { .. });
        if !busy
            && let Some(boat) = self.over_near(at)
            && self.safety[ix].dice.chance(STEP_S / SEES_S)
        {
            self.safety[ix].task = Task::Goes { boat, over: true };
            return self.boats[boat].hull.at;
        }
        match task {
            Task::Patrols { until_s } => {
                if t_s >= until_s {
                    self.goes_to_talk(ix);
                }
                self.safety[ix].goal
            }
            Task::Goes { boat, over } => {
                let theirs = self.boats[boat].hull.at;
                if (theirs - at).length() < NEAR_M {
                    self.arrives(ix, boat);
                } else if over && self.boats[boat].doing.over().is_none() && self.safety[ix].dice.chance(0.02)
                {
                    self.patrols(ix);
                }
                theirs
            }
            Task::Stays { boat, over, until_s } => {
                self.stays(ix, boat, over, until_s);
                self.boats[boat].hull.at + (at - self.boats[boat].hull.at).unit() * 3.0
            }
            Task::Tows { boat, until_s } => {
                let goal = self.safety[ix].goal;
                let is_towed = matches!(self.boats[boat].doing, Doing::Towed);
                if t_s >= until_s || !is_towed || (goal - at).length() < 20.0 {
                    if is_towed {
                        self.boats[boat].does(Doing::Sails);
                    }
                    self.patrols(ix);
                }
                goal
            }
        }
    }

    fn patrols(&mut self, ix: usize) {
        let t_s = self.t_s();
        let safety = &mut self.safety[ix];
        let until_s = t_s + safety.dice.log_normal(700.0, 0.6);
        safety.task = Task::Patrols { until_s };
        safety.goal = Vec2::new(safety.dice.between(-120.0, 120.0), safety.dice.between(-120.0, 120.0));
    }

    fn goes_to_talk(&mut self, ix: usize) {
        let boat = self.safety[ix].dice.pick(self.boats.len());
        let taken = self.safety.iter().any(|safety| safety.task.boat() == Some(boat));
        let afloat = self.boats[boat].launches_s + 60.0 < self.t_s();
        if taken || !afloat {
            self.patrols(ix);
        } else {
            self.safety[ix].task = Task::Goes { boat, over: false };
        }
    }

    fn arrives(&mut self, ix: usize, boat: usize) {
        let t_s = self.t_s();
        let dice = &mut self.safety[ix].dice;
        if self.boats[boat].doing.over().is_some() {
            let until_s = t_s + dice.between(40.0, 150.0);
            self.safety[ix].task = Task::Stays { boat, over: true, until_s };
            return;
        }
        if self.boats[boat].doing.stop().is_some_and(|stop| stop.reason == Reason::Recovering) {
            self.safety[ix].task = Task::Stays { boat, over: true, until_s: t_s };
            return;
        }
        let until_s = t_s + dice.log_normal(80.0, 0.6).max(20.0);
        let theirs = &mut self.boats[boat];
        let stop = stops::lies_alongside(theirs.side(), until_s, &mut theirs.dice);
        theirs.does(Doing::Stops(stop));
        self.safety[ix].task = Task::Stays { boat, over: false, until_s };
    }

    fn stays(&mut self, ix: usize, boat: usize, over: bool, until_s: f64) {
        let t_s = self.t_s();
        let dice = &mut self.safety[ix].dice;
        match self.boats[boat].doing {
            Doing::Over(mut hers) if t_s >= until_s && over => {
                hers.until_s = Some(hers.until_s.unwrap_or(t_s).min(t_s));
                self.boats[boat].doing = Doing::Over(hers);
            }
            Doing::Over(_) if !over => self.arrives(ix, boat),
            Doing::Over(_) => (),
            Doing::Stops(stop) if over && stop.reason == Reason::Recovering => {
                if t_s >= until_s && dice.happens(TOWED_PER_H, STEP_S) {
                    self.tows(ix, boat);
                }
            }
            Doing::Stops(_) if !over && t_s < until_s => (),
            _ if !over && dice.chance(TOWED) => self.tows(ix, boat),
            _ => self.patrols(ix),
        }
    }

    fn tows(&mut self, ix: usize, boat: usize) {
        let until_s = self.t_s() + self.safety[ix].dice.between(60.0, 200.0);
        self.safety[ix].goal = self.beach * 0.8;
        self.safety[ix].task = Task::Tows { boat, until_s };
        self.boats[boat].does(Doing::Towed);
    }
}
