//! People in the water away from their boats.

use super::{Sent, World};
use crate::{plane::Vec2, sentence, truth::Overboard};

/// A person in the water.
#[derive(Clone, Debug)]
pub(crate) struct Person {
    pub(crate) at: Vec2,
    pub(crate) boat: usize,
    pub(crate) truth: Overboard,
    beacon: Option<(u32, f64)>,
}

impl World {
    pub(super) fn move_people(&mut self, dt_s: f64) {
        for n in 0..self.people.len() {
            let at = self.people[n].at;
            let (_, wind10, stream) = self.air(at);
            let (from, _) = self.weather.wind10(at);
            // A person in a buoyancy aid drifts at about 1 % of the wind (leeway table, PIW-1).
            let velocity = stream + Vec2::along(from + 180.0, 0.01 * wind10);
            let person = &mut self.people[n];
            person.at += velocity * dt_s;
            let Some((mmsi, next_s)) = person.beacon else { continue };
            if self.t_s < next_s || person.truth.end_ms.is_some() {
                continue;
            }
            // Bursts once a minute (from memory in the reference); the first of each is enough here.
            person.beacon = Some((mmsi, next_s + 60.0));
            let (lat, lon) = self.site.chart.lat_lon(person.at);
            let said = sentence::AisPosition {
                mmsi,
                lat,
                lon,
                speed_mps: velocity.length(),
                course_deg: velocity.bearing_deg(),
                taken_ms: 0,
            };
            let line = sentence::ais_beacon(&said);
            let arrival_ms = self.now_ms() + 400;
            self.put_on_air(
                usize::MAX,
                Sent { arrival_ms, source: "ais".into(), lines: vec![line], fix: None },
            );
        }
    }

    /// A person falls out of boat `i`; some wear a beacon.
    pub(crate) fn person_falls(&mut self, i: usize, with_beacon: bool) {
        let now = self.now_ms();
        let beacon_s = self.t_s + self.dice.between(10.0, 30.0);
        let beacon =
            with_beacon.then(|| (972_000_000 + 1000 * (self.people.len() as u32 + 1) + i as u32, beacon_s));
        let truth = Overboard {
            boat: self.sailors[i].id.clone(),
            start_ms: now,
            end_ms: None,
            beacon_ms: beacon.map(|(_, at_s)| self.start_ms + (at_s * 1000.0) as i64),
        };
        let at = self.sailors[i].dinghy.at;
        self.people.push(Person { at, boat: i, truth, beacon });
    }
}
