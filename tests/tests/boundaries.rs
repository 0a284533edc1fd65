//! Inside or out, how far, and when a straight course crosses: against `polygon_points.csv` and
//! `boundary_crossing.csv` (Shapely 2.2.0, checked there by an independent ray-crossing routine).

use std::collections::BTreeMap;

use dunlin_engine::{
    units::{Bearing, Local, Velocity, mps_from_kn},
    venue::{Region, Union},
};
use dunlin_tests::reference;
use proptest::prelude::*;
use serde::Deserialize;

#[derive(Deserialize)]
struct Shapes {
    polygons: BTreeMap<String, Shape>,
}

#[derive(Deserialize)]
struct Shape {
    shell: Vec<(f64, f64)>,
    holes: Vec<Vec<(f64, f64)>>,
}

fn local((east_m, north_m): (f64, f64)) -> Local {
    Local { east_m, north_m }
}

fn shapes() -> BTreeMap<String, Region> {
    let shapes: Shapes = serde_json::from_str(&reference("polygons.json")).expect("polygons.json reads");
    let region = |shape: Shape| {
        let ring = |ring: &Vec<(f64, f64)>| ring.iter().copied().map(local).collect();
        let rings: Vec<Vec<Local>> = std::iter::once(&shape.shell).chain(&shape.holes).map(ring).collect();
        Region::from_rings(&rings).expect("a shape with edges")
    };
    shapes.polygons.into_iter().map(|(name, shape)| (name, region(shape))).collect()
}

#[derive(Debug, Deserialize)]
struct PointRow {
    case: String,
    polygon: String,
    x_m: f64,
    y_m: f64,
    relation: String,
    signed_distance_m_positive_inside: f64,
}

#[test]
fn every_point_lies_as_the_table_says() {
    let shapes = shapes();
    let mut rows = 0;
    for row in dunlin_tests::rows::<PointRow>("polygon_points.csv") {
        let at = local((row.x_m, row.y_m));
        let region = &shapes[&row.polygon];
        let margin = region.margin(at);
        let expected_m = row.signed_distance_m_positive_inside;
        assert!((margin.signed_m - expected_m).abs() < 1e-6, "{}: {margin:?}, not {expected_m}", row.case);
        // A point on the boundary counts as inside.
        assert_eq!(region.contains(at), row.relation != "outside", "{row:?}");
        let union = Union::of(vec![region.clone()]);
        assert_eq!(union.margin(at).map(|margin| margin.signed_m), Some(margin.signed_m), "{}", row.case);
        assert!((at.distance_m(margin.nearest) - expected_m.abs()).abs() < 1e-6, "{}", row.case);
        rows += 1;
    }
    assert_eq!(rows, 76);
}

#[derive(Debug, Deserialize)]
struct CourseRow {
    case: String,
    polygon: String,
    x_m: f64,
    y_m: f64,
    cog_deg: f64,
    sog_kn: f64,
    all_events_event_at_seconds: String,
}

#[test]
fn every_course_crosses_when_the_table_says() {
    let shapes = shapes();
    let mut rows = 0;
    for row in dunlin_tests::rows::<CourseRow>("boundary_crossing.csv") {
        let course = Bearing::from_degrees_true(row.cog_deg).expect("a finite course");
        let velocity = Velocity::towards(course, mps_from_kn(row.sog_kn));
        let region = &shapes[&row.polygon];
        let found = region.changes(local((row.x_m, row.y_m)), velocity);
        let expected: Vec<(bool, f64)> = row
            .all_events_event_at_seconds
            .split_whitespace()
            .map(|event| {
                let (what, at) = event.split_once('@').expect("event@seconds");
                (what == "enter", at.parse().expect("seconds"))
            })
            .collect();
        let shown = format!("{}: found {found:?}, expected {expected:?}", row.case);
        assert_eq!(found.len(), expected.len(), "{shown}");
        for ((after_s, inside), (enters, at_s)) in found.iter().zip(&expected) {
            assert_eq!(inside, enters, "{shown}");
            assert!((after_s - at_s).abs() <= 0.001, "{shown}");
        }
        rows += 1;
    }
    assert_eq!(rows, 36);
}

fn square(west: f64, south: f64, east: f64, north: f64) -> Region {
    let ring = [(west, south), (east, south), (east, north), (west, north)];
    Region::from_rings(&[ring.map(local).to_vec()]).expect("a square")
}

#[test]
fn areas_that_touch_or_overlap_are_one_water() {
    for (second, name) in [
        (square(100.0, 0.0, 200.0, 100.0), "sharing an edge"),
        (square(60.0, 0.0, 200.0, 100.0), "overlapping"),
        (square(100.01, 0.0, 200.0, 100.0), "with a gap of a centimetre"),
    ] {
        let water = Union::of(vec![square(0.0, 0.0, 100.0, 100.0), second]);
        let margin = water.margin(local((100.0, 50.0))).expect("there is water");
        assert!((margin.signed_m - 50.0).abs() < 0.02, "{name}: {margin:?}");
        let east = Velocity { east_mps: 1.0, north_mps: 0.0 };
        let crossings = water.changes(local((50.0, 50.0)), east);
        assert!(
            matches!(crossings[..], [(after_s, false)] if (after_s - 150.0).abs() < 1e-6),
            "{name}: {crossings:?}"
        );
    }
}

#[test]
fn areas_apart_have_no_water_between_them() {
    let water = Union::of(vec![square(0.0, 0.0, 100.0, 100.0), square(200.0, 0.0, 300.0, 100.0)]);
    let margin = water.margin(local((150.0, 50.0))).expect("there is water");
    assert!((margin.signed_m + 50.0).abs() < 1e-9, "{margin:?}");
    assert_eq!(Union::of(Vec::new()).margin(local((0.0, 0.0))), None);
}

#[test]
fn a_hole_filled_by_another_area_is_no_edge() {
    let ring = |west: f64, south: f64, east: f64, north: f64| {
        [(west, south), (east, south), (east, north), (west, north)].map(local).to_vec()
    };
    let holed = Region::from_rings(&[ring(0.0, 0.0, 300.0, 300.0), ring(100.0, 100.0, 200.0, 200.0)]);
    let water = Union::of(vec![holed.expect("a ring"), square(100.0, 100.0, 200.0, 200.0)]);
    let margin = water.margin(local((150.0, 150.0))).expect("there is water");
    assert!((margin.signed_m - 150.0).abs() < 1e-9, "{margin:?}");
}

proptest! {
    /// Wherever the first crossing is, the point just before it is on the first side and the point
    /// just after on the other.
    #[test]
    fn a_crossing_parts_the_two_sides(
        name in prop::sample::select(vec!["SQ", "TRI", "L", "U", "HOLE", "STAR", "THIN", "NEG"]),
        east_m in -1500.0..1500.0_f64,
        north_m in -1500.0..1500.0_f64,
        course_deg in 0.0..360.0_f64,
    ) {
        let region = &shapes()[name];
        let from = local((east_m, north_m));
        let velocity = Velocity::towards(Bearing::from_degrees_true(course_deg).expect("finite"), 2.0);
        let mut was_inside = region.contains(from);
        for (after_s, inside) in region.changes(from, velocity) {
            prop_assert_eq!(was_inside, !inside);
            let (before, after) = (from.after(velocity, after_s - 1e-4), from.after(velocity, after_s + 1e-4));
            // At a sharp corner the two sides may be closer together than the look.
            if region.margin(before).signed_m.abs() > 1e-5 && region.margin(after).signed_m.abs() > 1e-5 {
                prop_assert_eq!(region.contains(before), was_inside, "{} s", after_s);
                prop_assert_eq!(region.contains(after), inside, "{} s", after_s);
            }
            was_inside = inside;
        }
    }

    /// The distance is never more than the distance to any corner, and moving by d changes it by no
    /// more than d.
    #[test]
    fn a_margin_changes_no_faster_than_the_boat_moves(
        name in prop::sample::select(vec!["SQ", "L", "U", "HOLE", "STAR", "THIN"]),
        east_m in -1500.0..1500.0_f64,
        north_m in -1500.0..1500.0_f64,
        step_m in 0.0..500.0_f64,
        course_deg in 0.0..360.0_f64,
    ) {
        let region = &shapes()[name];
        let from = local((east_m, north_m));
        let towards = Bearing::from_degrees_true(course_deg).expect("finite");
        let to = from.after(Velocity::towards(towards, step_m), 1.0);
        let change_m = (region.margin(to).signed_m - region.margin(from).signed_m).abs();
        prop_assert!(change_m <= step_m + 1e-6, "{change_m} m for a step of {step_m} m");
    }
}
