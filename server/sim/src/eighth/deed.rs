//! What a boat is doing: always one thing, which ends after its time.

use super::{over::Over, stop::Stop};
use crate::{dice::Dice, notes::SeenOver, truth::Reason};

/// Turning a boat through a right angle takes beginners so many seconds: about 10 is good (`exercises.md`, beat).
const TURN_S: (f64, f64) = (5.0, 11.0);
/// Gives up after that.
const MOST_S: f64 = 25.0;

#[derive(Clone, Debug)]
pub(super) enum Doing {
    Sails,
    Turns(Turn),
    Stops(Stop),
    IsOver(Over),
    /// Righted, climbing in and bailing.
    Bails {
        until_s: f64,
    },
    Towed,
}

/// A tack or a gybe.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turn {
    pub(super) is_tack: bool,
    /// The side of the wind it began on.
    pub(super) side: f64,
    /// It ends at this angle off the wind on the other side.
    pub(super) to_deg: f64,
    pub(super) rate_deg_s: f64,
    /// She will go over in it, or stop head to wind.
    pub(super) upsets: bool,
    pub(super) stuck: bool,
    until_s: f64,
}

impl Turn {
    pub(super) fn draw(is_tack: bool, side: f64, to_deg: f64, t_s: f64, dice: &mut Dice) -> Turn {
        Turn {
            is_tack,
            side,
            to_deg,
            rate_deg_s: 90.0 / dice.between(TURN_S.0, TURN_S.1),
            upsets: false,
            stuck: false,
            until_s: t_s + MOST_S,
        }
    }

    /// Clockwise is up towards a wind on the starboard side.
    pub(super) fn clockwise(&self) -> f64 {
        if self.is_tack { self.side } else { -self.side }
    }

    pub(super) fn is_across(&self, off_deg: f64) -> bool {
        off_deg * self.side < 0.0
    }

    pub(super) fn is_done(&self, off_deg: f64, t_s: f64) -> bool {
        let far = if self.is_tack { off_deg.abs() >= self.to_deg } else { off_deg.abs() <= self.to_deg };
        self.is_across(off_deg) && far || t_s >= self.until_s
    }
}

impl Doing {
    pub(super) fn reason(&self) -> Option<Reason> {
        match self {
            Doing::Sails | Doing::Turns(_) => None,
            Doing::Stops(stop) => stop.reason,
            Doing::IsOver(_) => Some(Reason::Capsized),
            Doing::Bails { .. } => Some(Reason::Recovering),
            Doing::Towed => Some(Reason::Towed),
        }
    }

    pub(super) fn over(&self) -> Option<SeenOver> {
        match self {
            Doing::IsOver(over) => {
                Some(SeenOver { cause: over.cause, quick: over.is_quick(), inverted: over.inverted })
            }
            _ => None,
        }
    }
}
