//! The people: how they feel about it, and what that does to the boat.

use crate::{
    dice::{Dice, Wander},
    fifth::{air::Air, habits::Habits},
    plane::mps,
};

/// Hull speed of a waterline of 3.9 m: sqrt(g L / 2 pi), the speed of a wave as long.
const HULL_MPS: f64 = 2.47;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mood {
    Nervous,
    Steady,
    Keen,
}

#[derive(Clone, Debug)]
pub(super) struct Crew {
    pub(super) mood: Mood,
    pub(super) aboard: u32,
    /// How fast they turn her when nothing hurries, deg/s.
    pub(super) turns_dps: f64,
    /// From the wish to the drawing sail, s.
    pub(super) sheet_s: f64,
    /// Against what the boat could do.
    skill: f64,
    /// Times as often as others they stop.
    pub(super) stops: f64,
    /// As close to the wind, and as far from it, as they sail.
    pub(super) close_deg: f64,
    pub(super) deep_deg: f64,
    helm: Wander,
}

impl Crew {
    /// All figures reasoned.
    pub(super) fn draw(habits: &Habits, dice: &mut Dice) -> Crew {
        let feels = habits.spirit + 0.8 * dice.normal();
        let mood = if feels < -0.5 {
            Mood::Nervous
        } else if feels < 0.6 {
            Mood::Steady
        } else {
            Mood::Keen
        };
        let (turns_dps, sheet_s, skill, stops, close_deg) = match mood {
            Mood::Nervous => (9.0, 2.4, 0.8, 1.4, 54.0),
            Mood::Steady => (15.0, 1.3, 0.92, 0.95, 49.0),
            Mood::Keen => (22.0, 0.7, 1.0, 0.7, 46.0),
        };
        let sway_s = dice.between(4.0, 15.0);
        Crew {
            mood,
            aboard: 2 + u32::from(dice.chance(0.3)),
            turns_dps: turns_dps * dice.between(0.75, 1.25),
            sheet_s: sheet_s * dice.between(0.6, 1.5),
            skill: skill * dice.between(0.88, 1.06),
            stops,
            close_deg: close_deg + dice.between(-3.0, 4.0),
            deep_deg: dice.between(150.0, 168.0),
            helm: Wander::new(dice.between(1.5, 6.0), sway_s, dice),
        }
    }

    /// How far off the heading they meant they steer just now, degrees.
    pub(super) fn sways_deg(&mut self, step_s: f64, dice: &mut Dice) -> f64 {
        self.helm.step(step_s, dice)
    }

    /// The way she gets under trimmed sails. Close-hauled 1-2 kn in 4-6 kn of wind and 2.5-4 in 8-15,
    /// reaching 2-3 and 4-7 (common practice, no source); the curve between is reasoned.
    pub(super) fn way_mps(&self, off_deg: f64, air: Air, mean_mps: f64) -> f64 {
        let off_deg = off_deg.abs();
        let points =
            [(0.0, 0.0), (28.0, 0.0), (46.0, 0.8), (60.0, 1.0), (95.0, 1.3), (130.0, 1.22), (180.0, 0.95)];
        let share = points.windows(2).find(|pair| off_deg <= pair[1].0).map_or(0.95, |pair| {
            let part = (off_deg - pair[0].0) / (pair[1].0 - pair[0].0);
            pair[0].1 + part * (pair[1].1 - pair[0].1)
        });
        let fill = 1.0 - (-air.speed_mps / 4.0).exp();
        let planes = (80.0..150.0).contains(&off_deg) && self.mood != Mood::Nervous;
        let extra_mps = if planes { 0.3 * (air.speed_mps - mps(12.0)).max(0.0) } else { 0.0 };
        // The nervous let the sheet go in a puff.
        let spills = self.mood == Mood::Nervous && air.speed_mps > 1.15 * mean_mps;
        let eased = if spills { 0.65 } else { 1.0 };
        self.skill * eased * (HULL_MPS * share * fill + extra_mps)
    }
}
