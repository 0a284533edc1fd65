//! What several signs say together and no one of them alone: trees of questions about single signs.
//!
//! Each tree is grown on what is left over by all before it, best question first (gradient boosting, Friedman 2001, with
//! the second-order gain of Chen and Guestrin 2016, over classes of values as by Ke and others 2017); the additive part is
//! held. No library at hand starts from given odds and gives trees over classes, which is what the engine reads. Nothing
//! is random: rows and signs are drawn for each tree by a hash of their number.

use std::{ops::Range, thread};

use dunlin_engine::conditions::SIGNS;

use super::rows::{Row, quantiles};

/// Trees, and what each may say at the most different ends.
const TREES: usize = 400;
/// See [`TREES`].
const ENDS: usize = 127;
/// What a tree would say is taken by this share, so that many have their part.
const SHARE: f64 = 0.08;
/// So many rows at an end at least: neighbouring seconds are of one boat.
const ROWS_MIN: u32 = 1_500;
/// Rows' worth of doubt at an end.
const DOUBT: f64 = 20.0;
/// Of ten rows so many are looked at for a tree, and one sign in two.
const LOOKED_AT: u64 = 7;
/// Classes of a sign's values, one more for a value that is not known.
const CLASSES: usize = 64;

/// A tree: questions, and what is said at its ends.
pub struct Tree {
    /// A sign, the last class that goes the first way, and where each of the ways leads: to a question of this number,
    /// or from 128 on to an end.
    pub asks: Vec<[u8; 4]>,
    /// ln odds, in thousandths.
    pub says: Vec<i16>,
}

/// The trees, and the bounds between classes of each sign's values.
pub struct Trees {
    pub bounds: Vec<Vec<f64>>,
    pub trees: Vec<Tree>,
}

impl Trees {
    /// What they say of a row beyond its signs one by one.
    pub fn ln_odds(&self, row: &Row) -> f64 {
        let class: Vec<u8> = (0..SIGNS).map(|sign| class(&self.bounds[sign], row.value(sign))).collect();
        self.trees.iter().map(|tree| tree.ln_odds(|sign| class[sign])).sum()
    }
}

impl Tree {
    fn ln_odds(&self, class: impl Fn(usize) -> u8) -> f64 {
        let mut at = if self.asks.is_empty() { 128 } else { 0 };
        while at < 128 {
            let [sign, last, first, second] = self.asks[at];
            at = usize::from(if class(usize::from(sign)) <= last { first } else { second });
        }
        f64::from(self.says[at - 128]) / 1e3
    }
}

/// 0: not known; else one more than the bounds at or below it.
fn class(bounds: &[f64], value: f64) -> u8 {
    if value.is_nan() { 0 } else { 1 + bounds.partition_point(|&bound| bound <= value) as u8 }
}

/// Fits them to what is left over by `alone`, the ln odds of each row by its signs one by one.
pub fn fit(rows: &[Row], mut odds: Vec<f64>) -> Trees {
    let share = |n: usize| n as f64 / CLASSES as f64;
    let at: Vec<f64> = (1..CLASSES).map(share).collect();
    let bounds: Vec<Vec<f64>> = (0..SIGNS).map(|sign| quantiles(rows, sign, &at)).collect();
    let classes: Vec<Vec<u8>> = (0..SIGNS)
        .map(|sign| rows.iter().map(|row| class(&bounds[sign], row.value(sign))).collect())
        .collect();
    let mut trees = Vec::new();
    for number in 0..TREES as u64 {
        let (off, loss) = left_over(rows, &odds);
        if number % 50 == 0 {
            eprintln!("trees, {number}: loss {:.6} a row", loss / rows.len() as f64);
        }
        let looked_at = (0..rows.len() as u32).filter(|&row| hash(number, row) % 10 < LOOKED_AT).collect();
        let signs = (0..SIGNS).filter(|&sign| hash(number, !(sign as u32)).is_multiple_of(2)).collect();
        let tree = Growing { classes: &classes, off: &off, signs, rows: looked_at }.grow();
        hear(&tree, &classes, &mut odds);
        trees.push(tree);
    }
    Trees { bounds, trees }
}

/// A well mixed number (Steele, Lea and Flood 2014).
fn hash(tree: u64, of: u32) -> u64 {
    let mut x = (tree << 32 | u64::from(of)).wrapping_add(0x9e37_79b9_7f4a_7c15);
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

/// Of each row how far the odds are off and how much they would move; and the loss.
fn left_over(rows: &[Row], odds: &[f64]) -> (Vec<[f32; 2]>, f64) {
    let mut loss = 0.0;
    let of = |(row, &odds): (&Row, &f64)| {
        let p = 1.0 / (1.0 + (-odds).exp());
        loss -= if row.capsized { p.max(1e-12).ln() } else { (1.0 - p).max(1e-12).ln() };
        [(p - f64::from(u8::from(row.capsized))) as f32, (p * (1.0 - p)) as f32]
    };
    let off = rows.iter().zip(odds).map(of).collect();
    (off, loss)
}

/// Adds what a tree says to the odds of every row.
fn hear(tree: &Tree, classes: &[Vec<u8>], odds: &mut [f64]) {
    let half = odds.len() / 2;
    let (one, two) = odds.split_at_mut(half);
    let add = |odds: &mut [f64], from: usize| {
        for (row, odds) in odds.iter_mut().enumerate() {
            *odds += tree.ln_odds(|sign| classes[sign][from + row]);
        }
    };
    thread::scope(|scope| {
        scope.spawn(|| add(two, half));
        add(one, 0);
    });
}

/// Sums over the rows of one class: how far off, how much it would move, how many.
type Cell = (f64, f64, u32);
/// The sums of every class of every sign that is looked at.
type Sums = Vec<[Cell; CLASSES + 1]>;

/// A tree while it grows.
struct Growing<'a> {
    classes: &'a [Vec<u8>],
    off: &'a [[f32; 2]],
    signs: Vec<usize>,
    /// The rows looked at; those of one end lie together.
    rows: Vec<u32>,
}

/// An end that may still ask.
struct End {
    rows: Range<usize>,
    sums: Sums,
    best: Option<Question>,
    /// Whose answer leads here: a question and which way.
    from: Option<(usize, usize)>,
}

#[derive(Clone, Copy)]
struct Question {
    gain: f64,
    /// Its place among the signs looked at.
    sign: usize,
    last: u8,
}

impl Growing<'_> {
    fn grow(mut self) -> Tree {
        let all = 0..self.rows.len();
        let sums = self.sum(all.clone());
        let mut ends = vec![End { rows: all, best: best(&sums), sums, from: None }];
        let mut asks: Vec<[u8; 4]> = Vec::new();
        while ends.len() < ENDS {
            let gain = |end: &End| end.best.map_or(0.0, |best| best.gain);
            let most = (0..ends.len()).max_by(|&a, &b| gain(&ends[a]).total_cmp(&gain(&ends[b])));
            let Some(best) = most.and_then(|most| ends[most].best) else { break };
            let end = ends.swap_remove(most.unwrap_or_default());
            let number = asks.len();
            if let Some((question, way)) = end.from {
                asks[question][way] = number as u8;
            }
            asks.push([self.signs[best.sign] as u8, best.last, 0, 0]);
            ends.extend(self.part(end, best, number));
        }
        let mut says = Vec::new();
        for end in &ends {
            if let Some((question, way)) = end.from {
                asks[question][way] = 128 + says.len() as u8;
            }
            says.push((worth(total(&end.sums)) * SHARE * 1e3).round() as i16);
        }
        Tree { asks, says }
    }

    fn part(&mut self, end: End, by: Question, number: usize) -> [End; 2] {
        let class = &self.classes[self.signs[by.sign]];
        let goes_first = |row: &u32| class[*row as usize] <= by.last;
        let (first, second): (Vec<u32>, Vec<u32>) =
            self.rows[end.rows.clone()].iter().partition(|row| goes_first(row));
        let middle = end.rows.start + first.len();
        self.rows[end.rows.start..middle].copy_from_slice(&first);
        self.rows[middle..end.rows.end].copy_from_slice(&second);
        let ranges = [end.rows.start..middle, middle..end.rows.end];
        let is_first_small = first.len() < second.len();
        let small = self.sum(ranges[usize::from(!is_first_small)].clone());
        let mut large = end.sums;
        for (large, small) in large.iter_mut().flatten().zip(small.iter().flatten()) {
            *large = (large.0 - small.0, large.1 - small.1, large.2 - small.2);
        }
        let sums = if is_first_small { [small, large] } else { [large, small] };
        let mut way = 1;
        let mut pairs = ranges.into_iter().zip(sums).map(|(rows, sums)| {
            way += 1;
            End { rows, best: best(&sums), sums, from: Some((number, way)) }
        });
        [0, 1].map(|_| pairs.next().expect("two ways"))
    }

    /// Each of two threads sums for half of the signs.
    fn sum(&self, rows: Range<usize>) -> Sums {
        let rows = &self.rows[rows];
        let of = |signs: &[usize]| -> Sums { signs.iter().map(|&sign| self.sum_sign(sign, rows)).collect() };
        let (one, two) = self.signs.split_at(self.signs.len() / 2);
        thread::scope(|scope| {
            let run = scope.spawn(|| of(two));
            let mut sums = of(one);
            sums.extend(run.join().expect("sums are finite"));
            sums
        })
    }

    fn sum_sign(&self, sign: usize, rows: &[u32]) -> [Cell; CLASSES + 1] {
        let class = &self.classes[sign];
        let mut sums = [(0.0, 0.0, 0); CLASSES + 1];
        for &row in rows {
            let [off, moves] = self.off[row as usize];
            let cell: &mut Cell = &mut sums[usize::from(class[row as usize])];
            *cell = (cell.0 + f64::from(off), cell.1 + f64::from(moves), cell.2 + 1);
        }
        sums
    }
}

fn total(sums: &Sums) -> Cell {
    sums.first().map_or((0.0, 0.0, 0), |sign| sign.iter().fold((0.0, 0.0, 0), add))
}

fn add(a: Cell, b: &Cell) -> Cell {
    (a.0 + b.0, a.1 + b.1, a.2 + b.2)
}

/// What an end would best say, ln odds.
fn worth((off, moves, _): Cell) -> f64 {
    -off / (moves + DOUBT)
}

/// The question that explains most; `None` where none explains anything.
fn best(sums: &Sums) -> Option<Question> {
    let all = total(sums);
    let score = |(off, moves, _): Cell| off * off / (moves + DOUBT);
    let mut best: Option<Question> = None;
    for (sign, classes) in sums.iter().enumerate() {
        let mut first = (0.0, 0.0, 0);
        for (last, cell) in classes.iter().enumerate().take(CLASSES) {
            first = add(first, cell);
            let second = (all.0 - first.0, all.1 - first.1, all.2 - first.2);
            if first.2 < ROWS_MIN || second.2 < ROWS_MIN {
                continue;
            }
            let gain = score(first) + score(second) - score(all);
            if gain > best.map_or(1e-6, |best| best.gain) {
                best = Some(Question { gain, sign, last: last as u8 });
            }
        }
    }
    best
}
