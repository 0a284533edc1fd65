//! What must hold of every session, whatever its seed.

use std::collections::BTreeMap;

use dunlin_sim::{Line, OtherWater, Reason, SCENARIOS, Session, Truth};
use proptest::prelude::*;

/// A dinghy faster than this, or a safety boat faster than that, is a fault of the simulator, knots.
const DINGHY_KN: f64 = 20.0;
const SAFETY_KN: f64 = 40.0;

fn lines(scenario: &str, seed: u64, most: usize) -> Vec<Line> {
    Session::new(scenario, seed).expect("a known scenario").take(most).collect()
}

/// Splits a line into source and sentence after checking both checksums.
fn checked(line: &str) -> (&str, &str) {
    let rest = line.strip_prefix('\\').expect("a TAG block");
    let (tag, sentence) = rest.split_once('\\').expect("an end of the TAG block");
    let sound = |text: &str| {
        let (body, sum) = text.rsplit_once('*').expect("a checksum");
        let xor = body.bytes().fold(0, |sum, byte| sum ^ byte);
        assert_eq!(format!("{xor:02X}"), sum, "{line}");
    };
    sound(tag);
    sound(&sentence[1..]);
    let source = tag.split([',', '*']).find_map(|part| part.strip_prefix("s:")).expect("a source");
    (source, sentence)
}

/// Position and speed of an RMC, degrees and knots.
fn rmc(sentence: &str) -> Option<(f64, f64, f64)> {
    let fields: Vec<&str> = sentence.split(',').collect();
    if !fields[0].ends_with("RMC") {
        return None;
    }
    let degrees = |text: &str, wide: usize| {
        text[..wide].parse::<f64>().expect("degrees") + text[wide..].parse::<f64>().expect("minutes") / 60.0
    };
    let lat = degrees(fields[3], 2) * if fields[4] == "S" { -1.0 } else { 1.0 };
    let lon = degrees(fields[5], 3) * if fields[6] == "W" { -1.0 } else { 1.0 };
    Some((lat, lon, fields[7].parse().expect("a speed")))
}

fn check_log(log: &[Line]) {
    let mut last = i64::MIN;
    let mut first: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
    for line in log {
        assert!(line.arrival_ms >= last, "lines stand in order of arrival: {}", line.text);
        last = line.arrival_ms;
        let (source, sentence) = checked(&line.text);
        assert!(sentence.len() <= 82, "no sentence is longer than the standard allows: {sentence}");
        if let Some((lat, lon, speed)) = rmc(sentence) {
            let start = *first.entry(source).or_insert((lat, lon));
            let away = (lat - start.0).hypot((lon - start.1) * lat.to_radians().cos()) * 60.0 * 1852.0;
            assert!(away < 4000.0, "{source} went {away} m from where she began");
            let most = if source.starts_with("safety") { SAFETY_KN } else { DINGHY_KN };
            assert!((0.0..most).contains(&speed), "{source} at {speed} kn");
        }
    }
}

fn check_truth(truth: &Truth) {
    for c in &truth.capsizes {
        assert!(truth.start_ms <= c.start_ms && c.start_ms <= truth.end_ms);
        assert!(c.righted_ms.is_none_or(|up| up >= c.start_ms), "{c:?}");
        assert!(c.sailing_ms.is_none_or(|on| c.righted_ms.is_some_and(|up| on >= up)), "{c:?}");
        assert!((0.0..=1.0).contains(&c.feed_alive), "{c:?}");
    }
    let mut by_boat: BTreeMap<&str, i64> = BTreeMap::new();
    for s in &truth.spells {
        assert!(s.end_ms >= s.start_ms, "{s:?}");
        let free = by_boat.insert(&s.boat, s.end_ms).unwrap_or(i64::MIN);
        assert!(s.start_ms >= free, "two reasons at once: {s:?}");
    }
    for w in &truth.wind {
        assert!((0.0..360.0).contains(&w.from_deg) && (0.0..80.0).contains(&w.speed_kn), "{w:?}");
    }
    for m in &truth.manoeuvres {
        assert!(m.settled_ms >= m.crossed_ms, "{m:?}");
    }
    for r in &truth.roundings {
        assert_eq!(r.hand == "port", r.sweep_deg < 0.0, "anticlockwise leaves the mark to port: {r:?}");
    }
}

#[test]
fn a_whole_session_is_sound_and_full_of_things() {
    for scenario in ["fresh", "strong-stream"] {
        let mut session = Session::new(scenario, 4242).expect("a known scenario");
        let log: Vec<Line> = session.by_ref().collect();
        let truth = session.truth();
        check_log(&log);
        check_truth(&truth);
        let count = |kind: &str| truth.manoeuvres.iter().filter(|m| m.kind == kind && !m.unscored).count();
        assert!(
            count("tack") > 100 && count("gybe") > 10,
            "{scenario}: {} tacks, {} gybes",
            count("tack"),
            count("gybe")
        );
        assert!(
            !truth.capsizes.is_empty() && !truth.spells.is_empty() && !truth.roundings.is_empty(),
            "{scenario}"
        );
        assert_eq!(truth.wind.len(), 361, "{scenario}: the wind every ten seconds");
    }
}

#[test]
fn the_second_water_is_sound_and_full_of_stops() {
    for scenario in OtherWater::named("second").unwrap().scenarios {
        let mut session = Session::new(scenario, 4242).expect("a known scenario");
        let log: Vec<Line> = session.by_ref().collect();
        let truth = session.truth();
        check_log(&log);
        check_truth(&truth);
        let vane = log.iter().any(|line| line.text.contains("MWV"));
        assert_eq!(vane, *scenario != "second-no-vane");
        for reason in [Reason::InIrons, Reason::HoveTo, Reason::Waiting, Reason::Capsized, Reason::Recovering]
        {
            let spells = truth.spells.iter().filter(|spell| spell.reason == reason).count();
            assert!(spells > 0, "{scenario}: nobody {reason:?}");
        }
        let over = truth.spells.iter().filter(|spell| spell.reason == Reason::Capsized).count();
        assert_eq!(over, truth.capsizes.len(), "{scenario}: every capsize is a spell");
        let tacks = truth.manoeuvres.iter().filter(|turn| turn.kind == "tack" && !turn.unscored).count();
        assert!(tacks > 50, "{scenario}: {tacks} tacks");
    }
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    for scenario in ["faulty-sensors", "second-strange"] {
        same_bytes(scenario);
    }
    assert_ne!(lines("moderate", 7, 400), lines("moderate", 8, 400), "another seed is another afternoon");
    assert_ne!(lines("moderate", 7, 400), lines("light", 7, 400), "another scenario likewise");
}

fn same_bytes(scenario: &str) {
    let sail = || {
        let mut session = Session::new(scenario, 7).expect("a known scenario");
        let files = (session.site_geojson(), session.fleet_toml());
        let log: Vec<Line> = session.by_ref().collect();
        (files, log, serde_json::to_string(&session.truth()).expect("truth is JSON"))
    };
    let (one, two) = (sail(), sail());
    assert!(one == two, "{scenario}: two runs of one seed differ");
}

#[test]
fn an_unknown_scenario_is_refused() {
    assert!(Session::new("hurricane", 1).is_none());
}

#[test]
fn truth_survives_its_own_file() {
    let mut session = Session::new("with-heel", 3).expect("a known scenario");
    session.by_ref().take(60_000).for_each(drop);
    let truth = session.truth();
    let text = serde_json::to_string(&truth).expect("truth is JSON");
    let back: Truth = serde_json::from_str(&text).expect("and can be read");
    assert!(
        serde_json::to_string(&back).expect("again") == text,
        "written, read and written again it differs"
    );
}

#[test]
fn sentences_decode_elsewhere_as_they_were_meant() {
    // The `nmea` and `nmea-0183-rs` crates are the judges of the sentences written here by hand.
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    let mut log = lines("sparse-feed", 5, 20_000);
    log.extend(lines("with-heel", 5, 20_000));
    for line in &log {
        let (_, sentence) = checked(&line.text);
        if sentence.starts_with('!') {
            let frame = nmea_0183_rs::parse_frame(sentence).expect("a frame");
            let mut parser = nmea_0183_rs::ais::AisParser::new();
            assert!(parser.decode(&frame).is_ok(), "{sentence}");
            *kinds.entry("AIS".into()).or_default() += 1;
            continue;
        }
        let kind = sentence[3..6].to_owned();
        match (kind.as_str(), nmea::parse_str(sentence)) {
            ("RMC", Ok(nmea::ParseResult::RMC(read))) => {
                let (lat, lon, speed) = rmc(sentence).expect("an RMC");
                assert!((read.lat.expect("a latitude") - lat).abs() < 1e-7);
                assert!((read.lon.expect("a longitude") - lon).abs() < 1e-7);
                assert!((f64::from(read.speed_over_ground.expect("a speed")) - speed).abs() < 1e-3);
            }
            ("GGA", Ok(nmea::ParseResult::GGA(_)))
            | ("HDT", Ok(nmea::ParseResult::HDT(_)))
            | ("MWV", Ok(nmea::ParseResult::MWV(_))) => {}
            ("MWD" | "XDR", _) => {
                assert!(nmea_0183_rs::parse_frame_strict(&format!("{sentence}\r\n")).is_ok(), "{sentence}")
            }
            (_, other) => panic!("{sentence}: {other:?}"),
        }
        *kinds.entry(kind).or_default() += 1;
    }
    for kind in ["RMC", "GGA", "HDT", "MWV", "MWD", "XDR", "AIS"] {
        assert!(kinds.contains_key(kind), "no {kind} among {kinds:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn every_beginning_is_sound(seed in any::<u64>(), scenario in 0..SCENARIOS.len()) {
        let mut session = Session::new(SCENARIOS[scenario], seed).expect("a known scenario");
        let log: Vec<Line> = session.by_ref().take(15_000).collect();
        check_log(&log);
        check_truth(&session.truth());
    }
}
