//! Quantities and frames as types. SI inside; knots and degrees-minutes only at the edges.

/// One knot in metres a second: 1852 m an hour exactly (SI Brochure, BIPM).
pub const KNOT_MPS: f64 = 1852.0 / 3600.0;

/// Metres a second from knots.
pub fn mps_from_kn(speed_kn: f64) -> f64 {
    speed_kn * KNOT_MPS
}

/// Knots from metres a second.
pub fn kn_from_mps(speed_mps: f64) -> f64 {
    speed_mps / KNOT_MPS
}

/// A direction in degrees true, in `0.0..360.0`.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Bearing(f64);

impl Bearing {
    /// Due north.
    pub const NORTH: Bearing = Bearing(0.0);

    /// Wraps any finite angle; `None` for NaN and infinities.
    pub fn from_degrees_true(angle: f64) -> Option<Bearing> {
        let wrapped = turned_into_circle(angle); // may round up to 360.0 for a tiny negative angle
        wrapped.is_finite().then_some(Bearing(if wrapped < 360.0 { wrapped } else { 0.0 }))
    }

    /// As [`Bearing::from_degrees_true`] for an angle that arithmetic on bearings produced; a
    /// non-finite one, which such arithmetic cannot give, reads as north.
    pub(crate) fn wrap(angle: f64) -> Bearing {
        Bearing::from_degrees_true(angle).unwrap_or(Bearing::NORTH)
    }

    /// Degrees true, `0.0..360.0`.
    pub fn deg(self) -> f64 {
        self.0
    }

    /// The opposite direction: where the wind goes, from where it comes.
    #[must_use]
    pub fn reversed(self) -> Bearing {
        Bearing::wrap(self.0 + 180.0)
    }

    /// This direction turned clockwise by `deg` degrees (any finite angle).
    #[must_use]
    pub fn turned(self, deg: f64) -> Bearing {
        Bearing::wrap(self.0 + deg)
    }

    /// The signed turn from `self` to `other`, clockwise positive, in `-180.0..180.0`.
    pub fn turn_to(self, other: Bearing) -> f64 {
        fold(other.0 - self.0)
    }
}

/// Folds any finite angle into `-180.0..180.0`.
pub fn fold(angle_deg: f64) -> f64 {
    let folded = turned_into_circle(angle_deg + 180.0) - 180.0;
    if folded < 180.0 { folded } else { -180.0 }
}

/// As `rem_euclid(360.0)`, without its division for the sums and differences of two directions, which are
/// nearly all that is asked for.
fn turned_into_circle(angle_deg: f64) -> f64 {
    if (0.0..360.0).contains(&angle_deg) {
        angle_deg
    } else if (360.0..720.0).contains(&angle_deg) {
        angle_deg - 360.0
    } else if angle_deg > -360.0 && angle_deg < 0.0 {
        angle_deg + 360.0
    } else {
        angle_deg.rem_euclid(360.0)
    }
}

/// A position on the WGS 84 ellipsoid; latitude in `-90..=90`, longitude in `-180..=180`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Position {
    lat_deg: f64,
    lon_deg: f64,
}

impl Position {
    /// `None` for NaN, infinities, and values out of range.
    pub fn new(lat_deg: f64, lon_deg: f64) -> Option<Position> {
        let sound = (-90.0..=90.0).contains(&lat_deg) && (-180.0..=180.0).contains(&lon_deg);
        sound.then_some(Position { lat_deg, lon_deg })
    }

    /// Degrees north.
    pub fn lat_deg(self) -> f64 {
        self.lat_deg
    }

    /// Degrees east.
    pub fn lon_deg(self) -> f64 {
        self.lon_deg
    }
}

/// A point on the session's flat plane: metres east and north of the site's origin.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Local {
    /// Metres east of the origin.
    pub east_m: f64,
    /// Metres north of the origin.
    pub north_m: f64,
}

impl Local {
    /// Distance to `other` in metres.
    pub fn distance_m(self, other: Local) -> f64 {
        (other.east_m - self.east_m).hypot(other.north_m - self.north_m)
    }

    /// Direction from here to `other`; `None` when they coincide.
    pub fn bearing_to(self, other: Local) -> Option<Bearing> {
        Velocity { east_mps: other.east_m - self.east_m, north_mps: other.north_m - self.north_m }.direction()
    }

    /// Where `velocity` leads in `s` seconds from here.
    #[must_use]
    pub fn after(self, velocity: Velocity, s: f64) -> Local {
        Local { east_m: self.east_m + velocity.east_mps * s, north_m: self.north_m + velocity.north_mps * s }
    }
}

/// A velocity on the flat plane, in metres a second, towards (never "from").
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Velocity {
    /// Eastward, m/s.
    pub east_mps: f64,
    /// Northward, m/s.
    pub north_mps: f64,
}

impl Velocity {
    /// The velocity of `speed_mps` towards `direction`.
    pub fn towards(direction: Bearing, speed_mps: f64) -> Velocity {
        let (sin, cos) = direction.deg().to_radians().sin_cos();
        Velocity { east_mps: speed_mps * sin, north_mps: speed_mps * cos }
    }

    /// Speed in m/s.
    pub fn speed_mps(self) -> f64 {
        self.east_mps.hypot(self.north_mps)
    }

    /// Direction of motion; `None` at rest.
    pub fn direction(self) -> Option<Bearing> {
        (self.east_mps != 0.0 || self.north_mps != 0.0)
            .then(|| Bearing::wrap(self.east_mps.atan2(self.north_mps).to_degrees()))
    }

    /// `self` as seen from something moving at `other`.
    #[must_use]
    pub fn minus(self, other: Velocity) -> Velocity {
        Velocity { east_mps: self.east_mps - other.east_mps, north_mps: self.north_mps - other.north_mps }
    }

    /// The sum of both.
    #[must_use]
    pub fn plus(self, other: Velocity) -> Velocity {
        Velocity { east_mps: self.east_mps + other.east_mps, north_mps: self.north_mps + other.north_mps }
    }

    /// The part of this velocity towards `direction`, in m/s; negative when it goes the other way.
    pub fn along(self, direction: Bearing) -> f64 {
        let (sin, cos) = direction.deg().to_radians().sin_cos();
        self.east_mps * sin + self.north_mps * cos
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tiny_negative_angle_is_north_not_360() {
        assert_eq!(Bearing::from_degrees_true(-1e-300).map(Bearing::deg), Some(0.0));
        assert_eq!(Bearing::from_degrees_true(f64::NAN), None);
    }

    #[test]
    fn a_short_cut_round_the_circle_leads_to_the_same_place() {
        for quarter in -4000..4000 {
            let angle = 0.25 * f64::from(quarter) + 1e-9;
            assert_eq!(turned_into_circle(angle), angle.rem_euclid(360.0), "{angle}");
        }
        for angle in [-1e-300, -1e-13, 0.0, 359.999_999_999_999_94, 360.0, -360.0, 720.0, -0.0] {
            assert_eq!(turned_into_circle(angle), angle.rem_euclid(360.0), "{angle}");
        }
    }

    #[test]
    fn turns_take_the_short_way() {
        for (from, to, turn) in [(350.0, 10.0, 20.0), (10.0, 350.0, -20.0), (0.0, 180.0, -180.0)] {
            let (from, to) = (Bearing::wrap(from), Bearing::wrap(to));
            assert_eq!(from.turn_to(to), turn, "{from:?} to {to:?}");
        }
    }
}
