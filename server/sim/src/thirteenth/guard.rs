//! What the safety boats turn to: they loiter, go to those that are over, help, talk and tow.

use super::{
    STEP_S,
    intent::Intent,
    over,
    safety::{Safety, Task},
    water::ThirteenthWater,
};
use crate::plane::Vec2;

/// Guesses: talks an hour and boat afloat; of helped and of visited boats those taken in tow.
const TALKS_PER_H: f64 = 0.37;
const TOWS_HELPED: f64 = 0.25;
const TOWS_VISITED: f64 = 0.1;
/// How long until a capsize is seen on average, s, a guess.
const SEES_S: f64 = 22.0;
/// Nearer than this they are beside her, m.
const BESIDE_M: f64 = 7.0;
/// And within this the truth says so (`attended` of a capsize), m.
const ATTENDED_M: f64 = 15.0;

impl ThirteenthWater {
    /// All of them, each step.
    pub(super) fn guard(&mut self, t_s: f64) {
        for ix in 0..self.safety.len() {
            let task = self.next_task(ix, t_s);
            self.safety[ix].task = task;
            self.motor(ix, task, t_s);
        }
    }

    fn next_task(&mut self, ix: usize, t_s: f64) -> Task {
        match self.safety[ix].task {
            Task::Loiters { to, until_s } => self.looks_about(ix, to, until_s, t_s),
            Task::Goes { boat, helps } => self.goes_to(ix, boat, helps, t_s),
            Task::Beside { boat } => self.stays_by(ix, boat, t_s),
            Task::Tows { boat, to } if self.boats[boat].intent == Intent::Towed => Task::Tows { boat, to },
            Task::Tows { .. } => self.loiters(ix, t_s),
        }
    }

    fn loiters(&mut self, ix: usize, t_s: f64) -> Task {
        let dice = &mut self.safety[ix].dice;
        let to = Vec2::new(170.0 * dice.normal(), 170.0 * dice.normal());
        Task::Loiters { to, until_s: t_s + dice.log_normal(120.0, 0.6) }
    }

    fn looks_about(&mut self, ix: usize, to: Vec2, until_s: f64, t_s: f64) -> Task {
        let served: Vec<usize> = self.safety.iter().filter_map(Safety::busy_with).collect();
        let dice = &mut self.safety[ix].dice;
        for (boat, it) in self.boats.iter().enumerate() {
            if it.over.is_some() && !served.contains(&boat) && dice.happens(3_600.0 / SEES_S, STEP_S) {
                return Task::Goes { boat, helps: true };
            }
        }
        let share = self.boats.len() as f64 / self.safety.len() as f64;
        if self.safety[ix].dice.happens(TALKS_PER_H * share, STEP_S) {
            let boat = self.safety[ix].dice.pick(self.boats.len());
            if self.boats[boat].intent.is_free() && !served.contains(&boat) {
                return Task::Goes { boat, helps: false };
            }
        }
        if t_s > until_s { self.loiters(ix, t_s) } else { Task::Loiters { to, until_s } }
    }

    fn goes_to(&mut self, ix: usize, boat: usize, helps: bool, t_s: f64) -> Task {
        let from = self.safety[ix].at;
        let it = &mut self.boats[boat];
        let left_m = (it.at - from).length();
        let can_wait = it.over.is_some() || it.intent == Intent::Righted;
        if helps && !can_wait {
            // They sail again; no need to stop them.
            return self.loiters(ix, t_s);
        }
        if !can_wait && !it.intent.is_free() && left_m < 60.0 && it.intent != Intent::PickUp {
            // Turning, or in trouble: wait until they are done.
            return Task::Goes { boat, helps };
        }
        if !can_wait && left_m < 60.0 && it.intent != Intent::Luff {
            // Hailed, they let the sheets go.
            let felt = it.felt();
            it.begin(Intent::Luff, &felt, t_s);
            it.until_s = t_s + 60.0;
        }
        if left_m > BESIDE_M {
            return Task::Goes { boat, helps };
        }
        if let Some(over) = it.over.as_mut().filter(|over| over.needs_help) {
            over.needs_help = false;
            over.up_s = t_s + over::HELPED.draw(&mut it.dice);
        } else if it.intent == Intent::Luff {
            let felt = it.felt();
            it.begin(Intent::Alongside, &felt, t_s);
        }
        Task::Beside { boat }
    }

    fn stays_by(&mut self, ix: usize, boat: usize, t_s: f64) -> Task {
        let it = &mut self.boats[boat];
        if it.over.is_some() {
            // Over again beside her: they help at once.
            if let Some(over) = it.over.as_mut().filter(|over| over.needs_help) {
                over.needs_help = false;
                over.up_s = t_s + over::HELPED.draw(&mut it.dice);
            }
            self.safety[ix].is_helping = true;
            return Task::Beside { boat };
        }
        if matches!(it.intent, Intent::Alongside | Intent::Righted) {
            return Task::Beside { boat };
        }
        let helped = std::mem::take(&mut self.safety[ix].is_helping);
        let near = (it.at - self.safety[ix].at).length() < 25.0;
        let tows = if helped { TOWS_HELPED } else { TOWS_VISITED };
        if near && self.safety[ix].dice.chance(tows) {
            let felt = it.felt();
            it.begin(Intent::Towed, &felt, t_s);
            return Task::Tows { boat, to: it.home };
        }
        self.loiters(ix, t_s)
    }

    fn motor(&mut self, ix: usize, task: Task, t_s: f64) {
        let wind = self.weather.at(self.safety[ix].at);
        let (stream, drift) = (self.stream, (wind.velocity() - self.stream) * 0.03);
        let (to, most_mps, near_m) = match task {
            Task::Loiters { to, .. } => (to, 2.5, 15.0),
            Task::Goes { boat, .. } => {
                let it = &self.boats[boat];
                (it.at + it.through() * 2.0, if it.over.is_some() { 7.0 } else { 4.5 }, 4.0)
            }
            Task::Beside { boat } => (self.boats[boat].at, 2.0, 4.0),
            // The line is passed first.
            Task::Tows { boat, .. } if self.boats[boat].until_s - t_s > 95.0 => {
                (self.boats[boat].at, 1.0, 8.0)
            }
            Task::Tows { to, .. } => (to, 1.9, 5.0),
        };
        let safety = &mut self.safety[ix];
        safety.motor(to, most_mps, near_m, drift, stream);
        for (boat, noted) in self.boats.iter().zip(&self.noted) {
            let near = boat.over.is_some() && (boat.at - safety.at).length() < ATTENDED_M;
            if let Some(capsize) =
                noted.capsize.filter(|_| near).and_then(|ix| self.truth.capsizes.get_mut(ix))
            {
                capsize.attended = true;
            }
        }
        safety.phone.follow(safety.velocity + stream, false, t_s, STEP_S);
    }
}
