//! The session: everything afloat, a fifth of a second at a time.

use super::{
    STEP_S,
    boat::{Around, Boat, State},
    breeze::{Breeze, Day},
    course::Course,
    phone::Phone,
    safety::{Job, Safety},
    stop::WAITS,
};
use crate::{
    dice::Dice,
    notes::Noted,
    plane::{Chart, Vec2, mps, wrap_360},
    session::Line,
    truth::{BoatTruth, Truth, WindTruth},
    under_way::UnderWay,
};

/// The scenarios of the eleventh water.
pub const ELEVENTH_WATER: [&str; 5] =
    ["eleventh-fair", "eleventh-squalls", "eleventh-ebb", "eleventh-unmetered", "eleventh-airs"];
/// The one in which nobody measures the wind.
const UNMETERED: &str = "eleventh-unmetered";
/// Length of a session, s, and steps in a second.
const LASTS_S: f64 = 3_600.0;
pub(super) const STEPS_PER_S: u32 = 5;
/// A new course is laid so often, s; then so many wait for the word first. Guesses.
const LAID_S: u32 = 1_200;
const WAITS_FOR_WORD: f64 = 0.15;

#[derive(Clone, Debug)]
pub(crate) struct EleventhWater {
    pub(super) chart: Chart,
    start_ms: i64,
    pub(super) steps: u32,
    pub(super) breeze: Breeze,
    pub(super) stream: Vec2,
    course: Course,
    pub(super) boats: Vec<Boat>,
    pub(super) noted: Vec<Noted>,
    pub(super) safety: Vec<Safety>,
    dice: Dice,
    pub(super) under_way: UnderWay,
    pub(super) truth: Truth,
}

/// Guesses all, of days on which beginners are sent out.
fn day(scenario: &str) -> Day {
    let day = |mean_kn, swing_deg, patches_per_h, force| Day { mean_kn, swing_deg, patches_per_h, force };
    match scenario {
        "eleventh-squalls" => day((9.0, 14.0), 9.0, 160.0, (-0.35, 0.7)),
        "eleventh-airs" => day((5.0, 7.5), 10.0, 80.0, (-0.6, 0.4)),
        _ => day((7.5, 13.0), 6.0, 90.0, (-0.3, 0.45)),
    }
}

impl EleventhWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> EleventhWater {
        let mut dice = Dice::new(mixed, "eleventh", 0);
        let breeze = Breeze::draw(day(scenario), Dice::new(mixed, "eleventh breeze", 0));
        let wind = breeze.at(Vec2::default());
        let stream = if scenario == "eleventh-ebb" {
            Vec2::along(wind.from_deg + dice.between(-30.0, 30.0), mps(dice.between(0.4, 0.9)))
        } else {
            Vec2::along(dice.between(0.0, 360.0), mps(dice.between(0.0, 0.3)))
        };
        let boats: Vec<Boat> = (0..8 + dice.pick(7))
            .map(|ix| {
                let phone = Phone::draw(Dice::new(mixed, "eleventh phone", ix));
                Boat::draw(ix, wind, phone, Dice::new(mixed, "eleventh boat", ix))
            })
            .collect();
        let safety = (0..1 + dice.pick(2)).map(|ix| {
            let has_vane = ix == 0 && scenario != UNMETERED;
            Safety::draw(ix, has_vane, Dice::new(mixed, "eleventh safety", ix))
        });
        EleventhWater {
            safety: safety.collect(),
            chart: Chart::at(dice.between(-40.0, 58.0), dice.between(-175.0, 175.0)),
            start_ms,
            steps: 0,
            breeze,
            stream,
            course: Course::draw(wind.from_deg, &mut dice),
            noted: vec![Noted::default(); boats.len()],
            boats,
            dice,
            under_way: UnderWay::default(),
            truth: Truth::begun(scenario, seed, start_ms),
        }
    }

    pub(super) fn t_s(&self) -> f64 {
        f64::from(self.steps) * STEP_S
    }

    pub(super) fn now_ms(&self) -> i64 {
        self.start_ms + i64::from(self.steps) * 1_000 / i64::from(STEPS_PER_S)
    }

    pub(crate) fn is_over(&self) -> bool {
        self.t_s() >= LASTS_S && self.under_way.is_empty()
    }

    /// One step; gives the lines that arrived in it.
    pub(crate) fn step(&mut self) -> Vec<Line> {
        if self.t_s() < LASTS_S {
            self.breeze.step();
            if self.steps.is_multiple_of(10 * STEPS_PER_S) {
                self.note_the_wind();
            }
            if self.steps > 0 && self.steps.is_multiple_of(LAID_S * STEPS_PER_S) {
                self.lay_a_course();
            }
            self.sail();
            if self.steps.is_multiple_of(STEPS_PER_S) {
                self.watch_over();
                self.safety_boats_speak();
            }
            self.phones_speak();
        }
        self.steps += 1;
        let now_ms = self.now_ms();
        self.under_way.arrived(now_ms)
    }

    fn note_the_wind(&mut self) {
        let wind = self.breeze.at(Vec2::default());
        self.truth.wind.push(WindTruth::of(self.now_ms(), wrap_360(wind.from_deg), wind.mps, self.stream));
    }

    fn lay_a_course(&mut self) {
        let t_s = self.t_s();
        self.course = Course::draw(self.breeze.at(Vec2::default()).from_deg, &mut self.dice);
        for boat in &mut self.boats {
            boat.mark = 0;
            if matches!(boat.state, State::Sailing) && boat.dice.chance(WAITS_FOR_WORD) {
                boat.stop(&WAITS, t_s);
            }
        }
    }

    fn sail(&mut self) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        for (ix, (boat, noted)) in self.boats.iter_mut().zip(&mut self.noted).enumerate() {
            let tows = |safety: &&Safety| matches!(safety.job, Job::Tows { boat, .. } if boat == ix);
            boat.step(&Around {
                t_s,
                wind: self.breeze.at(boat.at).over(self.stream),
                stream: self.stream,
                marks: &self.course.marks,
                tow: self.safety.iter().find(tows).map(|safety| (safety.line_end(), safety.velocity)),
            });
            noted.step(&mut self.truth, &boat.seen(), now_ms);
        }
        for safety in &mut self.safety {
            let boat = match safety.job {
                Job::Loiters { .. } => None,
                Job::GoesTo { boat } | Job::Holds { boat } | Job::Tows { boat, .. } => self.boats.get(boat),
            };
            // A heavy boat with little above the water: a guess.
            let drift = self.stream + self.breeze.at(safety.at).velocity() * 0.03;
            safety.step(boat.map(|boat| (boat.at, boat.over_water() + self.stream)), drift);
        }
    }

    /// What really happened.
    pub(crate) fn finish(mut self) -> Truth {
        let end_ms = self.start_ms + (LASTS_S.min(self.t_s()) * 1_000.0).round() as i64;
        for (boat, noted) in self.boats.iter().zip(std::mem::take(&mut self.noted)) {
            noted.finish(&mut self.truth, &boat.id, end_ms);
        }
        let dinghies = self.boats.iter().map(|boat| (boat.id.as_str(), "dinghy", boat.crew));
        let all = dinghies.chain(self.safety.iter().map(|safety| (safety.id.as_str(), "safety", 2)));
        self.truth.boats =
            all.map(|(id, role, crew)| BoatTruth::afloat(id, role, crew, self.start_ms, 1.0)).collect();
        self.truth.end_ms = end_ms;
        self.truth
    }
}
