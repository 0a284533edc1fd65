//! The geometry that a site's rings are checked with, in degrees or in metres.

use dunlin_engine::units::Position;

/// Metres of one degree of latitude, near enough for checks of size (WGS 84 gives 110.6 to 111.7 km).
const DEGREE_M: f64 = 111_200.0;

/// Degrees of longitude from `a` to `b`, the short way round, so that a site at 180° is one place.
fn lon_span(a: Position, b: Position) -> f64 {
    let span = b.lon_deg() - a.lon_deg();
    (span + 180.0).rem_euclid(360.0) - 180.0
}

/// Metres east and north from `a` to `b`; good to a few per cent over 100 km, which is all that the
/// size limit needs.
pub fn metres(a: Position, b: Position) -> (f64, f64) {
    let middle = ((a.lat_deg() + b.lat_deg()) / 2.0).to_radians();
    (lon_span(a, b) * DEGREE_M * middle.cos(), (b.lat_deg() - a.lat_deg()) * DEGREE_M)
}

/// The distance between two positions in metres on a sphere of 6371 km, by the haversine formula;
/// within 0.6 % of the ellipsoid anywhere.
pub fn distance_m(a: Position, b: Position) -> f64 {
    let half = |deg: f64| (deg.to_radians() / 2.0).sin().powi(2);
    let cosines = a.lat_deg().to_radians().cos() * b.lat_deg().to_radians().cos();
    let h = half(b.lat_deg() - a.lat_deg()) + cosines * half(b.lon_deg() - a.lon_deg());
    2.0 * 6_371_000.0 * h.min(1.0).sqrt().asin()
}

/// The diagonal of the box around `points`, in metres; 0 for fewer than two.
pub fn extent_m(points: &[Position]) -> f64 {
    let Some(first) = points.first() else {
        return 0.0;
    };
    let (mut west, mut east, mut south, mut north) = (0.0_f64, 0.0_f64, 0.0_f64, 0.0_f64);
    for point in points {
        let (e, n) = metres(*first, *point);
        west = west.min(e);
        east = east.max(e);
        south = south.min(n);
        north = north.max(n);
    }
    (east - west).hypot(north - south)
}

/// Where a closed ring crosses itself: the places in the ring of the two edges' first corners.
/// `None` when it does not. Corners that merely touch another edge do not count: inside and outside
/// are still told apart there.
pub fn crossing(ring: &[Position]) -> Option<(usize, usize)> {
    let origin = *ring.first()?;
    let flat: Vec<(f64, f64)> = ring.iter().map(|p| metres(origin, *p)).collect();
    let mut edges: Vec<usize> = (0..flat.len().saturating_sub(1)).collect();
    let low = |edge: usize| flat[edge].0.min(flat[edge + 1].0);
    let high = |edge: usize| flat[edge].0.max(flat[edge + 1].0);
    // From west to east, each edge needs comparing only with those that begin before it ends.
    edges.sort_by(|a, b| low(*a).total_cmp(&low(*b)));
    let mut first: Option<(usize, usize)> = None;
    for (place, edge) in edges.iter().enumerate() {
        for other in &edges[place + 1..] {
            if low(*other) > high(*edge) {
                break;
            }
            let cross = properly_cross((flat[*edge], flat[*edge + 1]), (flat[*other], flat[*other + 1]));
            if cross {
                let pair = (*edge.min(other), *edge.max(other));
                first = Some(first.map_or(pair, |known| known.min(pair)));
            }
        }
    }
    first
}

type Edge = ((f64, f64), (f64, f64));

fn properly_cross(a: Edge, b: Edge) -> bool {
    let side = |edge: Edge, point: (f64, f64)| {
        let ((x0, y0), (x1, y1)) = edge;
        (x1 - x0) * (point.1 - y0) - (y1 - y0) * (point.0 - x0)
    };
    let apart = |edge: Edge, other: Edge| side(edge, other.0) * side(edge, other.1) < 0.0;
    apart(a, b) && apart(b, a)
}

/// The centre of the area of a closed ring; of its corners when it has no area. `None` when empty.
pub fn centroid(ring: &[Position]) -> Option<Position> {
    let origin = *ring.first()?;
    let flat: Vec<(f64, f64)> = ring.iter().map(|p| metres(origin, *p)).collect();
    let (mut twice_area, mut east, mut north) = (0.0, 0.0, 0.0);
    for pair in flat.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        let cross = x0 * y1 - x1 * y0;
        twice_area += cross;
        east += (x0 + x1) * cross;
        north += (y0 + y1) * cross;
    }
    let (east, north) = if twice_area.abs() > 1e-6 {
        (east / (3.0 * twice_area), north / (3.0 * twice_area))
    } else {
        let count = flat.len() as f64;
        let sum = flat.iter().fold((0.0, 0.0), |s, p| (s.0 + p.0, s.1 + p.1));
        (sum.0 / count, sum.1 / count)
    };
    let lat = origin.lat_deg() + north / DEGREE_M;
    let middle = ((origin.lat_deg() + lat) / 2.0).to_radians();
    Position::new(lat, origin.lon_deg() + east / (DEGREE_M * middle.cos()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64)]) -> Vec<Position> {
        corners
            .iter()
            .map(|(lon, lat)| Position::new(*lat, *lon).expect("corners of tests are on the earth"))
            .collect()
    }

    #[test]
    fn rings_that_cross_themselves_are_found() {
        let square = [(0.0, 50.0), (0.01, 50.0), (0.01, 50.01), (0.0, 50.01), (0.0, 50.0)];
        let bow_tie = [(0.0, 50.0), (0.01, 50.01), (0.01, 50.0), (0.0, 50.01), (0.0, 50.0)];
        let pinched = [
            (0.0, 50.0),
            (0.01, 50.0),
            (0.005, 50.005),
            (0.01, 50.01),
            (0.0, 50.01),
            (0.005, 50.005),
            (0.0, 50.0),
        ];
        for (corners, expected) in [
            (&square[..], None),
            (&bow_tie[..], Some((0, 2))),
            (&pinched[..], None), // touching in a point: inside is still known everywhere
        ] {
            assert_eq!(crossing(&ring(corners)), expected, "{corners:?}");
        }
    }

    #[test]
    fn a_site_on_the_date_line_is_small() {
        let extent = extent_m(&ring(&[(179.99, -17.0), (-179.99, -17.01)]));
        assert!((2_000.0..3_000.0).contains(&extent), "{extent}");
    }

    #[test]
    fn the_centre_of_a_square_is_its_middle() {
        let square = ring(&[(0.0, 50.0), (0.01, 50.0), (0.01, 50.01), (0.0, 50.01), (0.0, 50.0)]);
        let centre = centroid(&square).expect("a square has one");
        let middle = Position::new(50.005, 0.005).expect("on the earth");
        assert!(distance_m(centre, middle) < 1.0, "{centre:?}");
    }
}
