//! Stops on purpose: hove to, waiting with loose sails, alongside, by a dummy. Crews do each in their own way.

use crate::{dice::Dice, truth::Reason};

use super::{club::Club, own::Own};

#[derive(Clone, Debug)]
pub(super) struct Stop {
    pub(super) reason: Reason,
    /// Wind over this side and so far off the bow, degrees, starboard above 0.
    pub(super) off_deg: f64,
    pub(super) turns_deg_per_s: f64,
    /// Way she keeps on, m/s.
    pub(super) keeps_mps: f64,
    /// It comes and goes by so much, m/s, over so long.
    pub(super) surge_mps: f64,
    pub(super) loosens_s: f64,
    /// A factor of how far she shoots.
    pub(super) shoots: f64,
    pub(super) until_s: f64,
    /// Sails in again, since.
    pub(super) sheets_in_s: Option<f64>,
}

impl Stop {
    pub(super) fn draw(
        reason: Reason,
        side: f64,
        wind_mps: f64,
        t_s: f64,
        own: &Own,
        club: &Club,
        dice: &mut Dice,
    ) -> Stop {
        let fresh = (wind_mps / 6.0).clamp(0.4, 1.5);
        let (off_deg, keeps_mps, lasts_s) = match reason {
            // Hove to two or three minutes to practise it; she forereaches (common practice, no source).
            Reason::HoveTo => {
                (dice.between(42.0, 82.0), dice.log_normal(0.09, 0.5) * fresh, dice.log_normal(215.0, 0.4))
            }
            Reason::DrillPickUp => {
                (dice.between(32.0, 75.0), dice.log_normal(0.10, 0.5), dice.log_normal(70.0, 0.4))
            }
            Reason::Rafted => {
                (dice.between(30.0, 110.0), dice.log_normal(0.09, 0.7), dice.log_normal(165.0, 0.45))
            }
            // From a close reach to a run: loose sails draw all the better the further she lies off.
            _ => {
                let off_deg: f64 = dice.between(38.0, 165.0);
                let draws = 1.0 + 0.9 * ((off_deg - 90.0) / 75.0).max(0.0);
                let lingers = dice.chance(0.15);
                let keeps =
                    if lingers { dice.between(0.25, 0.6) } else { dice.log_normal(0.09, 0.7) * fresh };
                (off_deg, keeps * draws, dice.log_normal(205.0, 0.45))
            }
        };
        Stop {
            reason,
            off_deg: side * off_deg,
            turns_deg_per_s: dice.between(3.0, 9.0),
            keeps_mps: keeps_mps * own.creeps,
            surge_mps: dice.between(0.01, 0.05),
            loosens_s: dice.log_normal(5.5, 0.6).clamp(1.0, 16.0),
            shoots: dice.log_normal(1.0, 0.4),
            until_s: t_s + (lasts_s * own.patience * club.patience).clamp(18.0, 480.0),
            sheets_in_s: None,
        }
    }
}

/// Stopped head to wind, against her will.
#[derive(Clone, Debug)]
pub(super) struct Irons {
    /// Sternway, m/s.
    pub(super) astern_mps: f64,
    pub(super) until_s: f64,
    /// Falls off to this side, +1: wind to starboard.
    pub(super) side: f64,
    pub(super) off_deg: f64,
    pub(super) falls_deg_per_s: f64,
    pub(super) shoots: f64,
    /// On the new side with the sails in, since.
    pub(super) off_since_s: Option<f64>,
}

impl Irons {
    pub(super) fn draw(t_s: f64, own: &Own, dice: &mut Dice) -> Irons {
        Irons {
            astern_mps: dice.between(0.0, 0.32),
            until_s: t_s + (dice.log_normal(40.0, 0.5) * own.green.sqrt()).clamp(10.0, 180.0),
            side: dice.sign(),
            off_deg: dice.between(48.0, 85.0),
            falls_deg_per_s: dice.between(2.0, 7.0),
            shoots: dice.log_normal(1.0, 0.4),
            off_since_s: None,
        }
    }
}
