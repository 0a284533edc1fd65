//! What people are told about their set-up files: where, what, and what to do.

use dunlin::setup::{Problem, fleet, site};
use dunlin_engine::{fleet::Role, units::kn_from_mps, venue::ZoneKind};

fn told(problems: &[Problem]) -> Vec<String> {
    problems.iter().map(|problem| problem.to_string().replace("\n    ", " -> ")).collect()
}

/// A site file of these features, the first of them in line 2.
fn collection(features: &[&str]) -> String {
    let features = features.join(",\n");
    format!("{{\"type\": \"FeatureCollection\", \"features\": [\n{features}\n]}}\n")
}

fn area(kind: &str, name: &str, rings: &str) -> String {
    format!(
        r#"{{"type":"Feature","properties":{{"kind":"{kind}","name":"{name}"}},"geometry":{{"type":"Polygon","coordinates":{rings}}}}}"#
    )
}

const SQUARE: &str = "[[[-5.02,50.1],[-5.0,50.1],[-5.0,50.11],[-5.02,50.11],[-5.02,50.1]]]";

#[test]
fn a_sound_site_is_read_whole() {
    let text = collection(&[
        &area("sailing-area", "Bay", SQUARE),
        &area(
            "no-go",
            "Fairway",
            "[[[-5.02,50.1],[-5.0,50.1],[-5.0,50.11],[-5.02,50.11],[-5.02,50.1]],[[-5.015,50.102],[-5.01,50.102],[-5.01,50.105],[-5.015,50.102]]]",
        ),
        r#"{"type":"Feature","properties":{"kind":"landing","name":"Slip"},"geometry":{"type":"MultiPolygon","coordinates":[[[[-5.02,50.1,3],[-5.0,50.1,3],[-5.0,50.11,3],[-5.02,50.1,3]]]]}}"#,
        r#"{"type":"Feature","properties":{"kind":"shore","name":"North bank"},"geometry":{"type":"LineString","coordinates":[[-5.02,50.12],[-5.01,50.12],[-5.0,50.121]]}}"#,
        r#"{"type":"Feature","properties":{"kind":"mark","name":"A"},"geometry":{"type":"Point","coordinates":[-5.01,50.105]}}"#,
    ]);
    let (site, problems) = site::parse("site.geojson", &text);
    assert_eq!(told(&problems), Vec::<String>::new());
    let kinds: Vec<ZoneKind> = site.zones.iter().map(|zone| zone.kind).collect();
    assert_eq!(kinds, [ZoneKind::SailingArea, ZoneKind::NoGo, ZoneKind::Landing, ZoneKind::Shore]);
    assert_eq!(site.zones[1].polygons[0].len(), 2, "the hole is kept");
    assert_eq!(site.zones[3].polygons[0][0].len(), 5, "a line goes out and back");
    assert_eq!(site.marks[0].position.lat_deg(), 50.105);
}

#[test]
fn a_wrong_site_is_told_where_and_what_to_do() {
    for (feature, expected) in [
        (
            area("sailing-area", "Bay", "[[[-5.02,50.1],[-5.0,50.11],[-5.0,50.1],[-5.02,50.11],[-5.02,50.1]]]"),
            "site.geojson:2: error: the outline of \"Bay\" crosses itself between positions 1 and 2 and between 3 and 4 -> put its corners in the order in which one walks round it",
        ),
        (
            area("no-go", "Bay", "[[[-5.02,50.1],[-5.0,50.1],[-5.0,50.11],[-5.02,50.11]]]"),
            "site.geojson:2: error: the outline of \"Bay\" is not closed -> repeat its first position as the last one (RFC 7946, 3.1.6)",
        ),
        (
            area("no-go", "Bay", "[[[-5.02,50.1],[-5.0,50.1],[-5.02,50.1]]]"),
            "site.geojson:2: error: the outline of \"Bay\" has 3 positions -> a ring needs at least four, the last equal to the first (RFC 7946, 3.1.6)",
        ),
        (
            area("no-go", "Bay", "[[[150.1,-34],[-34,151],[151.1,-34.1],[150.1,-34]]]"),
            "site.geojson:2: error: \"Bay\" has a position at latitude 151, longitude -34, which is not on the earth -> latitude and longitude are swapped: GeoJSON puts longitude first",
        ),
        (
            area("no-go", "Bay", "[[[-5.02,50.1],[-5.0,50.1],[-4.0,50.11],[-5.02,50.11],[-5.02,50.1]]]"),
            "site.geojson:2: error: the outline of \"Bay\" is 73 km across -> an area is at most 50 km across; look for a wrong digit, or for latitude and longitude swapped in one corner (GeoJSON puts longitude first)",
        ),
        (
            area("no-go", "Bay", "[[-5.02,50.1],[-5.0,50.1]]"),
            "site.geojson:2: error: \"Bay\" has a position that is not [longitude, latitude] -> write positions as two numbers, longitude first",
        ),
        (
            area("sailing", "Bay", SQUARE),
            "site.geojson:2: warning: feature 1 has the unknown kind \"sailing\" and is left out -> properties.kind is sailing-area, no-go, landing, shore or mark",
        ),
        (
            r#"{"type":"Feature","properties":{"kind":"mark","name":"A"},"geometry":{"type":"LineString","coordinates":[]}}"#.to_owned(),
            "site.geojson:2: error: the mark \"A\" is a LineString -> a mark is a Point (or a Polygon, whose middle is taken)",
        ),
        (
            r#"{"type":"Feature","properties":{"kind":"mark","name":"A","colour":"red"},"geometry":{"type":"Point","coordinates":[0,0]}}"#.to_owned(),
            "site.geojson:2: warning: feature 1 (A) has the unknown property \"colour\" -> dunlin reads \"kind\" and \"name\" only; remove it or correct its spelling",
        ),
    ] {
        let (_, problems) = site::parse("site.geojson", &collection(&[&feature]));
        assert_eq!(told(&problems).first().map(String::as_str), Some(expected));
    }
}

#[test]
fn a_feature_with_latitude_first_is_found_by_the_others() {
    let text = collection(&[
        &area("sailing-area", "Bay", SQUARE),
        &area("no-go", "Rocks", "[[[50.1,-5.02],[50.1,-5.0],[50.11,-5.0],[50.1,-5.02]]]"),
        &area("landing", "Slip", SQUARE),
    ]);
    let (_, problems) = site::parse("site.geojson", &text);
    assert_eq!(
        told(&problems),
        [
            "site.geojson:3: error: this feature is 8078 km from the others -> its latitude and longitude are swapped: GeoJSON puts longitude first"
        ]
    );
}

#[test]
fn text_that_is_no_collection_is_told_so() {
    for (text, expected) in [
        (
            "{\"type\": \"FeatureCollection\",\n \"features\": [}\n",
            "site.geojson:2: error: is not GeoJSON: expected value (column 15) -> correct the JSON there; the file must be one FeatureCollection (RFC 7946)",
        ),
        (
            "{\"type\": \"Topology\"}",
            "site.geojson:1: error: is a GeoJSON Topology -> the outermost object must be {\"type\": \"FeatureCollection\", \"features\": [ ... ]}",
        ),
        (
            "{\"type\": \"FeatureCollection\", \"features\": []}",
            "site.geojson: warning: holds no area and no mark -> add features with properties.kind sailing-area, no-go, landing, shore or mark",
        ),
    ] {
        let (_, problems) = site::parse("site.geojson", text);
        assert_eq!(told(&problems), [expected]);
    }
}

#[test]
fn a_sound_fleet_is_read_whole_in_each_form_that_a_class_and_a_source_can_have() {
    let text = r#"
[[boat]]
id = "07"
source = ["07", "phone-7"]
mmsi = "232001234"
crew = 3
role = "dinghy"
class = "trainer"
name = "Redshank"

[[boat]]
id = 8
source = "08"
class = { name = "Other", lwl_m = 3.2, crew = 1, speeds = { beating = 2.5, reaching_kn = 3.5 } }

[[boat]]
id = "S1"
mmsi = 232009999
role = "safety"
class = "seven metre rib"

[[boat]]
id = "mast"
source = "mast"
role = "station"

[class.trainer]
waterline_m = 4.1
crew = 3
beating_kn = 3.1
"#;
    let (boats, problems) = fleet::parse("fleet.toml", text);
    assert_eq!(told(&problems), Vec::<String>::new());
    let [seven, eight, safety, mast] = &boats[..] else {
        panic!("four boats: {boats:?}");
    };
    assert_eq!(seven.sources, ["07", "phone-7"]);
    assert_eq!((seven.mmsi, seven.crew), (Some(232_001_234), 3));
    assert_eq!((seven.class.name.as_str(), seven.class.waterline_m), ("trainer", 4.1));
    assert_eq!((eight.id.as_str(), eight.crew), ("8", 1));
    assert!((kn_from_mps(eight.class.reaching_mps) - 3.5).abs() < 1e-9);
    assert_eq!((safety.role, safety.class.name.as_str()), (Role::Safety, "seven metre rib"));
    assert_eq!((mast.role, mast.crew), (Role::Station, 0));
}

#[test]
fn a_wrong_fleet_is_told_everything_at_once() {
    let text = r#"[[boat]]
id = "07"
source = "07"
crew = 3

[[boat]]
id = "07"
source = "07"
crew = -1
role = "sailor"

[[boat]]
source = "09"
soruce = "10"

[[boat]]
id = "10"
mmsi = 12345678901
crew = 2
"#;
    let (_, problems) = fleet::parse("fleet.toml", text);
    assert_eq!(
        told(&problems),
        [
            "fleet.toml:7: error: boat \"07\" is already in line 2 -> give each boat the id that is painted on her, once",
            "fleet.toml:8: error: source \"07\" of boat \"07\" already speaks for boat \"07\" (line 3) -> one source speaks for one boat; correct one of the two",
            "fleet.toml:9: error: crew of boat \"07\" is not a whole number from 0 to 200 -> write crew as a whole number from 0 to 200, or leave it out",
            "fleet.toml:10: error: boat \"07\" has the unknown role \"sailor\" -> role is dinghy, safety or station",
            "fleet.toml:12: error: a boat has no id -> give it id = \"...\" as painted on her",
            "fleet.toml:14: warning: a boat has the unknown key \"soruce\" -> did you mean \"source\"?",
            "fleet.toml:18: error: mmsi of boat \"10\" is not nine digits -> write mmsi as nine digits, or leave it out",
        ]
    );
}

#[test]
fn a_fleet_with_a_slip_of_the_pen_is_still_read() {
    let text = "[[boat]]\nid = \"07\"\ncrew = 2\nsoruce = \"07\"\n";
    let (boats, problems) = fleet::parse("fleet.toml", text);
    assert_eq!(boats.len(), 1);
    assert_eq!(
        told(&problems),
        ["fleet.toml:4: warning: boat \"07\" has the unknown key \"soruce\" -> did you mean \"source\"?"]
    );
    let (_, problems) = fleet::parse("fleet.toml", "[[boat]\nid = \"07\"\n");
    assert!(told(&problems)[0].starts_with("fleet.toml:1: error: is not TOML: "), "{problems:?}");
}
