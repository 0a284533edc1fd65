//! Single sentences against tables made with other programs (see `reference/SENTENCES.md`).

use dunlin_engine::{
    effect::DiscardReason,
    fixes::{Listener, SourceHealth, Verdict, What, tag},
    input::FeedName,
    moment::{Moment, days_from_civil},
    units::{fold, kn_from_mps},
};
use serde_json::Value;

/// One line into a fresh listener at `now`.
fn hear(now: Moment, line: &[u8]) -> (Vec<Verdict>, Vec<SourceHealth>) {
    let mut listener = Listener::new();
    let mut out = Vec::new();
    listener.hear(now, &FeedName("test".to_owned()), line, &mut out);
    (out, listener.health())
}

fn said(verdicts: &[Verdict]) -> Vec<&What> {
    let heard = verdicts.iter().filter_map(|verdict| match verdict {
        Verdict::Heard(heard) => Some(&heard.what),
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

fn rows(table: &str) -> Vec<csv::StringRecord> {
    let path = format!("{}/reference/{table}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).expect("the reference table is part of the tests");
    reader.records().map(|row| row.expect("the table is whole")).collect()
}

/// Milliseconds since 1970 of `2024-06-23T12:35:19Z`, `2024-06-23T12:35:19.500Z` or `12:35:19`
/// (then on 2024-06-23).
fn utc_ms(text: &str) -> i64 {
    let (date, time) = text.split_once('T').unwrap_or(("2024-06-23", text));
    let mut date = date.split('-').map(|part| part.parse::<i64>().expect("a number"));
    let mut next = || date.next().expect("three parts");
    let days = days_from_civil(next(), next() as u32, next() as u32);
    let mut time = time.trim_end_matches('Z').split(':');
    let mut next = || time.next().expect("three parts").parse::<f64>().expect("a number");
    let seconds = next() * 3600.0 + next() * 60.0 + next();
    days * 86_400_000 + (seconds * 1000.0).round() as i64
}

/// Checks `got` against the number in `expected[key]`; both must be there or both not.
fn close(case: &str, expected: &Value, key: &str, got: Option<f64>, tolerance: f64) {
    match (expected[key].as_f64(), got) {
        (Some(wanted), Some(got)) => {
            assert!((wanted - got).abs() <= tolerance, "{case} {key}: {got}, not {wanted}");
        }
        (None, None) => (),
        (wanted, got) => panic!("{case} {key}: {got:?}, not {wanted:?}"),
    }
}

#[test]
fn every_line_of_the_table_says_what_it_should() {
    /// How late the lines arrive, ms: shows up as the clock offset if the time was read right.
    const LATE_MS: i64 = 250;
    let mut checked = 0;
    for row in rows("nmea.csv") {
        let (case, kind, line) = (&row[0], &row[1], &row[3]);
        let expected: Value = serde_json::from_str(&row[5]).expect("the table holds JSON");
        let utc = expected["utc"].as_str().or(expected["utc_time"].as_str());
        let now = Moment(utc_ms(utc.unwrap_or("12:35:19")) + LATE_MS);
        let (verdicts, health) = hear(now, line.as_bytes());
        let (said, refused) = (said(&verdicts), refused(&verdicts));
        checked += 1;
        if expected["valid"].as_bool() == Some(false) {
            assert!(said.is_empty() && refused.len() == 1, "{case}: {verdicts:?}");
            let not_real = expected["quality"] == 8;
            assert_eq!(refused[0] == DiscardReason::NotReal, not_real, "{case}");
            continue;
        }
        match kind {
            "RMC" | "GGA" | "GLL" => {
                let [What::Fix(fix)] = said[..] else { panic!("{case}: {verdicts:?}") };
                close(case, &expected, "lat_deg", Some(fix.position.lat_deg()), 1e-8);
                close(case, &expected, "lon_deg", Some(fix.position.lon_deg()), 1e-8);
                if kind == "RMC" {
                    close(case, &expected, "sog_kn", fix.speed_mps.map(kn_from_mps), 1e-5);
                    close(case, &expected, "cog_deg", fix.course.map(|c| c.deg()), 1e-4);
                }
                assert_eq!(fix.accuracy_m.is_some(), expected["hdop"].is_f64(), "{case}");
                assert_eq!(health[0].clock_offset_ms, Some(LATE_MS), "{case}: {utc:?}");
            }
            "VTG" => {
                let [What::Motion { speed_mps, course }] = said[..] else { panic!("{case}: {verdicts:?}") };
                close(case, &expected, "sog_kn", speed_mps.map(kn_from_mps), 1e-5);
                let wanted = expected["cog_true_deg"].as_f64().map(|deg| deg % 360.0);
                assert_eq!(
                    course.map(|c| (c.deg() * 1e3).round()),
                    wanted.map(|w| (w * 1e3).round()),
                    "{case}"
                );
            }
            "HDT" => {
                let [What::Heading(heading)] = said[..] else { panic!("{case}: {verdicts:?}") };
                close(case, &expected, "heading_true_deg", Some(heading.deg()), 1e-4);
            }
            "HDG" => match said[..] {
                [What::Heading(heading)] => {
                    close(case, &expected, "heading_true_deg", Some(heading.deg()), 1e-4);
                }
                [What::MagneticHeading(heading)] => {
                    assert!(expected["heading_true_deg"].is_null(), "{case}");
                    close(case, &expected, "heading_sensor_deg", Some(heading.deg()), 1e-4);
                }
                _ => panic!("{case}: {verdicts:?}"),
            },
            "MWV" => {
                let (angle_deg, speed_mps, reference) = match said[..] {
                    [What::ApparentWind { angle_deg, speed_mps }] => (angle_deg, speed_mps, "R"),
                    [What::TrueWindFromBow { angle_deg, speed_mps }] => (angle_deg, speed_mps, "T"),
                    _ => panic!("{case}: {verdicts:?}"),
                };
                assert_eq!(expected["reference"], reference, "{case}");
                let wanted = expected["angle_deg"].as_f64().expect("an angle");
                assert!(fold(angle_deg - wanted).abs() < 1e-4, "{case}: {angle_deg}");
                close(case, &expected, "speed_m_s", Some(*speed_mps), 1e-5);
            }
            "MWD" => match said[..] {
                [What::GroundWind { from, speed_mps }] => {
                    close(case, &expected, "dir_true_deg", Some(from.deg()), 1e-4);
                    close(case, &expected, "speed_m_s", *speed_mps, 1e-5);
                }
                [] => assert!(expected["dir_true_deg"].is_null(), "{case}"),
                _ => panic!("{case}: {verdicts:?}"),
            },
            "VHW" => {
                let speed = said.iter().find_map(|what| match what {
                    What::WaterSpeed(mps) => Some(kn_from_mps(*mps)),
                    _ => None,
                });
                let heading = said.iter().find_map(|what| match what {
                    What::Heading(heading) => Some(heading.deg()),
                    _ => None,
                });
                close(case, &expected, "stw_kn", speed, 1e-5);
                close(case, &expected, "heading_true_deg", heading, 1e-5);
            }
            "DPT" | "DBT" => {
                let key = if kind == "DPT" { "depth_below_transducer_m" } else { "depth_m" };
                let depth = said.iter().find_map(|what| match what {
                    What::Depth(metres) => Some(*metres),
                    _ => None,
                });
                close(case, &expected, key, depth, 1e-5);
            }
            "ZDA" => assert!(verdicts.is_empty(), "{case}: a date alone is not news: {verdicts:?}"),
            _ => panic!("{case}: no check for {kind}"),
        }
    }
    assert_eq!(checked, 49);
}

#[test]
fn damaged_odd_and_hostile_lines_get_the_verdict_wanted() {
    use DiscardReason::{
        ImpossibleTime, Incomplete, NoChecksum, NoFix, NotUsed, OutOfRange, PoorFix, Rubbish, TooLong,
        Unreadable, WrongChecksum,
    };
    let mut checked = 0;
    for row in rows("nmea_bad.csv") {
        let (case, verdict) = (&row[0], &row[2]);
        let line: String =
            serde_json::from_str(&format!("\"{}\"", &row[1])).expect("the table holds JSON strings");
        // Characters beyond ASCII stand for the single byte of that value.
        let line: Vec<u8> = line.chars().map(|c| c as u32 as u8).collect();
        let (verdicts, health) = hear(Moment(1_719_146_119_250), &line);
        let (said, refused) = (said(&verdicts), refused(&verdicts));
        checked += 1;
        let fine = match verdict {
            "accept" => said.len() == 1 && refused.iter().all(|reason| *reason == Rubbish),
            "accept_second" => said.len() == 1 && refused.len() == 1,
            // 99.9 kn is left out and the position kept; 0 N 0 E is refused as not credible.
            "accept_suspect" => match said[..] {
                [What::Fix(fix)] => fix.speed_mps.is_none() && refused.is_empty(),
                _ => refused == [PoorFix],
            },
            "accept_no_fix" => said.is_empty() && refused == [NoFix],
            "accept_tag" => tag(&line).is_some_and(|tag| tag.source.is_some()) && refused.is_empty(),
            "reject_tag_keep_sentence" => {
                tag(&line).is_none() && said.len() == 1 && refused.iter().all(|reason| *reason == Rubbish)
            }
            "reject_checksum" => refused == [WrongChecksum],
            "reject_no_checksum" | "reject_truncated" => refused == [NoChecksum],
            // "Reject or at least count it": receivers with eight decimals send more than 82.
            "reject_too_long" => refused == [TooLong] || health[0].overlong == 1,
            "reject_range" => refused == [OutOfRange],
            "reject_field" | "reject_length" => {
                said.is_empty() && matches!(refused[..], [Unreadable | OutOfRange | ImpossibleTime])
            }
            "reject_no_start" => refused == [Rubbish],
            "ignore_unknown" => refused == [NotUsed],
            "ignore_empty" => verdicts.is_empty(),
            // Held: nothing yet; what becomes of it is tested with the AIS messages. Nine parts
            // are more than a message can have, and refused at once.
            "hold_then_drop" => said.is_empty() && matches!(refused[..], [] | [Unreadable | Incomplete]),
            _ => panic!("{case}: no check for {verdict}"),
        };
        assert!(fine, "{case} should be {verdict} ({}): {verdicts:?}", &row[3]);
    }
    assert_eq!(checked, 52);
}

#[test]
fn tag_blocks_give_source_and_time() {
    for (line, source, time_ms) in [
        (r"\s:club1,c:1719146119*11\$GP", Some("club1"), Some(1_719_146_119_000)),
        (r"\s:club1,c:1719146119500*24\$GP", Some("club1"), Some(1_719_146_119_500)),
        // Published example (Raymond 2023).
        (
            r"\g:1-2-73874,n:157036,s:r003669945,c:1241544035*4A\!AIVDM",
            Some("r003669945"),
            Some(1_241_544_035_000),
        ),
    ] {
        let tag = tag(line.as_bytes()).expect("the checksum fits");
        assert_eq!((tag.source, tag.time_ms), (source, time_ms), "{line}");
    }
    assert_eq!(
        tag(br"\g:1-2-73874,n:157036,s:r003669945,c:1241544035*4A\").and_then(|tag| tag.group),
        Some((1, 2, 73_874))
    );
    assert_eq!(tag(b"$GPRMC,123519.00*44"), None);
}
