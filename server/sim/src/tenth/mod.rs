//! A tenth water, on which every session is a world of its own: what hulls do, what crews do and what phones tell are
//! drawn anew for each, from ranges as wide as is believable. The mechanics are simple, and the same for all.

mod air;
mod boat;
mod course;
mod doing;
mod habits;
mod happen;
mod helm;
mod hull;
mod motion;
mod over;
mod phone;
mod rescue;
mod safety;
mod stops;
mod tell;
#[cfg(test)]
mod tests;
mod water;
mod wishes;

use crate::dice::Dice;

pub use water::TENTH_WATER;
pub(crate) use water::TenthWater;

/// Of a step, s.
const STEP_S: f64 = 0.25;

/// From a range, as likely to be in its lower half by ratio as in its upper one.
fn widely(dice: &mut Dice, low: f64, high: f64) -> f64 {
    low * (high / low).powf(dice.unit())
}

/// One of so many, each as likely as its weight says.
fn weighed(dice: &mut Dice, weights: &[f64]) -> usize {
    let mut left = dice.unit() * weights.iter().sum::<f64>();
    for (ix, weight) in weights.iter().enumerate() {
        left -= weight;
        if left < 0.0 {
            return ix;
        }
    }
    weights.len().saturating_sub(1)
}
