//! The session: everything afloat, a quarter of a second at a time.

use super::{
    STEP_S,
    boat::{Boat, Now},
    lesson::{Course, Exercise, programme},
    phone::Phone,
    safety::{Safety, Task},
    wind::Venue,
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

/// The scenarios of the twelfth water.
pub const TWELFTH_WATER: [&str; 5] =
    ["twelfth-lesson", "twelfth-squally", "twelfth-ebb", "twelfth-bare", "twelfth-zephyr"];
/// Length of a session, s.
const LASTS_S: f64 = 3_600.0;
const STEPS_PER_S: u32 = 4;
const CREW: u32 = 2;

#[derive(Clone, Debug)]
pub(crate) struct TwelfthWater {
    chart: Chart,
    start_ms: i64,
    steps: u32,
    venue: Venue,
    pub(super) stream: Vec2,
    pub(super) beach: Vec2,
    programme: Vec<(f64, Exercise)>,
    pub(super) boats: Vec<Boat>,
    pub(super) noted: Vec<Noted>,
    pub(super) safety: Vec<Safety>,
    under_way: UnderWay,
    pub(super) truth: Truth,
}

impl TwelfthWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> TwelfthWater {
        let mut dice = Dice::new(mixed, "twelfth water", 0);
        let venue = Venue::draw(scenario, Dice::new(mixed, "twelfth wind", 0));
        let wind = venue.now();
        let stream = match scenario {
            // To where the wind comes from, more or less.
            "twelfth-ebb" => {
                Vec2::along(wind.from_deg + dice.between(-30.0, 30.0), mps(dice.between(0.3, 0.6)))
            }
            _ => Vec2::along(dice.between(0.0, 360.0), mps(dice.between(0.0, 0.2))),
        };
        let beach = Vec2::along(dice.between(0.0, 360.0), dice.between(330.0, 450.0));
        let mut programme = programme(LASTS_S, &mut dice);
        let (_, first) = programme.remove(0);
        let boats: Vec<Boat> = (0..8 + dice.pick(7))
            .map(|ix| {
                let mut own = Dice::new(mixed, "twelfth boat", ix);
                let course = Course::draw(first, wind.from_deg, [Vec2::default(), beach], 0.0, &mut own);
                let phone = Phone::draw(Dice::new(mixed, "twelfth phone", ix));
                Boat::draw(ix, beach, course, wind, phone, own)
            })
            .collect();
        let has_vane = scenario != "twelfth-bare";
        let safety = (0..1 + dice.pick(2))
            .map(|ix| Safety::draw(ix, has_vane && ix == 0, Dice::new(mixed, "twelfth safety boat", ix)))
            .collect();
        TwelfthWater {
            chart: Chart::at(dice.between(-50.0, 58.0), dice.between(-175.0, 175.0)),
            start_ms,
            steps: 0,
            venue,
            stream,
            beach,
            programme,
            noted: vec![Noted::default(); boats.len()],
            boats,
            safety,
            under_way: UnderWay::default(),
            truth: Truth::begun(scenario, seed, start_ms),
        }
    }

    pub(super) fn t_s(&self) -> f64 {
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
        if self.t_s() < LASTS_S {
            self.venue.step(STEP_S);
            if self.steps.is_multiple_of(10 * STEPS_PER_S) {
                let wind = self.venue.now();
                self.truth.wind.push(WindTruth::of(self.now_ms(), wind.from_deg, wind.mps, self.stream));
            }
            self.call();
            for ix in 0..self.boats.len() {
                self.sail(ix);
            }
            self.keep_watch();
            self.speak();
        }
        self.steps += 1;
        let now_ms = self.now_ms();
        self.under_way.arrived(now_ms)
    }

    /// The instructor calls the next exercise.
    fn call(&mut self) {
        let t_s = self.t_s();
        let Some((_, exercise)) = self.programme.first().copied().filter(|(from_s, _)| *from_s <= t_s) else {
            return;
        };
        self.programme.remove(0);
        let from_deg = self.venue.now().from_deg;
        let meeting = self.safety.first().map_or(Vec2::default(), |safety| safety.at);
        for boat in &mut self.boats {
            boat.course = Course::draw(exercise, from_deg, [meeting, self.beach], t_s, &mut boat.dice);
            boat.hears(t_s);
        }
    }

    fn sail(&mut self, ix: usize) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        let towing = |safety: &&Safety| matches!(safety.task, Task::Tows { boat, .. } if boat == ix);
        let tow = self.safety.iter().find(towing).map(|safety| safety.at);
        let boat = &mut self.boats[ix];
        if t_s < boat.launches_s {
            return;
        }
        let wind = self.venue.here(boat.hull.at).over_water(self.stream);
        boat.step(&mut Now { t_s, wind, off_deg: 0.0, stream: self.stream, tow });
        let over_ground = boat.hull.through() + self.stream;
        boat.phone.feel(over_ground, boat.doing.over().is_some(), t_s, STEP_S);
        self.noted[ix].step(&mut self.truth, &boat.seen(), now_ms);
    }

    fn speak(&mut self) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        for (ix, (boat, noted)) in self.boats.iter_mut().zip(&mut self.noted).enumerate() {
            // Each phone has its own moment of the second.
            if t_s < boat.launches_s || !(self.steps + ix as u32).is_multiple_of(STEPS_PER_S) {
                continue;
            }
            let told = boat.phone.fix(boat.hull.at, t_s, now_ms);
            noted.fix(&mut self.truth, boat.id, told.is_some(), now_ms);
            let Some(told) = told else { continue };
            let (lat, lon) = self.chart.lat_lon(told.at);
            let line = sentence::rmc(now_ms, lat, lon, told.speed_mps, told.course_deg);
            self.under_way.send(&format!("phone-{}", boat.id), told.arrives_ms, &line);
        }
        if self.steps.is_multiple_of(STEPS_PER_S) {
            for safety in &mut self.safety {
                let wind = self.venue.here(safety.at);
                for line in safety.speak(now_ms, self.steps / STEPS_PER_S, &self.chart, wind, self.stream) {
                    self.under_way.send(safety.name, now_ms + 250, &line);
                }
            }
        }
    }

    /// `site.geojson`: a sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = [40.0, -50.0, -140.0, 130.0, 40.0].into_iter();
        wide_area::site_geojson(&self.chart, "twelfth water", bearings_deg, 6_000.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies = self.boats.iter().map(|boat| fleet_file::dinghy(boat.id, CREW, "school dinghy", 4.0));
        dinghies
            .chain(self.safety.iter().map(|boat| fleet_file::safety(boat.name, boat.name, CREW)))
            .collect()
    }

    /// What really happened.
    pub(crate) fn finish(mut self) -> Truth {
        let end_ms = self.start_ms + (LASTS_S.min(self.t_s()) * 1000.0).round() as i64;
        for (boat, noted) in self.boats.iter().zip(std::mem::take(&mut self.noted)) {
            noted.finish(&mut self.truth, boat.id, end_ms);
        }
        let start_ms = self.start_ms;
        let launched = |boat: &Boat| start_ms + (boat.launches_s * 1000.0).round() as i64;
        let dinghies =
            self.boats.iter().map(|boat| BoatTruth::afloat(boat.id, "dinghy", CREW, launched(boat), 1.0));
        let safety =
            self.safety.iter().map(|boat| BoatTruth::afloat(boat.name, "safety", CREW, start_ms, 1.0));
        self.truth.boats = dinghies.chain(safety).collect();
        self.truth.end_ms = end_ms;
        self.truth
    }
}
