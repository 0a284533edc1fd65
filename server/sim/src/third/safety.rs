//! The safety boats of the third water: where they go, and what their receivers and vanes say.

use crate::{
    dice::{Dice, Wander},
    plane::{Chart, Vec2, fold_180, wrap_360},
    sentence,
    third::{air::Air, boat::Boat, doing::Doing, habits::Habits},
};

/// How far abeam of a safety boat a rafted one lies, m.
pub(super) const BESIDE_M: f64 = 2.0;
/// Wind at a short mast against that at 10 m. Reasoned.
const AT_VANE: f64 = 0.82;
/// A safety boat this near has come to her, m.
const ATTENDS_M: f64 = 15.0;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Job {
    /// To a place, then a pause until then.
    Patrol { to: Vec2, idle_until_s: f64 },
    /// To a boat that waits for her, and back when she sails on.
    Raft(usize),
    /// Stands by a capsized boat, so far off, on that bearing from her.
    Attend(usize, Vec2),
    /// Close past a boat under sail, so long at most.
    Pass(usize, Vec2, f64),
}

#[derive(Clone, Debug)]
pub(super) struct Safety {
    pub(super) source: &'static str,
    pub(super) id: &'static str,
    pub(super) at: Vec2,
    pub(super) velocity: Vec2,
    pub(super) heading_deg: f64,
    job: Job,
    hurries_mps: f64,
    error: [Wander; 2],
    /// Off by so much, and shaken by so much, degrees; `None` without a vane.
    vane: Option<(f64, f64)>,
    pub(super) next_s: f64,
    dice: Dice,
}

impl Safety {
    pub(super) fn draw(ix: usize, has_vane: bool, mut dice: Dice) -> Safety {
        let (id, source) = if ix == 0 { ("S1", "safety-1") } else { ("S2", "safety-2") };
        let bias_deg = dice.sign() * dice.between(0.0, 6.0);
        Safety {
            source,
            id,
            at: Vec2::new(dice.between(-80.0, 80.0), dice.between(-80.0, 80.0)),
            velocity: Vec2::default(),
            heading_deg: dice.between(0.0, 360.0),
            job: Job::Patrol { to: Vec2::default(), idle_until_s: 0.0 },
            hurries_mps: dice.between(4.0, 9.0),
            error: [Wander::new(1.5, 150.0, &mut dice), Wander::new(1.5, 150.0, &mut dice)],
            vane: has_vane.then(|| (bias_deg, dice.between(2.0, 6.0))),
            next_s: 0.25,
            dice,
        }
    }

    pub(super) fn is_free(&self) -> bool {
        matches!(self.job, Job::Patrol { .. } | Job::Pass(..))
    }

    pub(super) fn raft(&mut self, ix: usize) {
        self.job = Job::Raft(ix);
    }

    pub(super) fn attend(&mut self, ix: usize) {
        let beside = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(5.0, 20.0));
        self.job = Job::Attend(ix, beside);
    }

    pub(super) fn has_come_to(&self, place: Vec2) -> bool {
        (self.at - place).length() < ATTENDS_M
    }

    /// One step about the fleet, before the wind and the stream she drifts in when she idles.
    pub(super) fn step(
        &mut self,
        t_s: f64,
        step_s: f64,
        boats: &[Boat],
        habits: &Habits,
        air: Air,
        stream: Vec2,
    ) {
        let goal = self.goal(t_s, step_s, boats, habits);
        let drift = stream + air.flow() * 0.03;
        let want = match goal {
            Some((goal, pace_mps)) if (goal - self.at).length() > 1.0 => {
                let way = goal - self.at;
                // She slows down over the last lengths.
                way.unit() * pace_mps.min(0.3 + way.length() / 4.0)
            }
            _ => drift,
        };
        let change = want - self.velocity;
        self.velocity += change.unit() * change.length().min(1.1 * step_s);
        let through = self.velocity - stream;
        if through.length() > 0.6 {
            let turn_deg = fold_180(through.bearing_deg() - self.heading_deg);
            self.heading_deg = wrap_360(self.heading_deg + turn_deg.clamp(-30.0 * step_s, 30.0 * step_s));
        }
        self.at += self.velocity * step_s;
    }

    fn goal(&mut self, t_s: f64, step_s: f64, boats: &[Boat], habits: &Habits) -> Option<(Vec2, f64)> {
        let (goal, is_done) = match self.job {
            Job::Patrol { to, idle_until_s } => {
                let pass = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(4.0, 10.0));
                let whom = self.dice.pick(boats.len());
                if self.dice.happens(habits.passes, step_s) && boats[whom].reason().is_none() {
                    self.job = Job::Pass(whom, pass, t_s + 60.0);
                    return None;
                }
                if (to - self.at).length() < 6.0 {
                    let middle = boats.iter().fold(Vec2::default(), |sum, boat| sum + boat.hull.at)
                        * (1.0 / boats.len().max(1) as f64);
                    let away = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(20.0, 220.0));
                    let idle_until_s = t_s + self.dice.between(10.0, 150.0);
                    self.job = Job::Patrol { to: middle + away, idle_until_s };
                    return None;
                }
                ((t_s >= idle_until_s).then_some((to, 0.55 * self.hurries_mps)), false)
            }
            Job::Raft(ix) => {
                let boat = &boats[ix];
                let rafted = matches!(boat.doing, Doing::Rafted { .. });
                let waits = matches!(&boat.doing, Doing::Waiting(wait) if wait.for_safety);
                ((!rafted).then_some((boat.hull.at, self.hurries_mps)), !rafted && !waits)
            }
            Job::Attend(ix, beside) => {
                let boat = &boats[ix];
                let needs = matches!(boat.doing, Doing::Over(_) | Doing::Recovering { .. });
                (Some((boat.hull.at + beside, self.hurries_mps)), !needs)
            }
            Job::Pass(ix, beside, until_s) => {
                let goal = boats[ix].hull.at + beside;
                (Some((goal, self.hurries_mps)), t_s > until_s || (goal - self.at).length() < 3.0)
            }
        };
        if is_done {
            self.job = Job::Patrol { to: self.at + self.velocity * 15.0, idle_until_s: t_s };
        }
        goal
    }

    /// The lines of one second.
    pub(super) fn speak(&mut self, now_ms: i64, chart: &Chart, air: Air) -> Vec<String> {
        let error = self.error.each_mut().map(|axis| axis.step(1.0, &mut self.dice));
        let (lat, lon) = chart.lat_lon(self.at + Vec2::new(error[0], error[1]));
        let told = self.velocity + Vec2::new(self.dice.normal(), self.dice.normal()) * 0.05;
        let course_deg = (told.length() > 0.15).then(|| told.bearing_deg());
        let mut lines = vec![sentence::rmc(now_ms, lat, lon, told.length(), course_deg)];
        if let Some((bias_deg, shake_deg)) = self.vane {
            let felt = air.flow() * AT_VANE - self.velocity;
            let shaken_deg = bias_deg + shake_deg * self.dice.normal();
            let angle_deg = wrap_360(felt.bearing_deg() + 180.0 - self.heading_deg + shaken_deg);
            lines.push(sentence::hdt(wrap_360(self.heading_deg + 1.5 * self.dice.normal())));
            lines.push(sentence::mwv_relative(angle_deg, felt.length() * (1.0 + 0.04 * self.dice.normal())));
        }
        lines
    }
}
