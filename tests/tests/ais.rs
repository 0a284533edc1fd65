//! AIS messages against other decoders' answers (see `reference/SENTENCES.md`).

use std::collections::BTreeMap;

use dunlin_engine::{
    effect::DiscardReason,
    fixes::{Listener, Verdict, What},
    input::FeedName,
    moment::Moment,
    units::kn_from_mps,
};
use dunlin_tests::field::recording;
use serde_json::Value;

/// Two positions are the same: AIS resolves 1/10000 of a minute, 1.7e-6 degrees.
const SAME_DEG: f64 = 1e-6;

fn feed() -> FeedName {
    FeedName("ais".to_owned())
}

fn hear(lines: &[&str]) -> Vec<Verdict> {
    let mut listener = Listener::new();
    let mut out = Vec::new();
    for line in lines {
        listener.hear(Moment(1_719_146_119_000), &feed(), line.as_bytes(), &mut out);
    }
    out
}

/// Who speaks and what is said.
fn said(verdicts: &[Verdict]) -> Vec<(&str, &What)> {
    let heard = verdicts.iter().filter_map(|verdict| match verdict {
        Verdict::Heard(heard) => Some((&*heard.source.0, &heard.what)),
        Verdict::Discard(_) => None,
    });
    heard.collect()
}

fn refused(verdicts: &[Verdict]) -> Vec<DiscardReason> {
    let discards = verdicts.iter().filter_map(|verdict| match verdict {
        Verdict::Heard(_) => None,
        Verdict::Discard(discard) => Some(discard.reason),
    });
    discards.collect()
}

/// Compares what was heard with another decoder's answer for the same message. `Err` says how they
/// differ; `Ok(false)` that dunlin has no use for the message.
fn agree(expected: &Value, verdicts: &[Verdict], own: bool) -> Result<bool, String> {
    let differ = |what: &str| Err(format!("{what}: {verdicts:?}\n  wanted {expected}"));
    let said = said(verdicts);
    let kind = expected["msg_type"].as_u64().unwrap_or(0);
    let mmsi = expected["mmsi"].as_u64().unwrap_or(0);
    let name = format!("mmsi:{mmsi:09}");
    if !own && said.iter().any(|(source, _)| *source != name) {
        return differ("identity");
    }
    let beacon = matches!(mmsi / 1_000_000, 970 | 972 | 974);
    if beacon && matches!(kind, 1..=3 | 14) {
        let Some((_, What::Beacon { mmsi: got, test, text })) = said.first() else {
            return differ("no beacon");
        };
        let wanted_text = expected["text"].as_str();
        let wanted_test = expected["status"] == 15 || wanted_text.is_some_and(|text| text.contains("TEST"));
        if u64::from(*got) != mmsi || *test != wanted_test || text.as_deref() != wanted_text {
            return differ("beacon");
        }
    }
    let number = |key: &str| expected[key].as_f64();
    match kind {
        1..=3 | 18 | 19 => {
            let fix = said.iter().find_map(|(_, what)| match what {
                What::Fix(fix) => Some(fix),
                _ => None,
            });
            let lat = number("lat").filter(|lat| *lat <= 90.0);
            let lon = number("lon").filter(|lon| *lon <= 180.0);
            let usable = lat.is_some() && lon.is_some() && number("second").is_none_or(|s| s <= 60.0);
            let (Some(fix), Some(lat), Some(lon), true) = (fix, lat, lon, usable) else {
                return if fix.is_none() && !usable { Ok(true) } else { differ("position there or not") };
            };
            let place = fix.position;
            if (place.lat_deg() - lat).abs() > SAME_DEG || (place.lon_deg() - lon).abs() > SAME_DEG {
                return differ("position");
            }
            // 102.3 kn is "not available", and above 60 kn a speed is not believed.
            let speed = number("speed").filter(|kn| *kn <= 60.0);
            let got = fix.speed_mps.map(kn_from_mps);
            let same = match (speed, got) {
                (Some(a), Some(b)) => (a - b).abs() < 1e-5,
                (a, b) => a.is_none() && b.is_none(),
            };
            if !same {
                return differ("speed");
            }
            let course = number("course").filter(|deg| *deg < 360.0);
            let got = fix.course.map(|course| course.deg());
            let same = match (course, got) {
                (Some(a), Some(b)) => (a - b).abs() < 1e-4,
                (a, b) => a.is_none() && b.is_none(),
            };
            if !same {
                return differ("course");
            }
            let heading = number("heading").filter(|deg| *deg < 360.0);
            let got = said.iter().find_map(|(_, what)| match what {
                What::Heading(heading) => Some(heading.deg()),
                _ => None,
            });
            if heading != got {
                return differ("heading");
            }
            Ok(true)
        }
        5 | 24 if expected["shipname"].as_str().is_some_and(|name| !name.trim().is_empty()) => {
            let wanted = expected["shipname"].as_str().unwrap_or("").trim();
            match said[..] {
                [(_, What::Name(got))] if got == wanted => Ok(true),
                _ => differ("name"),
            }
        }
        21 => {
            let wanted = expected["full_name"].as_str().map(str::to_owned).or_else(|| {
                let base = expected["name"].as_str()?;
                Some(format!("{base}{}", expected["name_ext"].as_str().unwrap_or("")))
            });
            let place = number("lat").zip(number("lon")).filter(|(lat, lon)| *lat <= 90.0 && *lon <= 180.0);
            match (said.as_slice(), place) {
                ([], None) => Ok(true),
                ([(_, What::Aid { name, position })], Some((lat, lon))) => {
                    let same = wanted.as_deref().is_some_and(|wanted| wanted.trim() == name.trim())
                        && (position.lat_deg() - lat).abs() <= SAME_DEG
                        && (position.lon_deg() - lon).abs() <= SAME_DEG;
                    if same { Ok(true) } else { differ("aid") }
                }
                _ => differ("aid"),
            }
        }
        14 if beacon => Ok(true),
        _ if said.is_empty() => Ok(false),
        _ => differ("should be of no use"),
    }
}

#[test]
fn every_message_of_the_table_says_what_it_should() {
    let path = format!("{}/reference/ais.csv", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).expect("the reference table is part of the tests");
    let mut checked = 0;
    for row in reader.records() {
        let row = row.expect("the table is whole");
        let lines: Vec<&str> = row[2].split('|').collect();
        let expected: Value = serde_json::from_str(&row[3]).expect("the table holds JSON");
        let verdicts = hear(&lines);
        if let Err(difference) = agree(&expected, &verdicts, lines[0].starts_with("!AIVDO")) {
            panic!("{}: {difference}", &row[0]);
        }
        checked += 1;
    }
    assert_eq!(checked, 24);
}

#[test]
fn other_decoders_tests_are_decoded_alike() {
    let Some(vectors) = recording("ais-vectors/vectors.jsonl") else {
        return;
    };
    let text = String::from_utf8(vectors).expect("JSON is UTF-8");
    let (mut alike, mut no_use, mut refusals) = (0, 0, BTreeMap::new());
    for row in text.lines() {
        let row: Value = serde_json::from_str(row).expect("one object a line");
        let lines: Vec<&str> =
            row["sentences"].as_array().expect("sentences").iter().filter_map(Value::as_str).collect();
        let verdicts = hear(&lines);
        match agree(&row["decoded"], &verdicts, lines[0].contains("VDO")) {
            Ok(true) => alike += 1,
            Ok(false) => no_use += 1,
            Err(difference) => {
                let reasons = refused(&verdicts);
                assert!(!reasons.is_empty(), "read differently: {lines:?}\n{difference}");
                *refusals.entry(reasons).or_insert(0) += 1;
            }
        }
    }
    eprintln!("AIS vectors: {alike} alike, {no_use} of no use, refused: {refusals:?}");
    // The other decoder does not insist on checksums (9), lengths (1: 268 bits of type 21) or the
    // start character (1), takes a "!" inside a payload (1), and 0 N 0 E for a position (6).
    assert_eq!((alike, no_use), (105, 166));
    let expected = [
        (vec![DiscardReason::NoChecksum, DiscardReason::WrongChecksum], 1),
        (vec![DiscardReason::NotUsed], 1),
        (vec![DiscardReason::PoorFix], 6),
        (vec![DiscardReason::Unreadable], 1),
        (vec![DiscardReason::WrongChecksum], 9),
    ];
    for (reasons, count) in &expected {
        assert_eq!(refusals.get(reasons), Some(count), "{reasons:?}");
    }
    assert_eq!(refusals.len(), expected.len());
}

/// Published two-line example (Raymond 2023, "AIVDM/AIVDO protocol decoding").
const FIRST: &str = "!AIVDM,2,1,3,B,55P5TL01VIaAL@7WKO@mBplU@<PDhh000000001S;AJ::4A80?4i@E53,0*3E";
const SECOND: &str = "!AIVDM,2,2,3,B,1@0000000000000,2*55";

#[test]
fn the_lines_of_a_message_may_come_in_any_order_and_not_too_late() {
    for (lines, gap_ms, names, discards) in [
        (vec![FIRST, SECOND], 100, 1, vec![]),
        (vec![SECOND, FIRST], 100, 1, vec![]),
        (vec![FIRST, FIRST, SECOND], 100, 1, vec![]),
        (vec![FIRST, SECOND], 5_001, 0, vec![DiscardReason::Incomplete]),
        (vec![SECOND], 0, 0, vec![]),
    ] {
        let mut listener = Listener::new();
        let mut out = Vec::new();
        for (n, line) in lines.iter().enumerate() {
            listener.hear(Moment(n as i64 * gap_ms), &feed(), line.as_bytes(), &mut out);
        }
        let heard = said(&out).iter().filter(|(_, what)| matches!(what, What::Name(_))).count();
        assert_eq!((heard, refused(&out)), (names, discards), "{lines:?} {gap_ms} ms apart: {out:?}");
    }
}

#[test]
fn two_receivers_do_not_mix_their_lines() {
    let mut listener = Listener::new();
    let mut out = Vec::new();
    for (feed, line) in [("a", FIRST), ("b", SECOND)] {
        listener.hear(Moment(0), &FeedName(feed.to_owned()), line.as_bytes(), &mut out);
    }
    assert_eq!(out, []);
}

#[test]
fn one_report_through_two_receivers_is_heard_once() {
    let report = "!AIVDM,1,1,,A,13M@>lP010wr3QHM35J3C2TR0000,0*70";
    let mut listener = Listener::new();
    let mut out = Vec::new();
    for (ms, feed) in [(0, "a"), (700, "b")] {
        listener.hear(Moment(ms), &FeedName(feed.to_owned()), report.as_bytes(), &mut out);
    }
    assert_eq!(refused(&out), [DiscardReason::Duplicate], "{out:?}");
}

#[test]
fn a_later_line_of_a_group_belongs_to_the_source_the_first_named() {
    let mut listener = Listener::new();
    let mut out = Vec::new();
    let checksum = |text: &str| text.bytes().fold(0, |sum, byte| sum ^ byte);
    for tag in ["g:1-2-7,s:mast", "g:2-2-7"] {
        let line = format!("\\{tag}*{:02X}\\$HEHDT,274.1,T*2F", checksum(tag));
        listener.hear(Moment(0), &feed(), line.as_bytes(), &mut out);
    }
    let sources: Vec<&str> = said(&out).iter().map(|(source, _)| *source).collect();
    assert_eq!(sources, ["mast", "mast"], "{out:?}");
}
