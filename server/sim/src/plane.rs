//! The flat water the simulation happens on: metres east and north of the site's origin.

/// A vector on the plane, metres or metres per second.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Vec2 {
    pub(crate) east: f64,
    pub(crate) north: f64,
}

impl Vec2 {
    pub(crate) fn new(east: f64, north: f64) -> Vec2 {
        Vec2 { east, north }
    }

    /// `length` along the true bearing `towards_deg`.
    pub(crate) fn along(towards_deg: f64, length: f64) -> Vec2 {
        let (sin, cos) = towards_deg.to_radians().sin_cos();
        Vec2::new(length * sin, length * cos)
    }

    pub(crate) fn length(self) -> f64 {
        self.east.hypot(self.north)
    }

    /// The true bearing it points to, `0.0..360.0`; 0 for the zero vector.
    pub(crate) fn bearing_deg(self) -> f64 {
        wrap_360(self.east.atan2(self.north).to_degrees())
    }

    pub(crate) fn dot(self, other: Vec2) -> f64 {
        self.east * other.east + self.north * other.north
    }

    /// Turned clockwise, seen from above.
    pub(crate) fn turned(self, clockwise_deg: f64) -> Vec2 {
        let (sin, cos) = clockwise_deg.to_radians().sin_cos();
        Vec2::new(self.east * cos + self.north * sin, self.north * cos - self.east * sin)
    }

    /// Length 1, or north for the zero vector.
    pub(crate) fn unit(self) -> Vec2 {
        let length = self.length();
        if length < 1e-9 { Vec2::new(0.0, 1.0) } else { self * (1.0 / length) }
    }
}

impl std::ops::Add for Vec2 {
    type Output = Vec2;
    fn add(self, other: Vec2) -> Vec2 {
        Vec2::new(self.east + other.east, self.north + other.north)
    }
}
impl std::ops::Sub for Vec2 {
    type Output = Vec2;
    fn sub(self, other: Vec2) -> Vec2 {
        Vec2::new(self.east - other.east, self.north - other.north)
    }
}
impl std::ops::Mul<f64> for Vec2 {
    type Output = Vec2;
    fn mul(self, by: f64) -> Vec2 {
        Vec2::new(self.east * by, self.north * by)
    }
}
impl std::ops::AddAssign for Vec2 {
    fn add_assign(&mut self, other: Vec2) {
        *self = *self + other;
    }
}

/// Any angle to `0.0..360.0`.
pub(crate) fn wrap_360(angle_deg: f64) -> f64 {
    let wrapped = angle_deg.rem_euclid(360.0);
    if wrapped < 360.0 { wrapped } else { 0.0 }
}

/// Any angle to `-180.0..180.0`.
pub(crate) fn fold_180(angle_deg: f64) -> f64 {
    wrap_360(angle_deg + 180.0) - 180.0
}

/// Knots from metres per second (1 kn = 1852 m/h exactly).
pub(crate) fn kn(mps: f64) -> f64 {
    mps * 3600.0 / 1852.0
}

/// Metres per second from knots.
pub(crate) fn mps(kn: f64) -> f64 {
    kn * 1852.0 / 3600.0
}

/// Where the plane lies on the globe. Metres per degree from the WGS 84 ellipsoid radii at the origin,
/// good to a metre at 5 km, which is past every site here.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Chart {
    lat_deg: f64,
    lon_deg: f64,
    metres_per_lat: f64,
    metres_per_lon: f64,
}

impl Chart {
    pub(crate) fn at(lat_deg: f64, lon_deg: f64) -> Chart {
        let (a, e2) = (6_378_137.0_f64, 0.006_694_379_990_14_f64);
        let (sin, cos) = lat_deg.to_radians().sin_cos();
        let w2 = 1.0 - e2 * sin * sin;
        let meridian = a * (1.0 - e2) / (w2 * w2.sqrt());
        let normal = a / w2.sqrt();
        let per_deg = std::f64::consts::PI / 180.0;
        Chart { lat_deg, lon_deg, metres_per_lat: meridian * per_deg, metres_per_lon: normal * cos * per_deg }
    }

    /// Latitude and longitude in degrees.
    pub(crate) fn lat_lon(&self, at: Vec2) -> (f64, f64) {
        (self.lat_deg + at.north / self.metres_per_lat, self.lon_deg + at.east / self.metres_per_lon)
    }

    /// The plane point of a latitude and longitude in degrees.
    pub(crate) fn plane(&self, lat_deg: f64, lon_deg: f64) -> Vec2 {
        Vec2::new(
            (lon_deg - self.lon_deg) * self.metres_per_lon,
            (lat_deg - self.lat_deg) * self.metres_per_lat,
        )
    }
}

/// A ring of corners, not closed (the last is joined to the first).
#[derive(Clone, Debug)]
pub(crate) struct Ring(pub(crate) Vec<Vec2>);

impl Ring {
    /// Even-odd rule.
    pub(crate) fn holds(&self, at: Vec2) -> bool {
        let mut inside = false;
        for (a, b) in self.edges() {
            let crosses = (a.north > at.north) != (b.north > at.north);
            if crosses && at.east < a.east + (at.north - a.north) / (b.north - a.north) * (b.east - a.east) {
                inside = !inside;
            }
        }
        inside
    }

    /// Distance to the nearest edge, metres; positive inside, negative outside.
    pub(crate) fn margin(&self, at: Vec2) -> f64 {
        let mut least = f64::INFINITY;
        for (a, b) in self.edges() {
            let along = b - a;
            let share = ((at - a).dot(along) / along.dot(along)).clamp(0.0, 1.0);
            least = least.min((at - (a + along * share)).length());
        }
        if self.holds(at) { least } else { -least }
    }

    pub(crate) fn centre(&self) -> Vec2 {
        let sum = self.0.iter().fold(Vec2::default(), |sum, corner| sum + *corner);
        sum * (1.0 / self.0.len().max(1) as f64)
    }

    fn edges(&self) -> impl Iterator<Item = (Vec2, Vec2)> + '_ {
        let n = self.0.len();
        (0..n).map(move |i| (self.0[i], self.0[(i + 1) % n]))
    }
}
