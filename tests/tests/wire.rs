//! The wire as golden files: one a message, read here and by the client's own tests.
//!
//! `DUNLIN_BLESS=1` rewrites the files; the difference is to be reviewed like code.

use std::{fs, path::PathBuf};

use dunlin::hub::{phone_wire::*, wire::*};
use serde::{Serialize, de::DeserializeOwned};

const NOW: i64 = 1_780_308_133_000;

fn golden<T>(name: &str, message: &T)
where
    T: Serialize + DeserializeOwned + PartialEq + std::fmt::Debug,
{
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("wire").join(format!("{name}.json"));
    let mut written = serde_json::to_string_pretty(message).expect("every message is JSON");
    written.push('\n');
    if std::env::var_os("DUNLIN_BLESS").is_some() {
        fs::write(&path, &written).expect("the golden file can be written");
    }
    let kept =
        fs::read_to_string(&path).unwrap_or_else(|error| panic!("{name}: {error}; DUNLIN_BLESS=1 writes it"));
    assert_eq!(kept, written, "{name}: the wire changed");
    let read: T = serde_json::from_str(&kept).expect("a golden file is a message");
    assert_eq!(&read, message, "{name}: what is read is what was written");
}

fn said() -> Said {
    Said { by: "Robin".into(), at_ms: NOW }
}

fn setup() -> SetupState {
    SetupState {
        centre: "Heron Water".into(),
        demo: false,
        zones: vec![ZoneShape {
            zone: "sailing-area".into(),
            name: "North bay".into(),
            polygons: vec![vec![vec![[5.0, 52.0], [5.01, 52.0], [5.01, 52.01], [5.0, 52.0]]]],
        }],
        marks: vec![MarkShape { name: "Yellow".into(), at: [5.005, 52.002] }],
        boats: vec![BoatInfo {
            ix: 0,
            id: "07".into(),
            name: None,
            role: "dinghy".into(),
            class: Some("Training 4".into()),
            crew: 3,
            has_feed: true,
        }],
        wind_limit_kn: Some(16.0),
        stream: Some(StreamState { towards_deg: 80.0, speed_kn: 0.4, basis: "entered".into() }),
        base_map: false,
    }
}

fn tick() -> Tick {
    Tick {
        now_ms: NOW,
        boats: vec![
            BoatNow(
                0,
                BoatFacts {
                    t: Some(NOW - 400),
                    at: Some([50_051_234, 520_023_456]),
                    sd_m: Some(3.1),
                    kn: Some(2.4),
                    cog: Some(311.0),
                    hdg: Some(308.0),
                    heel: Some(-6.0),
                    sail: Some("starboard".into()),
                    twa: Some(-47.0),
                    doing: "close-hauled".into(),
                    p_capsize: Some(0.01),
                    standing: "afloat".into(),
                    persons: 3,
                    battery: Some(81.0),
                    heard: Some(NOW - 300),
                },
            ),
            BoatNow(
                1,
                BoatFacts {
                    doing: "not tracked".into(),
                    standing: "ashore".into(),
                    persons: 2,
                    ..BoatFacts::default()
                },
            ),
        ],
        needs: vec![Need {
            alert: 4,
            boat: Some(0),
            why: "possible capsize, three aboard".into(),
            persons: 3,
            ways: vec![Way {
                safety: 2,
                distance_m: 310.0,
                bearing_deg: 44.0,
                steer_deg: Some(47.5),
                time_s: Some(41.0),
                at_kn: 15.0,
            }],
            drift: vec![DriftArea {
                minutes: 3.0,
                ring: vec![[5.0, 52.0], [5.001, 52.0], [5.0, 52.001], [5.0, 52.0]],
            }],
        }],
        wind: Some(WindState {
            at_ms: NOW,
            heard_ms: NOW - 900,
            from_deg: 261.0,
            sd_deg: 6.0,
            speed_kn: Some(11.2),
            gust_kn: Some(14.9),
            lull_kn: Some(8.0),
            trend_deg: Some(-4.0),
            basis: "fleet".into(),
            because: "4 boats on both tacks".into(),
        }),
        strangers: vec![Stranger {
            source: "mmsi:999000111".into(),
            name: Some("FERRY".into()),
            at: Some([50_051_000, 520_023_000]),
            heard_ms: NOW - 2_000,
        }],
    }
}

fn alert() -> AlertState {
    AlertState {
        id: 4,
        boat: Some(0),
        person: Some(PersonRef { session: 3, id: 12 }),
        about: "capsize".into(),
        level: "alarm".into(),
        raised_ms: NOW - 5_000,
        began_ms: NOW - 17_000,
        changed_ms: NOW,
        confidence: Some(0.93),
        evidence: vec!["stopped in 3 s from 3.1 kn".into()],
        acknowledged: Some(said()),
        silenced: None,
        attended: Some(Attending { boat: 2, by: "Robin".into(), at_ms: NOW }),
        heads: Some(2),
        cleared: Some(Cleared { at_ms: NOW, reason: "sailing again".into() }),
        recorded: true,
    }
}

fn manoeuvre() -> ManoeuvreState {
    ManoeuvreState {
        at_ms: NOW,
        boat: 0,
        turn: "tack".into(),
        turn_deg: -92.0,
        before_kn: 2.9,
        after_kn: 1.4,
    }
}

fn tally() -> TallyState {
    TallyState {
        entries: vec![TallyEntry {
            boat: 0,
            standing: "landed".into(),
            persons: 3,
            since_ms: NOW - 60_000,
            by: None,
        }],
        boats_out: 1,
        persons_out: 3,
        unaccounted: 0,
    }
}

fn tide() -> TideRow {
    TideRow { at_ms: NOW, height_m: Some(2.1), towards_deg: Some(80.0), speed_kn: None }
}

fn day() -> DayState {
    DayState {
        session: Some(SessionState {
            id: 3,
            title: "Tuesday beginners".into(),
            staff: vec!["Robin".into()],
            opened_ms: NOW - 3_600_000,
            back_by_ms: Some(NOW + 3_600_000),
            water_c: Some(14.5),
            wind_limit_kn: Some(16.0),
            tides: vec![tide()],
            closed: Some(Closed {
                by: "Ash".into(),
                at_ms: NOW,
                override_reason: Some("07 is on the far shore, met by road".into()),
            }),
        }),
        people: vec![Person {
            id: 1,
            name: "Noa".into(),
            part: "learner".into(),
            boat: Some(0),
            standing: "afloat".into(),
            since_ms: NOW,
            by: Some("Robin".into()),
            buoyancy_checked: true,
            note: None,
        }],
        checks: vec![BoatCheck {
            boat: 0,
            ready: vec!["bungs".into()],
            after: vec![],
            reefed: Some(true),
            override_by: None,
            override_reason: None,
        }],
        defects: vec![Defect {
            id: 1,
            boat: 0,
            text: "rudder pintle bent".into(),
            safety: true,
            by: "Robin".into(),
            at_ms: NOW,
            mended: None,
        }],
        check_items: vec!["bungs".into()],
        after_items: vec!["rinsed".into()],
        sunset_ms: Some(NOW + 30_000_000),
        dusk_ms: None,
        cover: Some(Cover {
            safety_boats: 1,
            dinghies: 9,
            furthest_s: Some(96.0),
            furthest_boat: Some(0),
            thin: Some("one safety boat for 9 dinghies; the centre's rule is 6".into()),
        }),
        rules: CentreRules {
            dinghies_per_safety_boat: Some(6.0),
            reach_within_s: Some(120.0),
            keep_days: Some(30),
        },
    }
}

fn notice() -> Notice {
    Notice {
        code: "not-recording".into(),
        text: "The disk is full. Free some space; the watch goes on.".into(),
        since_ms: NOW,
    }
}

fn signal() -> SignalState {
    SignalState {
        signal: "all-in".into(),
        words: "to the slipway".into(),
        by: "Robin".into(),
        at_ms: NOW,
        seen: vec![0],
        reachable: vec![0, 1],
    }
}

fn trail() -> Trail {
    Trail { ix: 0, points: vec![(NOW - 1_000, 50_051_230, 520_023_450, Some(24), Some(-6))] }
}

fn log_line() -> LogLine {
    LogLine { at_ms: NOW, by: "Robin".into(), boat: Some(0), alert: None, text: "swapped helm".into() }
}

#[test]
fn messages_to_a_tablet_are_what_the_golden_files_say() {
    let snapshot = Snapshot {
        version: WIRE_VERSION,
        now_ms: NOW,
        watching_since_ms: NOW - 7_200_000,
        you: You { name: "Robin".into(), role: AccessRole::Instructor },
        setup: setup(),
        tick: tick(),
        trails: vec![trail()],
        winds: vec![(NOW - 10_000, 225.0, Some(12.0), None)],
        alerts: vec![alert()],
        manoeuvres: vec![manoeuvre()],
        tally: tally(),
        day: day(),
        notices: vec![notice()],
        signal: Some(signal()),
        log: vec![log_line()],
    };
    let all = [
        ("snapshot", ToTablet::Snapshot(Box::new(snapshot))),
        ("tick", ToTablet::Tick(tick())),
        ("alert", ToTablet::Alert(alert())),
        ("late", ToTablet::Late(trail())),
        ("manoeuvre", ToTablet::Manoeuvre(manoeuvre())),
        ("tally", ToTablet::Tally(tally())),
        ("day", ToTablet::Day(day())),
        ("setup", ToTablet::Setup(setup())),
        ("notices", ToTablet::Notices { notices: vec![notice()] }),
        ("signal", ToTablet::Signal { signal: Some(signal()) }),
        ("signal_none", ToTablet::Signal { signal: None }),
        ("log", ToTablet::Log(log_line())),
        ("outcome", ToTablet::Outcome(Outcome { request: 12, refused: None, undo: Some(5) })),
    ];
    for (name, message) in &all {
        golden(&format!("to_tablet.{name}"), message);
    }
}

fn changes() -> Vec<DayChange> {
    vec![
        DayChange::Session {
            title: "Tuesday beginners".into(),
            staff: vec!["Robin".into()],
            back_by_ms: Some(NOW),
            water_c: Some(14.5),
            wind_limit_kn: None,
            tides: vec![tide()],
        },
        DayChange::Close { override_reason: None },
        DayChange::AddPeople { text: "Noa;learner;07\nKim".into() },
        DayChange::DeletePerson { person: 1 },
        DayChange::Place { person: 1, boat: Some(0) },
        DayChange::Stand { person: 1, standing: "back".into() },
        DayChange::PersonNote { person: 1, note: Some("asthma; inhaler in the red bag".into()) },
        DayChange::Buoyancy { person: 1, checked: true },
        DayChange::Ready { boat: 0, item: "bungs".into(), done: true },
        DayChange::After { boat: 0, item: "rinsed".into(), done: true },
        DayChange::Reefed { boat: 0, reefed: true },
        DayChange::Override { boat: 0, reason: "spare rudder fitted".into() },
        DayChange::Defect { boat: 0, text: "rudder pintle bent".into(), safety: true },
        DayChange::Mended { defect: 1 },
        DayChange::Items { check_items: vec!["bungs".into()], after_items: vec!["rinsed".into()] },
        DayChange::Rules {
            rules: CentreRules {
                dinghies_per_safety_boat: Some(6.0),
                reach_within_s: None,
                keep_days: Some(30),
            },
        },
    ]
}

#[test]
fn actions_are_what_the_golden_files_say() {
    let mut all = vec![
        Action::Acknowledge { alert: 4 },
        Action::Silence { alert: 4 },
        Action::Attend { alert: 4, boat: Some(2) },
        Action::Clear { alert: 4, reason: "seen upright".into() },
        Action::Heads { alert: 4, counted: 3 },
        Action::Mark { boat: 0, mark: "person_overboard".into() },
        Action::Aboard { boat: 0, persons: 2 },
        Action::SetWind { from_deg: Some(240.0), speed_kn: None },
        Action::SetStream { towards_deg: None, speed_kn: None },
        Action::SetWindLimit { limit_kn: Some(16.0) },
        Action::Assign { source: "mmsi:999000111".into(), boat: Some(0) },
        Action::Drill { boat: 0, on: true },
        Action::Signal { signal: Some("all-in".into()), words: "to the slipway".into() },
        Action::Note { boat: None, text: "briefed on the fairway".into() },
        Action::Undo { undo: 5 },
    ];
    all.extend(changes().into_iter().map(|change| Action::Day { change }));
    for action in all {
        let json = serde_json::to_value(&action).expect("every action is JSON");
        let name = match (&json["kind"], &json["change"]["what"]) {
            (kind, serde_json::Value::String(what)) => format!("{}.{what}", text(kind)),
            (kind, _) => text(kind),
        };
        golden(&format!("from_tablet.{name}"), &FromTablet { request: 12, action });
    }
}

fn text(value: &serde_json::Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

#[test]
fn messages_of_a_phone_are_what_the_golden_files_say() {
    let fix = PhoneFix {
        seq: 41,
        t: NOW,
        lat: Some(52.010_012_3),
        lon: Some(5.010_045_6),
        acc: Some(4.1),
        sog: Some(1.2),
        cog: Some(311.0),
        hdg: Some(305.0),
        heel: Some(-6.0),
        bat: Some(81.0),
        help: Some(true),
    };
    let bare = PhoneFix { seq: 42, t: NOW + 1_000, ..PhoneFix::default() };
    for (name, message) in [
        ("hello", FromPhone::Hello { v: FEED_VERSION, key: "7K3M".into(), run: "b1946ac9".into() }),
        ("fixes", FromPhone::Fixes { fixes: vec![fix, bare] }),
        ("seen", FromPhone::Seen { at_ms: NOW }),
    ] {
        golden(&format!("from_phone.{name}"), &message);
    }
    let welcome = ToPhone::Welcome {
        v: FEED_VERSION,
        boat: "07".into(),
        centre: "Heron Water".into(),
        now_ms: NOW,
        acked: Some(40),
    };
    let signal = PhoneSignal { signal: "all-in".into(), words: "to the slip".into(), at_ms: NOW };
    let refused = vec![RefusedFix { seq: 41, why: "lat and lon belong together".into() }];
    for (name, message) in [
        ("welcome", welcome),
        ("ack", ToPhone::Ack { seq: 42, refused }),
        ("heard", ToPhone::Heard { now_ms: NOW, age_s: Some(1.2), help: "raised".into() }),
        ("signal", ToPhone::Signal { signal: Some(signal) }),
        ("signal_none", ToPhone::Signal { signal: None }),
        ("error", ToPhone::Error { text: "hello was said already".into() }),
    ] {
        golden(&format!("to_phone.{name}"), &message);
    }
}

#[test]
fn an_unknown_field_is_refused_by_name() {
    for wrong in [
        r#"{"request":1,"action":{"kind":"acknowledge","alert":4},"extra":1}"#,
        r#"{"request":1,"action":{"kind":"acknowledge","alert":4,"extra":1}}"#,
        r#"{"request":1,"action":{"kind":"day","change":{"what":"mended","defect":1,"extra":1}}}"#,
    ] {
        let error = serde_json::from_str::<FromTablet>(wrong).expect_err(wrong);
        assert!(error.to_string().contains("extra"), "{wrong}: {error}");
    }
}
