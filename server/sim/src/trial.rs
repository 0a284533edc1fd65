//! What the tests of several waters need: a whole session, sailed and watched.

use std::{borrow::Borrow, collections::BTreeMap};

use crate::{truth::Truth, waters::Afloat};

/// When sessions begin, Unix ms.
pub(crate) const START_MS: i64 = 1_780_308_000_000;

/// When, Unix ms, and how fast, kn, each second, by boat.
pub(crate) type Speeds = BTreeMap<String, Vec<(i64, f64)>>;

/// A whole session: the truth, the motion as `speeds_kn` has it of each boat, the log.
pub(crate) fn sailed<W: Afloat>(
    mut water: W,
    steps_per_s: i64,
    speeds_kn: impl Fn(&W) -> Vec<(String, f64)>,
) -> (Truth, Speeds, Vec<String>) {
    let (mut speeds, mut lines) = (Speeds::new(), Vec::new());
    let mut steps = 0;
    while !water.is_over() {
        lines.extend(water.step().into_iter().map(|line| line.text));
        steps += 1;
        if steps % steps_per_s == 0 {
            for (id, kn) in speeds_kn(&water) {
                speeds.entry(id).or_default().push((START_MS + steps * 1_000 / steps_per_s, kn));
            }
        }
    }
    (Box::new(water).finish(), speeds, lines)
}

/// The mean; 0 of nothing.
pub(crate) fn mean(of: impl IntoIterator<Item = impl Borrow<f64>>) -> f64 {
    let (sum, n) = of.into_iter().fold((0.0, 0.0), |(sum, n), value| (sum + value.borrow(), n + 1.0));
    sum / f64::max(n, 1.0)
}

/// The speeds of that time.
pub(crate) fn within(speeds: &[(i64, f64)], from_ms: i64, to_ms: i64) -> impl Iterator<Item = f64> {
    speeds.iter().filter(move |(at_ms, _)| (from_ms..to_ms).contains(at_ms)).map(|(_, kn)| *kn)
}
