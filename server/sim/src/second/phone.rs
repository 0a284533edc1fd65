//! A phone of the second water: it errs, is late, loses one fix in a hundred and may go under. In one scenario no
//! two are alike.

use crate::{
    dice::{Dice, Wander},
    plane::Vec2,
    second::habits::Habits,
};

/// Between fixes, s, as a rule.
const EVERY_S: f64 = 1.0;
/// One fix in so many is lost, wet or dry.
const LOSS: f64 = 0.01;
/// Slower than this it tells no course, m/s.
const COURSE_MPS: f64 = 0.03;

/// What it tells.
pub(crate) struct Told {
    pub(crate) at: Vec2,
    /// `None`: it tells positions only.
    pub(crate) speed_mps: Option<f64>,
    pub(crate) course_deg: Option<f64>,
    /// How late it is heard, ms.
    pub(crate) late_ms: i64,
}

#[derive(Clone, Debug)]
pub(crate) struct Phone {
    pub(crate) next_s: f64,
    /// Between fixes, s.
    pub(crate) every_s: f64,
    /// Whether it tells a speed at all.
    tells_speed: bool,
    /// Slower than this it says 0, m/s.
    zero_below_mps: f64,
    error: [Wander; 2],
    doppler: [Wander; 2],
    said: Vec2,
    newest: f64,
    late_s: f64,
    /// Under water from then on, until she is up.
    pub(crate) drowned_s: Option<f64>,
}

impl Phone {
    pub(crate) fn new(habits: &Habits, dice: &mut Dice) -> Phone {
        let sd_m = dice.between(1.5, 3.5);
        let wander =
            |sd, tau_s, dice: &mut Dice| [Wander::new(sd, tau_s, dice), Wander::new(sd, tau_s, dice)];
        Phone {
            next_s: dice.unit(),
            every_s: EVERY_S,
            tells_speed: true,
            zero_below_mps: 0.0,
            // Two minutes (`detection.md`: its "typical" receiver).
            error: wander(sd_m, 120.0, dice),
            doppler: wander(habits.doppler_mps, 3.0, dice),
            said: Vec2::default(),
            newest: habits.newest,
            late_s: dice.between(0.2, 0.8),
            drowned_s: None,
        }
    }

    /// One of a box of odd ones: that tells positions only, smooths for seconds, says 0 below half a knot or so, errs
    /// by half a knot, or speaks every other second. Some are two of these.
    pub(crate) fn odd(habits: &Habits, dice: &mut Dice) -> Phone {
        let mut phone = Phone::new(habits, dice);
        phone.tells_speed = !dice.chance(0.25);
        if dice.chance(0.3) {
            phone.newest = dice.between(0.2, 0.5);
        }
        if dice.chance(0.3) {
            phone.zero_below_mps = dice.between(0.1, 0.5);
        }
        if dice.chance(0.25) {
            let sd_mps = dice.between(0.12, 0.3);
            phone.doppler = [Wander::new(sd_mps, 2.0, dice), Wander::new(sd_mps, 2.0, dice)];
        }
        if dice.chance(0.2) {
            phone.every_s = 2.0;
        }
        phone
    }

    /// The fix of now; `None` when it is lost.
    pub(crate) fn fix(&mut self, at: Vec2, velocity: Vec2, t_s: f64, dice: &mut Dice) -> Option<Told> {
        let every_s = self.every_s;
        let error = self.error.each_mut().map(|axis| axis.step(every_s, dice) + 0.5 * dice.normal());
        let doppler = self.doppler.each_mut().map(|axis| axis.step(every_s, dice) + 0.04 * dice.normal());
        let felt = velocity + Vec2::new(doppler[0], doppler[1]);
        let newest = 1.0 - (1.0 - self.newest).powf(every_s);
        self.said = self.said + (felt - self.said) * newest;
        if dice.chance(LOSS) || self.drowned_s.is_some_and(|from| t_s > from) {
            return None;
        }
        let speed_mps = self.said.length();
        let speed_mps = if speed_mps < self.zero_below_mps { 0.0 } else { speed_mps };
        Some(Told {
            at: at + Vec2::new(error[0], error[1]),
            speed_mps: self.tells_speed.then_some(speed_mps),
            course_deg: (self.tells_speed && speed_mps > COURSE_MPS).then(|| self.said.bearing_deg()),
            late_ms: ((self.late_s + (0.1 * dice.normal()).abs()) * 1000.0) as i64,
        })
    }
}
