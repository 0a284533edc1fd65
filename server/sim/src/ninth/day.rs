//! The air and the water of a session: a wind that wanders, patches of more or less of it, a stream, waves.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps, wrap_360},
};

/// Wind at a sail's height by wind at 10 m, over open water (leeway.md: 10 m is 1.1 to 1.3 times 2 m).
const AT_SAIL: f64 = 0.84;

/// A wind, and whence.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wind {
    pub(super) from_deg: f64,
    pub(super) speed_mps: f64,
}

impl Wind {
    pub(super) fn vector(self) -> Vec2 {
        Vec2::along(self.from_deg + 180.0, self.speed_mps)
    }

    /// As an instrument on a boat's pole meets it.
    pub(super) fn on_a_pole(self) -> Wind {
        Wind { speed_mps: self.speed_mps * AT_SAIL, ..self }
    }

    /// As it is felt at a sail on a water that moves itself.
    pub(super) fn at_sail(self, stream: Vec2) -> Wind {
        let over = self.vector() * AT_SAIL - stream;
        Wind { from_deg: wrap_360(over.bearing_deg() + 180.0), speed_mps: over.length() }
    }
}

/// A patch of stronger, weaker or turned wind that travels with it.
#[derive(Clone, Debug)]
struct Patch {
    at: Vec2,
    radius_m: f64,
    share: f64,
    turn_deg: f64,
    age_s: f64,
    lasts_s: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Day {
    mean_from_deg: f64,
    mean_mps: f64,
    /// How strong its gusts are, of the mean.
    gusty: f64,
    swing_deg: Wander,
    breath: Wander,
    patches: Vec<Patch>,
    pub(super) stream: Vec2,
    /// Height of waves, m, and their period, s.
    pub(super) wave_m: f64,
    pub(super) wave_s: f64,
    dice: Dice,
}

impl Day {
    /// Winds of a school day: what beginners are sent out in is common practice, no source; the rest is a guess.
    pub(super) fn draw(scenario: &str, mut dice: Dice) -> Day {
        let (kn, gusty) = match scenario {
            "ninth-squalls" => (dice.between(9.5, 14.5), dice.between(0.35, 0.6)),
            "ninth-idle" => (dice.between(5.0, 8.0), dice.between(0.2, 0.5)),
            _ => (dice.between(7.0, 13.0), dice.between(0.15, 0.42)),
        };
        let mean_from_deg = dice.between(0.0, 360.0);
        let stream = match scenario {
            // To where the wind comes from, more or less.
            "ninth-ebb" => {
                Vec2::along(mean_from_deg + dice.between(-35.0, 35.0), mps(dice.between(0.15, 0.6)))
            }
            _ => Vec2::along(dice.between(0.0, 360.0), mps(dice.between(0.0, 0.2))),
        };
        let mean_mps = mps(kn);
        // A short fetch, drawn wide; a stream against the wind makes them steeper. All guesses.
        let steep = if scenario == "ninth-ebb" { 1.3 } else { 1.0 };
        let wave_m = steep * dice.log_normal(0.0032, 0.4) * mean_mps * mean_mps;
        let swing_deg = Wander::new(dice.between(3.0, 9.0), dice.between(120.0, 500.0), &mut dice);
        let breath = Wander::new(gusty * 0.4, dice.between(60.0, 240.0), &mut dice);
        let wave_s = dice.between(1.7, 2.6);
        let mut day = Day {
            mean_from_deg,
            mean_mps,
            gusty,
            swing_deg,
            breath,
            patches: Vec::new(),
            stream,
            wave_m,
            wave_s,
            dice,
        };
        for _ in 0..10 {
            let lasts_s = day.dice.between(10.0, 100.0);
            day.patch(lasts_s);
        }
        day
    }

    fn patch(&mut self, lasts_s: f64) {
        let at = Vec2::new(self.dice.between(-600.0, 600.0), self.dice.between(-600.0, 600.0));
        let turn_deg = 9.0 * self.dice.normal();
        let share = self.gusty * (0.35 + 0.6 * self.dice.normal());
        let radius_m = self.dice.between(60.0, 220.0);
        self.patches.push(Patch { at, radius_m, share, turn_deg, age_s: 0.0, lasts_s });
    }

    pub(super) fn step(&mut self, dt_s: f64) {
        self.swing_deg.step(dt_s, &mut self.dice);
        self.breath.step(dt_s, &mut self.dice);
        let travelled = self.venue().vector() * dt_s;
        for patch in &mut self.patches {
            patch.at += travelled;
            patch.age_s += dt_s;
        }
        self.patches.retain(|patch| patch.age_s < patch.lasts_s);
        while self.patches.len() < 10 {
            let lasts_s = self.dice.between(30.0, 120.0);
            self.patch(lasts_s);
        }
    }

    /// The wind of the venue, at 10 m.
    pub(super) fn venue(&self) -> Wind {
        Wind {
            from_deg: wrap_360(self.mean_from_deg + self.swing_deg.value),
            speed_mps: self.mean_mps * (1.0 + self.breath.value).max(0.2),
        }
    }

    /// The wind at a place, at 10 m.
    pub(super) fn at(&self, at: Vec2) -> Wind {
        let venue = self.venue();
        let (mut more, mut turn_deg) = (1.0, 0.0);
        for patch in &self.patches {
            let near = 1.0 - (at - patch.at).length() / patch.radius_m;
            if near <= 0.0 {
                continue;
            }
            // They grow and fade in some ten seconds, not at once.
            let life = (patch.age_s / 10.0).min((patch.lasts_s - patch.age_s) / 10.0).clamp(0.0, 1.0);
            let here = (2.0 * near).min(1.0) * life;
            more += here * patch.share;
            turn_deg += here * patch.turn_deg;
        }
        Wind {
            from_deg: wrap_360(venue.from_deg + turn_deg.clamp(-25.0, 25.0)),
            speed_mps: venue.speed_mps * more.clamp(0.15, 2.0),
        }
    }
}
