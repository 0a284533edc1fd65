//! What one boat's track shows without any wind known: boards held, and turns between them.

use std::collections::VecDeque;

use crate::{
    moment::Moment,
    units::{Bearing, Velocity, fold},
};

/// A course must keep within this of itself over [`STEADY_S`] to be a board, degrees. Beginners
/// weave by about ten.
const STEADY_DEG: f64 = 14.0;
/// How long a course must be kept, s.
const STEADY_S: f64 = 7.0;
/// A turn that takes longer than this is a bend, not a manoeuvre, s.
const TURN_MAX_S: f64 = 45.0;
/// A change of course below this is steering, degrees.
const TURN_MIN_DEG: f64 = 50.0;
/// Slower than this a boat is not sailing a course, m/s.
const SAILING_MPS: f64 = 0.6;
/// Samples of the recent past kept; at one every half second it covers [`STEADY_S`] twice.
const RECENT_MAX: usize = 32;

/// A turn between two boards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TurnSeen {
    /// When the new board was settled.
    pub at: Moment,
    /// The direction in the middle of the turn, on the side it was made through.
    pub middle: Bearing,
    /// Signed change of course, clockwise positive, degrees.
    pub turn_deg: f64,
    /// Lowest speed in the turn over the speed before it, 0..
    pub speed_kept: f64,
}

/// A moment of a board: the course held, and for how long it counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// Course through the water as far as the stream is known.
    pub course: Bearing,
    /// Seconds since the sample before.
    pub seconds: f64,
    /// Speed over the boat's own brisk speed, about 0..=1.2.
    pub pace: f64,
}

/// What one sample showed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Showing {
    /// She is on a board.
    pub held: Option<Held>,
    /// She has just completed a turn.
    pub turned: Option<TurnSeen>,
}

#[derive(Clone, Copy, Debug)]
struct Sample {
    at: Moment,
    /// Course unwrapped: turns add up, so that the long way round is told from the short.
    course_deg: f64,
}

#[derive(Clone, Copy, Debug)]
struct Board {
    course_deg: f64,
    speed_mps: f64,
    ended: Moment,
}

/// One boat's recent courses.
#[derive(Clone, Debug, Default)]
pub struct Boards {
    recent: VecDeque<Sample>,
    last: Option<(Moment, f64)>,
    board: Option<Board>,
    slowest_mps: f64,
    /// Her own brisk speed: rises at once, falls over minutes.
    brisk_mps: f64,
}

impl Boards {
    /// Takes in her velocity through the water as far as the stream is known.
    pub fn see(&mut self, now: Moment, velocity: Velocity) -> Showing {
        let elapsed_s = match self.last {
            Some((last, _)) => now.s_since(last),
            None => 1.0,
        };
        if elapsed_s < 0.4 {
            return Showing::default(); // fast feeds say nothing new that soon
        }
        let elapsed_s = elapsed_s.min(10.0);
        let speed_mps = velocity.speed_mps();
        self.slowest_mps = self.slowest_mps.min(speed_mps);
        let share = if speed_mps > self.brisk_mps {
            1.0 - (-elapsed_s / 20.0).exp()
        } else {
            1.0 - (-elapsed_s / 400.0).exp()
        };
        self.brisk_mps += share * (speed_mps - self.brisk_mps);
        let Some(course) = velocity.direction().filter(|_| speed_mps >= SAILING_MPS) else {
            self.recent.clear();
            self.last = Some((now, self.last.map_or(0.0, |(_, course_deg)| course_deg)));
            return Showing::default();
        };
        let course_deg = match self.last {
            Some((_, before)) => before + fold(course.deg() - before),
            None => course.deg(),
        };
        self.last = Some((now, course_deg));
        self.recent.push_back(Sample { at: now, course_deg });
        while self.recent.len() > RECENT_MAX
            || self.recent.front().is_some_and(|sample| now.s_since(sample.at) > STEADY_S + elapsed_s)
        {
            self.recent.pop_front();
        }
        let Some(mean_deg) = self.steady(now) else {
            return Showing::default();
        };
        let turned = self.turned(now, mean_deg);
        self.board = Some(Board {
            course_deg: mean_deg,
            speed_mps: match self.board {
                Some(board) if turned.is_none() => board.speed_mps + 0.1 * (speed_mps - board.speed_mps),
                Some(_) | None => speed_mps,
            },
            ended: now,
        });
        self.slowest_mps = speed_mps;
        Showing {
            held: Some(Held {
                course: Bearing::wrap(mean_deg),
                seconds: elapsed_s,
                pace: speed_mps / self.brisk_mps.max(SAILING_MPS),
            }),
            turned,
        }
    }

    /// When she last held a course.
    pub fn held_at(&self) -> Option<Moment> {
        self.board.map(|board| board.ended)
    }

    /// Mean course while it has been kept long enough.
    fn steady(&self, now: Moment) -> Option<f64> {
        let first = self.recent.front()?;
        if now.s_since(first.at) < STEADY_S || self.recent.len() < 3 {
            return None;
        }
        let mean_deg = self.recent.iter().map(|s| s.course_deg).sum::<f64>() / self.recent.len() as f64;
        self.recent
            .iter()
            .all(|sample| (sample.course_deg - mean_deg).abs() <= STEADY_DEG)
            .then_some(mean_deg)
    }

    fn turned(&self, now: Moment, mean_deg: f64) -> Option<TurnSeen> {
        let before = self.board?;
        let turn_deg = mean_deg - before.course_deg;
        let quick = now.s_since(before.ended) <= TURN_MAX_S + STEADY_S;
        (quick && (TURN_MIN_DEG..=300.0).contains(&turn_deg.abs())).then(|| TurnSeen {
            at: now,
            middle: Bearing::wrap(before.course_deg + turn_deg / 2.0),
            turn_deg,
            speed_kept: self.slowest_mps / before.speed_mps.max(SAILING_MPS),
        })
    }
}
