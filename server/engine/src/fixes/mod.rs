//! Lines and reports become believed statements with a source, or a discard with a reason.

mod ais;
mod clock;
mod ear;
mod fields;
mod fragments;
mod frame;
mod health;
mod instrument;
mod listener;
mod range;
mod sentence;

use std::sync::Arc;

pub use frame::{TagBlock, tag};
pub use health::SourceHealth;
pub use listener::Listener;

use crate::{
    effect::Discard,
    moment::Moment,
    units::{Bearing, Position},
};

/// Who said something: a TAG-block source, a feed's own name, or `mmsi:232001234`. Cheap to clone.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Source(pub Arc<str>);

/// One statement of a source that passed every check that can be made without knowing the boat.
#[derive(Clone, Debug, PartialEq)]
pub struct Heard {
    /// Who said it.
    pub source: Source,
    /// When it was true, on our clock: the receiver's time corrected by its estimated offset, or
    /// the arrival when it gave none. Never later than the arrival.
    pub taken: Moment,
    /// What was said.
    pub what: What,
}

/// What a source can say.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// A position, with what came with it. A second one with the same `taken` completes the first.
    Fix(Fix),
    /// Motion over the ground without a position (VTG), same epoch as the fix before it.
    Motion {
        /// m/s.
        speed_mps: Option<f64>,
        /// Course over the ground.
        course: Option<Bearing>,
    },
    /// True heading.
    Heading(Bearing),
    /// Magnetic heading from an instrument that gives no variation; corrected when one is known.
    MagneticHeading(Bearing),
    /// Heel in degrees, positive to starboard, -180..=180.
    Heel(f64),
    /// Battery, volts.
    BatteryVolts(f64),
    /// Battery, 0..=100 per cent.
    BatteryPct(f64),
    /// MWV R: signed angle from the bow (starboard positive) and speed, as felt aboard.
    ApparentWind {
        /// -180..180.
        angle_deg: f64,
        /// m/s.
        speed_mps: f64,
    },
    /// MWV T: signed angle from the bow and speed of the true wind as the instrument reckons it.
    TrueWindFromBow {
        /// -180..180.
        angle_deg: f64,
        /// m/s.
        speed_mps: f64,
    },
    /// MWD: compass direction and speed over the ground.
    GroundWind {
        /// Where from, true.
        from: Bearing,
        /// m/s; `None` when only the direction was filled.
        speed_mps: Option<f64>,
    },
    /// VHW: speed through the water, m/s.
    WaterSpeed(f64),
    /// DPT, DBT: depth of water below the transducer, metres.
    Depth(f64),
    /// A person-overboard or distress beacon (identity 970, 972 or 974).
    Beacon {
        /// Its identity.
        mmsi: u32,
        /// Whether it says it is being tested.
        test: bool,
        /// Its text, if it sent one.
        text: Option<String>,
    },
    /// AIS 21: an aid to navigation and where it is.
    Aid {
        /// Its name.
        name: String,
        /// Where.
        position: Position,
    },
    /// AIS 24, 19, 5: what the craft calls herself.
    Name(String),
    /// The help button: held (`true`) or "we are fine" (`false`).
    Help(bool),
}

/// A position that passed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fix {
    /// Where.
    pub position: Position,
    /// 68 % radius, metres, as the receiver says or as its HDOP implies; `None` when it says nothing.
    pub accuracy_m: Option<f64>,
    /// Speed over the ground, m/s.
    pub speed_mps: Option<f64>,
    /// Course over the ground; `None` when not given or meaningless at rest.
    pub course: Option<Bearing>,
}

/// What one input became.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// Believed.
    Heard(Heard),
    /// Refused.
    Discard(Discard),
}
