//! The safety boat of the fifth water: where it goes, and what its receiver and its vane say.

use crate::{
    dice::{Dice, Wander},
    fifth::{
        air::Air,
        boat::{Boat, Leader},
        course::Course,
        habits::Habits,
        stops::Kind,
    },
    plane::{Chart, Vec2, fold_180, wrap_360},
    sentence,
};

pub(super) const SOURCE: &str = "safety-1";
pub(super) const ID: &str = "S1";
/// Within this it has come to her, m: as the truth has it.
const CAME_M: f64 = 15.0;
/// Wind at a low vane against that at 10 m: 1/1.2, from the very rough 1.1-1.3 between 2 m and 10 m (common
/// practice, no source).
const AT_VANE: f64 = 0.83;

#[derive(Clone, Copy, Debug)]
enum Job {
    /// Up and down before the others, to that end of the way.
    Lead(usize),
    /// To a place, where it drifts until then.
    Roam(Vec2, f64),
    Raft(usize),
    /// Stands by, so far off.
    Help(usize, Vec2),
    /// Close past a boat, until then at most.
    Pass(usize, Vec2, f64),
}

#[derive(Clone, Debug)]
pub(super) struct Safety {
    pub(super) at: Vec2,
    pub(super) velocity: Vec2,
    pub(super) heading_deg: f64,
    job: Job,
    pace_mps: f64,
    leads_mps: f64,
    error: [Wander; 2],
    /// How far off it points, degrees; `None` without a vane.
    vane_deg: Option<f64>,
    dice: Dice,
}

impl Safety {
    pub(super) fn draw(has_vane: bool, mut dice: Dice) -> Safety {
        let off_deg = dice.between(-5.0, 5.0);
        Safety {
            at: Vec2::along(dice.between(0.0, 360.0), 60.0),
            velocity: Vec2::default(),
            heading_deg: dice.between(0.0, 360.0),
            job: Job::Roam(Vec2::default(), 0.0),
            pace_mps: dice.between(3.0, 7.0),
            leads_mps: dice.between(1.0, 1.7),
            error: [Wander::new(1.8, 110.0, &mut dice), Wander::new(1.8, 110.0, &mut dice)],
            vane_deg: has_vane.then_some(off_deg),
            dice,
        }
    }

    pub(super) fn leader(&self) -> Leader {
        Leader {
            at: self.at,
            velocity: self.velocity,
            heading_deg: self.heading_deg,
            leads: matches!(self.job, Job::Lead(_)),
            is_free: self.is_free(),
            rafts: if let Job::Raft(ix) = self.job { Some(ix) } else { None },
        }
    }

    pub(super) fn is_free(&self) -> bool {
        !matches!(self.job, Job::Raft(_) | Job::Help(..))
    }

    pub(super) fn raft(&mut self, ix: usize) {
        self.job = Job::Raft(ix);
    }

    pub(super) fn help(&mut self, ix: usize) {
        let aside = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(4.0, 18.0));
        self.job = Job::Help(ix, aside);
    }

    pub(super) fn has_come_to(&self, place: Vec2) -> bool {
        (self.at - place).length() < CAME_M
    }

    pub(super) fn step(
        &mut self,
        (t_s, step_s): (f64, f64),
        boats: &[Boat],
        course: &Course,
        habits: &Habits,
        (air, stream): (Air, Vec2),
    ) {
        let goal = self.goal(t_s, step_s, boats, course, habits);
        let idle = stream + air.flow() * 0.028;
        let want = match goal {
            Some((goal, pace_mps)) if (goal - self.at).length() > 1.2 => {
                let way = goal - self.at;
                way.unit() * pace_mps.min(0.4 + way.length() / 5.0)
            }
            _ => idle,
        };
        self.velocity += (want - self.velocity) * (1.0 - (-step_s / 2.2f64).exp());
        let through = self.velocity - stream;
        if through.length() > 0.7 {
            let turn_deg = fold_180(through.bearing_deg() - self.heading_deg);
            self.heading_deg = wrap_360(self.heading_deg + turn_deg.clamp(-35.0 * step_s, 35.0 * step_s));
        }
        self.at += self.velocity * step_s;
    }

    fn goal(
        &mut self,
        t_s: f64,
        step_s: f64,
        boats: &[Boat],
        course: &Course,
        habits: &Habits,
    ) -> Option<(Vec2, f64)> {
        match self.job {
            Job::Lead(leg) => {
                let mark = course.mark(leg);
                if !course.follows || (mark - self.at).length() < 8.0 {
                    self.job = if course.follows { Job::Lead(leg + 1) } else { Job::Roam(self.at, t_s) };
                }
                Some((mark, self.leads_mps))
            }
            Job::Roam(..) if course.follows => {
                self.job = Job::Lead(0);
                None
            }
            Job::Roam(to, idle_until_s) => {
                let whom = self.dice.pick(boats.len());
                if self.dice.happens(habits.passes, step_s) && boats[whom].is_sailing() {
                    let aside = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(3.0, 12.0));
                    self.job = Job::Pass(whom, aside, t_s + 70.0);
                } else if t_s > idle_until_s && (to - self.at).length() < 8.0 {
                    let near = boats[whom].hull.at;
                    let away = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(25.0, 120.0));
                    self.job = Job::Roam(near + away, t_s + self.dice.between(20.0, 180.0));
                }
                Some((to, 0.6 * self.pace_mps))
                    .filter(|_| (to - self.at).length() > 8.0 && t_s > idle_until_s - 150.0)
            }
            Job::Raft(ix) => {
                let stop = boats[ix].stop();
                if !matches!(stop, Some(Kind::Await | Kind::Raft)) {
                    self.job = Job::Roam(self.at, t_s);
                }
                (stop == Some(Kind::Await)).then_some((boats[ix].hull.at, self.pace_mps))
            }
            Job::Help(ix, aside) => {
                if !boats[ix].is_helpless() {
                    self.job = Job::Roam(self.at, t_s);
                }
                Some((boats[ix].hull.at + aside, self.pace_mps))
            }
            Job::Pass(ix, aside, until_s) => {
                let place = boats[ix].hull.at + aside;
                if t_s > until_s || (place - self.at).length() < 4.0 {
                    self.job = Job::Roam(self.at + self.velocity * 20.0, t_s);
                }
                Some((place, self.pace_mps))
            }
        }
    }

    /// The lines of one second.
    pub(super) fn speak(&mut self, now_ms: i64, chart: &Chart, air: Air) -> Vec<String> {
        let dice = &mut self.dice;
        let error = self.error.each_mut().map(|axis| axis.step(1.0, dice));
        let (lat, lon) = chart.lat_lon(self.at + Vec2::new(error[0], error[1]));
        let told = self.velocity + Vec2::new(dice.normal(), dice.normal()) * 0.06;
        let course_deg = (told.length() > 0.2).then(|| told.bearing_deg());
        let mut lines = vec![sentence::rmc(now_ms, lat, lon, told.length(), course_deg)];
        if let Some(off_deg) = self.vane_deg {
            let felt = Air::of_flow(air.flow() * AT_VANE - self.velocity);
            let angle_deg = wrap_360(felt.from_deg - self.heading_deg + off_deg + 4.0 * dice.normal());
            lines.push(sentence::hdt(wrap_360(self.heading_deg + dice.normal())));
            lines.push(sentence::mwv_relative(angle_deg, felt.speed_mps * (1.0 + 0.05 * dice.normal())));
        }
        lines
    }
}
