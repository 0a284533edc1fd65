//! What can be read of the engine at any moment, in the frames that the edges use.

use crate::{
    effect::{Seen, Side, Standing},
    fleet::BoatIx,
    input::AlertId,
    moment::Moment,
    units::{Bearing, Position},
};

/// One boat as believed at her newest fix. Nothing here is carried forward: its age is its own.
#[derive(Clone, Debug, PartialEq)]
pub struct BoatView {
    /// Whose.
    pub boat: BoatIx,
    /// Where, and when that was measured; `None`: never seen.
    pub seen: Option<Seen>,
    /// One standard deviation of the position, metres.
    pub sd_m: Option<f64>,
    /// Speed over the ground, m/s.
    pub speed_mps: Option<f64>,
    /// Course over the ground; `None` when too slow to say.
    pub course: Option<Bearing>,
    /// Heading, sensed or from the course.
    pub heading: Option<Bearing>,
    /// Heel, degrees, positive to starboard.
    pub heel_deg: Option<f64>,
    /// Signed true wind angle, -180..180, positive: wind on the starboard side.
    pub wind_angle_deg: Option<f64>,
    /// The side the sail is out on.
    pub sail: Option<Side>,
    /// In a word or two, to be shown: a point of sailing or a condition; never empty.
    pub doing: &'static str,
    /// Probability of capsize, 0..=1; `None` when it is not judged.
    pub p_capsize: Option<f64>,
    /// Where she stands in the head count.
    pub standing: Standing,
    /// Since when.
    pub standing_since: Moment,
    /// Who said so; `None`: her own track.
    pub standing_by: Option<String>,
    /// Persons aboard as last said.
    pub persons: u8,
    /// Battery of her tracker or phone, per cent.
    pub battery_pct: Option<f64>,
    /// When her feed was last heard at all; `None`: never.
    pub heard: Option<Moment>,
}

/// One place in the order of need.
#[derive(Clone, Debug, PartialEq)]
pub struct NeedView {
    /// The alert it is about.
    pub alert: AlertId,
    /// Whose; `None` for a beacon that no boat claims.
    pub boat: Option<BoatIx>,
    /// Why here, in words.
    pub why: String,
    /// Persons concerned.
    pub persons: u8,
    /// The way there for each tracked safety boat, shortest time first.
    pub ways: Vec<WayView>,
    /// Where she will be.
    pub drift: Vec<DriftView>,
}

/// How one safety boat gets to a boat in need.
#[derive(Clone, Debug, PartialEq)]
pub struct WayView {
    /// Which.
    pub safety: BoatIx,
    /// Now, metres.
    pub distance_m: f64,
    /// Now, from the safety boat.
    pub bearing: Bearing,
    /// Course to steer to meet the drifting boat; `None`: cannot be met at this speed.
    pub steer: Option<Bearing>,
    /// Seconds; `None`: cannot be met.
    pub time_s: Option<f64>,
    /// The speed assumed, m/s.
    pub speed_mps: f64,
}

/// An area in which a drifting boat or person will be with a probability of about 0.9.
#[derive(Clone, Debug, PartialEq)]
pub struct DriftView {
    /// Minutes ahead of now.
    pub minutes: f64,
    /// Closed outline.
    pub ring: Vec<Position>,
}

/// A source that no boat claims.
#[derive(Clone, Debug, PartialEq)]
pub struct StrangerView {
    /// A TAG source, a feed's name, or `mmsi:...`.
    pub source: String,
    /// What it calls itself.
    pub name: Option<String>,
    /// Where, and when.
    pub seen: Option<Seen>,
    /// When last heard.
    pub heard: Moment,
}

/// The stream in force, over the ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StreamView {
    /// Where it goes to.
    pub towards: Bearing,
    /// m/s.
    pub speed_mps: f64,
    /// Entered by a person, rather than estimated.
    pub entered: bool,
}
