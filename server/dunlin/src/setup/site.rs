//! The site file: GeoJSON (RFC 7946) to [`Site`].

use dunlin_engine::{
    units::Position,
    venue::{Mark, Site, Zone, ZoneKind},
};
use serde::Deserialize;
use serde_json::{Value, value::RawValue};

use super::{Findings, Problem, rings};

/// No area, and no site as a whole, is larger across: the plane that the engine works on is good to
/// a metre or so within 5 km and to about 100 m at 25 km from its middle.
const EXTENT_MAX_M: f64 = 50_000.0;

/// Corners of one ring; a shore traced finer than this is refused with the advice to simplify it.
const CORNERS_MAX: usize = 100_000;

const KINDS: &str = "sailing-area, no-go, landing, shore or mark";

#[derive(Deserialize)]
struct Collection<'a> {
    #[serde(rename = "type")]
    kind: Option<String>,
    #[serde(borrow)]
    features: Option<Vec<&'a RawValue>>,
}

#[derive(Deserialize)]
struct Feature<'a> {
    #[serde(rename = "type")]
    kind: Option<String>,
    #[serde(borrow)]
    geometry: Option<&'a RawValue>,
    #[serde(borrow)]
    properties: Option<&'a RawValue>,
}

#[derive(Deserialize)]
struct Geometry<'a> {
    #[serde(rename = "type")]
    kind: Option<String>,
    #[serde(borrow)]
    coordinates: Option<&'a RawValue>,
}

/// What a feature is, before its shape is read.
#[derive(Clone, Copy)]
enum Kind {
    Zone(ZoneKind),
    Mark,
}

/// The site in `text`, and all that is wrong with it. `file` names it in the problems.
pub fn parse(file: &str, text: &str) -> (Site, Vec<Problem>) {
    let mut reader =
        Reader { findings: Findings::new(file, text), site: Site::default(), places: Vec::new() };
    reader.collection(text);
    reader.check_extent();
    if !reader.findings.any_error() && reader.site.zones.is_empty() && reader.site.marks.is_empty() {
        reader.findings.warn(
            None,
            "holds no area and no mark",
            format!("add features with properties.kind {KINDS}"),
        );
    }
    (reader.site, reader.findings.finish())
}

struct Reader<'a> {
    findings: Findings<'a>,
    site: Site,
    /// One position of each feature with the offset of the feature, to find the one that is far off.
    places: Vec<(usize, Position)>,
}

impl<'a> Reader<'a> {
    fn collection(&mut self, text: &'a str) {
        let collection: Collection = match serde_json::from_str(text) {
            Ok(collection) => collection,
            Err(error) => return self.not_json(text, &error),
        };
        match (collection.kind.as_deref(), collection.features) {
            (Some("FeatureCollection"), Some(features)) => {
                for (number, feature) in features.into_iter().enumerate() {
                    self.feature(number + 1, feature);
                }
            }
            (Some("FeatureCollection"), None) => self.findings.error(
                Some(0),
                "the FeatureCollection has no \"features\"",
                "add \"features\": [ ... ] (RFC 7946, 3.3)",
            ),
            (kind, _) => self.findings.error(
                Some(0),
                format!("is a GeoJSON {}", kind.unwrap_or("object without a \"type\"")),
                "the outermost object must be {\"type\": \"FeatureCollection\", \"features\": [ ... ]}",
            ),
        }
    }

    fn not_json(&mut self, text: &str, error: &serde_json::Error) {
        // serde_json gives line and column; the findings want an offset.
        let before: usize =
            text.split_inclusive('\n').take(error.line().saturating_sub(1)).map(str::len).sum();
        let text = error.to_string();
        let reason = text.split(" at line ").next().unwrap_or_default();
        self.findings.error(
            Some(before),
            format!("is not GeoJSON: {reason} (column {})", error.column()),
            "correct the JSON there; the file must be one FeatureCollection (RFC 7946)",
        );
    }

    fn feature(&mut self, number: usize, raw: &'a RawValue) {
        let at = self.findings.offset(raw.get());
        let feature: Feature = match serde_json::from_str(raw.get()) {
            Ok(feature) => feature,
            Err(_) => {
                return self.findings.error(
                    at,
                    format!("feature {number} is not a GeoJSON Feature"),
                    "write it as {\"type\": \"Feature\", \"properties\": {...}, \"geometry\": {...}}",
                );
            }
        };
        if feature.kind.as_deref() != Some("Feature") {
            self.findings.error(
                at,
                format!("feature {number} has not the \"type\" \"Feature\""),
                "write \"type\": \"Feature\" (RFC 7946, 3.2)",
            );
        }
        let Some((kind, name)) = self.properties(number, at, feature.properties) else {
            return;
        };
        let Some(geometry) = feature.geometry.filter(|raw| raw.get() != "null") else {
            return self.findings.warn(
                at,
                format!("feature {number} ({name}) has no geometry and is left out"),
                "draw it, or remove it",
            );
        };
        self.geometry(number, at, kind, name, geometry);
    }

    fn properties(
        &mut self,
        number: usize,
        at: Option<usize>,
        raw: Option<&'a RawValue>,
    ) -> Option<(Kind, String)> {
        let properties: serde_json::Map<String, Value> =
            raw.and_then(|raw| serde_json::from_str(raw.get()).ok()).unwrap_or_default();
        let at = raw.and_then(|raw| self.findings.offset(raw.get())).or(at);
        let kind = match properties.get("kind").and_then(Value::as_str) {
            Some("sailing-area") => Kind::Zone(ZoneKind::SailingArea),
            Some("no-go") => Kind::Zone(ZoneKind::NoGo),
            Some("landing") => Kind::Zone(ZoneKind::Landing),
            Some("shore") => Kind::Zone(ZoneKind::Shore),
            Some("mark") => Kind::Mark,
            Some(other) => {
                self.findings.warn(
                    at,
                    format!("feature {number} has the unknown kind \"{other}\" and is left out"),
                    format!("properties.kind is {KINDS}"),
                );
                return None;
            }
            None => {
                self.findings.warn(
                    at,
                    format!("feature {number} has no properties.kind and is left out"),
                    format!("give it \"kind\": {KINDS}"),
                );
                return None;
            }
        };
        let name = match properties.get("name") {
            Some(Value::String(name)) if !name.trim().is_empty() => name.trim().to_owned(),
            Some(Value::Number(name)) => name.to_string(),
            Some(_) | None => {
                let word = match kind {
                    Kind::Mark => "mark",
                    Kind::Zone(_) => "area",
                };
                self.findings.warn(
                    at,
                    format!("feature {number} has no name; it is called \"{word} {number}\""),
                    "give it \"name\": \"...\" as people call it",
                );
                format!("{word} {number}")
            }
        };
        for key in properties.keys() {
            if key != "kind" && key != "name" {
                self.findings.warn(
                    at,
                    format!("feature {number} ({name}) has the unknown property \"{key}\""),
                    "dunlin reads \"kind\" and \"name\" only; remove it or correct its spelling",
                );
            }
        }
        Some((kind, name))
    }

    fn geometry(&mut self, number: usize, at: Option<usize>, kind: Kind, name: String, raw: &'a RawValue) {
        let geometry: Option<Geometry> = serde_json::from_str(raw.get()).ok();
        let at = self.findings.offset(raw.get()).or(at);
        let Some((shape, coordinates)) = geometry.and_then(|g| Some((g.kind?, g.coordinates?))) else {
            return self.findings.error(
                at,
                format!("feature {number} ({name}) has a geometry that cannot be read"),
                "write \"geometry\": {\"type\": ..., \"coordinates\": [...]}",
            );
        };
        let polygons = match (kind, shape.as_str()) {
            (_, "Polygon") => self.polygon(&name, coordinates).map(|polygon| vec![polygon]),
            (_, "MultiPolygon") => self.several(&name, coordinates),
            (Kind::Mark, "Point") => {
                if let Some(position) = self.position(&name, coordinates) {
                    self.mark(at, name, position);
                }
                return;
            }
            (Kind::Zone(ZoneKind::Shore), "LineString") => {
                self.line(&name, coordinates).map(|polygon| vec![polygon])
            }
            (Kind::Mark, other) => {
                return self.findings.error(
                    at,
                    format!("the mark \"{name}\" is a {other}"),
                    "a mark is a Point (or a Polygon, whose middle is taken)",
                );
            }
            (Kind::Zone(_), other) => {
                return self.findings.error(
                    at,
                    format!("the area \"{name}\" is a {other}"),
                    "an area is a Polygon or a MultiPolygon",
                );
            }
        };
        let Some(polygons) = polygons else { return };
        let outside = polygons.first().and_then(|rings| rings.first());
        if let (Some(at), Some(first)) = (at, outside.and_then(|ring| ring.first())) {
            self.places.push((at, *first));
        }
        match kind {
            Kind::Zone(kind) => self.site.zones.push(Zone { kind, name, polygons }),
            Kind::Mark => {
                if let Some(middle) = outside.and_then(|ring| rings::centroid(ring)) {
                    self.mark(None, name, middle);
                }
            }
        }
    }

    fn mark(&mut self, at: Option<usize>, name: String, position: Position) {
        if self.site.marks.iter().any(|mark| mark.name == name) {
            self.findings.error(
                at,
                format!("two marks are called \"{name}\""),
                "give each mark a name of its own",
            );
        }
        if let Some(at) = at {
            self.places.push((at, position));
        }
        self.site.marks.push(Mark { name, position });
    }

    fn several(&mut self, name: &str, raw: &'a RawValue) -> Option<Vec<Vec<Vec<Position>>>> {
        let parts = self.list(name, raw)?;
        let polygons: Vec<_> = parts.into_iter().filter_map(|part| self.polygon(name, part)).collect();
        (!polygons.is_empty()).then_some(polygons)
    }

    fn polygon(&mut self, name: &str, raw: &'a RawValue) -> Option<Vec<Vec<Position>>> {
        let parts = self.list(name, raw)?;
        if parts.is_empty() {
            self.findings.error(
                self.findings.offset(raw.get()),
                format!("\"{name}\" is an empty polygon"),
                "give it a ring of at least four positions, or remove it",
            );
        }
        let rings: Vec<_> =
            parts.into_iter().enumerate().filter_map(|(place, part)| self.ring(name, place, part)).collect();
        (!rings.is_empty()).then_some(rings)
    }

    fn ring(&mut self, name: &str, place: usize, raw: &'a RawValue) -> Option<Vec<Position>> {
        let at = self.findings.offset(raw.get());
        let which = if place == 0 {
            format!("the outline of \"{name}\"")
        } else {
            format!("hole {place} of \"{name}\"")
        };
        let ring = self.positions(name, raw)?;
        if ring.len() < 4 {
            self.findings.error(
                at,
                format!("{which} has {} positions", ring.len()),
                "a ring needs at least four, the last equal to the first (RFC 7946, 3.1.6)",
            );
            return None;
        }
        if ring.first() != ring.last() {
            self.findings.error(
                at,
                format!("{which} is not closed"),
                "repeat its first position as the last one (RFC 7946, 3.1.6)",
            );
            return None;
        }
        let extent = rings::extent_m(&ring);
        if extent > EXTENT_MAX_M {
            self.findings.error(
                at,
                format!("{which} is {:.0} km across", extent / 1000.0),
                "an area is at most 50 km across; look for a wrong digit, or for latitude and longitude swapped in one corner (GeoJSON puts longitude first)",
            );
            return None;
        }
        if let Some((first, second)) = rings::crossing(&ring) {
            self.findings.error(
                at,
                format!(
                    "{which} crosses itself between positions {} and {} and between {} and {}",
                    first + 1,
                    first + 2,
                    second + 1,
                    second + 2
                ),
                "put its corners in the order in which one walks round it",
            );
        }
        Some(ring)
    }

    /// A shore given as a line: out along it and back, which draws as the line.
    fn line(&mut self, name: &str, raw: &'a RawValue) -> Option<Vec<Vec<Position>>> {
        let mut line = self.positions(name, raw)?;
        let back: Vec<Position> = line.iter().rev().skip(1).copied().collect();
        line.extend(back);
        (line.len() >= 3).then(|| vec![line])
    }

    fn positions(&mut self, name: &str, raw: &'a RawValue) -> Option<Vec<Position>> {
        let parts = self.list(name, raw)?;
        if parts.len() > CORNERS_MAX {
            self.findings.error(
                self.findings.offset(raw.get()),
                format!("a ring of \"{name}\" has {} positions", parts.len()),
                format!("simplify it to at most {CORNERS_MAX}"),
            );
            return None;
        }
        let count = parts.len();
        let positions: Vec<_> = parts.into_iter().filter_map(|part| self.position(name, part)).collect();
        (positions.len() == count).then_some(positions)
    }

    fn position(&mut self, name: &str, raw: &'a RawValue) -> Option<Position> {
        let at = self.findings.offset(raw.get());
        let numbers: Vec<f64> = serde_json::from_str(raw.get()).unwrap_or_default();
        let (Some(lon), Some(lat)) = (numbers.first(), numbers.get(1)) else {
            self.findings.error(
                at,
                format!("\"{name}\" has a position that is not [longitude, latitude]"),
                "write positions as two numbers, longitude first",
            );
            return None;
        };
        let position = Position::new(*lat, *lon);
        if position.is_none() {
            let swapped = Position::new(*lon, *lat).is_some();
            self.findings.error(
                at,
                format!(
                    "\"{name}\" has a position at latitude {lat}, longitude {lon}, which is not on the earth"
                ),
                if swapped {
                    "latitude and longitude are swapped: GeoJSON puts longitude first"
                } else {
                    "longitude is -180 to 180 and comes first, latitude is -90 to 90"
                },
            );
        }
        position
    }

    fn list(&mut self, name: &str, raw: &'a RawValue) -> Option<Vec<&'a RawValue>> {
        let list = serde_json::from_str(raw.get()).ok();
        if list.is_none() {
            self.findings.error(
                self.findings.offset(raw.get()),
                format!("the coordinates of \"{name}\" are not nested as its type needs"),
                "a Polygon is a list of rings, a ring a list of positions, a position [longitude, latitude]",
            );
        }
        list
    }

    /// Finds the feature that lies far from the others, as a swapped latitude and longitude does.
    fn check_extent(&mut self) {
        let places = std::mem::take(&mut self.places);
        let Some((_, middle)) = places.get(places.len() / 2) else {
            return;
        };
        // The feature that most others are near is the site; a swapped one is the exception.
        let near = |place: Position| {
            let others = places.iter();
            others.filter(|(_, other)| rings::distance_m(place, *other) <= EXTENT_MAX_M).count()
        };
        let home = places.iter().map(|(_, place)| *place).max_by_key(|place| near(*place)).unwrap_or(*middle);
        for (at, place) in &places {
            let far = rings::distance_m(home, *place);
            if far <= EXTENT_MAX_M {
                continue;
            }
            let swapped = Position::new(place.lon_deg(), place.lat_deg())
                .is_some_and(|swapped| rings::distance_m(home, swapped) <= EXTENT_MAX_M);
            self.findings.error(
                Some(*at),
                format!("this feature is {:.0} km from the others", far / 1000.0),
                if swapped {
                    "its latitude and longitude are swapped: GeoJSON puts longitude first"
                } else {
                    "a site is at most 50 km across; look for a wrong digit or a missing minus sign"
                },
            );
        }
    }
}
