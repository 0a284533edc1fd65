//! A twelfth water: a lesson in its phases. A point boat with heading, way and side-slip, crews of every skill, and
//! what they are told to do: sail out, beat to a mark and wait there, go round a triangle, heave to for a talk,
//! practise stopping alone, pick something up, sail home.

mod boat;
mod crew;
mod doing;
mod hands;
mod helm;
mod hull;
mod lesson;
mod mishap;
mod over;
mod phone;
mod safety;
mod stops;
#[cfg(test)]
mod tests;
mod watchkeeping;
mod water;
mod wind;

pub use water::TWELFTH_WATER;
pub(crate) use water::TwelfthWater;

/// Of a step, s.
const STEP_S: f64 = 0.25;
