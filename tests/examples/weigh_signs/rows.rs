//! Seconds in which a boat has lost her way: the signs that were seen and whether she was capsized, in a file.

use std::{fs, io, path::Path};

use dunlin_engine::conditions::SIGNS;

/// One second of one boat.
#[derive(Clone)]
pub struct Row {
    /// The signs in their order; not a number: not known.
    pub values: [f32; SIGNS],
    /// Whether she was.
    pub capsized: bool,
}

impl Row {
    /// A sign's value.
    pub fn value(&self, sign: usize) -> f64 {
        f64::from(self.values[sign])
    }
}

/// Writes rows: each the signs and 1 or 0, as numbers of four bytes.
pub fn write(path: &Path, rows: &[Row]) -> io::Result<()> {
    let mut bytes = Vec::with_capacity(rows.len() * 4 * (SIGNS + 1));
    for row in rows {
        let capsized = f32::from(u8::from(row.capsized));
        for value in row.values.iter().chain([&capsized]) {
            bytes.extend(value.to_le_bytes());
        }
    }
    fs::write(path, bytes)
}

/// Reads one in `one_in` of a file's rows, each so many `times`.
pub fn read(path: &Path, one_in: usize, times: usize) -> io::Result<Vec<Row>> {
    let bytes = fs::read(path).map_err(|error| {
        io::Error::new(error.kind(), format!("{}: {error}; sail it first", path.display()))
    })?;
    let numbers = |row: &[u8]| -> Vec<f32> {
        row.chunks_exact(4).map(|four| f32::from_le_bytes(four.try_into().unwrap_or_default())).collect()
    };
    let rows = bytes.chunks_exact(4 * (SIGNS + 1)).step_by(one_in).filter_map(|row| {
        let (capsized, values) =
            numbers(row).split_last().map(|(last, rest)| (*last > 0.5, rest.to_vec()))?;
        Some(Row { values: values.try_into().ok()?, capsized })
    });
    Ok(rows.flat_map(|row| std::iter::repeat_n(row, times)).collect())
}

/// The values of a sign at these quantiles, ascending, none twice.
pub fn quantiles(rows: &[Row], sign: usize, of: &[f64]) -> Vec<f64> {
    let mut values: Vec<f64> =
        rows.iter().map(|row| row.value(sign)).filter(|value| value.is_finite()).collect();
    values.sort_by(f64::total_cmp);
    let at = |q: f64| values.get((q * (values.len().max(1) - 1) as f64) as usize).copied();
    let mut found: Vec<f64> =
        of.iter().filter_map(|&q| at(q)).map(|value| (value * 1e3).round() / 1e3).collect();
    found.dedup();
    found
}
