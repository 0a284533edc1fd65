//! Nanoseconds from a raw line to a verdict, and from a fix to a motion: `cargo bench -p
//! dunlin-engine --bench hear`. Prints the best of a hundred short runs, since other work on the
//! machine can only make one longer; a measurement, not a test.
#![expect(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a bench measures and prints")]

use std::{hint::black_box, time::Instant};

use dunlin_engine::{
    fixes::{Fix, Listener, What},
    fleet::Role,
    input::FeedName,
    moment::Moment,
    tracks::{Plane, Track},
    units::{Bearing, Position},
};

const LINES: u32 = 5_000;

fn best(mut run: impl FnMut()) -> f64 {
    let times = (0..100).map(|_| {
        let start = Instant::now();
        run();
        start.elapsed().as_secs_f64()
    });
    times.fold(f64::INFINITY, f64::min)
}

fn closed(body: &str) -> String {
    let start = if body.starts_with("AI") { '!' } else { '$' };
    let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
    format!("{start}{body}*{sum:02X}")
}

/// A line of one kind for each of a hundred boats and each tenth of a second, with a TAG block.
fn lines(kind: &str) -> Vec<(FeedName, Vec<u8>)> {
    let line = |n: u32| {
        let (s, tenth) = (n / 10, n % 10);
        let clock = format!("{:02}{:02}{:02}.{tenth}0", s / 3600 % 24, s / 60 % 60, s % 60);
        let body = match kind {
            "RMC" => format!("GPRMC,{clock},A,5045.9240,N,00117.9220,W,4.2,084.4,230624,,,A"),
            "GGA" => format!("GPGGA,{clock},5045.9240,N,00117.9220,W,1,08,0.9,4.1,M,47.0,M,,"),
            "VTG" => "GPVTG,084.4,T,081.3,M,4.2,N,7.8,K,A".to_owned(),
            "HDG" => "HCHDG,098.3,0.0,E,12.6,W".to_owned(),
            "MWV" => "WIMWV,032.5,R,13.1,N,A".to_owned(),
            "XDR" => "APXDR,A,3.866,D,ROLL".to_owned(),
            "VDM" => "AIVDM,1,1,,A,13M@>lP010wr3QHM35J3C2TR0000,0".to_owned(),
            _ => "GPGSV,3,1,12,28,14,150,41,09,15,254,41,10,43,192,47,13,06,081,36".to_owned(),
        };
        let tag = format!("s:boat{:02}", n % 100);
        let sum = tag.bytes().fold(0, |sum, byte| sum ^ byte);
        format!("\\{tag}*{sum:02X}\\{}", closed(&body)).into_bytes()
    };
    let feed = FeedName("feed".to_owned());
    (0..LINES).map(|n| (feed.clone(), line(n))).collect()
}

fn main() {
    for kind in ["RMC", "GGA", "VTG", "HDG", "MWV", "XDR", "VDM", "GSV"] {
        let lines = lines(kind);
        let s = best(|| {
            let (mut listener, mut out) = (Listener::new(), Vec::new());
            for (n, (feed, line)) in lines.iter().enumerate() {
                listener.hear(Moment(1_719_100_800_000 + n as i64 * 100), feed, line, &mut out);
                black_box(&out);
                out.clear();
            }
        });
        println!("{kind}: {:.0} ns a line", s * 1e9 / f64::from(LINES));
    }
    let plane = Plane::at(Position::new(50.76, -1.3).unwrap_or_else(|| unreachable!("in range")));
    let s = best(|| {
        let mut track = Track::new(Role::Dinghy);
        for n in 0..LINES {
            let Some(position) = Position::new(50.76 + f64::from(n % 997) * 1e-6, -1.3) else { continue };
            let fix = Fix {
                position,
                accuracy_m: Some(4.0),
                speed_mps: Some(1.5),
                course: Bearing::from_degrees_true(f64::from(n % 360)),
            };
            let now = Moment(i64::from(n) * 1000);
            black_box(track.hear(now, &What::Fix(fix), now, &plane));
        }
        black_box(track.drift_over(60.0));
    });
    println!("a fix into a track: {:.0} ns", s * 1e9 / f64::from(LINES));
    let mut track = Track::new(Role::Dinghy);
    for n in 0..600 {
        let Some(position) = Position::new(50.76 + f64::from(n % 97) * 1e-6, -1.3) else { continue };
        let fix = Fix { position, accuracy_m: None, speed_mps: Some(0.1), course: None };
        let now = Moment(i64::from(n) * 500);
        track.hear(now, &What::Fix(fix), now, &plane);
    }
    let s = best(|| {
        for _ in 0..LINES {
            black_box(track.drift_over(black_box(60.0)));
        }
    });
    println!("drift over 60 s at 2 Hz: {:.0} ns", s * 1e9 / f64::from(LINES));
}
