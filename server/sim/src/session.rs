//! A whole session from a seed: the log line by line, then the truth.

use std::collections::VecDeque;

use crate::{
    scenario::SessionPlan,
    sentence::tagged,
    truth::Truth,
    waters::{Afloat, OTHER_WATERS},
    world::World,
};

/// The physics' step, s.
const STEP_S: f64 = 0.2;
/// Every session begins at 10:00 UTC on an invented day: 2026-06-01.
const START_MS: i64 = 1_780_308_000_000;

/// One line of a log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// When it arrived, Unix ms.
    pub arrival_ms: i64,
    /// TAG block and sentence, without the line end.
    pub text: String,
}

/// A session being sailed: an iterator over its log's lines in order of arrival.
#[derive(Debug)]
pub struct Session {
    water: Water,
    ready: VecDeque<Line>,
}

/// Where it is sailed.
#[derive(Debug)]
enum Water {
    First(Box<World>),
    Other(Box<dyn Afloat>),
}

impl Session {
    /// Prepares the session of a scenario (one of [`crate::SCENARIOS`] or of another water's) and seed; `None` for an
    /// unknown name.
    pub fn new(scenario: &str, seed: u64) -> Option<Session> {
        // The scenario's name goes into the chance as well: one seed gives each of them another afternoon.
        let mixed =
            scenario.bytes().fold(seed, |sum, byte| (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
        let others =
            OTHER_WATERS.iter().flat_map(|water| water.scenarios.iter().map(move |name| (water, *name)));
        if let Some((water, name)) = others.into_iter().find(|(_, known)| *known == scenario) {
            let water = Water::Other((water.launch)(name, seed, mixed, START_MS));
            return Some(Session { water, ready: VecDeque::new() });
        }
        let plan = SessionPlan::draw(scenario, mixed)?;
        let mut world = World::new(plan, mixed, START_MS);
        world.truth.seed = seed;
        Some(Session { water: Water::First(Box::new(world)), ready: VecDeque::new() })
    }

    /// `site.geojson`.
    pub fn site_geojson(&self) -> String {
        match &self.water {
            Water::First(world) => world.site_geojson(),
            Water::Other(water) => water.site_geojson(),
        }
    }

    /// `fleet.toml`.
    pub fn fleet_toml(&self) -> String {
        match &self.water {
            Water::First(world) => world.fleet_toml(),
            Water::Other(water) => water.fleet_toml(),
        }
    }

    /// What really happened until now; call it after the last line.
    pub fn truth(self) -> Truth {
        match self.water {
            Water::First(world) => world.finish(),
            Water::Other(water) => water.finish(),
        }
    }
}

impl Iterator for Session {
    type Item = Line;

    fn next(&mut self) -> Option<Line> {
        while self.ready.is_empty() {
            let world = match &mut self.water {
                Water::First(world) => world,
                Water::Other(water) if water.is_over() => return None,
                Water::Other(water) => {
                    self.ready.extend(water.step());
                    continue;
                }
            };
            if world.t_s >= world.plan.lasts_s {
                return None;
            }
            for sent in world.step(STEP_S) {
                for line in &sent.lines {
                    self.ready.push_back(Line {
                        arrival_ms: sent.arrival_ms,
                        text: tagged(&sent.source, sent.arrival_ms, line),
                    });
                }
            }
        }
        self.ready.pop_front()
    }
}
