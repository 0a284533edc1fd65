//! What the crew's hands make of it: sheet and tiller, as far as hull and wind allow.

use super::{
    STEP_S,
    boat::{Boat, Now},
    doing::{Doing, Stop},
    helm::{self, Choice, Sight},
    hull::{Push, polar_mps},
    lesson::Exercise,
    over, stops,
};
use crate::{
    plane::{Vec2, fold_180},
    truth::Reason,
};

/// An open boat that lies with her sails flapping drifts at 3.65 % of the wind (`leeway.md`).
const LIES: f64 = 0.0365;
/// Leeway under sail, "3 to 5 deg" close-hauled (`wind.md`), as a share of way.
const LEEWAY: f64 = 0.075;
/// Less way than this within the no-go zone and she is in irons: a guess.
const IRONS_MPS: f64 = 0.19;
/// With less way nobody tries to tack who has been told why: a guess.
const TACKS_MPS: f64 = 0.9;
/// She is under way again: a stop is over.
const UNDER_WAY_MPS: f64 = 0.45;

impl Boat {
    pub(super) fn push(&mut self, now: &Now) -> Push {
        match self.doing {
            Doing::Sails => self.sails(now),
            Doing::Tacks { to, since_s, fumbled } => self.tacks(now, to, since_s, fumbled),
            Doing::Gybes { to, since_s } => {
                if self.off_deg * to > 0.0 && self.off_deg.abs() < 162.0 || now.t_s - since_s > 20.0 {
                    self.turned(now.t_s);
                }
                self.under_sail(now, to * 150.0, 0.8, 1.0)
            }
            Doing::Spills { until_s } => {
                if now.t_s >= until_s {
                    self.doing = Doing::Sails;
                }
                self.under_sail(now, self.side() * (self.off_deg.abs() - 6.0).max(40.0), 0.15, 0.5)
            }
            Doing::Stops(stop) => self.holds(now, stop),
            Doing::Over(over) => {
                if over.until_s.is_some_and(|until_s| now.t_s >= until_s && over.is_flat(now.t_s)) {
                    let stop = stops::recovers(
                        &self.crew,
                        self.side(),
                        now.t_s,
                        now.t_s - over.since_s,
                        &mut self.dice,
                    );
                    self.does(Doing::Stops(stop));
                    self.trim = 0.0;
                }
                over.push(now.wind, now.t_s)
            }
            Doing::Towed => self.is_towed(now),
        }
    }

    fn turned(&mut self, t_s: f64) {
        self.doing = Doing::Sails;
        self.has_crossed = false;
        self.turned_s = t_s;
        self.board_s = self.dice.between(20.0, 70.0);
    }

    fn sails(&mut self, now: &Now) -> Push {
        let waits = self.course.passes(self.hull.at, 14.0) && self.dice.chance(0.63);
        if waits || now.t_s >= self.course.stops_s {
            self.stops_for(now, waits);
        }
        let aim_bearing_deg = (self.course.aim() - self.hull.at).bearing_deg();
        let choice = helm::choose(&Sight {
            off_deg: self.off_deg,
            aim_deg: fold_180(now.wind.from_deg - aim_bearing_deg),
            close_deg: self.crew.close_deg,
            stood_s: now.t_s - self.turned_s,
            board_s: self.board_s,
        });
        match choice {
            Choice::Hold(off_deg) => {
                let steered_deg = (off_deg + self.crew.steer_deg.value).clamp(-172.0, 172.0);
                self.under_sail(now, steered_deg, 1.0, 0.6)
            }
            // Without way she would not go round: they bear away for some first, those who remember.
            Choice::Tack(_)
                if self.hull.way_mps < TACKS_MPS && now.t_s - self.turned_s < self.board_s + 30.0 =>
            {
                self.under_sail(now, self.side() * (self.crew.close_deg + 9.0), 1.0, 0.6)
            }
            Choice::Tack(to) => {
                let fumbled = self.dice.chance(0.014 * self.crew.clumsiness());
                self.has_crossed = false;
                self.doing = Doing::Tacks { to, since_s: now.t_s, fumbled };
                self.tacks(now, to, now.t_s, fumbled)
            }
            Choice::Gybe(to) => {
                self.has_crossed = false;
                self.doing = Doing::Gybes { to, since_s: now.t_s };
                self.under_sail(now, to * 150.0, 0.8, 1.0)
            }
        }
    }

    fn stops_for(&mut self, now: &Now, waits: bool) {
        self.course.stops_s = self.course.next_stop_s(now.t_s, &mut self.dice);
        let (side, dice) = (self.side(), &mut self.dice);
        let stop = match self.course.exercise {
            _ if waits => stops::waits(&self.crew, side, now.t_s + dice.log_normal(240.0, 0.6), dice),
            Exercise::Talk => stops::heaves_to(&self.crew, side, now.t_s + dice.between(220.0, 560.0), dice),
            Exercise::Alone => {
                stops::heaves_to(&self.crew, side, now.t_s + dice.log_normal(115.0, 0.6), dice)
            }
            Exercise::Drill => stops::picks_up(side, now.t_s + dice.between(6.0, 30.0), dice),
            _ => stops::waits(&self.crew, side, now.t_s + dice.log_normal(160.0, 0.7), dice),
        };
        self.does(Doing::Stops(stop));
    }

    fn tacks(&mut self, now: &Now, to: f64, since_s: f64, fumbled: bool) -> Push {
        let close_deg = self.crew.close_deg;
        if self.off_deg * to > 0.85 * close_deg || now.t_s - since_s > 25.0 {
            self.turned(now.t_s);
        } else if self.off_deg.abs() < 30.0 && self.hull.way_mps < IRONS_MPS {
            let stop = stops::is_in_irons(&self.crew, to, now.t_s, &mut self.dice);
            self.does(Doing::Stops(stop));
        }
        // Who hesitates lets the tiller come back half way round.
        let hand = if fumbled && self.off_deg.abs() < 30.0 { 0.22 } else { 1.0 };
        self.under_sail(now, to * close_deg * 1.1, 0.9, hand)
    }

    /// As the sails drive her at that trim, with the helm to bring her to that angle off the wind.
    fn under_sail(&mut self, now: &Now, off_deg: f64, trim: f64, hand: f64) -> Push {
        let by = STEP_S / self.crew.trim_s;
        self.trim += (trim - self.trim).clamp(-1.8 * by, by);
        let kept = (self.trim * (1.0 - self.crew.attention.value.abs())).clamp(0.0, 1.0);
        let downwind = Vec2::along(now.wind.from_deg + 180.0, LIES * now.wind.mps * (1.0 - kept));
        let across = Vec2::along(self.hull.heading_deg - 90.0 * self.side(), LEEWAY * self.hull.way_mps);
        Push {
            way_mps: kept * self.crew.pace * polar_mps(self.off_deg, now.wind.mps),
            heading_deg: now.wind.from_deg - off_deg,
            turn_deg_s: hand * self.crew.turn_deg_s,
            least_deg_s: 2.0,
            slip: downwind + across,
            drag: 1.0,
        }
    }

    fn holds(&mut self, now: &Now, stop: Stop) -> Push {
        let irons = stop.reason == Reason::InIrons;
        let Some(leaves_s) = stop.leaves_s else {
            if now.t_s >= stop.until_s {
                self.doing = Doing::Stops(Stop { leaves_s: Some(now.t_s), ..stop });
            }
            // Who holds her badly lets her wander.
            let off_deg = stop.off_deg + if irons { 0.6 } else { 1.5 } * self.crew.steer_deg.value;
            let mut push = self.under_sail(now, off_deg, 0.0, 0.55);
            let fore_mps = stop.fore_mps + 0.18 * self.crew.attention.value;
            push.way_mps = if irons { stop.fore_mps } else { push.way_mps.max(fore_mps) };
            if stop.reason == Reason::Recovering {
                (push.way_mps, push.drag, push.slip) = (0.0, 2.5, over::swamped(now.wind));
            }
            return push;
        };
        if self.hull.way_mps > UNDER_WAY_MPS && self.off_deg.abs() > 35.0 || now.t_s - leaves_s > 25.0 {
            self.turned(now.t_s);
        }
        let side = if stop.off_deg < 0.0 { -1.0 } else { 1.0 };
        let mut push = self.under_sail(now, side * 80.0, 1.0, 0.6);
        // The jib is backed to bring her round.
        push.least_deg_s = 12.0;
        push
    }

    fn is_towed(&mut self, now: &Now) -> Push {
        let mut push = self.under_sail(now, self.off_deg, 0.0, 1.0);
        if let Some(ahead) = now.tow.map(|at| at - self.hull.at) {
            push.way_mps = (0.35 * (ahead.length() - 5.0)).clamp(0.0, 2.0);
            (push.heading_deg, push.least_deg_s, push.drag) = (ahead.bearing_deg(), 15.0, 2.0);
        }
        push
    }
}
