//! A boat that sails her course: steering, gathering way, planing, and turning when it is time.

use super::{
    boat::{Around, Boat},
    class::Class,
    course::{Steer, steer},
    curve::mix,
    happen::{Ask, befalls},
    over::Cause,
    passage::{After, Passage},
    turns,
};
use crate::plane::{Vec2, fold_180};

/// Wind from which on the light one planes, m/s (about 13 kn, common practice).
const PLANES_MPS: f64 = 6.7;

impl Boat {
    /// Half a second of it. What she asks of the others, if anything.
    pub(super) fn sail(&mut self, water: &Around<'_>) -> Option<Ask> {
        let (t_s, step_s) = (water.t_s, water.step_s);
        let ask = befalls(self, water);
        if ask.is_some() || self.passage.is_some() {
            return ask;
        }
        let goal =
            water.blind_to.or(water.called.map(|(place, _)| place)).unwrap_or_else(|| self.goal(water));
        let since_turn_s = t_s - self.turned_s;
        let goal_deg = fold_180(self.felt_deg - (goal - self.at).bearing_deg());
        let keep_deg = match steer(goal_deg, self.side, self.off_deg, since_turn_s, self.manner) {
            Steer::Keep(keep_deg) => keep_deg,
            Steer::Tack(to_deg) => {
                self.settle_side();
                let passage = turns::tack(self, to_deg);
                self.turn(passage, Cause::Tack, t_s);
                return None;
            }
            Steer::Gybe(to_deg) => {
                self.settle_side();
                let passage = turns::gybe(self, to_deg);
                self.turn(passage, Cause::Gybe, t_s);
                return None;
            }
        };
        let wanted_deg = keep_deg + self.helm.step(step_s, &mut self.dice);
        let most_deg = self.slew_dps * step_s;
        let turn_deg = ((wanted_deg - self.off_deg) * step_s / 1.5).clamp(-most_deg, most_deg);
        self.off_deg = (self.off_deg + turn_deg).clamp(20.0, 172.0);
        let planing = self.planing(step_s);
        let table_mps = self.class.speed_mps(self.local.mps, self.off_deg) * self.trim * planing;
        let lag_s = match self.gathers_s {
            Some(gathers_s) if self.way_mps < 0.9 * table_mps => gathers_s,
            _ => {
                self.gathers_s = None;
                self.lag_s
            }
        };
        self.way_mps += (table_mps - self.way_mps) * (step_s / lag_s).min(1.0);
        self.is_becalmed = water.is_lull && self.way_mps < if self.is_becalmed { 0.75 } else { 0.5 };
        // Leeway: most close to the wind, none before it.
        let share = 0.025 * (1.0 - self.off_deg / 180.0);
        self.leeway(Vec2::along(self.local.from_deg + 180.0, share * self.local.mps), step_s);
        None
    }

    /// The light one gets up on a plane in bursts, and is the slower for it between them.
    fn planing(&mut self, step_s: f64) -> f64 {
        let may = self.local.mps > PLANES_MPS && (75.0..152.0).contains(&self.off_deg);
        if self.class == Class::Heavy || !may {
            self.planes = false;
            return 1.0;
        }
        let changes_per_hour = if self.planes { 240.0 } else { mix(60.0, 360.0, self.skill) };
        if self.dice.happens(changes_per_hour, step_s) {
            self.planes = !self.planes;
        }
        if self.planes { 1.35 } else { 0.88 }
    }

    /// A turn begins, and with it a capsize that waited for one.
    fn turn(&mut self, mut passage: Passage, turning: Cause, t_s: f64) {
        let meant = self.fate.as_ref().is_some_and(|fate| t_s >= fate.from_s && fate.cause == turning);
        if meant && passage.reason.is_none() {
            passage.lasts_s *= self.dice.between(0.55, 1.0);
            passage.then = After::Over(turning);
        }
        let stuck = self.fate.as_ref().is_some_and(|fate| t_s >= fate.from_s && fate.cause == Cause::Irons);
        if stuck && turning == Cause::Tack {
            passage = turns::irons(self);
            passage.then = After::Over(Cause::Irons);
        }
        self.begin(passage, t_s);
    }

    /// The mark she sails to, or the next when she is there.
    fn goal(&mut self, water: &Around<'_>) -> Vec2 {
        let Some(course) = water.courses.get(self.course) else { return self.at };
        let mark = course.marks.get(self.mark).copied().unwrap_or_default() + self.near;
        if (mark - self.at).length() < self.arrives_m {
            self.mark = (self.mark + 1) % course.marks.len().max(1);
            let wide_m = self.dice.between(0.0, 18.0);
            self.near = Vec2::along(self.dice.between(0.0, 360.0), wide_m);
            self.arrives_m = self.dice.between(5.0, 22.0);
            self.slew_dps = self.dice.between(6.0, mix(14.0, 26.0, self.skill)) * self.class.of(0.8, 1.1);
            self.manner.by_bow = course.by_bow.unwrap_or_else(|| self.dice.chance(0.6));
            self.manner.board_s = self.dice.between(18.0, 80.0);
        }
        mark
    }
}
