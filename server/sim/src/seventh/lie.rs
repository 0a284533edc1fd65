//! Boats that do not sail: stopped on purpose, in irons, over, or bailing.

use crate::plane::{Vec2, fold_180};

use super::{
    boat::{Around, Boat, Doing},
    over::Bail,
};

/// Under way again: so much of the speed she will settle on, or so long after the sails were in.
const UNDER_WAY: f64 = 0.55;
const SHEETED_S: f64 = 14.0;

impl Boat {
    /// Hove to, waiting, alongside, by a dummy.
    pub(super) fn lie(&mut self, around: &Around) {
        let (wind, dt_s, t_s) = (around.wind, around.dt_s, around.t_s);
        let Doing::Stops(mut stop) = self.doing.clone() else { return };
        let sails_on = t_s >= stop.until_s;
        let wish_deg = if sails_on && stop.off_deg.abs() < 60.0 {
            wind.from_deg - stop.off_deg.signum() * 75.0
        } else {
            wind.from_deg - stop.off_deg + self.steers.step(dt_s, &mut self.dice)
        };
        self.turn(wish_deg, stop.turns_deg_per_s, dt_s);
        let (to, over_s) = if sails_on { (1.0, 4.0) } else { (0.0, 0.4 * stop.loosens_s) };
        self.trim += (to - self.trim) * (1.0 - (-dt_s / over_s).exp());
        let off_deg = fold_180(wind.from_deg - self.heading_deg);
        let drawing_mps = 0.9 * self.own.settles_mps(off_deg, wind.speed_mps);
        let surge_mps =
            stop.surge_mps * (t_s / 4.0 + stop.off_deg).sin() + self.trims.step(dt_s, &mut self.dice) * 0.3;
        let keeps_mps = (stop.keeps_mps * wind.gust + surge_mps).max(-0.1);
        self.gather(self.trim * drawing_mps + (1.0 - self.trim) * keeps_mps, dt_s);
        self.carry(self.leeway(wind), dt_s);
        if sails_on {
            let since_s = *stop.sheets_in_s.get_or_insert(t_s);
            if self.way_mps > UNDER_WAY * drawing_mps || t_s > since_s + SHEETED_S {
                return self.doing = Doing::Sails;
            }
        } else if t_s > 60.0
            && self.dice.happens(0.5 * around.club.tender * self.own.green * puff(around), dt_s)
        {
            // Nobody expects it of a boat that lies still.
            let slow = self.dice.chance(0.7);
            return self.goes_over("gust", slow, around);
        }
        self.doing = Doing::Stops(stop);
    }

    pub(super) fn hang(&mut self, around: &Around) {
        let (wind, dt_s, t_s) = (around.wind, around.dt_s, around.t_s);
        let Doing::InIrons(mut irons) = self.doing.clone() else { return };
        if t_s < irons.until_s {
            let wander_deg = 1.6 * self.steers.step(dt_s, &mut self.dice);
            self.turn(wind.from_deg + wander_deg, 12.0, dt_s);
            self.trim += (0.3 - self.trim) * dt_s / 5.0;
            self.gather(-irons.astern_mps * (wind.speed_mps / 6.0).min(1.3), dt_s);
        } else {
            self.turn(wind.from_deg - irons.side * irons.off_deg, irons.falls_deg_per_s, dt_s);
            let off_deg = fold_180(wind.from_deg - self.heading_deg);
            if off_deg.abs() > 40.0 {
                irons.off_since_s.get_or_insert(t_s);
                self.trim += (1.0 - self.trim) * dt_s / 4.0;
            }
            let settles_mps = 0.9 * self.own.settles_mps(off_deg, wind.speed_mps);
            self.gather(settles_mps * self.trim, dt_s);
            let sheeted = irons.off_since_s.is_some_and(|since_s| t_s > since_s + SHEETED_S);
            if irons.off_since_s.is_some() && (self.way_mps > UNDER_WAY * settles_mps || sheeted) {
                self.doing = Doing::Sails;
                // All on the wrong side as she fills.
                if self.dice.chance((0.05 * around.club.tender * self.own.green * puff(around)).min(0.4)) {
                    let slow = self.dice.chance(0.4);
                    self.goes_over("irons", slow, around);
                }
                return;
            }
        }
        self.carry(self.leeway(wind), dt_s);
        self.doing = Doing::InIrons(irons);
    }

    pub(super) fn wallow(&mut self, around: &Around) {
        let (wind, dt_s, t_s) = (around.wind, around.dt_s, around.t_s);
        let Doing::IsOver(mut over) = self.doing.clone() else { return };
        // While she rolls she still runs on; flat, the water stops her.
        let slides_s = if t_s < over.flat_s { 1.5 * over.slides_s } else { over.slides_s };
        self.way_mps *= (-dt_s / slides_s).exp();
        let swing = over.swing_deg_per_s.step(dt_s, &mut self.dice);
        self.heading_deg = crate::plane::wrap_360(self.heading_deg + swing * dt_s);
        let off_deg = over.off_deg + over.sheer_deg.step(dt_s, &mut self.dice);
        let shaken = over.shakes.each_mut().map(|shake| shake.step(dt_s, &mut self.dice));
        let drift = Vec2::along(wind.from_deg + 180.0 + off_deg, over.drifts * wind.speed_mps);
        self.carry(drift + Vec2::new(shaken[0], shaken[1]) * 1.5, dt_s);
        self.trim = 0.0;
        if t_s >= over.until_s {
            let was_over_s = t_s - over.flat_s;
            self.phone.comes_up(t_s);
            let bail = Bail::draw(was_over_s, t_s, &self.own, around.club, &mut self.dice);
            return self.begins(Doing::Bails(bail));
        }
        self.doing = Doing::IsOver(over);
    }

    pub(super) fn bail(&mut self, around: &Around) {
        let (wind, dt_s, t_s) = (around.wind, around.dt_s, around.t_s);
        let Doing::Bails(mut bail) = self.doing.clone() else { return };
        let swings_deg = bail.swing_deg.step(dt_s, &mut self.dice);
        let sails_on = t_s >= bail.until_s;
        let lies_deg = if sails_on {
            bail.off_deg.signum() * bail.off_deg.abs().max(60.0)
        } else {
            bail.off_deg + swings_deg
        };
        self.turn(wind.from_deg - lies_deg, 6.0, dt_s);
        let to = if sails_on { 1.0 } else { 0.0 };
        self.trim += (to - self.trim) * dt_s / 4.0;
        let off_deg = fold_180(wind.from_deg - self.heading_deg);
        let drawing_mps = 0.85 * self.own.settles_mps(off_deg, wind.speed_mps);
        self.gather(self.trim * drawing_mps + (1.0 - self.trim) * bail.keeps_mps, dt_s);
        self.carry(Vec2::along(wind.from_deg + 180.0, bail.drifts * wind.speed_mps), dt_s);
        if sails_on {
            let since_s = *bail.sheets_in_s.get_or_insert(t_s);
            if self.way_mps > UNDER_WAY * drawing_mps || t_s > since_s + SHEETED_S {
                return self.doing = Doing::Sails;
            }
        } else if self.dice.happens(2.0 * around.club.tender * self.own.green * puff(around), dt_s) {
            // Full of water she rolls over again.
            return self.goes_over("gust", true, around);
        }
        self.doing = Doing::Bails(bail);
    }

    /// A safety boat has come: it will not take much longer.
    pub(super) fn is_helped(&mut self, t_s: f64, lasts_s: f64) {
        if let Doing::IsOver(over) = &mut self.doing {
            over.until_s = over.until_s.min(t_s + lasts_s).max(t_s + 4.0);
            over.needs_help = false;
        }
    }
}

/// How much a puff in fresh wind adds to a risk.
fn puff(around: &Around) -> f64 {
    (around.wind.speed_mps / 6.0).powi(2) * around.wind.gust.powi(2)
}
