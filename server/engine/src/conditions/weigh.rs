//! From signs to a probability: each sign adds its weight of evidence to the ln odds of a capsize.
//!
//! An additive model (weights of evidence, Good 1950; fitted as a penalised logistic regression,
//! Eilers and Marx 1996): the weight of a sign is a broken line over its value, held beyond its
//! ends, so that no reading outside what was ever seen can shout. Unknown signs have a weight too.

use super::{
    signs::{Sense, StopSeen},
    weights::{BLIND, FELT, SPARSE},
};

/// One sign's broken line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Weight {
    /// Of which sign.
    pub sign: &'static str,
    /// Value and ln odds, values ascending.
    pub points: &'static [(f64, f64)],
    /// ln odds when the sign is not known.
    pub unknown: f64,
}

impl Weight {
    fn of(&self, value: f64) -> f64 {
        if value.is_nan() {
            return self.unknown;
        }
        let Some(&first) = self.points.first() else { return 0.0 };
        let mut last = first;
        for &(at, ln_odds) in self.points {
            if value < at {
                let span = at - last.0;
                let share = if span > 0.0 { (value - last.0) / span } else { 0.0 };
                return last.1 + share.max(0.0) * (ln_odds - last.1);
            }
            last = (at, ln_odds);
        }
        last.1
    }
}

/// The weights of every sign, and the ln odds before any is looked at.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scale {
    /// ln odds that a boat which lost her way is capsized.
    pub before: f64,
    /// In the order of the signs' names.
    pub weights: &'static [Weight],
}

fn scale(seen: &StopSeen) -> &'static Scale {
    match seen.sense {
        Sense::Blind => &BLIND,
        Sense::Felt => &FELT,
        Sense::Sparse => &SPARSE,
    }
}

/// What each sign adds to the ln odds of a capsize, by its name.
pub fn weighed(seen: &StopSeen) -> impl Iterator<Item = (&'static str, f64)> {
    scale(seen).weights.iter().zip(&seen.values).map(|(weight, &value)| (weight.sign, weight.of(value)))
}

/// The probability that she is capsized, given what is seen.
pub(crate) fn probability(seen: &StopSeen) -> f64 {
    let evidence: f64 = weighed(seen).map(|(_, ln_odds)| ln_odds).sum();
    1.0 / (1.0 + (-(scale(seen).before + evidence)).exp())
}

/// A probability after evidence of ln likelihood ratio `ln_ratio` more.
pub(crate) fn told_more(probability: f64, ln_ratio: f64) -> f64 {
    let ratio = ln_ratio.exp();
    probability * ratio / (1.0 - probability + probability * ratio)
}

#[cfg(test)]
mod tests {
    use super::{super::signs::NAMES, *};

    #[test]
    fn a_weight_is_a_line_between_its_points_and_held_beyond() {
        let weight = Weight { sign: "", points: &[(0.0, -1.0), (2.0, 1.0), (3.0, 1.5)], unknown: 0.25 };
        for (value, expected) in
            [(-5.0, -1.0), (0.0, -1.0), (0.5, -0.5), (2.0, 1.0), (2.5, 1.25), (9.0, 1.5), (f64::NAN, 0.25)]
        {
            assert!((weight.of(value) - expected).abs() < 1e-12, "{value}");
        }
    }

    #[test]
    fn every_line_ascends_and_no_sign_alone_decides() {
        for (weight, name) in [BLIND, FELT, SPARSE].iter().flat_map(|scale| scale.weights.iter().zip(NAMES)) {
            assert_eq!(weight.sign, name);
            assert!(weight.points.windows(2).all(|pair| pair[0].0 < pair[1].0), "{name}");
            assert!(weight.points.iter().all(|point| point.1.abs() < 5.0), "{name}");
        }
    }
}
