//! The session: everything afloat, a quarter of a second at a time.

use super::{
    STEP_S,
    boat::{Around, Boat},
    course::{Course, Exercise, programme},
    deed::Doing,
    guard::Call,
    phone::Phone,
    rescue::{Safety, Task},
    stop,
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

/// The scenarios of the eighth water.
pub const EIGHTH_WATER: [&str; 5] =
    ["eighth-plain", "eighth-puffs", "eighth-tide", "eighth-no-vane", "eighth-light"];
/// Length of a session, s.
const LASTS_S: f64 = 3_600.0;
const STEPS_PER_S: u32 = 4;
const CREW: u32 = 2;
/// When a new exercise is called so many wait for the others first: a guess.
const GATHER: f64 = 0.16;

#[derive(Clone, Debug)]
pub(crate) struct EighthWater {
    chart: Chart,
    start_ms: i64,
    steps: u32,
    venue: Venue,
    pub(super) stream: Vec2,
    programme: Vec<(f64, Exercise)>,
    pub(super) boats: Vec<Boat>,
    pub(super) noted: Vec<Noted>,
    pub(super) safety: Vec<Safety>,
    pub(super) calls: Vec<Call>,
    pub(super) dice: Dice,
    under_way: UnderWay,
    pub(super) truth: Truth,
}

impl EighthWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> EighthWater {
        let mut dice = Dice::new(mixed, "eighth water", 0);
        let venue = Venue::draw(scenario, Dice::new(mixed, "eighth wind", 0));
        let wind = venue.now();
        let stream = match scenario {
            // It goes to where the wind comes from, more or less.
            "eighth-tide" => {
                Vec2::along(wind.from_deg + dice.between(-35.0, 35.0), mps(dice.between(0.3, 0.8)))
            }
            _ => Vec2::along(dice.between(0.0, 360.0), mps(dice.between(0.0, 0.25))),
        };
        let mut programme = programme(LASTS_S, &mut dice);
        let (_, first) = programme.remove(0);
        let boats: Vec<Boat> = (0..10 + dice.pick(6))
            .map(|ix| {
                let mut own = Dice::new(mixed, "eighth boat", ix);
                let course = Course::draw(first, wind.from_deg, &mut own);
                Boat::draw(ix, course, wind, Phone::draw(Dice::new(mixed, "eighth phone", ix)), own)
            })
            .collect();
        let has_vane = scenario != "eighth-no-vane";
        let safety = (0..1 + dice.pick(2))
            .map(|ix| Safety::draw(ix, has_vane && ix == 0, Dice::new(mixed, "eighth safety boat", ix)))
            .collect();
        EighthWater {
            chart: Chart::at(dice.between(-45.0, 60.0), dice.between(-170.0, 170.0)),
            start_ms,
            steps: 0,
            venue,
            stream,
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
            let wind = self.venue.now();
            self.truth.wind.push(WindTruth::of(self.now_ms(), wind.from_deg, wind.mps, self.stream));
        }
    }

    fn call_the_next_exercise(&mut self) {
        let t_s = self.t_s();
        let Some((_, exercise)) = self.programme.first().copied().filter(|(from_s, _)| *from_s <= t_s) else {
            return;
        };
        self.programme.remove(0);
        let from_deg = self.venue.now().from_deg;
        for boat in &mut self.boats {
            boat.course = Course::draw(exercise, from_deg, &mut boat.dice);
            if boat.is_sailing() && boat.dice.chance(GATHER) {
                boat.stops(&stop::WAITS, t_s);
            }
        }
    }

    fn sail(&mut self, ix: usize) {
        let now_ms = self.now_ms();
        let leader = ix.checked_sub(1).and_then(|ahead| self.boats.get(ahead));
        let ahead = leader.filter(|leader| leader.is_sailing()).map(|leader| leader.at);
        let towing = |safety: &&Safety| matches!(safety.task, Task::Tows { boat, .. } if boat == ix);
        let tow = self.safety.iter().find(towing).map(|safety| safety.at);
        let boat = &mut self.boats[ix];
        let around = Around {
            t_s: f64::from(self.steps) * STEP_S,
            venue: &self.venue,
            stream: self.stream,
            ahead: ahead.filter(|_| boat.course.exercise == Exercise::Follow),
            tow,
        };
        let (was_over, called) = (boat.doing.over().is_some(), boat.calls);
        boat.step(&around);
        let is_over = boat.doing.over().is_some();
        boat.phone.watch(boat.through() + self.stream, is_over, around.t_s, STEP_S);
        self.noted[ix].step(&mut self.truth, &boat.seen(), now_ms);
        if boat.calls && !called {
            self.calls.push(Call { from_s: around.t_s, task: Task::Visits { boat: ix } });
        }
        if let Doing::IsOver(over) = &boat.doing
            && !was_over
        {
            let needs_help = over.until_s.is_none();
            self.is_seen_over(ix, needs_help);
        }
    }

    fn speak(&mut self) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        for (ix, (boat, noted)) in self.boats.iter_mut().zip(&mut self.noted).enumerate() {
            // Phones do not tell at the same moment.
            if !(self.steps + ix as u32).is_multiple_of(STEPS_PER_S) {
                continue;
            }
            let told = boat.phone.fix(boat.at, t_s);
            noted.fix(&mut self.truth, &boat.id, told.is_some(), now_ms);
            let Some(told) = told else { continue };
            let (lat, lon) = self.chart.lat_lon(told.at);
            let line = sentence::rmc(now_ms, lat, lon, told.speed_mps, told.course_deg);
            self.under_way.send(&format!("phone-{}", boat.id), now_ms + told.late_ms, &line);
        }
        if self.steps.is_multiple_of(STEPS_PER_S) {
            let wind = self.venue.now();
            for safety in &mut self.safety {
                for line in safety.speak(now_ms, self.steps / STEPS_PER_S, &self.chart, wind) {
                    self.under_way.send(&safety.name, now_ms + 200, &line);
                }
            }
        }
    }

    /// `site.geojson`: a sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = [45.0, -45.0, -135.0, 135.0, 45.0].into_iter();
        wide_area::site_geojson(&self.chart, "eighth water", bearings_deg, 5_000.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies =
            self.boats.iter().map(|boat| fleet_file::dinghy(&boat.id, CREW, "two-handed trainer", 3.8));
        dinghies
            .chain(self.safety.iter().map(|boat| fleet_file::safety(&boat.name, &boat.name, CREW)))
            .collect()
    }

    /// What really happened.
    pub(crate) fn finish(mut self) -> Truth {
        let end_ms = self.start_ms + (LASTS_S.min(self.t_s()) * 1000.0).round() as i64;
        for (boat, noted) in self.boats.iter().zip(std::mem::take(&mut self.noted)) {
            noted.finish(&mut self.truth, &boat.id, end_ms);
        }
        let craft = |id: &str, role: &str| BoatTruth::afloat(id, role, CREW, self.start_ms, 1.0);
        let boats = self.boats.iter().map(|boat| craft(&boat.id, "dinghy"));
        self.truth.boats = boats.chain(self.safety.iter().map(|boat| craft(&boat.name, "safety"))).collect();
        self.truth.end_ms = end_ms;
        self.truth
    }
}
