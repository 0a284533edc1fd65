//! Boats under way: steering, tacks and gybes, and what may come of them.

use crate::{
    plane::{Vec2, fold_180},
    truth::Reason,
};

use super::{
    boat::{Around, Boat, Doing},
    errand::Errand,
    stop::{Irons, Stop},
};

/// Behind a leader this far she is content, m.
const BEHIND_M: f64 = 25.0;

impl Boat {
    pub(super) fn sail(&mut self, around: &Around) {
        let (wind, dt_s, t_s) = (around.wind, around.dt_s, around.t_s);
        if self.errand.is_done(t_s) {
            self.errand = Errand::draw(t_s, wind.from_deg, around.fleet.len(), &mut self.dice);
        }
        let leader = self.errand.leader.and_then(|ix| around.fleet.get(ix).copied());
        let followed = leader.filter(|at| (*at - self.at).length() > BEHIND_M);
        let steered_deg =
            self.errand.heading_deg(self.at, followed, wind.from_deg, &self.own, t_s, &mut self.dice);
        let wish_deg = steered_deg + self.steers.step(dt_s, &mut self.dice);
        let off_deg = fold_180(wind.from_deg - self.heading_deg);
        let to_off_deg = off_deg - fold_180(wish_deg - self.heading_deg);
        let tacks = off_deg * to_off_deg < 0.0
            && off_deg.abs() + to_off_deg.abs() < 180.0
            && (15.0..75.0).contains(&off_deg.abs())
            && to_off_deg.abs() > 15.0;
        if tacks && off_deg.signum() == self.side {
            // Helm down, once for each tack.
            self.side = -self.side;
            if self.dice.chance((around.club.fails * self.own.green).min(0.5)) {
                return self.is_caught(t_s);
            }
        } else if off_deg.abs() > 25.0 {
            self.side = if tacks { self.side } else { off_deg.signum() };
        }
        let turns_deg_per_s = (3.0 + 9.0 * self.way_mps).clamp(3.5, 17.0);
        self.turn(wish_deg, turns_deg_per_s, dt_s);
        let now_off_deg = fold_180(wind.from_deg - self.heading_deg);
        self.trim += (1.0 - self.trim) * dt_s / 4.0;
        let trims = (0.9 + self.trims.step(dt_s, &mut self.dice)).clamp(0.45, 1.05);
        self.gather(self.own.settles_mps(now_off_deg, wind.speed_mps) * self.trim * trims, dt_s);
        self.carry(self.leeway(wind), dt_s);
        if now_off_deg * off_deg < 0.0 {
            let gybed = off_deg.abs() > 90.0;
            self.crosses(gybed, around);
        }
        self.may_go_over(now_off_deg, around);
        self.may_stop(now_off_deg, around);
    }

    /// Bow or stern goes through the wind.
    fn crosses(&mut self, gybed: bool, around: &Around) {
        let fresh = (around.wind.speed_mps / 6.0).powi(2);
        let (share, cause) = if gybed { (0.028, "gybe") } else { (0.006, "tack") };
        if self.dice.chance((share * fresh * around.club.tender * self.own.green).min(0.4)) {
            self.goes_over(cause, false, around);
        }
    }

    /// Puffs, lulls and broaches.
    fn may_go_over(&mut self, off_deg: f64, around: &Around) {
        if !matches!(self.doing, Doing::Sails) {
            return;
        }
        let fresh = (around.wind.speed_mps / 6.0).powi(2);
        let puff = around.wind.gust - self.felt;
        let (per_h, cause) = match off_deg.abs() {
            // Knocked down, or broached and then knocked down.
            off if off > 40.0 && puff > 0.03 => (14.0 * (puff / 0.2).min(2.0), "gust"),
            // All sit out to windward as the wind goes.
            off if off > 40.0 && puff < -0.03 => (5.0 * (-puff / 0.2).min(2.0), "to-windward"),
            off if off > 150.0 => (0.8, "to-windward"),
            _ => (0.15, "gust"),
        };
        let per_h = per_h * fresh * around.club.tender * self.own.green;
        if self.dice.happens(per_h, around.dt_s) {
            let slow = self.dice.chance(0.15);
            self.goes_over(cause, slow, around);
        }
    }

    /// Stops on purpose, or luffs too far.
    fn may_stop(&mut self, off_deg: f64, around: &Around) {
        if !matches!(self.doing, Doing::Sails) || around.wind.speed_mps < 1.6 {
            return;
        }
        let (t_s, dt_s) = (around.t_s, around.dt_s);
        if t_s >= self.joins_s {
            self.joins_s = f64::INFINITY;
            return self.stops(Reason::Waiting, around);
        }
        for (reason, per_h) in around.club.stops_per_h {
            // Alongside only if a safety boat comes.
            if reason != Reason::Rafted && self.dice.happens(per_h, dt_s) {
                return self.stops(reason, around);
            }
        }
        let luffs = off_deg.abs() < 80.0 && self.dice.happens(around.club.luffs_per_h * self.own.green, dt_s);
        if luffs {
            self.is_caught(t_s);
        }
    }

    /// Head to wind, and there she stays.
    fn is_caught(&mut self, t_s: f64) {
        let irons = Irons::draw(t_s, &self.own, &mut self.dice);
        let shoots = irons.shoots;
        self.begins(Doing::InIrons(irons));
        self.shoots = shoots;
    }

    pub(super) fn stops(&mut self, reason: Reason, around: &Around) {
        let side = fold_180(around.wind.from_deg - self.heading_deg).signum();
        let stop = Stop::draw(
            reason,
            side,
            around.wind.speed_mps,
            around.t_s,
            &self.own,
            around.club,
            &mut self.dice,
        );
        let shoots = stop.shoots;
        self.begins(Doing::Stops(stop));
        self.shoots = shoots;
    }

    /// Goes where she is pulled, by a line that gives.
    pub(super) fn follow(&mut self, around: &Around) {
        let Some(tow) = around.tow else {
            return self.doing = Doing::Sails;
        };
        let line = tow - self.at;
        let taut_mps = (0.35 * (line.length() - 6.0)).clamp(0.0, 2.6);
        self.turn(line.bearing_deg(), 20.0, around.dt_s);
        self.gather(taut_mps, around.dt_s);
        self.carry(Vec2::default(), around.dt_s);
        self.trim = 0.2;
    }
}
