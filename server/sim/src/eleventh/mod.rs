//! An eleventh water, the smallest honest season: a point with a speed and a heading for each boat, a list of
//! states with so many an hour and lengths that are drawn, gusts that cross the fleet, phones that err.

mod boat;
mod breeze;
mod course;
mod over;
mod phone;
mod safety;
mod speed;
mod spoken;
mod state;
mod stop;
#[cfg(test)]
mod tests;
mod watchers;
mod water;
mod wish;

pub use water::ELEVENTH_WATER;
pub(crate) use water::EleventhWater;

/// Length of a step, s.
const STEP_S: f64 = 0.2;
