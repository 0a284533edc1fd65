//! What boats do together: groups that are called to one place, safety boats that come alongside.

use crate::{
    dice::Dice,
    plane::{Vec2, fold_180},
};

use super::{
    boat::{Boat, Called},
    course::Exercise,
    doing::Doing,
    rib::{Rib, Task, Why},
    water::{NinthWater, STEP_S},
};

/// As near as this a safety boat attends, m.
const ATTENDS_M: f64 = 15.0;

/// Some boats with an instructor's exercise.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub(super) middle: Vec2,
    pub(super) exercise: Exercise,
}

/// A boat that is over and will be gone to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Call {
    from_s: f64,
    boat: usize,
}

impl Group {
    pub(super) fn draw(of: usize, from_deg: f64, dice: &mut Dice) -> Vec<Group> {
        let turned_deg = dice.between(0.0, 360.0);
        (0..of)
            .map(|ix| {
                let share = ix as f64 / of as f64;
                let middle = Vec2::along(turned_deg + 360.0 * share, dice.between(120.0, 260.0));
                Group { middle, exercise: Exercise::draw(middle, from_deg, 0.0, dice) }
            })
            .collect()
    }
}

impl NinthWater {
    /// Where the boat is that this one follows.
    pub(super) fn leader_of(&self, ix: usize) -> Option<Vec2> {
        let group = self.boats.get(ix)?.group;
        let first = self.boats.iter().position(|boat| boat.group == group)?;
        let leads = self.groups.get(group)?.exercise.follows && first != ix;
        self.boats.get(first).filter(|boat| leads && boat.is_sailing()).map(|boat| boat.hull.at)
    }

    /// Instructors change exercises, and call a group together to talk to it.
    pub(super) fn gather(&mut self) {
        let (t_s, from_deg) = (self.t_s(), self.day.venue().from_deg);
        for (ix, group) in self.groups.iter_mut().enumerate() {
            // Marks are laid anew when the wind has gone round.
            if t_s > group.exercise.until_s {
                group.exercise = Exercise::draw(group.middle, from_deg, t_s, &mut self.dice);
            }
            if !self.dice.happens(self.club.calls_ph, STEP_S) {
                continue;
            }
            let until_s = t_s + 60.0 + self.dice.log_normal(160.0, 0.5);
            let heaves = self.dice.chance(self.club.heaves);
            for boat in self.boats.iter_mut().filter(|boat| boat.group == ix) {
                if self.dice.chance(0.7) {
                    let at_s = t_s + self.dice.between(3.0, 70.0);
                    let until_s = until_s + self.dice.between(0.0, 40.0);
                    boat.called = Some(Called { at_s, until_s, heaves }).filter(|_| at_s < until_s);
                }
            }
        }
    }

    /// Someone saw that she is over.
    pub(super) fn call(&mut self, ix: usize, t_s: f64) {
        let needs = matches!(&self.boats[ix].doing, Doing::Over(over) if over.needs_help);
        if needs || self.dice.chance(self.club.attends) {
            self.calls.push(Call { from_s: t_s + self.dice.log_normal(45.0, 0.6), boat: ix });
        }
    }

    pub(super) fn stand_by(&mut self) {
        let t_s = self.t_s();
        for ix in 0..self.ribs.len() {
            self.is_called(ix, t_s);
            let rib = &mut self.ribs[ix];
            decide(rib, &mut self.boats, self.club.talks_ph, t_s);
            let boat = match rib.task {
                Task::Goes { boat, .. } => Some(boat),
                _ => rib.holds(),
            };
            let to = boat.and_then(|boat| self.boats.get(boat));
            let to = to.map(|boat| (boat.hull.at, boat.hull.way + self.day.stream));
            let air = self.day.at(rib.at).vector() - self.day.stream;
            rib.step(to, air, self.day.stream, STEP_S);
        }
        for (boat, noted) in self.boats.iter().zip(&self.noted) {
            let near = |rib: &Rib| (rib.at - boat.hull.at).length() < ATTENDS_M;
            let capsize = noted.capsize.and_then(|ix| self.truth.capsizes.get_mut(ix));
            if let Some(capsize) = capsize.filter(|_| boat.is_over() && self.ribs.iter().any(near)) {
                capsize.attended = true;
            }
        }
    }

    /// Help goes before everything but other help.
    fn is_called(&mut self, ix: usize, t_s: f64) {
        self.calls.retain(|call| self.boats.get(call.boat).is_some_and(Boat::is_over));
        let rib = &mut self.ribs[ix];
        if !rib.is_free() && !matches!(rib.task, Task::Goes { why: Why::Talk, .. }) {
            return;
        }
        if let Some(due) = self.calls.iter().position(|call| call.from_s < t_s) {
            let boat = self.calls.remove(due).boat;
            rib.task = Task::Goes { boat, why: Why::Help, since_s: t_s };
        }
    }
}

/// What a safety boat does next.
fn decide(rib: &mut Rib, boats: &mut [Boat], talks_ph: f64, t_s: f64) {
    match rib.task {
        Task::Lies { until_s } if t_s > until_s => {
            let to = boats.get(rib.dice.pick(boats.len())).map_or(Vec2::default(), |boat| boat.hull.at);
            let beside = Vec2::along(rib.dice.between(0.0, 360.0), rib.dice.between(20.0, 80.0));
            rib.task = Task::Roams { to: to + beside };
        }
        Task::Roams { to } if (to - rib.at).length() < 8.0 => {
            rib.task = Task::Lies { until_s: t_s + rib.dice.log_normal(70.0, 0.7) };
        }
        Task::Lies { .. } | Task::Roams { .. } => {
            if rib.dice.happens(talks_ph, STEP_S) {
                let boat = rib.dice.pick(boats.len());
                if boats.get(boat).is_some_and(Boat::is_sailing) {
                    rib.task = Task::Goes { boat, why: Why::Talk, since_s: t_s };
                }
            }
        }
        Task::Goes { boat: ix, why, since_s } => goes(rib, boats, (ix, why, since_s), t_s),
        Task::Beside { boat: ix, until_s } => {
            let Some(boat) = boats.get_mut(ix) else { return };
            if boat.is_over() || matches!(boat.doing, Doing::Bails { .. }) {
                return;
            }
            if t_s > until_s || !matches!(boat.doing, Doing::Holds) {
                if matches!(boat.doing, Doing::Holds) {
                    boat.goes_on(t_s);
                }
                rib.task = Task::Lies { until_s: t_s + rib.dice.log_normal(40.0, 0.6) };
            }
        }
        Task::Tows { boat: ix, until_s, .. } => {
            if let Some(boat) = boats.get_mut(ix).filter(|_| t_s > until_s) {
                boat.goes_on(t_s);
                rib.task = Task::Lies { until_s: t_s + rib.dice.log_normal(40.0, 0.6) };
            }
        }
    }
}

fn goes(rib: &mut Rib, boats: &mut [Boat], (ix, why, since_s): (usize, Why, f64), t_s: f64) {
    let Some(boat) = boats.get_mut(ix) else { return };
    let apart_m = (boat.hull.at - rib.at).length();
    let over = matches!(&boat.doing, Doing::Over(_) | Doing::Bails { .. });
    match why {
        Why::Help if over && apart_m < 6.0 => {
            let lasts_s = rib.dice.log_normal(45.0, 0.6);
            if let Doing::Over(over) = &mut boat.doing
                && over.needs_help
            {
                over.needs_help = false;
                over.rights_s = t_s + lasts_s;
            }
            rib.task = Task::Beside { boat: ix, until_s: t_s };
        }
        Why::Help if !over => rib.task = Task::Lies { until_s: t_s + 20.0 },
        Why::Help => (),
        Why::Talk if over || t_s - since_s > 180.0 => rib.task = Task::Lies { until_s: t_s + 20.0 },
        // Hailed, she lets her sheets go.
        Why::Talk if apart_m < 22.0 && boat.is_sailing() => boat.wait(t_s, t_s + 50.0),
        Why::Talk if apart_m < 5.0 && matches!(boat.doing, Doing::Waits(_) | Doing::HeavesTo { .. }) => {
            if rib.dice.chance(0.12) {
                let home_deg = fold_180((Vec2::default() - boat.hull.at).bearing_deg());
                boat.doing = Doing::Towed;
                let to_deg = home_deg + rib.dice.between(-60.0, 60.0);
                rib.task = Task::Tows { boat: ix, to_deg, until_s: t_s + rib.dice.log_normal(70.0, 0.4) };
            } else {
                boat.doing = Doing::Holds;
                rib.task = Task::Beside { boat: ix, until_s: t_s + rib.dice.log_normal(150.0, 0.6) };
            }
        }
        Why::Talk => (),
    }
}
