//! The wind: a day's mean that swings and sags, patches that travel with it, and spells of hardly any.

use crate::{
    dice::{Dice, Wander},
    plane::Vec2,
};

/// The wind at one place, over the ground or over the water.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wind {
    pub(super) from_deg: f64,
    pub(super) speed_mps: f64,
    /// Its strength here over that of the venue at large.
    pub(super) gust: f64,
}

impl Wind {
    /// Felt by someone who is carried along.
    pub(super) fn over(self, stream: Vec2) -> Wind {
        let blows = Vec2::along(self.from_deg + 180.0, self.speed_mps) - stream;
        Wind { from_deg: (blows * -1.0).bearing_deg(), speed_mps: blows.length(), ..self }
    }
}

/// A darker or a lighter patch of water on its way downwind.
#[derive(Clone, Copy, Debug)]
struct Patch {
    at: Vec2,
    radius_m: f64,
    more: f64,
    veer_deg: f64,
    age_s: f64,
    lives_s: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Air {
    mean_mps: f64,
    from_deg: f64,
    turns_deg_per_s: f64,
    swing_deg: [Wander; 2],
    sag: Wander,
    patchy: f64,
    patches: Vec<Patch>,
    /// Hardly any wind from then, until then, s.
    calm_s: Vec<(f64, f64)>,
    t_s: f64,
    dice: Dice,
}

/// Patches alive at any time, and how far from the middle they are born, m.
const PATCHES: usize = 16;
const BORN_M: f64 = 900.0;

impl Air {
    /// Mean winds are those in which beginners are sent out: light to fresh (common practice, no source).
    pub(super) fn draw(scenario: &str, lasts_s: f64, mut dice: Dice) -> Air {
        let (low_mps, high_mps, patchy) = match scenario {
            "seventh-light" => (2.5, 3.9, 0.22),
            "seventh-gusty" => (4.8, 8.2, 0.34),
            "seventh-trade" => (5.4, 8.4, 0.14),
            _ => (4.0, 8.0, 0.22),
        };
        let calms = if scenario == "seventh-light" { 1 + dice.pick(2) } else { 0 };
        let calm_s = (0..calms)
            .map(|_| {
                let from_s = dice.between(300.0, lasts_s - 300.0);
                (from_s, from_s + dice.log_normal(110.0, 0.5))
            })
            .collect();
        let mut air = Air {
            mean_mps: dice.between(low_mps, high_mps),
            from_deg: dice.between(0.0, 360.0),
            turns_deg_per_s: dice.normal() * 12.0 / 3600.0,
            // 5 to 10 degrees over minutes (wind.md).
            swing_deg: [Wander::new(5.0, 420.0, &mut dice), Wander::new(3.5, 70.0, &mut dice)],
            sag: Wander::new(0.08, 300.0, &mut dice),
            patchy: patchy * dice.between(0.7, 1.3),
            patches: Vec::new(),
            calm_s,
            t_s: 0.0,
            dice,
        };
        for _ in 0..PATCHES {
            let patch = air.patch();
            air.patches.push(Patch { age_s: air.dice.between(0.0, patch.lives_s), ..patch });
        }
        air
    }

    fn patch(&mut self) -> Patch {
        let dice = &mut self.dice;
        Patch {
            at: Vec2::new(dice.between(-BORN_M, BORN_M), dice.between(-BORN_M, BORN_M)),
            radius_m: dice.log_normal(110.0, 0.5),
            more: self.patchy * dice.normal(),
            veer_deg: 8.0 * dice.normal(),
            age_s: 0.0,
            lives_s: dice.log_normal(80.0, 0.5),
        }
    }

    pub(super) fn step(&mut self, dt_s: f64) {
        self.t_s += dt_s;
        self.from_deg += self.turns_deg_per_s * dt_s;
        for swing in &mut self.swing_deg {
            swing.step(dt_s, &mut self.dice);
        }
        self.sag.step(dt_s, &mut self.dice);
        let venue = self.venue();
        let moved = Vec2::along(venue.from_deg + 180.0, 0.8 * venue.speed_mps * dt_s);
        for ix in 0..self.patches.len() {
            self.patches[ix].at += moved;
            self.patches[ix].age_s += dt_s;
            if self.patches[ix].age_s > self.patches[ix].lives_s {
                self.patches[ix] = self.patch();
            }
        }
    }

    /// Without single patches.
    pub(super) fn venue(&self) -> Wind {
        let fade = |(from_s, to_s): &(f64, f64)| {
            let inside_s = (self.t_s - from_s).min(to_s - self.t_s);
            1.0 - 0.8 * (inside_s / 40.0 + 0.5).clamp(0.0, 1.0)
        };
        let calm = self.calm_s.iter().map(fade).fold(1.0, f64::min);
        Wind {
            from_deg: crate::plane::wrap_360(
                self.from_deg + self.swing_deg.iter().map(|swing| swing.value).sum::<f64>(),
            ),
            speed_mps: (self.mean_mps * (1.0 + self.sag.value) * calm).max(0.3),
            gust: 1.0,
        }
    }

    pub(super) fn at(&self, at: Vec2) -> Wind {
        let venue = self.venue();
        let (mut gust, mut veer_deg) = (1.0, 0.0);
        for patch in &self.patches {
            let far = (patch.at - at).length() / patch.radius_m;
            let grown = (std::f64::consts::PI * patch.age_s / patch.lives_s).sin().max(0.0);
            let share = grown * (-far * far).exp();
            gust += patch.more * share * 1.6;
            veer_deg += patch.veer_deg * share;
        }
        let gust = gust.clamp(0.35, 1.9);
        Wind { from_deg: venue.from_deg + veer_deg, speed_mps: venue.speed_mps * gust, gust }
    }
}
