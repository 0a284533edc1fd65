//! Plane geometry of one polygon with holes, and of several taken as one.

use crate::{
    units::{Local, Velocity},
    venue::Margin,
};

/// Nearer to an edge than this, in metres, a point lies on it. It absorbs rounding, nothing else.
const ON_EDGE_M: f64 = 1e-6;

/// Meetings of a course with edges closer in time than this, in seconds, are one meeting: a course
/// through a corner meets two edges at moments that differ by rounding only.
const ONE_MEETING_S: f64 = 1e-6;

/// How far to each side of a piece of edge one looks to learn whether it divides inside from
/// outside, in metres. Areas drawn side by side with a smaller gap than this are joined.
const LOOK_ASIDE_M: f64 = 0.02;

/// A straight piece of boundary, with what every distance needs computed once.
#[derive(Clone, Copy, Debug)]
struct Edge {
    start: Local,
    east_m: f64,
    north_m: f64,
    per_length_squared: f64,
    east_per_north: f64,
}

impl Edge {
    /// `None` for two points that coincide.
    fn between(start: Local, end: Local) -> Option<Edge> {
        let (east_m, north_m) = (end.east_m - start.east_m, end.north_m - start.north_m);
        let length_squared = east_m * east_m + north_m * north_m;
        (length_squared > 0.0).then(|| Edge {
            start,
            east_m,
            north_m,
            per_length_squared: 1.0 / length_squared,
            east_per_north: east_m / north_m, // infinite on a level edge, which no ray test reads
        })
    }

    fn point(&self, share: f64) -> Local {
        Local {
            east_m: self.start.east_m + share * self.east_m,
            north_m: self.start.north_m + share * self.north_m,
        }
    }

    /// Where along the edge, 0..=1, the point nearest to `at` lies.
    #[inline]
    fn nearest_share(&self, at: Local) -> f64 {
        let (east, north) = (at.east_m - self.start.east_m, at.north_m - self.start.north_m);
        ((east * self.east_m + north * self.north_m) * self.per_length_squared).clamp(0.0, 1.0)
    }

    #[inline]
    fn distance_squared(&self, at: Local) -> f64 {
        let near = self.point(self.nearest_share(at));
        let (east, north) = (at.east_m - near.east_m, at.north_m - near.north_m);
        east * east + north * north
    }

    /// Whether a ray from `at` towards the east crosses the edge; each end belongs to one edge only.
    #[inline]
    fn under_ray(&self, at: Local) -> bool {
        let from_start = at.north_m - self.start.north_m;
        let straddles = (from_start < 0.0) != (from_start < self.north_m);
        straddles && at.east_m - self.start.east_m < from_start * self.east_per_north
    }

    /// When something at `from` moving at `velocity` meets the edge, seconds; `None` for never, for
    /// the past, and for a course parallel to the edge (its neighbours are met instead).
    fn met_after_s(&self, from: Local, velocity: Velocity) -> Option<f64> {
        let cross = velocity.east_mps * self.north_m - velocity.north_mps * self.east_m;
        let (east, north) = (self.start.east_m - from.east_m, self.start.north_m - from.north_m);
        let after_s = (east * self.north_m - north * self.east_m) / cross;
        let share = (east * velocity.north_mps - north * velocity.east_mps) / cross;
        let slack = ON_EDGE_M * self.per_length_squared.sqrt();
        (after_s >= 0.0 && share >= -slack && share <= 1.0 + slack).then_some(after_s)
    }
}

/// West, south, east and north limits of something, metres.
#[derive(Clone, Copy, Debug)]
struct Bounds {
    west_m: f64,
    south_m: f64,
    east_m: f64,
    north_m: f64,
}

impl Bounds {
    fn of(edges: &[Edge]) -> Bounds {
        let none = Bounds {
            west_m: f64::INFINITY,
            south_m: f64::INFINITY,
            east_m: f64::NEG_INFINITY,
            north_m: f64::NEG_INFINITY,
        };
        edges.iter().fold(none, |bounds, edge| Bounds {
            west_m: bounds.west_m.min(edge.start.east_m),
            south_m: bounds.south_m.min(edge.start.north_m),
            east_m: bounds.east_m.max(edge.start.east_m),
            north_m: bounds.north_m.max(edge.start.north_m),
        })
    }

    /// Distance to the box, metres; 0 inside it. Never more than the distance to what it holds.
    fn distance_m(&self, at: Local) -> f64 {
        let east = (self.west_m - at.east_m).max(at.east_m - self.east_m);
        let north = (self.south_m - at.north_m).max(at.north_m - self.north_m);
        east.max(0.0).hypot(north.max(0.0))
    }

    fn overlaps(&self, other: &Bounds) -> bool {
        self.west_m <= other.east_m + LOOK_ASIDE_M
            && other.west_m <= self.east_m + LOOK_ASIDE_M
            && self.south_m <= other.north_m + LOOK_ASIDE_M
            && other.south_m <= self.north_m + LOOK_ASIDE_M
    }
}

/// One polygon with its holes. A point on its boundary counts as inside.
#[derive(Clone, Debug)]
pub struct Region {
    edges: Vec<Edge>,
    bounds: Bounds,
}

impl Region {
    /// From rings of corners, closed or not, wound either way; the first is the outside, the others
    /// are holes. `None` when no ring has an edge.
    pub fn from_rings(rings: &[Vec<Local>]) -> Option<Region> {
        let mut edges = Vec::new();
        for ring in rings {
            let ends = ring.iter().cycle().skip(1);
            edges.extend(ring.iter().zip(ends).filter_map(|(start, end)| Edge::between(*start, *end)));
        }
        let bounds = Bounds::of(&edges);
        (!edges.is_empty()).then_some(Region { edges, bounds })
    }

    /// Points of it, on a grid of so many lines each way.
    pub(super) fn grid(&self, lines: u8) -> impl Iterator<Item = Local> {
        let Bounds { west_m, south_m, east_m, north_m } = self.bounds;
        let share = move |line: u8| (f64::from(line) + 0.5) / f64::from(lines);
        let point = move |east: u8, north: u8| Local {
            east_m: west_m + share(east) * (east_m - west_m),
            north_m: south_m + share(north) * (north_m - south_m),
        };
        (0..lines)
            .flat_map(move |east| (0..lines).map(move |north| point(east, north)))
            .filter(|at| self.contains(*at))
    }

    /// How `at` lies to the boundary.
    pub fn margin(&self, at: Local) -> Margin {
        margin(&self.edges, at, self.odd(at))
    }

    /// Distance to the region's box, metres: never more than the distance to the region itself.
    pub(super) fn at_least_m(&self, at: Local) -> f64 {
        self.bounds.distance_m(at)
    }

    /// Whether `at` is inside or on the boundary.
    pub fn contains(&self, at: Local) -> bool {
        self.contains_within(at, ON_EDGE_M)
    }

    fn contains_within(&self, at: Local, slack_m: f64) -> bool {
        self.bounds.distance_m(at) <= slack_m
            && (self.odd(at) || self.edges.iter().any(|edge| edge.distance_squared(at) <= slack_m * slack_m))
    }

    /// The moments, in seconds from now, at which something at `from` moving at `velocity` truly
    /// changes sides, soonest first, each with whether it is inside afterwards. Touching an edge or
    /// a corner is no change.
    pub fn changes(&self, from: Local, velocity: Velocity) -> Vec<(f64, bool)> {
        changes(&self.edges, |at| self.contains(at), from, velocity)
    }

    /// Odd number of edges east of `at`: inside, for a point that is not on an edge.
    fn odd(&self, at: Local) -> bool {
        self.edges.iter().fold(false, |odd, edge| odd ^ edge.under_ray(at))
    }
}

/// Several regions taken as one: edges that have the union on both sides are no boundary.
#[derive(Clone, Debug, Default)]
pub struct Union {
    regions: Vec<Region>,
    border: Vec<Edge>,
}

impl Union {
    /// Regions may overlap, share edges or lie apart.
    pub fn of(regions: Vec<Region>) -> Union {
        let mut union = Union { border: Vec::new(), regions };
        union.border = union
            .regions
            .iter()
            .enumerate()
            .flat_map(|(ix, region)| union.outer_pieces(ix, region))
            .collect();
        union
    }

    /// `true` when there is no region at all.
    pub fn is_empty(&self) -> bool {
        self.regions.is_empty()
    }

    /// Whether `at` is in any region or on a boundary.
    pub fn contains(&self, at: Local) -> bool {
        self.regions.iter().any(|region| region.contains(at))
    }

    /// How `at` lies to the union's boundary; `None` when there is no region.
    pub fn margin(&self, at: Local) -> Option<Margin> {
        if self.border.is_empty() {
            return None;
        }
        let inside = self.regions.iter().any(|region| region.odd(at));
        let found = margin(&self.border, at, inside);
        // On the seam of two areas a point is in neither, and yet no edge is near.
        let on_seam = |found: &Margin| {
            !inside
                && found.signed_m < -LOOK_ASIDE_M
                && self.regions.len() > 1
                && self.regions.iter().any(|region| region.contains_within(at, LOOK_ASIDE_M))
        };
        Some(if on_seam(&found) { Margin { signed_m: -found.signed_m, ..found } } else { found })
    }

    /// As [`Region::changes`].
    pub fn changes(&self, from: Local, velocity: Velocity) -> Vec<(f64, bool)> {
        changes(&self.border, |at| self.contains(at), from, velocity)
    }

    /// The pieces of one region's edges that divide the union from what is outside it.
    fn outer_pieces(&self, ix: usize, region: &Region) -> Vec<Edge> {
        let others: Vec<&Region> = self
            .regions
            .iter()
            .enumerate()
            .filter(|(other_ix, other)| *other_ix != ix && other.bounds.overlaps(&region.bounds))
            .map(|(_, other)| other)
            .collect();
        if others.is_empty() {
            return region.edges.clone();
        }
        let mut pieces = Vec::new();
        for edge in &region.edges {
            let cuts = cuts(edge, &others);
            for pair in cuts.windows(2) {
                let piece = Edge::between(edge.point(pair[0]), edge.point(pair[1]));
                pieces.extend(piece.filter(|piece| self.divides(piece)));
            }
        }
        pieces
    }

    fn divides(&self, piece: &Edge) -> bool {
        let middle = piece.point(0.5);
        let per_m = piece.per_length_squared.sqrt() * LOOK_ASIDE_M;
        let beside = |side: f64| Local {
            east_m: middle.east_m + side * piece.north_m * per_m,
            north_m: middle.north_m - side * piece.east_m * per_m,
        };
        self.contains(beside(1.0)) != self.contains(beside(-1.0))
    }
}

/// Where `edge` has to be cut so that each piece lies wholly in, out of, or along every other region.
fn cuts(edge: &Edge, others: &[&Region]) -> Vec<f64> {
    let along = Velocity { east_mps: edge.east_m, north_mps: edge.north_m };
    let mut cuts = vec![0.0, 1.0];
    for other in others.iter().flat_map(|region| &region.edges) {
        cuts.extend(other.met_after_s(edge.start, along).filter(|cut| *cut < 1.0));
        // An edge drawn along this one is parallel to it and never met; its end is where it stops.
        let share = edge.nearest_share(other.start);
        if edge.distance_squared(other.start) <= LOOK_ASIDE_M * LOOK_ASIDE_M {
            cuts.push(share);
        }
    }
    cuts.sort_by(f64::total_cmp);
    cuts.dedup();
    cuts
}

fn margin(edges: &[Edge], at: Local, odd: bool) -> Margin {
    let mut best = (f64::INFINITY, 0);
    for (ix, edge) in edges.iter().enumerate() {
        let distance = edge.distance_squared(at);
        if distance < best.0 {
            best = (distance, ix);
        }
    }
    let nearest = edges.get(best.1).map_or(at, |edge| edge.point(edge.nearest_share(at)));
    let distance_m = best.0.sqrt();
    Margin {
        signed_m: match (distance_m <= ON_EDGE_M, odd) {
            (true, _) => 0.0,
            (false, true) => distance_m,
            (false, false) => -distance_m,
        },
        nearest,
    }
}

fn changes(
    edges: &[Edge],
    inside: impl Fn(Local) -> bool,
    from: Local,
    velocity: Velocity,
) -> Vec<(f64, bool)> {
    let mut met: Vec<f64> = edges.iter().filter_map(|edge| edge.met_after_s(from, velocity)).collect();
    met.sort_by(f64::total_cmp);
    met.dedup_by(|later, earlier| *later - *earlier < ONE_MEETING_S);
    let mut was_inside = inside(from);
    let mut changes = Vec::new();
    for (ix, after_s) in met.iter().enumerate() {
        let until_s = met.get(ix + 1).copied().unwrap_or(after_s + 2.0);
        let is_inside = inside(from.after(velocity, (after_s + until_s) / 2.0));
        if is_inside != was_inside {
            changes.push((*after_s, is_inside));
            was_inside = is_inside;
        }
    }
    changes
}
