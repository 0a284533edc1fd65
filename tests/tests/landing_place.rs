//! What a stop at a landing place is worth: boats swing, bump and are walked about where they come ashore.

use dunlin_engine::{
    Engine, Setup,
    effect::{AlertKind, Effect, Level, Phase},
    fleet::{Boat, BoatIx, Class, Role},
    input::{Command, FeedName, HandMark, Input, Report},
    moment::{FixTime, Moment},
    units::{Bearing, Position},
    venue::{Site, Zone, ZoneKind},
};

const BEGAN: i64 = 1_780_308_000_000;
/// She has sailed in so long when she stops, s.
const SAILED_S: i64 = 170;

fn at(north_m: f64, east_m: f64) -> Option<Position> {
    Position::new(50.0 + north_m / 111_195.0, -5.0 + east_m / 71_475.0)
}

/// A boat sails south at 2 m/s and stops dead so far off a landing place; then she drifts at 0.3 m/s, her phone feeling what
/// `heel_deg` gives at each second after the stop. Gives what is told of a capsize: the second, level and phase.
fn told(off_m: f64, heel_deg: impl Fn(i64) -> Option<f64>) -> Vec<(i64, Level, Phase)> {
    let corners = [(-60.0, -50.0), (-60.0, 50.0), (0.0, 50.0), (0.0, -50.0), (-60.0, -50.0)];
    let ring: Option<Vec<Position>> = corners.into_iter().map(|(north, east)| at(north, east)).collect();
    let polygons = vec![vec![ring.expect("on the earth")]];
    let landing = Zone { kind: ZoneKind::Landing, name: "beach".to_owned(), polygons };
    let boat = Boat {
        id: "07".to_owned(),
        name: None,
        role: Role::Dinghy,
        sources: vec!["phone:07".to_owned()],
        mmsi: None,
        crew: 2,
        class: Class::default(),
    };
    let site = Site { zones: vec![landing], marks: Vec::new() };
    let mut engine = Engine::new(Setup { site, fleet: vec![boat], ..Setup::default() });
    let afloat = Command::Mark(BoatIx(0), HandMark::Afloat);
    drop(engine.on(Moment(BEGAN), Input::Command { by: "Robin".to_owned(), command: afloat }));
    let mut told = Vec::new();
    let body = "WIMWD,270.0,T,270.0,M,11.0,N,5.7,M";
    let sum = body.bytes().fold(0, |sum: u8, byte| sum ^ byte);
    let wind = format!("${body}*{sum:02X}").into_bytes();
    for second in 1..=SAILED_S + 120 {
        let stopped_s = second - SAILED_S;
        let (to_go_s, drifted_s) = ((-stopped_s).max(0) as f64, stopped_s.max(0) as f64);
        let report = Report {
            taken: FixTime(BEGAN + second * 1_000),
            position: at(
                off_m + 2.0 * to_go_s + 0.4 * (second as f64 * 0.7).sin(),
                0.3 * drifted_s + 0.4 * (second as f64 * 0.9).cos(),
            ),
            accuracy_m: Some(4.0),
            speed_mps: Some(if stopped_s < 0 {
                2.0 + 0.15 * (second as f64 * 1.3).sin()
            } else {
                0.3 + 0.1 * (second as f64 * 1.3).sin()
            }),
            course: Bearing::from_degrees_true(if stopped_s < 0 { 180.0 } else { 90.0 }),
            heading: None,
            heel_deg: heel_deg(stopped_s),
            battery_pct: None,
            help: None,
        };
        let feed = FeedName("vane".to_owned());
        let wind = Input::Line { feed, line: wind.clone() };
        let report = Input::Report { source: "phone:07".to_owned(), report };
        let now = Moment(BEGAN + second * 1_000);
        let (blown, heard) = (engine.on(now, wind), engine.on(now, report));
        for effect in blown.into_iter().chain(heard) {
            if let Effect::Alert(change) = effect
                && change.alert.kind == AlertKind::Capsize
            {
                told.push((stopped_s, change.alert.level, change.phase));
            }
        }
    }
    told
}

/// How often the level told changes.
fn turns(told: &[(i64, Level, Phase)]) -> usize {
    told.windows(2).filter(|two| two[0].1 != two[1].1).count()
}

#[test]
fn a_boat_that_stops_dead_is_an_alarm_away_from_it_and_a_caution_at_it() {
    let away = told(100.0, |_| None);
    assert!(away.iter().any(|(_, level, _)| *level == Level::Alarm), "{away:?}");
    let beside = told(20.0, |_| None);
    assert!(beside.iter().any(|(_, _, phase)| *phase == Phase::Raised), "{beside:?}");
    assert!(beside.iter().all(|(_, level, _)| *level == Level::Caution), "{beside:?}");
}

#[test]
fn at_the_edge_of_its_reach_no_alert_goes_to_and_fro() {
    for off_m in [20.0, 24.6, 25.0, 25.4, 27.0, 29.6, 30.0, 30.4] {
        let told = told(off_m, |_| None);
        assert!(!told.is_empty() && turns(&told) <= 2, "{off_m}: {told:?}");
        let raised = told.iter().filter(|(.., phase)| *phase == Phase::Raised).count();
        assert_eq!(raised, 1, "{off_m}: {told:?}");
    }
}

#[test]
fn a_heel_that_is_felt_is_believed_there_and_one_that_swings_does_not_raise_again() {
    let lies = told(10.0, |second| Some(if second < 0 { 10.0 } else { 95.0 }));
    assert!(lies.iter().any(|(_, level, _)| *level == Level::Alarm), "{lies:?}");
    let swings = told(10.0, |second| {
        Some(match second {
            ..0 => 10.0,
            _ if second % 8 < 4 => 95.0,
            _ => 68.0,
        })
    });
    let raised = swings.iter().filter(|(second, _, phase)| *phase == Phase::Raised && *second > 5);
    assert_eq!(raised.count(), 1, "{swings:?}");
}
