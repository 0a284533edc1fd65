//! Receivers' clocks against ours: wrong, late, set anew. What must come out is when each fix was
//! true on our clock, never later than it arrived.

use dunlin_engine::{
    effect::DiscardReason,
    fixes::{Listener, Verdict, What},
    input::{FeedName, Report},
    moment::{FixTime, Moment, civil_from_days},
    units::Position,
};

/// 2026-06-01T10:00:00Z.
const START: i64 = 1_780_308_000_000;

/// 1024 weeks (IS-GPS-200, from memory), ms.
const ROLL_OVER: i64 = 1024 * 7 * 86_400_000;

/// An RMC of `utc_ms`, a metre further north each second.
fn rmc(utc_ms: i64) -> String {
    let (year, month, day) = civil_from_days(utc_ms.div_euclid(86_400_000));
    let ms = utc_ms.rem_euclid(86_400_000);
    let north = 45.0 + (utc_ms.div_euclid(1000) % 10_000) as f64 * 1e-4;
    let body = format!(
        "GPRMC,{:02}{:02}{:02}.{:03},A,50{north:07.4},N,00117.9220,W,2.0,000.0,{day:02}{month:02}{:02},,,A",
        ms / 3_600_000,
        ms / 60_000 % 60,
        ms / 1000 % 60,
        ms % 1000,
        year % 100,
    );
    let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
    format!("${body}*{sum:02X}")
}

/// What became of lines given as (arrival, receiver's time), both ms after [`START`]: when each was
/// taken, ms after it too, or why it was refused.
fn hear(lines: impl IntoIterator<Item = (i64, i64)>) -> Vec<Result<i64, DiscardReason>> {
    let (mut listener, mut out) = (Listener::new(), Vec::new());
    let mut taken = Vec::new();
    for (arrival, utc) in lines {
        let now = Moment(START + arrival);
        listener.hear(now, &FeedName("boat".to_owned()), rmc(START + utc).as_bytes(), &mut out);
        assert_eq!(out.len(), 1, "{out:?}");
        taken.extend(out.drain(..).map(|verdict| match verdict {
            Verdict::Heard(heard) => {
                assert!(heard.taken <= now, "taken after it arrived");
                Ok(heard.taken.0 - START)
            }
            Verdict::Discard(discard) => Err(discard.reason),
        }));
    }
    taken
}

#[test]
fn a_right_clock_is_believed_and_the_network_delay_seen() {
    // Arrivals 100 to 700 ms late: all are taken as late as the quickest shows them to be.
    let delays = [300, 100, 700, 150, 400, 100, 200];
    let lines = (0..70).map(|s| (s * 1000 + delays[s as usize % delays.len()], s * 1000));
    for (s, taken) in hear(lines).into_iter().enumerate().skip(2) {
        assert_eq!(taken, Ok(s as i64 * 1000 + 100), "second {s}");
    }
}

#[test]
fn a_constant_skew_is_a_wrong_clock_not_a_delay() {
    let year = 365 * 86_400_000;
    for skew in [120_000, -120_000, 3 * year, -20 * year, 26 * 3_600_000, 1_500, -40] {
        let lines = (0..60).map(|s| (s * 1000, s * 1000 - skew));
        for (s, taken) in hear(lines).into_iter().enumerate() {
            // A lag of minutes could be a queue: after ten seconds that do not drain it is not.
            let settled = s >= 12 || !(1_500..1_800_000).contains(&skew);
            if settled {
                assert_eq!(taken, Ok(s as i64 * 1000), "skew {skew} ms, second {s}");
            }
        }
    }
}

#[test]
fn a_week_number_that_overflowed_is_put_right() {
    for weeks in [1, 2] {
        let lines = (0..5).map(|s| (s * 1000 + 200, s * 1000 - weeks * ROLL_OVER));
        assert_eq!(hear(lines), (0..5).map(|s| Ok(s * 1000 + 200)).collect::<Vec<_>>());
    }
    let (mut listener, mut out) = (Listener::new(), Vec::new());
    let feed = FeedName("boat".to_owned());
    listener.hear(Moment(START), &feed, rmc(START - ROLL_OVER).as_bytes(), &mut out);
    assert!(listener.health()[0].rolled_over);
    assert_eq!(listener.health()[0].clock_offset_ms, Some(0));
}

#[test]
fn buffered_fixes_are_late_not_now() {
    // A minute live, forty seconds in a dead spot, then all of it within a second, then live.
    let mut lines: Vec<(i64, i64)> = (0..60).map(|s| (s * 1000 + 100, s * 1000)).collect();
    lines.extend((60..100).map(|s| (100_000 + (s - 60) * 20, s * 1000)));
    lines.extend((101..110).map(|s| (s * 1000 + 100, s * 1000)));
    let expected: Vec<_> = lines.iter().map(|(_, utc)| Ok(utc + 100)).collect();
    assert_eq!(hear(lines), expected);
}

#[test]
fn a_backlog_before_anything_else_is_late_too() {
    // dunlin starts again while a phone holds a minute of fixes.
    let mut lines: Vec<(i64, i64)> = (0..60).map(|s| (60_000 + s * 10, s * 1000)).collect();
    lines.extend((61..70).map(|s| (s * 1000, s * 1000)));
    let expected: Vec<_> = lines.iter().map(|(_, utc)| Ok(*utc)).collect();
    assert_eq!(hear(lines), expected);
}

#[test]
fn a_clock_that_is_set_is_followed_within_seconds() {
    for step in [-3_600_000, -13_000, 5_000, 7_200_000, 400 * 86_400_000] {
        let lines = (0..120).map(|s| (s * 1000, s * 1000 + if s < 60 { 0 } else { step }));
        let taken = hear(lines);
        for (s, taken) in taken.iter().enumerate().skip(64) {
            assert_eq!(*taken, Ok(s as i64 * 1000), "step {step} ms, second {s}");
        }
        let refused = taken.iter().filter(|taken| taken.is_err()).count();
        assert!(refused <= 2, "step {step} ms: {refused} refused");
    }
}

#[test]
fn a_delay_that_lasts_becomes_the_offset_only_after_minutes() {
    // 30 s behind from the sixtieth second on: a queue at first, a clock in the end.
    let lines = (0..400).map(|s| (s * 1000, s * 1000 - if s < 60 { 0 } else { 30_000 }));
    let taken: Vec<i64> = hear(lines).into_iter().filter_map(Result::ok).collect();
    let last = *taken.last().expect("the last one is heard");
    assert_eq!(last, 399_000);
    assert!(taken.windows(2).all(|pair| pair[0] < pair[1]), "time goes on");
}

#[test]
fn what_is_older_or_the_same_is_refused() {
    let lines = [(0, 0), (1000, 1000), (1010, 1000), (1500, 200), (2000, 2000)];
    let expected = [Ok(0), Ok(1000), Err(DiscardReason::Duplicate), Err(DiscardReason::OutOfOrder), Ok(2000)];
    assert_eq!(hear(lines), expected);
}

#[test]
fn a_wild_time_among_good_ones_costs_one_fix() {
    let wild = 10 * 86_400_000;
    let lines = (0..20).map(|s| (s * 1000, s * 1000 + if s == 10 { wild } else { 0 }));
    for (s, taken) in hear(lines).into_iter().enumerate() {
        let expected = if s == 10 { Err(DiscardReason::ImpossibleTime) } else { Ok(s as i64 * 1000) };
        assert_eq!(taken, expected, "second {s}");
    }
}

#[test]
fn a_first_fix_is_judged_by_the_clocks_of_the_others() {
    // Our own clock is an hour slow: five boats show it, and the sixth is not taken for late.
    let slow = 3_600_000;
    let (mut listener, mut out) = (Listener::new(), Vec::new());
    for boat in 0..6 {
        let now = Moment(START + boat * 100);
        let line = rmc(START + slow + boat * 100);
        listener.hear(now, &FeedName(format!("boat {boat}")), line.as_bytes(), &mut out);
        match out.pop() {
            Some(Verdict::Heard(heard)) => assert_eq!(heard.taken, now),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn help_is_never_refused() {
    let (mut listener, mut out) = (Listener::new(), Vec::new());
    let report = |at: i64, help| Report {
        taken: FixTime(START + at),
        position: Position::new(50.76, -1.3),
        accuracy_m: Some(4.0),
        speed_mps: Some(1.0),
        course: None,
        heading: None,
        heel_deg: None,
        battery_pct: None,
        help,
    };
    listener.report(Moment(START + 60_000), "phone", &report(60_000, None), &mut out);
    out.clear();
    listener.report(Moment(START + 61_000), "phone", &report(30_000, Some(true)), &mut out);
    let [Verdict::Heard(heard), Verdict::Discard(discard)] = &out[..] else { panic!("{out:?}") };
    assert_eq!(heard.what, What::Help(true));
    assert_eq!(discard.reason, DiscardReason::OutOfOrder);
}
