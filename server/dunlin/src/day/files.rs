//! A day in open formats: GPX 1.1, GeoJSON (RFC 7946) and CSV (RFC 4180).

use dunlin_engine::{
    effect::Alert,
    fleet::{Boat, BoatIx},
    moment::Moment,
    units::kn_from_mps,
};
use quick_xml::{
    Writer,
    events::{BytesDecl, BytesText, Event},
};
use serde_json::{Value, json};

use super::past::{Past, Point, pieces};
use crate::hub::{view::level_word, wire::LogLine};

const GPX: &str = "http://www.topografix.com/GPX/1/1";

/// Why a file could not be made.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// XML could not be written; memory is all it is written to, so this does not happen.
    #[error("the file could not be written")]
    Write(#[from] std::io::Error),
    /// A row of the CSV could not be written.
    #[error("the table could not be written")]
    Table(#[from] csv::Error),
    /// What was written is not text.
    #[error("the file is not text")]
    Text(#[from] std::string::FromUtf8Error),
}

fn painted(fleet: &[Boat], boat: Option<BoatIx>) -> &str {
    boat.and_then(|boat| fleet.get(usize::from(boat.0))).map_or("", |boat| boat.id.as_str())
}

/// Marks as waypoints, each boat as a track, each hole as a new segment.
///
/// # Errors
/// As [`FileError`] says.
pub fn gpx(past: &Past) -> Result<String, FileError> {
    let mut writer = Writer::new_with_indent(Vec::new(), b' ', 1);
    writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    let root = [("version", "1.1"), ("creator", "dunlin"), ("xmlns", GPX)];
    writer.create_element("gpx").with_attributes(root).write_inner_content(|writer| {
        for mark in &past.setup.site.marks {
            let at = lat_lon(mark.position.lat_deg(), mark.position.lon_deg());
            writer
                .create_element("wpt")
                .with_attributes(at.iter().map(|(name, value)| (*name, value.as_str())))
                .write_inner_content(|writer| text_element(writer, "name", &mark.name))?;
        }
        for (boat, track) in past.setup.fleet.iter().zip(&past.tracks).filter(|(_, track)| !track.is_empty())
        {
            writer.create_element("trk").write_inner_content(|writer| {
                text_element(writer, "name", &boat.id)?;
                for piece in pieces(track) {
                    writer.create_element("trkseg").write_inner_content(|writer| {
                        piece.iter().try_for_each(|point| trackpoint(writer, point))
                    })?;
                }
                Ok(())
            })?;
        }
        Ok(())
    })?;
    let mut bytes = writer.into_inner();
    bytes.push(b'\n');
    Ok(String::from_utf8(bytes)?)
}

type XmlWriter = Writer<Vec<u8>>;

fn text_element(writer: &mut XmlWriter, name: &str, text: &str) -> std::io::Result<()> {
    // XML 1.0 has no way to write these (its production 2, "Char").
    let no_char = |letter: &char| letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}');
    let text: String = text.chars().filter(|letter| !no_char(letter)).collect();
    writer.create_element(name).write_text_content(BytesText::new(&text)).map(drop)
}

fn lat_lon(lat_deg: f64, lon_deg: f64) -> [(&'static str, String); 2] {
    let lon = format!("{lon_deg:.7}");
    // GPX longitudes end before 180.
    let lon = if lon == "180.0000000" { "-180.0000000".to_owned() } else { lon };
    [("lat", format!("{lat_deg:.7}")), ("lon", lon)]
}

fn trackpoint(writer: &mut XmlWriter, point: &Point) -> std::io::Result<()> {
    let at = lat_lon(point.seen.position.lat_deg(), point.seen.position.lon_deg());
    writer
        .create_element("trkpt")
        .with_attributes(at.iter().map(|(name, value)| (*name, value.as_str())))
        .write_inner_content(|writer| {
            text_element(writer, "time", &point.seen.taken.to_string())?;
            match point.late_s {
                Some(late_s) => text_element(writer, "cmt", &format!("came {late_s:.0} s late")),
                None => Ok(()),
            }
        })
        .map(drop)
}

/// Each boat as a MultiLineString with the times of its points beside it, and how many seconds late each
/// came (`null`: in time); marks as points.
pub fn geojson(past: &Past) -> String {
    let mut features: Vec<Value> = Vec::new();
    for mark in &past.setup.site.marks {
        let at = json!([mark.position.lon_deg(), mark.position.lat_deg()]);
        let geometry = json!({"type": "Point", "coordinates": at});
        let properties = json!({"kind": "mark", "name": mark.name});
        features.push(json!({"type": "Feature", "properties": properties, "geometry": geometry}));
    }
    for (boat, track) in past.setup.fleet.iter().zip(&past.tracks) {
        // A line has two positions at least (RFC 7946 3.1.4).
        let lines: Vec<&[Point]> = pieces(track).filter(|piece| piece.len() >= 2).collect();
        if lines.is_empty() {
            continue;
        }
        let places = |piece: &&[Point]| -> Value {
            let place = |point: &Point| json!([point.seen.position.lon_deg(), point.seen.position.lat_deg()]);
            piece.iter().map(place).collect()
        };
        let times =
            |piece: &&[Point]| -> Value { piece.iter().map(|point| point.seen.taken.to_string()).collect() };
        let late = |piece: &&[Point]| -> Value { piece.iter().map(|point| json!(point.late_s)).collect() };
        let geometry =
            json!({"type": "MultiLineString", "coordinates": lines.iter().map(places).collect::<Value>()});
        let properties = json!({
            "kind": "track",
            "boat": boat.id,
            "times": lines.iter().map(times).collect::<Value>(),
            "late_s": lines.iter().map(late).collect::<Value>(),
        });
        features.push(json!({"type": "Feature", "properties": properties, "geometry": geometry}));
    }
    json!({"type": "FeatureCollection", "features": features}).to_string()
}

/// A field that a spreadsheet would take for a formula is given a quote before it.
fn safe(field: &str) -> String {
    if field.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{field}") } else { field.to_owned() }
}

fn number(value: Option<f64>, places: usize) -> String {
    value.map_or_else(String::new, |value| format!("{value:.places$}"))
}

fn table(head: &[&str], rows: impl Iterator<Item = Vec<String>>) -> Result<String, FileError> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(head)?;
    for row in rows {
        writer.write_record(row)?;
    }
    let bytes = writer.into_inner().map_err(|error| error.into_error())?;
    Ok(String::from_utf8(bytes)?)
}

/// Every point of every track.
///
/// # Errors
/// As [`FileError`] says.
pub fn tracks_csv(past: &Past) -> Result<String, FileError> {
    let head = ["boat", "time", "lat_deg", "lon_deg", "speed_kn", "course_deg", "heel_deg", "late_s"];
    let boats = past.setup.fleet.iter().zip(&past.tracks);
    let rows = boats.flat_map(|(boat, track)| {
        track.iter().map(|point| {
            vec![
                safe(&boat.id),
                point.seen.taken.to_string(),
                format!("{:.7}", point.seen.position.lat_deg()),
                format!("{:.7}", point.seen.position.lon_deg()),
                number(point.speed_mps.map(kn_from_mps), 1),
                number(point.course_deg, 0),
                number(point.heel_deg, 0),
                number(point.late_s, 0),
            ]
        })
    });
    table(&head, rows)
}

/// Every alert, as it ended.
///
/// # Errors
/// As [`FileError`] says.
pub fn alerts_csv(past: &Past) -> Result<String, FileError> {
    let head = [
        "boat",
        "about",
        "level",
        "began",
        "raised",
        "acknowledged_by",
        "acknowledged",
        "attended_by",
        "heads",
        "heads_by",
        "cleared",
        "reason",
        "evidence",
    ];
    let time = |at: Option<Moment>| at.map_or_else(String::new, |at| at.to_string());
    let row = |alert: &Alert| {
        let fleet = &past.setup.fleet;
        vec![
            safe(painted(fleet, alert.boat)),
            alert.kind.word().to_owned(),
            level_word(alert.level).to_owned(),
            alert.began.to_string(),
            alert.raised.to_string(),
            safe(alert.acknowledged.as_ref().map_or("", |(by, _)| by)),
            time(alert.acknowledged.as_ref().map(|(_, at)| *at)),
            safe(alert.attended.as_ref().map_or("", |(boat, ..)| painted(fleet, Some(*boat)))),
            alert.heads.map_or_else(String::new, |heads| heads.to_string()),
            safe(alert.heads_by.as_deref().unwrap_or_default()),
            time(alert.cleared.as_ref().map(|(at, _)| *at)),
            safe(alert.cleared.as_ref().map_or("", |(_, reason)| reason)),
            safe(&alert.evidence.join("; ")),
        ]
    };
    table(&head, past.alerts.values().map(row))
}

/// The day's log.
///
/// # Errors
/// As [`FileError`] says.
pub fn log_csv(lines: &[LogLine], fleet: &[Boat]) -> Result<String, FileError> {
    let rows = lines.iter().map(|line| {
        let boat = line.boat.and_then(|ix| fleet.get(ix as usize)).map_or("", |boat| boat.id.as_str());
        vec![Moment(line.at_ms).to_string(), safe(&line.by), safe(boat), safe(&line.text)]
    });
    table(&["time", "by", "boat", "text"], rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use dunlin_engine::{
        Setup,
        effect::Seen,
        fleet::{Class, Role},
        units::Position,
        venue::{Mark, Site},
    };

    fn point(s: i64, lat_deg: f64) -> Point {
        let position = Position::new(lat_deg, 5.0).expect("on the earth");
        let seen = Seen { position, taken: Moment(s * 1_000) };
        Point { seen, speed_mps: Some(1.0), course_deg: None, heel_deg: Some(-3.0), late_s: None }
    }

    /// A day of one boat with a hole in her track and a name that is hostile to every format.
    fn past() -> Past {
        let boat = Boat {
            id: "=07<&\"".to_owned(),
            name: None,
            role: Role::Dinghy,
            sources: Vec::new(),
            mmsi: None,
            crew: 2,
            class: Class::default(),
        };
        let mark =
            Mark { name: "a <b>".to_owned(), position: Position::new(52.0, 5.0).expect("on the earth") };
        let site = Site { zones: Vec::new(), marks: vec![mark] };
        let kept = Point { late_s: Some(35.2), ..point(2, 52.002) };
        Past {
            setup: Setup { site, fleet: vec![boat], wind_limit_mps: None },
            tracks: vec![vec![point(0, 52.0), point(1, 52.001), kept, point(100, 52.1)]],
            ..Past::default()
        }
    }

    #[test]
    fn a_gpx_file_is_read_back_as_it_was() {
        let text = gpx(&past()).expect("written");
        let read = ::gpx::read(text.as_bytes()).expect("GPX");
        assert_eq!(read.version, ::gpx::GpxVersion::Gpx11);
        assert_eq!(read.waypoints[0].name.as_deref(), Some("a <b>"));
        assert_eq!(read.tracks[0].name.as_deref(), Some("=07<&\""));
        let lengths: Vec<usize> =
            read.tracks[0].segments.iter().map(|segment| segment.points.len()).collect();
        assert_eq!(lengths, [3, 1]);
        let notes: Vec<_> =
            read.tracks[0].segments[0].points.iter().map(|point| point.comment.as_deref()).collect();
        assert_eq!(notes, [None, None, Some("came 35 s late")]);
        let second = &read.tracks[0].segments[0].points[1];
        assert!((second.point().y() - 52.001).abs() < 1e-7);
        assert_eq!(
            second.time.and_then(|time| time.format().ok()).as_deref(),
            Some("1970-01-01T00:00:01.000000000Z")
        );
    }

    #[test]
    fn a_geojson_file_is_read_back_as_it_was() {
        let read: geojson::FeatureCollection = geojson(&past()).parse().expect("GeoJSON");
        assert_eq!(read.features.len(), 2);
        let late = read.features[1].property("late_s").cloned();
        assert_eq!(late, Some(json!([[null, null, 35.2]])));
        let line = read.features[1].geometry.as_ref().expect("a geometry");
        match &line.value {
            geojson::GeometryValue::MultiLineString { coordinates } => {
                assert_eq!(coordinates.len(), 1);
                assert_eq!(coordinates[0].len(), 3);
                assert_eq!(coordinates[0][2].as_slice(), [5.0, 52.002]);
            }
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_table_holds_no_formula_and_no_invented_value() {
        let text = tracks_csv(&past()).expect("written");
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let first = reader.records().next().expect("a row").expect("CSV");
        assert_eq!(
            first.iter().collect::<Vec<_>>(),
            ["'=07<&\"", "1970-01-01T00:00:00.000Z", "52.0000000", "5.0000000", "1.9", "", "-3", ""]
        );
    }
}
