//! A safety boat: where she goes, and what her receiver and her wind instrument tell.

use super::{STEP_S, wind::Breeze};
use crate::{
    dice::{Dice, Wander},
    plane::{Chart, Vec2, mps, wrap_360},
    sentence,
};

const NAMES: [&str; 2] = ["ember", "cinder"];
/// To somebody over, and else. "15 to 20 kn" is what such boats can do (`safety.md`); among beginners nobody does.
const HURRIES_KN: f64 = 13.0;
const CRUISES_KN: f64 = 5.0;
const TOWS_KN: f64 = 2.6;
/// How she gathers and loses way, s: a guess.
const LAG_S: f64 = 2.0;

#[derive(Clone, Copy, Debug)]
pub(super) enum Task {
    /// Patrols, until it is time for a word with somebody.
    Patrols {
        until_s: f64,
    },
    /// To a boat that is over, or to talk.
    Goes {
        boat: usize,
        over: bool,
    },
    Stays {
        boat: usize,
        over: bool,
        until_s: f64,
    },
    Tows {
        boat: usize,
        until_s: f64,
    },
}

impl Task {
    /// The boat that is over, or was, and that she is there for.
    pub(super) fn helps(&self) -> Option<usize> {
        match *self {
            Task::Goes { boat, over: true } | Task::Stays { boat, over: true, .. } => Some(boat),
            _ => None,
        }
    }

    pub(super) fn boat(&self) -> Option<usize> {
        match *self {
            Task::Patrols { .. } => None,
            Task::Goes { boat, .. } | Task::Stays { boat, .. } | Task::Tows { boat, .. } => Some(boat),
        }
    }
}

#[derive(Clone, Debug)]
pub(super) struct Safety {
    pub(super) name: &'static str,
    pub(super) at: Vec2,
    pub(super) task: Task,
    /// Where she patrols to or tows to.
    pub(super) goal: Vec2,
    velocity: Vec2,
    error_m: [Wander; 2],
    has_vane: bool,
    /// Masthead vanes are off by "typically 7 deg", 15 % of speed (`wind.md`); one on a launch by less.
    vane_off_deg: f64,
    vane_gain: f64,
    pub(super) dice: Dice,
}

impl Safety {
    pub(super) fn draw(ix: usize, has_vane: bool, mut dice: Dice) -> Safety {
        Safety {
            name: NAMES[ix % NAMES.len()],
            at: Vec2::new(dice.between(-60.0, 60.0), dice.between(-60.0, 60.0)),
            task: Task::Patrols { until_s: dice.between(120.0, 600.0) },
            goal: Vec2::default(),
            velocity: Vec2::default(),
            error_m: [0; 2].map(|_| Wander::new(2.0, 180.0, &mut dice)),
            has_vane,
            vane_off_deg: 4.0 * dice.normal(),
            vane_gain: dice.between(0.88, 1.1),
            dice,
        }
    }

    /// Goes towards there, through water that goes with the stream.
    pub(super) fn steer(&mut self, goal: Vec2, stream: Vec2) {
        let most_mps = mps(match self.task {
            Task::Goes { over: true, .. } => HURRIES_KN,
            Task::Tows { .. } => TOWS_KN,
            _ => CRUISES_KN,
        });
        let way = goal - self.at;
        // She comes up to a boat slowly.
        let wanted = way.unit() * (way.length() / 5.0).min(most_mps);
        self.velocity += (wanted - self.velocity) * (STEP_S / LAG_S);
        self.at += (self.velocity + stream) * STEP_S;
    }

    pub(super) fn speak(
        &mut self,
        now_ms: i64,
        second: u32,
        chart: &Chart,
        wind: Breeze,
        stream: Vec2,
    ) -> Vec<String> {
        let dice = &mut self.dice;
        let error = self.error_m.each_mut().map(|axis| axis.step(1.0, dice));
        let over_ground = self.velocity + stream + Vec2::new(dice.normal(), dice.normal()) * 0.04;
        let course_deg = (over_ground.length() > mps(0.5)).then(|| over_ground.bearing_deg());
        let (lat, lon) = chart.lat_lon(self.at + Vec2::new(error[0], error[1]));
        let mut lines = vec![sentence::rmc(now_ms, lat, lon, over_ground.length(), course_deg)];
        if self.has_vane && second.is_multiple_of(3) {
            let from_deg = wind.from_deg + self.vane_off_deg + 4.0 * dice.normal();
            let told_mps = (wind.mps * self.vane_gain * (1.0 + 0.06 * dice.normal())).max(0.0);
            lines.push(sentence::mwd(wrap_360(from_deg), told_mps));
        }
        lines
    }
}
