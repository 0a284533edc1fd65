//! Things that happen to beginners under sail, each so often an hour. All of these rates are guesses.

use super::stop::{ADJUSTS, DAWDLES, HOVE_TO, Kind, WAITS};
use crate::dice::Dice;

/// Stops of a boat under sail, an hour.
const STOPS_PER_H: [(&Kind, f64); 4] = [(&HOVE_TO, 1.0), (&WAITS, 0.23), (&ADJUSTS, 0.18), (&DAWDLES, 0.6)];
/// Calls a safety boat alongside, an hour.
const CALLS_PER_H: f64 = 0.42;
/// Goes over for no reason but clumsiness, an hour, whatever the wind.
const CLUMSY_PER_H: f64 = 0.13;
/// Of gusts, gybes and tacks so many put a boat over, in a wind of [`MIDDLING_MPS`].
const GUST: f64 = 0.011;
const GYBE: f64 = 0.03;
const TACK: f64 = 0.005;
const MIDDLING_MPS: f64 = 5.5;
/// Of tacks so many end in irons.
const IRONS: f64 = 0.022;

/// What happens.
#[derive(Clone, Copy, Debug)]
pub(super) enum Event {
    Stops(&'static Kind),
    Calls,
    GoesOver(&'static str),
}

/// How a crew differs from the average one.
#[derive(Clone, Debug)]
pub(super) struct Crew {
    /// How often they go over or get stuck, and how slowly they right her; 1 for the average.
    pub(super) clumsy: f64,
    idle: f64,
    /// Share of the speed in the table that they get out of her.
    pub(super) speed: f64,
    /// As close as they sail to the wind.
    pub(super) close_deg: f64,
    /// How much they steer about.
    pub(super) sways_deg: f64,
}

impl Crew {
    pub(super) fn draw(dice: &mut Dice) -> Crew {
        Crew {
            clumsy: dice.log_normal(0.9, 0.4),
            idle: dice.log_normal(0.9, 0.4),
            speed: dice.between(0.75, 1.05),
            close_deg: dice.between(45.0, 55.0),
            sways_deg: dice.between(3.0, 7.0),
        }
    }

    /// What befalls a boat under sail in this moment, if anything.
    pub(super) fn befalls(
        &self,
        gust: Option<f64>,
        wind_mps: f64,
        dt_s: f64,
        dice: &mut Dice,
    ) -> Option<Event> {
        for (kind, per_h) in STOPS_PER_H {
            if dice.happens(per_h * self.idle, dt_s) {
                return Some(Event::Stops(kind));
            }
        }
        if dice.happens(CALLS_PER_H, dt_s) {
            return Some(Event::Calls);
        }
        if dice.happens(CLUMSY_PER_H * self.clumsy, dt_s) {
            return Some(Event::GoesOver("to-windward"));
        }
        let gust = gust.map(|share| 3.0 * GUST * (share - 1.0) * self.risk(wind_mps));
        gust.filter(|p| dice.chance(*p)).map(|_| Event::GoesOver("gust"))
    }

    pub(super) fn upsets_in_a_tack(&self, wind_mps: f64, dice: &mut Dice) -> bool {
        dice.chance(TACK * self.risk(wind_mps))
    }

    pub(super) fn upsets_in_a_gybe(&self, wind_mps: f64, dice: &mut Dice) -> bool {
        dice.chance(GYBE * self.risk(wind_mps))
    }

    pub(super) fn gets_stuck(&self, dice: &mut Dice) -> bool {
        dice.chance(IRONS * self.clumsy)
    }

    /// With the force of the wind, which grows with its square.
    fn risk(&self, wind_mps: f64) -> f64 {
        self.clumsy * (wind_mps / MIDDLING_MPS).powi(2).min(3.0)
    }
}
