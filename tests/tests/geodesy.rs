//! The flat plane against the geodesic on the ellipsoid (see `reference/SENTENCES.md`).

use dunlin_engine::{
    tracks::Plane,
    units::{Local, Position},
};
use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic};
use proptest::prelude::*;

fn rows(table: &str) -> Vec<Vec<String>> {
    let path = format!("{}/reference/{table}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).expect("the reference table is part of the tests");
    reader.records().map(|row| row.expect("the table is whole").iter().map(str::to_owned).collect()).collect()
}

fn number(text: &str) -> f64 {
    text.parse().expect("a number")
}

fn position(lat: &str, lon: &str) -> Position {
    Position::new(number(lat), number(lon)).expect("a place")
}

/// What a plane through one end may be off at `distance_m` and a latitude, metres: the meridians
/// converge, and the error of a flat frame grows with the square of the distance and the tangent of
/// the latitude. 1.6e-7 a metre is what the geodesic shows at 45 degrees (0.62 m at 2 km).
fn allowed_m(distance_m: f64, lat_deg: f64) -> f64 {
    0.001 + 1.6e-7 * distance_m * distance_m * (0.2 + lat_deg.abs().to_radians().tan())
}

#[test]
fn metres_of_a_degree_are_those_of_the_table() {
    for row in rows("local_projection.csv") {
        let plane = Plane::at(position(&row[0], "0"));
        assert!((plane.metres_per_deg_lat() - number(&row[1])).abs() < 1e-4, "{row:?}");
        assert!((plane.metres_per_deg_lon() - number(&row[2])).abs() < 1e-4, "{row:?}");
    }
}

#[test]
fn the_plane_is_off_by_what_the_table_says_and_no_more() {
    let earth = Geodesic::wgs84();
    for row in rows("local_projection.csv") {
        let (lat, radius_m, worst_m) = (number(&row[0]), number(&row[3]), number(&row[4]));
        let origin = Position::new(lat, 0.0).expect("a place");
        let plane = Plane::at(origin);
        let mut worst = 0.0_f64;
        for azimuth in 0..72 {
            let azimuth = f64::from(azimuth) * 5.0;
            let (lat2, lon2, _): (f64, f64, f64) = earth.direct(lat, 0.0, azimuth, radius_m);
            let there = plane.local(Position::new(lat2, lon2).expect("a place"));
            let (sin, cos) = azimuth.to_radians().sin_cos();
            let flat = Local { east_m: radius_m * sin, north_m: radius_m * cos };
            worst = worst.max(there.distance_m(flat));
        }
        assert!(worst <= worst_m * 1.02 + 0.001, "{row:?}: {worst} m");
    }
}

#[test]
fn distances_and_bearings_of_the_table_hold_on_the_plane() {
    let mut checked = 0;
    for row in rows("geodesy_inverse.csv") {
        let (from, to) = (position(&row[2], &row[3]), position(&row[4], &row[5]));
        let distance_m = number(&row[6]);
        if row[7].is_empty() || distance_m > 20_000.0 || from.lat_deg().abs() > 75.0 {
            continue; // no venue is larger
        }
        let azimuth = number(&row[7]);
        let plane = Plane::at(from);
        let there = plane.local(to);
        let off_m = (there.distance_m(Local::default()) - distance_m).abs();
        let allowed_m = allowed_m(distance_m, from.lat_deg());
        assert!(off_m <= allowed_m, "{row:?}: {off_m} m, allowed {allowed_m}");
        let bearing = Local::default().bearing_to(there).expect("not the same place").deg();
        let across_m = (bearing - azimuth).to_radians().sin().abs() * distance_m;
        assert!(across_m <= allowed_m, "{row:?}: {across_m} m across, allowed {allowed_m}");
        checked += 1;
    }
    assert!(checked >= 40, "{checked} checked");
}

#[test]
fn destinations_of_the_table_are_reached_on_the_plane() {
    let mut checked = 0;
    for row in rows("geodesy_direct.csv") {
        let (from, azimuth, distance_m) = (position(&row[2], &row[3]), number(&row[4]), number(&row[5]));
        if distance_m > 20_000.0 || from.lat_deg().abs() > 75.0 {
            continue;
        }
        let plane = Plane::at(from);
        let (sin, cos) = azimuth.to_radians().sin_cos();
        let there = plane.position(Local { east_m: distance_m * sin, north_m: distance_m * cos });
        let wanted = plane.local(position(&row[6], &row[7]));
        let off_m = plane.local(there.expect("a place")).distance_m(wanted);
        assert!(off_m <= allowed_m(distance_m, from.lat_deg()), "{row:?}: {off_m} m");
        checked += 1;
    }
    assert!(checked >= 20, "{checked} checked");
}

proptest! {
    /// Anywhere boats sail, two boats within a venue are as far apart on the plane as on the earth.
    #[test]
    fn two_boats_are_as_far_apart_as_they_are(
        lat in -65.0..65.0_f64, lon in -180.0..180.0_f64,
        (azimuth, out_m) in (0.0..360.0_f64, 0.0..2_000.0_f64),
        (azimuth2, apart_m) in (0.0..360.0_f64, 1.0..500.0_f64),
    ) {
        let earth = Geodesic::wgs84();
        let plane = Plane::at(Position::new(lat, lon).expect("in range"));
        let (lat1, lon1, _): (f64, f64, f64) = earth.direct(lat, lon, azimuth, out_m);
        let (lat2, lon2, _): (f64, f64, f64) = earth.direct(lat1, lon1, azimuth2, apart_m);
        let s12: f64 = earth.inverse(lat1, lon1, lat2, lon2);
        let one = plane.local(Position::new(lat1, lon1).expect("in range"));
        let two = plane.local(Position::new(lat2, lon2).expect("in range"));
        // 2.5 km from the origin at 65 degrees a metre east is 0.9992 to 1.0009 metres on the plane.
        prop_assert!((one.distance_m(two) - s12).abs() < 0.001 + 1e-3 * s12);
        // And back again.
        let again = plane.position(one).expect("near the origin");
        prop_assert!(plane.local(again).distance_m(one) < 1e-6);
    }

    /// The plane never gives anything but finite numbers, poles and date line included.
    #[test]
    fn the_plane_is_finite_everywhere(
        lat in -90.0..=90.0_f64, lon in -180.0..=180.0_f64,
        lat2 in -90.0..=90.0_f64, lon2 in -180.0..=180.0_f64,
    ) {
        let plane = Plane::at(Position::new(lat, lon).expect("in range"));
        let local = plane.local(Position::new(lat2, lon2).expect("in range"));
        prop_assert!(local.east_m.is_finite() && local.north_m.is_finite());
    }
}
