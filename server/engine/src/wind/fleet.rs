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
/// Evidence of one boat fades with this time constant, s; of many boats faster, since they show
/// as much in less time and the wind itself moves by several degrees meanwhile.
const FADE_BOAT_S: f64 = 2_400.0;
/// It never fades slower than this, s.
const FADE_MAX_S: f64 = 800.0;
/// Nor faster: every boat needs time for a board on each tack, s.
const FADE_MIN_S: f64 = 260.0;
/// A boat counts among those that show the wind for so long after her last board, s.
const ACTIVE_S: f64 = 240.0;
/// Seconds on a board that count as one independent observation: steering wanders that slowly.
const BOARD_S: f64 = 25.0;
/// Bounds of the first pass: a crowd of boats on one course is about one observation.
const GROSS: Bound = Bound { boards: 0.45, turns: 0.8 };
/// Bounds of the second.
const FINE: Bound = Bound { boards: 2.5, turns: 2.0 };
/// How far around the answer of the first pass the second looks, degrees.
const FINE_REACH_DEG: f64 = 40.0;
/// Number of [`CLOSE_HAULED_DEG`].
const SHAPES: usize = 5;
/// Close-hauled angles tried, degrees over the ground: 40 to 50 for a training dinghy, more for
/// beginners and with leeway (`wind.md`, common practice). The last stands for "nobody beats".
const CLOSE_HAULED_DEG: [f64; SHAPES] = [40.0, 46.0, 52.0, 59.0, f64::INFINITY];
/// Levels of slowness told apart in turns.
const SLOW_LEVELS: usize = 9;
/// How often the belief is worked out anew, ms: it moves slowly and costs most of a tick.
const PERIOD_MS: i64 = 10_000;

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
    shapes: Vec<[f64; SHAPES]>,
    turn_shapes: Vec<[f64; 181]>,
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
            shapes: shapes(),
            turn_shapes: turn_shapes(),
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

    /// Boats that held a course lately.
    fn active(&self, now: Moment) -> usize {
        self.boats
            .values()
            .filter(|boards| boards.held_at().is_some_and(|at| now.s_since(at) <= ACTIVE_S))
            .count()
    }

    /// Lets evidence age and works the belief out when it is due, and says whether it did.
    pub fn tick(&mut self, now: Moment) -> bool {
        let due = self.worked_out.is_none_or(|at| now.ms_since(at) >= PERIOD_MS);
        if !due {
            return false;
        }
        self.worked_out = Some(now);
        let elapsed_s = self.faded.map_or(0.0, |at| now.s_since(at).max(0.0));
        self.faded = Some(now);
        let active = self.active(now).max(1) as f64;
        let fade_s = (FADE_BOAT_S / active).clamp(FADE_MIN_S, FADE_MAX_S);
        let keep = (-elapsed_s / fade_s).exp();
        for bin in 0..BINS {
            self.held[bin] *= keep;
            self.pace[bin] *= keep;
            self.turns[bin][0] *= keep;
            self.turns[bin][1] *= keep;
        }
        self.turn_count *= keep;
        self.belief = self.work_out();
        true
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

    /// Two passes over the same evidence. In the first every direction counts for little, since
    /// marks as well as the wind draw boats onto one course: it decides which side of the compass
    /// the wind is on, and how doubtful that is. In the second it counts for more, but only near
    /// what the first found: it decides how exactly.
    fn work_out(&self) -> Circle {
        let gross = self.weigh(GROSS, |_| true);
        let likeliest_deg = gross.likeliest_deg();
        let near = |direction| fold(direction - likeliest_deg).abs() <= FINE_REACH_DEG + 1.0;
        gross.refined(&self.weigh(FINE, near), FINE_REACH_DEG)
    }

    fn weigh(&self, bound: Bound, wanted: impl Fn(f64) -> bool) -> Circle {
        let courses: Vec<(usize, f64, f64)> = (0..BINS)
            .filter(|bin| self.held[*bin] > 0.05)
            .map(|bin| {
                let held = self.held[bin];
                (bin, saturated(held, bound.boards), self.pace[bin] / held)
            })
            .collect();
        let turns: Vec<(usize, f64, &[f64; 181])> = (0..BINS)
            .filter(|bin| self.turns[*bin][0] + self.turns[*bin][1] > 0.02)
            .map(|bin| {
                let [slow, fast] = self.turns[bin];
                let level = (slow / (slow + fast) * (SLOW_LEVELS - 1) as f64).round() as usize;
                (bin, saturated(slow + fast, bound.turns), &self.turn_shapes[level])
            })
            .collect();
        let mut belief = Circle::default();
        belief.add(|direction| {
            if !wanted(direction) {
                return 0.0;
            }
            let mut boards = [0.0; SHAPES];
            for (bin, counts, pace) in &courses {
                let angle = fold(middle_deg(*bin) - direction).abs();
                let paced = pace_log(angle, *pace);
                for (log, course) in boards.iter_mut().zip(&self.shapes[angle as usize]) {
                    *log += counts * (course + paced);
                }
            }
            let turned: f64 = turns
                .iter()
                .map(|(bin, counts, shape)| counts * shape[fold(middle_deg(*bin) - direction).abs() as usize])
                .sum();
            turned + log_sum(&boards)
        });
        belief
    }
}

/// How much all evidence of one direction may count for.
#[derive(Clone, Copy, Debug)]
struct Bound {
    boards: f64,
    turns: f64,
}

/// Counts at first as they are, never more than `bound`.
fn saturated(counts: f64, bound: f64) -> f64 {
    bound * (1.0 - (-counts / bound).exp())
}

fn middle_deg(bin: usize) -> f64 {
    (bin as f64 + 0.5) * BIN_DEG
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

fn log_sum(logs: &[f64]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    top + logs.iter().map(|log| (log - top).exp()).sum::<f64>().ln()
}

/// The density of turns' middles by whole degrees off the wind, for each level of slowness.
fn turn_shapes() -> Vec<[f64; 181]> {
    (0..SLOW_LEVELS)
        .map(|level| {
            let slow = level as f64 / (SLOW_LEVELS - 1) as f64;
            std::array::from_fn(|off| turn_log(off as f64 + 0.5, slow))
        })
        .collect()
}

/// The density of courses by whole degrees off the wind, for each close-hauled angle.
fn shapes() -> Vec<[f64; SHAPES]> {
    (0..=180).map(|angle| CLOSE_HAULED_DEG.map(|edge| course_log(f64::from(angle) + 0.5, edge))).collect()
}
