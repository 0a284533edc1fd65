//! The wind: a mean that shifts slowly, and gusts and lulls that travel with it in patches.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, wrap_360},
};

#[derive(Clone, Copy, Debug)]
pub(super) struct Air {
    pub(super) from_deg: f64,
    pub(super) speed_mps: f64,
}

impl Air {
    /// Where it blows to.
    pub(super) fn flow(self) -> Vec2 {
        Vec2::along(self.from_deg + 180.0, self.speed_mps)
    }
}

/// One patch: it passes the middle at a time, and every other place when it has got there.
#[derive(Clone, Copy, Debug)]
struct Patch {
    middle_s: f64,
    rise_s: f64,
    hold_s: f64,
    /// Share of the mean on top; below 0 a lull.
    more: f64,
    turn_deg: f64,
    across_m: f64,
    wide_m: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Field {
    pub(super) mean_mps: f64,
    usual_deg: f64,
    shift: Wander,
    swell: Wander,
    patches: Vec<Patch>,
    dice: Dice,
}

impl Field {
    pub(super) fn draw(scenario: &str, lasts_s: f64, mut dice: Dice) -> Field {
        // In a stream a boat must be able to stem it.
        let least_mps = if scenario == "sixth-stream" { 4.5 } else { 3.0 };
        let mean_mps = dice.between(least_mps, 10.0);
        let (every_s, most) = match scenario {
            "sixth-steady" => (dice.between(60.0, 150.0), 0.3),
            "sixth-gusty" => (dice.between(18.0, 45.0), 0.7),
            _ => (dice.between(30.0, 100.0), 0.5),
        };
        let mut patches = Vec::new();
        let mut at_s = -60.0;
        while at_s < lasts_s + 60.0 {
            at_s += -every_s * (1.0 - dice.unit()).ln();
            let more = if dice.chance(0.65) { dice.between(0.12, most) } else { -dice.between(0.1, 0.45) };
            patches.push(Patch {
                middle_s: at_s,
                rise_s: dice.between(1.5, 6.0),
                hold_s: dice.between(5.0, 30.0),
                more,
                turn_deg: 6.0 * dice.normal(),
                across_m: dice.between(-250.0, 250.0),
                wide_m: dice.between(60.0, 200.0),
            });
        }
        let shift = Wander::new(dice.between(3.0, 8.0), dice.between(250.0, 800.0), &mut dice);
        let swell = Wander::new(dice.between(0.03, 0.08), dice.between(60.0, 240.0), &mut dice);
        Field { mean_mps, usual_deg: dice.between(0.0, 360.0), shift, swell, patches, dice }
    }

    pub(super) fn step(&mut self, step_s: f64) {
        self.shift.step(step_s, &mut self.dice);
        self.swell.step(step_s, &mut self.dice);
    }

    /// The mean direction of now.
    pub(super) fn axis_deg(&self) -> f64 {
        wrap_360(self.usual_deg + self.shift.value)
    }

    pub(super) fn at(&self, place: Vec2, t_s: f64) -> Air {
        let down = Vec2::along(self.usual_deg + 180.0, 1.0);
        let across_m = place.dot(down.turned(90.0));
        let here_s = t_s - place.dot(down) / self.mean_mps;
        let (mut more, mut turn_deg) = (self.swell.value, 0.0);
        for patch in &self.patches {
            let since_s = here_s - patch.middle_s;
            if !(-10.0..60.0).contains(&since_s) {
                continue;
            }
            let on = 1.0 / (1.0 + (-4.0 * since_s / patch.rise_s).exp());
            let off = 1.0 / (1.0 + ((since_s - patch.hold_s) / 3.0).exp());
            let aside = (across_m - patch.across_m) / patch.wide_m;
            let share = on * off * (-0.5 * aside * aside).exp();
            more += patch.more * share;
            turn_deg += patch.turn_deg * share;
        }
        Air {
            from_deg: wrap_360(self.axis_deg() + turn_deg),
            speed_mps: self.mean_mps * (1.0 + more).clamp(0.35, 1.9),
        }
    }
}
