//! What must hold of the engine whatever comes in, on a short simulated session.
#![allow(clippy::unwrap_used, reason = "a session that cannot be made fails the test")]

use dunlin::setup;
use dunlin_engine::{
    Engine, Setup,
    effect::{AlertKind, Effect, Phase},
    input::{FeedName, Input},
    moment::Moment,
};
use dunlin_sim::Session;
use proptest::prelude::*;

/// The first `count` lines of a session, and its set-up.
fn session(count: usize) -> (Setup, Vec<(i64, Vec<u8>)>) {
    let mut session = Session::new("moderate", 901).unwrap();
    let (site, _) = setup::site::parse("site.geojson", &session.site_geojson());
    let (fleet, _) = setup::fleet::parse("fleet.toml", &session.fleet_toml());
    let lines = session.by_ref().take(count).map(|line| (line.arrival_ms, line.text.into_bytes())).collect();
    (Setup { site, fleet, wind_limit_mps: None }, lines)
}

fn line(at: i64, line: &[u8]) -> (Moment, Input) {
    (Moment(at), Input::Line { feed: FeedName("log".into()), line: line.to_vec() })
}

fn kinds(effects: &[Effect], phase: Phase) -> Vec<AlertKind> {
    effects
        .iter()
        .filter_map(|effect| match effect {
            Effect::Alert(change) if change.phase == phase => Some(change.alert.kind),
            _ => None,
        })
        .collect()
}

#[test]
fn silence_is_noticed_without_traffic() {
    let (setup, lines) = session(20_000);
    let mut engine = Engine::new(setup);
    for (at, text) in &lines {
        let (at, input) = line(*at, text);
        drop(engine.on(at, input));
    }
    let mut told = Vec::new();
    for _ in 0..120 {
        let wake = engine.next_wake().expect("a watch that has heard something wants to be woken");
        told.extend(engine.on(wake, Input::Wake));
    }
    assert!(kinds(&told, Phase::Raised).contains(&AlertKind::LostContact), "{told:?}");
}

#[test]
fn waking_the_engine_or_not_gives_the_same_effects() {
    let (setup, lines) = session(12_000);
    let (mut woken, mut left) = (Engine::new(setup.clone()), Engine::new(setup));
    let (mut by_wakes, mut by_lines) = (Vec::new(), Vec::new());
    for (at, text) in &lines {
        while let Some(wake) = woken.next_wake().filter(|wake| wake.0 <= *at) {
            by_wakes.extend(woken.on(wake, Input::Wake));
        }
        let (at, input) = line(*at, text);
        by_wakes.extend(woken.on(at, input.clone()));
        by_lines.extend(left.on(at, input));
    }
    assert_eq!(by_wakes, by_lines);
}

#[test]
fn one_boats_rubbish_never_disturbs_another() {
    let (setup, lines) = session(12_000);
    let noisy = setup.fleet.iter().find_map(|boat| boat.sources.first().cloned()).unwrap();
    let mark = format!("s:{noisy},");
    let is_hers = |text: &[u8]| String::from_utf8_lossy(text).contains(&mark);
    let watch = |rubbish: bool| {
        let mut engine = Engine::new(setup.clone());
        for (at, text) in &lines {
            let text =
                if is_hers(text) { if rubbish { &b"\x00$$garbage*ZZ"[..] } else { &b""[..] } } else { text };
            let (at, input) = line(*at, text);
            drop(engine.on(at, input));
        }
        engine.boats().into_iter().map(|boat| (boat.boat, boat.seen, boat.speed_mps)).collect::<Vec<_>>()
    };
    assert_eq!(watch(true), watch(false));
}

#[test]
fn a_flood_of_sources_is_bounded() {
    let (setup, lines) = session(2_000);
    let mut engine = Engine::new(setup);
    let start = lines.first().map_or(0, |(at, _)| *at);
    for n in 0..6_000_i64 {
        let body = "GPRMC,100000.00,A,4721.0000,N,01147.0000,W,1.0,090.0,010626,,,A";
        let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
        let tag = format!("s:flood{n},c:{}", start + n);
        let tag_sum = tag.bytes().fold(0, |sum, byte| sum ^ byte);
        let (at, input) = line(start + n, format!("\\{tag}*{tag_sum:02X}\\${body}*{sum:02X}").as_bytes());
        drop(engine.on(at, input));
    }
    assert!(engine.strangers().len() <= 200, "{} strangers are kept", engine.strangers().len());
    assert!(engine.sources().len() <= dunlin_engine::limits::SOURCES_MAX);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn nothing_that_arrives_makes_the_engine_panic_or_go_back_in_time(
        steps in prop::collection::vec((0_i64..90_000, prop::collection::vec(any::<u8>(), 0..120)), 1..60),
    ) {
        let (setup, lines) = session(40);
        let mut engine = Engine::new(setup);
        let mut now = lines.first().map_or(0, |(at, _)| *at);
        let mut woke = i64::MIN;
        for (n, (wait, bytes)) in steps.into_iter().enumerate() {
            now += wait;
            let text = if n % 2 == 0 { bytes } else { lines[n % lines.len()].1.clone() };
            let (at, input) = line(now, &text);
            drop(engine.on(at, input));
            let next = engine.next_wake().map_or(i64::MIN, |wake| wake.0);
            prop_assert!(next > woke || next > now, "{next} after {woke}");
            woke = next;
        }
    }
}
