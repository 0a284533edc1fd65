//! A session's capsizes: what leads to them, how the boat stops, how she drifts, and what comes after.

use super::{weighed, widely};
use crate::dice::{Dice, Wander};

/// What leads to a capsize: its name in the truth, and how often of all (a guess).
const CAUSES: [(Cause, f64); 6] = [
    (Cause::Gust, 0.36),
    (Cause::Gybe, 0.24),
    (Cause::Tack, 0.12),
    (Cause::ToWindward, 0.14),
    (Cause::Irons, 0.1),
    (Cause::Waiting, 0.1),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cause {
    Gust,
    Gybe,
    Tack,
    ToWindward,
    Irons,
    /// Caught by a puff while she lay.
    Waiting,
}

impl Cause {
    pub(super) fn name(self) -> &'static str {
        match self {
            Cause::Gust | Cause::Waiting => "gust",
            Cause::Gybe => "gybe",
            Cause::Tack => "tack",
            Cause::ToWindward => "to-windward",
            Cause::Irons => "irons",
        }
    }
}

/// What is drawn for a session.
#[derive(Clone, Debug)]
pub(super) struct Capsizing {
    pub(super) per_h: f64,
    causes: Vec<f64>,
    /// Weights of stopping at once, dragging on her side, rounding up first, filling slowly.
    ways: [f64; 4],
    sharp_s: f64,
    drag_s: f64,
    drift: f64,
    drift_deg: f64,
    inverts: f64,
    inverted_times: f64,
    yaws_deg: f64,
    yaws_s: f64,
    /// Her rig fills, and she is dragged on, so often an hour.
    surges_per_h: f64,
    lasts_s: f64,
    spread: f64,
    again: f64,
    /// So many crews cannot right her without help, and so many more are visited.
    helpless: f64,
    pub(super) visited: f64,
    at_once: f64,
    bails_s: f64,
    bails_spread: f64,
    pub(super) towed: f64,
}

impl Capsizing {
    /// The drift is 1.65 to 1.73 % of the wind for a swamped skiff (`leeway.md`); a dinghy with her rig in the water
    /// was seen to go faster, 60 to 75 deg off downwind. Righting takes 20 s to 5 min (`detection.md`). The rest are
    /// guesses.
    pub(super) fn draw(mean_mps: f64, dice: &mut Dice) -> Capsizing {
        Capsizing {
            per_h: 1.05 * (mean_mps / 6.0).powf(0.6) * dice.log_normal(0.9, 0.45),
            causes: CAUSES.map(|(_, share)| share * dice.log_normal(1.0, 0.6)).to_vec(),
            ways: [0.27, 0.35, 0.16, 0.22].map(|weight| weight * dice.log_normal(1.0, 0.6)),
            sharp_s: dice.between(1.0, 4.0),
            drag_s: dice.between(5.0, 15.0),
            drift: widely(dice, 0.008, 0.038),
            drift_deg: dice.between(0.0, 75.0),
            inverts: dice.between(0.05, 0.5),
            inverted_times: widely(dice, 0.4, 1.1),
            yaws_deg: widely(dice, 3.0, 40.0),
            yaws_s: widely(dice, 5.0, 40.0),
            surges_per_h: widely(dice, 6.0, 260.0),
            lasts_s: widely(dice, 25.0, 190.0),
            spread: dice.between(0.45, 1.0),
            again: dice.between(0.05, 0.35),
            helpless: dice.between(0.05, 0.3),
            visited: dice.between(0.1, 0.5),
            at_once: dice.between(0.05, 0.35),
            bails_s: widely(dice, 28.0, 120.0),
            bails_spread: dice.between(0.4, 0.9),
            towed: dice.between(0.0, 0.3),
        }
    }

    pub(super) fn cause(&self, dice: &mut Dice) -> Cause {
        CAUSES.get(weighed(dice, &self.causes)).map_or(Cause::Gust, |(cause, _)| *cause)
    }

    /// How this one will stop.
    pub(super) fn way(&self, dice: &mut Dice) -> Way {
        [Way::Sharp, Way::Drags, Way::RoundsUp, Way::Fills][weighed(dice, &self.ways)]
    }

    /// How long the crew bails or lies before they sail on, s.
    pub(super) fn bails_s(&self, dice: &mut Dice) -> f64 {
        if dice.chance(self.at_once) {
            return dice.between(1.0, 6.0);
        }
        dice.log_normal(self.bails_s, self.bails_spread).min(600.0)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Way {
    Sharp,
    Drags,
    RoundsUp,
    Fills,
}

/// A capsize while it lasts.
#[derive(Clone, Debug)]
pub(super) struct Over {
    pub(super) cause: Cause,
    pub(super) quick: bool,
    pub(super) inverted: bool,
    pub(super) until_s: f64,
    /// They never will without help.
    pub(super) helpless: bool,
    /// She goes over again while they climb in.
    pub(super) again: bool,
    /// In which her way is lost, s.
    pub(super) stops_s: f64,
    pub(super) drift: f64,
    pub(super) drift_deg: f64,
    /// How she lies to the wind.
    pub(super) off_deg: f64,
    pub(super) yaws: Wander,
    pub(super) surges_per_h: f64,
    /// Dragged on until then, so fast.
    pub(super) surge: (f64, f64),
}

impl Over {
    pub(super) fn begin(own: &Capsizing, cause: Cause, way: Way, t_s: f64, dice: &mut Dice) -> Over {
        let inverted = dice.chance(own.inverts);
        let lasts_s = dice.log_normal(own.lasts_s, own.spread).clamp(6.0, 1_500.0);
        let times = if inverted { own.inverted_times } else { 1.0 };
        let scatter = dice.log_normal(1.0, 0.35);
        Over {
            cause,
            quick: matches!(way, Way::Sharp | Way::RoundsUp),
            inverted,
            until_s: t_s + if inverted { lasts_s * 1.3 } else { lasts_s },
            helpless: dice.chance(own.helpless),
            again: dice.chance(own.again),
            stops_s: match way {
                // A time constant: all but a tenth is lost in 2.3 of them.
                Way::Sharp | Way::RoundsUp => own.sharp_s * dice.log_normal(1.0, 0.25) / 2.3,
                Way::Drags => own.drag_s * dice.log_normal(1.0, 0.25) / 2.3,
                Way::Fills => own.drag_s * dice.log_normal(1.6, 0.25) / 2.3,
            },
            drift: (own.drift * times * scatter).clamp(0.006, 0.06),
            drift_deg: dice.sign() * (own.drift_deg * dice.log_normal(1.0, 0.2)).min(75.0),
            off_deg: dice.sign() * dice.between(30.0, 150.0),
            yaws: Wander::new(own.yaws_deg, own.yaws_s, dice),
            surges_per_h: own.surges_per_h,
            surge: (0.0, 0.0),
        }
    }
}
