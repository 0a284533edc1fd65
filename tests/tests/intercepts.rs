//! Courses to meet a target, and closest approach: `intercept.csv` (checked there by a time scan) and
//! `closest_approach.csv`.

use dunlin_engine::{
    needs::intercept::{closest, meet},
    units::{Bearing, Local, Velocity, mps_from_kn},
};
use proptest::prelude::*;
use serde::Deserialize;

#[derive(Debug, Deserialize)]
struct MeetRow {
    case: String,
    target_x_m: f64,
    target_y_m: f64,
    target_course_deg: f64,
    target_speed_kn: f64,
    safety_boat_speed_kn: f64,
    solvable: String,
    time_s: Option<f64>,
    heading_deg: Option<f64>,
    meet_x_m: Option<f64>,
    meet_y_m: Option<f64>,
}

fn velocity(course_deg: f64, speed_kn: f64) -> Velocity {
    Velocity::towards(Bearing::from_degrees_true(course_deg).expect("finite"), mps_from_kn(speed_kn))
}

#[test]
fn every_target_is_met_as_the_table_says() {
    let mut rows = 0;
    for row in dunlin_tests::rows::<MeetRow>("intercept.csv") {
        let target = Local { east_m: row.target_x_m, north_m: row.target_y_m };
        let moving = velocity(row.target_course_deg, row.target_speed_kn);
        let met = meet(Local::default(), mps_from_kn(row.safety_boat_speed_kn), target, moving);
        assert_eq!(met.is_some(), row.solvable == "yes", "{}: {met:?}", row.case);
        if let Some(met) = met {
            let off_s = met.after_s - row.time_s.expect("a time where solvable");
            assert!(off_s.abs() < 0.001, "{}: {met:?}", row.case);
            let (east_m, north_m) = row.meet_x_m.zip(row.meet_y_m).expect("a place where solvable");
            assert!(met.at.distance_m(Local { east_m, north_m }) < 0.002, "{}: {met:?}", row.case);
            match row.heading_deg.zip(met.steer) {
                Some((heading_deg, steer)) => {
                    let expected = Bearing::from_degrees_true(heading_deg).expect("finite");
                    assert!(expected.turn_to(steer).abs() < 0.001, "{}: {met:?}", row.case);
                }
                None => assert_eq!(row.heading_deg, met.steer.map(Bearing::deg), "{}", row.case),
            }
        }
        rows += 1;
    }
    assert_eq!(rows, 21);
}

#[derive(Debug, Deserialize)]
struct ClosestRow {
    case: String,
    other_x_m: f64,
    other_y_m: f64,
    other_course_deg: f64,
    other_speed_kn: f64,
    own_course_deg: f64,
    own_speed_kn: f64,
    time_to_closest_s_clamped_at_0: f64,
    closest_distance_m: f64,
}

#[test]
fn boats_pass_as_near_as_the_table_says() {
    for row in dunlin_tests::rows::<ClosestRow>("closest_approach.csv") {
        let other = Local { east_m: row.other_x_m, north_m: row.other_y_m };
        let own_velocity = velocity(row.own_course_deg, row.own_speed_kn);
        let other_velocity = velocity(row.other_course_deg, row.other_speed_kn);
        let (after_s, distance_m) = closest(Local::default(), own_velocity, other, other_velocity);
        let off_s = after_s - row.time_to_closest_s_clamped_at_0;
        assert!(off_s.abs() < 0.001, "{}: {after_s} s", row.case);
        assert!((distance_m - row.closest_distance_m).abs() < 0.001, "{}: {distance_m} m", row.case);
    }
}

proptest! {
    /// Steering the course given, at the speed given, one is where the target is at that time.
    #[test]
    fn whoever_steers_it_gets_there(
        east_m in -5000.0..5000.0_f64,
        north_m in -5000.0..5000.0_f64,
        course_deg in 0.0..360.0_f64,
        target_kn in 0.0..12.0_f64,
        own_kn in 0.5..25.0_f64,
    ) {
        let target = Local { east_m, north_m };
        let moving = velocity(course_deg, target_kn);
        if let Some(met) = meet(Local::default(), mps_from_kn(own_kn), target, moving) {
            let there = target.after(moving, met.after_s);
            let reach_m = mps_from_kn(own_kn) * met.after_s;
            prop_assert!((there.distance_m(Local::default()) - reach_m).abs() < 1e-3 + 1e-6 * reach_m);
        } else {
            // At worst she is chased from astern; a chase of more than a day is said to be none.
            let chase_s = target.distance_m(Local::default()) / mps_from_kn(own_kn - target_kn);
            let slower = target_kn < own_kn;
            prop_assert!(!slower || chase_s > 86_400.0, "a slower target can be met in {chase_s} s");
        }
    }
}
