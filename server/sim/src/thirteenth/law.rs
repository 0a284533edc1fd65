//! How long a thing lasts: the two laws that waiting times mostly follow.

use crate::dice::Dice;

/// A law of durations.
#[derive(Clone, Copy, Debug)]
pub(super) enum Law {
    /// Things done in steps: `shape` steps one after another, `mean_s` in all.
    Gamma { mean_s: f64, shape: f64 },
    /// Things that may drag on: the long ones are much longer than the usual ones.
    LogNormal { median_s: f64, spread: f64 },
}

impl Law {
    pub(super) fn draw(self, dice: &mut Dice) -> f64 {
        match self {
            Law::Gamma { mean_s, shape } => mean_s / shape * gamma(shape, dice),
            Law::LogNormal { median_s, spread } => dice.log_normal(median_s, spread),
        }
    }
}

/// A gamma of scale 1 and a shape of 1 and more (Marsaglia and Tsang 2000).
fn gamma(shape: f64, dice: &mut Dice) -> f64 {
    let d = shape.max(1.0) - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let x = dice.normal();
        let v = (1.0 + c * x).powi(3);
        let u = dice.unit().max(f64::MIN_POSITIVE);
        if v > 0.0 && u.ln() < 0.5 * x * x + d - d * v + d * v.ln() {
            return d * v;
        }
    }
}
