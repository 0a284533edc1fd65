//! The wind of a session, and what of it a boat gets: gusts and lulls come to each boat by themselves.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, fold_180, mps, wrap_360},
};

/// Wind over something: where it comes from and how fast, m/s.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wind {
    pub(super) from_deg: f64,
    pub(super) mps: f64,
}

impl Wind {
    /// As felt on water that moves.
    pub(super) fn over(self, stream: Vec2) -> Wind {
        let goes = Vec2::along(self.from_deg + 180.0, self.mps) - stream;
        Wind { from_deg: wrap_360(goes.bearing_deg() + 180.0), mps: goes.length() }
    }

    /// Signed angle between a heading and the wind; wind on the starboard side above 0.
    pub(super) fn off_deg(self, heading_deg: f64) -> f64 {
        fold_180(self.from_deg - heading_deg)
    }
}

/// The venue's wind: a mean that wanders in strength and in direction. All spreads here are guesses.
#[derive(Clone, Debug)]
pub(super) struct Venue {
    from_deg: f64,
    mean_mps: f64,
    /// How gusty the day is, 1 for a usual one.
    pub(super) gusty: f64,
    strength: Wander,
    shift: Wander,
    dice: Dice,
}

impl Venue {
    pub(super) fn draw(scenario: &str, mut dice: Dice) -> Venue {
        let (kn, gusty) = match scenario {
            "eighth-puffs" => (dice.between(10.0, 16.0), dice.between(1.2, 1.6)),
            "eighth-light" => (dice.between(5.0, 8.0), dice.between(0.8, 1.2)),
            _ => (dice.between(8.0, 14.0), dice.between(0.7, 1.2)),
        };
        Venue {
            from_deg: dice.between(0.0, 360.0),
            mean_mps: mps(kn),
            gusty,
            strength: Wander::new(0.1, 180.0, &mut dice),
            shift: Wander::new(6.0, 240.0, &mut dice),
            dice,
        }
    }

    pub(super) fn step(&mut self, dt_s: f64) {
        self.strength.step(dt_s, &mut self.dice);
        self.shift.step(dt_s, &mut self.dice);
    }

    pub(super) fn now(&self) -> Wind {
        Wind {
            from_deg: wrap_360(self.from_deg + self.shift.value),
            mps: (self.mean_mps * (1.0 + self.strength.value)).max(0.3),
        }
    }
}

/// A gust (or a lull, with a share below 1) while it passes a boat.
#[derive(Clone, Copy, Debug)]
struct Puff {
    share: f64,
    veers_deg: f64,
    from_s: f64,
    to_s: f64,
}

/// What one boat gets of the wind.
#[derive(Clone, Debug)]
pub(super) struct Local {
    flutter: Wander,
    puff: Option<Puff>,
}

/// Gusts and lulls that reach one boat in an hour on a usual day: a guess.
const GUSTS_PER_H: f64 = 25.0;
const LULLS_PER_H: f64 = 2.5;
/// A puff comes and goes over so many seconds: a guess.
const RISES_S: f64 = 4.0;

impl Local {
    pub(super) fn new(dice: &mut Dice) -> Local {
        Local { flutter: Wander::new(0.08, 12.0, dice), puff: None }
    }

    /// Lets time pass; gives how strong a gust is that begins just now.
    pub(super) fn step(&mut self, t_s: f64, dt_s: f64, gusty: f64, dice: &mut Dice) -> Option<f64> {
        self.flutter.step(dt_s, dice);
        if self.puff.is_some_and(|puff| t_s < puff.to_s) {
            return None;
        }
        self.puff = None;
        let (share, lasts_s) = if dice.happens(GUSTS_PER_H * gusty, dt_s) {
            (1.0 + gusty * dice.between(0.15, 0.5), dice.between(10.0, 30.0))
        } else if dice.happens(LULLS_PER_H * gusty, dt_s) {
            (dice.between(0.1, 0.5), dice.between(25.0, 90.0))
        } else {
            return None;
        };
        self.puff =
            Some(Puff { share, veers_deg: 6.0 * gusty * dice.normal(), from_s: t_s, to_s: t_s + lasts_s });
        (share > 1.0).then_some(share)
    }

    pub(super) fn of(&self, venue: Wind, t_s: f64) -> Wind {
        let mut wind = Wind { mps: venue.mps * (1.0 + self.flutter.value), ..venue };
        if let Some(puff) = self.puff {
            let share_in = ((t_s - puff.from_s).min(puff.to_s - t_s) / RISES_S).clamp(0.0, 1.0);
            wind.mps *= 1.0 + (puff.share - 1.0) * share_in;
            wind.from_deg = wrap_360(wind.from_deg + puff.veers_deg * share_in);
        }
        wind
    }
}
