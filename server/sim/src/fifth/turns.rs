//! Tacks and gybes, good, slow and failed.

use crate::{
    fifth::{
        boat::{Around, Boat, Doing},
        crew::Mood,
        hull::Order,
        over::Cause,
        stops::Kind,
    },
    plane::{Vec2, fold_180},
};

#[derive(Clone, Copy, Debug)]
pub(super) struct Turn {
    /// Where she wants to end, wind on the starboard side above 0.
    to_deg: f64,
    is_tack: bool,
    rate_dps: f64,
    tau_s: f64,
    /// So far from head to wind it fails, and whether she is stuck there.
    fails: Option<(f64, bool)>,
    until_s: f64,
}

impl Boat {
    pub(super) fn end_turn(&mut self, turn: Turn, around: &Around) {
        let (t_s, off_deg) = (around.t_s, self.off_deg());
        let through = off_deg.signum() == turn.to_deg.signum();
        let doomed = match self.doom {
            Some((Cause::Tack, _)) => turn.is_tack && through && off_deg.abs() > 15.0,
            Some((Cause::Gybe, _)) => !turn.is_tack && through && off_deg.abs() > 120.0,
            _ => false,
        };
        if let Some((cause, _)) = self.doom.filter(|_| doomed) {
            self.capsize(cause, t_s);
            return;
        }
        if let Some((near_deg, sticks)) = turn.fails.filter(|fails| off_deg.abs() < fails.0) {
            if sticks {
                self.begin(Kind::Irons, around);
            } else {
                // Back to where she came from, and no way to be quick about it.
                let to_deg = self.side * (self.crew.close_deg + near_deg);
                self.doing = Doing::Turn(Turn { to_deg, fails: None, rate_dps: 8.0, ..turn });
            }
            return;
        }
        if fold_180(off_deg - turn.to_deg).abs() < 9.0 || t_s > turn.until_s {
            self.board_until_s = t_s + self.dice.between(15.0, 90.0);
            self.sail_on(t_s);
            self.settled_s = t_s + 4.0;
        }
    }

    pub(super) fn turning(&mut self, turn: Turn) -> Order {
        let off_deg = self.off_deg();
        // The short way, if she is told to tack by more than half a circle, would be the wrong one.
        let passed = off_deg.signum() == turn.to_deg.signum();
        let aim_deg = match (passed, turn.is_tack) {
            (true, _) => turn.to_deg,
            (false, true) => turn.to_deg.signum() * turn.to_deg.abs().min(60.0),
            (false, false) => 180.0 + (180.0 - turn.to_deg.abs()).min(40.0) * off_deg.signum(),
        };
        let by_deg = if passed { fold_180(off_deg - aim_deg) } else { off_deg - aim_deg };
        // Past head to wind the sails begin to draw again.
        let draws = passed && off_deg.abs() > 30.0;
        let way_mps = if draws { self.hull.way_mps } else { 0.0 };
        Order {
            heading_deg: self.hull.heading_deg + by_deg.clamp(-170.0, 170.0),
            rate_dps: turn.rate_dps,
            way_mps,
            tau_s: turn.tau_s,
            drift: self.leeway(),
            jerk: Vec2::default(),
        }
    }

    pub(super) fn begin_turn(&mut self, to_deg: f64, around: &Around) {
        let (habits, dice) = (around.habits, &mut self.dice);
        let off_deg = fold_180(self.local.from_deg - self.hull.heading_deg);
        let sum_deg = off_deg.abs() + to_deg.abs();
        // Those to go over in a gybe turned the wrong way.
        let wrong = sum_deg > 140.0 && matches!(self.doom, Some((Cause::Gybe, _)));
        let is_tack = !wrong && (around.course.by_tack || sum_deg < 180.0);
        let angle_deg = if is_tack { sum_deg } else { 360.0 - sum_deg };
        // A tack takes 4-10 s, a slow one longer, and costs 20-55 % of the way; a gybe little. Common
        // practice for the times, no source; the rest is reasoned.
        let slow = if dice.chance(habits.slow_tacks) { 1.6 } else { 1.0 };
        let lasts_s = slow * if is_tack { dice.between(4.5, 9.0) } else { dice.between(3.0, 8.0) };
        let lost = if is_tack { dice.between(0.2, 0.55) } else { dice.between(0.02, 0.25) };
        let timid = if self.crew.mood == Mood::Nervous { 1.5 } else { 1.0 };
        let dead = if self.hull.way_mps < 0.7 { 2.0 } else { 1.0 };
        let fails = is_tack && dice.chance(habits.fails * timid * dead);
        let rate_dps = (angle_deg / lasts_s).max(7.0) * 1.15;
        self.doing = Doing::Turn(Turn {
            to_deg,
            is_tack,
            rate_dps,
            tau_s: -lasts_s / (1.0 - lost).ln(),
            fails: fails.then(|| (dice.between(2.0, 14.0), dice.chance(habits.irons))),
            until_s: around.t_s + 3.0 * lasts_s + 8.0,
        });
    }
}
