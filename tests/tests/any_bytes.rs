//! Whatever a feed sends, nothing panics, and nothing that is believed is beyond belief.

use dunlin_engine::{
    fixes::{Fix, Listener, Verdict, What, tag},
    input::{FeedName, Report},
    limits::SOURCES_MAX,
    moment::{FixTime, Moment},
    tracks::{Plane, Track},
    units::{Bearing, Position, mps_from_kn},
};
use proptest::{collection::vec, prelude::*};

/// 2026-06-01T10:00:00Z.
const START: i64 = 1_780_308_000_000;

/// Sentences of every kind that is used, to be spoilt.
const SOUND: [&str; 22] = [
    "GPRMC,123519.00,A,5045.9240,N,00117.9220,W,4.2,084.4,230624,1.5,W,A",
    "GPRMC,235960.00,A,5045.9240,N,00117.9220,W,,,311216,,,A",
    "GPGGA,123519.00,5045.9240,N,00117.9220,W,1,08,0.9,4.1,M,47.0,M,,",
    "GNGLL,5045.9240,N,00117.9220,W,225445.00,A,A",
    "GNGNS,053233.438,3114.8821,N,12135.2428,E,ANNA,07,1.2,167.2,8.3,,0000",
    "GPVTG,084.4,T,081.3,M,4.2,N,7.8,K,A",
    "HEHDT,274.1,T",
    "HCHDG,098.3,0.0,E,12.6,W",
    "HCHDM,186.5,M",
    "WIMWV,032.5,R,13.1,N,A",
    "WIMWV,327.5,T,6.7,M,A",
    "WIMWD,225.0,T,227.5,M,14.0,N,7.2,M",
    "IIVWR,045.0,R,10.0,N,5.1,M,18.5,K",
    "VWVHW,085.0,T,087.0,M,3.8,N,7.0,K",
    "GPZDA,160012.71,11,03,2024,-1,00",
    "SDDPT,2.3,-0.5,100.0",
    "SDDBT,7.9,f,2.4,M,1.3,F",
    "APXDR,A,3.866,D,ROLL,U,12.4,V,BATTERY",
    "AIVDM,1,1,,A,13M@>lP010wr3QHM35J3C2TR0000,0",
    "AIVDM,2,1,3,B,55P5TL01VIaAL@7WKO@mBplU@<PDhh000000001S;AJ::4A80?4i@E53,0",
    "AIVDM,2,2,3,B,1@0000000000000,2",
    "AIVDO,1,1,,A,1>Nvj>fP02wr6rpM2kG6vOvH0000,0",
];

/// A sentence with its right checksum.
fn closed(body: &str) -> String {
    let start = if body.starts_with("AIVD") { '!' } else { '$' };
    let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
    format!("{start}{body}*{sum:02X}")
}

/// One change of a sentence's text.
#[derive(Clone, Debug)]
enum Spoil {
    Put(usize, char),
    Cut(usize, usize),
    Field(usize, String),
}

fn spoil() -> impl Strategy<Value = Spoil> {
    let odd = prop_oneof![
        Just("nan".to_owned()),
        Just("inf".to_owned()),
        Just("-1".to_owned()),
        Just("1e9".to_owned()),
        Just(String::new()),
        "[0-9]{1,12}",
        "-?[0-9]{0,5}\\.[0-9]{0,9}",
        "[A-Z]{1,3}",
        "[ -~]{0,8}",
    ];
    prop_oneof![
        (0..80usize, proptest::char::range(' ', '~')).prop_map(|(at, c)| Spoil::Put(at, c)),
        (0..80usize, 1..9usize).prop_map(|(at, n)| Spoil::Cut(at, n)),
        (1..14usize, odd).prop_map(|(n, text)| Spoil::Field(n, text)),
    ]
}

fn spoilt() -> impl Strategy<Value = String> {
    (0..SOUND.len(), vec(spoil(), 0..4)).prop_map(|(which, spoils)| {
        let mut body = SOUND[which].to_owned();
        for spoil in spoils {
            match spoil {
                Spoil::Put(at, c) if at < body.len() => body.replace_range(at..=at, &c.to_string()),
                Spoil::Cut(at, n) if at + n < body.len() => body.replace_range(at..at + n, ""),
                Spoil::Field(n, text) => {
                    let mut fields: Vec<&str> = body.split(',').collect();
                    if let Some(field) = fields.get_mut(n) {
                        *field = &text;
                    }
                    body = fields.join(",");
                }
                Spoil::Put(..) | Spoil::Cut(..) => (),
            }
        }
        closed(&body)
    })
}

fn line() -> impl Strategy<Value = Vec<u8>> {
    prop_oneof![
        4 => spoilt().prop_map(String::into_bytes),
        1 => vec(any::<u8>(), 0..200),
        1 => (vec(any::<u8>(), 0..20), spoilt(), spoilt()).prop_map(|(noise, a, b)| {
            [noise, a.into_bytes(), b.into_bytes()].concat()
        }),
        1 => (vec(any::<u8>(), 0..40), spoilt())
            .prop_map(|(tag, a)| [vec![b'\\'], tag, vec![b'\\'], a.into_bytes()].concat()),
    ]
}

fn finite(what: &What) -> bool {
    let wind =
        |angle_deg: f64, mps: f64| (-180.0..180.0).contains(&angle_deg) && (0.0..=100.0).contains(&mps);
    let speed = |mps: Option<f64>| mps.is_none_or(|mps| (0.0..=mps_from_kn(60.0)).contains(&mps));
    match what {
        What::Fix(Fix { accuracy_m, speed_mps, .. }) => {
            speed(*speed_mps) && accuracy_m.is_none_or(|m| m.is_finite() && m > 0.0)
        }
        What::Motion { speed_mps, course } => speed(*speed_mps) && (speed_mps.is_some() || course.is_some()),
        What::ApparentWind { angle_deg, speed_mps } | What::TrueWindFromBow { angle_deg, speed_mps } => {
            wind(*angle_deg, *speed_mps)
        }
        What::GroundWind { speed_mps, .. } => speed_mps.is_none_or(|mps| (0.0..=100.0).contains(&mps)),
        What::Heel(deg) => (-180.0..=180.0).contains(deg),
        What::BatteryPct(pct) => (0.0..=100.0).contains(pct),
        What::BatteryVolts(volts) => (0.0..=100.0).contains(volts),
        What::WaterSpeed(mps) => speed(Some(*mps)),
        What::Depth(metres) => (0.0..=12_000.0).contains(metres),
        What::Heading(_)
        | What::MagneticHeading(_)
        | What::Beacon { .. }
        | What::Aid { .. }
        | What::Name(_)
        | What::Help(_) => true,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn nothing_panics_and_all_that_is_believed_is_possible(
        lines in vec((0..5_000i64, line()), 1..12),
    ) {
        let feed = FeedName("feed".to_owned());
        let (mut listener, mut out) = (Listener::new(), Vec::new());
        let plane = Plane::at(Position::new(50.76, -1.3).expect("a place"));
        let mut track = Track::default();
        let mut now = Moment(START);
        for (wait_ms, line) in lines {
            now = now.plus_ms(wait_ms);
            let _ = tag(&line);
            listener.hear(now, &feed, &line, &mut out);
            for verdict in out.drain(..) {
                if let Verdict::Heard(heard) = verdict {
                    prop_assert!(heard.taken <= now, "{heard:?}");
                    prop_assert!(finite(&heard.what), "{heard:?}");
                    track.hear_from(now, &heard, &plane);
                }
            }
            if let Some(motion) = track.at(now.plus_ms(20_000)) {
                let numbers = [
                    motion.position.east_m, motion.position.north_m, motion.position_sd_m,
                    motion.velocity.east_mps, motion.velocity.north_mps, motion.velocity_sd_mps,
                    motion.turn_rate_dps.unwrap_or(0.0), motion.heel_deg.unwrap_or(0.0),
                ];
                prop_assert!(numbers.iter().all(|number| number.is_finite()), "{motion:?}");
                prop_assert!(motion.position_sd_m > 0.0 && motion.velocity_sd_mps > 0.0);
            }
        }
        let _ = listener.health();
    }

    /// Any report of a phone, believed or refused, leaves finite numbers behind.
    #[test]
    fn any_report_leaves_finite_numbers(
        reports in vec(
            (prop_oneof![any::<i64>(), START - 10_000..START + 20_000], -90.0..=90.0_f64, -180.0..=180.0_f64, any::<f64>(), any::<f64>(), 0.0..360.0_f64, any::<f64>()),
            1..10,
        ),
    ) {
        let (mut listener, mut out) = (Listener::new(), Vec::new());
        let plane = Plane::at(Position::new(50.76, -1.3).expect("a place"));
        let mut track = Track::default();
        let mut now = Moment(START);
        for (time, lat, lon, accuracy, speed, course, heel) in reports {
            now = now.plus_ms(1000);
            let report = Report {
                taken: FixTime(time),
                position: Position::new(lat, lon),
                accuracy_m: Some(accuracy),
                speed_mps: Some(speed),
                course: Bearing::from_degrees_true(course),
                heading: None,
                heel_deg: Some(heel),
                battery_pct: Some(heel),
                help: None,
            };
            listener.report(now, "phone", &report, &mut out);
            for verdict in out.drain(..) {
                if let Verdict::Heard(heard) = verdict {
                    prop_assert!(heard.taken <= now && finite(&heard.what), "{heard:?}");
                    track.hear_from(now, &heard, &plane);
                }
            }
            if let Some(motion) = track.motion() {
                let sum = motion.position.east_m + motion.position.north_m + motion.position_sd_m
                    + motion.velocity.east_mps + motion.velocity.north_mps + motion.velocity_sd_mps;
                prop_assert!(sum.is_finite(), "{motion:?}");
            }
        }
    }
}

#[test]
fn invented_sources_fill_no_memory() {
    let (mut listener, mut out) = (Listener::new(), Vec::new());
    for n in 0..2 * SOURCES_MAX {
        let fields = format!("s:forger{n}");
        let sum = fields.bytes().fold(0, |sum, byte| sum ^ byte);
        let line = format!("\\{fields}*{sum:02X}\\{}", closed(SOUND[0]));
        listener.hear(Moment(START), &FeedName("open".to_owned()), line.as_bytes(), &mut out);
    }
    assert_eq!(listener.health().len(), SOURCES_MAX);
    let refused = out.iter().filter(|verdict| matches!(verdict, Verdict::Discard(_))).count();
    assert_eq!(refused, SOURCES_MAX, "each of the others is refused aloud");
}
