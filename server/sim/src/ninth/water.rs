//! The session: everything afloat, moment by moment.

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

use super::{
    boat::{Around, Boat},
    company::{Call, Group},
    day::Day,
    people::Club,
    phone::Phone,
    rib::Rib,
};

/// The scenarios of the ninth water.
pub const NINTH_WATER: [&str; 5] = ["ninth-basin", "ninth-squalls", "ninth-ebb", "ninth-mute", "ninth-idle"];
/// Length of a session, s.
const LASTS_S: f64 = 3_600.0;
pub(super) const STEP_S: f64 = 0.25;
const STEPS_PER_S: u32 = 4;
const CREW: u32 = 2;

#[derive(Clone, Debug)]
pub(crate) struct NinthWater {
    pub(super) club: Club,
    chart: Chart,
    start_ms: i64,
    steps: u32,
    pub(super) day: Day,
    pub(super) groups: Vec<Group>,
    pub(super) boats: Vec<Boat>,
    pub(super) noted: Vec<Noted>,
    pub(super) ribs: Vec<Rib>,
    /// Boats that are over and will be gone to.
    pub(super) calls: Vec<Call>,
    pub(super) dice: Dice,
    under_way: UnderWay,
    pub(super) truth: Truth,
}

impl NinthWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> NinthWater {
        let mut dice = Dice::new(mixed, "ninth water", 0);
        let day = Day::draw(scenario, Dice::new(mixed, "ninth day", 0));
        let club = Club::draw(scenario == "ninth-squalls", &mut dice);
        let fleet = 10 + dice.pick(6);
        let groups: Vec<Group> = Group::draw(2 + dice.pick(2), day.venue().from_deg, &mut dice);
        let boats: Vec<Boat> = (0..fleet)
            .map(|ix| {
                let group = ix % groups.len().max(1);
                let near = Vec2::along(dice.between(0.0, 360.0), dice.between(5.0, 60.0));
                let at = groups.get(group).map_or(near, |group| group.middle + near);
                let phone = Phone::draw(Dice::new(mixed, "ninth phone", ix));
                Boat::draw(ix, group, at, &club, phone, Dice::new(mixed, "ninth boat", ix))
            })
            .collect();
        let has_vane = scenario != "ninth-mute";
        let ribs = (0..1 + dice.pick(2))
            .map(|ix| Rib::draw(ix, has_vane && ix == 0, Dice::new(mixed, "ninth rib", ix)))
            .collect();
        NinthWater {
            club,
            chart: Chart::at(dice.between(-50.0, 62.0), dice.between(-170.0, 170.0)),
            start_ms,
            steps: 0,
            day,
            groups,
            noted: vec![Noted::default(); boats.len()],
            boats,
            ribs,
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

    /// A quarter of a second; gives the lines that arrived in it.
    pub(crate) fn step(&mut self) -> Vec<Line> {
        if self.t_s() < LASTS_S {
            self.blow();
            self.gather();
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
        self.day.step(STEP_S);
        if self.steps.is_multiple_of(10 * STEPS_PER_S) {
            let venue = self.day.venue();
            self.truth.wind.push(WindTruth::of(
                self.now_ms(),
                venue.from_deg,
                venue.speed_mps,
                self.day.stream,
            ));
        }
    }

    fn sail(&mut self, ix: usize) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        let leader = self.leader_of(ix);
        let held_by = self.ribs.iter().find(|rib| rib.holds() == Some(ix));
        let boat = &mut self.boats[ix];
        let here = self.day.at(boat.hull.at);
        let around = Around {
            t_s,
            dt_s: STEP_S,
            wind: here.at_sail(self.day.stream),
            air: here.vector() - self.day.stream,
            stream: self.day.stream,
            exercise: &self.groups[boat.group].exercise,
            leader,
            held_by: held_by.map(|rib| (rib.at, rib.moves)),
        };
        let was_over = boat.is_over();
        boat.step(&around);
        // The water of a deep wave goes round with pi times its height in a period.
        let orbit_mps = std::f64::consts::PI * self.day.wave_m / self.day.wave_s;
        let wave = (around.air.unit() * orbit_mps, self.day.wave_s);
        let is_over = boat.is_over();
        boat.phone.watch(boat.hull.way + self.day.stream, wave, is_over, STEP_S);
        self.noted[ix].step(&mut self.truth, &boat.seen(around.wind), now_ms);
        if is_over && !was_over {
            self.call(ix, t_s);
        }
    }

    fn speak(&mut self) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        for (ix, (boat, noted)) in self.boats.iter_mut().zip(&mut self.noted).enumerate() {
            // Phones do not tell at the same moment.
            if !(self.steps + ix as u32).is_multiple_of(STEPS_PER_S) {
                continue;
            }
            let told = boat.phone.fix(boat.hull.at, t_s);
            noted.fix(&mut self.truth, &boat.id, told.is_some(), now_ms);
            let Some(told) = told else { continue };
            let (lat, lon) = self.chart.lat_lon(told.at);
            let line = sentence::rmc(now_ms, lat, lon, told.speed_mps, told.course_deg);
            self.under_way.send(&format!("phone-{}", boat.id), now_ms + told.late_ms, &line);
        }
        if self.steps.is_multiple_of(STEPS_PER_S) {
            for rib in &mut self.ribs {
                let wind = self.day.at(rib.at).on_a_pole();
                for line in rib.speak(now_ms, &self.chart, wind) {
                    self.under_way.send(&rib.name, now_ms + 180, &line);
                }
            }
        }
    }

    /// `site.geojson`: a sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = [45.0, -45.0, -135.0, 135.0, 45.0].into_iter();
        wide_area::site_geojson(&self.chart, "ninth water", bearings_deg, 5_000.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies = self
            .boats
            .iter()
            .map(|boat| fleet_file::dinghy(&boat.id, CREW, boat.class.name, boat.class.waterline_m));
        dinghies.chain(self.ribs.iter().map(|rib| fleet_file::safety(&rib.name, &rib.name, 2))).collect()
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
        self.truth.boats.extend(self.ribs.iter().map(|rib| craft(&rib.name, "safety")));
        self.truth.end_ms = end_ms;
        self.truth
    }
}
