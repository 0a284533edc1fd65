//! The wind over the venue: where it comes from, how strong, how sure, and on what grounds.
//!
//! ```text
//! vanes ----------------> instrument winds --+
//! a person's word --------------------------+--> beliefs over the compass --> WindNow (over the ground)
//! tracks -> boards, turns -> fleet belief ---+                            --> WaterWind (what sails feel)
//! ```
//!
//! Two winds are kept apart: the wind over the ground, which people speak of and forecasts give,
//! and the wind over the water, which sails feel and every angle to the wind is counted from. They
//! differ by the tidal stream.

mod boards;
mod circle;
mod fleet;
mod fuse;
mod gusts;
mod stream;
mod stream_fit;
mod stream_legs;
mod stream_look;
mod stream_normal;
#[cfg(test)]
mod tests;
mod vane;
pub mod vectors;

use std::collections::{BTreeMap, VecDeque};

pub use stream::Stream;
pub use vane::Carrier;

use crate::{
    effect::{Basis, WindNow},
    fixes::What,
    fleet::BoatIx,
    input::HandWind,
    moment::Moment,
    tracks::Motion,
    units::{Bearing, Velocity},
};
use fleet::FleetWind;
use fuse::Shown;
use stream::{StreamBook, WindHint};
use vane::Vane;

/// How fast the true wind's direction wanders away from where it was, in square degrees a second:
/// about 5 degrees in ten minutes (`wind.md`: 5 to 10 over minutes, common practice).
pub(crate) const DRIFT_DEG2_PER_S: f64 = 0.05;
/// Instruments kept. A further one is not listened to: one session has a handful.
const VANES_MAX: usize = 32;
/// How often everything is weighed anew, ms: no boat and no person can use a newer wind.
const FUSE_MS: i64 = 2_000;
/// How often the direction is noted for the trend, ms.
const TREND_STEP_MS: i64 = 10_000;
/// Over how long the trend is taken, ms.
const TREND_MS: i64 = 600_000;

/// The wind as sails feel it: over the water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterWind {
    /// Where it comes from. With no stream known it is counted so that courses over the ground can
    /// stand for courses through the water.
    pub from: Bearing,
    /// One standard deviation, degrees.
    pub sd_deg: f64,
    /// Mean speed, m/s; `None` when only the direction is known.
    pub speed_mps: Option<f64>,
    /// Speed over the last five seconds or so, m/s, where the instruments stand; `None` when none tells.
    pub now_mps: Option<f64>,
    /// The stream to be taken off motions over the ground; zero while none is known.
    pub stream: Velocity,
}

/// An instrument that says another wind than everything else.
#[derive(Clone, Debug, PartialEq)]
pub struct Disagreement {
    /// The instrument's source.
    pub source: String,
    /// How far it lies from the rest, clockwise positive, degrees.
    pub off_deg: f64,
    /// Since when.
    pub since: Moment,
    /// What it disagrees with, in words: "the courses of 9 boats".
    pub with: String,
}

/// All that is known of the wind.
#[derive(Clone, Debug, Default)]
pub struct Wind {
    vanes: BTreeMap<String, Vane>,
    hand: Option<(HandWind, Moment)>,
    fleet: FleetWind,
    shown: Shown,
    fused: Option<Moment>,
    stream: StreamBook,
    hint: Option<WindHint>,
    past: VecDeque<(Moment, Bearing)>,
    now: Option<WindNow>,
    water: Option<WaterWind>,
    disagreeing: BTreeMap<String, Disagreement>,
}

impl Wind {
    /// Nothing known yet.
    pub fn new() -> Wind {
        Wind::default()
    }

    /// Takes in what an instrument said. Statements that are not about wind or water speed are
    /// passed over, so that everything a source says may be shown to it.
    pub fn instrument(&mut self, now: Moment, source: &str, carrier: Carrier<'_>, what: &What) {
        if let (What::WaterSpeed(speed_mps), Carrier::Afloat(motion)) = (what, carrier) {
            self.stream.powered(now, source, motion, Some(*speed_mps));
            return;
        }
        if !is_wind(what) {
            return;
        }
        if !self.vanes.contains_key(source) {
            if self.vanes.len() >= VANES_MAX {
                return;
            }
            self.vanes.insert(source.to_string(), Vane::new(now));
        }
        if let Some(vane) = self.vanes.get_mut(source) {
            vane.hear(now, carrier, what);
        }
    }

    /// A person says what the wind is, or takes it back.
    pub fn by_hand(&mut self, now: Moment, hand: Option<HandWind>) {
        self.hand = hand.map(|hand| (hand, now));
    }

    /// A person says what the stream is (where it goes, m/s), or takes it back.
    pub fn stream_by_hand(&mut self, now: Moment, stream: Option<(Bearing, f64)>) {
        self.stream.by_hand(now, stream.map(|(to, speed_mps)| Velocity::towards(to, speed_mps)));
    }

    /// Takes in a dinghy's motion while she may be sailing: not ashore, not towed, not capsized.
    pub fn sailed(&mut self, now: Moment, boat: BoatIx, motion: &Motion) {
        let through_water = motion.velocity.minus(self.stream_mps());
        self.fleet.see(now, boat, through_water);
    }

    /// Takes in the motion of a dinghy afloat that sails or drifts free, clear of the landing places.
    pub fn carried(&mut self, now: Moment, boat: BoatIx, motion: &Motion) {
        self.stream.sailed(now, boat, motion, self.hint.as_ref());
    }

    /// Takes in a safety boat's motion: under power, with a compass, she shows what sets her aside.
    pub fn patrolled(&mut self, now: Moment, source: &str, motion: &Motion) {
        self.stream.powered(now, source, motion, None);
    }

    /// Once a second: weighs everything and says what the wind is.
    pub fn tick(&mut self, now: Moment) {
        if self.fleet.tick(now) {
            self.shown = Shown::by(self.fleet.belief(), self.stream.now().map(|stream| stream.sd_mps));
            self.disagreeing = self.disagreements_at(now);
        }
        if self.fused.is_some_and(|at| now.ms_since(at) < FUSE_MS) {
            return;
        }
        self.fused = Some(now);
        let fused = self.fuse(now);
        self.now = fused.now;
        self.water = fused.water;
        self.hint = self.hint();
        self.stream.tick(now, self.hint.as_ref());
        if let Some(wind) = &self.now
            && self.past.back().is_none_or(|(at, _)| now.ms_since(*at) >= TREND_STEP_MS)
        {
            self.past.push_back((now, wind.from));
        }
        while self.past.front().is_some_and(|(at, _)| now.ms_since(*at) > TREND_MS + TREND_STEP_MS) {
            self.past.pop_front();
        }
    }

    /// The wind over the ground as of the last tick; `None` while nothing tells.
    pub fn now(&self) -> Option<&WindNow> {
        self.now.as_ref()
    }

    /// The wind over the water as of the last tick; `None` while nothing tells.
    pub fn water_wind(&self) -> Option<&WaterWind> {
        self.water.as_ref()
    }

    /// The tidal stream, by hand or as estimated; `None` while nothing tells.
    pub fn stream(&self) -> Option<Stream> {
        self.stream.now()
    }

    /// Instruments that persistently say another wind than everything else.
    pub fn disagreements(&self) -> impl Iterator<Item = &Disagreement> {
        self.disagreeing.values()
    }

    /// The wind that boats' courses are held against to find the stream.
    fn hint(&self) -> Option<WindHint> {
        let told = self.now.as_ref()?;
        let speed_mps = told.speed_mps;
        if told.basis == Basis::Fleet {
            let felt = self.water.as_ref()?;
            return Some(WindHint { from: felt.from, sd_deg: felt.sd_deg, speed_mps, over_ground: false });
        }
        Some(WindHint { from: told.from, sd_deg: told.sd_deg, speed_mps, over_ground: true })
    }

    fn stream_mps(&self) -> Velocity {
        self.stream.now().map_or_else(Velocity::default, |stream| stream.velocity)
    }

    /// Veer (positive) or back over the last ten minutes, degrees.
    fn trend_deg(&self, now: Moment, from: Bearing) -> Option<f64> {
        let (at, before) = self.past.front()?;
        (now.ms_since(*at) >= TREND_MS).then(|| before.turn_to(from))
    }
}

fn is_wind(what: &What) -> bool {
    matches!(what, What::ApparentWind { .. } | What::TrueWindFromBow { .. } | What::GroundWind { .. })
}
