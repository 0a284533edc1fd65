//! A thirteenth water, as a modeller would write one to check a watch by: each boat is an intention that changes
//! at random times (a semi-Markov chain) and a motion that follows it with a damped response and noise that
//! remembers itself. Gusts are fronts that cross the fleet, so that several boats feel one after another.

mod boat;
mod chain;
mod crew;
mod guard;
mod hull;
mod intent;
mod law;
mod motion;
mod over;
mod phone;
mod safety;
#[cfg(test)]
mod tests;
mod water;
mod weather;

pub use water::THIRTEENTH_WATER;
pub(crate) use water::ThirteenthWater;

/// Of a step, s.
const STEP_S: f64 = 0.25;
