//! What time alone does to the motions of the bank in one step. Fixes come evenly, so that it is the same
//! from step to step and worked out once.

use super::{
    filter::MODELS,
    model::{Condition, RESTS, SHAPES, Stop},
};

/// Time constant of gathering way under sail, s (a light dinghy: 5 to 8; practice).
pub(super) const GATHER_S: f64 = 6.0;
/// In a turn speed goes to its part of what is expected with this time constant, s.
const TURN_SLOWS_S: f64 = 4.0;
/// The rate of turn is smoothed over this time, s.
const TURN_SMOOTH_S: f64 = 1.5;
/// Once she lies, her speed swings about its mean with this time constant, s (waves, a flapping sail).
const SWING_S: f64 = 2.5;
/// A boat that must round up before she can stop turns so fast, degrees a second, ...
const ROUNDING_UP_DPS: f64 = 14.0;
/// ... and loses way only slowly meanwhile, s.
const ROUNDING_UP_S: f64 = 15.0;
/// A stop that is overdue loses so much likelihood a second.
const OVERDUE_LN_PER_S: f64 = 0.7;
/// The last of an arrested way goes with this time constant, s.
const ARRESTED_TAIL_S: f64 = 0.7;
/// Scatter is learned over this time, s.
const SCATTER_MEMORY_S: f64 = 8.0;

/// Shares kept, and gained, in a step of `dt_s`.
#[derive(Clone, Debug)]
pub(super) struct Decay {
    pub(super) dt_s: f64,
    /// Way kept by a shape that water drags, by shape.
    pub(super) dragged: [f64; MODELS],
    pub(super) swing: f64,
    pub(super) rounding_up: f64,
    pub(super) arrested_tail: f64,
    /// Likelihood kept by a stop that is overdue.
    pub(super) overdue: f64,
    /// Sine and cosine of the turn towards the wind: rounding up, and by condition.
    pub(super) rounds_up_by: (f64, f64),
    pub(super) luffs_by: [(f64, f64); Condition::COUNT],
    pub(super) gather_gain: f64,
    pub(super) turn_slows_gain: f64,
    pub(super) turn_gain: f64,
    pub(super) scatter_gain: f64,
}

impl Decay {
    pub(super) fn over(dt_s: f64) -> Decay {
        let kept = |time_s: f64| (-dt_s / time_s).exp();
        let turn = |dps: f64| (dps.to_radians() * dt_s).min(std::f64::consts::PI).sin_cos();
        Decay {
            dt_s,
            dragged: std::array::from_fn(|ix| match SHAPES[ix].stop {
                Stop::Dragged(time_s) => kept(time_s),
                Stop::Never | Stop::Arrested(_) => 1.0,
            }),
            swing: kept(SWING_S),
            rounding_up: kept(ROUNDING_UP_S),
            arrested_tail: kept(ARRESTED_TAIL_S),
            overdue: (-OVERDUE_LN_PER_S * dt_s).exp(),
            rounds_up_by: turn(ROUNDING_UP_DPS),
            luffs_by: std::array::from_fn(|ix| turn(RESTS[ix].luff_dps)),
            gather_gain: 1.0 - kept(GATHER_S),
            turn_slows_gain: 1.0 - kept(TURN_SLOWS_S),
            turn_gain: 1.0 - kept(TURN_SMOOTH_S),
            scatter_gain: 1.0 - kept(SCATTER_MEMORY_S),
        }
    }
}
