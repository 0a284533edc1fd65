//! A session's ways of stopping: how often, how a boat comes to them, how she lies and how she leaves.

use super::{weighed, widely};
use crate::{
    dice::{Dice, Wander},
    truth::Reason,
};

/// One way of stopping, as this session's crews do it.
#[derive(Clone, Debug)]
pub(super) struct Custom {
    pub(super) reason: Option<Reason>,
    pub(super) per_h: f64,
    pub(super) lasts_s: f64,
    spread: f64,
    off_deg: (f64, f64),
    swings_deg: f64,
    swings_s: f64,
    creeps_mps: f64,
    /// Weights of coasting up, luffing and letting the sheets go.
    comes: [f64; 3],
    /// So many times slower than she could she gathers way again.
    dawdles: f64,
}

/// What a session's crews stop for.
#[derive(Clone, Debug)]
pub(super) struct Stops {
    /// What comes over them while they sail: hove to, waiting, beside another dinghy, a drill, gear, dawdling, a
    /// swimmer.
    pub(super) of_themselves: Vec<Custom>,
    pub(super) irons: Custom,
    pub(super) rafted: Custom,
}

/// Which of `of_themselves` takes two boats, and which is waiting.
pub(super) const TOGETHER: usize = 2;
pub(super) const WAITING: usize = 1;

impl Custom {
    /// How often an hour, how long (lowest and highest median) and how far off the wind (lowest and highest).
    fn draw(
        reason: Option<Reason>,
        per_h: f64,
        lasts_s: (f64, f64),
        off_deg: (f64, f64),
        dice: &mut Dice,
    ) -> Custom {
        let off = dice.between(off_deg.0, off_deg.1);
        Custom {
            reason,
            // Clubs have customs of their own: the factor has mean 1.
            per_h: per_h * dice.log_normal(0.85, 0.57),
            lasts_s: widely(dice, lasts_s.0, lasts_s.1),
            spread: dice.between(0.4, 0.9),
            off_deg: (off, dice.between(3.0, 20.0)),
            swings_deg: widely(dice, 2.0, 20.0),
            swings_s: widely(dice, 4.0, 30.0),
            creeps_mps: 0.3 * dice.unit().powi(3),
            comes: [0; 3].map(|_| dice.between(0.05, 1.0)),
            dawdles: dice.between(0.8, 2.2),
        }
    }
}

impl Stops {
    /// All guesses, but that a season elsewhere had so many stops that a simple rule took for capsizes.
    pub(super) fn draw(dice: &mut Dice) -> Stops {
        let mut of = |reason, per_h, lasts_s, off_deg| Custom::draw(reason, per_h, lasts_s, off_deg, dice);
        let of_themselves = vec![
            of(Some(Reason::HoveTo), 1.28, (90.0, 380.0), (35.0, 75.0)),
            of(Some(Reason::Waiting), 0.66, (100.0, 410.0), (25.0, 100.0)),
            of(Some(Reason::Waiting), 0.08, (40.0, 160.0), (20.0, 90.0)),
            of(Some(Reason::DrillPickUp), 0.3, (12.0, 50.0), (35.0, 75.0)),
            of(Some(Reason::Waiting), 0.1, (40.0, 200.0), (10.0, 100.0)),
            of(None, 0.22, (30.0, 120.0), (40.0, 110.0)),
            of(Some(Reason::PersonPickUp), 0.06, (25.0, 90.0), (30.0, 80.0)),
        ];
        let irons = of(Some(Reason::InIrons), 0.1, (2.5, 9.0), (0.0, 12.0));
        let rafted = of(Some(Reason::Rafted), 1.0, (40.0, 150.0), (20.0, 100.0));
        Stops { of_themselves, irons, rafted }
    }
}

/// A stop while it lasts.
#[derive(Clone, Debug)]
pub(super) struct Stop {
    pub(super) reason: Option<Reason>,
    pub(super) until_s: f64,
    /// She goes over then, out of it.
    pub(super) over_s: Option<f64>,
    pub(super) off_deg: f64,
    pub(super) swings: Wander,
    pub(super) creeps_mps: f64,
    /// How much longer than head to wind she takes to lose her way.
    pub(super) carries: f64,
    /// She comes head to wind first, until then.
    pub(super) luffs_until_s: f64,
    pub(super) dawdles: f64,
    /// Another boat lies beside her.
    pub(super) is_together: bool,
}

impl Stop {
    /// Begins now, with the wind on that side.
    pub(super) fn begin(custom: &Custom, side: f64, t_s: f64, dice: &mut Dice) -> Stop {
        let lasts_s = dice.log_normal(custom.lasts_s, custom.spread).clamp(4.0, 1_200.0);
        let off_deg = (custom.off_deg.0 + custom.off_deg.1 * dice.normal()).clamp(0.0, 130.0);
        let (carries, luffs_s) = match weighed(dice, &custom.comes) {
            0 => (1.4, 0.0),
            1 => (1.0, dice.between(4.0, 12.0)),
            _ => (1.1, 0.0),
        };
        Stop {
            reason: custom.reason,
            until_s: t_s + lasts_s,
            over_s: None,
            off_deg: side * off_deg,
            swings: Wander::new(custom.swings_deg * dice.log_normal(1.0, 0.2), custom.swings_s, dice),
            creeps_mps: custom.creeps_mps * dice.log_normal(1.0, 0.3),
            carries,
            luffs_until_s: t_s + luffs_s,
            dawdles: custom.dawdles,
            is_together: false,
        }
    }
}
