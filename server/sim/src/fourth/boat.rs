//! One dinghy: her traits, what a step does to her, and the player of passages.

use std::{collections::VecDeque, f64::consts::TAU};

use super::{
    air::Air,
    class::Class,
    course::{Course, Manner},
    curve::mix,
    habits::Habits,
    happen::{Ask, Fate},
    over::{Cause, bail, over},
    passage::{After, Kind, Passage},
    phone::Phone,
};
use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, fold_180, wrap_360},
    truth::Reason,
};

/// Speeds of the last five seconds are kept.
const KEEPS_S: f64 = 5.0;
/// A share of the phones drowns under water, so many seconds after the capsize at most.
const DROWNS: f64 = 0.08;
const DROWNS_S: (f64, f64) = (2.0, 40.0);

/// What she finds around her.
pub(super) struct Around<'a> {
    pub(super) t_s: f64,
    pub(super) step_s: f64,
    /// The wind all share, and its mean over the session.
    pub(super) air: Air,
    pub(super) mean_mps: f64,
    pub(super) is_lull: bool,
    pub(super) stream: Vec2,
    pub(super) courses: &'a [Course],
    pub(super) habits: &'a Habits,
    /// Called away from her course to a place, and how long she is to lie there.
    pub(super) called: Option<(Vec2, f64)>,
    /// Another boat that she does not see.
    pub(super) blind_to: Option<Vec2>,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: String,
    pub(super) class: Class,
    /// 0 to 1.
    pub(super) skill: f64,
    pub(super) at: Vec2,
    /// Over the ground, and through the water.
    pub(super) velocity: Vec2,
    pub(super) through: Vec2,
    pub(super) heading_deg: f64,
    /// Off the wind as she feels it, on `side` (1: wind from starboard).
    pub(super) off_deg: f64,
    pub(super) side: f64,
    pub(super) way_mps: f64,
    /// The wind over the water here and now.
    pub(super) local: Air,
    pub(super) passage: Option<Passage>,
    pub(super) since_s: f64,
    pub(super) fate: Option<Fate>,
    pub(super) gust: Wander,
    /// How well the sails stand, against the table.
    pub(super) trim: f64,
    pub(super) turn_pace: f64,
    pub(super) proneness: f64,
    pub(super) speeds: VecDeque<f64>,
    pub(super) phone: Phone,
    pub(super) dice: Dice,
    pub(super) is_becalmed: bool,
    pub(super) planes: bool,
    pub(super) felt_deg: f64,
    veer: Wander,
    pub(super) helm: Wander,
    slow: Wander,
    chop: Wander,
    wave_s: f64,
    drift: Vec2,
    jerk: Vec2,
    pub(super) course: usize,
    pub(super) mark: usize,
    pub(super) near: Vec2,
    pub(super) arrives_m: f64,
    pub(super) manner: Manner,
    pub(super) slew_dps: f64,
    pub(super) lag_s: f64,
    pub(super) gathers_s: Option<f64>,
    pub(super) turned_s: f64,
}

impl Boat {
    pub(super) fn draw(
        ix: usize,
        water: &Around<'_>,
        gusts: (f64, f64),
        phone: Phone,
        mut dice: Dice,
    ) -> Boat {
        let Around { courses, habits, air, .. } = water;
        let class = habits.class;
        let skill = (habits.skill + 0.22 * dice.normal()).clamp(0.02, 0.98);
        let course = ix % courses.len().max(1);
        let mark = dice.pick(courses.get(course).map_or(1, |course| course.marks.len()));
        let home = courses.get(course).and_then(|course| course.marks.first()).copied().unwrap_or_default();
        let (side, off_deg) = (dice.sign(), dice.between(50.0, 130.0));
        Boat {
            id: format!("{}{:02}", class.of("B", "L"), ix + 1),
            class,
            skill,
            at: home + Vec2::along(dice.between(0.0, 360.0), dice.between(10.0, 150.0)),
            velocity: Vec2::default(),
            through: Vec2::default(),
            heading_deg: wrap_360(air.from_deg - side * off_deg),
            off_deg,
            side,
            way_mps: class.speed_mps(air.mps, off_deg) * 0.8,
            local: *air,
            passage: None,
            since_s: 0.0,
            fate: None,
            gust: Wander::new(gusts.0, gusts.1, &mut dice),
            trim: mix(0.76, 1.0, skill),
            turn_pace: dice.log_normal(class.of(1.1, 0.9), 0.12),
            proneness: mix(1.4, 0.6, skill),
            speeds: VecDeque::new(),
            phone,
            is_becalmed: false,
            planes: false,
            felt_deg: air.from_deg,
            veer: Wander::new(dice.between(2.5, 7.0), dice.between(8.0, 25.0), &mut dice),
            helm: Wander::new(mix(8.0, 2.0, skill), dice.between(4.0, 14.0), &mut dice),
            slow: Wander::new(dice.between(5.0, 15.0), dice.between(50.0, 160.0), &mut dice),
            chop: Wander::new(habits.chop_mps, 1.1, &mut dice),
            wave_s: dice.between(2.0, 4.5),
            drift: Vec2::default(),
            jerk: Vec2::default(),
            course,
            mark,
            near: Vec2::default(),
            arrives_m: 12.0,
            manner: Manner {
                beat_deg: mix(54.0, 44.0, skill) + class.of(1.0, 0.0),
                run_deg: dice.between(152.0, 169.0),
                board_s: dice.between(18.0, 80.0),
                by_bow: dice.chance(0.6),
            },
            slew_dps: 12.0,
            lag_s: class.of(dice.between(4.0, 9.0), dice.between(1.8, 4.5)),
            gathers_s: None,
            turned_s: -10.0,
            dice,
        }
    }

    /// Half a second. What she asks of the others, if anything.
    pub(super) fn step(&mut self, water: &Around<'_>) -> Option<Ask> {
        let step_s = water.step_s;
        let gust = self.gust.step(step_s, &mut self.dice).max(-0.6);
        let veer_deg = self.veer.step(step_s, &mut self.dice);
        let here = Air { from_deg: water.air.from_deg + veer_deg, mps: water.air.mps * (1.0 + gust) };
        // Sails and hull know the wind over the water only.
        self.local = here.felt_by(water.stream);
        self.felt_deg += fold_180(self.local.from_deg - self.felt_deg) * (step_s / 7.0);
        let ask = if self.passage.is_some() {
            self.play(water);
            None
        } else {
            self.sail(water)
        };
        self.move_on(water);
        ask
    }

    /// Begins a passage; what she did before ends here.
    pub(super) fn begin(&mut self, passage: Passage, t_s: f64) {
        self.is_becalmed = false;
        self.settle_side();
        (self.passage, self.since_s) = (Some(passage), t_s);
    }

    pub(super) fn is_sailing(&self) -> bool {
        self.passage.is_none()
    }

    pub(super) fn kind(&self) -> Option<&Kind> {
        self.passage.as_ref().map(|passage| &passage.kind)
    }

    /// Why she is not simply sailing.
    pub(super) fn reason(&self, t_s: f64) -> Option<Reason> {
        match &self.passage {
            Some(passage) => passage.reason(t_s - self.since_s),
            None => self.is_becalmed.then_some(Reason::Becalmed),
        }
    }

    /// Angle off the wind that she has, signed: positive with the wind from starboard.
    pub(super) fn wind_deg(&self) -> f64 {
        fold_180(self.local.from_deg - self.heading_deg)
    }

    /// Folds a course past head to wind or past dead downwind to the other side. Curves begin on her side.
    pub(super) fn settle_side(&mut self) {
        let signed_deg = fold_180(self.side * self.off_deg);
        (self.side, self.off_deg) = (if signed_deg < 0.0 { -1.0 } else { 1.0 }, signed_deg.abs());
    }

    fn play(&mut self, water: &Around<'_>) {
        let Some(passage) = self.passage.take() else { return };
        let since_s = water.t_s - self.since_s;
        if since_s >= passage.lasts_s {
            self.go_on(passage.then, water);
            return;
        }
        let lies_s = since_s - passage.yaw_from_s;
        let yaw_deg = passage.yaw_deg * (lies_s / 8.0).clamp(0.0, 1.0) * (TAU * lies_s / passage.yaw_s).sin();
        self.off_deg = passage.off_deg.at(since_s) + yaw_deg;
        self.way_mps = passage.way_mps.at(since_s);
        let mut towards_deg = self.local.from_deg + 180.0 + passage.drift_off_deg;
        if matches!(passage.kind, Kind::Over(_)) {
            towards_deg += self.slow.value;
        } else if passage.reason(since_s).is_some() && passage.yaw_deg > 0.0 {
            // A boat that lies with sails up goes ahead more when her bow has fallen off, and in a gust.
            let falls_off = 1.0 + 0.5 * yaw_deg / 15.0;
            self.way_mps *= falls_off * (self.local.mps / water.mean_mps.max(0.5)).clamp(0.2, 1.5).sqrt();
        }
        self.leeway(Vec2::along(towards_deg, passage.drift.at(since_s) * self.local.mps), water.step_s);
        if self.dice.happens(450.0, water.step_s) {
            let bearing_deg = self.dice.between(0.0, 360.0);
            self.jerk += Vec2::along(bearing_deg, passage.jerk_mps * self.dice.between(0.6, 1.0));
        }
        self.passage = Some(passage);
    }

    fn go_on(&mut self, then: After, water: &Around<'_>) {
        let t_s = water.t_s;
        self.settle_side();
        match then {
            After::Sail => {
                self.turned_s = t_s;
                let slow = self.class.of(self.dice.between(9.0, 20.0), self.dice.between(5.0, 12.0));
                // Told as the time to nine tenths of the way.
                self.gathers_s = Some(slow * mix(1.15, 0.85, self.skill) / 2.3);
            }
            After::Over(cause) => self.go_over(cause, water),
            After::Bail => {
                self.phone.drowned_s = None;
                let (passage, again_s) = bail(self, water.habits);
                self.fate = again_s.map(|again_s| Fate { cause: Cause::Gust, from_s: t_s + again_s });
                self.begin(passage, t_s);
            }
        }
    }

    pub(super) fn go_over(&mut self, cause: Cause, water: &Around<'_>) {
        self.settle_side();
        let passage = over(self, water.habits, cause);
        self.fate = None;
        if self.dice.chance(DROWNS) {
            self.phone.drowned_s = Some(water.t_s + self.dice.between(DROWNS_S.0, DROWNS_S.1));
        }
        self.begin(passage, water.t_s);
    }

    /// The drift goes over to another one within seconds.
    pub(super) fn leeway(&mut self, wanted: Vec2, step_s: f64) {
        self.drift += (wanted - self.drift) * (step_s / 2.5).min(1.0);
    }

    fn move_on(&mut self, water: &Around<'_>) {
        let step_s = water.step_s;
        self.slow.step(step_s, &mut self.dice);
        self.heading_deg = wrap_360(self.felt_deg - self.side * self.off_deg);
        let chop = self.chop.step(step_s, &mut self.dice);
        // Waves push along the way she has, and a little even when she has none.
        let wave = (TAU * water.t_s / self.wave_s).sin() * self.chop.value.abs();
        let ripple_mps = (chop + 0.6 * wave) * (0.5 + 0.25 * self.way_mps.abs()).min(1.0);
        self.through = Vec2::along(self.heading_deg, self.way_mps + ripple_mps) + self.drift + self.jerk;
        self.jerk = self.jerk * (-step_s / 0.8).exp();
        self.velocity = self.through + water.stream;
        self.at += self.velocity * step_s;
        self.speeds.push_back(self.through.length());
        if self.speeds.len() as f64 * step_s > KEEPS_S {
            self.speeds.pop_front();
        }
    }
}
