//! A fourth water: no forces and no rules of motion, but an afternoon as an
//! instructor would tell it, each passage a shape of heading and way over time. In half the sessions the
//! fleet is heavy and slow, in half light and quick. It shares chance, the plane and the sentences with the
//! other waters and nothing else. There are no marks, no zones and no landing place on its site, and all
//! sail from the first second.

mod air;
mod boat;
mod class;
mod company;
mod course;
mod curve;
mod filter;
mod habits;
mod happen;
mod notes;
mod over;
mod passage;
mod phone;
mod safety;
mod sailing;
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
use air::{Air, Field};
use boat::{Around, Boat};
use class::Class;
use company::Company;
use course::Course;
use habits::Habits;

use passage::Kind;
use phone::Phone;
use safety::Safety;

/// The scenarios of the fourth water.
pub const FOURTH_WATER: [&str; 4] = ["fourth-heavy", "fourth-light", "fourth-stream", "fourth-no-vane"];
/// Length of a session, s.
const LASTS_S: f64 = 3_600.0;
const STEP_S: f64 = 0.5;
/// Share of the sessions with a fix every other second only.
const EVERY_OTHER: f64 = 1.0 / 6.0;

#[derive(Clone, Debug)]
pub(crate) struct FourthWater {
    habits: Habits,
    chart: Chart,
    start_ms: i64,
    steps: u32,
    field: Field,
    air: Air,
    stream: Vec2,
    courses: Vec<Course>,
    boats: Vec<Boat>,
    noted: Vec<Noted>,
    safety: Safety,
    company: Company,
    dice: Dice,
    /// Lines on their way, by arrival.
    under_way: UnderWay,
    truth: Truth,
}

impl FourthWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> FourthWater {
        let mut dice = Dice::new(mixed, "fourth water", 0);
        let class = match scenario {
            "fourth-heavy" => Class::Heavy,
            "fourth-light" => Class::Light,
            _ if dice.chance(0.5) => Class::Heavy,
            _ => Class::Light,
        };
        // In less wind nobody would get up against the stream, and nobody would go out.
        let (least_kn, stream_mps) = match scenario {
            "fourth-stream" => (8.0, dice.between(0.15, 0.55)),
            _ => (5.0, dice.between(0.0, 0.06)),
        };
        let mut field = Field::draw(least_kn, Dice::new(mixed, "fourth air", 0));
        let air = field.step(0.0, STEP_S);
        let habits = Habits::draw(class, field.mean_mps, &mut dice);
        let courses: Vec<Course> =
            (0..1 + dice.pick(2)).map(|_| Course::draw(field.from_deg, &mut dice)).collect();
        let stream = Vec2::along(dice.between(0.0, 360.0), stream_mps);
        let every_s = if dice.chance(EVERY_OTHER) { 2.0 } else { 1.0 };
        let boats: Vec<Boat> = {
            let water = Around {
                t_s: 0.0,
                step_s: STEP_S,
                air,
                mean_mps: field.mean_mps,
                is_lull: false,
                stream,
                courses: &courses,
                habits: &habits,
                called: None,
                blind_to: None,
            };
            let gusts = (field.gust_share, field.gust_tau_s);
            let of = |ix: usize| {
                let phone = Phone::draw(every_s, Dice::new(mixed, "fourth phone", ix));
                Boat::draw(ix, &water, gusts, phone, Dice::new(mixed, "fourth boat", ix))
            };
            (0..10 + dice.pick(7)).map(of).collect()
        };
        let has_vane = scenario != "fourth-no-vane";
        FourthWater {
            chart: Chart::at(dice.between(-40.0, 60.0), dice.between(-60.0, 60.0)),
            start_ms,
            steps: 0,
            air,
            stream,
            courses,
            noted: vec![Noted::default(); boats.len()],
            boats,
            safety: Safety::draw(has_vane, field.from_deg, Dice::new(mixed, "fourth safety", 0)),
            company: Company::draw(&mut dice),
            field,
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

    /// Half a second; gives the lines that arrived in it.
    pub(crate) fn step(&mut self) -> Vec<Line> {
        if self.t_s() < LASTS_S {
            self.blow();
            for ix in 0..self.boats.len() {
                self.sail(ix);
            }
            self.meet();
            let (t_s, now_ms) = (self.t_s(), self.now_ms());
            for (boat, noted) in self.boats.iter().zip(&mut self.noted) {
                noted.step(&mut self.truth, &boat.seen(t_s), now_ms);
            }
            self.speak();
        }
        self.steps += 1;
        let now_ms = self.now_ms();
        self.under_way.arrived(now_ms)
    }

    fn blow(&mut self) {
        let t_s = self.t_s();
        self.air = self.field.step(t_s, STEP_S);
        if self.steps.is_multiple_of(20) {
            self.truth.wind.push(WindTruth::of(self.now_ms(), self.air.from_deg, self.air.mps, self.stream));
        }
    }

    fn sail(&mut self, ix: usize) {
        let t_s = self.t_s();
        let water = Around {
            t_s,
            step_s: STEP_S,
            air: self.air,
            mean_mps: self.field.mean_mps,
            is_lull: self.field.is_lull(t_s),
            stream: self.stream,
            courses: &self.courses,
            habits: &self.habits,
            called: self.company.talk_s(t_s).map(|lasts_s| (self.safety.at, lasts_s)),
            blind_to: self.company.unseen(ix, &self.boats),
        };
        let boat = &mut self.boats[ix];
        let ask = boat.step(&water);
        boat.phone.watch(boat.velocity, t_s, STEP_S);
        let went_over = boat.since_s == t_s && matches!(boat.kind(), Some(Kind::Over(_)));
        self.answer(ix, ask, went_over);
    }

    fn speak(&mut self) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        for ix in 0..self.boats.len() {
            let (boat, noted) = (&mut self.boats[ix], &mut self.noted[ix]);
            if t_s < boat.phone.next_s {
                continue;
            }
            boat.phone.next_s += boat.phone.every_s;
            let told = boat.phone.fix(boat.at, boat.velocity, t_s);
            noted.fix(&mut self.truth, &boat.id, told.is_some(), now_ms);
            let Some(told) = told else { continue };
            let source = format!("phone-{}", boat.id);
            let (lat, lon) = self.chart.lat_lon(told.at);
            let line = match told.motion {
                Some((speed_mps, course_deg)) => sentence::rmc(now_ms, lat, lon, speed_mps, course_deg),
                None => sentence::gga(now_ms, lat, lon, 10, 0.9),
            };
            self.under_way.send(&source, now_ms + told.late_ms, &line);
        }
        if t_s >= self.safety.next_s {
            self.safety.next_s += 1.0;
            for line in self.safety.speak(now_ms, &self.chart, self.air) {
                self.under_way.send("safety", now_ms + 250, &line);
            }
        }
    }

    /// `site.geojson`: a round sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = (0..=36).map(|n| -10.0 * f64::from(n % 36));
        wide_area::site_geojson(&self.chart, "fourth water", bearings_deg, 3_500.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let class = self.habits.class;
        let dinghies = self
            .boats
            .iter()
            .map(|boat| fleet_file::dinghy(&boat.id, class.crew(), class.name(), class.waterline_m()));
        dinghies.chain([fleet_file::safety("S1", "safety", 2)]).collect()
    }

    /// What really happened.
    pub(crate) fn finish(mut self) -> Truth {
        let end_ms = self.start_ms + (LASTS_S.min(self.t_s()) * 1000.0).round() as i64;
        for (boat, noted) in self.boats.iter().zip(std::mem::take(&mut self.noted)) {
            noted.finish(&mut self.truth, &boat.id, end_ms);
        }
        let from_ms = self.start_ms;
        let craft = |id: &str, role: &str, crew: u32, interval_s: f64| {
            BoatTruth::afloat(id, role, crew, from_ms, interval_s)
        };
        let crew = self.habits.class.crew();
        self.truth.boats =
            self.boats.iter().map(|boat| craft(&boat.id, "dinghy", crew, boat.phone.every_s)).collect();
        self.truth.boats.push(craft("S1", "safety", 2, 1.0));
        self.truth.end_ms = end_ms;
        self.truth
    }
}
