//! What two signs say together and neither alone: a table over both, for the pairs that explain most.
//!
//! Pairs are ranked by how much of what the additive fit leaves over a coarse table of each would explain
//! (Lou, Caruana, Gehrke and Hooker 2013); the tables of the first are then fitted together by Newton's
//! method with conjugate gradients, the additive part held.

use std::thread;

use dunlin_engine::conditions::SIGNS;

use super::{
    lines::spot,
    rows::{Row, quantiles},
};

/// So many pairs have a table.
const PAIRS: usize = 60;
/// Quantiles at which the tables have lines.
const LINES: [f64; 5] = [0.03, 0.2, 0.5, 0.8, 0.97];
/// Quantiles between the classes by which pairs are ranked.
const CLASSES: [f64; 5] = [0.08, 0.25, 0.5, 0.75, 0.92];
/// A class of little weight explains little: rows' worth of doubt.
const RANK_DOUBT: f64 = 30.0;
/// Penalty on the values. With 200 the tables told a little less than the lines alone on a water never met.
const SIZE: f64 = 200.0;
/// Newton steps, and steps of conjugate gradients in each.
const STEPS: (usize, usize) = (5, 25);

/// The tables.
pub struct Tables {
    /// For each sign the lines, ascending.
    pub lines: Vec<Vec<f64>>,
    /// Two signs, and ln odds row by row; a line more each way for a sign that is not known.
    pub pairs: Vec<((usize, usize), Vec<f64>)>,
}

/// Fits them to what is left over by `alone`, the ln odds of each row by its signs one by one.
pub fn fit(rows: &[Row], alone: &[f64]) -> Tables {
    let lines: Vec<Vec<f64>> = (0..SIGNS).map(|sign| quantiles(rows, sign, &LINES)).collect();
    let chosen = rank(rows, alone);
    let mut starts = Vec::new();
    let mut size = 0;
    for &(a, b) in &chosen {
        starts.push(size);
        size += (lines[a].len() + 1) * (lines[b].len() + 1);
    }
    let touched: Vec<Vec<(u16, f32)>> = rows.iter().map(|row| touch(row, &lines, &chosen, &starts)).collect();
    let values = newton(rows, alone, &touched, size);
    let ends = starts.iter().skip(1).copied().chain([size]);
    let pairs =
        chosen.iter().zip(starts.iter().zip(ends)).map(|(&of, (&from, to))| (of, values[from..to].to_vec()));
    let pairs: Vec<_> = pairs.collect();
    let in_a_pair = |sign: usize| chosen.iter().any(|&(a, b)| a == sign || b == sign);
    let lines = lines
        .into_iter()
        .enumerate()
        .map(|(sign, lines)| if in_a_pair(sign) { lines } else { Vec::new() })
        .collect();
    Tables { lines, pairs }
}

fn chance(ln_odds: f64) -> f64 {
    1.0 / (1.0 + (-ln_odds).exp())
}

/// The pairs that would explain most, the best first.
fn rank(rows: &[Row], alone: &[f64]) -> Vec<(usize, usize)> {
    let classes = CLASSES.len() + 2;
    let class: Vec<Vec<u8>> = (0..SIGNS)
        .map(|sign| {
            let bounds = quantiles(rows, sign, &CLASSES);
            let of = |value: f64| 1 + bounds.partition_point(|&bound| bound <= value);
            rows.iter()
                .map(|row| row.value(sign))
                .map(|value| if value.is_nan() { 0 } else { of(value) as u8 })
                .collect()
        })
        .collect();
    let left: Vec<(f64, f64)> = rows
        .iter()
        .zip(alone)
        .map(|(row, &ln_odds)| {
            let p = chance(ln_odds);
            (f64::from(u8::from(row.capsized)) - p, p * (1.0 - p))
        })
        .collect();
    let mut gains = Vec::new();
    for a in 0..SIGNS {
        for b in a + 1..SIGNS {
            let mut cells = vec![(0.0, 0.0); classes * classes];
            for ((&i, &j), &(off, flat)) in class[a].iter().zip(&class[b]).zip(&left) {
                let cell = &mut cells[usize::from(i) * classes + usize::from(j)];
                *cell = (cell.0 + off, cell.1 + flat);
            }
            let gain: f64 = cells.iter().map(|(off, flat)| off * off / (flat + RANK_DOUBT)).sum();
            gains.push((gain, (a, b)));
        }
    }
    gains.sort_by(|x, y| y.0.total_cmp(&x.0));
    gains.into_iter().take(PAIRS).map(|(_, pair)| pair).collect()
}

/// Which values of the tables a row touches, and by how much.
fn touch(row: &Row, lines: &[Vec<f64>], chosen: &[(usize, usize)], starts: &[usize]) -> Vec<(u16, f32)> {
    let mut out = Vec::with_capacity(4 * chosen.len());
    for (&(a, b), &start) in chosen.iter().zip(starts) {
        let columns = lines[b].len() + 1;
        let (i, along_i) = spot(&lines[a], row.value(a));
        let (j, along_j) = spot(&lines[b], row.value(b));
        for (i, by_i) in [(i, 1.0 - along_i), (i + 1, along_i)] {
            for (j, by_j) in [(j, 1.0 - along_j), (j + 1, along_j)] {
                if by_i * by_j > 0.0 {
                    out.push(((start + i * columns + j) as u16, (by_i * by_j) as f32));
                }
            }
        }
    }
    out
}

fn sum(touched: &[(u16, f32)], values: &[f64]) -> f64 {
    touched.iter().map(|&(ix, by)| values[usize::from(ix)] * f64::from(by)).sum()
}

fn add(touched: &[(u16, f32)], much: f64, to: &mut [f64]) {
    for &(ix, by) in touched {
        to[usize::from(ix)] += much * f64::from(by);
    }
}

fn newton(rows: &[Row], alone: &[f64], touched: &[Vec<(u16, f32)>], size: usize) -> Vec<f64> {
    let mut values = vec![0.0; size];
    for step in 0..STEPS.0 {
        let mut slope: Vec<f64> = values.iter().map(|value| SIZE * value).collect();
        let mut flat = Vec::with_capacity(rows.len());
        let mut loss = 0.0;
        for ((row, &ln_odds), at) in rows.iter().zip(alone).zip(touched) {
            let p = chance(ln_odds + sum(at, &values));
            loss -= if row.capsized { p.max(1e-12).ln() } else { (1.0 - p).max(1e-12).ln() };
            add(at, p - f64::from(u8::from(row.capsized)), &mut slope);
            flat.push((p * (1.0 - p)).max(1e-6));
        }
        eprintln!("pairs, step {step}: loss {:.6} a row", loss / rows.len() as f64);
        for (value, by) in values.iter_mut().zip(conjugate(&slope, &flat, touched)) {
            *value -= by;
        }
    }
    values
}

/// Solves for the Newton step by conjugate gradients (Hestenes and Stiefel 1952).
fn conjugate(slope: &[f64], flat: &[f64], touched: &[Vec<(u16, f32)>]) -> Vec<f64> {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let mut step = vec![0.0; slope.len()];
    let mut left = slope.to_vec();
    let mut towards = left.clone();
    let mut square = dot(&left, &left);
    for _ in 0..STEPS.1 {
        if square < 1e-9 {
            break;
        }
        let part = |from: usize, to: usize| {
            let mut bent = vec![0.0; towards.len()];
            for (at, &flat) in touched[from..to].iter().zip(&flat[from..to]) {
                add(at, flat * sum(at, &towards), &mut bent);
            }
            bent
        };
        let (all, half) = (touched.len(), touched.len() / 2);
        let (one, two) = thread::scope(|scope| {
            let run = scope.spawn(|| part(half, all));
            (part(0, half), run.join().expect("sums are finite"))
        });
        let parts = towards.iter().zip(one.iter().zip(&two));
        let bent: Vec<f64> = parts.map(|(value, (one, two))| SIZE * value + one + two).collect();
        let far = square / dot(&towards, &bent);
        for ((step, left), (towards, bent)) in step.iter_mut().zip(&mut left).zip(towards.iter().zip(&bent)) {
            *step += far * towards;
            *left -= far * bent;
        }
        let next = dot(&left, &left);
        for (towards, left) in towards.iter_mut().zip(&left) {
            *towards = left + next / square * *towards;
        }
        square = next;
    }
    step
}
