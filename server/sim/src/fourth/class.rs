//! The two kinds of dinghy and how fast each sails: tables as an instructor would write them from experience.

use super::curve::mix;
use crate::plane::{kn, mps};

/// Wind of each row, knots, and angle off the wind of each column, degrees.
const WINDS_KN: [f64; 6] = [0.0, 4.0, 8.0, 12.0, 16.0, 20.0];
const OFFS_DEG: [f64; 8] = [22.0, 35.0, 45.0, 60.0, 90.0, 120.0, 150.0, 180.0];
/// Speeds in knots. Common practice, no source; hull speeds of 5.0 and 4.5 kn (sqrt(g L / 2 pi)) are
/// passed by far by the light one only, when she planes.
const HEAVY_KN: [[f64; 8]; 6] = [
    [0.0; 8],
    [0.0, 0.9, 1.4, 1.8, 2.0, 1.8, 1.4, 1.2],
    [0.0, 1.7, 2.7, 3.2, 3.6, 3.4, 2.8, 2.5],
    [0.0, 2.1, 3.4, 4.1, 4.5, 4.5, 4.0, 3.6],
    [0.0, 2.2, 3.7, 4.5, 5.0, 5.1, 4.7, 4.4],
    [0.0, 2.2, 3.8, 4.6, 5.2, 5.5, 5.2, 4.9],
];
const LIGHT_KN: [[f64; 8]; 6] = [
    [0.0; 8],
    [0.0, 0.9, 1.5, 1.9, 2.2, 2.0, 1.6, 1.4],
    [0.0, 1.7, 2.9, 3.4, 4.0, 3.8, 3.1, 2.8],
    [0.0, 2.1, 3.6, 4.3, 5.1, 5.2, 4.4, 3.9],
    [0.0, 2.2, 3.9, 4.8, 6.0, 6.4, 5.6, 4.9],
    [0.0, 2.2, 4.0, 5.1, 6.9, 7.7, 6.9, 5.9],
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Class {
    /// Three aboard, beamy, slow to turn and to stop.
    Heavy,
    /// Two aboard, quick in everything.
    Light,
}

impl Class {
    pub(super) fn name(self) -> &'static str {
        self.of("broad trainer", "lean trainer")
    }

    pub(super) fn waterline_m(self) -> f64 {
        self.of(4.2, 3.4)
    }

    pub(super) fn crew(self) -> u32 {
        self.of(3, 2)
    }

    /// One of two values, by class.
    pub(super) fn of<T>(self, heavy: T, light: T) -> T {
        match self {
            Class::Heavy => heavy,
            Class::Light => light,
        }
    }

    /// Well sailed speed, m/s, `off_deg` (either side) off a wind of `wind_mps`.
    pub(super) fn speed_mps(self, wind_mps: f64, off_deg: f64) -> f64 {
        let table = self.of(&HEAVY_KN, &LIGHT_KN);
        let (row, along) = place(&WINDS_KN, kn(wind_mps));
        let (column, across) = place(&OFFS_DEG, off_deg.abs());
        let in_row = |row: usize| mix(table[row][column], table[row][column + 1], across);
        mps(mix(in_row(row), in_row(row + 1), along))
    }
}

/// Which two entries a value lies between, and how far along; held at the ends.
fn place(scale: &[f64], value: f64) -> (usize, f64) {
    let at = scale.partition_point(|entry| *entry <= value).clamp(1, scale.len() - 1) - 1;
    (at, ((value - scale[at]) / (scale[at + 1] - scale[at])).clamp(0.0, 1.0))
}
