//! The safety boat: it goes up and down among the others, has a look at one that waits, takes one alongside,
//! and stands by a capsized one after a while.

use super::{air::Air, boat::Boat, stops::Kind};
use crate::{
    dice::{Dice, Wander},
    plane::{Chart, Vec2, fold_180, wrap_360},
    sentence,
};

pub(super) const SOURCE: &str = "safety-1";
pub(super) const ID: &str = "S1";
/// Within this it has come to her, m: as the truth has it.
const CAME_M: f64 = 15.0;
/// Wind at a low vane against that at 10 m: leeway.md gives 1.1 to 1.3 for the inverse.
const AT_VANE: (f64, f64) = (0.77, 0.91);

/// The safety boat as one that lies beside it sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beside {
    pub(super) at: Vec2,
    pub(super) velocity: Vec2,
}

#[derive(Clone, Copy, Debug)]
enum Job {
    /// To a place, and idle there until then.
    Patrol(Vec2, f64),
    /// To a boat that waits: so near, until then.
    Visit(usize, Vec2, f64),
    Raft(usize),
    /// By a capsized boat.
    Help(usize, Vec2),
}

#[derive(Clone, Debug)]
struct Vane {
    off_deg: f64,
    noise_deg: f64,
    share: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Safety {
    pub(super) at: Vec2,
    velocity: Vec2,
    heading_deg: f64,
    job: Job,
    fast_mps: f64,
    visits: f64,
    error: [Wander; 2],
    vane: Option<Vane>,
    dice: Dice,
}

impl Safety {
    pub(super) fn draw(has_vane: bool, mut dice: Dice) -> Safety {
        let vane = Vane {
            off_deg: dice.between(-6.0, 6.0),
            noise_deg: dice.between(3.0, 9.0),
            share: dice.between(AT_VANE.0, AT_VANE.1),
        };
        let error = [0, 1].map(|_| Wander::new(1.6, 140.0, &mut dice));
        Safety {
            at: Vec2::along(dice.between(0.0, 360.0), dice.between(10.0, 120.0)),
            velocity: Vec2::default(),
            heading_deg: dice.between(0.0, 360.0),
            job: Job::Patrol(Vec2::default(), 0.0),
            fast_mps: dice.between(3.5, 8.0),
            visits: dice.between(10.0, 60.0),
            error,
            vane: has_vane.then_some(vane),
            dice,
        }
    }

    pub(super) fn beside(&self, ix: usize) -> Option<Beside> {
        let rafts = matches!(self.job, Job::Raft(boat) if boat == ix);
        rafts.then_some(Beside { at: self.at, velocity: self.velocity })
    }

    pub(super) fn is_free(&self) -> bool {
        matches!(self.job, Job::Patrol(..) | Job::Visit(..))
    }

    pub(super) fn raft(&mut self, ix: usize) {
        if self.is_free() {
            self.job = Job::Raft(ix);
        }
    }

    pub(super) fn help(&mut self, ix: usize) {
        let aside = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(3.0, 12.0));
        self.job = Job::Help(ix, aside);
    }

    pub(super) fn has_come_to(&self, place: Vec2) -> bool {
        (self.at - place).length() < CAME_M
    }

    pub(super) fn step(&mut self, t_s: f64, step_s: f64, boats: &[Boat], air: Air, stream: Vec2) {
        let want = match self.goal(t_s, step_s, boats) {
            Some((goal, pace_mps)) if (goal - self.at).length() > 1.5 => {
                let way = goal - self.at;
                way.unit() * pace_mps.min(0.3 + 0.25 * way.length())
            }
            // Idle, with a high side to the wind.
            _ => stream + air.flow() * 0.03,
        };
        self.velocity += (want - self.velocity) * (1.0 - (-step_s / 1.8f64).exp());
        let through = self.velocity - stream;
        if through.length() > 0.6 {
            let most_deg = 40.0 * step_s;
            let turn_deg = fold_180(through.bearing_deg() - self.heading_deg);
            self.heading_deg = wrap_360(self.heading_deg + turn_deg.clamp(-most_deg, most_deg));
        }
        self.at += self.velocity * step_s;
    }

    fn goal(&mut self, t_s: f64, step_s: f64, boats: &[Boat]) -> Option<(Vec2, f64)> {
        let whom = self.dice.pick(boats.len());
        match self.job {
            Job::Patrol(to, until_s) => {
                let waits = boats[whom].stop().is_some();
                if waits && self.dice.happens(self.visits * boats.len() as f64, step_s) {
                    let aside = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(3.0, 9.0));
                    self.job = Job::Visit(whom, aside, t_s + self.dice.between(25.0, 110.0));
                } else if t_s > until_s {
                    let aside = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(15.0, 90.0));
                    let until_s = t_s + self.dice.between(30.0, 200.0);
                    self.job = Job::Patrol(boats[whom].hull.at + aside, until_s);
                }
                Some((to, 0.55 * self.fast_mps)).filter(|(to, _)| (*to - self.at).length() > 9.0)
            }
            Job::Visit(ix, aside, until_s) => {
                if t_s > until_s {
                    self.job = Job::Patrol(self.at, t_s + 10.0);
                }
                Some((boats[ix].hull.at + aside, 0.7 * self.fast_mps))
            }
            Job::Raft(ix) => {
                let stop = boats[ix].stop().filter(|stop| stop.kind == Kind::Raft);
                if stop.is_none() {
                    self.job = Job::Patrol(self.at, t_s + 10.0);
                }
                let fast = stop.is_some_and(|stop| stop.reason() != crate::truth::Reason::Rafted);
                fast.then_some((boats[ix].hull.at, 0.7 * self.fast_mps))
            }
            Job::Help(ix, aside) => {
                if !boats[ix].is_over() {
                    self.job = Job::Patrol(self.at, t_s + self.dice.between(5.0, 60.0));
                }
                Some((boats[ix].hull.at + aside, self.fast_mps))
            }
        }
    }

    /// The lines of one second.
    pub(super) fn speak(&mut self, now_ms: i64, chart: &Chart, air: Air) -> Vec<String> {
        let dice = &mut self.dice;
        let off_m = self.error.each_mut().map(|axis| axis.step(1.0, dice) + 0.4 * dice.normal());
        let (lat, lon) = chart.lat_lon(self.at + Vec2::new(off_m[0], off_m[1]));
        let told = self.velocity + Vec2::new(dice.normal(), dice.normal()) * 0.07;
        let course_deg = (told.length() > 0.15).then(|| told.bearing_deg());
        let mut lines = vec![sentence::rmc(now_ms, lat, lon, told.length(), course_deg)];
        if let Some(vane) = &self.vane {
            let felt = air.flow() * vane.share - self.velocity;
            let from_deg = wrap_360(felt.bearing_deg() + 180.0);
            let noise_deg = vane.off_deg + vane.noise_deg * dice.normal();
            let angle_deg = wrap_360(from_deg - self.heading_deg + noise_deg);
            lines.push(sentence::hdt(wrap_360(self.heading_deg + 1.5 * dice.normal())));
            lines.push(sentence::mwv_relative(
                angle_deg,
                felt.length() * (1.0 + 0.07 * dice.normal()).max(0.2),
            ));
        }
        lines
    }
}
