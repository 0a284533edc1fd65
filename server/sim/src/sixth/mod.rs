//! A sixth water, held to what was measured: how a boat loses her way, and how much of it, is taken from
//! recordings of real dinghies and from published figures ([`measured`] names each). It shares nothing with
//! the other waters but chance, the plane, the sentences and the way the truth is written down.

mod air;
mod befall;
mod boat;
mod course;
mod habits;
mod helm;
mod hull;
mod measured;
mod over;
mod phone;
mod safety;
mod stops;
#[cfg(test)]
mod tests;

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
use stops::Kind;

/// The scenarios of the sixth water.
pub const SIXTH_WATER: [&str; 4] = ["sixth-steady", "sixth-gusty", "sixth-stream", "sixth-no-vane"];
/// Length of a session, s.
const LASTS_S: f64 = 3_600.0;
const STEP_S: f64 = 0.25;
/// Steps between two fixes of a phone: a second.
const FIX_STEPS: u32 = 4;
/// Boats closer than this may wait together, m.
const TOGETHER_M: f64 = 90.0;
const CREW: u32 = 2;

#[derive(Clone, Debug)]
pub(crate) struct SixthWater {
    habits: Habits,
    chart: Chart,
    start_ms: i64,
    steps: u32,
    field: Field,
    stream: Vec2,
    course: Course,
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

impl SixthWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> SixthWater {
        let mut dice = Dice::new(mixed, "sixth water", 0);
        let habits = Habits::draw(&mut dice);
        let field = Field::draw(scenario, LASTS_S, Dice::new(mixed, "sixth air", 0));
        let stream_mps = if scenario == "sixth-stream" { dice.between(0.2, 0.5) } else { 0.0 };
        let stream = Vec2::along(dice.between(0.0, 360.0), stream_mps);
        let course = Course::draw(field.axis_deg(), &mut dice);
        let air = field.at(Vec2::default(), 0.0);
        let boats: Vec<Boat> = (0..10 + dice.pick(5))
            .map(|ix| {
                let phone = Phone::draw(Dice::new(mixed, "sixth phone", ix));
                Boat::draw(ix, air, phone, Dice::new(mixed, "sixth boat", ix))
            })
            .collect();
        let truth = Truth::begun(scenario, seed, start_ms);
        SixthWater {
            habits,
            chart: Chart::at(dice.between(-50.0, 62.0), dice.between(-60.0, 60.0)),
            start_ms,
            steps: 0,
            field,
            stream,
            course,
            noted: vec![Noted::default(); boats.len()],
            boats,
            safety: Safety::draw(scenario != "sixth-no-vane", Dice::new(mixed, "sixth safety", 0)),
            called: Vec::new(),
            dice,
            under_way: UnderWay::default(),
            truth,
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

    /// A quarter of a second; gives the lines that arrived in it.
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
        self.field.step(STEP_S);
        if self.steps.is_multiple_of(10 * FIX_STEPS) {
            let air = self.field.at(Vec2::default(), self.t_s());
            self.truth.wind.push(WindTruth::of(self.now_ms(), air.from_deg, air.speed_mps, self.stream));
        }
    }

    fn sail(&mut self, ix: usize) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        let boat = &mut self.boats[ix];
        let was_over = boat.is_over();
        boat.step(&Around {
            t_s,
            step_s: STEP_S,
            air: self.field.at(boat.hull.at, t_s),
            stream: self.stream,
            course: &self.course,
            habits: &self.habits,
            beside: self.safety.beside(ix),
        });
        boat.phone.watch(boat.hull.through() + self.stream, STEP_S);
        if !was_over && boat.is_over() {
            if self.dice.chance(self.habits.drowns) {
                boat.phone.drown(t_s);
            }
            if boat.needs_help() || self.dice.chance(self.habits.attends) {
                self.called.push((t_s + self.dice.between(20.0, 150.0), ix));
            }
        }
        self.noted[ix].step(&mut self.truth, &boat.seen(), now_ms);
        match (boat.stopped_now, boat.hull.at) {
            (Some(Kind::Raft), _) => self.safety.raft(ix),
            (Some(Kind::Wait), at) => self.gather(at),
            _ => {}
        }
    }

    /// Boats near one that waits may stop with her.
    fn gather(&mut self, at: Vec2) {
        for boat in &mut self.boats {
            let near = boat.is_sailing() && (boat.hull.at - at).length() < TOGETHER_M;
            if near && self.dice.chance(self.habits.joins) {
                boat.joins_s = f64::from(self.steps) * STEP_S + self.dice.between(2.0, 30.0);
            }
        }
    }

    fn stand_by(&mut self) {
        let t_s = self.t_s();
        let (boats, safety) = (&mut self.boats, &mut self.safety);
        self.called.retain(|&(at_s, ix)| {
            let goes = boats[ix].is_over() && t_s >= at_s && safety.is_free();
            if goes {
                safety.help(ix);
            }
            boats[ix].is_over() && !goes
        });
        let air = self.field.at(safety.at, t_s);
        safety.step(t_s, STEP_S, boats, air, self.stream);
        for (boat, noted) in boats.iter_mut().zip(&self.noted) {
            if !boat.is_over() || !safety.has_come_to(boat.hull.at) {
                continue;
            }
            boat.help(t_s);
            if let Some(capsize) = noted.capsize.and_then(|at| self.truth.capsizes.get_mut(at)) {
                capsize.attended = true;
            }
        }
    }

    fn speak(&mut self) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        for ix in 0..self.boats.len() {
            // Phones do not tell at the same moment.
            if !(self.steps + ix as u32).is_multiple_of(FIX_STEPS) {
                continue;
            }
            let (boat, noted) = (&mut self.boats[ix], &mut self.noted[ix]);
            let told = boat.phone.fix(boat.hull.at, t_s);
            noted.fix(&mut self.truth, &boat.id, told.is_some(), now_ms);
            let Some(told) = told else { continue };
            let source = format!("phone-{}", boat.id);
            let (lat, lon) = self.chart.lat_lon(told.at);
            let line = sentence::rmc(now_ms, lat, lon, told.speed_mps, told.course_deg);
            self.under_way.send(&source, now_ms + told.late_ms, &line);
        }
        if self.steps.is_multiple_of(FIX_STEPS) {
            let air = self.field.at(self.safety.at, t_s);
            for line in self.safety.speak(now_ms, &self.chart, air) {
                self.under_way.send(safety::SOURCE, now_ms + 200, &line);
            }
        }
    }

    /// `site.geojson`: a sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = [60.0, 0.0, -60.0, -120.0, 180.0, 120.0, 60.0].into_iter();
        wide_area::site_geojson(&self.chart, "sixth water", bearings_deg, 4_000.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies = self
            .boats
            .iter()
            .map(|boat| fleet_file::dinghy(&boat.id, CREW, "two-hander", boat.own.waterline_m));
        dinghies.chain([fleet_file::safety(safety::ID, safety::SOURCE, 2)]).collect()
    }

    /// What really happened.
    pub(crate) fn finish(mut self) -> Truth {
        let end_ms = self.start_ms + (LASTS_S.min(self.t_s()) * 1000.0).round() as i64;
        for (boat, noted) in self.boats.iter().zip(std::mem::take(&mut self.noted)) {
            noted.finish(&mut self.truth, &boat.id, end_ms);
        }
        let from_ms = self.start_ms;
        let craft = |id: &str, role: &str| BoatTruth::afloat(id, role, CREW, from_ms, 1.0);
        self.truth.boats = self.boats.iter().map(|boat| craft(&boat.id, "dinghy")).collect();
        self.truth.boats.push(craft(safety::ID, "safety"));
        self.truth.end_ms = end_ms;
        self.truth
    }
}
