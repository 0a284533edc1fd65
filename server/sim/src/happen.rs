//! What befalls a boat by chance, and what her crew decides to do besides sailing the exercise.

use crate::{
    mode::{Air, Mode, Over},
    plane::{Vec2, kn},
    truth::CapsizeTruth,
    world::{Doom, Errand, Then, World},
};

/// Chance that a capsize turns turtle; common in beginners' boats without mast floats (common practice).
const TURTLE: f64 = 0.22;
/// Chance of going over again within a minute of being righted.
const AGAIN: f64 = 0.14;

impl World {
    /// Draws what happens to boat `i` in this step.
    pub(crate) fn happen(&mut self, i: usize, air: Air, wind10: f64, dt_s: f64) {
        let t_s = self.t_s;
        if let Some(doom) = self.sailors[i].doom.take_if(|doom| t_s >= doom.at_s) {
            if !matches!(
                self.sailors[i].dinghy.mode,
                Mode::Ashore { .. } | Mode::Beached | Mode::Capsized(_) | Mode::Towed { .. }
            ) {
                self.capsize(i, doom);
            }
            return;
        }
        if self.scripted {
            return;
        }
        self.front_hits(i, air);
        let afloat = !matches!(self.sailors[i].dinghy.mode, Mode::Ashore { .. } | Mode::Beached);
        if afloat {
            self.feed_faults(i, dt_s);
        }
        match self.sailors[i].dinghy.mode {
            Mode::Sailing => {
                if self.risk(i, air, wind10, dt_s) {
                    return;
                }
                if self.sailors[i].errand.is_none()
                    && t_s < self.sailors[i].home_s
                    && t_s > self.sailors[i].dinghy.gentle_until_s
                {
                    self.decide(i, dt_s);
                }
            }
            // Rolling about head to wind or hove-to, a clumsy crew can still fall over.
            Mode::Irons { .. } => self.falls_over(i, 2.0, "irons", dt_s),
            Mode::Waiting { .. } | Mode::HoveTo { .. } => self.falls_over(i, 0.3, "to-windward", dt_s),
            _ => {}
        }
    }

    /// A stopped boat goes over now and then: `share` of the session's usual rate.
    fn falls_over(&mut self, i: usize, share: f64, cause: &'static str, dt_s: f64) {
        if self.sailors[i].dinghy.dice.happens(self.plan.rates.capsize * share, dt_s) {
            self.capsize(i, Doom::at(self.t_s, cause));
        }
    }

    /// The squall front reaches her: she may go over within the next minute.
    fn front_hits(&mut self, i: usize, air: Air) {
        let Some(front) = &self.plan.weather.front else { return };
        if self.sailors[i].was_in_front || self.t_s < front.at_s - 120.0 {
            return;
        }
        if air.speed_mps > self.plan.weather.speed_mps * (0.35 + 0.55 * front.gain) {
            let sailor = &mut self.sailors[i];
            sailor.was_in_front = true;
            let likely = self.plan.front_capsize * (1.4 - sailor.dinghy.skill).min(1.2);
            if sailor.dinghy.dice.chance(likely) {
                let after = sailor.dinghy.dice.between(0.0, 50.0);
                sailor.doom = Some(Doom::at(self.t_s + after, "front"));
            }
        }
    }

    /// Whether she goes over now. The session's rate is spread over moments by how risky they are.
    fn risk(&mut self, i: usize, air: Air, wind10: f64, dt_s: f64) -> bool {
        let t_s = self.t_s;
        let sailor = &mut self.sailors[i];
        let dinghy = &mut sailor.dinghy;
        let press = (1.8 * (wind10 / self.plan.comfort_mps - 1.0)).exp().min(12.0);
        let twa = dinghy.twa_deg(air).abs();
        let (manoeuvre, cause) = if t_s - dinghy.last_gybe_s < 6.0 {
            (14.0, "gybe")
        } else if t_s - dinghy.last_tack_s < 6.0 {
            (2.5, "tack")
        } else if twa > 150.0 {
            (1.6, "to-windward")
        } else {
            (0.75, "gust")
        };
        let clumsy = (1.5 - dinghy.skill) / 1.05;
        let rate = self.plan.rates.capsize * press * manoeuvre * clumsy;
        if dinghy.dice.happens(rate, dt_s) {
            self.capsize(i, Doom::at(t_s, cause));
            return true;
        }
        false
    }

    /// Puts boat `i` over.
    pub(crate) fn capsize(&mut self, i: usize, doom: Doom) {
        let cause = doom.cause;
        let (t_s, now) = (self.t_s, self.now_ms());
        let habits = self.plan.habits;
        let sailor = &mut self.sailors[i];
        let again = sailor.capsize.is_some();
        let before = sailor.speeds[5].max(sailor.speeds[3]);
        // One capsize after another without sailing between: the first one's record ends here.
        if again {
            self.under_way(i);
        }
        let sailor = &mut self.sailors[i];
        let dinghy = &mut sailor.dinghy;
        let skill = dinghy.skill;
        let dice = &mut dinghy.dice;
        // A dinghy goes over in a second or two in a gust or a gybe; slowly when she fills or is sat down.
        let quick = dice.chance(if matches!(cause, "irons" | "drill" | "to-windward") {
            0.5 * habits.quick
        } else {
            habits.quick
        });
        let roll_s = if quick { dice.between(0.8, 3.0) } else { dice.between(4.0, 11.0) };
        let by_chance = dice.chance(TURTLE);
        let turtle = doom.turtle.unwrap_or(by_chance);
        // Old hands 20 s, beginners 1 to 5 min or not without help (reference); wide between.
        let median = 18.0 + 190.0 * (1.0 - skill).powi(2) + if turtle { 60.0 } else { 0.0 };
        let up = doom.right_after_s.unwrap_or_else(|| dice.log_normal(median, 0.75).clamp(9.0, 1500.0));
        let leeward = if dinghy.boom >= 0.0 { -1.0 } else { 1.0 };
        let side = if cause == "to-windward" { -leeward } else { leeward };
        let dice = &mut dinghy.dice;
        let luff = if dinghy.boom >= 0.0 { 1.0 } else { -1.0 };
        let over = Over {
            start_s: t_s,
            roll_s,
            side,
            turtle_s: turtle.then(|| t_s + roll_s + dice.between(5.0, 60.0)),
            right_s: t_s + roll_s + up,
            drift_share: dice.between(habits.over_drift.0, habits.over_drift.1),
            drift_off_deg: dice.sign() * habits.over_off_deg * dice.unit().powf(0.8),
            swing_dps: match cause {
                "gust" | "front" | "tack" => luff * dice.between(5.0, 35.0),
                "gybe" => -luff * dice.between(5.0, 30.0),
                _ => dice.between(-12.0, 12.0),
            },
            stops_s: habits.over_carries
                * if quick { dice.between(0.9, 2.2) } else { dice.between(2.0, 4.5) },
            helped: doom.right_after_s.is_none(),
            again: cause != "drill" && doom.right_after_s.is_none() && dice.chance(AGAIN),
        };
        let right_s = over.right_s;
        dinghy.mode = Mode::Capsized(over);
        dinghy.turn = None;
        let noticed = dice.log_normal(35.0, 0.6);
        sailor.noticed_s = Some(t_s + noticed);
        if sailor.receiver.drowns {
            let dice = &mut sailor.receiver.dice;
            let under_s = t_s + dice.between(0.5, 14.0);
            let until = if dice.chance(0.7) { right_s + dice.between(3.0, 40.0) } else { f64::INFINITY };
            sailor.receiver.goes_under(under_s, until);
        }
        sailor.capsize = Some(CapsizeTruth {
            boat: sailor.id.clone(),
            start_ms: now,
            righted_ms: None,
            sailing_ms: None,
            cause: cause.to_owned(),
            quick,
            inverted: false,
            drill: cause == "drill",
            feed_alive: 1.0,
            heel: sailor.receiver.heel,
            speed_before_kn: kn(before),
            again,
            attended: false,
        });
    }

    fn feed_faults(&mut self, i: usize, dt_s: f64) {
        let (t_s, start_ms) = (self.t_s, self.start_ms);
        let rates = self.plan.rates;
        let dinghy = &self.sailors[i].dinghy;
        let actual = crate::receiver::Actual {
            at: dinghy.at,
            velocity: dinghy.velocity,
            heading_deg: dinghy.heading_deg,
            heel_deg: dinghy.heel_deg,
            capsized: dinghy.is_capsized(),
        };
        let underway = dinghy.is_sailing() && dinghy.way_mps > 0.6;
        let receiver = &mut self.sailors[i].receiver;
        if receiver.dice.happens(rates.silence, dt_s) && t_s > receiver.silent_until_s {
            // A flat battery stays flat; an app that was put to sleep comes back.
            let lasts =
                if receiver.dice.chance(0.3) { f64::INFINITY } else { receiver.dice.between(60.0, 420.0) };
            receiver.silent_until_s = t_s + lasts;
        }
        if underway && !receiver.is_frozen() && receiver.dice.happens(rates.freeze, dt_s) {
            let lasts = receiver.dice.between(90.0, 500.0);
            receiver.freeze(actual, start_ms, t_s, t_s + lasts);
        }
    }

    /// Something else than the exercise?
    fn decide(&mut self, i: usize, dt_s: f64) {
        let t_s = self.t_s;
        let rates = self.plan.rates;
        let dice = &mut self.sailors[i].dinghy.dice;
        if dice.happens(rates.heave_to, dt_s) {
            let (lasts, twa) = (dice.log_normal(75.0, 0.7).clamp(20.0, 420.0), dice.between(42.0, 70.0));
            let side = self.sailors[i].dinghy.boom;
            self.sailors[i].dinghy.mode = Mode::HoveTo { until_s: t_s + lasts, twa_deg: side * twa };
        } else if dice.happens(rates.wait, dt_s) {
            let (lasts, twa) = (dice.log_normal(70.0, 0.7).clamp(15.0, 420.0), dice.between(50.0, 110.0));
            let side = self.sailors[i].dinghy.boom;
            self.sailors[i].dinghy.mode =
                Mode::Waiting { until_s: t_s + lasts, twa_deg: side * twa, burst_s: 0.0 };
        } else if dice.happens(rates.raft, dt_s) {
            let lasts = dice.between(45.0, 260.0);
            self.ask_alongside(i, lasts);
        } else if dice.happens(rates.tow, dt_s) {
            self.ask_tow(i);
        } else if dice.happens(rates.drill, dt_s) {
            self.begin_drill(i, false);
        } else if dice.happens(rates.capsize_drill, dt_s) {
            self.sailors[i].doom = Some(Doom::at(t_s + 40.0, "drill"));
            self.sailors[i].dinghy.mode = Mode::Waiting { until_s: t_s + 60.0, twa_deg: 80.0, burst_s: 0.0 };
            self.send_safety(i);
        } else if dice.happens(rates.overboard, dt_s) {
            let with_beacon = dice.chance(0.5);
            self.person_falls(i, with_beacon);
            self.begin_drill(i, true);
        } else if dice.happens(rates.stray_out, dt_s) {
            let towards = Vec2::along(dice.between(0.0, 360.0), 1.0);
            let past = dice.between(15.0, 90.0);
            let to = self.edge(towards) + towards * past;
            self.errand(i, to, 10.0, true, Then::Nothing);
        } else if dice.happens(rates.stray_no_go, dt_s) {
            let zone = dice.pick(self.site.no_go.len());
            self.stray_into(i, zone);
        } else if dice.happens(rates.drift_out, dt_s) {
            self.drift_out(i);
        }
    }

    /// Sends her to lie stopped so near an edge that the drift of an idle boat carries her over it.
    pub(crate) fn drift_out(&mut self, i: usize) {
        let middle = self.site.area.centre();
        let (from, wind10) = self.weather.wind10(middle);
        let drift =
            Vec2::along(from + 180.0, self.plan.habits.idle_drift * wind10) + self.weather.stream(middle);
        let towards = drift.unit();
        let dice = &mut self.sailors[i].dinghy.dice;
        let aside = dice.between(-60.0, 60.0);
        let inside = (drift.length() * dice.between(80.0, 220.0)).clamp(12.0, 90.0);
        let for_s = dice.between(240.0, 480.0);
        let hove_to = dice.chance(0.3);
        let edge = self.edge(towards.turned(aside * 0.2));
        let to = edge - towards * inside;
        self.errand(i, to, 12.0, true, Then::Lie { hove_to, for_s });
    }

    /// Sends her into a no-go zone.
    fn stray_into(&mut self, i: usize, zone: usize) {
        let at = self.sailors[i].dinghy.at;
        let Some((_, ring)) = self.site.no_go.get(zone) else { return };
        // Small zones are crossed through the middle, long ones entered abreast of her.
        let small = ring.margin(ring.centre()) < 48.0 && zone != 0;
        let to = if small { ring.centre() } else { self.nearest_in_zone(zone, at) };
        self.errand(i, to, 12.0, true, Then::Nothing);
    }

    /// Sends her into the no-go zone nearest to her.
    pub(crate) fn stray_into_nearest(&mut self, i: usize) {
        let at = self.sailors[i].dinghy.at;
        let margin = |zone: &usize| self.site.no_go[*zone].1.margin(at);
        let nearest = (0..self.site.no_go.len()).max_by(|a, b| margin(a).total_cmp(&margin(b)));
        if let Some(zone) = nearest {
            self.stray_into(i, zone);
        }
    }

    /// Her crew turns back for the person who fell out.
    pub(crate) fn begin_recovery(&mut self, i: usize) {
        self.begin_drill(i, true);
    }

    /// Where a ray from the middle leaves the area.
    fn edge(&self, towards: Vec2) -> Vec2 {
        let middle = self.site.area.centre();
        let mut reach = 20.0;
        while self.site.area.holds(middle + towards * reach) && reach < 3000.0 {
            reach += 4.0;
        }
        middle + towards * reach
    }

    /// A point a little inside a long zone, abreast of the boat.
    fn nearest_in_zone(&self, zone: usize, at: Vec2) -> Vec2 {
        let ring = &self.site.no_go[zone].1;
        let centre = ring.centre();
        let off = (centre - at).unit();
        let mut to = at;
        for _ in 0..400 {
            if ring.margin(to) > 22.0 {
                return to;
            }
            to += off * 4.0;
        }
        centre
    }

    pub(crate) fn errand(&mut self, i: usize, to: Vec2, near_m: f64, blind: bool, then: Then) {
        let sailor = &mut self.sailors[i];
        sailor.errand = Some(Errand { to, near_m, since_s: self.t_s, blind, then });
        sailor.dinghy.new_leg(self.t_s);
    }

    /// Reach away from the dummy (or the person), then come back to it.
    fn begin_drill(&mut self, i: usize, person: bool) {
        let at = self.sailors[i].dinghy.at;
        let (air, _, _) = self.air(at);
        let dinghy = &mut self.sailors[i].dinghy;
        let side = dinghy.boom;
        let away = dinghy.dice.between(28.0, 55.0);
        let to = at + Vec2::along(air.from_deg - side * 110.0, away);
        self.errand(i, to, 9.0, person, Then::BackTo { to: at, person });
    }
}
