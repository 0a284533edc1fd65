//! A club and its day: how often its crews stop, and why, how they go over, and who comes to them. Each is
//! drawn for the session; the middles are set so that a rule that takes every slow boat for a capsized one
//! scores as it does on a season sailed elsewhere. The figures are guesses but for that.

use crate::{dice::Dice, truth::Reason};

#[derive(Clone, Debug)]
pub(super) struct Club {
    /// Stops an hour of a boat, by reason.
    pub(super) stops_per_h: [(Reason, f64); 4],
    /// Boats near one that waits stop with her.
    pub(super) joins: f64,
    /// Tacks that end head to wind, of the average crew.
    pub(super) fails: f64,
    /// Luffs too far for no reason, an hour.
    pub(super) luffs_per_h: f64,
    /// Scales every way of going over.
    pub(super) tender: f64,
    /// Longer or shorter stops than elsewhere.
    pub(super) patience: f64,
    /// Scales how long they take to right and to bail.
    pub(super) clumsy: f64,
    /// Phones that drown if a boat stays over.
    pub(super) drowns: f64,
    /// A safety boat sets out for a boat that is over.
    pub(super) attends: f64,
    /// Boats under way again after a long capsize that are rather taken in tow.
    pub(super) tows: f64,
}

impl Club {
    pub(super) fn draw(dice: &mut Dice) -> Club {
        let mut about = |median: f64, spread: f64| dice.log_normal(median, spread);
        Club {
            stops_per_h: [
                (Reason::HoveTo, about(1.3, 0.35)),
                (Reason::Waiting, about(0.80, 0.35)),
                (Reason::Rafted, about(0.40, 0.4)),
                (Reason::DrillPickUp, about(0.13, 0.6)),
            ],
            joins: about(0.10, 0.5).min(0.4),
            fails: about(0.018, 0.35),
            luffs_per_h: about(0.2, 0.5),
            tender: about(0.42, 0.3),
            patience: about(1.0, 0.15),
            clumsy: about(1.0, 0.15),
            drowns: about(0.37, 0.3).min(0.7),
            attends: about(0.6, 0.3).min(1.0),
            tows: about(0.06, 0.6).min(0.3),
        }
    }
}
