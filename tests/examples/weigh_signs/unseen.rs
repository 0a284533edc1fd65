//! How much of a water a fit tells that never met it.

use std::{io, path::Path};

use dunlin_engine::conditions::SIGNS;

use super::{
    lines::{self, QUANTILES},
    print,
    rows::quantiles,
    share::{SHARES, Share},
};

/// So many of the seconds of boats that are not capsized may be told as well.
const ALSO: f64 = 0.01;

/// Fits on all other waters and prints which part of the capsized seconds of this one has odds that only one in a
/// hundred of its other seconds has: by the signs one by one, and with the trees.
pub fn tell(share: &Share, dir: &Path) -> io::Result<()> {
    let mut known = Vec::new();
    for other in SHARES.iter().filter(|other| other.water != share.water) {
        known.extend(other.blind(dir)?);
    }
    let knots: Vec<Vec<f64>> = (0..SIGNS).map(|sign| quantiles(&known, sign, &QUANTILES)).collect();
    let weights = lines::fit(&known, &knots);
    let trees = print::fit_trees(&known, &knots, &weights);
    let rows = share.rows(dir, "blind", (1, 1))?;
    let (mut alone, mut both) = (Told::default(), Told::default());
    for row in &rows {
        let odds = lines::ln_odds(row, &knots, &weights);
        alone.add(row.capsized, odds);
        both.add(row.capsized, odds + trees.ln_odds(row));
    }
    println!("{}: by lines {:.3}, with trees {:.3}", share.water, alone.share(), both.share());
    Ok(())
}

/// Odds of seconds, of boats that are capsized and of others.
#[derive(Default)]
struct Told {
    over: Vec<f64>,
    other: Vec<f64>,
}

impl Told {
    fn add(&mut self, capsized: bool, odds: f64) {
        if capsized { &mut self.over } else { &mut self.other }.push(odds);
    }

    /// Which part of the capsized seconds is told.
    fn share(mut self) -> f64 {
        self.other.sort_by(|a, b| b.total_cmp(a));
        let bound =
            self.other.get((ALSO * self.other.len() as f64) as usize).copied().unwrap_or(f64::INFINITY);
        self.over.iter().filter(|odds| **odds > bound).count() as f64 / self.over.len().max(1) as f64
    }
}
