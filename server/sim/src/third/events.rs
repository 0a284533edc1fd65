//! What befalls the dinghies of the third water, and when a stop ends.

use crate::third::{
    boat::{Around, Boat},
    doing::Doing,
    habits::from,
    over::{Cause, Over},
};

/// Share of capsizes that follow a loss of control with the way already going. Common practice, no source.
const LOSES_FIRST: f64 = 0.08;
/// Share that goes over once more within 90 s of being righted.
const AGAIN: f64 = 0.15;
/// Share of phones that go under water.
const DROWNS: f64 = 0.1;
/// Nearer than this to her place on the line she is there, m.
const THERE_M: f64 = 12.0;
/// Alongside the safety boat at less than this, m.
const ALONGSIDE_M: f64 = 4.5;

impl Boat {
    /// One step of her life. True when she asks for a safety boat.
    pub(super) fn step(&mut self, around: &Around<'_>, safety_is_free: bool) -> bool {
        if self.speeds.len() >= (5.0 / around.step_s) as usize {
            self.speeds.pop_front();
        }
        self.speeds.push_back(self.hull.through.length());
        self.leaned += (self.hull.load - self.leaned) * around.step_s / 9.0;
        let mut asks = false;
        match &mut self.doing {
            Doing::Sailing | Doing::Approach => {
                let thrown = self.sail(around);
                if let Some(cause) = thrown.or_else(|| self.pressed(around)) {
                    self.lose(cause, around);
                } else {
                    asks = self.choose(around, safety_is_free);
                }
            }
            Doing::Over(over) => {
                let mut over = over.clone();
                over.step(
                    &mut self.hull,
                    around.t_s,
                    around.step_s,
                    around.air,
                    around.stream,
                    &mut self.dice,
                );
                self.doing = Doing::Over(over);
                if around.t_s >= self.until_s {
                    self.right(around);
                }
            }
            Doing::Rafted { to } => {
                let to = *to;
                self.raft(to, around);
                if around.t_s >= self.until_s {
                    self.sail_on(around);
                }
            }
            _ => {
                self.lie(around);
                self.ends(around);
            }
        }
        asks
    }

    fn sail_on(&mut self, around: &Around<'_>) {
        self.side = self.off_deg(around.air).signum();
        self.go(Doing::Sailing, around.t_s, 0.0);
    }

    /// Whether wind, lull or an unlucky helm takes her over now. The rates are set so that boats of middling
    /// crews go over 0.9 times in an hour of middling wind. Reasoned.
    fn pressed(&mut self, around: &Around<'_>) -> Option<Cause> {
        if self.again_s.is_some_and(|at_s| around.t_s >= at_s) {
            self.again_s = None;
            return Some(Cause::Gust);
        }
        if self.hull.ahead_mps() < 0.4 {
            return None;
        }
        let clumsy = 1.5 - self.crew.skill;
        let load = self.hull.load;
        let gust = clumsy * (1.7 * (load / 0.7).powi(3) + 36.0 * (load - 0.85).clamp(0.0, 0.6));
        let wind = (around.air.mps / 6.0).powi(2);
        let rolls = if self.off_deg(around.air).abs() > 140.0 { 0.6 * wind } else { 0.06 * wind };
        let to_windward = clumsy * (rolls + 14.0 * (self.leaned - load - 0.25).max(0.0));
        if self.dice.happens(gust, around.step_s) {
            Some(Cause::Gust)
        } else if self.dice.happens(to_windward, around.step_s) {
            Some(Cause::ToWindward)
        } else {
            None
        }
    }

    fn lose(&mut self, cause: Cause, around: &Around<'_>) {
        if cause == Cause::Gust && self.dice.chance(LOSES_FIRST) {
            let lasts_s = self.dice.between(6.0, 15.0);
            self.go(Doing::Losing, around.t_s, lasts_s);
        } else {
            self.capsize(cause, around);
        }
    }

    fn capsize(&mut self, cause: Cause, around: &Around<'_>) {
        let (t_s, habits) = (around.t_s, around.habits);
        let dice = &mut self.dice;
        let lasts_s = dice.log_normal(habits.rights_median_s, 0.9).max(10.0);
        let over = Over::draw(cause, self.side, t_s, lasts_s, habits, dice);
        if dice.chance(DROWNS) {
            self.phone.drowns_s = Some(t_s + dice.between(3.0, 30.0));
        }
        self.again_s = None;
        self.go(Doing::Over(Box::new(over)), t_s, lasts_s);
    }

    fn right(&mut self, around: &Around<'_>) {
        let dice = &mut self.dice;
        self.phone.drowns_s = None;
        self.hull.water_kg = dice.between(40.0, 220.0);
        let bails_s = from(around.habits.bails_s, dice);
        self.again_s = dice.chance(AGAIN).then(|| around.t_s + dice.between(5.0, 80.0));
        self.side = self.off_deg(around.air).signum();
        self.go(Doing::Recovering { sheets_in: false }, around.t_s, bails_s);
    }

    /// What her crew take it into their heads to do. True when they ask for a safety boat.
    fn choose(&mut self, around: &Around<'_>, safety_is_free: bool) -> bool {
        let (t_s, step_s, habits) = (around.t_s, around.step_s, around.habits);
        if matches!(self.doing, Doing::Approach) {
            if t_s >= self.until_s {
                self.go(Doing::PickUp { stopped: false }, t_s, 40.0);
            }
            return false;
        }
        if !matches!(self.doing, Doing::Sailing) || self.reason().is_some() {
            return false;
        }
        let lets_fly = habits.lets_fly;
        if let Some((from_s, to_s)) = habits.gathers {
            let start_s = to_s + self.starts_late_s;
            let place = around.course.place(self.place);
            let there = (place - self.hull.at).length() < THERE_M;
            if (from_s..to_s).contains(&t_s) && there && start_s > t_s + 5.0 {
                let way = habits.way(&mut self.dice);
                let wait = self.draw_wait(way, lets_fly, false);
                self.head_for_first_mark();
                self.go(Doing::Waiting(wait), t_s, start_s - t_s);
                return false;
            }
        }
        if self.dice.happens(habits.heave_to, step_s) {
            let how = self.draw_heave_to();
            let lasts_s = from(habits.heave_s, &mut self.dice);
            self.go(Doing::HoveTo(how), t_s, lasts_s);
        } else if self.dice.happens(habits.wait, step_s) {
            let way = habits.way(&mut self.dice);
            let wait = self.draw_wait(way, lets_fly, false);
            let lasts_s = from(habits.wait_s, &mut self.dice);
            self.go(Doing::Waiting(wait), t_s, lasts_s);
        } else if self.dice.happens(habits.pick_up, step_s) {
            let lasts_s = self.dice.between(8.0, 20.0);
            self.go(Doing::Approach, t_s, lasts_s);
        } else if safety_is_free && self.dice.happens(habits.raft, step_s) {
            let wait = self.draw_wait(1, lets_fly, true);
            self.go(Doing::Waiting(wait), t_s, 150.0);
            return true;
        }
        false
    }

    /// Whether a stop with helm and sheets is over.
    fn ends(&mut self, around: &Around<'_>) {
        let t_s = around.t_s;
        let due = t_s >= self.until_s;
        let (off_deg, ahead_mps) = (self.off_deg(around.air), self.hull.ahead_mps());
        match &self.doing {
            Doing::Waiting(wait) if wait.for_safety => {
                let near =
                    around.safety.iter().position(|(at, ..)| (*at - self.hull.at).length() < ALONGSIDE_M);
                if let Some(to) = near {
                    let lasts_s = self.dice.between(30.0, 200.0);
                    self.go(Doing::Rafted { to }, t_s, lasts_s);
                } else if due {
                    self.sail_on(around);
                }
            }
            Doing::PickUp { stopped: false } if ahead_mps < 0.35 || due => {
                let lasts_s = self.dice.between(10.0, 50.0);
                self.until_s = t_s + lasts_s;
                self.doing = Doing::PickUp { stopped: true };
            }
            Doing::PickUp { stopped: false } => {}
            Doing::Irons { .. } if due && off_deg.abs() > 46.0 => {
                let press = (around.air.mps / 6.0).powi(2) * (1.5 - self.crew.skill);
                self.sail_on(around);
                if self.dice.chance((0.03 * press).min(0.3)) {
                    self.capsize(Cause::Irons, around);
                }
            }
            Doing::Irons { .. } => {}
            Doing::Losing if due => self.capsize(Cause::Gust, around),
            Doing::Recovering { sheets_in } => {
                let sheets_in = *sheets_in;
                self.hull.water_kg *= 1.0 - around.step_s / 25.0;
                if self.again_s.is_some_and(|at_s| t_s >= at_s) {
                    self.capsize(Cause::Gust, around);
                } else if sheets_in && (ahead_mps > 0.6 || due) {
                    self.hull.water_kg = 0.0;
                    self.sail_on(around);
                } else if !sheets_in && due {
                    self.doing = Doing::Recovering { sheets_in: true };
                    self.until_s = t_s + 40.0;
                }
            }
            _ if due => self.sail_on(around),
            _ => {}
        }
    }
}
