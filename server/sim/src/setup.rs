//! The session's set-up files: `site.geojson` and `fleet.toml`.

use serde_json::{Value, json};

use crate::{
    plane::{Ring, Vec2},
    receiver::Kit,
    world::World,
};

impl World {
    /// The site as a GeoJSON FeatureCollection (RFC 7946).
    pub fn site_geojson(&self) -> String {
        let site = &self.site;
        let point = |at: Vec2| {
            let (lat, lon) = site.chart.lat_lon(at);
            json!([round7(lon), round7(lat)])
        };
        let polygon = |ring: &Ring| {
            // Exterior rings run anticlockwise (RFC 7946, 3.1.6).
            let mut corners = ring.0.clone();
            if clockwise(&corners) {
                corners.reverse();
            }
            let mut closed: Vec<Value> = corners.iter().map(|at| point(*at)).collect();
            closed.extend(closed.first().cloned());
            json!({ "type": "Polygon", "coordinates": [closed] })
        };
        let feature = |kind: &str, name: &str, geometry: Value| json!({ "type": "Feature", "properties": { "kind": kind, "name": name }, "geometry": geometry });
        let mut features = vec![
            feature("sailing-area", "sailing area", polygon(&site.area)),
            feature("landing", "beach", polygon(&site.landing)),
            feature("shore", "shore", polygon(&site.shore)),
        ];
        features.extend(site.no_go.iter().map(|(name, ring)| feature("no-go", name, polygon(ring))));
        features.extend(site.marks.iter().map(|mark| {
            feature("mark", &mark.name, json!({ "type": "Point", "coordinates": point(mark.at) }))
        }));
        let whole = json!({ "type": "FeatureCollection", "features": features });
        format!("{whole:#}\n")
    }

    /// The fleet as TOML.
    pub fn fleet_toml(&self) -> String {
        let mut text = String::new();
        for sailor in &self.sailors {
            let class = sailor.dinghy.class;
            let feed = match sailor.receiver.kit {
                Kit::Ais { mmsi } => format!("mmsi = {mmsi}"),
                Kit::Phone | Kit::Powered { .. } | Kit::Mast => {
                    format!("source = \"{}\"", sailor.receiver.source)
                }
            };
            text += &format!(
                "[[boat]]\nid = \"{}\"\n{feed}\ncrew = {}\nrole = \"dinghy\"\nclass = {{ name = \"{}\", waterline_m = {:.1} }}\n\n",
                sailor.id, sailor.crew, class.name, class.waterline_m
            );
        }
        for i in 0..self.safety.len() {
            let n = i + 1;
            text +=
                &format!("[[boat]]\nid = \"S{n}\"\nsource = \"safety-{n}\"\ncrew = 2\nrole = \"safety\"\n\n");
        }
        if self.plan.instruments.mast {
            text.push_str("[[boat]]\nid = \"mast\"\nsource = \"mast\"\ncrew = 0\nrole = \"station\"\n");
        }
        text
    }
}

/// Seven decimals of a degree are a centimetre.
fn round7(degrees: f64) -> f64 {
    (degrees * 1e7).round() / 1e7
}

fn clockwise(corners: &[Vec2]) -> bool {
    let n = corners.len();
    let twice_area: f64 = (0..n)
        .map(|i| corners[i].east * corners[(i + 1) % n].north - corners[(i + 1) % n].east * corners[i].north)
        .sum();
    twice_area < 0.0
}
