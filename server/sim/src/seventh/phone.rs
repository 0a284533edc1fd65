//! The phones: a position that is off for minutes together, a speed that lags and trembles, and water in the pouch.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, mps},
};

/// What one fix says.
pub(super) struct Told {
    pub(super) at: Vec2,
    pub(super) speed_mps: f64,
    pub(super) course_deg: Option<f64>,
    pub(super) late_ms: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Phone {
    off_m: [Wander; 2],
    /// The boat's pitching and the receiver's own error, m/s.
    trembles: [Wander; 2],
    lags_s: f64,
    lagging: Vec2,
    /// Tells 0 below.
    still_mps: f64,
    loss: f64,
    gaps_per_h: f64,
    late_ms: f64,
    /// Silent from, until, s.
    gaps_s: Vec<(f64, f64)>,
    dice: Dice,
}

impl Phone {
    pub(super) fn draw(mut dice: Dice) -> Phone {
        // Correlated over 1 to 10 minutes; within 4.9 m under an open sky (detection.md).
        let (sd_m, tau_s) = (dice.between(1.0, 3.6), dice.between(60.0, 600.0));
        // A told speed is good to about 0.1 kn (detection.md); more in a chop.
        let (sd_mps, short_s) = (dice.between(0.02, 0.09), dice.between(1.0, 4.0));
        Phone {
            off_m: [Wander::new(sd_m, tau_s, &mut dice), Wander::new(sd_m, tau_s, &mut dice)],
            trembles: [Wander::new(sd_mps, short_s, &mut dice), Wander::new(sd_mps, short_s, &mut dice)],
            lags_s: dice.between(0.05, 1.5),
            lagging: Vec2::default(),
            still_mps: if dice.chance(0.25) { dice.between(0.15, 0.5) } else { 0.0 },
            loss: dice.between(0.0, 0.02),
            gaps_per_h: dice.between(0.0, 1.5),
            late_ms: dice.between(60.0, 600.0),
            gaps_s: Vec::new(),
            dice,
        }
    }

    /// She went over: short gaps under a wave at any rate, and perhaps a drowned phone.
    pub(super) fn gets_wet(&mut self, drowns: f64, t_s: f64) {
        let dice = &mut self.dice;
        // Water takes a while to get in: a boat that is righted at once keeps her phone.
        let under_s = dice.between(0.0, 22.0);
        if dice.chance(drowns) {
            let from_s = t_s + under_s;
            let lasts_s =
                if dice.chance(0.2) { f64::INFINITY } else { dice.log_normal(200.0, 0.6).max(60.0) };
            self.gaps_s.push((from_s, from_s + lasts_s));
        } else if dice.chance(0.2) {
            let from_s = t_s + dice.between(0.5, 30.0);
            self.gaps_s.push((from_s, from_s + dice.log_normal(26.0, 0.6)));
        }
    }

    /// Upright again: what water would have done later it does not do.
    pub(super) fn comes_up(&mut self, t_s: f64) {
        self.gaps_s.retain(|(from_s, _)| *from_s <= t_s);
    }

    pub(super) fn watch(&mut self, velocity: Vec2, dt_s: f64) {
        self.lagging += (velocity - self.lagging) * (1.0 - (-dt_s / self.lags_s).exp());
    }

    /// This second's fix; `None`: it does not arrive.
    pub(super) fn fix(&mut self, at: Vec2, t_s: f64) -> Option<Told> {
        let dice = &mut self.dice;
        let off_m = self.off_m.each_mut().map(|axis| axis.step(1.0, dice) + 0.25 * dice.normal());
        let trembles = self.trembles.each_mut().map(|axis| axis.step(1.0, dice));
        let late_ms = self.late_ms + dice.log_normal(60.0, 0.9).min(2_500.0);
        if dice.happens(self.gaps_per_h, 1.0) {
            self.gaps_s.push((t_s, t_s + dice.between(3.0, 20.0)));
        }
        let lost = dice.chance(self.loss);
        self.gaps_s.retain(|(_, to_s)| *to_s > t_s);
        if lost || self.gaps_s.iter().any(|(from_s, _)| *from_s <= t_s) {
            return None;
        }
        let told = self.lagging + Vec2::new(trembles[0], trembles[1]);
        let still = told.length() < self.still_mps.max(mps(0.02));
        Some(Told {
            at: at + Vec2::new(off_m[0], off_m[1]),
            speed_mps: if still { 0.0 } else { told.length() },
            course_deg: (!still).then(|| told.bearing_deg()),
            late_ms: late_ms as i64,
        })
    }
}
