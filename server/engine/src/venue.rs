//! The water: sailing areas, no-go zones, landing places, marks. Inside or out, and how far.

use crate::units::{Local, Position};

/// What a zone of the site is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ZoneKind {
    /// Boats belong here. Several together are one area.
    SailingArea,
    /// Boats must not be here.
    NoGo,
    /// Where boats come ashore; stops here are no trouble.
    Landing,
    /// Land, for the chart.
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

/// How a point lies to a zone, in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// Distance to the nearest edge: positive inside, negative outside, 0 on it.
    pub signed_m: f64,
}

/// The site laid out on the plane.
#[derive(Clone, Debug, Default)]
pub struct Venue {}

impl Venue {
    /// Whether `at` is inside a landing place, or within `margin_m` of one.
    pub fn near_landing(&self, at: Local, margin_m: f64) -> bool {
        let (_, _) = (at, margin_m);
        false
    }
}
