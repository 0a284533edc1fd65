//! What a tablet is told of the set-up: site, fleet, settings.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Site, fleet and settings.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct SetupState {
    /// The centre's name; empty before set-up.
    pub centre: String,
    /// Whether this is the invented demonstration.
    pub demo: bool,
    /// Zones and marks, ready to draw.
    pub zones: Vec<ZoneShape>,
    /// Marks.
    pub marks: Vec<MarkShape>,
    /// The fleet.
    pub boats: Vec<BoatInfo>,
    /// Wind limit, knots.
    pub wind_limit_kn: Option<f64>,
    /// Stream as entered: direction it goes to and knots.
    pub stream: Option<StreamState>,
    /// Whether a local base map can be had at `/basemap.pmtiles`.
    pub base_map: bool,
}

/// Tidal stream.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct StreamState {
    /// Where it goes to.
    pub towards_deg: f64,
    /// How fast.
    pub speed_kn: f64,
    /// `entered` or `estimated`.
    pub basis: String,
}

/// One zone of the site.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct ZoneShape {
    /// `sailing-area`, `no-go`, `landing`, `shore`.
    pub zone: String,
    /// Its name.
    pub name: String,
    /// Polygons of rings of `[lon, lat]`, as in RFC 7946.
    pub polygons: Vec<Vec<Vec<[f64; 2]>>>,
}

/// One mark.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct MarkShape {
    /// Its name.
    pub name: String,
    /// `[lon, lat]`.
    pub at: [f64; 2],
}

/// One boat as set up.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct BoatInfo {
    /// Her place in the fleet; names her in every other message.
    pub ix: u32,
    /// What is painted on her.
    pub id: String,
    /// Name, if any.
    pub name: Option<String>,
    /// `dinghy`, `safety`, `station`.
    pub role: String,
    /// Class, if given.
    pub class: Option<String>,
    /// Persons as planned.
    pub crew: u32,
    /// Whether any feed could report her.
    pub has_feed: bool,
}
