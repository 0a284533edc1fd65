//! A phone that feels the heel and sees no sky: under a thwart, in a locker, under the boat; and one on a boat that is
//! not yet counted as out.

use dunlin_engine::{
    Engine, Setup,
    effect::{AlertKind, Effect, Level, Phase},
    fleet::{Boat, BoatIx, Class, Role},
    input::{Command, HandMark, Input, Report},
    moment::{FixTime, Moment},
    units::{Bearing, Position},
    venue::{Site, Zone, ZoneKind},
};

const BEGAN: i64 = 1_780_308_000_000;

fn setup() -> Setup {
    let boat = Boat {
        id: "07".to_owned(),
        name: None,
        role: Role::Dinghy,
        sources: vec!["phone:07".to_owned()],
        mmsi: None,
        crew: 2,
        class: Class::default(),
    };
    Setup { fleet: vec![boat], ..Setup::default() }
}

/// A report at `second`, heeled so far; with a position of a boat that sails north-east at 2 m/s, or without.
fn report(second: i64, heel_deg: f64, seen: bool) -> Input {
    let way_deg = 2.0 * second as f64 / 111_195.0 / 2.0_f64.sqrt();
    let position = Position::new(50.0 + way_deg, -5.0 + way_deg / 50.0_f64.to_radians().cos());
    let report = Report {
        taken: FixTime(BEGAN + second * 1_000),
        position: position.filter(|_| seen),
        accuracy_m: Some(4.0),
        speed_mps: seen.then_some(2.0),
        course: Bearing::from_degrees_true(45.0).filter(|_| seen),
        heading: None,
        heel_deg: Some(heel_deg),
        battery_pct: None,
        help: None,
    };
    Input::Report { source: "phone:07".to_owned(), report }
}

/// Runs reports of (heel, position or not), one a second, and gives the alerts told: second, kind, phase and
/// first words.
fn told(reports: &[(f64, bool)]) -> Vec<(i64, AlertKind, Level, Phase, String)> {
    let mut engine = Engine::new(setup());
    let afloat = Command::Mark(BoatIx(0), HandMark::Afloat);
    drop(engine.on(Moment(BEGAN), Input::Command { by: "Robin".to_owned(), command: afloat }));
    let mut told = Vec::new();
    for (second, (heel_deg, seen)) in (1..).zip(reports) {
        for effect in engine.on(Moment(BEGAN + second * 1_000), report(second, *heel_deg, *seen)) {
            if let Effect::Alert(change) = effect {
                let words = change.alert.evidence.first().cloned().unwrap_or_default();
                told.push((second, change.alert.kind, change.alert.level, change.phase, words));
            }
        }
    }
    told
}

#[test]
fn a_boat_that_is_felt_on_her_side_after_the_last_position_is_told_of() {
    let reports = [[(10.0, true); 60].as_slice(), &[(100.0, false); 40]].concat();
    let told = told(&reports);
    let (second, _, level, phase, words) = told
        .iter()
        .find(|(_, kind, ..)| *kind == AlertKind::Capsize)
        .unwrap_or_else(|| panic!("no capsize told: {told:?}"));
    assert_eq!((*level, *phase), (Level::Warning, Phase::Raised), "{told:?}");
    assert!((74..=78).contains(second), "15 s after the last position, not at {second}");
    assert!(words.starts_with("heel 100 deg for "), "{words}");
    let lost =
        told.iter().find(|(_, kind, ..)| *kind == AlertKind::LostContact).expect("no position for 27 s");
    assert!(lost.4.ends_with("though her feed still speaks"), "{}", lost.4);
}

#[test]
fn a_phone_that_never_had_a_position_counts_once_the_boat_is_said_to_be_out() {
    let told = told(&[(-95.0, false); 20]);
    assert!(told.iter().any(|(_, kind, ..)| *kind == AlertKind::Capsize), "{told:?}");
}

#[test]
fn a_boat_that_lost_her_position_and_heels_as_boats_do_is_not_told_of() {
    let reports = [[(10.0, true); 60].as_slice(), &[(35.0, false); 20]].concat();
    let told = told(&reports);
    assert!(!told.iter().any(|(_, kind, ..)| *kind == AlertKind::Capsize), "{told:?}");
}

/// Runs a boat from a beach that reaches 60 m into the water: she lies in it, and moves off by `way_m` in the 20 s before second
/// 80; from second `over_from` on she lies on her side. Gives the capsize alerts told: seconds since second 80, level, first words.
fn told_off_the_beach(way_m: f64, over_from: i64) -> Vec<(i64, Level, String)> {
    let at = |north_m: f64, east_m: f64| Position::new(50.0 + north_m / 111_195.0, -5.0 + east_m / 71_475.0);
    let corners = [(-10.0, -50.0), (-10.0, 50.0), (60.0, 50.0), (60.0, -50.0), (-10.0, -50.0)];
    let ring: Option<Vec<Position>> =
        corners.into_iter().map(|(north_m, east_m)| at(north_m, east_m)).collect();
    let polygons = vec![vec![ring.expect("on the earth")]];
    let landing = Zone { kind: ZoneKind::Landing, name: "beach".to_owned(), polygons };
    let site = Site { zones: vec![landing], marks: Vec::new() };
    let mut engine = Engine::new(Setup { site, ..setup() });
    let mut told = Vec::new();
    for second in 1..=140 {
        let moved = ((second - 60) as f64 / 20.0).clamp(0.0, 1.0);
        let speed_mps = if (60..80).contains(&second) { way_m / 20.0 } else { 0.0 };
        let report = Report {
            taken: FixTime(BEGAN + second * 1_000),
            position: at(way_m * moved, 0.0),
            accuracy_m: Some(4.0),
            speed_mps: Some(speed_mps),
            course: Bearing::from_degrees_true(0.0),
            heading: None,
            heel_deg: Some(if second < over_from { 5.0 } else { 100.0 }),
            battery_pct: None,
            help: None,
        };
        let input = Input::Report { source: "phone:07".to_owned(), report };
        for effect in engine.on(Moment(BEGAN + second * 1_000), input) {
            if let Effect::Alert(change) = effect
                && change.alert.kind == AlertKind::Capsize
            {
                let words = change.alert.evidence.first().cloned().unwrap_or_default();
                told.push((second - 80, change.alert.level, words));
            }
        }
    }
    told
}

#[test]
fn a_boat_that_goes_over_before_she_counts_as_out_is_told_of() {
    let told = told_off_the_beach(22.0, 80);
    let (second, level, words) = told.first().unwrap_or_else(|| panic!("a caution at least"));
    assert!((8..=10).contains(second) && *level == Level::Caution, "{told:?}");
    assert!(words.starts_with("heel 100 deg for "), "{words}");
    let grown = told.iter().find(|(_, level, _)| *level == Level::Warning);
    assert!(grown.is_some_and(|(second, ..)| (30..=32).contains(second)), "{told:?}");
}

#[test]
fn a_boat_that_is_laid_on_her_side_where_she_lay_ashore_is_not() {
    assert_eq!(told_off_the_beach(0.0, 80), Vec::new());
}

#[test]
fn a_phone_that_lay_on_its_side_before_she_left_says_nothing() {
    assert_eq!(told_off_the_beach(22.0, 30), Vec::new());
}
