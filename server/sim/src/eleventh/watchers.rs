//! What the safety boats decide, once a second: whom to go to, and when it is done.

use super::{boat::State, safety::Job, stop::RAFTED, water::EleventhWater};
use crate::plane::Vec2;

/// Alongside, m; the truth calls her attended from `ATTENDED_M` on.
const ALONGSIDE_M: f64 = 8.0;
const ATTENDED_M: f64 = 15.0;
/// An instructor comes alongside each boat so often an hour for a word; set by the alerts that causes elsewhere.
const WORDS_PER_H: f64 = 0.35;
/// Of those righted with help, and of those spoken to, so many are towed. Guesses.
const TOWS_RIGHTED: f64 = 0.2;
const TOWS_SPOKEN: f64 = 0.12;

impl EleventhWater {
    pub(super) fn watch_over(&mut self) {
        for ix in 0..self.safety.len() {
            self.decide(ix);
            self.attend(ix);
        }
    }

    fn decide(&mut self, ix: usize) {
        match self.safety[ix].job {
            Job::Loiters { .. } => self.look_about(ix),
            Job::GoesTo { boat } => self.arrive(ix, boat),
            Job::Holds { boat } => self.hold(ix, boat),
            Job::Tows { boat, .. } => {
                if !matches!(self.boats[boat].state, State::Towed { .. }) {
                    self.is_free(ix);
                }
            }
        }
    }

    fn is_free(&mut self, ix: usize) {
        let safety = &mut self.safety[ix];
        let near = Vec2::along(safety.dice.between(0.0, 360.0), safety.dice.between(20.0, 150.0));
        safety.job = Job::Loiters { near };
    }

    fn is_taken(&self, boat: usize) -> bool {
        self.safety.iter().any(|safety| match safety.job {
            Job::Loiters { .. } => false,
            Job::GoesTo { boat: other } | Job::Holds { boat: other } | Job::Tows { boat: other, .. } => {
                other == boat
            }
        })
    }

    fn look_about(&mut self, ix: usize) {
        let (t_s, at) = (self.t_s(), self.safety[ix].at);
        let seen = |state: &State| matches!(state, State::Capsized(over) if over.seen_s <= t_s);
        let nearest = (0..self.boats.len())
            .filter(|boat| seen(&self.boats[*boat].state) && !self.is_taken(*boat))
            .min_by(|one, two| {
                let off_m = |boat: &usize| (self.boats[*boat].at - at).length();
                off_m(one).total_cmp(&off_m(two))
            });
        if let Some(boat) = nearest {
            self.safety[ix].job = Job::GoesTo { boat };
            return;
        }
        let each_per_h = WORDS_PER_H * self.boats.len() as f64 / self.safety.len() as f64;
        let n = self.boats.len();
        let dice = &mut self.safety[ix].dice;
        let boat = dice.pick(n);
        let (speaks, moves) = (dice.happens(each_per_h, 1.0), dice.happens(12.0, 1.0));
        if speaks && matches!(self.boats[boat].state, State::Sailing) && !self.is_taken(boat) {
            self.safety[ix].job = Job::GoesTo { boat };
        } else if moves {
            self.is_free(ix);
        }
    }

    fn arrive(&mut self, ix: usize, boat: usize) {
        let t_s = self.t_s();
        let off_m = (self.boats[boat].at - self.safety[ix].at).length();
        let state = self.boats[boat].state;
        if off_m > ALONGSIDE_M {
            return;
        }
        match state {
            State::Capsized(_) => self.boats[boat].is_helped(t_s),
            State::Recovering { .. } => (),
            State::Towed { .. } => return self.is_free(ix),
            _ => self.boats[boat].stop(&RAFTED, t_s),
        }
        self.safety[ix].job = Job::Holds { boat };
    }

    fn hold(&mut self, ix: usize, boat: usize) {
        let t_s = self.t_s();
        let is_ending = |until_s: f64| until_s - t_s < 1.5;
        let odds = match self.boats[boat].state {
            State::Capsized(_) => return,
            State::Recovering { until_s, again_s: None } if is_ending(until_s) => TOWS_RIGHTED,
            State::Stopped(stop) if is_ending(stop.until_s) => TOWS_SPOKEN,
            State::Recovering { .. } | State::Stopped(_) => return,
            _ => return self.is_free(ix),
        };
        let dice = &mut self.safety[ix].dice;
        if dice.chance(odds) {
            let until_s = t_s + dice.between(60.0, 200.0);
            // Towards the middle, where the others are.
            let towards_deg = (self.safety[ix].at * -1.0).bearing_deg();
            self.safety[ix].job = Job::Tows { boat, towards_deg };
            self.boats[boat].enter(State::Towed { until_s });
        } else {
            self.is_free(ix);
        }
    }

    /// The truth's word for a safety boat close by.
    fn attend(&mut self, ix: usize) {
        for (boat, noted) in self.boats.iter().zip(&self.noted) {
            let is_near = (boat.at - self.safety[ix].at).length() < ATTENDED_M;
            let capsize = noted.capsize.and_then(|capsize| self.truth.capsizes.get_mut(capsize));
            if let Some(capsize) = capsize.filter(|_| is_near && matches!(boat.state, State::Capsized(_))) {
                capsize.attended = true;
            }
        }
    }
}
