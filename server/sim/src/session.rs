//! A whole session from a seed: the log line by line, then the truth.

use std::collections::VecDeque;

use crate::{
    fifth::{FIFTH_WATER, FifthWater},
    fourth::{FOURTH_WATER, FourthWater},
    scenario::SessionPlan,
    second::{SECOND_WATER, SecondWater},
    sentence::tagged,
    seventh::{SEVENTH_WATER, SeventhWater},
    sixth::{SIXTH_WATER, SixthWater},
    third::{THIRD_WATER, ThirdWater},
    truth::Truth,
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
#[derive(Clone, Debug)]
pub struct Session {
    water: Water,
    ready: VecDeque<Line>,
}

/// Where it is sailed.
#[derive(Clone, Debug)]
enum Water {
    First(Box<World>),
    Second(Box<SecondWater>),
    Third(Box<ThirdWater>),
    Fourth(Box<FourthWater>),
    Fifth(Box<FifthWater>),
    Sixth(Box<SixthWater>),
    Seventh(Box<SeventhWater>),
}

impl Session {
    /// Prepares the session of a scenario (one of [`crate::SCENARIOS`], [`crate::SECOND_WATER`],
    /// [`crate::THIRD_WATER`], [`crate::FOURTH_WATER`], [`crate::FIFTH_WATER`], [`crate::SIXTH_WATER`] or
    /// [`crate::SEVENTH_WATER`]) and seed; `None` for an unknown name.
    pub fn new(scenario: &str, seed: u64) -> Option<Session> {
        // The scenario's name goes into the chance as well: one seed gives each of them another afternoon.
        let mixed =
            scenario.bytes().fold(seed, |sum, byte| (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
        if let Some(name) = SECOND_WATER.into_iter().find(|known| *known == scenario) {
            let water = SecondWater::new(name, seed, mixed, START_MS);
            return Some(Session { water: Water::Second(Box::new(water)), ready: VecDeque::new() });
        }
        if let Some(name) = THIRD_WATER.into_iter().find(|known| *known == scenario) {
            let water = ThirdWater::new(name, seed, mixed, START_MS);
            return Some(Session { water: Water::Third(Box::new(water)), ready: VecDeque::new() });
        }
        if let Some(name) = FOURTH_WATER.into_iter().find(|known| *known == scenario) {
            let water = FourthWater::new(name, seed, mixed, START_MS);
            return Some(Session { water: Water::Fourth(Box::new(water)), ready: VecDeque::new() });
        }
        if let Some(name) = FIFTH_WATER.into_iter().find(|known| *known == scenario) {
            let water = FifthWater::new(name, seed, mixed, START_MS);
            return Some(Session { water: Water::Fifth(Box::new(water)), ready: VecDeque::new() });
        }
        if let Some(name) = SIXTH_WATER.into_iter().find(|known| *known == scenario) {
            let water = SixthWater::new(name, seed, mixed, START_MS);
            return Some(Session { water: Water::Sixth(Box::new(water)), ready: VecDeque::new() });
        }
        if let Some(name) = SEVENTH_WATER.into_iter().find(|known| *known == scenario) {
            let water = SeventhWater::new(name, seed, mixed, START_MS);
            return Some(Session { water: Water::Seventh(Box::new(water)), ready: VecDeque::new() });
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
            Water::Second(water) => water.site_geojson(),
            Water::Third(water) => water.site_geojson(),
            Water::Fourth(water) => water.site_geojson(),
            Water::Fifth(water) => water.site_geojson(),
            Water::Sixth(water) => water.site_geojson(),
            Water::Seventh(water) => water.site_geojson(),
        }
    }

    /// `fleet.toml`.
    pub fn fleet_toml(&self) -> String {
        match &self.water {
            Water::First(world) => world.fleet_toml(),
            Water::Second(water) => water.fleet_toml(),
            Water::Third(water) => water.fleet_toml(),
            Water::Fourth(water) => water.fleet_toml(),
            Water::Fifth(water) => water.fleet_toml(),
            Water::Sixth(water) => water.fleet_toml(),
            Water::Seventh(water) => water.fleet_toml(),
        }
    }

    /// What really happened until now; call it after the last line.
    pub fn truth(self) -> Truth {
        match self.water {
            Water::First(world) => world.finish(),
            Water::Second(water) => water.finish(),
            Water::Third(water) => water.finish(),
            Water::Fourth(water) => water.finish(),
            Water::Fifth(water) => water.finish(),
            Water::Sixth(water) => water.finish(),
            Water::Seventh(water) => water.finish(),
        }
    }
}

impl Iterator for Session {
    type Item = Line;

    fn next(&mut self) -> Option<Line> {
        while self.ready.is_empty() {
            let world = match &mut self.water {
                Water::First(world) => world,
                Water::Second(water) if water.is_over() => return None,
                Water::Second(water) => {
                    self.ready.extend(water.step());
                    continue;
                }
                Water::Third(water) if water.is_over() => return None,
                Water::Third(water) => {
                    self.ready.extend(water.step());
                    continue;
                }
                Water::Fourth(water) if water.is_over() => return None,
                Water::Fourth(water) => {
                    self.ready.extend(water.step());
                    continue;
                }
                Water::Fifth(water) if water.is_over() => return None,
                Water::Fifth(water) => {
                    self.ready.extend(water.step());
                    continue;
                }
                Water::Sixth(water) if water.is_over() => return None,
                Water::Sixth(water) => {
                    self.ready.extend(water.step());
                    continue;
                }
                Water::Seventh(water) if water.is_over() => return None,
                Water::Seventh(water) => {
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
