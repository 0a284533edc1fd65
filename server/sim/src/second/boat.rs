//! A boat of the second water: one speed, one heading, and a way of stopping for each thing that stops her.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, fold_180, wrap_360},
    second::{habits::Habits, phone::Phone},
    truth::Reason,
};

/// Speed as a share of the best, over the angle off the wind, degrees (common practice, no source).
const SHAPE: [(f64, f64); 7] =
    [(0.0, 0.0), (30.0, 0.1), (42.0, 0.66), (60.0, 0.85), (100.0, 1.0), (140.0, 0.92), (180.0, 0.74)];
/// The best speed, m/s: the hull's 4.8 kn (`detection.md` (f), 3.9 m on the waterline).
const BEST_MPS: f64 = 2.47;
/// Wind in which she makes two thirds of it, m/s.
const WIND_MPS: f64 = 3.6;
/// She beats this far off the wind, degrees.
const BEAT_DEG: f64 = 47.0;

/// Why she does not sail, with when it ends.
#[derive(Clone, Debug)]
pub(crate) enum Doing {
    Sailing,
    Irons,
    HoveTo { ahead_mps: f64 },
    Waiting { off_deg: f64, ahead_mps: f64, for_safety: bool },
    Rafted,
    PickUp,
    Over { stops_s: f64, drift: Vec2, through: Vec2 },
    Bailing,
}

impl Doing {
    pub(crate) fn reason(&self) -> Option<Reason> {
        match self {
            Doing::Sailing => None,
            Doing::Irons => Some(Reason::InIrons),
            Doing::HoveTo { .. } => Some(Reason::HoveTo),
            Doing::Waiting { .. } => Some(Reason::Waiting),
            Doing::Rafted => Some(Reason::Rafted),
            Doing::PickUp => Some(Reason::DrillPickUp),
            Doing::Over { .. } => Some(Reason::Capsized),
            Doing::Bailing => Some(Reason::Recovering),
        }
    }
}

/// The wind where she is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Air {
    pub(crate) from_deg: f64,
    pub(crate) mps: f64,
}

#[derive(Clone, Debug)]
pub(crate) struct Boat {
    pub(crate) id: String,
    pub(crate) at: Vec2,
    /// Over the ground, m/s.
    pub(crate) velocity: Vec2,
    pub(crate) heading_deg: f64,
    pub(crate) ahead_mps: f64,
    pub(crate) doing: Doing,
    pub(crate) since_s: f64,
    pub(crate) until_s: f64,
    pub(crate) phone: Phone,
    pub(crate) dice: Dice,
    /// The side the wind comes over: +1 starboard.
    pub(crate) tack: f64,
    board_s: f64,
    helm: Wander,
    sway: [Wander; 2],
    skill: f64,
    /// Where she goes next, and whether she goes round the other way.
    pub(crate) next: usize,
    backwards: bool,
}

impl Boat {
    pub(crate) fn new(id: String, habits: &Habits, odd_phone: bool, mut dice: Dice) -> Boat {
        Boat {
            id,
            at: Vec2::new(dice.between(-200.0, 200.0), dice.between(-200.0, 200.0)),
            velocity: Vec2::default(),
            heading_deg: dice.between(0.0, 360.0),
            ahead_mps: 1.0,
            doing: Doing::Sailing,
            since_s: 0.0,
            until_s: 0.0,
            phone: if odd_phone { Phone::odd(habits, &mut dice) } else { Phone::new(habits, &mut dice) },
            tack: dice.sign(),
            board_s: 0.0,
            helm: Wander::new(habits.helm_deg, 6.0, &mut dice),
            sway: [Wander::new(0.05, 10.0, &mut dice), Wander::new(0.05, 10.0, &mut dice)],
            skill: dice.between(0.75, 1.0),
            next: dice.pick(4),
            backwards: dice.chance(0.5),
            dice,
        }
    }

    /// The wind's angle off the bow, degrees, positive from starboard.
    pub(crate) fn off_wind_deg(&self, air: Air) -> f64 {
        fold_180(air.from_deg - self.heading_deg)
    }

    pub(crate) fn go(&mut self, doing: Doing, t_s: f64, lasts_s: f64) {
        (self.doing, self.since_s, self.until_s) = (doing, t_s, t_s + lasts_s);
    }

    /// Lets `dt_s` pass.
    pub(crate) fn step(
        &mut self,
        t_s: f64,
        dt_s: f64,
        air: Air,
        stream: Vec2,
        marks: &[Vec2; 4],
        habits: &Habits,
    ) {
        let (side, swing) = (self.tack, |period_s: f64| (t_s / period_s).sin());
        let drift = match self.doing.clone() {
            Doing::Sailing => self.sail(t_s, dt_s, air, marks, habits),
            Doing::Irons => {
                self.turn_to(air.from_deg + 6.0 * swing(5.0), 14.0 * habits.agile, dt_s);
                self.slow_to(-habits.astern_mps, habits.irons_s, dt_s);
                0.03
            }
            Doing::HoveTo { ahead_mps } => {
                self.turn_to(air.from_deg - side * 52.0 + 8.0 * swing(9.0), 14.0 * habits.agile, dt_s);
                self.slow_to(ahead_mps, habits.heave_s, dt_s);
                habits.hove_drift
            }
            Doing::Waiting { off_deg, ahead_mps, .. } => {
                self.turn_to(air.from_deg - side * off_deg + 6.0 * swing(7.0), 12.0 * habits.agile, dt_s);
                self.slow_to(ahead_mps, habits.wait_s, dt_s);
                habits.wait_drift
            }
            Doing::Rafted => {
                self.turn_to(air.from_deg - side * 75.0, 10.0, dt_s);
                self.slow_to(0.0, 3.0, dt_s);
                0.03
            }
            Doing::PickUp => {
                let off_deg = if t_s < self.until_s - 6.0 { 58.0 } else { 40.0 };
                self.turn_to(air.from_deg - side * off_deg, 14.0 * habits.agile, dt_s);
                self.slow_to(0.12, habits.pick_s, dt_s);
                0.03
            }
            Doing::Over { stops_s, drift, through } => {
                let kept = (-dt_s / stops_s).exp();
                let sway = self.sway.each_mut().map(|axis| axis.step(dt_s, &mut self.dice));
                let lies = drift + Vec2::new(sway[0], sway[1]);
                let through = lies + (through - lies) * kept;
                self.doing = Doing::Over { stops_s, drift, through };
                self.ahead_mps = 0.0;
                self.velocity = through + stream;
                self.at += self.velocity * dt_s;
                return;
            }
            Doing::Bailing => {
                self.turn_to(air.from_deg - 80.0, 4.0, dt_s);
                self.slow_to(0.0, 3.0, dt_s);
                0.025
            }
        };
        let leeway = Vec2::along(air.from_deg + 180.0, drift * air.mps);
        self.velocity = Vec2::along(self.heading_deg, self.ahead_mps) + leeway + stream;
        self.at += self.velocity * dt_s;
    }

    /// Towards the next mark, on the wind where she must. Gives her leeway as a share of the wind.
    fn sail(&mut self, t_s: f64, dt_s: f64, air: Air, marks: &[Vec2; 4], habits: &Habits) -> f64 {
        let way = marks[self.next] - self.at;
        if way.length() < 12.0 {
            self.next = (self.next + if self.backwards { 3 } else { 1 }) % 4;
        }
        let bearing_deg = way.bearing_deg();
        let off_deg = fold_180(air.from_deg - bearing_deg);
        let helm_deg = self.helm.step(dt_s, &mut self.dice);
        self.board_s -= dt_s;
        let want_deg = if off_deg.abs() < BEAT_DEG + 1.0 {
            if self.board_s <= 0.0 {
                self.tack = -self.tack;
                self.board_s = self.dice.between(25.0, 80.0);
                if self.dice.chance(habits.irons) {
                    let lasts_s = self.dice.between(8.0, 45.0);
                    self.go(Doing::Irons, t_s, lasts_s);
                }
            }
            air.from_deg - self.tack * BEAT_DEG
        } else {
            self.board_s = self.board_s.min(5.0);
            self.tack = if off_deg > 0.0 { 1.0 } else { -1.0 };
            bearing_deg
        };
        self.turn_to(want_deg + helm_deg, 16.0, dt_s);
        let angle_deg = self.off_wind_deg(air).abs();
        let best_mps = BEST_MPS * shape(angle_deg) * (1.0 - (-air.mps / WIND_MPS).exp()) * self.skill;
        let within_s = if best_mps > self.ahead_mps { habits.gather_s } else { habits.lose_s };
        self.slow_to(best_mps, within_s, dt_s);
        if angle_deg < 70.0 { 0.02 } else { 0.005 }
    }

    fn turn_to(&mut self, want_deg: f64, most_dps: f64, dt_s: f64) {
        let most = most_dps * dt_s;
        let by = fold_180(want_deg - self.heading_deg).clamp(-most, most);
        self.heading_deg = wrap_360(self.heading_deg + by);
    }

    fn slow_to(&mut self, mps: f64, within_s: f64, dt_s: f64) {
        self.ahead_mps += (mps - self.ahead_mps) * (dt_s / within_s).min(1.0);
    }
}

/// [`SHAPE`] at an angle off the wind.
fn shape(angle_deg: f64) -> f64 {
    SHAPE.windows(2).find(|pair| angle_deg <= pair[1].0).map_or(SHAPE[6].1, |pair| {
        let share = (angle_deg - pair[0].0) / (pair[1].0 - pair[0].0);
        pair[0].1 + share * (pair[1].1 - pair[0].1)
    })
}
