//! What the watch costs a fix: the whole engine, every rule, beside a simple chain made of the same
//! general crates, in one run. `cargo xtask bench` prints the table that DEVELOPERS.md keeps.
//!
//! Method: lines of a simulated moderate session (site with zones, instruments on two safety boats
//! and a mast) are made beforehand; a run feeds all of them through a fresh engine; the median of
//! five runs counts. A "fix" is one RMC. Larger fleets are the same session several times over, each
//! copy under names of its own.

use std::{hint::black_box, time::Instant};

use dunlin::setup;
use dunlin_engine::{Engine, Setup, fleet::Boat, input::FeedName, input::Input, moment::Moment};
use dunlin_sim::Session;

const RUNS: usize = 5;
const MINUTES: i64 = 10;

struct Log {
    setup: Setup,
    lines: Vec<(i64, String)>,
    fixes: usize,
    boats: usize,
}

/// `copies` of a simulated session side by side.
fn log(copies: usize) -> Log {
    let mut session = Session::new("moderate", 4242).expect("the scenario exists");
    let (site, _) = setup::site::parse("site.geojson", &session.site_geojson());
    let (fleet, _) = setup::fleet::parse("fleet.toml", &session.fleet_toml());
    let one: Vec<_> = session.by_ref().map(|line| (line.arrival_ms, line.text)).collect();
    let start = one.first().map_or(0, |(at, _)| *at);
    // The first minutes are spent on the beach: the benchmark is of boats that sail.
    let sailing = |at: i64| (at - start) / 60_000 >= 10 && (at - start) / 60_000 < 10 + MINUTES;
    let mut lines = Vec::new();
    for (at, text) in one.iter().filter(|(at, _)| sailing(*at)) {
        for copy in 0..copies {
            lines.push((*at, renamed(text, copy)));
        }
    }
    let named = |boat: &Boat, copy: usize| Boat {
        id: format!("{}-{copy}", boat.id),
        sources: boat.sources.iter().map(|source| format!("{source}-{copy}")).collect(),
        mmsi: boat.mmsi.filter(|_| copy == 0),
        ..boat.clone()
    };
    let fleet: Vec<Boat> =
        (0..copies).flat_map(|copy| fleet.iter().map(move |boat| named(boat, copy))).collect();
    Log {
        fixes: lines.iter().filter(|(_, text)| text.contains("RMC,")).count(),
        boats: fleet.len(),
        setup: Setup { site, fleet, wind_limit_mps: Some(12.0) },
        lines,
    }
}

/// The line under another source's name, its TAG block's checksum put right again.
fn renamed(line: &str, copy: usize) -> String {
    let Some((tag, sentence)) = line.strip_prefix('\\').and_then(|rest| rest.split_once('\\')) else {
        return line.to_owned();
    };
    let fields = tag.split_once('*').map_or(tag, |(fields, _)| fields);
    let fields: Vec<String> = fields
        .split(',')
        .map(|field| if field.starts_with("s:") { format!("{field}-{copy}") } else { field.to_owned() })
        .collect();
    let fields = fields.join(",");
    let sum = fields.bytes().fold(0, |sum, byte| sum ^ byte);
    format!("\\{fields}*{sum:02X}\\{sentence}")
}

fn median_s(mut run: impl FnMut()) -> f64 {
    let mut times: Vec<f64> = (0..RUNS)
        .map(|_| {
            let began = Instant::now();
            run();
            began.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[RUNS / 2]
}

fn through_engine(log: &Log) -> f64 {
    median_s(|| {
        let mut engine = Engine::new(log.setup.clone());
        let feed = FeedName("log".to_owned());
        for (at, text) in &log.lines {
            let line = text.clone().into_bytes();
            black_box(engine.on(Moment(*at), Input::Line { feed: feed.clone(), line }));
        }
    })
}

/// The peer: the `nmea` crate, a smoothed speed a boat, a stop rule, and JSON by `serde_json`.
fn through_simple_chain(log: &Log) -> f64 {
    median_s(|| {
        let mut speeds: std::collections::HashMap<&str, f64> = std::collections::HashMap::new();
        for (at, text) in &log.lines {
            let Some((tag, sentence)) = text.strip_prefix('\\').and_then(|rest| rest.split_once('\\')) else {
                continue;
            };
            let source = tag.split([',', '*']).find_map(|field| field.strip_prefix("s:")).unwrap_or("");
            let Ok(nmea::ParseResult::RMC(rmc)) = nmea::parse_str(sentence) else { continue };
            let said = f64::from(rmc.speed_over_ground.unwrap_or(0.0));
            let speed = speeds.entry(source).or_insert(said);
            *speed += 0.3 * (said - *speed);
            black_box(
                serde_json::json!({"t": at, "boat": source, "lat": rmc.lat, "lon": rmc.lon, "kn": *speed,
                    "stopped": *speed < 0.8})
                .to_string(),
            );
        }
    })
}

fn main() {
    println!("| work | boats | fixes | µs a fix | of the simple chain |");
    println!("| --- | --- | --- | --- | --- |");
    let mut first_us = None;
    for copies in [1, 6, 59] {
        let log = log(copies);
        let fixes = log.fixes as f64;
        let engine_us = through_engine(&log) * 1e6 / fixes;
        let chain_us = through_simple_chain(&log) * 1e6 / fixes;
        println!("| simple chain of crates | {} | {} | {chain_us:.2} | 1.0 |", log.boats, log.fixes);
        println!(
            "| whole engine, all rules | {} | {} | {engine_us:.2} | {:.1} |",
            log.boats,
            log.fixes,
            engine_us / chain_us
        );
        let first = *first_us.get_or_insert(engine_us);
        println!("| growth against the smallest fleet | {} | | {:.2}x | |", log.boats, engine_us / first);
    }
}
