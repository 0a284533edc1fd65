//! A fifth water: boats that follow a wish with an inertia, and crews whose mood makes the wish. It shares nothing with the other waters but chance, the plane,
//! the sentences and, with the fourth, the way the truth is written down. No marks, zones or landing place on
//! its site; all sail from the first second.

mod air;
mod boat;
mod course;
mod crew;
mod habits;
mod hull;
mod over;
mod phone;
mod safety;
mod stops;
#[cfg(test)]
mod tests;
mod turns;

use crate::{
    dice::Dice,
    fleet_file,
    notes::Noted,
    plane::{Chart, Vec2},
    sentence,
    session::Line,
    truth::{BoatTruth, Truth, WindTruth},
    under_way::UnderWay,
    wide_area,
};
use air::Field;
use boat::{Around, Boat};
use course::Course;
use habits::Habits;
use phone::Phone;
use safety::Safety;

/// The scenarios of the fifth water.
pub const FIFTH_WATER: [&str; 3] = ["fifth-inland", "fifth-tidal", "fifth-no-vane"];
/// Length of a session, s.
const LASTS_S: f64 = 3_600.0;
const STEP_S: f64 = 0.5;
/// Steps between two fixes of a phone: a second.
const FIX_STEPS: u32 = 2;
/// The second exercise begins then, s.
const HALF_S: f64 = 1_800.0;

#[derive(Clone, Debug)]
pub(crate) struct FifthWater {
    habits: Habits,
    chart: Chart,
    start_ms: i64,
    steps: u32,
    field: Field,
    stream: Vec2,
    courses: [Course; 2],
    boats: Vec<Boat>,
    noted: Vec<Noted>,
    safety: Safety,
    /// Capsized boats the safety boat will set out for, and when.
    called: Vec<(f64, usize)>,
    dice: Dice,
    /// Lines on their way, by arrival.
    under_way: UnderWay,
    truth: Truth,
}

impl FifthWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> FifthWater {
        let mut dice = Dice::new(mixed, "fifth water", 0);
        let habits = Habits::draw(&mut dice);
        let field = Field::draw(scenario, Dice::new(mixed, "fifth air", 0));
        let stream_mps = if scenario == "fifth-tidal" { dice.between(0.1, 0.5) } else { 0.0 };
        let stream = Vec2::along(dice.between(0.0, 360.0), stream_mps);
        let courses = [Course::draw(field.from_deg, &mut dice), Course::draw(field.from_deg, &mut dice)];
        let boats: Vec<Boat> = (0..8 + dice.pick(7))
            .map(|ix| {
                let phone = Phone::draw(Dice::new(mixed, "fifth phone", ix));
                Boat::draw(ix, field.from_deg, &habits, phone, Dice::new(mixed, "fifth boat", ix))
            })
            .collect();
        FifthWater {
            habits,
            chart: Chart::at(dice.between(-50.0, 62.0), dice.between(-60.0, 60.0)),
            start_ms,
            steps: 0,
            field,
            stream,
            courses,
            noted: vec![Noted::default(); boats.len()],
            boats,
            safety: Safety::draw(scenario != "fifth-no-vane", Dice::new(mixed, "fifth safety", 0)),
            called: Vec::new(),
            dice,
            under_way: UnderWay::default(),
            truth: Truth::begun(scenario, seed, start_ms),
        }
    }

    fn t_s(&self) -> f64 {
        f64::from(self.steps) * STEP_S
    }

    fn now_ms(&self) -> i64 {
        self.start_ms + (self.t_s() * 1000.0).round() as i64
    }

    pub(crate) fn is_over(&self) -> bool {
        self.t_s() >= LASTS_S && self.under_way.is_empty()
    }

    /// Half a second; gives the lines that arrived in it.
    pub(crate) fn step(&mut self) -> Vec<Line> {
        if self.t_s() < LASTS_S {
            self.blow();
            for ix in 0..self.boats.len() {
                self.sail(ix);
            }
            self.stand_by();
            self.speak();
        }
        self.steps += 1;
        let now_ms = self.now_ms();
        self.under_way.arrived(now_ms)
    }

    fn blow(&mut self) {
        let t_s = self.t_s();
        self.field.step(t_s, STEP_S);
        if self.steps.is_multiple_of(20) {
            let air = self.field.at(Vec2::default(), t_s);
            self.truth.wind.push(WindTruth::of(self.now_ms(), air.from_deg, air.speed_mps, self.stream));
        }
    }

    fn sail(&mut self, ix: usize) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        let boat = &mut self.boats[ix];
        let around = Around {
            t_s,
            step_s: STEP_S,
            ground: self.field.at(boat.hull.at, t_s),
            mean_mps: self.field.mean_mps,
            stream: self.stream,
            course: &self.courses[usize::from(t_s >= HALF_S)],
            habits: &self.habits,
            leader: self.safety.leader(),
        };
        let was_over = boat.is_over();
        if boat.step(&around) {
            self.safety.raft(ix);
        }
        if !was_over && boat.is_over() && self.dice.chance(self.habits.attends) {
            self.called.push((t_s + self.dice.between(20.0, 120.0), ix));
        }
        boat.phone.watch(boat.hull.through + self.stream, STEP_S);
        self.noted[ix].step(&mut self.truth, &boat.seen(), now_ms);
    }

    fn stand_by(&mut self) {
        let t_s = self.t_s();
        let (boats, safety) = (&self.boats, &mut self.safety);
        self.called.retain(|&(at_s, ix)| {
            let goes = boats[ix].is_over() && t_s >= at_s && safety.is_free();
            if goes {
                safety.help(ix);
            }
            boats[ix].is_over() && !goes
        });
        let air = self.field.at(safety.at, t_s);
        let course = &self.courses[usize::from(t_s >= HALF_S)];
        safety.step((t_s, STEP_S), boats, course, &self.habits, (air, self.stream));
        for (boat, noted) in boats.iter().zip(&self.noted) {
            let came = boat.is_over() && safety.has_come_to(boat.hull.at);
            if let Some(capsize) =
                noted.capsize.filter(|_| came).and_then(|at| self.truth.capsizes.get_mut(at))
            {
                capsize.attended = true;
            }
        }
    }

    fn speak(&mut self) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        for ix in 0..self.boats.len() {
            // Half of the phones tell on the half second.
            if !(self.steps + ix as u32).is_multiple_of(FIX_STEPS) {
                continue;
            }
            let (boat, noted) = (&mut self.boats[ix], &mut self.noted[ix]);
            let told = boat.phone.fix(boat.hull.at, t_s);
            noted.fix(&mut self.truth, &boat.id, told.is_some(), now_ms);
            let Some(told) = told else { continue };
            let source = format!("phone-{}", boat.id);
            let (lat, lon) = self.chart.lat_lon(told.at);
            let line = match told.motion {
                Some((speed_mps, course_deg)) => sentence::rmc(now_ms, lat, lon, speed_mps, course_deg),
                None => sentence::gga(now_ms, lat, lon, 8, 1.2),
            };
            self.under_way.send(&source, now_ms + told.late_ms, &line);
        }
        if self.steps.is_multiple_of(FIX_STEPS) {
            let air = self.field.at(self.safety.at, t_s);
            for line in self.safety.speak(now_ms, &self.chart, air) {
                self.under_way.send(safety::SOURCE, now_ms + 250, &line);
            }
        }
    }

    /// `site.geojson`: a sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = [45.0, -45.0, -135.0, 135.0, 45.0].into_iter();
        wide_area::site_geojson(&self.chart, "fifth water", bearings_deg, 4_200.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies =
            self.boats.iter().map(|boat| fleet_file::dinghy(&boat.id, boat.crew.aboard, "three-hander", 3.9));
        dinghies.chain([fleet_file::safety(safety::ID, safety::SOURCE, 2)]).collect()
    }

    /// What really happened.
    pub(crate) fn finish(mut self) -> Truth {
        let end_ms = self.start_ms + (LASTS_S.min(self.t_s()) * 1000.0).round() as i64;
        for (boat, noted) in self.boats.iter().zip(std::mem::take(&mut self.noted)) {
            noted.finish(&mut self.truth, &boat.id, end_ms);
        }
        let from_ms = self.start_ms;
        let craft = |id: &str, role: &str, crew: u32| BoatTruth::afloat(id, role, crew, from_ms, 1.0);
        self.truth.boats =
            self.boats.iter().map(|boat| craft(&boat.id, "dinghy", boat.crew.aboard)).collect();
        self.truth.boats.push(craft(safety::ID, "safety", 2));
        self.truth.end_ms = end_ms;
        self.truth
    }
}
