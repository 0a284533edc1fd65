//! Averages of directions against `reference/circular.csv` (SciPy) and `angle_difference.csv`.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;

use dunlin_engine::{
    units::{Bearing, fold},
    wind::vectors::DirectionMean,
};

type Row = BTreeMap<String, String>;

fn rows(file: &str) -> Vec<Row> {
    csv::Reader::from_path(format!("reference/{file}")).unwrap().deserialize().map(Result::unwrap).collect()
}

#[test]
fn means_and_deviations_agree_with_scipy() {
    let rows = rows("circular.csv");
    assert_eq!(rows.len(), 12);
    for row in rows {
        let case = &row["case"];
        let mut mean = DirectionMean::default();
        for angle in row["angles_deg"].split(' ') {
            mean.add(Bearing::from_degrees_true(angle.parse().unwrap()).unwrap(), 1.0);
        }
        let resultant: f64 = row["resultant_length_R"].parse().unwrap();
        assert!((mean.resultant() - resultant).abs() < 1e-6, "{case}");
        if row["mean_deg"].is_empty() {
            assert_eq!((mean.mean(), mean.sd_deg()), (None, None), "{case}: directions cancel");
            continue;
        }
        let expected: f64 = row["mean_deg"].parse().unwrap();
        let off = fold(mean.mean().unwrap().deg() - expected).abs();
        assert!(off < 1e-6, "{case}: {:?}, not {expected}", mean.mean());
        let deviation: f64 = row["circstd_deg"].parse().unwrap();
        // A single direction has none, but for the rounding of its sine and cosine.
        assert!((mean.sd_deg().unwrap() - deviation).abs() < 1e-5, "{case}: {:?}", mean.sd_deg());
    }
}

#[test]
fn angle_differences_fold_to_one_turn() {
    let rows = rows("angle_difference.csv");
    assert_eq!(rows.len(), 12);
    for row in rows {
        let [from, to, expected]: [f64; 3] =
            ["from_deg", "to_deg", "signed_diff_deg_range_minus180_inclusive_to_180_exclusive"]
                .map(|column| row[column].parse().unwrap());
        assert!((fold(to - from) - expected).abs() < 1e-9, "{from} to {to}");
    }
}

#[test]
fn nothing_taken_in_has_no_mean() {
    let mut mean = DirectionMean::default();
    assert_eq!((mean.mean(), mean.sd_deg()), (None, None));
    mean.add(Bearing::NORTH, 0.0);
    mean.add(Bearing::NORTH, f64::NAN);
    assert_eq!(mean.mean(), None);
}
