//! What is so because somebody, or a beacon made for it, says so: no rule weighs it, none ends it.

use std::collections::BTreeMap;

use super::fact;
use crate::{
    alerts::{Alerts, Topic},
    effect::{AlertKind, Level},
    fleet::BoatIx,
    input::{Command, HandMark},
    moment::Moment,
    units::Local,
};

/// Beacons remembered; the one not heard for longest is forgotten first, its alert stands.
pub const BEACONS_MAX: usize = 64;

/// A beacon silent for this long has stopped; the next message is a new situation, ms. They send
/// at least once a minute (ITU-R M.1371 annex 9), so this is ten bursts missed.
const BEACON_STOPPED_MS: i64 = 600_000;

/// What is known of a beacon.
#[derive(Clone, Copy, Debug)]
struct Beacon {
    boat: Option<BoatIx>,
    began: Moment,
    last: Moment,
    at: Option<Local>,
}

/// The beacons heard in a session.
#[derive(Clone, Debug, Default)]
pub struct Beacons {
    heard: BTreeMap<u32, Beacon>,
}

/// What a beacon's message said.
#[derive(Clone, Copy, Debug)]
pub struct BeaconWord<'a> {
    /// Its identity: 970, 972 or 974 and six figures.
    pub mmsi: u32,
    /// The boat it belongs to; `None`: no boat claims it.
    pub boat: Option<BoatIx>,
    /// Whether it says it is being tested.
    pub test: bool,
    /// Its text, if it sent one.
    pub text: Option<&'a str>,
}

impl Beacons {
    /// A beacon was heard, with or without a position: that is enough.
    pub fn on_beacon(&mut self, now: Moment, word: BeaconWord, alerts: &mut Alerts) {
        let fresh = Beacon { boat: word.boat, began: now, last: now, at: None };
        let beacon = self.heard.entry(word.mmsi).or_insert(fresh);
        if now.ms_since(beacon.last) > BEACON_STOPPED_MS {
            *beacon = fresh;
        }
        beacon.last = now;
        beacon.boat = word.boat;
        let topic = Beacons::topic(word.mmsi, word.boat);
        let mut evidence = vec![format!("{} {} is sending", named(word.mmsi), word.mmsi)];
        evidence.extend(word.text.map(|text| format!("it says \"{text}\"")));
        if word.test {
            evidence.push("it says that it is being tested".to_owned());
            alerts.hold(now, topic, fact(Level::Caution, beacon.began), || evidence);
        } else {
            alerts.declare(now, topic, fact(Level::Emergency, beacon.began), evidence);
        }
        self.forget_beyond_bound();
    }

    /// A beacon gave its place.
    pub fn on_place(&mut self, mmsi: u32, at: Local) {
        if let Some(beacon) = self.heard.get_mut(&mmsi) {
            beacon.at = Some(at);
        }
    }

    /// A second passed: a test that stopped is over; a true signal that stopped stands, but what a
    /// person dismissed may be told again should it return.
    pub fn on_tick(&self, now: Moment, alerts: &mut Alerts) {
        for (mmsi, beacon) in &self.heard {
            if now.ms_since(beacon.last) > BEACON_STOPPED_MS {
                alerts.release(now, Beacons::topic(*mmsi, beacon.boat), "the test signal has stopped");
            }
        }
    }

    /// Where a beacon was last heard to be; `None`: it never said.
    pub fn place(&self, mmsi: u32) -> Option<Local> {
        self.heard.get(&mmsi).and_then(|beacon| beacon.at)
    }

    fn topic(mmsi: u32, boat: Option<BoatIx>) -> Topic {
        Topic { boat, kind: AlertKind::PersonOverboard, tag: u64::from(mmsi) }
    }

    fn forget_beyond_bound(&mut self) {
        while self.heard.len() > BEACONS_MAX {
            let quietest = self.heard.iter().min_by_key(|(_, beacon)| beacon.last);
            let Some(mmsi) = quietest.map(|(mmsi, _)| *mmsi) else { return };
            self.heard.remove(&mmsi);
        }
    }
}

/// What kind of beacon an identity belongs to (ITU-R M.585, from memory).
fn named(mmsi: u32) -> &'static str {
    match mmsi / 1_000_000 {
        970 => "search and rescue transmitter",
        972 => "person-overboard beacon",
        974 => "distress beacon",
        _ => "beacon",
    }
}

/// The help button aboard was held (`true`), or "we are fine" was pressed.
pub fn on_help(now: Moment, boat: BoatIx, wanted: bool, alerts: &mut Alerts) {
    let topic = Topic::of(boat, AlertKind::NeedsHelp);
    if wanted {
        let evidence = vec!["her crew held the help button".to_owned()];
        alerts.declare(now, topic, fact(Level::Alarm, now), evidence);
    } else {
        alerts.withdraw(now, topic, "her crew says they are fine");
    }
}

/// A person says what they see of a boat; other commands change nothing here.
pub fn on_command(now: Moment, by: &str, command: &Command, alerts: &mut Alerts) {
    let Command::Mark(boat, mark) = command else { return };
    let mut declare = |kind, level, what: &str| {
        let evidence = vec![format!("{by} says: {what}")];
        alerts.declare(now, Topic::of(*boat, kind), fact(level, now), evidence);
    };
    match mark {
        HandMark::Capsized => declare(AlertKind::Capsize, Level::Alarm, "capsized"),
        HandMark::PersonOverboard => {
            declare(AlertKind::PersonOverboard, Level::Emergency, "person overboard");
        }
        HandMark::NeedsHelp => declare(AlertKind::NeedsHelp, Level::Alarm, "needs help"),
        HandMark::Fine => {
            for kind in [AlertKind::Capsize, AlertKind::NeedsHelp] {
                alerts.dismiss(now, by, Topic::of(*boat, kind), "seen and well");
            }
        }
        HandMark::Ashore => over(now, *boat, "ashore", alerts),
        HandMark::StoodDown => over(now, *boat, "stood down", alerts),
        HandMark::Afloat => (),
    }
}

/// A boat out of the water is in no trouble there; a person who is missing still is.
fn over(now: Moment, boat: BoatIx, reason: &str, alerts: &mut Alerts) {
    let ended: Vec<Topic> = alerts
        .topics()
        .map(|(topic, _)| *topic)
        .filter(|topic| topic.boat == Some(boat) && topic.kind != AlertKind::PersonOverboard)
        .collect();
    for topic in ended {
        alerts.withdraw(now, topic, reason);
    }
}
