//! A third water: forces on a mass instead of a boat that follows a speed, crews that look
//! and trim late, and numbers drawn from seamanship and mechanics. It shares nothing with the other two waters
//! but chance, the plane and the sentences. Capsizes and stops are all it asks about: no marks, no zones and no
//! landing place on its site, and all sail from the first second.

mod air;
mod boat;
mod course;
mod crew;
mod doing;
mod events;
mod habits;
mod hull;
mod notes;
mod over;
mod phone;
mod safety;
mod stops;
#[cfg(test)]
mod tests;

use crate::{
    dice::Dice,
    fleet_file,
    plane::{Chart, Vec2},
    sentence,
    session::Line,
    truth::{BoatTruth, Truth, WindTruth},
    under_way::UnderWay,
    wide_area,
};
use air::{Air, Field};
use boat::{Around, Boat};
use course::Course;
use doing::Doing;
use habits::Habits;
use notes::Noted;
use safety::Safety;

/// The scenarios of the third water.
pub const THIRD_WATER: [&str; 4] = ["third-steady", "third-gusty", "third-stream", "third-no-vane"];
/// Length of a session, s.
const LASTS_S: f64 = 3_600.0;
const STEP_S: f64 = 0.25;
const BOATS: usize = 12;
/// Share of the sessions with a second safety boat.
const TWO_SAFETIES: f64 = 0.3;

#[derive(Clone, Debug)]
pub(crate) struct ThirdWater {
    habits: Habits,
    chart: Chart,
    start_ms: i64,
    steps: u32,
    field: Field,
    stream: Vec2,
    course: Course,
    boats: Vec<Boat>,
    noted: Vec<Noted>,
    safeties: Vec<Safety>,
    /// Capsized boats that a safety boat will set out for, and when.
    called: Vec<(f64, usize)>,
    dice: Dice,
    /// Lines on their way, by arrival.
    under_way: UnderWay,
    truth: Truth,
}

impl ThirdWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> ThirdWater {
        let mut dice = Dice::new(mixed, "third water", 0);
        let habits = Habits::draw(&mut dice);
        let field = Field::draw(scenario, Dice::new(mixed, "third air", 0));
        let course = Course::draw(field.from_deg, &mut dice);
        let stream_mps = match scenario {
            "third-stream" => dice.between(0.15, 0.6),
            _ => dice.between(0.0, 0.08),
        };
        let stream = Vec2::along(dice.between(0.0, 360.0), stream_mps);
        let boats: Vec<Boat> = (0..BOATS)
            .map(|ix| Boat::draw(ix, &course, &habits, field.from_deg, Dice::new(mixed, "third boat", ix)))
            .collect();
        let safeties = 1 + usize::from(dice.chance(TWO_SAFETIES));
        let has_vane = scenario != "third-no-vane";
        ThirdWater {
            chart: Chart::at(dice.between(-45.0, 58.0), dice.between(-30.0, 30.0)),
            start_ms,
            steps: 0,
            field,
            stream,
            course,
            noted: vec![Noted::default(); boats.len()],
            boats,
            safeties: (0..safeties)
                .map(|ix| Safety::draw(ix, has_vane, Dice::new(mixed, "third safety", ix)))
                .collect(),
            called: Vec::new(),
            habits,
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

    /// A quarter of a second; gives the lines that arrived in it.
    pub(crate) fn step(&mut self) -> Vec<Line> {
        if self.t_s() < LASTS_S {
            let air = self.blow();
            for ix in 0..self.boats.len() {
                self.sail(ix);
            }
            self.stand_by(air);
            self.speak();
        }
        self.steps += 1;
        let now_ms = self.now_ms();
        self.under_way.arrived(now_ms)
    }

    fn blow(&mut self) -> Air {
        let t_s = self.t_s();
        let air = self.field.step(t_s, STEP_S);
        if t_s % 10.0 < STEP_S {
            self.truth.wind.push(WindTruth::of(self.now_ms(), air.from_deg, air.mps, self.stream));
        }
        air
    }

    fn sail(&mut self, ix: usize) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        let safety: Vec<(Vec2, Vec2, f64)> =
            self.safeties.iter().map(|safety| (safety.at, safety.velocity, safety.heading_deg)).collect();
        let free = self.safeties.iter_mut().find(|safety| safety.is_free());
        let boat = &mut self.boats[ix];
        let ripple = boat.ripple.step(STEP_S, &mut boat.dice);
        let air = self.field.at(boat.hull.at, ripple);
        let around = Around {
            t_s,
            step_s: STEP_S,
            air,
            stream: self.stream,
            course: &self.course,
            habits: &self.habits,
            safety: &safety,
        };
        let was_over = matches!(boat.doing, Doing::Over(_));
        let asks = boat.step(&around, free.is_some());
        if let Some(safety) = free.filter(|_| asks) {
            safety.raft(ix);
        }
        if !was_over && matches!(boat.doing, Doing::Over(_)) && self.dice.chance(self.habits.attends) {
            self.called.push((t_s + self.dice.between(30.0, 120.0), ix));
        }
        self.noted[ix].step(&mut self.truth, boat, air, t_s, now_ms);
    }

    fn stand_by(&mut self, air: Air) {
        let t_s = self.t_s();
        let (boats, safeties) = (&self.boats, &mut self.safeties);
        self.called.retain(|&(at_s, ix)| {
            let over = matches!(boats[ix].doing, Doing::Over(_));
            let free = safeties.iter_mut().find(|safety| over && t_s >= at_s && safety.is_free());
            let goes = free.is_some();
            if let Some(safety) = free {
                safety.attend(ix);
            }
            over && !goes
        });
        for safety in safeties {
            safety.step(t_s, STEP_S, boats, &self.habits, air, self.stream);
        }
        for (boat, noted) in self.boats.iter().zip(&self.noted) {
            let came = self.safeties.iter().any(|safety| safety.has_come_to(boat.hull.at));
            let open = noted.capsize.filter(|_| came && matches!(boat.doing, Doing::Over(_)));
            if let Some(capsize) = open.and_then(|at| self.truth.capsizes.get_mut(at)) {
                capsize.attended = true;
            }
        }
    }

    fn speak(&mut self) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        for ix in 0..self.boats.len() {
            let (boat, noted) = (&mut self.boats[ix], &mut self.noted[ix]);
            if t_s < boat.phone.next_s {
                continue;
            }
            boat.phone.next_s += phone::EVERY_S;
            let velocity = boat.hull.through + self.stream;
            let told = boat.phone.fix(boat.hull.at, velocity, t_s, &mut boat.dice);
            noted.fix(&mut self.truth, boat, told.is_some(), now_ms);
            let Some(told) = told else { continue };
            let source = format!("phone-{}", boat.id);
            let (lat, lon) = self.chart.lat_lon(told.at);
            let line = match told.motion {
                Some((speed_mps, course_deg)) => sentence::rmc(now_ms, lat, lon, speed_mps, course_deg),
                None => sentence::gga(now_ms, lat, lon, 9, 1.1),
            };
            self.under_way.send(&source, now_ms + told.late_ms, &line);
        }
        for ix in 0..self.safeties.len() {
            let safety = &mut self.safeties[ix];
            if t_s < safety.next_s {
                continue;
            }
            safety.next_s += 1.0;
            let air = self.field.at(safety.at, 0.0);
            let source = safety.source;
            for line in safety.speak(now_ms, &self.chart, air) {
                self.under_way.send(source, now_ms + 300, &line);
            }
        }
    }

    /// `site.geojson`: a round sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = (0..=30).map(|n| -12.0 * f64::from(n % 30));
        wide_area::site_geojson(&self.chart, "third water", bearings_deg, 3_000.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies = self.boats.iter().map(|boat| fleet_file::dinghy(&boat.id, 2, "two-hander", 3.6));
        dinghies
            .chain(self.safeties.iter().map(|safety| fleet_file::safety(safety.id, safety.source, 2)))
            .collect()
    }

    /// What really happened.
    pub(crate) fn finish(mut self) -> Truth {
        let end_ms = self.start_ms + (LASTS_S.min(self.t_s()) * 1000.0).round() as i64;
        for (boat, noted) in self.boats.iter().zip(std::mem::take(&mut self.noted)) {
            noted.finish(&mut self.truth, boat, end_ms);
        }
        let from_ms = self.start_ms;
        let craft = |id: &str, role: &str| BoatTruth::afloat(id, role, 2, from_ms, phone::EVERY_S);
        self.truth.boats = self.boats.iter().map(|boat| craft(&boat.id, "dinghy")).collect();
        self.truth.boats.extend(self.safeties.iter().map(|safety| craft(safety.id, "safety")));
        self.truth.end_ms = end_ms;
        self.truth
    }
}
