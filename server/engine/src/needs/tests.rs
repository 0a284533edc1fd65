//! The order of need and the ways there.

use std::collections::BTreeMap;

use super::*;
use crate::{alerts::Claim, fleet::Class, input::Command, tracks::Plane};

/// A fleet of dinghies 0 to 5 with two aboard each, and safety boats 6 and 7.
struct Afternoon {
    alerts: Alerts,
    fleet: Vec<Boat>,
    places: BTreeMap<BoatIx, (Local, Velocity)>,
    plane: Plane,
    now: Moment,
    push: Push,
}

impl Afternoon {
    fn new() -> Afternoon {
        let boat = |ix: u16| Boat {
            id: if ix < 6 { format!("{ix:02}") } else { format!("S{}", ix - 5) },
            name: None,
            role: if ix < 6 { Role::Dinghy } else { Role::Safety },
            sources: vec![format!("phone-{ix}")],
            mmsi: None,
            crew: 2,
            class: Class::default(),
        };
        let place = |ix: u16| {
            let at = Local { east_m: 100.0 * f64::from(ix), north_m: 0.0 };
            (BoatIx(ix), (at, Velocity::default()))
        };
        Afternoon {
            alerts: Alerts::new(),
            fleet: (0..8).map(boat).collect(),
            places: (0..8).map(place).collect(),
            plane: Plane::at(Position::new(50.75, -1.3).expect("on the globe")),
            now: Moment(3_600_000),
            push: Push { wind: Some((Bearing::NORTH, 8.0)), stream: None },
        }
    }

    fn raise(&mut self, boat: u16, kind: AlertKind, level: Level, ago_s: i64) {
        let claim = Claim { level, began: self.now.plus_ms(-ago_s * 1000), confidence: None };
        self.alerts.hold(self.now, Topic::of(BoatIx(boat), kind), claim, Vec::new);
    }

    fn tell(&mut self, boat: u16, kind: AlertKind, command: impl FnOnce(crate::input::AlertId) -> Command) {
        let id = self.alerts.about(Topic::of(BoatIx(boat), kind)).expect("it stands").id;
        self.alerts.on_command(self.now, "Ada", &command(id));
    }

    fn order(&self) -> Vec<NeedView> {
        let motion = |boat: BoatIx| {
            let (position, velocity) = *self.places.get(&boat)?;
            let motion = Motion {
                at: self.now,
                position,
                position_sd_m: 3.0,
                velocity,
                velocity_sd_mps: 0.1,
                said: None,
                course: None,
                heading: None,
                heading_sensed: false,
                turn_rate_dps: None,
                heel_deg: None,
            };
            Some((motion, None))
        };
        order(&Scene {
            now: self.now,
            fleet: &self.fleet,
            alerts: &self.alerts,
            motion: &motion,
            persons: &|_| 2,
            beacon: &|mmsi| (mmsi == 972_000_001).then_some(Local { east_m: 50.0, north_m: 400.0 }),
            push: self.push,
            position: &|at| self.plane.position(at),
        })
    }

    fn boats(&self) -> Vec<Option<u16>> {
        self.order().iter().map(|need| need.boat.map(|boat| boat.0)).collect()
    }
}

#[test]
fn people_come_before_boats_and_the_missing_before_the_seen() {
    let mut day = Afternoon::new();
    day.raise(0, AlertKind::OutsideArea, Level::Warning, 600);
    day.raise(1, AlertKind::LostContact, Level::Alarm, 300);
    day.raise(2, AlertKind::Capsize, Level::Alarm, 30);
    day.raise(3, AlertKind::Capsize, Level::Alarm, 400);
    day.raise(4, AlertKind::NeedsHelp, Level::Alarm, 60);
    day.raise(5, AlertKind::PersonOverboard, Level::Emergency, 5);
    assert_eq!(day.boats(), [5, 3, 4, 2, 1, 0].map(Some));
    // Boat 2 was a quick one until somebody counted.
    day.tell(2, AlertKind::Capsize, |id| Command::HeadsCounted(id, 1));
    assert_eq!(day.boats(), [5, 2, 3, 4, 1, 0].map(Some));
    day.tell(2, AlertKind::Capsize, |id| Command::HeadsCounted(id, 2));
    assert_eq!(day.boats(), [5, 3, 4, 1, 0, 2].map(Some));
}

#[test]
fn of_two_alike_the_one_nobody_goes_to_comes_first_then_the_longer() {
    let mut day = Afternoon::new();
    day.raise(1, AlertKind::Capsize, Level::Alarm, 20);
    day.raise(2, AlertKind::Capsize, Level::Alarm, 90);
    assert_eq!(day.boats(), [2, 1].map(Some));
    day.tell(2, AlertKind::Capsize, |id| Command::Attend(id, Some(BoatIx(6))));
    assert_eq!(day.boats(), [1, 2].map(Some));
    assert!(day.order()[1].why.ends_with("S1 is on the way"), "{}", day.order()[1].why);
}

#[test]
fn a_boat_stands_in_the_order_once() {
    let mut day = Afternoon::new();
    day.raise(1, AlertKind::Capsize, Level::Alarm, 20);
    day.raise(1, AlertKind::OutsideArea, Level::Warning, 20);
    let needs = day.order();
    assert_eq!(needs.len(), 1);
    assert_eq!(needs[0].why, "capsized for 20 s, heads not counted; also outside the sailing area");
}

#[test]
fn silence_after_a_stop_outranks_silence_alone() {
    let mut day = Afternoon::new();
    day.raise(1, AlertKind::LostContact, Level::Alarm, 300);
    day.raise(2, AlertKind::Capsize, Level::Warning, 40);
    day.raise(2, AlertKind::LostContact, Level::Warning, 30);
    let needs = day.order();
    assert_eq!(needs[0].boat, Some(BoatIx(2)));
    assert!(needs[0].why.starts_with("capsized 40 s ago and silent since"), "{}", needs[0].why);
}

#[test]
fn a_beacon_that_no_boat_claims_has_its_place() {
    let mut day = Afternoon::new();
    let topic = Topic { boat: None, kind: AlertKind::PersonOverboard, tag: 972_000_001 };
    let claim = Claim { level: Level::Emergency, began: day.now, confidence: None };
    day.alerts.declare(day.now, topic, claim, Vec::new());
    let silent = Topic { tag: 972_000_002, ..topic };
    day.alerts.declare(day.now, silent, claim, Vec::new());
    let needs = day.order();
    assert_eq!(needs.len(), 2);
    assert_eq!((needs[0].boat, needs[0].persons, needs[0].ways.len()), (None, 1, 2));
    assert!(needs[1].ways.is_empty(), "a beacon without a place cannot be steered for");
}

#[test]
fn the_nearest_in_time_is_named_first_with_a_course_that_meets_the_drift() {
    let mut day = Afternoon::new();
    day.places.insert(BoatIx(0), (Local::default(), Velocity { east_mps: 0.0, north_mps: -1.0 }));
    day.places.insert(BoatIx(6), (Local { east_m: 900.0, north_m: 0.0 }, Velocity::default()));
    day.places.insert(BoatIx(7), (Local { east_m: -300.0, north_m: 0.0 }, Velocity::default()));
    day.raise(0, AlertKind::Capsize, Level::Alarm, 20);
    let needs = day.order();
    let [first, second] = &needs[0].ways[..] else { panic!("two safety boats: {needs:?}") };
    assert_eq!((first.safety, second.safety), (BoatIx(7), BoatIx(6)));
    assert!((first.bearing.deg() - 90.0).abs() < 1e-9);
    // At 15 kn against 1 m/s across: asin(1 / 7.717) is 7.4 degrees of lead.
    let steer = first.steer.expect("can be met");
    assert!((steer.deg() - 97.4).abs() < 0.1, "{steer:?}");
    let time_s = first.time_s.expect("can be met");
    assert!((time_s - 300.0 / (SAFETY_BOAT_MPS.powi(2) - 1.0).sqrt()).abs() < 1e-6, "{time_s}");
}

#[test]
fn forecasts_grow_and_lie_downwind() {
    let mut day = Afternoon::new();
    day.raise(0, AlertKind::PersonOverboard, Level::Emergency, 20);
    let needs = day.order();
    let south = |ring: &[Position]| {
        let sum: f64 = ring.iter().map(|at| at.lat_deg()).sum();
        50.75 - sum / ring.len() as f64
    };
    let extent = |ring: &[Position]| {
        let lats = ring.iter().map(|at| at.lat_deg());
        lats.clone().fold(f64::MIN, f64::max) - lats.fold(f64::MAX, f64::min)
    };
    let drift = &needs[0].drift;
    assert_eq!(drift.iter().map(|view| view.minutes).collect::<Vec<_>>(), [3.0, 10.0, 30.0]);
    for pair in drift.windows(2) {
        assert!(south(&pair[0].ring) < south(&pair[1].ring));
        assert!(extent(&pair[0].ring) < extent(&pair[1].ring));
    }
    assert_eq!(drift[0].ring.first(), drift[0].ring.last(), "a closed outline");
    day.push.wind = None;
    assert!(day.order()[0].drift.is_empty(), "no wind, no forecast");
}

#[test]
fn what_needs_nobody_to_go_is_not_in_the_order() {
    let mut day = Afternoon::new();
    day.raise(0, AlertKind::DoubledSource, Level::Caution, 20);
    let claim = Claim { level: Level::Warning, began: day.now, confidence: None };
    day.alerts.hold(day.now, Topic::session(AlertKind::WindOverLimit), claim, Vec::new);
    assert!(day.order().is_empty());
}
