//! The GPX 1.1 schema (topografix.com/GPX/1/1/gpx.xsd) as far as our files use it, and our files held to it.
//!
//! The schema itself is not here: it names no licence. Its order of elements and the bounds of
//! `latitudeType` and `longitudeType` were read in a copy of it. Where `xmllint` is installed and
//! `DUNLIN_GPX_XSD` names the schema's file, the files are held to the schema itself as well.

use std::process::Command;

use dunlin_engine::{
    Setup,
    effect::Seen,
    fleet::{Boat, Class, Role},
    moment::Moment,
    units::Position,
    venue::{Mark, Site},
};
use proptest::prelude::*;
use quick_xml::{Reader, XmlVersion, events::Event};

use super::{
    files,
    past::{Past, Point},
};

const NAMESPACE: &str = "http://www.topografix.com/GPX/1/1";

/// The elements that may stand in `parent`, in the order in which they must; those with `true` more than once.
fn children(parent: &str) -> &'static [(&'static str, bool)] {
    match parent {
        "gpx" => &[("metadata", false), ("wpt", true), ("rte", true), ("trk", true), ("extensions", false)],
        "wpt" | "trkpt" => &[
            ("ele", false),
            ("time", false),
            ("magvar", false),
            ("geoidheight", false),
            ("name", false),
            ("cmt", false),
            ("desc", false),
            ("src", false),
            ("link", true),
            ("sym", false),
            ("type", false),
        ],
        "trk" => &[
            ("name", false),
            ("cmt", false),
            ("desc", false),
            ("src", false),
            ("link", true),
            ("number", false),
            ("type", false),
            ("extensions", false),
            ("trkseg", true),
        ],
        "trkseg" => &[("trkpt", true), ("extensions", false)],
        _ => &[],
    }
}

/// What the schema says against a file; `None`: nothing.
fn wrong(text: &str) -> Option<String> {
    let mut reader = Reader::from_str(text);
    // Element, the place of its last child in the schema's order, and its text.
    let mut open: Vec<(String, usize, String)> = vec![("".to_owned(), 0, String::new())];
    let mut roots = 0;
    loop {
        match reader.read_event() {
            Err(error) => return Some(format!("not well formed: {error}")),
            Ok(Event::Eof) => return (roots != 1 || open.len() != 1).then(|| "not one element".to_owned()),
            Ok(event @ (Event::Start(_) | Event::Empty(_))) => {
                let (Event::Start(start) | Event::Empty(start)) = &event else { unreachable!() };
                let name = start.name().as_ref().to_owned();
                let parent = open.last_mut()?;
                if parent.0.is_empty() {
                    roots += 1;
                    if name != "gpx" {
                        return Some(format!("the root is {name}"));
                    }
                } else {
                    let order = children(&parent.0);
                    let Some(at) = order.iter().position(|(child, _)| *child == name) else {
                        return Some(format!("{name} in {}", parent.0));
                    };
                    // Places count from 1, so that 0 is "none yet".
                    if at + 1 < parent.1 || (at + 1 == parent.1 && !order[at].1) {
                        return Some(format!("{name} out of order or again in {}", parent.0));
                    }
                    parent.1 = at + 1;
                }
                let attribute = |wanted: &str| {
                    start
                        .attributes()
                        .flatten()
                        .find(|attribute| attribute.key.as_ref() == wanted)
                        .and_then(|attribute| attribute.normalized_value(XmlVersion::Implicit1_0).ok())
                        .map(|value| value.into_owned())
                };
                match name.as_str() {
                    "gpx" => {
                        let sound = attribute("version").as_deref() == Some("1.1")
                            && attribute("creator").is_some()
                            && attribute("xmlns").as_deref() == Some(NAMESPACE);
                        if !sound {
                            return Some("gpx without version 1.1, creator or namespace".to_owned());
                        }
                    }
                    "wpt" | "trkpt" => {
                        let number = |name: &str| attribute(name).and_then(|value| value.parse::<f64>().ok());
                        let (lat, lon) = (number("lat"), number("lon"));
                        if !lat.is_some_and(|lat| (-90.0..=90.0).contains(&lat)) {
                            return Some(format!("lat {lat:?}"));
                        }
                        if !lon.is_some_and(|lon| (-180.0..180.0).contains(&lon)) {
                            return Some(format!("lon {lon:?}"));
                        }
                    }
                    _ => (),
                }
                if matches!(event, Event::Start(_)) {
                    open.push((name, 0, String::new()));
                }
            }
            Ok(Event::Text(text)) => open.last_mut()?.2.push_str(text.as_ref()),
            Ok(Event::End(_)) => {
                let (name, _, text) = open.pop()?;
                if name == "time" && !is_date_time(&text) {
                    return Some(format!("time {text}"));
                }
                if !children(&name).is_empty() && !text.trim().is_empty() {
                    return Some(format!("text in {name}"));
                }
            }
            Ok(_) => (),
        }
    }
}

/// `xsd:dateTime` as our files write it: UTC, with milliseconds.
fn is_date_time(text: &str) -> bool {
    let form = "0000-00-00T00:00:00.000Z";
    text.len() == form.len()
        && text.chars().zip(form.chars()).all(|(c, f)| if f == '0' { c.is_ascii_digit() } else { c == f })
}

fn day(name: &str, places: &[(f64, f64)]) -> Past {
    let boat = Boat {
        id: name.to_owned(),
        name: None,
        role: Role::Dinghy,
        sources: Vec::new(),
        mmsi: None,
        crew: 2,
        class: Class::default(),
    };
    let positions: Vec<Position> = places.iter().filter_map(|(lat, lon)| Position::new(*lat, *lon)).collect();
    let marks = positions.iter().map(|position| Mark { name: name.to_owned(), position: *position });
    let site = Site { zones: Vec::new(), marks: marks.collect() };
    let points = positions.iter().enumerate().map(|(n, position)| Point {
        seen: Seen { position: *position, taken: Moment(n as i64 * 45_000) },
        speed_mps: None,
        course_deg: None,
        heel_deg: None,
        late_s: (n % 2 == 1).then_some(31.0),
    });
    Past {
        setup: Setup { site, fleet: vec![boat], wind_limit_mps: None },
        tracks: vec![points.collect()],
        ..Past::default()
    }
}

#[test]
fn what_breaks_the_schema_is_seen() {
    let sound = files::gpx(&day("07", &[(52.0, 5.0), (52.1, 5.0)])).expect("written");
    assert_eq!(wrong(&sound), None, "{sound}");
    for (from, to) in [
        ("version=\"1.1\"", "version=\"1.0\""),
        ("<name>07</name>", "<title>07</title>"),
        ("lat=\"52.0000000\"", "lat=\"92.0000000\""),
        ("lon=\"5.0000000\"", "lon=\"180.0000000\""),
        ("<cmt>came 31 s late</cmt>", "<cmt>came 31 s late</cmt><time>1970-01-01T00:00:00.000Z</time>"),
        ("1970-01-01T00:00:45.000Z", "1970-01-01 00:00:45"),
        ("</trkseg>", "lost</trkseg>"),
        ("</gpx>", "<wpt lat=\"1\" lon=\"1\"/></gpx>"),
    ] {
        assert!(sound.contains(from), "{from} is not in {sound}");
        assert!(wrong(&sound.replacen(from, to, 1)).is_some(), "{to} was not seen");
    }
}

#[test]
fn a_file_of_the_day_holds_to_the_schema_itself() {
    let Some(schema) = std::env::var_os("DUNLIN_GPX_XSD") else {
        eprintln!("skipped: DUNLIN_GPX_XSD does not name a copy of topografix.com/GPX/1/1/gpx.xsd");
        return;
    };
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("day.gpx");
    let text =
        files::gpx(&day("07 <&\"'>", &[(52.0, 5.0), (-90.0, -180.0), (90.0, 180.0)])).expect("written");
    std::fs::write(&file, text).expect("written");
    match Command::new("xmllint").arg("--noout").arg("--schema").arg(schema).arg(&file).output() {
        Err(_) => eprintln!("skipped: xmllint is not installed (Debian: apt-get install libxml2-utils)"),
        Ok(said) => assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr)),
    }
}

proptest! {
    #[test]
    fn any_day_holds_to_the_schema(
        name in any::<String>(),
        places in proptest::collection::vec((-90.0..=90.0, -180.0..=180.0), 0..12),
    ) {
        let edges = [(90.0, 180.0), (-90.0, -180.0), (0.0, 179.999_999_99)];
        let all: Vec<(f64, f64)> = places.into_iter().chain(edges).collect();
        let text = files::gpx(&day(&name, &all)).expect("written");
        prop_assert_eq!(wrong(&text), None, "{}", text);
        prop_assert!(text.chars().all(|c| !matches!(c, '\u{fffe}' | '\u{ffff}')), "no XML characters");
    }
}
