//! Recordings of real boats and receivers through the listener, against other programs' answers.

use std::collections::BTreeMap;

use dunlin_engine::{
    effect::DiscardReason,
    fixes::{Listener, SourceHealth, Verdict, What},
    input::FeedName,
    moment::{Moment, days_from_civil},
    units::kn_from_mps,
};
use dunlin_tests::field::recording;
use serde_json::Value;

/// The time of day that a sentence tells, ms; `None` when it tells none.
fn clock_of(line: &[u8]) -> Option<i64> {
    let mut fields = line.split(|byte| *byte == b',');
    let address = fields.next()?;
    let nth = match address.get(address.len().checked_sub(3)?..)? {
        b"RMC" | b"GGA" | b"GNS" | b"ZDA" => 0,
        b"GLL" => 4,
        _ => return None,
    };
    let time: f64 = std::str::from_utf8(fields.nth(nth)?).ok()?.parse().ok()?;
    let (hours, minutes, seconds) = ((time / 1e4).floor(), (time / 100.0).floor() % 100.0, time % 100.0);
    Some((((hours * 60.0 + minutes) * 60.0 + seconds) * 1000.0) as i64)
}

/// A whole recording into a fresh listener. The lines arrive at the pace their times tell; after a
/// jump of the clock, a second on.
fn play(log: &[u8], start: Moment) -> (Vec<Verdict>, Listener) {
    let feed = FeedName("receiver".to_owned());
    let (mut listener, mut out) = (Listener::new(), Vec::new());
    let (mut now, mut clock_ms) = (start, None);
    for line in log.split(|byte| *byte == b'\n').filter(|line| !line.starts_with(b"#")) {
        if let Some(ms) = clock_of(line) {
            let step_ms = ms - clock_ms.replace(ms).unwrap_or(ms);
            now = now.plus_ms(if (0..60_000).contains(&step_ms) { step_ms } else { 1000 });
        }
        listener.hear(now, &feed, line, &mut out);
    }
    (out, listener)
}

fn count(verdicts: &[Verdict], wanted: fn(&What) -> bool) -> usize {
    let heard = |verdict: &&Verdict| matches!(verdict, Verdict::Heard(heard) if wanted(&heard.what));
    verdicts.iter().filter(heard).count()
}

fn own(listener: &Listener) -> SourceHealth {
    let mine = |health: &SourceHealth| &*health.source.0 == "receiver";
    listener.health().into_iter().find(mine).expect("something was heard")
}

fn discards(listener: &Listener) -> Vec<(DiscardReason, u64)> {
    own(listener).discards
}

#[test]
fn a_morning_under_sail_is_heard_whole() {
    let Some(log) = recording("helsinki-yacht-wind/morning.nmea") else { return };
    let (out, listener) = play(&log, Moment(1_273_907_134_000));
    // 47,455 sentences with right checksums, 10,462 of them RMC, by the recording's own count.
    assert_eq!(discards(&listener), []);
    assert_eq!(own(&listener).sentences.iter().map(|(_, count)| count).sum::<u64>(), 47_455);
    assert_eq!(count(&out, |what| matches!(what, What::Fix(_))), 10_462);
    assert_eq!(count(&out, |what| matches!(what, What::Heading(_))), 9_250);
    let winds = |what: &What| matches!(what, What::ApparentWind { .. } | What::TrueWindFromBow { .. });
    assert_eq!(count(&out, winds), 18_500);
}

#[test]
fn empty_fields_are_no_values() {
    let Some(log) = recording("gulf-of-finland-yacht/log.nmea") else { return };
    let (out, listener) = play(&log, Moment(1_273_917_600_000));
    // 3,985 blocks with a position; HDT and HDM always empty, MWD without a direction.
    assert_eq!(count(&out, |what| matches!(what, What::Fix(_))), 3_985);
    assert_eq!(count(&out, |what| matches!(what, What::Heading(_) | What::MagneticHeading(_))), 0);
    assert_eq!(count(&out, |what| matches!(what, What::GroundWind { .. })), 0);
    let refused: BTreeMap<_, _> = discards(&listener).into_iter().collect();
    let faults: Vec<_> = refused
        .keys()
        .filter(|reason| !matches!(reason, DiscardReason::NotUsed | DiscardReason::NoValue))
        .collect();
    assert!(faults.is_empty(), "every checksum is right: {refused:?}");
}

#[test]
fn a_moored_yacht_with_every_instrument_is_heard() {
    let Some(log) = recording("harlingen-yacht-moored/gofree-merrimac.log") else { return };
    let (out, listener) = play(&log, Moment(1_397_678_239_000));
    let refused: BTreeMap<_, _> = discards(&listener).into_iter().collect();
    // 6,182 right checksums and 142 lines without one, by the recording's own count. In those an
    // address is repeated eight times, which makes seven pieces without and one with a checksum
    // that cannot fit.
    assert_eq!(refused.get(&DiscardReason::NoChecksum), Some(&(7 * 142)), "{refused:?}");
    assert_eq!(refused.get(&DiscardReason::WrongChecksum), Some(&142), "{refused:?}");
    assert_eq!(refused.get(&DiscardReason::OutOfOrder), None, "{refused:?}");
    let own_fix = |verdict: &&Verdict| {
        matches!(verdict, Verdict::Heard(heard)
        if &*heard.source.0 == "receiver" && matches!(heard.what, What::Fix(_)))
    };
    // Each second a GGA, completed by an RMC, and once by a GLL with a newer digit.
    assert_eq!(out.iter().filter(own_fix).count(), 2 * 142 + 1);
    assert_eq!(count(&out, |what| matches!(what, What::GroundWind { .. })), 141);
    let own_heading = |verdict: &&Verdict| {
        matches!(verdict, Verdict::Heard(heard)
        if &*heard.source.0 == "receiver" && matches!(heard.what, What::Heading(_)))
    };
    // 1,375 HDG, and the true heading of the first VHW before any of them.
    assert_eq!(out.iter().filter(own_heading).count(), 1_376);
    // The first and the last MWD, as published with the recording: 125.3 deg 5.6 kn, 128.0 deg 4.6 kn.
    let winds: Vec<(f64, f64)> = out
        .iter()
        .filter_map(|verdict| match verdict {
            Verdict::Heard(heard) => match &heard.what {
                What::GroundWind { from, speed_mps: Some(mps) } => Some((from.deg(), kn_from_mps(*mps))),
                _ => None,
            },
            Verdict::Discard(_) => None,
        })
        .collect();
    for (wind, (deg, kn)) in [(winds.first(), (125.3, 5.6)), (winds.last(), (128.0, 4.6))] {
        let (got_deg, got_kn) = wind.copied().expect("a wind");
        assert!((got_deg - deg).abs() < 0.01 && (got_kn - kn).abs() < 0.1, "{wind:?}");
    }
}

#[test]
fn a_gateway_with_numbers_for_talkers_is_heard() {
    let Some(log) = recording("harlingen-yacht-moored/n2kd-183-merrimac.log") else { return };
    let (out, listener) = play(&log, Moment(1_397_678_239_000));
    let sentences = |kind: &str| {
        let counts = own(&listener).sentences;
        counts.into_iter().find(|(of, _)| of == kind).map_or(0, |(_, count)| count)
    };
    let lines = |kind: &[u8]| {
        let is = |line: &&[u8]| line.get(3..6) == Some(kind) && line.first() == Some(&b'$');
        log.split(|byte| *byte == b'\n').filter(is).count() as u64
    };
    for kind in ["MWV", "HDG", "HDM"] {
        assert!(lines(kind.as_bytes()) > 0 && sentences(kind) == lines(kind.as_bytes()), "{kind}");
    }
    assert!(count(&out, |what| matches!(what, What::ApparentWind { .. })) > 0);
}

/// The recordings of another program's regression tests, with its own answers beside them.
const RECEIVERS: [&str; 30] = [
    "ais-nmea",
    "ais-18-27",
    "ais_unpack_sixbit",
    "saab-r4",
    "hemi",
    "humminbird-M37",
    "sounder",
    "pypilot",
    "gp-320fw-2019-04-06-overflow",
    "gp-320fw-2019-04-07-coldboot",
    "nmea-fuzzy-cases",
    "nmea-rtk",
    "neo-m8n",
    "GPSmap-76S",
    "garmin-geko201",
    "et-332",
    "firefly-II",
    "tcp-torture",
    "beidou-gb",
    "st-teseo-liv4f",
    "foretrex-201",
    "com-1289",
    "tnt-revolution",
    "rgm3800",
    "april6_2019",
    "haicom-305N",
    "isync",
    "mtk-3301",
    "iTrek",
    "polarx2",
];

/// Where both part: fixes that are not in its answers, its positions that dunlin does not pass on,
/// speeds that differ.
const DIFFERENCES: [(&str, [usize; 3]); 15] = [
    // It withholds the first or the last epoch of a stream, ...
    ("ais-nmea", [2, 0, 0]),
    ("saab-r4", [1, 0, 0]),
    ("neo-m8n", [1, 0, 0]),
    ("isync", [2, 0, 0]),
    // ... and positions from no satellite, which gateways that do not know the number write too.
    ("hemi", [15, 0, 0]),
    // A clock that jumps back 13 s, or on by ten minutes, is followed after a second.
    ("humminbird-M37", [2, 3, 0]),
    ("nmea-fuzzy-cases", [0, 4, 0]),
    ("nmea-rtk", [0, 2, 0]),
    // Simulated, and said to be.
    ("GPSmap-76S", [0, 2, 0]),
    ("garmin-geko201", [0, 2, 0]),
    // A date of "2208-1".
    ("april6_2019", [0, 1, 0]),
    // The first second of a stream, for which it gives the position but no speed.
    ("beidou-gb", [0, 0, 1]),
    ("rgm3800", [0, 0, 1]),
    ("haicom-305N", [0, 0, 1]),
    ("mtk-3301", [0, 1, 1]),
];

#[test]
fn receivers_are_read_as_another_program_reads_them() {
    let (mut total, mut speeds) = ([0; 4], 0);
    for name in RECEIVERS {
        let (Some(log), Some(answers)) =
            (recording(&format!("gpsd-logs/{name}.log")), recording(&format!("gpsd-logs/{name}.log.chk")))
        else {
            return;
        };
        let answers: Vec<Value> = answers
            .split(|byte| *byte == b'\n')
            .filter_map(|line| serde_json::from_slice(line).ok())
            .filter(|answer: &Value| answer["class"] == "TPV" && answer["lat"].is_f64())
            .collect();
        // In one of them bars stand for pauses in the stream.
        let log: Vec<u8> = log.into_iter().filter(|byte| name != "tcp-torture" || *byte != b'|').collect();
        let (out, listener) = play(&log, Moment(1_500_000_000_000));
        let near = |answer: &Value, key: &str, value: f64, tolerance: f64| {
            answer[key].as_f64().is_some_and(|other| (other - value).abs() <= tolerance)
        };
        let mut heard_of = vec![false; answers.len()];
        let mut parted = [0; 3];
        let fixes = out.iter().filter_map(|verdict| match verdict {
            Verdict::Heard(heard) if !heard.source.0.starts_with("mmsi:") => match &heard.what {
                What::Fix(fix) => Some(fix),
                _ => None,
            },
            _ => None,
        });
        for fix in fixes {
            let same: Vec<usize> = (0..answers.len())
                .filter(|at| {
                    near(&answers[*at], "lat", fix.position.lat_deg(), 2e-8)
                        && near(&answers[*at], "lon", fix.position.lon_deg(), 2e-8)
                })
                .collect();
            for at in &same {
                heard_of[*at] = true;
            }
            if let Some(mps) = fix.speed_mps
                && !same.is_empty()
            {
                let alike = same.iter().any(|at| near(&answers[*at], "speed", mps, 0.011));
                parted[2] += usize::from(!alike);
                speeds += usize::from(alike);
            }
            parted[0] += usize::from(same.is_empty());
            total[0] += 1;
        }
        parted[1] = heard_of.iter().filter(|heard| !**heard).count();
        let known = DIFFERENCES.iter().find(|(of, _)| *of == name).map_or([0; 3], |(_, known)| *known);
        assert_eq!(parted, known, "{name}: {:?}", discards(&listener));
        total[1] += parted[0];
        total[2] += answers.len();
        total[3] += parted[1];
    }
    eprintln!("receivers: fixes, not in the answers, answers, not heard: {total:?}; speeds alike: {speeds}");
}

/// The whole times of another program's answer, ms since 1970.
fn answered_times(csv: &[u8]) -> Vec<i64> {
    let text = String::from_utf8_lossy(csv).into_owned();
    let times = text.lines().skip(1).filter_map(|line| {
        let mut fields = line.rsplit(',');
        let (clock, date) = (fields.next()?, fields.next()?);
        let mut date = date.split('/').filter_map(|part| part.parse::<i64>().ok());
        let days = days_from_civil(date.next()?, date.next()? as u32, date.next()? as u32);
        let mut clock = clock.split(':').filter_map(|part| part.parse::<f64>().ok());
        let s = clock.next()? * 3600.0 + clock.next()? * 60.0 + clock.next()?;
        Some(days * 86_400_000 + (s * 1000.0) as i64)
    });
    times.collect()
}

#[test]
fn days_are_found_for_times_that_have_none() {
    for (log, answer) in [
        ("addmultipledaysfwd.nmea", "addmultipledays.csv"),
        ("addmultipledaysmid.nmea", "addmultipledays.csv"),
        ("backfilldate2.nmea", "backfilldate2.csv"),
    ] {
        let (Some(log_bytes), Some(answer)) =
            (recording(&format!("nmea-midnight/{log}")), recording(&format!("nmea-midnight/{answer}")))
        else {
            return;
        };
        let times = answered_times(&answer);
        // Our own clock may be right, or hours off: the days must follow each other all the same.
        for off_ms in [0, 3 * 3_600_000, -5 * 3_600_000] {
            let feed = FeedName("receiver".to_owned());
            let (mut listener, mut out) = (Listener::new(), Vec::new());
            let (mut at, mut clock_ms) = (0, None);
            let mut taken = Vec::new();
            for line in log_bytes.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()) {
                let time = clock_of(line).filter(|_| line.get(3..6) != Some(b"ZDA"));
                if let Some(ms) = time
                    && clock_ms.replace(ms).is_some_and(|before| before != ms)
                {
                    at += 1;
                }
                let now = Moment(times[at] + off_ms);
                listener.hear(now, &feed, line, &mut out);
                for verdict in out.drain(..) {
                    match verdict {
                        Verdict::Heard(heard) => taken.push((heard.taken, now)),
                        // A receiver that lost its satellites for a while.
                        Verdict::Discard(discard) if discard.reason == DiscardReason::NoFix => (),
                        Verdict::Discard(discard) => panic!("{log}, {off_ms} ms off: {discard:?}"),
                    }
                }
            }
            assert_eq!(at + 1, times.len(), "{log}");
            assert!(2 * taken.len() > times.len(), "{log}: {} of {}", taken.len(), times.len());
            for (taken, now) in taken {
                assert_eq!(taken, now, "{log}, {off_ms} ms off");
            }
            assert_eq!(own(&listener).clock_offset_ms, Some(off_ms), "{log}");
        }
    }
}

#[test]
fn prose_and_unknown_lines_are_counted_and_passed_over() {
    let Some(log) = recording("nmea-midnight/amod-nmea") else { return };
    let (out, listener) = play(&log, Moment(1_212_696_401_000));
    let refused: BTreeMap<_, _> = discards(&listener).into_iter().collect();
    assert_eq!(refused.get(&DiscardReason::Rubbish), Some(&2), "{refused:?}");
    assert!(count(&out, |what| matches!(what, What::Fix(_))) > 0);
}

#[test]
fn single_sentences_are_read_as_another_parser_reads_them() {
    let Some(vectors) = recording("pynmea2-vectors/vectors.jsonl") else { return };
    let (mut positions, mut refusals) = (0, BTreeMap::new());
    for row in String::from_utf8_lossy(&vectors).lines() {
        let row: Value = serde_json::from_str(row).expect("one object a line");
        let sentence = row["sentence"].as_str().expect("a sentence");
        let (mut listener, mut out) = (Listener::new(), Vec::new());
        listener.hear(Moment(1_500_000_000_000), &FeedName("t".to_owned()), sentence.as_bytes(), &mut out);
        let kind = row["type"].as_str().unwrap_or("");
        let (lat, lon) = (row["fields"]["_latitude_deg"].as_f64(), row["fields"]["_longitude_deg"].as_f64());
        if !matches!(kind, "RMC" | "GGA" | "GLL" | "GNS") || lat.is_none() {
            continue;
        }
        match &out[..] {
            [Verdict::Heard(heard)] => {
                let What::Fix(fix) = &heard.what else { panic!("{sentence}: {heard:?}") };
                let off = (fix.position.lat_deg() - lat.unwrap_or(f64::NAN)).abs()
                    + (fix.position.lon_deg() - lon.unwrap_or(f64::NAN)).abs();
                assert!(off < 1e-9, "{sentence}: {fix:?}");
                positions += 1;
            }
            [Verdict::Discard(discard)] => {
                *refusals.entry(discard.reason).or_insert(0) += 1;
            }
            _ => panic!("{sentence}: {out:?}"),
        }
    }
    eprintln!("vectors: {positions} positions alike, refused {refusals:?}");
    // All refusals are marked V, without fix, N, E, M or S; the other parser leaves that to its user.
    let expected = BTreeMap::from([(DiscardReason::NoFix, 28), (DiscardReason::NotReal, 12)]);
    assert_eq!((positions, refusals), (14, expected));
}
