//! What boats do for each other: they wait together, and safety boats come to them.

use crate::{plane::Vec2, truth::Reason};

use super::{
    boat::Doing,
    rib::Task,
    water::{STEP_S, SeventhWater},
};

/// Boats closer than this may wait together, m.
const TOGETHER_M: f64 = 80.0;
/// As close as this counts as having come to a capsized boat, m (`TRUTH.md`).
const ATTENDED_M: f64 = 15.0;

impl SeventhWater {
    /// Boats near one that waits may stop as well.
    pub(super) fn gather(&mut self, ix: usize, t_s: f64) {
        let at = self.boats[ix].at;
        for boat in &mut self.boats {
            let near = boat.is_sailing() && (boat.at - at).length() < TOGETHER_M;
            if near && self.dice.chance(self.club.joins) {
                boat.joins_s = t_s + self.dice.between(2.0, 40.0);
            }
        }
    }

    pub(super) fn stand_by(&mut self) {
        let t_s = self.t_s();
        self.called.retain(|&(at_s, ix)| {
            let free = self.ribs.iter_mut().find(|rib| t_s >= at_s && rib.is_free());
            let goes = self.boats[ix].is_over() && free.is_some();
            if let Some(rib) = free.filter(|_| goes) {
                rib.task = Task::Helps { boat: ix };
            }
            self.boats[ix].is_over() && !goes
        });
        let rafts_per_h = self.club.stops_per_h.iter().find(|(reason, _)| *reason == Reason::Rafted);
        let talks_per_h = rafts_per_h.map_or(0.0, |(_, per_h)| per_h * self.boats.len() as f64);
        if self.dice.happens(talks_per_h, STEP_S) {
            let ix = self.dice.pick(self.boats.len());
            let free = self.ribs.iter_mut().find(|rib| rib.is_free());
            if let Some(rib) = free.filter(|_| self.boats[ix].is_sailing()) {
                rib.task = Task::Talks { boat: ix };
            }
        }
        let moves: Vec<(Vec2, Vec2)> =
            self.boats.iter().map(|boat| (boat.at, boat.through() + self.stream)).collect();
        for rib in &mut self.ribs {
            let wind = self.air.at(rib.at);
            rib.step(t_s, STEP_S, &moves, wind, self.stream);
        }
        for ix in 0..self.ribs.len() {
            self.attend(ix, t_s);
        }
    }

    /// What a safety boat does for the one it has gone to.
    fn attend(&mut self, rib: usize, t_s: f64) {
        let rib = &mut self.ribs[rib];
        for (boat, noted) in self.boats.iter().zip(&self.noted) {
            if boat.is_over()
                && (boat.at - rib.at).length() < ATTENDED_M
                && let Some(capsize) = noted.capsize.and_then(|at| self.truth.capsizes.get_mut(at))
            {
                capsize.attended = true;
            }
        }
        let lies = Task::Lies { until_s: t_s + 20.0 };
        match rib.task {
            Task::Helps { boat: ix } => {
                let boat = &mut self.boats[ix];
                if boat.is_over() {
                    let came = (boat.at - rib.at).length() < 8.0;
                    if came && self.dice.happens(90.0, STEP_S) {
                        boat.is_helped(t_s, self.dice.log_normal(35.0, 0.6));
                    }
                } else if matches!(boat.doing, Doing::Bails(_)) {
                    if self.dice.happens(self.club.tows * 60.0, STEP_S) {
                        let to = rib.at + Vec2::along(self.dice.between(0.0, 360.0), 400.0);
                        rib.task = Task::Tows { boat: ix, to, until_s: t_s + self.dice.between(60.0, 240.0) };
                        boat.begins(Doing::IsTowed);
                    }
                } else {
                    rib.task = lies;
                }
            }
            Task::Talks { boat: ix } => {
                let boat = &self.boats[ix];
                let other = !boat.is_sailing() && boat.stops_for() != Some(Reason::Rafted);
                let done = matches!(&boat.doing, Doing::Stops(stop) if stop.sheets_in_s.is_some());
                if other || done {
                    rib.task = lies;
                }
            }
            Task::Tows { until_s, .. } if t_s > until_s => rib.task = lies,
            _ => {}
        }
    }
}
