//! The few numbers that make one crew another than the next, and one afternoon's group another than the next.

use crate::dice::Dice;

/// What the crews of one session have in common.
#[derive(Clone, Copy, Debug)]
pub(super) struct Group {
    stops: f64,
    clumsy: f64,
    /// Capsizes of a boat on a reach in 6 m/s without gusts, an hour.
    over_per_h: f64,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Crew {
    /// Stops so many times as often as most.
    pub(super) stops: f64,
    /// Fails to tack so many times as often as most.
    pub(super) clumsy: f64,
    pub(super) over_per_h: f64,
    /// Of the way a good crew would get out of her.
    pub(super) trims: f64,
    /// Stops last so many times as long.
    pub(super) lingers: f64,
    /// Degrees that the course wanders by.
    pub(super) wanders_deg: f64,
}

/// On average, a guess set by the capsizes elsewhere, 0.87 an hour.
const OVER_PER_H: f64 = 0.365;

impl Group {
    pub(super) fn draw(dice: &mut Dice) -> Group {
        Group {
            stops: dice.log_normal(1.0, 0.25),
            clumsy: dice.log_normal(1.0, 0.25),
            over_per_h: OVER_PER_H * dice.log_normal(1.0, 0.3),
        }
    }
}

impl Crew {
    /// Of a usual crew's tacks with some way on, in 6 m/s, so many fail: a guess.
    pub(super) const FAILS: f64 = 0.055;

    pub(super) fn draw(group: &Group, dice: &mut Dice) -> Crew {
        Crew {
            stops: group.stops * dice.log_normal(1.0, 0.4),
            clumsy: group.clumsy * dice.log_normal(1.0, 0.4),
            over_per_h: group.over_per_h * dice.log_normal(1.0, 0.5),
            trims: dice.between(0.72, 1.0),
            lingers: dice.log_normal(1.0, 0.2),
            wanders_deg: dice.between(3.0, 8.0),
        }
    }
}
