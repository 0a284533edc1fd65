//! An eighth water, as plain as a season can be written: boats that follow a speed table with a lag, stops and turns
//! as short phases that last as long as was drawn, and a list of things that happen to beginners so often an hour.

mod boat;
mod course;
mod deed;
mod guard;
mod happen;
mod helm;
mod motion;
mod over;
mod phone;
mod polar;
mod rescue;
mod stop;
#[cfg(test)]
mod tests;
mod water;
mod wind;

pub use water::EIGHTH_WATER;
pub(crate) use water::EighthWater;

/// Of a step, s.
const STEP_S: f64 = 0.25;
