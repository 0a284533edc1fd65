//! The wind from the fleet's own tracks, when no instrument tells or to check one that does.
//!
//! Nobody can sail straight into the wind, so of all courses sailed a sector is missing, and boats
//! that work to windward crowd along both its edges. Bows that pass through the wind lose speed;
//! sterns that pass through it do not. Both are turned into a probability of every direction.
//!
//! Twenty boats on one course between two marks say no more than two: evidence of one kind from
//! one direction saturates, so that a fleet reaching to and fro never grows certain of a wind.

use std::collections::BTreeMap;

use super::{
    boards::{Boards, Held, TurnSeen},
    circle::Circle,
};
use crate::{
    fleet::BoatIx,
    moment::Moment,
    units::{Velocity, fold},
};

/// Cells of the histogram of courses and of turns.
const BINS: usize = 72;
/// Degrees of each.
const BIN_DEG: f64 = 360.0 / BINS as f64;
/// Evidence fades with this time constant, s: the wind itself moves by several degrees meanwhile.
const FADE_S: f64 = 720.0;
/// Seconds on a board that count as one independent observation: steering wanders that slowly.
const BOARD_S: f64 = 25.0;
/// Observations of one direction never count for more than this.
const SATURATION: f64 = 1.6;
/// Turns of one direction never count for more than this.
const TURN_SATURATION: f64 = 3.0;
/// Close-hauled angles tried, degrees over the ground: 40 to 50 for a training dinghy, more for
/// beginners and with leeway (`wind.md`, common practice). The last stands for "nobody beats".
const CLOSE_HAULED_DEG: [f64; 5] = [40.0, 46.0, 52.0, 59.0, f64::INFINITY];
/// How often the belief is worked out anew, ms: it moves slowly and costs most of a tick.
const PERIOD_MS: i64 = 5_000;

/// What the fleet has shown.
#[derive(Clone, Debug)]
pub struct FleetWind {
    boats: BTreeMap<BoatIx, Boards>,
    held: [f64; BINS],
    pace: [f64; BINS],
    turns: [[f64; 2]; BINS],
    faded: Option<Moment>,
    worked_out: Option<Moment>,
    belief: Circle,
    heard: Option<Moment>,
    turn_count: f64,
}

impl Default for FleetWind {
    fn default() -> FleetWind {
        FleetWind {
            boats: BTreeMap::new(),
            held: [0.0; BINS],
            pace: [0.0; BINS],
            turns: [[0.0; 2]; BINS],
            faded: None,
            worked_out: None,
            belief: Circle::default(),
            heard: None,
            turn_count: 0.0,
        }
    }
}

impl FleetWind {
    /// Takes in one boat's velocity through the water as far as the stream is known.
    pub fn see(&mut self, now: Moment, boat: BoatIx, velocity: Velocity) {
        let showing = self.boats.entry(boat).or_default().see(now, velocity);
        if let Some(held) = showing.held {
            self.hold(held);
            self.heard = Some(now);
        }
        if let Some(turn) = showing.turned {
            self.turn(turn);
        }
    }

    fn hold(&mut self, held: Held) {
        let bin = bin(held.course.deg());
        let weight = held.seconds / BOARD_S;
        self.held[bin] += weight;
        self.pace[bin] += weight * held.pace;
    }

    fn turn(&mut self, turn: TurnSeen) {
        self.turn_count += 1.0;
        let slow = slowness(turn.speed_kept);
        let bin = bin(turn.middle.deg());
        self.turns[bin][0] += slow;
        self.turns[bin][1] += 1.0 - slow;
    }

    /// Lets evidence age and works the belief out when it is due.
    pub fn tick(&mut self, now: Moment) {
        let elapsed_s = self.faded.map_or(0.0, |at| now.s_since(at).max(0.0));
        self.faded = Some(now);
        let keep = (-elapsed_s / FADE_S).exp();
        for bin in 0..BINS {
            self.held[bin] *= keep;
            self.pace[bin] *= keep;
            self.turns[bin][0] *= keep;
            self.turns[bin][1] *= keep;
        }
        self.turn_count *= keep;
        if self.worked_out.is_none_or(|at| now.ms_since(at) >= PERIOD_MS) {
            self.worked_out = Some(now);
            self.belief = self.work_out();
        }
    }

    /// The probability of every direction of the wind as it is felt over the ground tracks.
    pub fn belief(&self) -> &Circle {
        &self.belief
    }

    /// When a boat last held a course.
    pub fn heard(&self) -> Option<Moment> {
        self.heard
    }

    /// Boats seen, and turns that still count.
    pub fn counts(&self) -> (usize, f64) {
        (self.boats.len(), self.turn_count)
    }

    fn work_out(&self) -> Circle {
        let courses: Vec<(f64, f64, f64)> = (0..BINS)
            .filter(|bin| self.held[*bin] > 0.05)
            .map(|bin| {
                let held = self.held[bin];
                let counts = SATURATION * (1.0 - (-held / SATURATION).exp());
                ((bin as f64 + 0.5) * BIN_DEG, counts, self.pace[bin] / held)
            })
            .collect();
        let turns: Vec<(f64, f64, f64)> = (0..BINS)
            .filter(|bin| self.turns[*bin][0] + self.turns[*bin][1] > 0.02)
            .map(|bin| {
                let [slow, fast] = self.turns[bin];
                let all = slow + fast;
                let counts = TURN_SATURATION * (1.0 - (-all / TURN_SATURATION).exp());
                ((bin as f64 + 0.5) * BIN_DEG, counts, slow / all)
            })
            .collect();
        let mut belief = Circle::default();
        belief.add(|direction| {
            let boards = CLOSE_HAULED_DEG
                .iter()
                .map(|close_hauled_deg| {
                    courses
                        .iter()
                        .map(|(course, counts, pace)| {
                            let angle = fold(course - direction).abs();
                            counts * (course_log(angle, *close_hauled_deg) + pace_log(angle, *pace))
                        })
                        .sum::<f64>()
                })
                .fold(None, |sum: Option<f64>, log| Some(sum.map_or(log, |sum| log_add(sum, log))))
                .unwrap_or(0.0);
            let turned: f64 = turns
                .iter()
                .map(|(middle, counts, slow)| counts * turn_log(fold(middle - direction), *slow))
                .sum();
            boards + turned
        });
        belief
    }
}

fn bin(direction_deg: f64) -> usize {
    ((direction_deg / BIN_DEG) as usize) % BINS
}

/// How far a turn that kept this share of its speed looks like a tack, 0..=1. A bow that passes
/// through the wind has nothing to drive it; half the speed is usual (common practice, no source).
fn slowness(speed_kept: f64) -> f64 {
    1.0 / (1.0 + ((speed_kept - 0.62) / 0.09).exp())
}

/// Log-density of courses at `angle` degrees (0..=180) off the wind, up to a constant.
fn course_log(angle: f64, close_hauled_deg: f64) -> f64 {
    let (beating, reaching, running) =
        if close_hauled_deg.is_finite() { (0.50, 0.30, 0.15) } else { (0.0, 0.75, 0.20) };
    let edge = if close_hauled_deg.is_finite() { close_hauled_deg } else { 50.0 };
    let off = (angle - edge) / if angle < edge { 5.0 } else { 8.0 };
    let beat = (-0.5 * off * off).exp() / (2.0 * 16.3);
    // Free courses begin where close-hauled ones are densest.
    let free = 1.0 / (1.0 + (-(angle - edge) / 4.0).exp());
    let reach = free / (2.0 * (180.0 - edge));
    let run = (-0.5 * ((180.0 - angle) / 15.0).powi(2)).exp() / 37.6;
    (beating * beat + reaching * reach + running * run + 0.05 / 360.0).ln()
}

/// Log-density of the pace (speed over her own brisk speed) at an angle off the wind.
fn pace_log(angle: f64, pace: f64) -> f64 {
    let usual = match angle {
        a if a < 45.0 => 0.55 + 0.2 * a / 45.0,
        a if a < 90.0 => 0.75 + 0.2 * (a - 45.0) / 45.0,
        a if a < 130.0 => 0.95,
        a => 0.95 - 0.15 * (a - 130.0) / 50.0,
    };
    let off = (pace - usual) / 0.25;
    -0.5 * (off * off).min(6.0)
}

/// Log-density of a turn whose middle lies `off` degrees from the wind.
fn turn_log(off: f64, slow: f64) -> f64 {
    let tack = (-0.5 * (off / 18.0).powi(2)).exp() / 45.1;
    let gybe = (-0.5 * ((180.0 - off.abs()) / 30.0).powi(2)).exp() / 75.2;
    let tacks = 0.1 + 0.75 * slow;
    let gybes = 0.35 - 0.3 * slow;
    (tacks * tack + gybes * gybe + (1.0 - tacks - gybes) / 360.0).ln()
}

fn log_add(a: f64, b: f64) -> f64 {
    let top = a.max(b);
    top + ((a - top).exp() + (b - top).exp()).ln()
}
