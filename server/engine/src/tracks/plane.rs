//! The session's flat plane: latitude and longitude to metres and back.

use crate::units::{Local, Position, fold};

/// WGS 84 semi-major axis, metres (NIMA TR8350.2, third edition, table 3.1).
const SEMI_MAJOR_M: f64 = 6_378_137.0;

/// WGS 84 flattening (same source: 1/f = 298.257223563).
const FLATTENING: f64 = 1.0 / 298.257_223_563;

/// Radii below this are read as it: at the poles a degree of longitude has no length, and a plane
/// there could not be undone. One metre a degree is at about 89.9995 degrees of latitude.
const METRES_PER_DEG_MIN: f64 = 1.0;

/// A plane touching the WGS 84 ellipsoid at the site's origin.
///
/// East is `dlon * N cos(lat0)`, north is `dlat * M`, with the radii of curvature at the origin.
/// Within 2 km the error is below 1 m up to 70 degrees of latitude, at 5 km and 60 N it is 4 m, at
/// 20 km 62 m (`local_projection.csv` of the tests, against the geodesic): good for one venue, wrong
/// for a passage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    origin: Position,
    metres_per_deg_lat: f64,
    metres_per_deg_lon: f64,
}

impl Plane {
    /// The plane that touches at `origin`.
    pub fn at(origin: Position) -> Plane {
        let eccentricity2 = FLATTENING * (2.0 - FLATTENING);
        let (sin, cos) = origin.lat_deg().to_radians().sin_cos();
        let w2 = 1.0 - eccentricity2 * sin * sin;
        let prime_vertical_m = SEMI_MAJOR_M / w2.sqrt();
        let meridian_m = SEMI_MAJOR_M * (1.0 - eccentricity2) / (w2 * w2.sqrt());
        Plane {
            origin,
            metres_per_deg_lat: meridian_m.to_radians(),
            metres_per_deg_lon: (prime_vertical_m * cos).to_radians().max(METRES_PER_DEG_MIN),
        }
    }

    /// Where the plane touches.
    pub fn origin(&self) -> Position {
        self.origin
    }

    /// Metres of one degree of latitude at the origin.
    pub fn metres_per_deg_lat(&self) -> f64 {
        self.metres_per_deg_lat
    }

    /// Metres of one degree of longitude at the origin.
    pub fn metres_per_deg_lon(&self) -> f64 {
        self.metres_per_deg_lon
    }

    /// `position` on the plane; takes the short way across 180 degrees of longitude.
    pub fn local(&self, position: Position) -> Local {
        Local {
            east_m: fold(position.lon_deg() - self.origin.lon_deg()) * self.metres_per_deg_lon,
            north_m: (position.lat_deg() - self.origin.lat_deg()) * self.metres_per_deg_lat,
        }
    }

    /// The position of a point of the plane; `None` for a point beyond a pole or not finite.
    pub fn position(&self, local: Local) -> Option<Position> {
        let lon_deg = fold(self.origin.lon_deg() + local.east_m / self.metres_per_deg_lon);
        let lat_deg = self.origin.lat_deg() + local.north_m / self.metres_per_deg_lat;
        Position::new(lat_deg, lon_deg)
    }
}
