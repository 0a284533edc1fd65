//! The session: wind, boats and safety boats, a quarter of a second at a time.

use super::{
    STEP_S,
    boat::Boat,
    crew::{Crew, Group},
    intent::Intent,
    phone::Phone,
    safety::{Safety, Task},
    weather::Weather,
};
use crate::{
    dice::Dice,
    fleet_file,
    notes::Noted,
    plane::{Chart, Vec2, mps},
    sentence,
    session::Line,
    truth::{BoatTruth, Truth, WindTruth},
    under_way::UnderWay,
    wide_area,
};

/// The scenarios of the thirteenth water.
pub const THIRTEENTH_WATER: [&str; 5] = [
    "thirteenth-fair",
    "thirteenth-squally",
    "thirteenth-ebb",
    "thirteenth-no-instrument",
    "thirteenth-light",
];
/// Length of a session, s.
const LASTS_S: f64 = 3_600.0;
const STEPS_PER_S: u32 = 4;
/// Everybody is called together so often an hour, and so many stop for it: guesses.
const CALLS_PER_H: f64 = 3.0;
const HEARS: f64 = 0.16;

#[derive(Clone, Debug)]
pub(crate) struct ThirteenthWater {
    chart: Chart,
    start_ms: i64,
    steps: u32,
    crew: u32,
    pub(super) weather: Weather,
    pub(super) stream: Vec2,
    pub(super) boats: Vec<Boat>,
    phones: Vec<Phone>,
    pub(super) noted: Vec<Noted>,
    pub(super) safety: Vec<Safety>,
    dice: Dice,
    under_way: UnderWay,
    pub(super) truth: Truth,
}

impl ThirteenthWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> ThirteenthWater {
        let mut dice = Dice::new(mixed, "thirteenth water", 0);
        let weather = Weather::draw(scenario, Dice::new(mixed, "thirteenth weather", 0));
        let stream = if scenario == "thirteenth-ebb" {
            // To where the wind comes from, more or less.
            Vec2::along(weather.mean_from_deg() + dice.between(-30.0, 30.0), mps(dice.between(0.3, 0.8)))
        } else {
            Vec2::along(dice.between(0.0, 360.0), mps(dice.between(0.0, 0.25)))
        };
        let group = Group::draw(&mut dice);
        let long_m = dice.between(3.4, 4.5);
        let boats: Vec<Boat> = (0..8 + dice.pick(7))
            .map(|ix| {
                let mut own = Dice::new(mixed, "thirteenth boat", ix);
                let crew = Crew::draw(&group, &mut own);
                Boat::draw(ix, long_m, crew, weather.venue(), own)
            })
            .collect();
        let phone = |ix| Phone::draw(Dice::new(mixed, "thirteenth phone", ix));
        let has_vane = scenario != "thirteenth-no-instrument";
        let safety = (0..1 + dice.pick(2))
            .map(|ix| {
                let own = Dice::new(mixed, "thirteenth launch", ix);
                Safety::draw(ix, has_vane && ix == 0, phone(100 + ix), own)
            })
            .collect();
        ThirteenthWater {
            chart: Chart::at(dice.between(-45.0, 60.0), dice.between(-170.0, 170.0)),
            start_ms,
            steps: 0,
            crew: 1 + dice.pick(2) as u32,
            weather,
            stream,
            phones: (0..boats.len()).map(phone).collect(),
            noted: vec![Noted::default(); boats.len()],
            boats,
            safety,
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

    /// One step; gives the lines that arrived in it.
    pub(crate) fn step(&mut self) -> Vec<Line> {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        if t_s < LASTS_S {
            self.weather.step(STEP_S);
            if self.steps.is_multiple_of(10 * STEPS_PER_S) {
                let wind = self.weather.venue();
                self.truth.wind.push(WindTruth::of(now_ms, wind.from_deg, wind.mps, self.stream));
            }
            self.call_together(t_s);
            self.guard(t_s);
            self.sail(t_s, now_ms);
            self.speak(t_s, now_ms);
        }
        self.steps += 1;
        self.under_way.arrived(self.now_ms())
    }

    fn call_together(&mut self, t_s: f64) {
        if !self.dice.happens(CALLS_PER_H, STEP_S) {
            return;
        }
        for boat in self.boats.iter_mut().filter(|boat| boat.intent.is_leg()) {
            if boat.dice.chance(HEARS) {
                // One after another, as they hear it.
                boat.asked = Some(if boat.dice.chance(0.5) { Intent::Luff } else { Intent::HoveTo });
                boat.until_s = t_s + boat.dice.between(0.0, 20.0);
            }
        }
    }

    fn sail(&mut self, t_s: f64, now_ms: i64) {
        for (ix, boat) in self.boats.iter_mut().enumerate() {
            let tows = |safety: &&Safety| matches!(safety.task, Task::Tows { boat, .. } if boat == ix);
            let tow = self.safety.iter().find(tows).map(|safety| safety.at);
            boat.step(self.weather.at(boat.at), self.stream, tow, t_s);
            self.phones[ix].follow(boat.through() + self.stream, boat.over.is_some(), t_s, STEP_S);
            self.noted[ix].step(&mut self.truth, &boat.seen(), now_ms);
        }
    }

    fn speak(&mut self, t_s: f64, now_ms: i64) {
        for (ix, (boat, phone)) in self.boats.iter().zip(&mut self.phones).enumerate() {
            // Each at its own part of the second.
            if !(self.steps + 3 * ix as u32).is_multiple_of(STEPS_PER_S) {
                continue;
            }
            let told = phone.fix(boat.at, t_s);
            self.noted[ix].fix(&mut self.truth, &boat.id, told.is_some(), now_ms);
            let Some(told) = told else { continue };
            let (lat, lon) = self.chart.lat_lon(told.at);
            let line = sentence::rmc(now_ms, lat, lon, told.speed_mps, told.course_deg);
            self.under_way.send(&format!("phone-{}", boat.id), now_ms + told.late_ms, &line);
        }
        if !self.steps.is_multiple_of(STEPS_PER_S) {
            return;
        }
        for safety in &mut self.safety {
            if let Some(told) = safety.phone.fix(safety.at, t_s) {
                let (lat, lon) = self.chart.lat_lon(told.at);
                let line = sentence::rmc(now_ms, lat, lon, told.speed_mps, told.course_deg);
                self.under_way.send(&safety.name, now_ms + told.late_ms, &line);
            }
            if self.steps.is_multiple_of(2 * STEPS_PER_S)
                && let Some(wind) = safety.tells_wind(self.weather.at(safety.at))
            {
                self.under_way.send(&safety.name, now_ms + 150, &sentence::mwd(wind.from_deg, wind.mps));
            }
        }
    }

    /// `site.geojson`: a sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = [60.0, 0.0, -60.0, -120.0, 180.0, 120.0, 60.0].into_iter();
        wide_area::site_geojson(&self.chart, "thirteenth water", bearings_deg, 5_000.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies = self
            .boats
            .iter()
            .map(|boat| fleet_file::dinghy(&boat.id, self.crew, "training dinghy", boat.hull.long_m));
        dinghies.chain(self.safety.iter().map(|boat| fleet_file::safety(&boat.name, &boat.name, 2))).collect()
    }

    /// What really happened.
    pub(crate) fn finish(mut self) -> Truth {
        let end_ms = self.start_ms + (LASTS_S.min(self.t_s()) * 1000.0).round() as i64;
        for (boat, noted) in self.boats.iter().zip(std::mem::take(&mut self.noted)) {
            noted.finish(&mut self.truth, &boat.id, end_ms);
        }
        let craft = |id: &str, role: &str, crew| BoatTruth::afloat(id, role, crew, self.start_ms, 1.0);
        let boats = self.boats.iter().map(|boat| craft(&boat.id, "dinghy", self.crew));
        let launches = self.safety.iter().map(|boat| craft(&boat.name, "safety", 2));
        self.truth.boats = boats.chain(launches).collect();
        self.truth.end_ms = end_ms;
        self.truth
    }
}
