//! Hand-made sessions whose figures can be worked out on paper.

use dunlin_sim::{
    BoatTruth, CapsizeTruth, Crossing, Frozen, HeelSensor, ManoeuvreTruth, Reason, RoundingTruth, Silence,
    Spell, Truth, WindTruth, rfc3339,
};

use super::{judge::judge, measures::Measures, said::Gatherer};

/// Milliseconds of a second of the session.
fn at(s: i64) -> i64 {
    s * 1000
}

/// One dinghy, "01", afloat for an hour.
fn quiet_hour() -> Truth {
    let boat = BoatTruth {
        id: "01".into(),
        role: "dinghy".into(),
        crew: 2,
        afloat_from_ms: Some(0),
        afloat_to_ms: None,
        heel: HeelSensor::None,
        interval_s: 1.0,
    };
    Truth { end_ms: at(3600), boats: vec![boat], ..Truth::default() }
}

fn capsize(start_s: i64, righted_s: i64, sailing_s: i64) -> CapsizeTruth {
    CapsizeTruth {
        boat: "01".into(),
        start_ms: at(start_s),
        righted_ms: Some(at(righted_s)),
        sailing_ms: Some(at(sailing_s)),
        cause: "gust".into(),
        quick: true,
        inverted: false,
        drill: false,
        feed_alive: 1.0,
        heel: HeelSensor::None,
        speed_before_kn: 3.0,
        again: false,
        attended: false,
    }
}

fn alert(s: i64, kind: &str, level: &str, phase: &str, confidence: f64) -> String {
    format!(
        r#"{{"type":"alert","t":"{}","boat":"01","kind":"{kind}","level":"{level}","phase":"{phase}","evidence":[],"confidence":{confidence}}}"#,
        rfc3339(at(s))
    )
}

fn scored(truth: &Truth, lines: &[String]) -> Measures {
    let mut gatherer = Gatherer::default();
    for line in lines {
        gatherer.take(line).expect("the line is of the published form");
    }
    judge(truth, &gatherer.finish())
}

#[test]
fn a_capsize_found_grown_and_cleared() {
    let truth = Truth { capsizes: vec![capsize(100, 200, 230)], ..quiet_hour() };
    let said = [
        alert(106, "capsize", "caution", "raised", 0.4),
        alert(112, "capsize", "alarm", "changed", 0.9),
        alert(215, "capsize", "alarm", "cleared", 0.1),
    ];
    let m = scored(&truth, &said);
    assert_eq!((m.long_alive.found, m.long_alive.of), (1, 1));
    assert_eq!((m.within_30.found, m.within_60.found, m.any_alert.found), (1, 1, 1));
    assert_eq!(m.delays_s, [12.0], "from the true start to warning or above, not to the caution");
    assert_eq!(m.clear_s, [15.0], "from righted to cleared");
    assert_eq!(m.clear_after_sailing_s, [0.0], "cleared before she sailed");
    assert!(m.false_warnings.is_empty() && m.false_cautions.is_empty());
    assert_eq!(m.false_seconds, 0.0);
    assert_eq!((m.at_raise.bins[4].n, m.at_raise.bins[4].true_n), (1, 1));
    assert!((m.at_raise.brier().expect("one statement") - 0.36).abs() < 1e-12, "(1 - 0.4) squared");
    let found = |threshold: f64| {
        let i =
            super::measures::THRESHOLDS.iter().position(|known| *known == threshold).expect("a threshold");
        m.curve[i].found_60.found
    };
    assert_eq!((found(0.4), found(0.9), found(0.95)), (1, 1, 0), "confidence counts at every level");
}

#[test]
fn too_late_is_not_found() {
    // (first warning at, within 30, within 60, found while it lasts, any)
    for (warned_s, in_30, in_60, long, any) in [
        (130, 1, 1, 1, 1),
        (131, 0, 1, 1, 1),
        (161, 0, 0, 1, 1),
        (200, 0, 0, 1, 1),
        (201, 0, 0, 0, 0),
        (231, 0, 0, 0, 0),
    ] {
        let truth = Truth { capsizes: vec![capsize(100, 200, 230)], ..quiet_hour() };
        let m = scored(&truth, &[alert(warned_s, "capsize", "warning", "raised", 0.8)]);
        let got = (m.within_30.found, m.within_60.found, m.long_alive.found, m.any_alert.found);
        assert_eq!(got, (in_30, in_60, long, any), "warned at {warned_s} s");
    }
}

#[test]
fn a_dead_feed_is_asked_only_for_any_alert() {
    let dead = CapsizeTruth { feed_alive: 0.1, ..capsize(100, 200, 230) };
    let m = scored(
        &Truth { capsizes: vec![dead], ..quiet_hour() },
        &[alert(140, "lost-contact", "warning", "raised", 0.0)],
    );
    assert_eq!((m.any_alert.found, m.any_alert.of), (1, 1));
    assert_eq!((m.within_30.of, m.long_alive.of), (0, 0));
}

#[test]
fn false_alerts_have_their_true_cause_and_seconds() {
    let spell = |reason, from, to| Spell { boat: "01".into(), reason, start_ms: at(from), end_ms: at(to) };
    let truth = Truth {
        spells: vec![spell(Reason::HoveTo, 500, 600), spell(Reason::InIrons, 900, 930)],
        ..quiet_hour()
    };
    let said = [
        alert(520, "capsize", "warning", "raised", 0.7),
        alert(560, "capsize", "warning", "cleared", 0.0),
        alert(950, "capsize", "caution", "raised", 0.3),
        alert(960, "capsize", "caution", "cleared", 0.0),
        alert(2000, "capsize", "alarm", "raised", 0.95),
        alert(2010, "capsize", "alarm", "cleared", 0.0),
    ];
    let m = scored(&truth, &said);
    assert_eq!(m.false_warnings.get("hove-to"), Some(&1));
    assert_eq!(m.false_warnings.get("sailing"), Some(&1));
    assert_eq!(m.false_cautions.get("after in-irons"), Some(&1));
    assert_eq!(m.false_seconds, 50.0, "40 s hove-to and 10 s sailing");
    assert_eq!(m.per_hour(m.false_seconds), Some(50.0));
    assert_eq!(m.curve[5].false_n, 2, "two reached 0.5");
}

#[test]
fn an_alert_that_outstays_the_capsize_turns_false() {
    let truth = Truth { capsizes: vec![capsize(100, 200, 230)], ..quiet_hour() };
    let said =
        [alert(110, "capsize", "alarm", "raised", 0.9), alert(400, "capsize", "alarm", "cleared", 0.0)];
    let m = scored(&truth, &said);
    assert_eq!(m.clear_s, [200.0]);
    assert_eq!(m.clear_after_sailing_s, [170.0]);
    assert_eq!(m.false_seconds, 109.0, "from the first second past 60 s after sailing on, 291, to 399");
}

#[test]
fn crossings_and_drifts() {
    let crossing = |start, end, depth_m, drifting: Option<i64>| Crossing {
        boat: "01".into(),
        zone: "sailing area".into(),
        start_ms: at(start),
        end_ms: Some(at(end)),
        depth_m,
        drifting_since_ms: drifting.map(at),
        speed_kn: 0.5,
    };
    let truth = Truth {
        exits: vec![
            crossing(100, 200, 30.0, None),
            crossing(500, 520, 4.0, None),
            crossing(1000, 1100, 20.0, Some(900)),
            crossing(2000, 2100, 20.0, Some(1900)),
        ],
        ..quiet_hour()
    };
    let said = [
        alert(105, "outside-area", "warning", "raised", 0.0),
        alert(210, "outside-area", "warning", "cleared", 0.0),
        alert(700, "outside-area", "warning", "raised", 0.0),
        alert(710, "outside-area", "warning", "cleared", 0.0),
        alert(940, "drifting-out", "warning", "raised", 0.0),
        alert(995, "drifting-out", "warning", "cleared", 0.0),
        alert(1003, "outside-area", "warning", "raised", 0.0),
        alert(1110, "outside-area", "warning", "cleared", 0.0),
        alert(1980, "drifting-out", "warning", "raised", 0.0),
    ];
    let m = scored(&truth, &said);
    assert_eq!((m.exits.found, m.exits.of), (2, 3), "the 4 m one is not asked for, the last one was missed");
    assert_eq!(m.exit_delays_s, [5.0, 3.0]);
    assert_eq!(m.exit_false, 1, "at 700 s nobody was outside");
    assert_eq!((m.drift_45.found, m.drift_45.of), (1, 2), "60 s before, and 20 s before");
    assert_eq!(m.drift_leads_s, [60.0, 20.0]);
}

#[test]
fn silence_and_frozen_trackers() {
    let truth = Truth {
        silences: vec![Silence {
            boat: "01".into(),
            start_ms: at(100),
            end_ms: Some(at(220)),
            capsized: false,
        }],
        frozen: vec![Frozen { boat: "01".into(), start_ms: at(1000), end_ms: at(1200), moved_m: 150.0 }],
        ..quiet_hour()
    };
    let said = [
        alert(128, "lost-contact", "warning", "raised", 0.0),
        alert(221, "lost-contact", "warning", "cleared", 0.0),
        alert(600, "lost-contact", "warning", "raised", 0.0),
        alert(1050, "frozen-tracker", "caution", "raised", 0.0),
    ];
    let m = scored(&truth, &said);
    assert_eq!((m.lost.found, m.lost.of, m.lost_false), (1, 1, 1));
    assert_eq!(m.lost_delays_s, [28.0]);
    assert_eq!((m.frozen.found, m.frozen.of, m.frozen_false), (1, 1, 0));
}

#[test]
fn a_tracker_that_is_silent_freezes_when_it_is_heard_again() {
    let silent = |from_s, to_s: Option<i64>| Silence {
        boat: "01".into(),
        start_ms: at(from_s),
        end_ms: to_s.map(at),
        capsized: false,
    };
    let froze =
        |from_s, to_s| Frozen { boat: "01".into(), start_ms: at(from_s), end_ms: at(to_s), moved_m: 80.0 };
    let truth = Truth {
        silences: vec![silent(100, Some(300)), silent(900, Some(1080)), silent(2000, None)],
        // Never heard while it lasts; heard from 1080 s on; never again.
        frozen: vec![froze(150, 320), froze(1000, 1300), froze(2100, 2400)],
        ..quiet_hour()
    };
    let raised = |at_s| scored(&truth, &[alert(at_s, "frozen-tracker", "caution", "raised", 0.0)]).frozen;
    assert_eq!((raised(1120).found, raised(1120).of), (1, 1));
    assert_eq!((raised(1200).found, raised(1200).of), (0, 1), "two minutes after it was heard again");
}

#[test]
fn turns_match_one_to_one_within_the_window() {
    let turn = |kind: &str, crossed, unscored| ManoeuvreTruth {
        boat: "01".into(),
        kind: kind.into(),
        crossed_ms: at(crossed),
        settled_ms: at(crossed + 3),
        turn_deg: 90.0,
        unscored,
    };
    let truth = Truth {
        manoeuvres: vec![
            turn("tack", 100, false),
            turn("tack", 200, false),
            turn("gybe", 300, false),
            turn("tack", 400, true),
        ],
        ..quiet_hour()
    };
    let said = |kind: &str, s: i64| {
        format!(r#"{{"type":"manoeuvre","t":"{}","boat":"01","kind":"{kind}"}}"#, rfc3339(at(s)))
    };
    let lines = [
        said("tack", 104),
        said("tack", 106), // the same one told twice
        said("tack", 229), // 26 s after it had settled: too late
        said("tack", 305), // a gybe called a tack
        said("tack", 405), // near one that is not scored
    ];
    let m = scored(&truth, &lines);
    assert_eq!((m.tacks.right, m.tacks.wrong, m.tacks.missed), (1, 3, 1));
    assert_eq!((m.gybes.right, m.gybes.wrong, m.gybes.missed), (0, 0, 1));
    assert_eq!(m.tacks.precision(), Some(0.25));
    assert_eq!(m.tacks.recall(), Some(0.5));
}

#[test]
fn a_turn_told_once_a_wind_was_known_counts_by_its_own_time() {
    let tack = ManoeuvreTruth {
        boat: "01".into(),
        kind: "tack".into(),
        crossed_ms: at(100),
        settled_ms: at(103),
        turn_deg: 90.0,
        unscored: false,
    };
    let truth = Truth { manoeuvres: vec![tack], ..quiet_hour() };
    let said = |own| {
        let (told, own) = (rfc3339(at(700)), rfc3339(at(own)));
        format!(r#"{{"type":"manoeuvre","t":"{told}","at":"{own}","boat":"01","kind":"tack"}}"#)
    };
    let m = scored(&truth, &[said(104)]);
    assert_eq!((m.tacks.right, m.tacks.wrong, m.tacks.missed), (1, 0, 0));
    let m = scored(&truth, &[said(140)]);
    assert_eq!((m.tacks.right, m.tacks.wrong, m.tacks.missed), (0, 1, 1));
}

#[test]
fn who_was_not_heard_is_counted_apart() {
    let crossing = |start| Crossing {
        boat: "01".into(),
        zone: "sailing area".into(),
        start_ms: at(start),
        end_ms: Some(at(start + 100)),
        depth_m: 30.0,
        drifting_since_ms: Some(at(start - 80)),
        speed_kn: 0.5,
    };
    let silence =
        |from, to| Silence { boat: "01".into(), start_ms: at(from), end_ms: Some(at(to)), capsized: false };
    let frozen = Frozen { boat: "01".into(), start_ms: at(2010), end_ms: at(2500), moved_m: 80.0 };
    let tack = |crossed| ManoeuvreTruth {
        boat: "01".into(),
        kind: "tack".into(),
        crossed_ms: at(crossed),
        settled_ms: at(crossed + 3),
        turn_deg: 90.0,
        unscored: false,
    };
    let truth = Truth {
        exits: vec![crossing(500), crossing(1000), crossing(2000)],
        // Silent as she drifts towards the second crossing, and as she tacks; a gap of 8 s is none.
        silences: vec![silence(470, 478), silence(940, 990), silence(2995, 3050)],
        frozen: vec![frozen],
        manoeuvres: vec![tack(100), tack(3010)],
        ..quiet_hour()
    };
    let m = scored(&truth, &[]);
    assert_eq!((m.exits.of, m.exits_heard.of), (3, 2), "the third was frozen as she crossed");
    assert_eq!((m.drift_45.of, m.drift_45_heard.of), (3, 2), "the second was silent before");
    assert_eq!((m.tacks.missed, m.tacks_heard.of), (2, 1));
}

#[test]
fn roundings_need_mark_and_hand() {
    let round = |mark: &str, left, meant| RoundingTruth {
        boat: "01".into(),
        mark: mark.into(),
        hand: "port".into(),
        left_ms: at(left),
        sweep_deg: -120.0,
        meant,
    };
    let truth = Truth {
        roundings: vec![round("red", 100, true), round("blue", 200, true), round("red", 300, false)],
        ..quiet_hour()
    };
    let said = |mark: &str, hand: &str, s: i64| {
        format!(
            r#"{{"type":"rounding","t":"{}","boat":"01","mark":"{mark}","hand":"{hand}"}}"#,
            rfc3339(at(s))
        )
    };
    let m =
        scored(&truth, &[said("red", "port", 95), said("blue", "starboard", 199), said("red", "port", 299)]);
    assert_eq!((m.roundings.right, m.roundings.wrong, m.roundings.missed), (1, 1, 1));
}

#[test]
fn wind_is_compared_round_the_circle() {
    let real =
        |s, from_deg| WindTruth { t_ms: at(s), from_deg, speed_kn: 10.0, stream_to_deg: 0.0, stream_kn: 0.0 };
    let truth = Truth { wind: vec![real(0, 358.0), real(10, 2.0), real(20, 2.0)], ..quiet_hour() };
    let said = |s: i64, from: f64, sd: f64| {
        format!(
            r#"{{"type":"wind","t":"{}","from_deg":{from},"speed_kn":9.0,"sd_deg":{sd},"basis":"fleet"}}"#,
            rfc3339(at(s))
        )
    };
    let m = scored(&truth, &[said(0, 3.0, 6.0), said(10, 357.0, 4.0)]);
    let fleet = &m.wind["fleet"];
    assert_eq!(fleet.errors_deg, [5.0, 5.0]);
    assert_eq!((fleet.within_sd.found, fleet.within_sd.of), (1, 2));
}

#[test]
fn figures_of_sessions_add_up() {
    let truth = Truth { capsizes: vec![capsize(100, 200, 230)], ..quiet_hour() };
    let one = scored(&truth, &[alert(110, "capsize", "alarm", "raised", 0.9)]);
    let mut two = Measures::default();
    two.add(&one);
    two.add(&scored(&quiet_hour(), &[]));
    assert_eq!((two.sessions, two.capsizes, two.boat_hours), (2, 1, 2.0));
    assert_eq!(two.delays_s, [10.0]);
}

#[test]
fn a_line_of_another_form_is_an_error_and_an_unknown_type_is_not() {
    let mut gatherer = Gatherer::default();
    assert!(gatherer.take("not json").is_err());
    assert!(gatherer.take(r#"{"type":"alert","t":"yesterday"}"#).is_err());
    assert!(gatherer.take(r#"{"type":"news","t":"1970-01-01T00:00:00.000Z","of":"tomorrow"}"#).is_ok());
    assert!(gatherer.take("").is_ok());
}
