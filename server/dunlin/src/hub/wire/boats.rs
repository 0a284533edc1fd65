//! What a tablet is told of boats and wind, several times a second, and where they have been.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

use super::Need;

/// Positions and what follows from them.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Tick {
    /// Server time.
    pub now_ms: i64,
    /// Boats that changed since the last tick (all of them in a snapshot).
    pub boats: Vec<BoatNow>,
    /// Who needs help, first first. Replaces the list before.
    pub needs: Vec<Need>,
    /// Wind; `null` is unknown.
    pub wind: Option<WindState>,
    /// Sources no boat claims.
    pub strangers: Vec<Stranger>,
}

/// One boat now. A tuple in JSON, since it is most of the traffic.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct BoatNow(
    /// `ix`.
    pub u32,
    /// The rest.
    pub BoatFacts,
);

/// What is known of a boat. Fields that are absent are not known.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct BoatFacts {
    /// When the fix under `at` was taken; its age is shown, never hidden. Absent: never seen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub t: Option<i64>,
    /// `[lon_e7, lat_e7]`: degrees times 10^7, as filtered at `t`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub at: Option<[i32; 2]>,
    /// One standard deviation of the position, metres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub sd_m: Option<f64>,
    /// Speed over the ground, knots, one decimal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub kn: Option<f64>,
    /// Course over the ground.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub cog: Option<f64>,
    /// Heading (sensed, or from the course when fast enough).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub hdg: Option<f64>,
    /// Heel, positive to starboard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub heel: Option<f64>,
    /// Side the sail is on: `port` or `starboard`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub sail: Option<String>,
    /// Signed true wind angle, positive: wind on the starboard side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub twa: Option<f64>,
    /// Point of sailing or condition, as a word to show: `close-hauled`, `in irons`, `waiting`,
    /// `rafted`, `towed`, `becalmed`, `capsized?`, `not tracked`, `no contact`, `ashore`.
    pub doing: String,
    /// Probability of capsize, 0..=1, two decimals; absent when it is not judged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub p_capsize: Option<f64>,
    /// Standing in the tally: `ashore`, `afloat`, `landed`, `returned`, `stood-down`.
    pub standing: String,
    /// Persons aboard.
    pub persons: u32,
    /// Battery of her tracker or phone, per cent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub battery: Option<f64>,
    /// When her feed was last heard at all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub heard: Option<i64>,
}

/// `[t_ms, lon_e7, lat_e7, speed_dkn or null, heel_deg or null]`.
pub type TrailPoint = (i64, i32, i32, Option<i32>, Option<i32>);

/// Where a boat has been.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Trail {
    /// Whose.
    pub ix: u32,
    /// `[t_ms, lon_e7, lat_e7, speed_dkn or null, heel_deg or null]`, oldest first.
    pub points: Vec<TrailPoint>,
}

/// A source that no boat claims.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Stranger {
    /// Its name: a TAG source, a feed, `mmsi:...`.
    pub source: String,
    /// What it calls itself, if it does.
    pub name: Option<String>,
    /// Last position `[lon_e7, lat_e7]`.
    pub at: Option<[i32; 2]>,
    /// When last heard.
    pub heard_ms: i64,
}

/// The wind as believed now.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct WindState {
    /// When computed.
    pub at_ms: i64,
    /// When its newest evidence was heard.
    pub heard_ms: i64,
    /// Where from.
    pub from_deg: f64,
    /// One standard deviation of it.
    pub sd_deg: f64,
    /// Mean.
    pub speed_kn: Option<f64>,
    /// Gust.
    pub gust_kn: Option<f64>,
    /// Lull.
    pub lull_kn: Option<f64>,
    /// Veer (+) or back (-) over ten minutes.
    pub trend_deg: Option<f64>,
    /// `instrument`, `fleet`, `manual`.
    pub basis: String,
    /// In words.
    pub because: String,
}

/// The wind as it was believed: when, where from in degrees true, mean and gust in knots.
pub type WindPoint = (i64, f64, Option<f64>, Option<f64>);

/// A completed tack or gybe.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct ManoeuvreState {
    /// When settled.
    pub at_ms: i64,
    /// Whose.
    pub boat: u32,
    /// `tack` or `gybe`.
    pub turn: String,
    /// Signed, clockwise positive.
    pub turn_deg: f64,
    /// Before.
    pub before_kn: f64,
    /// After.
    pub after_kn: f64,
}
