//! The session: everything afloat, a quarter of a second at a time.

use super::{
    STEP_S,
    air::{Air, Vane},
    boat::{Around, Boat},
    course::{Course, Exercise, programme},
    doing::Doing,
    habits::Habits,
    phone::Phone,
    safety::{Safety, Task},
    stops::TOGETHER,
};
use crate::{
    dice::Dice,
    notes::Noted,
    plane::Chart,
    session::Line,
    truth::{Truth, WindTruth},
    under_way::UnderWay,
};

/// The scenarios of the tenth water.
pub const TENTH_WATER: [&str; 5] =
    ["tenth-any", "tenth-squally", "tenth-contrary", "tenth-bare", "tenth-faint"];
/// Length of a session, s.
pub(super) const LASTS_S: f64 = 3_600.0;
pub(super) const STEPS_PER_S: u32 = 4;
/// One lies beside another that is no further away than this, m.
const NEIGHBOUR_M: f64 = 150.0;

#[derive(Clone, Debug)]
pub(crate) struct TenthWater {
    pub(super) chart: Chart,
    pub(super) start_ms: i64,
    pub(super) steps: u32,
    pub(super) habits: Habits,
    pub(super) air: Air,
    programme: Vec<Exercise>,
    pub(super) boats: Vec<Boat>,
    pub(super) noted: Vec<Noted>,
    pub(super) safety: Vec<Safety>,
    /// From when, and who, wants help.
    pub(super) calls: Vec<(f64, usize)>,
    dice: Dice,
    pub(super) under_way: UnderWay,
    pub(super) truth: Truth,
}

impl TenthWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> TenthWater {
        let mut dice = Dice::new(mixed, "tenth water", 0);
        let air = Air::draw(scenario, Dice::new(mixed, "tenth air", 0));
        let habits = Habits::draw(mixed, air.mean_mps());
        let around = Around { t_s: 0.0, wind: air.wind(), stream: air.stream(), tow: None };
        let mut programme = programme(LASTS_S, around.wind.from_deg, &mut dice);
        let first = programme.remove(0);
        let boats: Vec<Boat> = (0..8 + dice.pick(7))
            .map(|ix| {
                let mut own = Dice::new(mixed, "tenth boat", ix);
                let course = Course::draw(&first, 0.0, &mut own);
                let phone = Phone::draw(&habits.phones, Dice::new(mixed, "tenth phone", ix));
                Boat::draw(ix, &habits, course, &around, &air, phone, own)
            })
            .collect();
        let safety = (0..1 + dice.pick(2))
            .map(|ix| {
                let has_vane = ix == 0 && scenario != "tenth-bare";
                let vane = has_vane.then(|| Vane::draw(Dice::new(mixed, "tenth vane", ix)));
                Safety::draw(ix, vane, Dice::new(mixed, "tenth safety boat", ix))
            })
            .collect();
        TenthWater {
            chart: Chart::at(dice.between(-50.0, 62.0), dice.between(-175.0, 175.0)),
            start_ms,
            steps: 0,
            habits,
            air,
            programme,
            noted: vec![Noted::default(); boats.len()],
            boats,
            safety,
            calls: Vec::new(),
            dice,
            under_way: UnderWay::default(),
            truth: Truth::begun(scenario, seed, start_ms),
        }
    }

    pub(super) fn t_s(&self) -> f64 {
        f64::from(self.steps) * STEP_S
    }

    pub(super) fn now_ms(&self) -> i64 {
        self.start_ms + (self.t_s() * 1000.0).round() as i64
    }

    pub(crate) fn is_over(&self) -> bool {
        self.t_s() >= LASTS_S && self.under_way.is_empty()
    }

    /// One step; gives the lines that arrived in it.
    pub(crate) fn step(&mut self) -> Vec<Line> {
        if self.t_s() < LASTS_S {
            self.air.step();
            self.note_the_wind();
            self.call_the_next_exercise();
            for ix in 0..self.boats.len() {
                self.sail(ix);
            }
            self.guard();
            self.speak();
        }
        self.steps += 1;
        let now_ms = self.now_ms();
        self.under_way.arrived(now_ms)
    }

    fn note_the_wind(&mut self) {
        if self.steps.is_multiple_of(10 * STEPS_PER_S) {
            let (wind, stream) = (self.air.wind(), self.air.stream());
            self.truth.wind.push(WindTruth::of(self.now_ms(), wind.from_deg, wind.mps, stream));
        }
    }

    fn call_the_next_exercise(&mut self) {
        let t_s = self.t_s();
        if self.programme.first().is_some_and(|exercise| exercise.from_s <= t_s) {
            let exercise = self.programme.remove(0);
            for boat in &mut self.boats {
                boat.course = Course::draw(&exercise, t_s, &mut boat.dice);
            }
        }
    }

    fn sail(&mut self, ix: usize) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        let towing = |safety: &&Safety| matches!(safety.task, Task::Tows { boat, .. } if boat == ix);
        let tow = self.safety.iter().find(towing).map(|safety| safety.at);
        let around = Around { t_s, wind: self.air.wind(), stream: self.air.stream(), tow };
        let boat = &mut self.boats[ix];
        let was_over = boat.doing.over().is_some();
        boat.step(&around);
        let is_over = boat.doing.over().is_some();
        boat.phone.watch(boat.motion.through() + around.stream, is_over, t_s);
        self.noted[ix].step(&mut self.truth, &boat.seen(), now_ms);
        if is_over && !was_over {
            self.is_seen_over(ix, t_s);
        }
        if self.boats[ix].began {
            self.another_joins(ix, t_s);
        }
    }

    fn is_seen_over(&mut self, ix: usize, t_s: f64) {
        let boat = &self.boats[ix];
        let needs_help = matches!(&boat.doing, Doing::IsOver(over) if over.helpless);
        if needs_help || self.dice.chance(boat.capsizing.visited) {
            let at_s = t_s + self.dice.log_normal(20.0, 0.8);
            self.calls(ix, at_s);
        }
    }

    /// Some stop for company.
    fn another_joins(&mut self, ix: usize, t_s: f64) {
        let Doing::Stops(stop) = &self.boats[ix].doing else { return };
        if !stop.is_together {
            return;
        }
        let (at, until_s) = (self.boats[ix].motion.at, stop.until_s);
        let near = |other: &Boat| other.is_sailing() && (other.motion.at - at).length() < NEIGHBOUR_M;
        if let Some(other) = self.boats.iter_mut().find(|other| near(other)) {
            let custom = other.stops.of_themselves[TOGETHER].clone();
            let mut stop = other.stop(&custom, t_s);
            (stop.until_s, stop.is_together) = (until_s + other.dice.between(-5.0, 15.0), false);
            other.does(Doing::Stops(stop));
        }
    }
}
