//! What the rest of the engine knows around a boat at one moment: wind, water, company, places.

use crate::units::{Bearing, Velocity};

/// The wind over the water, which is what sails and leeway feel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterWind {
    /// Where it comes from.
    pub from: Bearing,
    /// One standard deviation of `from`, degrees.
    pub sd_deg: f64,
    /// Mean of the last minutes, m/s; `None` when only the direction is known.
    pub speed_mps: Option<f64>,
    /// Mean of the last few seconds, m/s; `None` when no instrument tells.
    pub now_mps: Option<f64>,
}

/// The tidal stream: where the water goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stream {
    /// Of the water over the ground.
    pub velocity: Velocity,
    /// One standard deviation of each component, m/s.
    pub sd_mps: f64,
}

/// The nearest safety boat whose position is fresh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SafetyBoat {
    /// Between the two antennas, metres.
    pub distance_m: f64,
    /// Over the ground.
    pub velocity: Velocity,
}

/// What the other dinghies are doing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Fleet {
    /// Other boats afloat whose fixes are fresh.
    pub boats: u16,
    /// Share of them that make way, 0..=1; 0 when there are none.
    pub moving_share: f64,
}

/// What surrounds one boat. Every part may be unknown; unknown widens, it never reassures.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Surroundings {
    /// Wind over the water; `None`: unknown.
    pub wind: Option<WaterWind>,
    /// Tidal stream; `None`: unknown, allowed for as doubt.
    pub stream: Option<Stream>,
    /// Distance to the nearest landing place, metres, 0 inside; `None` when the site has none.
    pub landing_m: Option<f64>,
    /// Distance to land, metres, 0 on it; `None` when the site does not say where land is.
    pub shore_m: Option<f64>,
    /// Distance to the nearest mark, metres.
    pub mark_m: Option<f64>,
    /// The nearest safety boat.
    pub safety: Option<SafetyBoat>,
    /// The other boats.
    pub fleet: Fleet,
    /// Seconds since her last completed gybe; `None` when there was none.
    pub since_gybe_s: Option<f64>,
    /// Whether a person-overboard exercise is declared for her.
    pub drill: bool,
}

impl Surroundings {
    /// The mean wind in m/s, or a moderate one when nothing is known of it.
    pub(crate) fn wind_mps(&self) -> f64 {
        self.wind.and_then(|wind| wind.speed_mps).unwrap_or(UNKNOWN_WIND_MPS)
    }

    /// How the wind of the moment compares with the mean: 1.3 is a gust. 1 when not known.
    pub(crate) fn gust_ratio(&self) -> f64 {
        match self.wind {
            Some(WaterWind { speed_mps: Some(mean), now_mps: Some(now), .. }) if mean > 0.5 => now / mean,
            _ => 1.0,
        }
    }
}

/// Assumed where no wind speed is known: beginners sail in Beaufort 2 to 4 (trade practice, no
/// source); its middle.
pub(crate) const UNKNOWN_WIND_MPS: f64 = 5.0;
