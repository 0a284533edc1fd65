//! The wind of the fifth water: a slow wander, and puffs that travel down it as shapes of their own.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps, wrap_360},
};

/// Puffs are made so long before they pass the middle, s: the furthest boat upwind must feel all of one.
const AHEAD_S: f64 = 240.0;

/// Wind at a place.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Air {
    pub(super) from_deg: f64,
    pub(super) speed_mps: f64,
}

impl Air {
    pub(super) fn of_flow(flow: Vec2) -> Air {
        Air { from_deg: wrap_360(flow.bearing_deg() + 180.0), speed_mps: flow.length() }
    }

    /// Where the air goes.
    pub(super) fn flow(self) -> Vec2 {
        Vec2::along(self.from_deg + 180.0, self.speed_mps)
    }
}

/// More wind, or less, from a little aside.
#[derive(Clone, Copy, Debug)]
struct Puff {
    /// When its front passes the middle of the water.
    front_s: f64,
    lasts_s: f64,
    gain: f64,
    veer_deg: f64,
    across_m: f64,
    wide_m: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Field {
    pub(super) from_deg: f64,
    pub(super) mean_mps: f64,
    slow: Wander,
    shift: Wander,
    puffs: Vec<Puff>,
    per_hour: f64,
    strength: f64,
    veers_deg: f64,
    dice: Dice,
}

impl Field {
    /// All figures reasoned; that wind inland is gustier and shiftier than over open water is common
    /// practice.
    pub(super) fn draw(scenario: &str, mut dice: Dice) -> Field {
        let (rough, strength, veers_deg) = match scenario {
            "fifth-tidal" => (0.05, dice.between(0.06, 0.16), dice.between(2.0, 5.0)),
            "fifth-inland" => (0.10, dice.between(0.18, 0.38), dice.between(6.0, 14.0)),
            _ => (0.07, dice.between(0.10, 0.26), dice.between(3.0, 9.0)),
        };
        let shift_s = dice.between(150.0, 500.0);
        let mut field = Field {
            from_deg: dice.between(0.0, 360.0),
            mean_mps: mps(dice.between(6.0, 17.0)),
            slow: Wander::new(rough, dice.between(120.0, 360.0), &mut dice),
            shift: Wander::new(veers_deg * 0.7, shift_s, &mut dice),
            puffs: Vec::new(),
            per_hour: dice.between(60.0, 160.0),
            strength,
            veers_deg,
            dice,
        };
        for _ in 0..12 {
            let front_s = field.dice.between(-60.0, AHEAD_S);
            field.puff(front_s);
        }
        field
    }

    fn puff(&mut self, front_s: f64) {
        let dice = &mut self.dice;
        // A third are lulls.
        let sign = if dice.chance(0.33) { -0.7 } else { 1.0 };
        self.puffs.push(Puff {
            front_s,
            lasts_s: dice.between(12.0, 60.0),
            gain: sign * self.strength * dice.between(0.4, 1.4),
            veer_deg: self.veers_deg * dice.normal(),
            across_m: dice.between(-300.0, 300.0),
            wide_m: dice.between(40.0, 200.0),
        });
    }

    pub(super) fn step(&mut self, t_s: f64, step_s: f64) {
        self.slow.step(step_s, &mut self.dice);
        self.shift.step(step_s, &mut self.dice);
        if self.dice.happens(self.per_hour, step_s) {
            self.puff(t_s + AHEAD_S);
        }
        self.puffs.retain(|puff| t_s < puff.front_s + puff.lasts_s + AHEAD_S);
    }

    /// The wind over the ground at a place, at 10 m.
    pub(super) fn at(&self, at: Vec2, t_s: f64) -> Air {
        let down = Vec2::along(self.from_deg + 180.0, 1.0);
        let (along_m, across_m) = (at.dot(down), at.dot(down.turned(90.0)));
        let (mut gain, mut veer_deg) = (1.0 + self.slow.value, self.shift.value);
        for puff in &self.puffs {
            let phase = (t_s - puff.front_s - along_m / self.mean_mps) / puff.lasts_s;
            if (0.0..1.0).contains(&phase) {
                let aside = (across_m - puff.across_m) / puff.wide_m;
                let share = (std::f64::consts::PI * phase).sin() * (-aside * aside).exp();
                gain += puff.gain * share;
                veer_deg += puff.veer_deg * share;
            }
        }
        Air { from_deg: wrap_360(self.from_deg + veer_deg), speed_mps: self.mean_mps * gain.clamp(0.35, 1.9) }
    }
}
