//! Real boats leaving a marked area: three small sailing robots, Solent, 29 August 2018, 1 Hz
//! (recording and truth: the notes beside it). The truth is each crossing of the polygon that lasts
//! 5 s, computed here from the raw positions and compared with the times the notes give.

use dunlin_engine::{
    Engine, Setup,
    effect::{AlertKind, Effect, Level, Phase},
    fleet::{Boat, Class, Role},
    input::{Input, Report},
    moment::{FixTime, Moment, days_from_civil},
    tracks::Plane,
    units::{Bearing, Position},
    venue::{Region, Site, Zone, ZoneKind},
};
use dunlin_tests::field::recording;
use serde::Deserialize;

#[derive(Debug, Deserialize)]
struct Row {
    datetime: String,
    latitude: f64,
    longitude: f64,
    /// km/h
    speed: f64,
    course: f64,
}

/// A date and time such as `2018-08-29T13:39:31Z`.
fn moment(text: &str) -> Moment {
    let part = |range: std::ops::Range<usize>| text[range].parse::<i64>().expect("figures");
    let days = days_from_civil(part(0..4), part(5..7) as u32, part(8..10) as u32);
    Moment((days * 86_400 + part(11..13) * 3600 + part(14..16) * 60 + part(17..19)) * 1000)
}

fn on_the_day(clock: &str) -> Moment {
    moment(&format!("2018-08-29T{clock}Z"))
}

fn corners(csv_text: &[u8]) -> Vec<Position> {
    #[derive(Deserialize)]
    struct Corner {
        lat: f64,
        lon: f64,
    }
    let mut reader = csv::Reader::from_reader(csv_text);
    let corners: Vec<Corner> = reader.deserialize().map(|row| row.expect("a corner")).collect();
    // In order the polygon is A-B-D-C.
    [0, 1, 3, 2, 0].map(|ix| Position::new(corners[ix].lat, corners[ix].lon).expect("on the globe")).to_vec()
}

/// A stretch outside the polygon that lasted 5 s and ended by 5 s inside, or by the recording's end.
#[derive(Debug)]
struct Excursion {
    from: Moment,
    until: Moment,
    /// Furthest from the edge, metres, by the raw positions.
    depth_m: f64,
}

fn excursions(rows: &[Row], ring: &[Position]) -> Vec<Excursion> {
    let plane = Plane::at(ring[0]);
    let region = Region::from_rings(&[ring.iter().map(|at| plane.local(*at)).collect()]).expect("a ring");
    let mut excursions: Vec<Excursion> = Vec::new();
    let (mut is_out, mut since, mut depth_m) = (false, None, 0.0_f64);
    for row in rows {
        let at = plane.local(Position::new(row.latitude, row.longitude).expect("on the globe"));
        let now = moment(&row.datetime);
        let over_m = -region.margin(at).signed_m;
        depth_m = depth_m.max(over_m);
        if let Some(out) = excursions.last_mut().filter(|_| is_out) {
            out.depth_m = out.depth_m.max(over_m);
        }
        if (over_m > 0.0) == is_out {
            since = None;
            if !is_out {
                depth_m = 0.0;
            }
            continue;
        }
        let first = *since.get_or_insert(now);
        if now.ms_since(first) >= 5_000 {
            if is_out {
                excursions.last_mut().expect("she went out").until = first;
            } else {
                excursions.push(Excursion { from: first, until: Moment(i64::MAX), depth_m });
            }
            is_out = !is_out;
            since = None;
        }
    }
    excursions
}

/// What was told of the boat being outside, at its level from then on; `None`: cleared.
fn told(rows: &[Row], ring: &[Position]) -> Vec<(Moment, Option<Level>)> {
    let boat = Boat {
        id: "01".to_owned(),
        name: None,
        role: Role::Dinghy,
        sources: vec!["robot".to_owned()],
        mmsi: None,
        crew: 0,
        class: Class::default(),
    };
    let area =
        Zone { kind: ZoneKind::SailingArea, name: "area".to_owned(), polygons: vec![vec![ring.to_vec()]] };
    let site = Site { zones: vec![area], marks: Vec::new() };
    let mut engine = Engine::new(Setup { site, fleet: vec![boat], wind_limit_mps: None });
    let mut found = Vec::new();
    for row in rows {
        let now = moment(&row.datetime);
        let report = Report {
            taken: FixTime(now.0),
            position: Position::new(row.latitude, row.longitude),
            accuracy_m: None,
            speed_mps: Some(row.speed / 3.6),
            course: Bearing::from_degrees_true(row.course),
            heading: None,
            heel_deg: None,
            battery_pct: None,
            help: None,
        };
        for effect in engine.on(now, Input::Report { source: "robot".to_owned(), report }) {
            if let Effect::Alert(change) = effect
                && change.alert.kind == AlertKind::OutsideArea
            {
                let level = (change.phase != Phase::Cleared).then_some(change.alert.level);
                if found.last().and_then(|(_, before)| *before) != level {
                    found.push((change.at, level));
                }
            }
        }
    }
    found
}

struct Attempt {
    file: &'static str,
    from: &'static str,
    to: &'static str,
    exits: usize,
    /// Exits that the notes beside the recording name.
    named: &'static [&'static str],
}

const ATTEMPTS: [Attempt; 2] = [
    Attempt {
        file: "ENSTA1.csv",
        from: "13:31:00",
        to: "14:15:00",
        exits: 11,
        named: &["13:39:31", "13:42:13", "13:46:10", "13:47:58", "13:52:21"],
    },
    Attempt {
        file: "Southampton2.csv",
        from: "14:32:00",
        to: "15:19:00",
        exits: 7,
        named: &["14:37:57", "14:44:54", "14:49:48", "14:53:05", "15:00:41"],
    },
];

/// Less deep than this outside, metres, is within what any receiver errs.
const TOUCH_M: f64 = 2.0;

/// Deeper than this outside, metres, is beyond the doubt of any position, and a warning is due.
const SURE_M: f64 = 6.0;

#[test]
fn every_real_exit_is_told_and_nothing_else() {
    let Some(area) = recording("sailing-robots-area/area-corners.csv") else { return };
    let ring = corners(&area);
    for Attempt { file, from, to, exits, named } in ATTEMPTS {
        let Some(recorded) = recording(&format!("sailing-robots-area/{file}")) else { return };
        let mut reader = csv::Reader::from_reader(&recorded[..]);
        let rows: Vec<Row> = reader.deserialize().map(|row| row.expect("a row")).collect();
        let window = on_the_day(from)..=on_the_day(to);
        let outside = excursions(&rows, &ring);
        let truth: Vec<&Excursion> = outside.iter().filter(|out| window.contains(&out.from)).collect();
        assert_eq!(truth.len(), exits, "{file}: {truth:?}");
        for named in named.iter().map(|clock| on_the_day(clock)) {
            assert!(truth.iter().any(|out| out.from.ms_since(named).abs() <= 2_000), "{file}: {named}");
        }
        let told = told(&rows, &ring);
        for out in &truth {
            let after_s = |least: Level| {
                let during = |at: &Moment| (out.from..=out.until).contains(at);
                let first = told.iter().find(|(at, level)| during(at) && *level >= Some(least));
                first.map(|(at, _)| at.s_since(out.from))
            };
            let (caution_s, warning_s) = (after_s(Level::Caution), after_s(Level::Warning));
            println!(
                "{file} {} for {:.0} s, {:.1} m: caution after {caution_s:?} s, warning after {warning_s:?} s",
                out.from,
                out.until.s_since(out.from),
                out.depth_m
            );
            assert!(caution_s.is_some() || out.depth_m < TOUCH_M, "{file}: {out:?} not told");
            assert!(warning_s.is_some() || out.depth_m < SURE_M, "{file}: {out:?} without a warning");
        }
        // A warning only while she was out; a caution also where her receiver had her within its error
        // of the edge.
        for (at, level) in told.iter().filter(|(at, level)| level.is_some() && window.contains(at)) {
            let held = |out: &Excursion| (out.from..=out.until.plus_ms(2_000)).contains(at);
            let is_near = *level == Some(Level::Caution) && near_edge(&rows, &ring, *at);
            assert!(is_near || outside.iter().any(held), "{file}: {level:?} at {at} though she was inside");
        }
    }
}

/// Whether the raw positions had her within 3 m of the edge in the 10 s before `at`.
fn near_edge(rows: &[Row], ring: &[Position], at: Moment) -> bool {
    let plane = Plane::at(ring[0]);
    let region = Region::from_rings(&[ring.iter().map(|at| plane.local(*at)).collect()]).expect("a ring");
    rows.iter().filter(|row| (0..10_000).contains(&at.ms_since(moment(&row.datetime)))).any(|row| {
        let place = plane.local(Position::new(row.latitude, row.longitude).expect("on the globe"));
        region.margin(place).signed_m.abs() < 3.0
    })
}
