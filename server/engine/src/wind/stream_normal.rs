//! Normal equations of the stream's fit, and the little algebra that solves them.

/// Unknowns beside the boats' paces: stream east and north (m/s), error of the wind's direction
/// (rad), how much faster than on a reach boats are close-hauled and on a run (shares, negative), and
/// the fleet's mean pace (m/s), and the angle to the wind close-hauled (rad).
pub(super) const UNKNOWNS: usize = 7;
pub(super) const EAST: usize = 0;
pub(super) const NORTH: usize = 1;
pub(super) const WIND: usize = 2;
pub(super) const BEAT: usize = 3;
pub(super) const RUN: usize = 4;
pub(super) const PACE: usize = 5;
pub(super) const CLOSE: usize = 6;

/// Normal equations of the unknowns. Of the matrix, which is symmetric, only the part on and above the
/// diagonal is kept.
#[derive(Clone, Copy)]
pub(super) struct Normal {
    matrix: [[f64; UNKNOWNS]; UNKNOWNS],
    vector: [f64; UNKNOWNS],
}

impl Normal {
    pub(super) fn new() -> Normal {
        Normal { matrix: [[0.0; UNKNOWNS]; UNKNOWNS], vector: [0.0; UNKNOWNS] }
    }

    /// A residual with its slopes; `precision` is one over its variance.
    pub(super) fn add(&mut self, residual: f64, slopes: &[f64; UNKNOWNS], precision: f64) {
        for (value, slope) in self.vector.iter_mut().zip(slopes) {
            *value -= precision * slope * residual;
        }
        self.add_products(slopes, precision);
    }

    /// A residual of one unknown alone, which it follows one to one.
    pub(super) fn add_one(&mut self, which: usize, residual: f64, precision: f64) {
        self.vector[which] -= precision * residual;
        self.matrix[which][which] += precision;
    }

    /// Takes out what was only known together with something that is not asked for.
    pub(super) fn take_out(&mut self, cross: &[f64; UNKNOWNS], own: f64) {
        self.add_products(cross, -1.0 / own);
    }

    fn add_products(&mut self, slopes: &[f64; UNKNOWNS], precision: f64) {
        for (place, (row, slope)) in self.matrix.iter_mut().zip(slopes).enumerate() {
            for (cell, other) in row.iter_mut().zip(slopes).skip(place) {
                *cell += precision * slope * other;
            }
        }
    }

    /// What solves them; zero where they leave an unknown open.
    pub(super) fn solved(&self) -> [f64; UNKNOWNS] {
        let inverse = self.inverse();
        std::array::from_fn(|row| {
            inverse[row].iter().zip(self.vector).map(|(cell, value)| cell * value).sum()
        })
    }

    /// The inverse by Gauss and Jordan without pivoting, which a positive definite matrix does not need.
    pub(super) fn inverse(&self) -> [[f64; UNKNOWNS]; UNKNOWNS] {
        let mut matrix: [[f64; UNKNOWNS]; UNKNOWNS] = std::array::from_fn(|row| {
            std::array::from_fn(|column| self.matrix[row.min(column)][row.max(column)])
        });
        let mut inverse = [[0.0; UNKNOWNS]; UNKNOWNS];
        for (place, row) in inverse.iter_mut().enumerate() {
            row[place] = 1.0;
        }
        for pivot in 0..UNKNOWNS {
            let by = 1.0 / matrix[pivot][pivot].max(1e-9);
            for column in 0..UNKNOWNS {
                matrix[pivot][column] *= by;
                inverse[pivot][column] *= by;
            }
            let (pivot_row, pivot_inverse) = (matrix[pivot], inverse[pivot]);
            for row in (0..UNKNOWNS).filter(|row| *row != pivot) {
                let by = matrix[row][pivot];
                for column in 0..UNKNOWNS {
                    matrix[row][column] -= by * pivot_row[column];
                    inverse[row][column] -= by * pivot_inverse[column];
                }
            }
        }
        inverse
    }
}

/// The inverse of a symmetric two by two matrix.
pub(super) fn inverse2([a, b, c]: [f64; 3]) -> [f64; 3] {
    let det = (a * c - b * b).max(1e-12);
    [c / det, -b / det, a / det]
}

pub(super) fn less([a, b, c]: [f64; 3], both: f64) -> [f64; 3] {
    [a - both, b, c - both]
}

/// Of a symmetric two by two matrix, the smaller first.
pub(super) fn eigenvalues([a, b, c]: [f64; 3]) -> (f64, f64) {
    let middle = (a + c) / 2.0;
    let reach = ((a - c) / 2.0).hypot(b);
    (middle - reach, middle + reach)
}
