//! A site with nothing on it but a sailing area far wider than anyone sails.

use crate::plane::{Chart, Vec2};

/// `site.geojson`: an area of this name whose corners lie `radius_m` off the middle, at these bearings, degrees. The
/// ring is closed by giving its first corner again; anticlockwise, as GeoJSON wants an outer ring.
pub(crate) fn site_geojson(
    chart: &Chart,
    name: &str,
    bearings_deg: impl Iterator<Item = f64>,
    radius_m: f64,
) -> String {
    let ring: Vec<[f64; 2]> = bearings_deg
        .map(|bearing_deg| {
            let (lat, lon) = chart.lat_lon(Vec2::along(bearing_deg, radius_m));
            [lon, lat]
        })
        .collect();
    serde_json::json!({ "type": "FeatureCollection", "features": [{
        "type": "Feature",
        "properties": { "kind": "sailing-area", "name": name },
        "geometry": { "type": "Polygon", "coordinates": [ring] },
    }] })
    .to_string()
}
