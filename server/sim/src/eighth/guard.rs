//! Who of the safety boats goes where, and what comes of it for the dinghies.

use super::{STEP_S, deed::Doing, rescue::Task, stop, water::EighthWater};
use crate::{plane::Vec2, truth::Reason};

/// Within so many metres she is alongside, or has hold of one that is over.
const ALONGSIDE_M: f64 = 15.0;
/// A capsize that nobody asked help for is gone to so often, and after so long: a guess.
const LOOKS_IN: f64 = 0.3;
const NOTICED_S: (f64, f64) = (45.0, 0.6);
/// Righting with help takes, s: a guess.
const HELPED_S: (f64, f64) = (25.0, 90.0);
/// Of those that were helped so many are towed, for so long, s: a guess.
const TOWED: f64 = 0.25;
const TOW_S: (f64, f64) = (90.0, 300.0);

/// A boat that will be gone to, from then on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Call {
    pub(super) from_s: f64,
    pub(super) task: Task,
}

impl EighthWater {
    /// A boat has just gone over.
    pub(super) fn is_seen_over(&mut self, ix: usize, needs_help: bool) {
        if needs_help || self.dice.chance(LOOKS_IN) {
            let from_s = self.t_s() + self.dice.log_normal(NOTICED_S.0, NOTICED_S.1);
            // Before all that only want to talk.
            self.calls.insert(0, Call { from_s, task: Task::Helps { boat: ix } });
        }
    }

    pub(super) fn guard(&mut self) {
        let t_s = self.t_s();
        for n in 0..self.safety.len() {
            if self.safety[n].is_free()
                && let Some(due) = self.calls.iter().position(|call| call.from_s <= t_s)
            {
                self.safety[n].task = self.calls.remove(due).task;
            }
            let busy_with = match self.safety[n].task {
                Task::GoesAbout { .. } => None,
                Task::Visits { boat } | Task::Helps { boat } | Task::Tows { boat, .. } => Some(boat),
            };
            let at = busy_with.map(|boat| self.boats[boat].at);
            let drift = busy_with.map_or(Vec2::default(), |boat| self.boats[boat].slide + self.stream);
            self.safety[n].step(t_s, STEP_S, at, drift);
            if let Some(boat) = busy_with {
                self.tends(n, boat, t_s);
            }
        }
    }

    fn tends(&mut self, n: usize, ix: usize, t_s: f64) {
        let safety = &mut self.safety[n];
        let boat = &mut self.boats[ix];
        let is_there = (safety.at - boat.at).length() < ALONGSIDE_M;
        match safety.task {
            Task::Visits { .. } if boat.is_sailing() && boat.calls => {
                if is_there {
                    boat.calls = false;
                    boat.stops(&stop::RAFTED, t_s);
                }
            }
            Task::Visits { .. } if boat.doing.reason() == Some(Reason::Rafted) => (),
            Task::Visits { .. } => {
                boat.calls = false;
                safety.is_done();
            }
            Task::Helps { .. } => match &mut boat.doing {
                Doing::IsOver(over) => {
                    if is_there && over.until_s.is_none() {
                        over.until_s = Some(t_s + self.dice.between(HELPED_S.0, HELPED_S.1));
                        over.is_helped = true;
                    }
                }
                Doing::Bails { .. } => (),
                _ if boat.was_helped && is_there && self.dice.chance(TOWED) => {
                    boat.is_taken_in_tow();
                    let until_s = t_s + self.dice.between(TOW_S.0, TOW_S.1);
                    safety.task = Task::Tows { boat: ix, until_s };
                }
                _ => safety.is_done(),
            },
            Task::Tows { until_s, .. } if t_s >= until_s => {
                boat.is_let_go();
                safety.is_done();
            }
            Task::Tows { .. } | Task::GoesAbout { .. } => (),
        }
        if is_there
            && self.boats[ix].doing.over().is_some()
            && let Some(capsize) = self.noted[ix].capsize.and_then(|at| self.truth.capsizes.get_mut(at))
        {
            capsize.attended = true;
        }
    }
}
