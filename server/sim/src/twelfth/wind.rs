//! The wind: it shifts and swells slowly, and puffs and lulls blow down the venue with it.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps},
};

/// A wind somewhere.
#[derive(Clone, Copy, Debug)]
pub(super) struct Breeze {
    pub(super) from_deg: f64,
    pub(super) mps: f64,
}

impl Breeze {
    /// As somebody feels it who goes with that stream: sails and swamped hulls know no other.
    pub(super) fn over_water(self, stream: Vec2) -> Breeze {
        let felt = Vec2::along(self.from_deg + 180.0, self.mps) - stream;
        Breeze { from_deg: (felt * -1.0).bearing_deg(), mps: felt.length() }
    }
}

/// A patch of stronger or weaker wind.
#[derive(Clone, Copy, Debug)]
struct Puff {
    at: Vec2,
    radius_m: f64,
    /// So much more wind in its middle, as a share; below 0 in a lull.
    gain: f64,
    veer_deg: f64,
    left_s: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Venue {
    mean: Breeze,
    /// "wanders 5 to 10 deg over minutes" (`wind.md`).
    shift_deg: Wander,
    swell: Wander,
    puffs: Vec<Puff>,
    puffs_per_h: f64,
    strongest: f64,
    dice: Dice,
}

impl Venue {
    pub(super) fn draw(scenario: &str, mut dice: Dice) -> Venue {
        // Knots, puffs an hour over the whole venue and how much they add: guesses. Beginners stay ashore above
        // force 4.
        let (low_kn, high_kn, puffs_per_h, strongest) = match scenario {
            "twelfth-zephyr" => (5.5, 8.5, 80.0, 0.4),
            "twelfth-squally" => (10.0, 14.0, 230.0, 0.75),
            _ => (8.0, 12.0, 140.0, 0.5),
        };
        let mean = Breeze { from_deg: dice.between(0.0, 360.0), mps: mps(dice.between(low_kn, high_kn)) };
        let shift_deg = Wander::new(dice.between(4.0, 9.0), 240.0, &mut dice);
        let swell = Wander::new(0.1, 200.0, &mut dice);
        Venue { mean, shift_deg, swell, puffs: Vec::new(), puffs_per_h, strongest, dice }
    }

    pub(super) fn step(&mut self, dt_s: f64) {
        self.shift_deg.step(dt_s, &mut self.dice);
        self.swell.step(dt_s, &mut self.dice);
        let now = self.now();
        let downwind = Vec2::along(now.from_deg + 180.0, now.mps * dt_s);
        for puff in &mut self.puffs {
            puff.at += downwind;
            puff.left_s -= dt_s;
        }
        self.puffs.retain(|puff| puff.left_s > 0.0);
        if self.dice.happens(self.puffs_per_h, dt_s) {
            let dice = &mut self.dice;
            let across = Vec2::along(now.from_deg + 90.0, dice.between(-450.0, 450.0));
            let gain =
                if dice.chance(0.6) { dice.between(0.15, self.strongest) } else { -dice.between(0.2, 0.5) };
            self.puffs.push(Puff {
                at: Vec2::along(now.from_deg, dice.between(0.0, 600.0)) + across,
                radius_m: dice.between(50.0, 140.0),
                gain,
                veer_deg: 8.0 * dice.normal(),
                left_s: dice.between(60.0, 160.0),
            });
        }
    }

    /// The venue's, without puffs.
    pub(super) fn now(&self) -> Breeze {
        let mps = self.mean.mps * (1.0 + self.swell.value).max(0.4);
        Breeze { from_deg: self.mean.from_deg + self.shift_deg.value, mps }
    }

    pub(super) fn here(&self, at: Vec2) -> Breeze {
        let (mut gain, mut veer_deg) = (0.0, 0.0);
        for puff in &self.puffs {
            // Its front is sharp and its back is not.
            let share = 1.0 - ((at - puff.at).length() / puff.radius_m).powi(2);
            if share > 0.0 {
                gain += puff.gain * share.sqrt();
                veer_deg += puff.veer_deg * share;
            }
        }
        let now = self.now();
        Breeze { from_deg: now.from_deg + veer_deg, mps: now.mps * (1.0 + gain).clamp(0.3, 1.9) }
    }
}
