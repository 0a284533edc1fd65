//! Boats that are over: how they slide on, how they drift on their side or upside down, how long they stay so.

use crate::dice::{Dice, Wander};

use super::{club::Club, own::Own};

#[derive(Clone, Debug)]
pub(super) struct Over {
    pub(super) cause: &'static str,
    pub(super) quick: bool,
    pub(super) inverted: bool,
    /// Time in which her way goes down to a third, s, at first and once she is flat.
    pub(super) slides_s: f64,
    pub(super) flat_s: f64,
    /// Of the wind, and so far off downwind.
    pub(super) drifts: f64,
    pub(super) off_deg: f64,
    /// The rig in the water makes her sheer.
    pub(super) sheer_deg: Wander,
    /// Seas and people shake her, m/s.
    pub(super) shakes: [Wander; 2],
    pub(super) swing_deg_per_s: Wander,
    pub(super) until_s: f64,
    /// Waits for hands from outside.
    pub(super) needs_help: bool,
}

impl Over {
    pub(super) fn draw(
        cause: &'static str,
        slow: bool,
        wind_mps: f64,
        t_s: f64,
        own: &Own,
        club: &Club,
        dice: &mut Dice,
    ) -> Over {
        let inverted = dice.chance(0.18);
        let quick = !slow && dice.chance(0.82);
        let flat_s = t_s + if quick { dice.between(1.2, 4.0) } else { dice.between(4.0, 7.5) };
        // 20 s for an expert, one to five minutes for beginners or not without help (detection.md).
        let clumsy = club.clumsy * own.green.sqrt();
        let (lasts_s, needs_help) = match dice.unit() {
            x if x < 0.23 && !inverted => (dice.log_normal(10.0, 0.35), false),
            x if x < 0.75 => (dice.log_normal(105.0, 0.45), false),
            _ => (dice.log_normal(190.0, 0.5), true),
        };
        // Swamped skiffs drift at 1.7 % of the wind; another capsized dinghy made 0.4 m/s some 60 to 75 degrees off
        // downwind (leeway.md and the trials it names): both kinds are about.
        let sheers = !inverted && dice.chance(0.19);
        let (drifts, off_deg) = if sheers {
            (dice.between(0.035, 0.065), dice.sign() * dice.between(35.0, 80.0))
        } else {
            (dice.between(0.010, 0.034), dice.sign() * dice.between(0.0, 40.0))
        };
        let rough_mps = dice.log_normal(0.03, 0.6) * wind_mps / 6.0;
        let shakes_s = dice.between(2.0, 5.0);
        Over {
            cause,
            quick,
            inverted,
            slides_s: dice.log_normal(2.5, 0.6).clamp(0.8, 12.0),
            flat_s,
            drifts,
            off_deg,
            sheer_deg: Wander::new(dice.between(5.0, 22.0), dice.between(20.0, 70.0), dice),
            shakes: [Wander::new(rough_mps, shakes_s, dice), Wander::new(rough_mps, shakes_s, dice)],
            swing_deg_per_s: Wander::new(dice.between(0.5, 3.0), 8.0, dice),
            until_s: flat_s + (lasts_s * clumsy).clamp(6.0, 420.0) * if inverted { 1.3 } else { 1.0 },
            needs_help,
        }
    }
}

/// Upright again: the crew climbs in and bails, and she goes where she likes.
#[derive(Clone, Debug)]
pub(super) struct Bail {
    pub(super) until_s: f64,
    /// Of the wind.
    pub(super) drifts: f64,
    pub(super) keeps_mps: f64,
    pub(super) off_deg: f64,
    pub(super) swing_deg: Wander,
    pub(super) sheets_in_s: Option<f64>,
}

impl Bail {
    /// After a short capsize there is little water in her.
    pub(super) fn draw(was_over_s: f64, t_s: f64, own: &Own, club: &Club, dice: &mut Dice) -> Bail {
        let wet = (was_over_s / 70.0).clamp(0.1, 1.3);
        Bail {
            until_s: t_s
                + (dice.log_normal(37.0, 0.7) * wet * club.clumsy * own.green.sqrt()).clamp(3.0, 240.0),
            drifts: dice.between(0.012, 0.035),
            keeps_mps: dice.between(-0.08, 0.3),
            off_deg: dice.sign() * dice.between(25.0, 110.0),
            swing_deg: Wander::new(dice.between(5.0, 20.0), 15.0, dice),
            sheets_in_s: None,
        }
    }
}
