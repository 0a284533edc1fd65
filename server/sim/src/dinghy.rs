//! One dinghy and her crew: the hull's motion and the hand on the tiller.

use crate::{
    boats::Class,
    dice::{Dice, Wander},
    habits::Habits,
    mode::{Air, Mode},
    plane::{Vec2, fold_180, wrap_360},
    site::Leg,
};

/// A turn through the wind under way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Turn {
    pub(crate) tack: bool,
    dir: f64,
    goal_deg: f64,
    side: f64,
    /// Share of the full turning rate the helm asks for.
    briskness: f64,
    /// Will shy away before the bow has passed the wind.
    shies: bool,
    started_s: f64,
}

/// A dinghy.
#[derive(Clone, Debug)]
pub(crate) struct Dinghy {
    pub(crate) class: &'static Class,
    /// 0 (first day) to 1 (old hand).
    pub(crate) skill: f64,
    pub(crate) at: Vec2,
    pub(crate) heading_deg: f64,
    /// Along the keel through the water, m/s; negative astern.
    pub(crate) way_mps: f64,
    rate_dps: f64,
    /// Positive to starboard.
    pub(crate) heel_deg: f64,
    /// +1: wind over the starboard side, boom to port.
    pub(crate) boom: f64,
    /// 0 flapping to 1 drawing.
    power: f64,
    /// Over the ground, m/s.
    pub(crate) velocity: Vec2,
    /// Paddled or pushed through the water besides sailing, for one step, m/s.
    pub(crate) push: Vec2,
    pub(crate) mode: Mode,
    pub(crate) turn: Option<Turn>,
    /// The side she beats on.
    tack: f64,
    next_tack_s: f64,
    helm: Wander,
    trim: Wander,
    heel_noise: Wander,
    gust_feel: Air,
    /// Times of the last completed turns, s.
    pub(crate) last_gybe_s: f64,
    pub(crate) last_tack_s: f64,
    /// Goes easy until then: bailing, finding her feet.
    pub(crate) gentle_until_s: f64,
    /// Chance that a tack ends in irons for a middling crew.
    irons_chance: f64,
    habits: Habits,
    pub(crate) dice: Dice,
    leg_since_s: f64,
    leg_best_m: f64,
}

impl Dinghy {
    pub(crate) fn new(
        class: &'static Class,
        skill: f64,
        at: Vec2,
        irons_chance: f64,
        habits: Habits,
        launch_s: f64,
        mut dice: Dice,
    ) -> Dinghy {
        Dinghy {
            class,
            skill,
            at,
            heading_deg: dice.between(0.0, 360.0),
            way_mps: 0.0,
            rate_dps: 0.0,
            heel_deg: 0.0,
            boom: 1.0,
            power: 0.0,
            velocity: Vec2::default(),
            push: Vec2::default(),
            mode: Mode::Ashore { launch_s },
            turn: None,
            tack: 1.0,
            next_tack_s: 0.0,
            // Beginners wander 8 to 12 degrees, old hands 3 (reference: steering sd 5 to 12).
            helm: Wander::new(11.0 - 8.0 * skill, 9.0, &mut dice),
            trim: Wander::new(0.09, 35.0, &mut dice),
            heel_noise: Wander::new(2.5, 1.5, &mut dice),
            gust_feel: Air { from_deg: 0.0, speed_mps: 0.0 },
            last_gybe_s: -1e9,
            last_tack_s: -1e9,
            gentle_until_s: 0.0,
            irons_chance,
            habits,
            dice,
            leg_since_s: 0.0,
            leg_best_m: f64::INFINITY,
        }
    }

    /// True wind angle as the boat lies, -180..180, positive over the starboard side.
    pub(crate) fn twa_deg(&self, air: Air) -> f64 {
        fold_180(air.from_deg - self.heading_deg)
    }

    pub(crate) fn is_sailing(&self) -> bool {
        matches!(self.mode, Mode::Sailing)
    }

    pub(crate) fn is_capsized(&self) -> bool {
        matches!(self.mode, Mode::Capsized(_))
    }

    /// Closest angle this crew sails at, degrees.
    pub(crate) fn close_deg(&self) -> f64 {
        self.class.close_deg + 7.0 * (1.0 - self.skill)
    }

    /// Whether the leg is done: near enough, or as near as she will get.
    pub(crate) fn leg_done(&mut self, leg: &Leg, t_s: f64) -> bool {
        let distance = (leg.to - self.at).length();
        self.leg_best_m = self.leg_best_m.min(distance);
        let passed = self.leg_best_m < 2.5 * leg.near_m && distance > self.leg_best_m + 4.0;
        if distance < leg.near_m || passed || t_s - self.leg_since_s > 420.0 {
            self.leg_since_s = t_s;
            self.leg_best_m = f64::INFINITY;
            return true;
        }
        false
    }

    /// A new destination: forget how near the old one was.
    pub(crate) fn new_leg(&mut self, t_s: f64) {
        self.leg_since_s = t_s;
        self.leg_best_m = f64::INFINITY;
    }

    /// Sails towards `to` for one step.
    pub(crate) fn sail_to(&mut self, to: Vec2, air: Air, ease: f64, t_s: f64, dt_s: f64) {
        self.feel(air, dt_s);
        let feel = self.gust_feel;
        let bearing = (to - self.at).bearing_deg();
        let off = fold_180(feel.from_deg - bearing);
        let twa = self.twa_deg(feel);
        if self.turn.is_none() {
            self.choose_turn(off, twa, t_s);
        }
        let mut want_twa = self.wanted(off);
        let side = if twa >= 0.0 { 1.0 } else { -1.0 };
        if self.turn.is_none() && want_twa * side < 0.0 && twa.abs() < 90.0 {
            want_twa = side * (self.close_deg() + 10.0); // gathers way first, on the side she is
        }
        let helm = self.helm.step(dt_s, &mut self.dice);
        let want = feel.from_deg - want_twa + helm;
        if let Some(turn) = self.turn {
            self.do_turn(turn, feel, t_s, dt_s);
        } else {
            self.steer(want, dt_s);
        }
        let gentle = if t_s < self.gentle_until_s { 0.6 } else { 1.0 };
        self.drive(air, gentle * ease, dt_s);
    }

    /// The true wind angle to sail for a destination at `off` from the wind.
    fn wanted(&self, off: f64) -> f64 {
        let close = self.close_deg();
        if off.abs() < close {
            self.tack * close
        } else if off.abs() > 165.0 {
            self.boom * 165.0
        } else {
            off
        }
    }

    fn choose_turn(&mut self, off: f64, twa: f64, t_s: f64) {
        let close = self.close_deg();
        let side = if twa >= 0.0 { 1.0 } else { -1.0 };
        if off.abs() < close {
            // Beating. Past the layline, or enough of this tack.
            let past = off * self.tack < -(close - 7.0);
            let bored = t_s > self.next_tack_s && off.abs() < 0.8 * close;
            if past || bored {
                self.tack = -self.tack;
                self.next_tack_s = t_s + self.dice.between(30.0, 130.0);
            }
            if side != self.tack {
                self.begin_turn(self.tack, twa, self.close_deg(), t_s);
            }
        } else if off.abs() > 165.0 {
            if off * self.boom < 0.0 && off.abs() < 171.0 {
                self.begin_turn(-self.boom, twa, 160.0, t_s);
            }
        } else if off * side < 0.0 && (off.abs() < 160.0 || twa.abs() < 150.0) {
            self.begin_turn(off.signum(), twa, off.abs(), t_s);
        } else {
            self.tack = side;
            self.next_tack_s = t_s + 30.0;
        }
    }

    /// Beats on this side for now, without another turn at once.
    pub(crate) fn beat_on(&mut self, side: f64, t_s: f64) {
        self.turn = None;
        self.tack = side;
        self.next_tack_s = t_s + self.dice.between(20.0, 60.0);
    }

    /// Starts going through the wind to `side`, to end near `goal_deg` off it.
    fn begin_turn(&mut self, side: f64, twa: f64, goal_deg: f64, t_s: f64) {
        let tack = twa.abs() + goal_deg < 180.0;
        // Every crew is told: no tack without way on. Most wait for it.
        let enough = (0.6 * self.class.speed_mps(self.close_deg(), self.gust_feel.speed_mps)).min(0.9)
            * (0.6 + 0.4 * self.skill);
        if tack && self.way_mps < enough {
            return;
        }
        let from_side = if twa >= 0.0 { 1.0 } else { -1.0 };
        let clumsy = 1.0 - self.skill;
        let overshoot = if tack {
            self.dice.between(0.0, 10.0 + 25.0 * clumsy)
        } else {
            -self.dice.between(0.0, 25.0 * clumsy)
        };
        let timid = tack && self.dice.chance(self.irons_chance * 2.0 * clumsy);
        self.turn = Some(Turn {
            tack,
            dir: if tack { from_side } else { -from_side },
            goal_deg: (goal_deg + overshoot).clamp(25.0, 168.0),
            side,
            briskness: if timid {
                self.dice.between(0.18, 0.35)
            } else {
                self.dice.between(0.55, 1.0) * (0.6 + 0.4 * self.skill)
            },
            shies: tack && self.dice.chance(0.05 * clumsy),
            started_s: t_s,
        });
    }

    fn do_turn(&mut self, turn: Turn, air: Air, t_s: f64, dt_s: f64) {
        let twa = self.twa_deg(air);
        let rate = turn.dir * turn.briskness * self.most_dps();
        self.rate_dps += (rate - self.rate_dps) * (dt_s / 0.8).min(1.0);
        self.heading_deg = wrap_360(self.heading_deg + self.rate_dps * dt_s);
        let across = twa * turn.side > 0.0;
        let reached = if turn.tack { twa.abs() >= turn.goal_deg } else { twa.abs() <= turn.goal_deg };
        if across && reached {
            if turn.tack {
                self.last_tack_s = t_s
            } else {
                self.last_gybe_s = t_s
            }
            self.tack = turn.side;
            self.turn = None;
        } else if turn.tack && turn.shies && !across && twa.abs() < 14.0 {
            self.tack = -turn.side; // shies away: back on the old side
            self.next_tack_s = t_s + self.dice.between(10.0, 40.0);
            self.turn = None;
        } else if turn.tack && self.way_mps < 0.14 && twa.abs() < 24.0 {
            let stays = self.dice.log_normal(22.0, 0.6).clamp(6.0, 150.0);
            let side = if self.dice.chance(0.6) { turn.side } else { -turn.side };
            self.mode = Mode::Irons { until_s: t_s + stays, side };
            self.turn = None;
        } else if t_s - turn.started_s > 30.0 {
            self.turn = None;
        }
    }

    /// Most she can turn now, deg/s: a rudder without flow does nothing.
    fn most_dps(&self) -> f64 {
        let agile = if self.class.waterline_m < 3.0 { 34.0 } else { 28.0 };
        agile * (0.25 + 0.75 * self.way_mps.abs() / 1.1).min(1.2) * (self.way_mps.abs() / 0.3).min(1.0) + 1.0
    }

    pub(crate) fn steer(&mut self, want_deg: f64, dt_s: f64) {
        let error = fold_180(want_deg - self.heading_deg);
        let most = self.most_dps() * 0.7;
        let rate = (0.55 * error).clamp(-most, most);
        self.rate_dps += (rate - self.rate_dps) * (dt_s / 0.8).min(1.0);
        self.heading_deg = wrap_360(self.heading_deg + self.rate_dps * dt_s);
    }

    /// Turns slowly whatever her way: backed jib, paddle, wind on the bow.
    pub(crate) fn swing_to(&mut self, want_deg: f64, dps: f64, dt_s: f64) {
        let error = fold_180(want_deg - self.heading_deg);
        let rate = (0.3 * error).clamp(-dps, dps);
        self.rate_dps += (rate - self.rate_dps) * (dt_s / 1.5).min(1.0);
        self.heading_deg = wrap_360(self.heading_deg + self.rate_dps * dt_s);
    }

    /// What the crew feels of the wind: a few seconds behind it.
    fn feel(&mut self, air: Air, dt_s: f64) {
        if self.gust_feel.speed_mps == 0.0 {
            self.gust_feel = air;
        }
        let share = (dt_s / (2.0 + 4.0 * (1.0 - self.skill))).min(1.0);
        let turn = fold_180(air.from_deg - self.gust_feel.from_deg) * share;
        self.gust_feel.from_deg = wrap_360(self.gust_feel.from_deg + turn);
        self.gust_feel.speed_mps += (air.speed_mps - self.gust_feel.speed_mps) * share;
    }

    /// Sails drawing at `power` of what they could: way, heel and boom follow.
    pub(crate) fn drive(&mut self, air: Air, power: f64, dt_s: f64) {
        self.power += (power - self.power) * (dt_s / 1.2).min(1.0);
        let twa = self.twa_deg(air);
        let steady = self.class.speed_mps(twa, air.speed_mps);
        let craft = 0.64 + 0.34 * self.skill + self.trim.step(dt_s, &mut self.dice);
        let goal = if steady > 0.0 { steady * craft * self.power } else { steady };
        // Luffing through the wind with the helm over she keeps her way a little longer than with the sails
        // let fly and the hull across the waves.
        let carries = self.class.carries_s
            * self.habits.carries
            * if self.turn.is_some_and(|turn| turn.tack) { 2.1 } else { 1.0 };
        let tau_s = if goal > self.way_mps { 5.5 } else { carries };
        self.way_mps += (goal - self.way_mps) * (dt_s / tau_s).min(1.0);
        // The boom crosses when the wind is clearly on the other side; on a run it waits until by the lee.
        let margin = if twa.abs() > 90.0 { 180.0 - 9.0 } else { 5.0 };
        if twa * self.boom < 0.0 && (if twa.abs() > 90.0 { twa.abs() < margin } else { twa.abs() > margin }) {
            self.boom = -self.boom;
        }
        let press =
            0.42 * air.speed_mps.powi(2) * self.power * twa.to_radians().sin().abs() * (1.35 - self.skill);
        let lean = -twa.signum() * press.min(38.0);
        let noise = self.heel_noise.step(dt_s, &mut self.dice) * (0.5 + air.speed_mps / 8.0);
        self.heel_deg += (lean + noise - self.heel_deg) * (dt_s / 1.2).min(1.0);
    }

    /// Moves her by her way, her leeway and the stream.
    pub(crate) fn carry(&mut self, air: Air, wind10_mps: f64, stream: Vec2, dt_s: f64) {
        let through = match &self.mode {
            Mode::Capsized(over) => {
                let push =
                    Vec2::along(air.from_deg + 180.0 + over.drift_off_deg, wind10_mps * over.drift_share);
                let fading = (self.way_mps.abs() / 1.5).min(1.0);
                Vec2::along(self.heading_deg, self.way_mps) + push * (1.0 - 0.7 * fading)
            }
            Mode::Beached | Mode::Ashore { .. } | Mode::Aground { .. } => return,
            _ => {
                let twa = self.twa_deg(air);
                // Leeway under sail 3 to 8 degrees close-hauled (reference), fading off the wind; lying
                // stopped an upright dinghy with flapping sails blows down too (open skiff 2.9 %, small
                // sailing dinghy 1.8 % + 3 cm/s in the leeway table).
                let leeway_deg = (3.0 + 0.45 * air.speed_mps + 2.0 * (1.0 - self.skill)).min(10.0);
                let pointing = ((110.0 - twa.abs()) / 60.0).clamp(0.0, 1.0);
                let side = -twa.signum(); // pushed away from the wind
                let slip = self.way_mps.max(0.0) * leeway_deg.to_radians().tan() * pointing;
                let stopped = 1.0 - (self.way_mps.abs() / 1.3).min(1.0);
                Vec2::along(self.heading_deg, self.way_mps)
                    + Vec2::along(self.heading_deg + 90.0, side * slip)
                    + Vec2::along(air.from_deg + 180.0, self.habits.idle_drift * wind10_mps * stopped)
            }
        };
        self.velocity = through + stream + std::mem::take(&mut self.push);
        self.at += self.velocity * dt_s;
    }
}
