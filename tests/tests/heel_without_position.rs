//! A phone that feels the heel and sees no sky: under a thwart, in a locker, under the boat.

use dunlin_engine::{
    Engine, Setup,
    effect::{AlertKind, Effect, Level, Phase},
    fleet::{Boat, BoatIx, Class, Role},
    input::{Command, HandMark, Input, Report},
    moment::{FixTime, Moment},
    units::{Bearing, Position},
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
