//! What is heard of a session: phones, safety boats and their vane; and the two files that describe it.

use super::water::{EleventhWater, STEPS_PER_S};
use crate::{
    fleet_file,
    plane::{Vec2, wrap_360},
    sentence, wide_area,
};

/// A vane on a short mast has so much of the wind at 10 m; a guess.
const ON_SHORT_MAST: f64 = 0.88;

impl EleventhWater {
    pub(super) fn phones_speak(&mut self) {
        let (t_s, now_ms) = (self.t_s(), self.now_ms());
        for (ix, (boat, noted)) in self.boats.iter_mut().zip(&mut self.noted).enumerate() {
            // Each at its own moment of the second.
            if !(self.steps + 2 * ix as u32).is_multiple_of(STEPS_PER_S) {
                continue;
            }
            let fix = boat.phone.fix(boat.at, t_s);
            noted.fix(&mut self.truth, &boat.id, fix.is_some(), now_ms);
            let Some(fix) = fix else { continue };
            let (lat, lon) = self.chart.lat_lon(fix.at);
            let line = sentence::rmc(now_ms, lat, lon, fix.speed_mps, fix.course_deg);
            self.under_way.send(&format!("phone-{}", boat.id), now_ms + fix.late_ms, &line);
        }
    }

    pub(super) fn safety_boats_speak(&mut self) {
        let now_ms = self.now_ms();
        for safety in &mut self.safety {
            let dice = &mut safety.dice;
            let at = safety.at + Vec2::new(dice.normal(), dice.normal()) * 1.2;
            let (lat, lon) = self.chart.lat_lon(at);
            let (speed_mps, course_deg) = (safety.velocity.length(), safety.velocity.bearing_deg());
            let course_deg = (speed_mps > 0.2).then_some(course_deg);
            let line = sentence::rmc(now_ms, lat, lon, speed_mps, course_deg);
            self.under_way.send(&safety.id, now_ms + 150, &line);
            if safety.has_vane && self.steps.is_multiple_of(3 * STEPS_PER_S) {
                let wind = self.breeze.at(safety.at);
                let from_deg = wrap_360(wind.from_deg + safety.vane_out_deg + 4.0 * dice.normal());
                let speed_mps = wind.mps * ON_SHORT_MAST * (1.0 + 0.06 * dice.normal()).max(0.0);
                let line = sentence::mwd(from_deg, speed_mps);
                self.under_way.send(&safety.id, now_ms + 150, &line);
            }
        }
    }

    /// `site.geojson`: nothing but an area nobody leaves.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = [0.0, -90.0, 180.0, 90.0, 0.0].into_iter();
        wide_area::site_geojson(&self.chart, "eleventh water", bearings_deg, 6_000.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies =
            self.boats.iter().map(|boat| fleet_file::dinghy(&boat.id, boat.crew, "club dinghy", 4.0));
        dinghies
            .chain(self.safety.iter().map(|safety| fleet_file::safety(&safety.id, &safety.id, 2)))
            .collect()
    }
}
