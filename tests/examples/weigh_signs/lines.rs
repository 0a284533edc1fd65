//! The weight of each sign by itself: penalised logistic regression on broken lines.
//!
//! A penalty on the differences of neighbours keeps a line smooth (Eilers and Marx 1996), one on the values keeps
//! it small. Newton's method on the normal equations; nothing is random.

use std::thread;

use dunlin_engine::conditions::SIGN_NAMES;

use super::rows::Row;

/// Quantiles at which the lines may bend.
pub const QUANTILES: [f64; 7] = [0.01, 0.1, 0.25, 0.5, 0.75, 0.9, 0.99];
/// Penalty on the difference of neighbouring points, per squared unit of ln odds.
const ROUGHNESS: f64 = 40.0;
/// Penalty on the values themselves.
const SIZE: f64 = 5.0;
/// Signs whose weight may only rise with their value, or only fall: where the physics says so, the fit must
/// not say otherwise for the sake of a few sessions.
const RISES: [&str; 18] = [
    "fell",
    "fell m/s",
    "fell off the wind",
    "fell below",
    "short of luffing",
    "pace before",
    "wind",
    "gust",
    "heel",
    "heel lasts",
    "heel above before",
    "lies over",
    "models",
    "models lately",
    "models and way",
    "decay sharp",
    "land",
    "fleet",
];
/// See [`RISES`].
const FALLS: [&str; 9] =
    ["stands up", "decay", "took", "lies ahead", "swings", "burst", "way left", "gybe", "gathers"];
/// Penalty on a step the wrong way.
const WRONG_WAY: f64 = 1e5;
/// Newton steps; it settles in some ten, as the wrong ways are found.
const STEPS: usize = 14;

/// Where a value lies: the line below and the share of the way to the next; beyond the last line if not known.
pub fn spot(lines: &[f64], value: f64) -> (usize, f64) {
    if value.is_nan() || lines.is_empty() {
        return (lines.len(), 0.0);
    }
    let last = lines.len() - 1;
    let value = value.clamp(lines[0], lines[last]);
    let low = lines.partition_point(|&line| line <= value).saturating_sub(1);
    let high = (low + 1).min(last);
    let span = lines[high] - lines[low];
    (low, if span > 0.0 { (value - lines[low]) / span } else { 0.0 })
}

/// Where a row's values fall on the lines: index and share of each coefficient touched.
fn touched(row: &Row, lines: &[Vec<f64>], out: &mut Vec<(usize, f64)>) {
    out.clear();
    let mut start = 0;
    for (sign, knots) in lines.iter().enumerate() {
        let (left, share) = spot(knots, row.value(sign));
        out.push((start + left, 1.0 - share));
        if share > 0.0 {
            out.push((start + left + 1, share));
        }
        start += knots.len() + 1;
    }
    out.push((start, 1.0));
}

/// What the signs of a row say one by one.
pub fn ln_odds(row: &Row, lines: &[Vec<f64>], weights: &[f64]) -> f64 {
    let mut at = Vec::new();
    touched(row, lines, &mut at);
    at.iter().map(|&(ix, share)| weights[ix] * share).sum()
}

/// Slope and bend of the loss, and the loss, summed over some rows.
struct Sums {
    slope: Vec<f64>,
    bend: Vec<Vec<f64>>,
    loss: f64,
}

fn sums(rows: &[Row], lines: &[Vec<f64>], weights: &[f64]) -> Sums {
    let count = weights.len();
    let mut sums = Sums { slope: vec![0.0; count], bend: vec![vec![0.0; count]; count], loss: 0.0 };
    let mut at = Vec::new();
    for row in rows {
        touched(row, lines, &mut at);
        let z: f64 = at.iter().map(|&(ix, share)| weights[ix] * share).sum();
        let p = 1.0 / (1.0 + (-z).exp());
        let (off, flat) = (p - f64::from(u8::from(row.capsized)), (p * (1.0 - p)).max(1e-9));
        sums.loss -= if row.capsized { p.max(1e-12).ln() } else { (1.0 - p).max(1e-12).ln() };
        // What a row touches is in ascending order.
        for (n, &(i, a)) in at.iter().enumerate() {
            sums.slope[i] += off * a;
            for &(j, b) in &at[..=n] {
                sums.bend[i][j] += flat * a * b;
            }
        }
    }
    sums
}

pub fn fit(rows: &[Row], lines: &[Vec<f64>]) -> Vec<f64> {
    let count = lines.iter().map(|knots| knots.len() + 1).sum::<usize>() + 1;
    let mut weights = vec![0.0; count];
    for step in 0..STEPS {
        let (one, two) = rows.split_at(rows.len() / 2);
        let (mut all, other) = thread::scope(|scope| {
            let run = scope.spawn(|| sums(two, lines, &weights));
            (sums(one, lines, &weights), run.join().expect("sums are finite"))
        });
        add_to(&mut all.slope, &other.slope);
        for (row, more) in all.bend.iter_mut().zip(&other.bend) {
            add_to(row, more);
        }
        penalise(lines, &weights, &mut all.slope, &mut all.bend);
        eprintln!("step {step}: loss {:.6} a row", (all.loss + other.loss) / rows.len() as f64);
        for (weight, by) in weights.iter_mut().zip(solve(all.bend, all.slope)) {
            *weight -= by;
        }
    }
    weights
}

fn add_to(sum: &mut [f64], more: &[f64]) {
    for (sum, more) in sum.iter_mut().zip(more) {
        *sum += more;
    }
}

fn penalise(lines: &[Vec<f64>], weights: &[f64], slope: &mut [f64], bend: &mut [Vec<f64>]) {
    let mut start = 0;
    for (knots, name) in lines.iter().zip(&SIGN_NAMES) {
        for ix in start..=start + knots.len() {
            slope[ix] += SIZE * weights[ix];
            bend[ix][ix] += SIZE;
        }
        for ix in start + 1..start + knots.len() {
            let rise = weights[ix] - weights[ix - 1];
            let wrong = (RISES.contains(name) && rise < 0.0) || (FALLS.contains(name) && rise > 0.0);
            let stiff = if wrong { WRONG_WAY } else { ROUGHNESS };
            slope[ix] += stiff * rise;
            slope[ix - 1] -= stiff * rise;
            bend[ix][ix] += stiff;
            bend[ix - 1][ix - 1] += stiff;
            bend[ix][ix - 1] -= stiff;
        }
        start += knots.len() + 1;
    }
}

/// Solves a symmetric positive system given by its lower half (Cholesky).
fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Vec<f64> {
    let n = b.len();
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = a[i][j] - (0..j).map(|k| a[i][k] * a[j][k]).sum::<f64>();
            a[i][j] = if i == j { sum.max(1e-12).sqrt() } else { sum / a[j][j] };
        }
    }
    for i in 0..n {
        b[i] = (b[i] - (0..i).map(|k| a[i][k] * b[k]).sum::<f64>()) / a[i][i];
    }
    for i in (0..n).rev() {
        b[i] = (b[i] - (i + 1..n).map(|k| a[k][i] * b[k]).sum::<f64>()) / a[i][i];
    }
    b
}
