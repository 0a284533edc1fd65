//! Points of sailing, with a margin so that a boat on the border does not flicker.

use crate::moment::Moment;

/// A point of sailing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Point {
    /// Closer to the wind than any sail draws.
    HeadToWind,
    /// As close as she will sail.
    CloseHauled,
    /// Wind about abeam.
    Reach,
    /// Wind over the quarter.
    BroadReach,
    /// Wind from astern.
    Run,
}

impl Point {
    /// `head-to-wind`, `close-hauled`, `reach`, `broad-reach`, `run`.
    pub fn word(self) -> &'static str {
        match self {
            Point::HeadToWind => "head-to-wind",
            Point::CloseHauled => "close-hauled",
            Point::Reach => "reach",
            Point::BroadReach => "broad-reach",
            Point::Run => "run",
        }
    }

    /// Between which angles off the wind it lies, degrees. Close-hauled is about 45 with a no-go
    /// sector inside it, a broad reach about 135, a run 180 (`wind.md`, common practice); the
    /// borders between are halfway.
    fn bounds(self) -> (f64, f64) {
        match self {
            Point::HeadToWind => (0.0, 30.0),
            Point::CloseHauled => (30.0, 62.0),
            Point::Reach => (62.0, 112.0),
            Point::BroadReach => (112.0, 160.0),
            Point::Run => (160.0, 180.0),
        }
    }

    /// The point of sailing at `angle_deg` off the wind, either side.
    pub fn at(angle_deg: f64) -> Point {
        let angle = angle_deg.abs();
        [Point::HeadToWind, Point::CloseHauled, Point::Reach, Point::BroadReach]
            .into_iter()
            .find(|point| angle < point.bounds().1)
            .unwrap_or(Point::Run)
    }
}

/// A point is left only when the angle is this far outside it, degrees.
const MARGIN_DEG: f64 = 6.0;
/// After this long without an angle the point is unknown, s.
const STALE_S: f64 = 15.0;

/// The point of sailing with its margin.
#[derive(Clone, Copy, Debug, Default)]
pub struct PointSense {
    now: Option<(Point, Moment)>,
}

impl PointSense {
    /// Takes in the newest angle off the wind.
    pub fn see(&mut self, at: Moment, angle_deg: Option<f64>) {
        self.now = match (angle_deg, self.now) {
            (Some(angle), Some((point, _))) if within(point, angle.abs()) => Some((point, at)),
            (Some(angle), _) => Some((Point::at(angle), at)),
            (None, Some((point, seen))) if at.s_since(seen) <= STALE_S => Some((point, seen)),
            (None, _) => None,
        };
    }

    /// The point of sailing; `None` when unknown.
    pub fn now(&self) -> Option<Point> {
        self.now.map(|(point, _)| point)
    }
}

fn within(point: Point, angle: f64) -> bool {
    let (low, high) = point.bounds();
    (low - MARGIN_DEG..=high + MARGIN_DEG).contains(&angle)
}
