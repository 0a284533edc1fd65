//! The set-up and the day in open formats.

use dunlin_engine::{
    fleet::{Boat, Role},
    units::{Position, kn_from_mps},
    venue::Site,
};
use serde_json::{Value, json};

use crate::hub::view::{role_word, zone_word};

fn lon_lat(at: Position) -> Value {
    json!([at.lon_deg(), at.lat_deg()])
}

/// A site as GeoJSON (RFC 7946), as the set-up file has it.
pub fn site_geojson(site: &Site) -> String {
    let polygon = |rings: &Vec<Vec<Position>>| -> Value {
        rings.iter().map(|ring| ring.iter().copied().map(lon_lat).collect::<Value>()).collect()
    };
    let zones = site.zones.iter().map(|zone| {
        let geometry = match zone.polygons.as_slice() {
            [one] => json!({"type": "Polygon", "coordinates": polygon(one)}),
            many => {
                json!({"type": "MultiPolygon", "coordinates": many.iter().map(polygon).collect::<Value>()})
            }
        };
        let properties = json!({"kind": zone_word(zone.kind), "name": zone.name});
        json!({"type": "Feature", "properties": properties, "geometry": geometry})
    });
    let marks = site.marks.iter().map(|mark| {
        let geometry = json!({"type": "Point", "coordinates": lon_lat(mark.position)});
        json!({"type": "Feature", "properties": {"kind": "mark", "name": mark.name}, "geometry": geometry})
    });
    let features: Vec<Value> = zones.chain(marks).collect();
    json!({"type": "FeatureCollection", "features": features}).to_string()
}

/// A fleet as TOML, as the set-up file has it.
pub fn fleet_toml(fleet: &[Boat]) -> String {
    let mut boats = Vec::with_capacity(fleet.len());
    for boat in fleet {
        let mut table = toml::Table::new();
        table.insert("id".to_owned(), boat.id.clone().into());
        table.insert("role".to_owned(), role_word(boat.role).into());
        if let Some(name) = &boat.name {
            table.insert("name".to_owned(), name.clone().into());
        }
        match boat.sources.as_slice() {
            [] => (),
            [one] => drop(table.insert("source".to_owned(), one.clone().into())),
            many => drop(table.insert("source".to_owned(), many.to_vec().into())),
        }
        if let Some(mmsi) = boat.mmsi {
            table.insert("mmsi".to_owned(), i64::from(mmsi).into());
        }
        table.insert("crew".to_owned(), i64::from(boat.crew).into());
        if boat.role == Role::Dinghy && !boat.class.name.is_empty() {
            let round = |value: f64| (value * 100.0).round() / 100.0;
            let mut class = toml::Table::new();
            class.insert("name".to_owned(), boat.class.name.clone().into());
            class.insert("waterline_m".to_owned(), round(boat.class.waterline_m).into());
            class.insert("beating_kn".to_owned(), round(kn_from_mps(boat.class.beating_mps)).into());
            class.insert("reaching_kn".to_owned(), round(kn_from_mps(boat.class.reaching_mps)).into());
            class.insert("running_kn".to_owned(), round(kn_from_mps(boat.class.running_mps)).into());
            table.insert("class".to_owned(), class.into());
        }
        boats.push(toml::Value::Table(table));
    }
    let mut file = toml::Table::new();
    file.insert("boat".to_owned(), boats.into());
    toml::to_string(&file).unwrap_or_default()
}
