//! A session's wind and stream, and the instrument that tells of the wind.

use super::{STEP_S, widely};
use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, fold_180, mps, wrap_360},
    sentence,
};

/// Where it comes from and how hard.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wind {
    pub(super) from_deg: f64,
    pub(super) mps: f64,
}

impl Wind {
    /// Off the bow, degrees; on the starboard side above 0.
    pub(super) fn off_deg(self, heading_deg: f64) -> f64 {
        fold_180(self.from_deg - heading_deg)
    }

    /// A part of it, turned clockwise off downwind.
    pub(super) fn drift(self, share: f64, turned_deg: f64) -> Vec2 {
        Vec2::along(self.from_deg + 180.0 + turned_deg, self.mps * share)
    }

    /// As it is felt by what moves with the stream.
    pub(super) fn over(self, stream: Vec2) -> Wind {
        let felt = Vec2::along(self.from_deg, self.mps) + stream;
        Wind { from_deg: felt.bearing_deg(), mps: felt.length() }
    }
}

#[derive(Clone, Debug)]
pub(super) struct Air {
    mean_mps: f64,
    from_deg: f64,
    shift_deg: f64,
    shift_s: f64,
    shift_from_s: f64,
    veers: Wander,
    swells: Wander,
    gust_share: f64,
    gusts_per_h: f64,
    gust_s: f64,
    lulls: f64,
    /// Begun, lasts, share of the mean.
    gust: Option<(f64, f64, f64)>,
    /// Of the puffs each boat has for herself: share of the wind, and for how long.
    pub(super) patch: (f64, f64),
    /// And of the slants, degrees.
    pub(super) slants_deg: f64,
    stream: Vec2,
    stream_turns_deg_s: f64,
    t_s: f64,
    dice: Dice,
}

impl Air {
    /// All ranges are guesses, but that wind wanders by 5 to 10 degrees over minutes (`wind.md`).
    pub(super) fn draw(scenario: &str, mut dice: Dice) -> Air {
        let dice_ref = &mut dice;
        let (low, high) = match scenario {
            "tenth-faint" => (2.2, 4.2),
            "tenth-squally" => (4.5, 11.0),
            _ => (3.2, 9.5),
        };
        let mean_mps = dice_ref.between(low, high);
        let from_deg = dice_ref.between(0.0, 360.0);
        let gusty = if scenario == "tenth-squally" { (0.25, 0.6) } else { (0.05, 0.35) };
        let stream = if scenario == "tenth-contrary" {
            // Against the wind, more or less; seldom as much as a knot and a third.
            let kn = (0.2 + 1.1 * dice_ref.unit().powi(3)).min(0.2 * mean_mps);
            Vec2::along(from_deg + dice_ref.between(-35.0, 35.0), mps(kn))
        } else {
            let kn = (0.6 * dice_ref.unit().powi(3)).min(0.1 * mean_mps);
            Vec2::along(dice_ref.between(0.0, 360.0), mps(kn))
        };
        let (veer_deg, veer_s) = (dice_ref.between(2.0, 9.0), widely(dice_ref, 40.0, 400.0));
        let (swell, swell_s) = (dice_ref.between(0.03, 0.15), widely(dice_ref, 60.0, 600.0));
        Air {
            mean_mps,
            from_deg,
            shift_deg: dice_ref.between(0.0, 18.0),
            shift_s: widely(dice_ref, 240.0, 2_400.0),
            shift_from_s: dice_ref.between(0.0, 2_400.0),
            veers: Wander::new(veer_deg, veer_s, dice_ref),
            swells: Wander::new(swell, swell_s, dice_ref),
            gust_share: dice_ref.between(gusty.0, gusty.1),
            gusts_per_h: widely(dice_ref, 8.0, 70.0),
            gust_s: widely(dice_ref, 8.0, 50.0),
            lulls: dice_ref.between(0.1, 0.6),
            gust: None,
            patch: (dice_ref.between(0.03, 0.2), widely(dice_ref, 10.0, 90.0)),
            slants_deg: dice_ref.between(1.0, 7.0),
            stream,
            stream_turns_deg_s: dice_ref.between(-25.0, 25.0) / 3_600.0,
            t_s: 0.0,
            dice,
        }
    }

    pub(super) fn step(&mut self) {
        self.t_s += STEP_S;
        self.veers.step(STEP_S, &mut self.dice);
        self.swells.step(STEP_S, &mut self.dice);
        self.stream = self.stream.turned(self.stream_turns_deg_s * STEP_S);
        if self.gust.is_some_and(|(from_s, lasts_s, _)| self.t_s > from_s + lasts_s) {
            self.gust = None;
        }
        if self.gust.is_none() && self.dice.happens(self.gusts_per_h, STEP_S) {
            let sign = if self.dice.chance(self.lulls) { -0.7 } else { 1.0 };
            let share = sign * self.gust_share * self.dice.log_normal(1.0, 0.3);
            self.gust = Some((self.t_s, self.dice.log_normal(self.gust_s, 0.4), share));
        }
    }

    /// Over the ground, at the middle.
    pub(super) fn wind(&self) -> Wind {
        // A gust comes and goes like half a wave.
        let gust = self.gust.map_or(0.0, |(from_s, lasts_s, share)| {
            share * (std::f64::consts::PI * ((self.t_s - from_s) / lasts_s).clamp(0.0, 1.0)).sin()
        });
        let turn = std::f64::consts::TAU * (self.t_s + self.shift_from_s) / self.shift_s;
        Wind {
            from_deg: wrap_360(self.from_deg + self.shift_deg * turn.sin() + self.veers.value),
            mps: self.mean_mps * (1.0 + self.swells.value + gust).clamp(0.25, 2.2),
        }
    }

    pub(super) fn stream(&self) -> Vec2 {
        self.stream
    }

    pub(super) fn mean_mps(&self) -> f64 {
        self.mean_mps
    }
}

/// A wind instrument on a safety boat: off by a constant, and noisy. An error of 7 deg and 15 % is typical
/// (`wind.md`); how noisy is a guess.
#[derive(Clone, Debug)]
pub(super) struct Vane {
    off_deg: f64,
    times: f64,
    noise_deg: f64,
    noise: f64,
    /// Tells each so many seconds.
    pub(super) every_s: u32,
    dice: Dice,
}

impl Vane {
    pub(super) fn draw(mut dice: Dice) -> Vane {
        Vane {
            off_deg: 6.0 * dice.normal().clamp(-2.0, 2.0),
            times: dice.log_normal(1.0, 0.1),
            noise_deg: dice.between(1.0, 10.0),
            noise: dice.between(0.02, 0.15),
            every_s: 1 + dice.pick(5) as u32,
            dice,
        }
    }

    pub(super) fn line(&mut self, wind: Wind) -> String {
        let from_deg = wind.from_deg + self.off_deg + self.noise_deg * self.dice.normal();
        let mps = wind.mps * self.times * (1.0 + self.noise * self.dice.normal()).max(0.2);
        sentence::mwd(wrap_360(from_deg), mps)
    }
}
