//! Apparent and true wind against `reference/wind_vectors.csv` (vector arithmetic done twice).
#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;

use dunlin_engine::{
    units::{Bearing, Velocity, fold, kn_from_mps, mps_from_kn},
    wind::vectors::{air_from, air_from_apparent, apparent, from_of, wind_angle},
};

/// Printed to four decimals; speeds pass through knots twice.
const CLOSE: f64 = 2e-3;

fn rows() -> Vec<BTreeMap<String, String>> {
    csv::Reader::from_path("reference/wind_vectors.csv").unwrap().deserialize().map(Result::unwrap).collect()
}

fn number(row: &BTreeMap<String, String>, column: &str) -> Option<f64> {
    let text = &row[column];
    (!text.is_empty()).then(|| text.parse().unwrap())
}

fn bearing(deg: f64) -> Bearing {
    Bearing::from_degrees_true(deg).unwrap()
}

fn motion(row: &BTreeMap<String, String>) -> Velocity {
    let speed = mps_from_kn(number(row, "sog_kn").unwrap());
    number(row, "cog_deg").map_or(Velocity::default(), |cog| Velocity::towards(bearing(cog), speed))
}

fn stream(row: &BTreeMap<String, String>) -> Velocity {
    Velocity::towards(
        bearing(number(row, "current_set_deg").unwrap()),
        mps_from_kn(number(row, "current_drift_kn").unwrap()),
    )
}

/// Equal as directions: 360 apart is equal, and so are -180 and 180.
fn same_direction(case: &str, what: &str, found: Option<f64>, expected: Option<f64>) {
    match (found, expected) {
        (Some(found), Some(expected)) => {
            let off = fold(found - expected).abs();
            assert!(off < CLOSE, "{case} {what}: {found}, not {expected}");
        }
        (found, expected) => assert_eq!(found, expected, "{case} {what}"),
    }
}

#[test]
fn the_table_is_there() {
    assert_eq!(rows().len(), 24);
}

#[test]
fn what_is_felt_aboard_follows_from_the_true_wind() {
    for row in rows() {
        let case = &row["case"];
        let from = number(&row, "true_wind_dir_ground_from_deg");
        let speed = mps_from_kn(number(&row, "true_wind_speed_ground_kn").unwrap());
        let air = from.map_or(Velocity::default(), |from| air_from(bearing(from), speed));
        let heading = bearing(number(&row, "heading_true_deg").unwrap());

        let (angle, felt) = apparent(air, motion(&row), heading);
        let expected = number(&row, "apparent_wind_speed_kn").unwrap();
        assert!((kn_from_mps(felt) - expected).abs() < CLOSE, "{case}: {felt}");
        // Where nothing is felt, the printed course and speed leave a trace with some direction.
        if expected > 0.0 {
            let expected = number(&row, "apparent_wind_angle_deg_signed");
            same_direction(case, "felt angle", angle, expected);
        }

        let over_water = air.minus(stream(&row));
        let expected = number(&row, "water_wind_speed_kn").unwrap();
        assert!((kn_from_mps(over_water.speed_mps()) - expected).abs() < CLOSE, "{case}");
        let water_from = from_of(over_water);
        same_direction(
            case,
            "wind over the water",
            water_from.map(Bearing::deg),
            number(&row, "water_wind_dir_from_deg"),
        );
        same_direction(
            case,
            "angle to the wind over the water",
            water_from.map(|from| wind_angle(from, heading)),
            number(&row, "water_wind_angle_deg_signed"),
        );
    }
}

#[test]
fn the_true_wind_follows_from_what_is_felt_aboard() {
    for row in rows() {
        let case = &row["case"];
        let heading = bearing(number(&row, "heading_true_deg").unwrap());
        let angle = number(&row, "apparent_wind_angle_deg_signed").unwrap_or(0.0);
        let speed = mps_from_kn(number(&row, "apparent_wind_speed_kn").unwrap());
        let air = air_from_apparent(heading, angle, speed, motion(&row));

        let expected = number(&row, "true_wind_speed_ground_kn").unwrap();
        assert!((kn_from_mps(air.speed_mps()) - expected).abs() < CLOSE, "{case}");
        // In a calm the printed course and speed leave a trace with some direction.
        if expected > 0.0 {
            let from = from_of(air);
            same_direction(
                case,
                "true wind",
                from.map(Bearing::deg),
                number(&row, "true_wind_dir_ground_from_deg"),
            );
            same_direction(
                case,
                "true wind angle",
                from.map(|from| wind_angle(from, heading)),
                number(&row, "true_wind_angle_ground_deg_signed"),
            );
        }
    }
}
