//! The session: everything afloat, moment by moment.

use crate::{
    dice::Dice,
    fleet_file,
    notes::Noted,
    plane::{Chart, Vec2},
    sentence,
    session::Line,
    truth::{BoatTruth, Reason, Truth, WindTruth},
    under_way::UnderWay,
    wide_area,
};

use super::{
    air::Air,
    boat::{Around, Boat, Doing},
    club::Club,
    phone::Phone,
    rib::{Rib, Task},
};

/// The scenarios of the seventh water.
pub const SEVENTH_WATER: [&str; 5] =
    ["seventh-trade", "seventh-gusty", "seventh-stream", "seventh-no-vane", "seventh-light"];
/// Length of a session, s.
const LASTS_S: f64 = 3_600.0;
pub(super) const STEP_S: f64 = 0.25;
const STEPS_PER_S: u32 = 4;
const CREW: u32 = 2;

#[derive(Clone, Debug)]
pub(crate) struct SeventhWater {
    pub(super) club: Club,
    chart: Chart,
    start_ms: i64,
    steps: u32,
    pub(super) air: Air,
    pub(super) stream: Vec2,
    pub(super) boats: Vec<Boat>,
    pub(super) noted: Vec<Noted>,
    pub(super) ribs: Vec<Rib>,
    /// Boats that are over and will be gone to, and when.
    pub(super) called: Vec<(f64, usize)>,
    pub(super) dice: Dice,
    under_way: UnderWay,
    pub(super) truth: Truth,
}

impl SeventhWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> SeventhWater {
        let mut dice = Dice::new(mixed, "seventh water", 0);
        let air = Air::draw(scenario, LASTS_S, Dice::new(mixed, "seventh air", 0));
        let from_deg = air.venue().from_deg;
        let stream = match scenario {
            // Against the wind, more or less: it goes to where the wind comes from.
            "seventh-stream" => Vec2::along(from_deg + dice.between(-40.0, 40.0), dice.between(0.15, 0.5)),
            _ => Vec2::along(dice.between(0.0, 360.0), dice.between(0.0, 0.12)),
        };
        let fleet = 10 + dice.pick(5);
        let boats: Vec<Boat> = (0..fleet)
            .map(|ix| {
                let phone = Phone::draw(Dice::new(mixed, "seventh phone", ix));
                Boat::draw(ix, fleet, from_deg, phone, Dice::new(mixed, "seventh boat", ix))
            })
            .collect();
        let has_vane = scenario != "seventh-no-vane";
        let says_true = dice.chance(0.8);
        let ribs = (0..1 + dice.pick(2))
            .map(|ix| Rib::draw(ix, has_vane && ix == 0, says_true, Dice::new(mixed, "seventh rib", ix)))
            .collect();
        SeventhWater {
            club: Club::draw(&mut dice),
            chart: Chart::at(dice.between(-48.0, 61.0), dice.between(-170.0, 170.0)),
            start_ms,
            steps: 0,
            air,
            stream,
            noted: vec![Noted::default(); boats.len()],
            boats,
            ribs,
            called: Vec::new(),
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
            let fleet: Vec<Vec2> = self.boats.iter().map(|boat| boat.at).collect();
            for ix in 0..self.boats.len() {
                self.sail(ix, &fleet);
            }
            self.stand_by();
            self.speak();
        }
        self.steps += 1;
        let now_ms = self.now_ms();
        self.under_way.arrived(now_ms)
    }

    fn blow(&mut self) {
        self.air.step(STEP_S);
        if self.steps.is_multiple_of(10 * STEPS_PER_S) {
            let venue = self.air.venue();
            self.truth.wind.push(WindTruth::of(self.now_ms(), venue.from_deg, venue.speed_mps, self.stream));
        }
    }

    fn sail(&mut self, ix: usize, fleet: &[Vec2]) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        let tow = self.ribs.iter().find(|rib| matches!(rib.task, Task::Tows { boat, .. } if boat == ix));
        let boat = &mut self.boats[ix];
        let around = Around {
            t_s,
            dt_s: STEP_S,
            wind: self.air.at(boat.at).over(self.stream),
            stream: self.stream,
            club: &self.club,
            fleet,
            tow: tow.map(|rib| rib.at),
        };
        let (was_over, waited) = (boat.is_over(), boat.stops_for() == Some(Reason::Waiting));
        boat.step(&around);
        let talked_to = |rib: &Rib| matches!(rib.task, Task::Talks { boat } if boat == ix);
        if let Some(rib) = self.ribs.iter().find(|rib| talked_to(rib))
            && boat.is_sailing()
            && (rib.at - boat.at).length() < 35.0
        {
            boat.stops(Reason::Rafted, &around);
        }
        boat.phone.watch(boat.through() + self.stream, STEP_S);
        self.noted[ix].step(&mut self.truth, &boat.seen(around.wind.from_deg), now_ms);
        let needs_help = matches!(&boat.doing, Doing::IsOver(over) if over.needs_help);
        let (is_over, waits) = (boat.is_over(), boat.stops_for() == Some(Reason::Waiting));
        if is_over && !was_over && (needs_help || self.dice.chance(self.club.attends)) {
            self.called.push((t_s + self.dice.log_normal(40.0, 0.6), ix));
        }
        if waits && !waited {
            self.gather(ix, t_s);
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
            for rib in &mut self.ribs {
                let wind = self.air.at(rib.at);
                for line in rib.speak(now_ms, self.steps / STEPS_PER_S, &self.chart, wind) {
                    self.under_way.send(&rib.name, now_ms + 150, &line);
                }
            }
        }
    }

    /// `site.geojson`: a sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = [45.0, -45.0, -135.0, 135.0, 45.0].into_iter();
        wide_area::site_geojson(&self.chart, "seventh water", bearings_deg, 5_000.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies = self
            .boats
            .iter()
            .map(|boat| fleet_file::dinghy(&boat.id, CREW, "school dinghy", boat.own.waterline_m));
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
