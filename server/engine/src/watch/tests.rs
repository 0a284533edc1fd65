//! The rules of a boat and of the session, each from raise to clear.

use super::{
    declared::{BeaconWord, Beacons},
    session::SessionRules,
    *,
};
use crate::{
    alerts::{Alerts, Topic},
    effect::{AlertChange, Basis, Effect, Phase, WindNow},
    input::{Command, HandMark},
    tracks::Plane,
    units::{Bearing, Position, Velocity, mps_from_kn},
    venue::{Site, Zone, ZoneKind},
};

const BOAT: BoatIx = BoatIx(7);

/// A sailing area of 1000 m by 600 m north of the origin with a no-go zone of 200 m in its middle and a
/// landing place of 60 m touching its south edge.
fn venue() -> Venue {
    let origin = Position::new(50.75, -1.3).expect("on the globe");
    let plane = Plane::at(origin);
    let zone = |kind, name: &str, west: f64, south: f64, east: f64, north: f64| {
        let corners = [(west, south), (east, south), (east, north), (west, north), (west, south)];
        let ring = corners.map(|(east_m, north_m)| plane.position(Local { east_m, north_m }));
        let ring: Option<Vec<Position>> = ring.into_iter().collect();
        Zone { kind, name: name.to_owned(), polygons: vec![vec![ring.expect("near the origin")]] }
    };
    let zones = vec![
        zone(ZoneKind::SailingArea, "bay", 0.0, 0.0, 1000.0, 600.0),
        zone(ZoneKind::NoGo, "moorings", 400.0, 200.0, 600.0, 400.0),
        zone(ZoneKind::Landing, "beach", 100.0, -40.0, 160.0, 5.0),
    ];
    Venue::lay_out(&Site { zones, marks: Vec::new() }, |position| plane.local(position))
}

/// One boat, her rules and a clock.
struct Boat {
    venue: Venue,
    track: Track,
    rules: BoatRules,
    alerts: Alerts,
    now: Moment,
    motion: Motion,
    standing: Standing,
    making_way: Option<f64>,
    frozen_since: Option<Moment>,
    back_by: Option<Moment>,
    told: Vec<AlertChange>,
}

impl Boat {
    fn at(east_m: f64, north_m: f64) -> Boat {
        let motion = Motion {
            at: Moment(0),
            position: Local { east_m, north_m },
            position_sd_m: 3.0,
            velocity: Velocity::default(),
            velocity_sd_mps: 0.1,
            said: None,
            course: None,
            heading: None,
            heading_sensed: false,
            turn_rate_dps: None,
            heel_deg: None,
        };
        Boat {
            venue: venue(),
            track: Track::new(Role::Dinghy),
            rules: BoatRules::default(),
            alerts: Alerts::new(),
            now: Moment(0),
            motion,
            standing: Standing::Afloat,
            making_way: Some(1.0),
            frozen_since: None,
            back_by: None,
            told: Vec::new(),
        }
    }

    fn making(mut self, towards_deg: f64, kn: f64) -> Boat {
        self.motion.velocity = Velocity::towards(Bearing::wrap(towards_deg), mps_from_kn(kn));
        self
    }

    /// Goes on for `s` seconds, heard every second or not at all.
    fn go(&mut self, s: i64, heard: bool) {
        for _ in 0..s {
            self.now = self.now.plus_ms(1000);
            self.motion.position = self.motion.position.after(self.motion.velocity, 1.0);
            if heard {
                self.motion.at = self.now;
            }
            let ctx = Context {
                boat: BOAT,
                role: Role::Dinghy,
                venue: &self.venue,
                standing: self.standing,
                stirring: false,
                motion: Some(&self.motion),
                frozen_since: self.frozen_since,
                transponder: false,
                track: &self.track,
                making_way: self.making_way,
                push: Push::default(),
                back_by: self.back_by,
            };
            if heard {
                self.rules.on_claim(self.now, self.motion.position);
                self.rules.on_fix(self.now, &ctx, &mut self.alerts);
            }
            self.rules.on_tick(self.now, &ctx, &mut self.alerts);
            self.told.extend(self.alerts.drain().filter_map(|effect| match effect {
                Effect::Alert(change) => Some(change),
                _ => None,
            }));
        }
    }

    /// When alerts of a kind were raised and cleared, seconds, with the level of then.
    fn told(&self, kind: AlertKind) -> Vec<(i64, Phase, Level)> {
        let of_kind = self.told.iter().filter(|change| change.alert.kind == kind);
        let marked = of_kind.filter(|change| change.phase != Phase::Changed);
        marked.map(|change| (change.at.0 / 1000, change.phase, change.alert.level)).collect()
    }

    fn level(&self, kind: AlertKind) -> Option<Level> {
        self.alerts.about(Topic::of(BOAT, kind)).map(|alert| alert.level)
    }
}

#[test]
fn sailing_out_is_told_and_coming_back_clears_it() {
    let mut boat = Boat::at(500.0, 560.0).making(0.0, 4.0);
    boat.go(30, true); // crosses after 19.4 s
    let told = boat.told(AlertKind::OutsideArea);
    assert!(matches!(told[..], [(20..=26, Phase::Raised, _)]), "{told:?}");
    assert_eq!(boat.level(AlertKind::OutsideArea), Some(Level::Warning));
    boat = boat.making(180.0, 4.0);
    boat.go(25, true);
    let told = boat.told(AlertKind::OutsideArea);
    assert!(matches!(told[..], [_, (_, Phase::Cleared, _)]), "{told:?}");
    let evidence = &boat.told.first().expect("told").alert.evidence;
    assert!(evidence[0].contains("north edge"), "{evidence:?}");
}

#[test]
fn a_boat_that_tacks_at_the_edge_is_not_told_of() {
    let mut boat = Boat::at(500.0, 540.0).making(30.0, 3.5);
    boat.go(36, true); // to within 4 m of the edge
    boat = boat.making(150.0, 3.5);
    boat.go(60, true);
    assert!(boat.told.is_empty(), "{:?}", boat.told);
}

#[test]
fn at_the_landing_and_ashore_no_boundary_counts() {
    let mut boat = Boat::at(130.0, -30.0);
    boat.go(300, true);
    assert!(boat.told.is_empty(), "{:?}", boat.told);
    let mut boat = Boat::at(-300.0, 300.0);
    boat.standing = Standing::Ashore;
    boat.go(300, true);
    assert!(boat.told.is_empty(), "{:?}", boat.told);
}

#[test]
fn whoever_appears_outside_is_told_of() {
    let mut boat = Boat::at(-200.0, 300.0);
    boat.go(10, true);
    assert_eq!(boat.level(AlertKind::OutsideArea), Some(Level::Warning));
}

#[test]
fn entering_a_no_go_zone_is_an_alarm_after_a_caution() {
    let mut boat = Boat::at(300.0, 300.0).making(90.0, 4.0);
    boat.go(60, true); // enters after 48.6 s
    let nearing = boat.told(AlertKind::NearingNoGo);
    assert!(
        matches!(
            nearing[..],
            [(38..=44, Phase::Raised, Level::Caution), (50..=54, Phase::Cleared, Level::Caution)]
        ),
        "{nearing:?}"
    );
    assert_eq!(boat.level(AlertKind::NoGo), Some(Level::Alarm));
}

#[test]
fn a_drift_is_told_long_before_it_crosses() {
    let mut boat = Boat::at(500.0, 550.0).making(0.0, 0.6);
    boat.making_way = Some(0.05);
    boat.go(150, true); // crosses after 162 s
    let told = boat.told(AlertKind::DriftingOut);
    assert!(matches!(told[..], [(10..=40, Phase::Raised, Level::Warning)]), "{told:?}");
    boat.go(30, true);
    let told = boat.told(AlertKind::DriftingOut);
    assert!(matches!(told[..], [_, (_, Phase::Cleared, _)]), "one situation, one alert: {told:?}");
    assert!(boat.level(AlertKind::OutsideArea).is_some());
}

#[test]
fn a_drift_ends_when_she_sails_again() {
    let mut boat = Boat::at(500.0, 570.0).making(0.0, 0.6);
    boat.making_way = Some(0.05);
    boat.go(30, true);
    assert_eq!(boat.level(AlertKind::DriftingOut), Some(Level::Warning));
    boat = boat.making(180.0, 3.0);
    boat.making_way = Some(0.95);
    boat.go(30, true);
    assert_eq!(boat.level(AlertKind::DriftingOut), None);
}

#[test]
fn a_drift_does_not_end_by_a_belief_that_she_ghosts_along() {
    let mut boat = Boat::at(500.0, 560.0).making(0.0, 0.5);
    boat.making_way = Some(0.05);
    boat.go(30, true);
    assert_eq!(boat.level(AlertKind::DriftingOut), Some(Level::Warning));
    boat.making_way = Some(0.95);
    boat.go(30, true);
    assert_eq!(boat.level(AlertKind::DriftingOut), Some(Level::Warning), "as slow as before");
}

#[test]
fn gliding_up_a_landing_place_is_coming_home() {
    let mut home = Boat::at(130.0, 20.0).making(180.0, 0.8);
    home.making_way = Some(0.05);
    home.go(120, true); // over the beach's landward edge after 146 s
    assert!(home.told.is_empty(), "{:?}", home.told);
    let mut beside = Boat::at(300.0, 20.0).making(180.0, 0.8);
    beside.making_way = Some(0.05);
    beside.go(30, true);
    assert_eq!(beside.level(AlertKind::DriftingOut), Some(Level::Warning));
}

#[test]
fn a_drift_parallel_to_the_edge_is_nobodys_business() {
    let mut boat = Boat::at(100.0, 580.0).making(90.0, 0.8);
    boat.making_way = Some(0.0);
    boat.go(600, true);
    assert!(boat.told.is_empty(), "{:?}", boat.told);
}

#[test]
fn silence_is_lost_contact_afloat_only() {
    for (standing, expected) in [
        (Standing::Afloat, true),
        (Standing::Ashore, false),
        (Standing::Landed, false),
        (Standing::Returned, false),
        (Standing::StoodDown, false),
    ] {
        let mut boat = Boat::at(500.0, 100.0);
        boat.standing = standing;
        boat.go(60, true);
        boat.go(60, false);
        assert_eq!(boat.level(AlertKind::LostContact).is_some(), expected, "{standing:?}");
    }
}

#[test]
fn lost_contact_grows_and_ends_with_the_voice() {
    let mut boat = Boat::at(500.0, 100.0);
    boat.go(60, true);
    boat.go(40, false);
    assert_eq!(boat.level(AlertKind::LostContact), Some(Level::Warning));
    boat.go(160, false);
    assert_eq!(boat.level(AlertKind::LostContact), Some(Level::Alarm));
    boat.go(5, true);
    assert_eq!(boat.level(AlertKind::LostContact), None);
}

#[test]
fn silence_clears_no_boundary_alert() {
    let mut boat = Boat::at(500.0, 620.0);
    boat.go(10, true);
    boat.go(600, false);
    assert!(boat.level(AlertKind::OutsideArea).is_some(), "where she went is not known");
}

#[test]
fn a_frozen_tracker_is_told_within_a_minute_and_is_not_silence() {
    let mut boat = Boat::at(500.0, 100.0);
    boat.go(30, true);
    boat.frozen_since = Some(boat.now);
    boat.go(60, true);
    let told = boat.told(AlertKind::FrozenTracker);
    assert!(matches!(told[..], [(30..=90, Phase::Raised, Level::Warning)]), "{told:?}");
    assert_eq!(boat.level(AlertKind::LostContact), None);
    boat.frozen_since = None;
    boat.go(1, true);
    assert_eq!(boat.level(AlertKind::FrozenTracker), None);
}

#[test]
fn out_after_the_hour_is_overdue() {
    let mut boat = Boat::at(500.0, 100.0);
    boat.back_by = Some(Moment(60_000));
    boat.go(59, true);
    assert_eq!(boat.level(AlertKind::Overdue), None);
    boat.go(1, true);
    assert_eq!(boat.level(AlertKind::Overdue), Some(Level::Warning));
    boat.standing = Standing::Landed;
    boat.go(1, true);
    assert_eq!(boat.level(AlertKind::Overdue), Some(Level::Caution), "landed, and nobody counted");
    boat.standing = Standing::Returned;
    boat.go(1, true);
    assert_eq!(boat.level(AlertKind::Overdue), None);
}

#[test]
fn two_places_in_one_name_are_told() {
    let mut boat = Boat::at(500.0, 100.0);
    for _ in 0..10 {
        boat.rules.on_claim(boat.now, Local { east_m: 900.0, north_m: 500.0 });
        boat.go(1, true);
    }
    assert_eq!(boat.level(AlertKind::DoubledSource), Some(Level::Caution));
    boat.go(100, true);
    assert_eq!(boat.level(AlertKind::DoubledSource), None);
    let mut stray = Boat::at(500.0, 100.0);
    stray.go(10, true);
    stray.rules.on_claim(stray.now, Local { east_m: 900.0, north_m: 500.0 });
    stray.go(30, true);
    assert!(stray.told.is_empty(), "one stray position is no second boat: {:?}", stray.told);
}

#[test]
fn a_beacon_is_an_emergency_at_once_and_stays() {
    let (mut alerts, mut beacons) = (Alerts::new(), Beacons::default());
    let word = BeaconWord { mmsi: 972_123_456, boat: None, test: false, text: None };
    beacons.on_beacon(Moment(1000), word, &mut alerts);
    let topic = Topic { boat: None, kind: AlertKind::PersonOverboard, tag: 972_123_456 };
    assert_eq!(alerts.about(topic).map(|alert| alert.level), Some(Level::Emergency));
    assert_eq!(beacons.place(972_123_456), None, "no position is needed");
    for s in 1..3600 {
        beacons.on_tick(Moment(s * 1000), &mut alerts);
    }
    assert!(alerts.about(topic).is_some(), "a beacon that went silent has rescued nobody");
}

#[test]
fn a_beacon_under_test_is_a_caution_and_passes() {
    let (mut alerts, mut beacons) = (Alerts::new(), Beacons::default());
    let word = BeaconWord { mmsi: 970_123_456, boat: Some(BOAT), test: true, text: Some("SART TEST") };
    beacons.on_beacon(Moment(0), word, &mut alerts);
    let topic = Topic { boat: Some(BOAT), kind: AlertKind::PersonOverboard, tag: 970_123_456 };
    assert_eq!(alerts.about(topic).map(|alert| alert.level), Some(Level::Caution));
    beacons.on_beacon(Moment(60_000), BeaconWord { test: false, ..word }, &mut alerts);
    assert_eq!(alerts.about(topic).map(|alert| alert.level), Some(Level::Emergency), "no test any more");
    let mut other = Alerts::new();
    let mut tested = Beacons::default();
    tested.on_beacon(Moment(0), word, &mut other);
    tested.on_tick(Moment(700_000), &mut other);
    assert!(other.about(topic).is_none());
}

#[test]
fn a_beacon_that_a_person_dealt_with_is_quiet_until_it_stops_and_returns() {
    let (mut alerts, mut beacons) = (Alerts::new(), Beacons::default());
    let word = BeaconWord { mmsi: 972_123_456, boat: None, test: false, text: None };
    let topic = Topic { boat: None, kind: AlertKind::PersonOverboard, tag: 972_123_456 };
    beacons.on_beacon(Moment(0), word, &mut alerts);
    alerts.dismiss(Moment(30_000), "Ada", topic, "aboard, cannot switch it off");
    for s in 1..20 {
        beacons.on_beacon(Moment(30_000 + s * 60_000), word, &mut alerts);
    }
    assert!(alerts.about(topic).is_none());
    let later = Moment(3_600_000);
    beacons.on_tick(later, &mut alerts);
    beacons.on_beacon(later, word, &mut alerts);
    assert!(alerts.about(topic).is_some());
}

#[test]
fn the_help_button_calls_and_recalls() {
    let mut alerts = Alerts::new();
    let topic = Topic::of(BOAT, AlertKind::NeedsHelp);
    declared::on_help(Moment(0), BOAT, true, &mut alerts);
    assert_eq!(alerts.about(topic).map(|alert| alert.level), Some(Level::Alarm));
    declared::on_help(Moment(9000), BOAT, false, &mut alerts);
    assert!(alerts.about(topic).is_none());
}

#[test]
fn marks_by_hand_declare_and_end() {
    for (mark, kind, level) in [
        (HandMark::Capsized, AlertKind::Capsize, Level::Alarm),
        (HandMark::PersonOverboard, AlertKind::PersonOverboard, Level::Emergency),
        (HandMark::NeedsHelp, AlertKind::NeedsHelp, Level::Alarm),
    ] {
        for (end, ends) in [
            (HandMark::Fine, kind != AlertKind::PersonOverboard),
            (HandMark::Ashore, kind != AlertKind::PersonOverboard),
            (HandMark::Afloat, false),
        ] {
            let mut alerts = Alerts::new();
            let topic = Topic::of(BOAT, kind);
            declared::on_command(Moment(0), "Ada", &Command::Mark(BOAT, mark), &mut alerts);
            assert_eq!(alerts.about(topic).map(|alert| alert.level), Some(level), "{mark:?}");
            declared::on_command(Moment(9000), "Ada", &Command::Mark(BOAT, end), &mut alerts);
            assert_eq!(alerts.about(topic).is_none(), ends, "{mark:?} then {end:?}");
        }
    }
}

#[test]
fn wind_over_the_limit_takes_a_while_to_come_and_to_go() {
    let mut alerts = Alerts::new();
    let mut rules = SessionRules::default();
    let topic = Topic::session(AlertKind::WindOverLimit);
    let mut now = Moment(0);
    let mut blow = |speed_mps: Option<f64>, s: i64, limit_mps: Option<f64>| {
        let wind = WindNow {
            at: now,
            from: Bearing::NORTH,
            sd_deg: 5.0,
            speed_mps,
            gust_mps: None,
            lull_mps: None,
            trend_deg: None,
            basis: Basis::Instrument,
            heard: now,
            because: String::new(),
        };
        for _ in 0..s {
            now = now.plus_ms(1000);
            rules.on_tick(now, Some(&wind), limit_mps, None, &mut alerts);
        }
        alerts.about(topic).map(|alert| alert.level)
    };
    let limit = Some(10.0);
    assert_eq!(blow(Some(9.9), 600, limit), None);
    assert_eq!(blow(Some(10.5), 15, limit), None);
    assert_eq!(blow(Some(10.5), 10, limit), Some(Level::Warning));
    assert_eq!(blow(Some(9.5), 600, limit), Some(Level::Warning), "not well within the limit");
    assert_eq!(blow(None, 600, limit), Some(Level::Warning), "an unknown wind is not within the limit");
    assert_eq!(blow(Some(8.5), 170, limit), Some(Level::Warning));
    assert_eq!(blow(Some(8.5), 20, limit), None);
    assert_eq!(blow(Some(20.0), 600, None), None, "no limit, no alert");
}
