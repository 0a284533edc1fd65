//! What each crew does from step to step, mode by mode.

use crate::{
    mode::{Air, Mode, Over},
    plane::{Vec2, fold_180, wrap_360},
    world::{Doom, Then, World},
};

impl World {
    /// One step of boat `i` in whatever she is doing.
    pub(crate) fn act(&mut self, i: usize, air: Air, dt_s: f64) {
        let t_s = self.t_s;
        let habits = self.plan.habits;
        match self.sailors[i].dinghy.mode.clone() {
            Mode::Ashore { launch_s } => self.act_ashore(i, launch_s, dt_s),
            Mode::Sailing => self.act_sailing(i, air, dt_s),
            Mode::Irons { until_s, side } => {
                let dinghy = &mut self.sailors[i].dinghy;
                // She lies within some 25 degrees of the wind, swinging, pushed astern; then falls off.
                let (want, dps) = if t_s < until_s {
                    (air.from_deg + 18.0 * habits.irons * (t_s * 0.25 + i as f64).sin(), 4.0)
                } else {
                    (air.from_deg - side * 62.0, 11.0)
                };
                dinghy.swing_to(want, dps, dt_s);
                dinghy.drive(air, if t_s < until_s { 0.15 * habits.irons } else { 0.35 }, dt_s);
                if t_s > until_s && dinghy.twa_deg(air).abs() > 48.0 {
                    dinghy.mode = Mode::Sailing;
                    dinghy.beat_on(side, t_s);
                }
            }
            Mode::HoveTo { until_s, twa_deg } => {
                let dinghy = &mut self.sailors[i].dinghy;
                let sway = 7.0 * (t_s * 0.12 + 2.0 * i as f64).sin();
                dinghy.swing_to(air.from_deg - twa_deg + sway, 8.0, dt_s);
                dinghy.drive(air, habits.hove_to, dt_s);
                if t_s > until_s {
                    dinghy.mode = Mode::Sailing;
                }
            }
            Mode::Waiting { until_s, twa_deg, burst_s } => {
                self.act_waiting(i, air, until_s, twa_deg, burst_s, dt_s)
            }
            Mode::Rafted { by, until_s, made_fast } => {
                let near = (self.safety[by].at - self.sailors[i].dinghy.at).length() < 4.0;
                let dinghy = &mut self.sailors[i].dinghy;
                dinghy.swing_to(air.from_deg - 55.0 * dinghy.boom, 6.0, dt_s);
                dinghy.drive(air, 0.0, dt_s);
                if near && !made_fast {
                    dinghy.mode =
                        Mode::Rafted { by, until_s: t_s + (until_s - t_s).max(40.0), made_fast: true };
                } else if t_s > until_s {
                    dinghy.mode = Mode::Sailing;
                }
            }
            Mode::Towed { by, slot } => self.act_towed(i, by, slot, dt_s),
            Mode::PickUp { until_s, twa_deg, person } => {
                let dinghy = &mut self.sailors[i].dinghy;
                dinghy.swing_to(air.from_deg - twa_deg, 9.0, dt_s);
                dinghy.drive(air, 0.0, dt_s);
                if t_s > until_s {
                    dinghy.mode = Mode::Sailing;
                    if person {
                        self.person_back(i);
                    }
                }
            }
            Mode::Capsized(over) => self.act_capsized(i, &over, air, dt_s),
            Mode::Recovering { until_s, again } => {
                let dinghy = &mut self.sailors[i].dinghy;
                let beam = air.from_deg - 85.0 * dinghy.boom;
                dinghy.swing_to(beam, 5.0, dt_s);
                dinghy.drive(air, 0.05, dt_s);
                if t_s > until_s {
                    dinghy.mode = Mode::Sailing;
                    dinghy.gentle_until_s = t_s + dinghy.dice.between(20.0, 70.0);
                    if again {
                        let after = dinghy.dice.between(2.0, 35.0);
                        self.sailors[i].doom = Some(Doom::at(t_s + after, "gust"));
                    }
                    self.under_way(i);
                }
            }
            Mode::Aground { until_s } => {
                let dinghy = &mut self.sailors[i].dinghy;
                dinghy.way_mps = 0.0;
                // Sand stops her within a length or so; then her crew wade her out to where she floats.
                dinghy.velocity = if t_s > until_s {
                    self.site.offshore * 0.8
                } else {
                    dinghy.velocity * (1.0 - dt_s / 0.8)
                };
                dinghy.at += dinghy.velocity * dt_s;
                if t_s > until_s && dinghy.at.dot(self.site.offshore) > 9.0 {
                    dinghy.mode = Mode::Sailing;
                }
            }
            Mode::Beached => {
                // Sails let fly, she glides on; then her crew are over the side and walk her in.
                let left = self.sailors[i].beach - self.sailors[i].dinghy.at;
                let dinghy = &mut self.sailors[i].dinghy;
                let gliding = dinghy.velocity * (1.0 - dt_s / 2.2);
                dinghy.velocity = if left.length() < 1.0 {
                    Vec2::default()
                } else if gliding.length() < 0.45 {
                    left.unit() * 0.4
                } else {
                    gliding
                };
                dinghy.at += dinghy.velocity * dt_s;
                dinghy.way_mps = dinghy.velocity.length();
                dinghy.heel_deg *= 0.98;
            }
        }
    }

    fn act_ashore(&mut self, i: usize, launch_s: f64, dt_s: f64) {
        let (t_s, now) = (self.t_s, self.now_ms());
        let offshore = self.site.offshore;
        let sailor = &mut self.sailors[i];
        // In the last minute she is wheeled and walked out to where she floats.
        if t_s > launch_s - 50.0 {
            let walk = offshore * (0.55 * (0.5 + 0.5 * (t_s * 0.3).sin()));
            sailor.dinghy.velocity = walk;
            sailor.dinghy.at += walk * dt_s;
        }
        if t_s > launch_s {
            sailor.dinghy.heading_deg = wrap_360(offshore.bearing_deg());
            sailor.dinghy.mode = Mode::Sailing;
            sailor.dinghy.gentle_until_s = t_s + 25.0;
            sailor.dinghy.new_leg(t_s);
            sailor.afloat.0 = Some(now);
            if let Some(gun_s) = self.plan.gun_s {
                self.sail_to_the_start(i, gun_s);
            }
        }
    }

    /// Before the gun everyone sails to a line some 60 m long, a little to leeward of the middle.
    fn sail_to_the_start(&mut self, i: usize, gun_s: f64) {
        let (from, _) = self.weather.mean();
        let dice = &mut self.sailors[i].dinghy.dice;
        let along = Vec2::along(from + 90.0, dice.between(-32.0, 32.0));
        let behind = Vec2::along(from + 180.0, 85.0 + dice.between(0.0, 25.0));
        let to = self.site.area.centre() + along + behind;
        self.errand(i, to, 12.0, false, Then::Start { gun_s });
    }

    fn act_sailing(&mut self, i: usize, air: Air, dt_s: f64) {
        let t_s = self.t_s;
        let to = self.destination(i);
        let (home, beach, inside) = {
            let sailor = &self.sailors[i];
            (t_s > sailor.home_s, sailor.beach, self.site.landing.holds(sailor.dinghy.at))
        };
        if home && inside && (beach - self.sailors[i].dinghy.at).length() < 22.0 {
            let now = self.now_ms();
            let sailor = &mut self.sailors[i];
            sailor.dinghy.mode = Mode::Beached;
            sailor.afloat.1 = Some(now);
            return;
        }
        // In the lulls of a launch off a lee shore crews paddle and push: she must get off the beach.
        let landing = self.site.landing.holds(self.sailors[i].dinghy.at);
        let offshore = self.site.offshore;
        let depth = self.depth(i);
        let dinghy = &mut self.sailors[i].dinghy;
        dinghy.sail_to(to, air, 1.0, t_s, dt_s);
        if landing && !home {
            dinghy.push = offshore * 0.5;
        } else if home && air.speed_mps < 1.2 {
            dinghy.push = (beach - dinghy.at).unit() * 0.45; // paddles home in a calm
        }
        if depth < 3.0 && !landing && !home {
            // Touches in the shallows beside the landing place: a pause, then she is pushed off.
            dinghy.mode = Mode::Aground { until_s: t_s + dinghy.dice.between(15.0, 90.0) };
            return;
        }
        self.errand_progress(i);
    }

    /// Metres out from the waterline.
    fn depth(&self, i: usize) -> f64 {
        self.sailors[i].dinghy.at.dot(self.site.offshore)
    }

    fn errand_progress(&mut self, i: usize) {
        let t_s = self.t_s;
        let Some(errand) = self.sailors[i].errand.clone() else { return };
        let dinghy = &mut self.sailors[i].dinghy;
        if !dinghy.is_sailing() {
            return;
        }
        if t_s - errand.since_s > 600.0 {
            self.sailors[i].errand = None;
            return;
        }
        if (errand.to - dinghy.at).length() > errand.near_m {
            return;
        }
        self.sailors[i].errand = None;
        match errand.then {
            Then::Nothing => {}
            Then::Lie { hove_to, for_s } => {
                let dinghy = &mut self.sailors[i].dinghy;
                let twa_deg = dinghy.boom * dinghy.dice.between(50.0, 95.0);
                dinghy.mode = if hove_to {
                    Mode::HoveTo { until_s: t_s + for_s, twa_deg: dinghy.boom * 58.0 }
                } else {
                    Mode::Waiting { until_s: t_s + for_s, twa_deg, burst_s: f64::INFINITY }
                };
            }
            Then::Start { gun_s } => {
                let dinghy = &mut self.sailors[i].dinghy;
                let twa_deg = dinghy.boom * dinghy.dice.between(45.0, 100.0);
                let until_s = gun_s + dinghy.dice.between(-3.0, 15.0);
                dinghy.mode = Mode::Waiting { until_s, twa_deg, burst_s: t_s };
            }
            Then::BackTo { to, person } => {
                let at = if person {
                    self.people
                        .iter()
                        .rev()
                        .find(|p| p.boat == i && p.truth.end_ms.is_none())
                        .map_or(to, |p| p.at)
                } else {
                    to
                };
                let dice = &mut self.sailors[i].dinghy.dice;
                let for_s = if person { dice.between(25.0, 90.0) } else { dice.between(10.0, 45.0) };
                self.errand(i, at, 6.0, true, Then::PickUp { for_s, person });
            }
            Then::PickUp { for_s, person } => {
                let dinghy = &mut self.sailors[i].dinghy;
                let twa_deg = dinghy.boom * dinghy.dice.between(30.0, 60.0);
                dinghy.mode = Mode::PickUp { until_s: t_s + for_s, twa_deg, person };
            }
        }
    }

    fn person_back(&mut self, i: usize) {
        let now = self.now_ms();
        for person in &mut self.people {
            if person.boat == i && person.truth.end_ms.is_none() {
                person.truth.end_ms = Some(now);
            }
        }
    }

    fn act_waiting(&mut self, i: usize, air: Air, until_s: f64, twa_deg: f64, burst_s: f64, dt_s: f64) {
        let t_s = self.t_s;
        let (middle, flapping) = (self.site.area.centre(), self.plan.habits.flapping);
        let dinghy = &mut self.sailors[i].dinghy;
        let sway = 9.0 * (t_s * 0.09 + i as f64).sin();
        dinghy.swing_to(air.from_deg - twa_deg + sway, 9.0, dt_s);
        let bursting = burst_s.is_finite() && t_s < burst_s;
        let power = if bursting { 0.55 } else { (flapping + 0.04 * (t_s * 0.2 + i as f64).sin()).max(0.0) };
        dinghy.drive(air, power, dt_s);
        if t_s > until_s {
            dinghy.mode = Mode::Sailing;
        } else if burst_s.is_finite() && t_s > burst_s + 5.0 && dinghy.dice.happens(40.0, dt_s) {
            // Sheets in for a few lengths, towards the middle of things.
            let towards = fold_180(air.from_deg - (middle - dinghy.at).bearing_deg());
            let twa_deg = towards.signum() * twa_deg.abs();
            let burst_s = t_s + dinghy.dice.between(4.0, 12.0);
            dinghy.mode = Mode::Waiting { until_s, twa_deg, burst_s };
        }
    }

    fn act_towed(&mut self, i: usize, by: usize, slot: usize, dt_s: f64) {
        let lead: Vec2 = if slot == 0 {
            self.safety[by].at
        } else {
            self.sailors
                .iter()
                .find(|other| matches!(other.dinghy.mode, Mode::Towed { by: b, slot: s } if b == by && s + 1 == slot))
                .map_or(self.safety[by].at, |other| other.dinghy.at)
        };
        let dinghy = &mut self.sailors[i].dinghy;
        let rope_m = 7.0;
        let off = lead - dinghy.at;
        let slack = off.length() - rope_m;
        // The rope only pulls; she glides up to it otherwise.
        let way = if slack > 0.0 { (slack * 1.2).min(4.0) } else { dinghy.way_mps * (1.0 - dt_s / 3.0) };
        dinghy.way_mps += (way - dinghy.way_mps) * (dt_s / 0.6).min(1.0);
        if slack > -1.5 {
            dinghy.swing_to(off.bearing_deg(), 40.0, dt_s);
        }
        dinghy.heel_deg *= 1.0 - dt_s / 2.0;
    }

    fn act_capsized(&mut self, i: usize, over: &Over, air: Air, dt_s: f64) {
        let t_s = self.t_s;
        let (since, bails_s) = (t_s - over.start_s, self.plan.habits.bails_s);
        let attended = self.safety.iter().any(|boat| (boat.at - self.sailors[i].dinghy.at).length() < 15.0);
        let sailor = &mut self.sailors[i];
        let dinghy = &mut sailor.dinghy;
        let turtle = over.turtle_s.is_some_and(|at_s| t_s > at_s && at_s < over.right_s);
        let flat = if turtle { 178.0 } else { 92.0 };
        let goal = over.side * if since < over.roll_s { 25.0 + 67.0 * since / over.roll_s } else { flat };
        let sway = 4.0 * (t_s * 1.1 + i as f64).sin();
        dinghy.heel_deg += (goal + sway - dinghy.heel_deg) * (dt_s / 0.6).min(1.0);
        dinghy.way_mps -= dinghy.way_mps * (dt_s / over.stops_s).min(1.0) * (since / over.roll_s).min(1.0);
        if since < over.roll_s + 2.0 {
            dinghy.heading_deg = wrap_360(dinghy.heading_deg + over.swing_dps * dt_s);
        } else {
            // The rig in the water acts as a sea anchor: she turns slowly until it trails to windward.
            dinghy.swing_to(air.from_deg + over.side * 100.0, 2.5, dt_s);
        }
        if let Some(capsize) = &mut sailor.capsize {
            capsize.inverted |= turtle;
            capsize.attended |= attended;
        }
        let mut right_s = over.right_s;
        if attended && over.helped && right_s > t_s + 300.0 {
            // With a safety boat's crew on the mast or the board a few minutes are enough.
            right_s = t_s + dinghy.dice.between(40.0, 220.0);
            dinghy.mode = Mode::Capsized(Over { right_s, ..over.clone() });
        }
        if t_s > right_s {
            // Climbing in and bailing before she sails again.
            let sits = dinghy.dice.log_normal(bails_s, 0.7).clamp(5.0, 200.0);
            dinghy.mode = Mode::Recovering { until_s: t_s + sits, again: over.again };
            sailor.noticed_s = None;
            self.righted(i);
        }
    }
}
