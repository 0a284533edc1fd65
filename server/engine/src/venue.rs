//! The water: sailing areas, no-go zones, landing places, marks. Inside or out, and how far.

mod region;

pub use region::{Region, Union};

use crate::units::{Bearing, Local, Position, Velocity};

/// A point of a landing place this deep in the land is on it, metres: a shore that is a mere line has none.
const ON_LAND_M: f64 = 1.0;
/// A landing place is looked at on a grid of so many lines each way.
const BEACH_GRID: u8 = 16;

/// What a zone of the site is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ZoneKind {
    /// Boats belong here. Several together are one area.
    SailingArea,
    /// Boats must not be here.
    NoGo,
    /// Where boats come ashore; stops here are no trouble.
    Landing,
    /// Land.
    Shore,
}

/// One area of the site file: polygons with holes, in latitude and longitude.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// What for.
    pub kind: ZoneKind,
    /// As people call it.
    pub name: String,
    /// One or more polygons; in each the first ring is the outside, the others are holes. Rings are
    /// closed: first and last position are equal.
    pub polygons: Vec<Vec<Vec<Position>>>,
}

/// A buoy or post of the exercise.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// As people call it.
    pub name: String,
    /// Where.
    pub position: Position,
}

/// The site as the set-up file describes it, checked by the shell.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Site {
    /// Areas of every kind.
    pub zones: Vec<Zone>,
    /// Marks.
    pub marks: Vec<Mark>,
}

/// How a point lies to a zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// Distance to the nearest edge, metres: positive inside, negative outside, 0 on it.
    pub signed_m: f64,
    /// The point of the boundary that is nearest.
    pub nearest: Local,
}

impl Margin {
    /// On which side of the zone the nearest edge lies, as one looks from inside out: the way out
    /// for a point inside, the way the point has gone for one outside. `None` on the edge itself.
    pub fn edge_side(&self, at: Local) -> Option<Bearing> {
        if self.signed_m > 0.0 { at.bearing_to(self.nearest) } else { self.nearest.bearing_to(at) }
    }
}

/// One named zone on the plane.
#[derive(Clone, Debug)]
struct Place {
    name: String,
    regions: Vec<Region>,
}

impl Place {
    fn contains(&self, at: Local) -> bool {
        self.regions.iter().any(|region| region.contains(at))
    }

    fn within(&self, at: Local, margin_m: f64) -> bool {
        self.regions
            .iter()
            .any(|region| region.at_least_m(at) <= margin_m && region.margin(at).signed_m >= -margin_m)
    }
}

/// The site laid out on the plane. A point on a boundary counts as inside, for every kind of zone.
#[derive(Clone, Debug, Default)]
pub struct Venue {
    area: Union,
    /// Where boats may be: sailing areas and landing places together.
    allowed: Union,
    no_go: Vec<Place>,
    landing: Vec<Place>,
    /// Landing places of which a part is land: there water and land are told apart.
    beaches: Vec<Place>,
    shore: Vec<Place>,
    marks: Vec<(String, Local)>,
}

impl Venue {
    /// Lays `site` out on the plane; `local` takes a position to it.
    pub fn lay_out(site: &Site, local: impl Fn(Position) -> Local) -> Venue {
        let places = |kind: ZoneKind| -> Vec<Place> {
            let of_kind = site.zones.iter().filter(|zone| zone.kind == kind);
            of_kind.map(|zone| place(zone, &local)).collect()
        };
        let regions = |kind: ZoneKind| -> Vec<Region> {
            places(kind).into_iter().flat_map(|place| place.regions).collect()
        };
        let shore = places(ZoneKind::Shore);
        let is_beach = |place: &Place| {
            let mut points = place.regions.iter().flat_map(|region| region.grid(BEACH_GRID));
            points.any(|at| inland_m(&shore, at) > ON_LAND_M)
        };
        let areas = regions(ZoneKind::SailingArea);
        let landings = regions(ZoneKind::Landing);
        let is_bounded = !areas.is_empty();
        let allowed = areas.iter().cloned().chain(landings).filter(|_| is_bounded);
        Venue {
            allowed: Union::of(allowed.collect()),
            area: Union::of(areas),
            no_go: places(ZoneKind::NoGo),
            beaches: places(ZoneKind::Landing).into_iter().filter(is_beach).collect(),
            landing: places(ZoneKind::Landing),
            shore,
            marks: site.marks.iter().map(|mark| (mark.name.clone(), local(mark.position))).collect(),
        }
    }

    /// How `at` lies to the sailing areas taken together; `None` when the site has none.
    pub fn area_margin(&self, at: Local) -> Option<Margin> {
        self.area.margin(at)
    }

    /// How `at` lies to the water where boats may be: sailing areas and landing places together;
    /// `None` when the site has no sailing area.
    pub fn allowed_margin(&self, at: Local) -> Option<Margin> {
        self.allowed.margin(at)
    }

    /// Whether `at` is in a sailing area.
    pub fn in_area(&self, at: Local) -> bool {
        self.area.contains(at)
    }

    /// How `at` lies to the no-go zone it is deepest in or nearest to, and that zone's name; `None`
    /// when the site has none.
    pub fn no_go_margin(&self, at: Local) -> Option<(Margin, &str)> {
        let mut nearest: Option<(Margin, &str)> = None;
        for place in &self.no_go {
            for region in &place.regions {
                let best_m = nearest.map_or(f64::NEG_INFINITY, |(margin, _)| margin.signed_m);
                if -region.at_least_m(at) < best_m {
                    continue;
                }
                let margin = region.margin(at);
                if margin.signed_m > best_m {
                    nearest = Some((margin, &place.name));
                }
            }
        }
        nearest
    }

    /// In how many seconds something at `from` moving at `velocity` leaves sailing areas and landing
    /// places; `None` when it never does, is outside already, or the site has no sailing area.
    pub fn leaves_after_s(&self, from: Local, velocity: Velocity) -> Option<f64> {
        let first = self.allowed.changes(from, velocity).into_iter().next();
        first.and_then(|(after_s, inside)| (!inside).then_some(after_s))
    }

    /// In how many seconds something at `from` moving at `velocity` enters the first no-go zone on
    /// its way, and that zone's name; `None` when it never does or is inside one already.
    pub fn enters_no_go_after_s(&self, from: Local, velocity: Velocity) -> Option<(f64, &str)> {
        if self.no_go.iter().any(|place| place.contains(from)) {
            return None;
        }
        let entries = self.no_go.iter().flat_map(|place| {
            let firsts = place.regions.iter().filter_map(move |region| {
                let first = region.changes(from, velocity).into_iter().next();
                first.map(|(after_s, _)| after_s)
            });
            firsts.map(|after_s| (after_s, place.name.as_str()))
        });
        entries.min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Whether `at` is inside a landing place.
    pub fn in_landing(&self, at: Local) -> bool {
        self.landing.iter().any(|place| place.contains(at))
    }

    /// Whether `at` is inside a landing place, or within `margin_m` metres of one.
    pub fn near_landing(&self, at: Local, margin_m: f64) -> bool {
        self.landing.iter().any(|place| place.within(at, margin_m))
    }

    /// Metres from `at` to the nearest landing place, 0 inside; `None` when the site has none.
    pub fn landing_distance_m(&self, at: Local) -> Option<f64> {
        distance_m(&self.landing, at)
    }

    /// Metres from `at` to land, 0 on it; `None` when the site does not say where land is.
    pub fn shore_distance_m(&self, at: Local) -> Option<f64> {
        distance_m(&self.shore, at)
    }

    /// Whether `at` is on land as the site file draws it.
    pub fn on_shore(&self, at: Local) -> bool {
        self.shore.iter().any(|place| place.contains(at))
    }

    /// Whether `at` is in the water of a landing place, or within `margin_m` metres of it, and farther than that from land.
    /// Only a landing place drawn partly on land tells; of another nobody knows what is water.
    pub fn off_beach(&self, at: Local, margin_m: f64) -> bool {
        self.beaches.iter().any(|place| place.within(at, margin_m))
            && self.shore_distance_m(at).is_some_and(|shore_m| shore_m > margin_m)
    }

    /// Whether the site says where land is.
    pub fn has_shore(&self) -> bool {
        !self.shore.is_empty()
    }

    /// Whether the site says where boats come ashore.
    pub fn has_landing(&self) -> bool {
        !self.landing.is_empty()
    }

    /// The marks of the site file, in its order.
    pub fn marks(&self) -> &[(String, Local)] {
        &self.marks
    }
}

fn place(zone: &Zone, local: &impl Fn(Position) -> Local) -> Place {
    let on_plane = |rings: &Vec<Vec<Position>>| -> Vec<Vec<Local>> {
        let ring = |ring: &Vec<Position>| ring.iter().map(|at| local(*at)).collect();
        rings.iter().map(ring).collect()
    };
    Place {
        name: zone.name.clone(),
        regions: zone.polygons.iter().filter_map(|rings| Region::from_rings(&on_plane(rings))).collect(),
    }
}

/// How deep `at` lies in the one of `places` it is deepest in, metres; not above 0 outside, and in none of a mere line.
fn inland_m(places: &[Place], at: Local) -> f64 {
    let regions = places.iter().flat_map(|place| &place.regions);
    regions.map(|region| region.margin(at).signed_m).fold(f64::NEG_INFINITY, f64::max)
}

/// Metres from `at` to the nearest of `places`, 0 inside; `None` when there is none.
fn distance_m(places: &[Place], at: Local) -> Option<f64> {
    let regions = places.iter().flat_map(|place| &place.regions);
    regions.map(|region| (-region.margin(at).signed_m).max(0.0)).min_by(f64::total_cmp)
}
