//! How one state of a dinghy follows another: what her crew does on purpose, and what happens to them.

use super::{
    STEP_S,
    boat::{Around, Boat, State},
    course::wished_off_deg,
    over::Over,
    stop::{ANY_TIME, IN_IRONS, Kind, Stop, WAITS},
};
use crate::{
    plane::{fold_180, kn},
    truth::Reason,
};

/// A mark is rounded so close, m; at so many of them they wait for the others. A guess.
const ROUNDS_M: f64 = 20.0;
const WAITS_AT_MARK: f64 = 0.025;
/// Capsizes in an hour of sailing in 10 kn of steady wind; shares of tacks, gybes and spells in irons that end in
/// one. Guesses, set so that there are about 0.87 in an hour afloat.
const OVER_PER_H: f64 = 0.21;
const OVER_IN_TACK: f64 = 0.006;
const OVER_IN_GYBE: f64 = 0.03;
const OVER_IN_IRONS: f64 = 0.05;
/// What a gust adds to that: one of half the wind again makes it six times as likely. A guess.
const GUST_HURTS: f64 = 10.0;
/// So many go over again before they sail: a guess.
const AGAIN: f64 = 0.12;
/// So many tacks end in irons, of boats with way on. A guess.
const MISSES_STAYS: f64 = 0.016;

impl Boat {
    pub(super) fn enter(&mut self, state: State) {
        self.state = state;
        self.began = true;
    }

    pub(super) fn stop(&mut self, kind: &'static Kind, t_s: f64) {
        let stop = Stop::draw(kind, self.off_deg.signum(), t_s, &mut self.dice);
        self.enter(State::Stopped(stop));
    }

    fn capsize(&mut self, cause: &'static str, around: &Around) {
        let over = Over::draw(cause, around.wind, around.t_s, &mut self.dice);
        self.enter(State::Capsized(over));
    }

    /// How much likelier than in 10 kn this crew is to go over now.
    fn risk(&self, around: &Around) -> f64 {
        self.clumsy * (kn(around.wind.mps) / 10.0).powi(2)
    }

    pub(super) fn wished_off_deg(&self, around: &Around) -> f64 {
        let Some(mark) = around.marks.get(self.mark % around.marks.len().max(1)) else { return self.off_deg };
        let (from_deg, side) = (around.wind.from_deg, self.off_deg.signum());
        let has_had_enough = around.t_s - self.turned_s > self.patience_s;
        wished_off_deg(*mark - self.at, from_deg, side, self.closest_deg, has_had_enough)
    }

    pub(super) fn change(&mut self, around: &Around) {
        let t_s = around.t_s;
        match self.state {
            State::Sailing => self.sail(around),
            State::Turning { to_off_deg, dps, is_tack, sticks } => {
                if sticks && self.off_deg.abs() < 8.0 {
                    self.stop(&IN_IRONS, t_s);
                } else if fold_180(around.wind.from_deg - to_off_deg - self.heading_deg) * dps.signum() < 4.0
                {
                    self.turned(is_tack, around);
                }
            }
            State::Stopped(stop) => self.lie(stop, around),
            State::Capsized(over) if t_s >= over.until_s => self.come_up(over, t_s),
            State::Recovering { again_s: Some(again_s), .. } if t_s >= again_s => {
                let cause = if self.dice.chance(0.5) { "to-windward" } else { "gust" };
                self.capsize(cause, around);
            }
            State::Recovering { until_s, .. } | State::Towed { until_s } if t_s >= until_s => {
                self.sail_on(t_s);
            }
            _ => (),
        }
    }

    fn sail_on(&mut self, t_s: f64) {
        self.turned_s = t_s;
        self.enter(State::Sailing);
    }

    fn sail(&mut self, around: &Around) {
        let t_s = around.t_s;
        let mark = around.marks.get(self.mark % around.marks.len().max(1)).copied();
        if mark.is_some_and(|mark| (mark - self.at).length() < ROUNDS_M) {
            self.mark += 1;
            if self.dice.chance(WAITS_AT_MARK) {
                return self.stop(&WAITS, t_s);
            }
        }
        let risk = self.risk(around);
        let gust = 1.0 + GUST_HURTS * around.wind.gust.max(0.0);
        if self.dice.happens(OVER_PER_H * risk * gust, STEP_S) {
            // With the boom out, or leaning out as the wind goes, they fall in to windward.
            let leans = self.off_deg.abs() > 120.0 || self.dice.chance(0.3);
            let cause = if around.wind.gust < 0.15 && leans { "to-windward" } else { "gust" };
            return self.capsize(cause, around);
        }
        if let Some(kind) = ANY_TIME.into_iter().find(|kind| self.dice.happens(kind.per_h, STEP_S)) {
            return self.stop(kind, t_s);
        }
        let wished_deg = self.wished_off_deg(around);
        if wished_deg * self.off_deg < 0.0 && t_s - self.turned_s > 6.0 {
            self.turn_to(wished_deg);
        }
    }

    fn turn_to(&mut self, to_off_deg: f64) {
        let by_deg = fold_180(self.off_deg - to_off_deg);
        // Through the wind her bow passes it, otherwise her stern: the shorter way round.
        let is_tack = (self.off_deg - to_off_deg).abs() < 180.0;
        // Without way on she does not come round.
        let slow = if self.way_mps < 0.8 { 2.0 } else { 1.0 };
        let sticks = is_tack && self.dice.chance(MISSES_STAYS * slow * self.clumsy);
        let dps = by_deg.signum() * self.dice.between(9.0, 20.0);
        self.state = State::Turning { to_off_deg, dps, is_tack, sticks };
    }

    fn turned(&mut self, is_tack: bool, around: &Around) {
        self.turned_s = around.t_s;
        self.patience_s = self.dice.between(25.0, 110.0);
        self.state = State::Sailing;
        let (odds, cause) = if is_tack { (OVER_IN_TACK, "tack") } else { (OVER_IN_GYBE, "gybe") };
        if self.dice.chance(odds * self.risk(around)) {
            self.capsize(cause, around);
        }
    }

    fn lie(&mut self, mut stop: Stop, around: &Around) {
        let t_s = around.t_s;
        let is_stuck = stop.kind.reason == Some(Reason::InIrons);
        if t_s >= stop.until_s {
            if is_stuck && self.dice.chance(OVER_IN_IRONS * self.risk(around)) {
                return self.capsize("irons", around);
            }
            return self.sail_on(t_s);
        }
        // A gust takes those who lie with loose sheets as well, though seldom.
        let gust = around.wind.gust.max(0.0);
        if self.dice.happens(OVER_PER_H * self.risk(around) * (0.3 + 3.0 * gust), STEP_S) {
            return self.capsize("gust", around);
        }
        if is_stuck && stop.until_s - t_s < 8.0 && stop.off_deg.abs() < 30.0 {
            // She falls off at last, tiller and sail held over.
            stop.off_deg = self.off_deg.signum() * 65.0;
        }
        if self.dice.happens(stop.kind.creeps_per_h, STEP_S) {
            stop.creeps_until_s = t_s + self.dice.between(4.0, 12.0);
        }
        self.state = State::Stopped(stop);
    }

    fn come_up(&mut self, over: Over, t_s: f64) {
        let bails_s =
            self.dice.log_normal(if over.is_dry { 8.0 } else { 40.0 }, if over.is_dry { 0.4 } else { 0.7 });
        let again_s = self.dice.chance(AGAIN).then(|| t_s + self.dice.between(4.0, 30.0).min(bails_s));
        self.enter(State::Recovering { until_s: t_s + bails_s, again_s });
    }

    /// A safety boat holds her mast or her bow: she will be up soon.
    pub(super) fn is_helped(&mut self, t_s: f64) {
        if let State::Capsized(over) = &mut self.state {
            let up_s = t_s + self.dice.log_normal(if over.inverted { 90.0 } else { 45.0 }, 0.6);
            over.until_s = over.until_s.min(up_s);
        }
    }
}
