//! How each boat sails: her angle to the wind, point of sailing, tacks and gybes, marks rounded.
//!
//! Words as on the water: the true wind angle is the wind's direction less the boat's, positive
//! with the wind on the starboard side, which is called starboard tack.

mod bow;
mod customs;
mod point;
mod roundings;
mod turns;

pub use customs::Customs;
pub use point::Point;
pub use roundings::{MarkAt, Roundings};

use crate::{
    effect::{Manoeuvre, Side},
    fleet::BoatIx,
    tracks::Motion,
    wind::WaterWind,
};
use bow::Bow;
use point::PointSense;
use turns::Turns;

/// One boat's sailing.
#[derive(Clone, Debug)]
pub struct Sailing {
    bow: Bow,
    turns: Turns,
    point: PointSense,
    angle_deg: Option<f64>,
}

impl Sailing {
    /// Nothing seen of her yet.
    pub fn new(boat: BoatIx) -> Sailing {
        Sailing {
            bow: Bow::default(),
            turns: Turns::new(boat),
            point: PointSense::default(),
            angle_deg: None,
        }
    }

    /// Takes in her newest motion and says which manoeuvres it completed.
    ///
    /// `under_sail` is `false` while she is known not to sail (ashore, towed, on her side): such
    /// motion makes no manoeuvres, and what she did before is forgotten. With no wind, what
    /// she does is kept for a quarter of an hour and judged once one is known: those manoeuvres
    /// are then told together, each at its own time.
    pub fn see(&mut self, motion: &Motion, wind: Option<&WaterWind>, under_sail: bool) -> Vec<Manoeuvre> {
        let bow = self.bow.see(motion, wind);
        self.angle_deg = wind.zip(bow.heading).map(|(wind, heading)| heading.turn_to(wind.from));
        self.point.see(motion.at, self.angle_deg);
        self.turns.see(motion.at, &bow, wind, under_sail)
    }

    /// True wind angle in degrees, `-180..180`, positive on starboard tack; `None` while the wind or
    /// the way she points is unknown.
    pub fn angle_deg(&self) -> Option<f64> {
        self.angle_deg
    }

    /// Her point of sailing; `None` while her angle to the wind is unknown.
    pub fn point(&self) -> Option<Point> {
        self.point.now()
    }

    /// The side the wind comes over; `None` while her angle to the wind is unknown.
    pub fn tack(&self) -> Option<Side> {
        self.angle_deg.map(|angle| if angle >= 0.0 { Side::Starboard } else { Side::Port })
    }

    /// Tries to tack that ended on the old side, so far.
    pub fn failed_tacks(&self) -> u32 {
        self.turns.failed_tacks()
    }
}
