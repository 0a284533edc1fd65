//! From signs to a probability: each sign adds its weight of evidence to the ln odds of a capsize.
//!
//! An additive model (weights of evidence, Good 1950; fitted as a penalised logistic regression,
//! Eilers and Marx 1996): the weight of a sign is a broken line over its value, held beyond its
//! ends, so that no reading outside what was ever seen can shout. Unknown signs have a weight too.
//! What several signs say together and none alone is said by trees of questions (gradient boosting, Friedman
//! 2001), each a little; where less was seen, by small tables over two of them (an additive model with pairs: Lou,
//! Caruana, Gehrke and Hooker 2013).

use super::{
    signs::{SIGNS, Sense, StopSeen},
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
    /// What several signs say together.
    pub together: Together,
}

/// What signs say together and none alone.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Together {
    /// Nothing: too little was seen to learn it.
    Nothing,
    /// Tables over two signs each.
    Pairs {
        /// For each sign the values at which the tables have a line, ascending; empty: in no pair.
        lines: &'static [&'static [f64]],
        /// The tables.
        pairs: &'static [Pair],
    },
    /// Trees of questions.
    Trees {
        /// For each sign the values between its classes, ascending.
        bounds: &'static [&'static [f64]],
        /// The trees.
        trees: &'static [Tree],
    },
}

/// What several signs say together beyond what each says alone: one question after the other, each about the class of
/// one sign.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tree {
    /// A sign by its place among the names, the last class that goes the first way, and where each of the two ways
    /// leads: to a question further down, or from [`ENDS_FROM`] on to an end.
    pub asks: &'static [[u8; 4]],
    /// ln odds at each end, in thousandths.
    pub says: &'static [i16],
}

/// Numbers from this on are ends.
const ENDS_FROM: u8 = 128;

/// 0: not known; else one more than the bounds at or below it.
fn class(bounds: &[f64], value: f64) -> u8 {
    let below = bounds.partition_point(|&bound| bound <= value);
    if value.is_nan() { 0 } else { u8::try_from(below + 1).unwrap_or(u8::MAX) }
}

impl Tree {
    /// What it says where signs have these classes; each sign that is asked is told with `asked`.
    fn at(&self, classes: &[u8; SIGNS], mut asked: impl FnMut(usize)) -> f64 {
        let mut next = 0;
        // Every answer leads further down, so this ends.
        while let Some(&[sign, last, first, second]) = self.asks.get(usize::from(next)) {
            let sign = usize::from(sign);
            asked(sign);
            next = if classes.get(sign).is_some_and(|class| *class <= last) { first } else { second };
        }
        let end = usize::from(next.saturating_sub(ENDS_FROM));
        self.says.get(end).map_or(0.0, |thousandths| f64::from(*thousandths) / 1e3)
    }
}

/// What two signs say together beyond what each says alone.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pair {
    /// Which signs, by their place among the names.
    pub of: (usize, usize),
    /// ln odds where a line of the first (rows) crosses one of the second (columns), row by row; each has
    /// one line more, for a sign that is not known. Between lines both ways in proportion.
    pub ln_odds: &'static [f64],
}

/// Where a value lies among lines: the lower one and the share of the way to the next.
#[derive(Clone, Copy)]
struct Spot {
    line: usize,
    share: f64,
}

fn spot(lines: &[f64], value: f64) -> Spot {
    let (Some(&first), Some(&last)) = (lines.first(), lines.last()) else {
        return Spot { line: 0, share: 0.0 };
    };
    if value.is_nan() {
        return Spot { line: lines.len(), share: 0.0 };
    }
    let value = value.clamp(first, last);
    let line = lines.partition_point(|&line| line <= value).saturating_sub(1);
    let share = match (lines.get(line), lines.get(line + 1)) {
        (Some(&low), Some(&high)) if high > low => (value - low) / (high - low),
        _ => 0.0,
    };
    Spot { line, share }
}

impl Pair {
    /// `columns`: how many lines the second sign has, the one for not known among them.
    fn at(&self, row: Spot, column: Spot, columns: usize) -> f64 {
        let one =
            |row: usize, column: usize| self.ln_odds.get(row * columns + column).copied().unwrap_or(0.0);
        let along = |row: usize| {
            let here = one(row, column.line);
            if column.share > 0.0 { here + column.share * (one(row, column.line + 1) - here) } else { here }
        };
        let here = along(row.line);
        if row.share > 0.0 { here + row.share * (along(row.line + 1) - here) } else { here }
    }
}

fn scale(seen: &StopSeen) -> &'static Scale {
    match seen.sense {
        Sense::Blind => &BLIND,
        Sense::Felt => &FELT,
        Sense::Sparse => &SPARSE,
    }
}

fn spots(lines: &[&[f64]], values: &[f64; SIGNS]) -> [Spot; SIGNS] {
    let mut spots = [Spot { line: 0, share: 0.0 }; SIGNS];
    for ((place, lines), &value) in spots.iter_mut().zip(lines).zip(values) {
        *place = spot(lines, value);
    }
    spots
}

fn classes(bounds: &[&[f64]], values: &[f64; SIGNS]) -> [u8; SIGNS] {
    let mut classes = [0; SIGNS];
    for ((place, bounds), &value) in classes.iter_mut().zip(bounds).zip(values) {
        *place = class(bounds, value);
    }
    classes
}

impl Together {
    /// What they say in all, ln odds.
    fn say(self, values: &[f64; SIGNS]) -> f64 {
        match self {
            Together::Nothing => 0.0,
            Together::Pairs { .. } => {
                let mut all = 0.0;
                self.tell(values, |_, said| all += said);
                all
            }
            Together::Trees { bounds, trees } => {
                let classes = classes(bounds, values);
                trees.iter().map(|tree| tree.at(&classes, |_| ())).sum()
            }
        }
    }

    /// Tells what each table or tree says, with the signs that it is about.
    fn tell(self, values: &[f64; SIGNS], mut tell: impl FnMut(&[usize], f64)) {
        match self {
            Together::Nothing => (),
            Together::Pairs { lines, pairs } => {
                let spots = spots(lines, values);
                for pair in pairs {
                    let (row, column) = pair.of;
                    tell(&[row, column], pair.at(spots[row], spots[column], lines[column].len() + 1));
                }
            }
            Together::Trees { bounds, trees } => {
                let classes = classes(bounds, values);
                let mut asked = Vec::with_capacity(SIGNS);
                for tree in trees {
                    asked.clear();
                    let said = tree.at(&classes, |sign| asked.push(sign));
                    tell(&asked, said);
                }
            }
        }
    }
}

/// What each sign adds to the ln odds of a capsize, by its name; what several say together is told in equal parts by each.
pub fn weighed(seen: &StopSeen) -> impl Iterator<Item = (&'static str, f64)> {
    let scale = scale(seen);
    let mut shares = [0.0; SIGNS];
    for ((share, weight), &value) in shares.iter_mut().zip(scale.weights).zip(&seen.values) {
        *share = weight.of(value);
    }
    scale.together.tell(&seen.values, |signs, said| {
        for &sign in signs {
            if let Some(share) = shares.get_mut(sign) {
                *share += said / signs.len() as f64;
            }
        }
    });
    scale.weights.iter().map(|weight| weight.sign).zip(shares)
}

/// The probability that she is capsized, given what is seen and what the seconds say in their order, ln odds.
///
/// Where no heel is told, both are believed as much: on water that neither had met each told what the other did not.
pub(crate) fn probability(seen: &StopSeen, seconds_ln: Option<f64>) -> f64 {
    let scale = scale(seen);
    let alone: f64 = scale.weights.iter().zip(&seen.values).map(|(weight, &value)| weight.of(value)).sum();
    let signs_ln = scale.before + alone + scale.together.say(&seen.values);
    let ln_odds = match seconds_ln.filter(|_| seen.sense == Sense::Blind) {
        Some(seconds_ln) => (signs_ln + seconds_ln) / 2.0,
        None => signs_ln,
    };
    1.0 / (1.0 + (-ln_odds).exp())
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
    fn a_tree_asks_one_sign_after_the_other() {
        let tree = Tree { asks: &[[0, 1, 128, 1], [2, 0, 129, 130]], says: &[-500, 250, 1_000] };
        let bounds = [0.5, 2.0];
        for (first, third, expected) in [
            (0.4, 9.0, -0.5),
            (f64::NAN, 9.0, -0.5),
            (0.5, f64::NAN, 0.25),
            (9.0, -9.0, 1.0),
            (9.0, 9.0, 1.0),
        ] {
            let mut classes = [0; SIGNS];
            (classes[0], classes[2]) = (class(&bounds, first), class(&bounds, third));
            let mut asked = Vec::new();
            let said = tree.at(&classes, |sign| asked.push(sign));
            assert!((said - expected).abs() < 1e-12, "{first} {third}: {said}");
            assert_eq!(asked.len(), if expected < 0.0 { 1 } else { 2 });
        }
        assert!(Tree { asks: &[], says: &[300] }.at(&[0; SIGNS], |_| ()) > 0.0, "no question, one end");
    }

    #[test]
    fn a_pair_is_level_between_its_lines_and_held_beyond() {
        let (rows, columns) = ([0.0, 2.0], [10.0, 20.0]);
        let pair = Pair { of: (0, 1), ln_odds: &[0.0, 1.0, 5.0, 2.0, 3.0, 6.0, 7.0, 8.0, 9.0] };
        for (row, column, expected) in [
            (0.0, 10.0, 0.0),
            (1.0, 10.0, 1.0),
            (1.0, 15.0, 1.5),
            (9.0, 99.0, 3.0),
            (-9.0, 20.0, 1.0),
            (f64::NAN, 15.0, 7.5),
            (1.0, f64::NAN, 5.5),
            (f64::NAN, f64::NAN, 9.0),
        ] {
            let got = pair.at(spot(&rows, row), spot(&columns, column), 3);
            assert!((got - expected).abs() < 1e-12, "{row} {column}: {got}");
        }
    }

    #[test]
    fn every_pair_has_a_value_wherever_two_lines_cross() {
        for scale in [BLIND, FELT, SPARSE] {
            let Together::Pairs { lines, pairs } = scale.together else { continue };
            for pair in pairs {
                let (row, column) = pair.of;
                let crossings = (lines[row].len() + 1) * (lines[column].len() + 1);
                assert_eq!(pair.ln_odds.len(), crossings, "{} and {}", NAMES[row], NAMES[column]);
                assert!(pair.ln_odds.iter().all(|ln_odds| ln_odds.abs() < 5.0));
            }
            assert!(lines.iter().all(|lines| lines.is_sorted()));
        }
    }

    #[test]
    fn every_answer_leads_further_down_or_to_an_end_of_its_own() {
        for scale in [BLIND, FELT, SPARSE] {
            let Together::Trees { bounds, trees } = scale.together else { continue };
            assert!(bounds.iter().all(|bounds| bounds.is_sorted() && bounds.len() < 255));
            for tree in trees {
                let mut ends = Vec::new();
                for (number, [sign, last, first, second]) in tree.asks.iter().enumerate() {
                    let classes = bounds[usize::from(*sign)].len();
                    assert!(usize::from(*last) <= classes, "one class at least goes the second way");
                    for way in [first, second].map(|way| usize::from(*way)) {
                        let end = way.checked_sub(usize::from(ENDS_FROM));
                        assert!(end.is_some() || (number < way && way < tree.asks.len()));
                        ends.extend(end);
                    }
                }
                ends.sort_unstable();
                assert!(tree.asks.is_empty() || ends == (0..tree.says.len()).collect::<Vec<_>>());
                assert!(tree.says.iter().all(|said| said.abs() < 1_000), "no tree alone decides");
            }
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
