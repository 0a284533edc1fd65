//! What is told of the session: the log's lines, the files beside it, and the truth.

use super::water::{LASTS_S, STEPS_PER_S, TenthWater};
use crate::{
    fleet_file, sentence,
    truth::{BoatTruth, Truth},
    wide_area,
};

const CREW: u32 = 2;

impl TenthWater {
    pub(super) fn speak(&mut self) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        for (ix, (boat, noted)) in self.boats.iter_mut().zip(&mut self.noted).enumerate() {
            // Each phone has a quarter of the second of its own.
            if !(self.steps + ix as u32).is_multiple_of(STEPS_PER_S) {
                continue;
            }
            let told = boat.phone.fix(boat.motion.at, t_s);
            noted.fix(&mut self.truth, &boat.id, told.is_some(), now_ms);
            let Some(told) = told else { continue };
            let (lat, lon) = self.chart.lat_lon(told.at);
            let line = sentence::rmc(now_ms, lat, lon, told.speed_mps, told.course_deg);
            self.under_way.send(&format!("phone-{}", boat.id), now_ms + told.late_ms, &line);
        }
        if self.steps.is_multiple_of(STEPS_PER_S) {
            let wind = self.air.wind();
            for safety in &mut self.safety {
                for line in safety.speak(now_ms, self.steps / STEPS_PER_S, &self.chart, wind) {
                    self.under_way.send(&safety.name, now_ms + 150, &line);
                }
            }
        }
    }

    /// `site.geojson`: a sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = [30.0, -60.0, -150.0, 120.0, 30.0].into_iter();
        wide_area::site_geojson(&self.chart, "tenth water", bearings_deg, 5_500.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies = self
            .boats
            .iter()
            .map(|boat| fleet_file::dinghy(&boat.id, CREW, "club boat", self.habits.hull.waterline_m));
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
