//! A belief about one direction: a probability for each three degrees of the compass.
//!
//! A grid rather than a Gaussian, because what a fleet shows of the wind is often two-faced: boats
//! that reach to and fro fit a wind from either beam, and a mean of both would be wrong altogether.

use crate::units::{Bearing, fold};

/// Cells of the compass.
pub const CELLS: usize = 120;
/// Degrees of each.
pub const CELL_DEG: f64 = 360.0 / CELLS as f64;

/// Log-probabilities, unnormalised: only their differences mean anything.
#[derive(Clone, Debug, PartialEq)]
pub struct Circle {
    log: [f64; CELLS],
}

impl Default for Circle {
    /// Nothing known: all directions alike.
    fn default() -> Circle {
        Circle { log: [0.0; CELLS] }
    }
}

/// What a belief comes to in one direction and its doubt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// Mean of the belief about its likeliest direction.
    pub from: Bearing,
    /// Root mean square distance of the belief from it, degrees; about 104 when nothing is known.
    pub sd_deg: f64,
}

impl Circle {
    /// Adds to each cell's log-probability what `weight_of` says of its direction, in degrees.
    pub fn add(&mut self, mut weight_of: impl FnMut(f64) -> f64) {
        for (cell, log) in self.log.iter_mut().enumerate() {
            *log += weight_of(cell as f64 * CELL_DEG);
        }
    }

    /// The log-probability of any direction in degrees, between cells by a straight line.
    pub fn log_at(&self, direction_deg: f64) -> f64 {
        let place = direction_deg.rem_euclid(360.0) / CELL_DEG;
        let cell = place as usize % CELLS;
        let share = place.fract();
        self.log[cell] * (1.0 - share) + self.log[(cell + 1) % CELLS] * share
    }

    /// Takes in a statement "from `from`, give or take `sd_deg`" that is wrong altogether with the
    /// probability `lie`.
    pub fn state(&mut self, from: Bearing, sd_deg: f64, lie: f64) {
        let sd_deg = sd_deg.max(1.0);
        let peak = (1.0 - lie) / (sd_deg * (2.0 * std::f64::consts::PI).sqrt());
        let floor = (lie / 360.0).ln();
        self.add(|direction| {
            let off = fold(direction - from.deg()) / sd_deg;
            if off.abs() < 6.0 { (peak * (-0.5 * off * off).exp() + lie / 360.0).ln() } else { floor }
        });
    }

    /// The same belief after its direction may have moved by `sd_deg`.
    #[must_use]
    pub fn blurred(&self, sd_deg: f64) -> Circle {
        let reach = ((3.0 * sd_deg / CELL_DEG) as usize).min(CELLS / 2 - 1);
        if reach == 0 {
            return self.clone();
        }
        let weights = self.weights();
        let kernel: Vec<f64> =
            (0..=reach).map(|k| (-0.5 * (k as f64 * CELL_DEG / sd_deg).powi(2)).exp()).collect();
        let mut log = [0.0; CELLS];
        for (cell, log) in log.iter_mut().enumerate() {
            let mut sum = weights[cell] * kernel[0];
            for (k, share) in kernel.iter().enumerate().skip(1) {
                sum += share * (weights[(cell + k) % CELLS] + weights[(cell + CELLS - k) % CELLS]);
            }
            *log = sum.max(1e-300).ln();
        }
        Circle { log }
    }

    /// The likeliest direction, to the cell, degrees.
    pub fn likeliest_deg(&self) -> f64 {
        likeliest(&self.log) as f64 * CELL_DEG
    }

    /// This belief, with what lies within `reach_deg` of its top shared out as `fine` says.
    #[must_use]
    pub fn refined(&self, fine: &Circle, reach_deg: f64) -> Circle {
        let (coarse_weights, fine_weights) = (self.weights(), fine.weights());
        let top = likeliest(&coarse_weights);
        let reach = (reach_deg / CELL_DEG) as usize;
        let near = |offset: usize| (top + CELLS + offset - reach) % CELLS;
        let (mut coarse_sum, mut fine_sum) = (0.0, 0.0);
        for cell in (0..=2 * reach).map(near) {
            coarse_sum += coarse_weights[cell];
            fine_sum += fine_weights[cell];
        }
        let mut weights = coarse_weights;
        if fine_sum > 0.0 {
            for cell in (0..=2 * reach).map(near) {
                weights[cell] = coarse_sum * fine_weights[cell] / fine_sum;
            }
        }
        Circle { log: weights.map(|weight| weight.max(1e-300).ln()) }
    }

    /// Probabilities relative to the likeliest cell.
    fn weights(&self) -> [f64; CELLS] {
        let top = self.log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        self.log.map(|log| (log - top).exp())
    }

    /// The likeliest direction and the spread about it.
    pub fn summary(&self) -> Summary {
        let weights = self.weights();
        let total: f64 = weights.iter().sum();
        let top_deg = likeliest(&weights) as f64 * CELL_DEG;
        // The mean is taken near the top only, so that a faint second face does not pull it aside;
        // the spread counts everything, so that it is not hidden either.
        let (mut near, mut shift) = (0.0, 0.0);
        for (cell, weight) in weights.iter().enumerate() {
            let off = fold(cell as f64 * CELL_DEG - top_deg);
            if off.abs() <= 45.0 {
                near += weight;
                shift += weight * off;
            }
        }
        let from = Bearing::wrap(top_deg + shift / near);
        let spread: f64 = weights
            .iter()
            .enumerate()
            .map(|(cell, weight)| weight * fold(cell as f64 * CELL_DEG - from.deg()).powi(2))
            .sum();
        Summary { from, sd_deg: (spread / total).sqrt() }
    }
}

fn likeliest(weights: &[f64; CELLS]) -> usize {
    (0..CELLS).max_by(|a, b| weights[*a].total_cmp(&weights[*b])).unwrap_or(0)
}
