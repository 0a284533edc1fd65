//! The demonstration's seven happenings, in the truth as in the script.

use dunlin_sim::{Demo, Feed, Script, Truth};

const SITE: &str = include_str!("../../../demo-scenario/site.geojson");
const SCRIPT: &str = include_str!("../../../demo-scenario/scenario.toml");
const FLEET: &str = include_str!("../../../demo-scenario/fleet.toml");

fn demo() -> Demo {
    let script: Script = toml::from_str(SCRIPT).expect("the script is good TOML");
    Demo::new(SITE, script, 1_780_000_000_000).expect("the script fits the site")
}

/// Six hundred and sixty seconds of it; what arrived is counted by source.
fn played() -> (Truth, std::collections::BTreeMap<String, usize>, usize) {
    let mut demo = demo();
    let mut heard = std::collections::BTreeMap::new();
    let mut helps = 0;
    for _ in 0..660 {
        for sent in demo.step(1.0) {
            helps += usize::from(sent.fix.as_ref().is_some_and(|fix| fix.help == Some(true)));
            *heard.entry(sent.source).or_default() += 1;
        }
    }
    (demo.truth(), heard, helps)
}

#[test]
fn the_seven_happenings_happen() {
    let (truth, heard, helps) = played();
    let capsize = |boat: &str| truth.capsizes.iter().find(|c| c.boat == boat);
    let seconds = |c: &dunlin_sim::CapsizeTruth| (c.righted_ms.unwrap_or(truth.end_ms) - c.start_ms) / 1000;
    let quick = capsize("04").expect("04 capsizes");
    assert!(seconds(quick) < 40 && !quick.inverted, "04 is quickly righted: {} s", seconds(quick));
    let slow = capsize("07").expect("07 capsizes");
    assert!(seconds(slow) > 180 && slow.inverted, "07 is slow and inverted: {} s", seconds(slow));
    assert_eq!(truth.capsizes.len(), 2, "nobody else capsizes: {:?}", truth.capsizes);
    let irons = truth
        .spells
        .iter()
        .any(|s| s.boat == "06" && s.reason == dunlin_sim::Reason::InIrons && s.end_ms - s.start_ms > 40_000);
    assert!(irons, "06 lies in irons");
    assert!(
        truth.exits.iter().any(|e| e.boat == "12" && e.drifting_since_ms.is_some()),
        "12 drifts out: {:?}",
        truth.exits
    );
    assert!(truth.no_go.iter().any(|e| e.boat == "10"), "10 enters a no-go zone: {:?}", truth.no_go);
    assert!(truth.silences.iter().any(|s| s.boat == "02"), "02 is silent: {:?}", truth.silences);
    assert!(truth.overboard.iter().any(|o| o.boat == "08"), "a person falls from 08");
    assert_eq!(helps, 1, "and the help button is pressed once");
    assert_eq!(heard.len(), 17, "14 dinghies, 2 safety boats and the mast are heard: {heard:?}");
}

#[test]
fn the_fleet_file_and_the_script_name_the_same_craft() {
    let fleet: toml::Table = FLEET.parse().expect("the fleet is good TOML");
    let boats = fleet["boat"].as_array().expect("boats");
    let mut listed: Vec<String> =
        boats.iter().map(|boat| boat["source"].as_str().expect("a source").to_owned()).collect();
    let script: Script = toml::from_str(SCRIPT).expect("the script is good TOML");
    let mut scripted: Vec<String> = script.boat.iter().map(|b| b.source.clone()).collect();
    scripted.extend(script.safety.iter().map(|s| s.source.clone()));
    scripted.extend(script.mast.iter().map(|m| m.source.clone()));
    listed.sort();
    scripted.sort();
    assert_eq!(listed, scripted);
    let demo = demo();
    assert_eq!(demo.feed_of("phone-07"), Feed::Phone);
    assert_eq!(demo.feed_of("tracker-03"), Feed::Nmea);
    assert_eq!(demo.feed_of("mast"), Feed::Nmea);
}

#[test]
fn how_often_it_is_stepped_changes_nothing() {
    let (mut once, mut often) = (demo(), demo());
    let whole = once.step(30.0);
    let mut parts = Vec::new();
    for _ in 0..600 {
        parts.extend(often.step(0.05));
    }
    assert_eq!(whole, parts);
}
