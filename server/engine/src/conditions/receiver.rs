//! How far a receiver's own speed is to be believed.

use super::late::Late;
use crate::{
    moment::Moment,
    tracks::Motion,
    units::{Local, Velocity},
};

/// A receiver's own speed errs by this on each axis before hers is known, m/s (`detection.md`: about
/// 0.1 kn at its best; a phone in a pouch two to five times that).
const SAID_SD_MPS: f64 = 0.12;
/// What it is found to be is believed within these, m/s.
const SAID_SD_RANGE: (f64, f64) = (0.06, 0.4);
/// The error is learned over this time, s: from how much each velocity departs from the mean of its
/// neighbours, which motion hardly does and noise does. Second differences of white noise have six
/// times its variance.
const SAID_MEMORY_S: f64 = 60.0;
/// See [`SAID_MEMORY_S`].
const SECOND_DIFFERENCE: f64 = 6.0;
/// A receiver that says exactly 0 means "below my threshold" (`detection.md`); before hers is known
/// it is taken to be this, m/s.
const THRESHOLD_MPS: f64 = 0.4;
/// No threshold is believed above this, m/s (the highest in the recordings is 1.0 kn).
const THRESHOLD_MAX_MPS: f64 = 0.6;
/// Below the threshold the speed may be anything: spread on each axis as a share of it (a disc
/// evenly filled has half its radius).
const DISC: f64 = 0.5;
/// Zeros in a row tell one thing, not many: they count anew once in so many seconds.
const ZERO_MEMORY_S: f64 = 12.0;
/// Where it says 0, positions tell the drift over so many seconds, ...
pub(crate) const DRIFT_WINDOW_S: f64 = 20.0;
/// ... with this error on each axis, m/s (`drift_detection.csv`, typical receiver, 20 s: 0.16 kn).
const DRIFT_SD_MPS: f64 = 0.085;
/// A velocity from positions has errors that last; it counts for this much less.
const FROM_POSITIONS: f64 = 1.3;

/// No change is read from velocities further apart than this, s.
const CHANGE_MAX_S: f64 = 4.0;
/// A change of so many times the noise's variance is believed by half.
const CHANGE_SURE: f64 = 4.0;

/// What is known of one receiver.
#[derive(Clone, Debug)]
pub(crate) struct Receiver {
    /// The slowest speed it ever said, other than 0.
    slowest_mps: Option<f64>,
    zeros_s: f64,
    /// The last two velocities said, newest first.
    last: [Option<Velocity>; 2],
    var: f64,
    late: Late,
    /// One standard deviation of the newest velocity that was not "below my threshold", m/s.
    doubt_mps: f64,
    /// What was believed last, before its lateness was taken out.
    before: Option<Velocity>,
}

/// What her receiver is like, as far as a stop looks different through each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Through {
    /// How late its velocity is, s.
    pub(crate) late_s: f64,
    /// One standard deviation of its velocity on each axis, m/s.
    pub(crate) doubt_mps: f64,
    /// For how long it has said that she is slower than it can tell, s.
    pub(crate) zeros_s: f64,
}

impl Receiver {
    pub(crate) fn new() -> Receiver {
        Receiver {
            slowest_mps: None,
            zeros_s: 0.0,
            last: [None; 2],
            var: SAID_SD_MPS * SAID_SD_MPS,
            late: Late::new(),
            doubt_mps: SAID_SD_MPS,
            before: None,
        }
    }

    /// A fix put her at `place` as measured; `told` is the velocity believed of her then.
    pub(crate) fn placed(&mut self, at: Moment, place: Local, told: Velocity) {
        self.late.see(at, place, told);
    }

    /// What it is like.
    pub(crate) fn through(&self) -> Through {
        Through { late_s: self.late.late_s(), doubt_mps: self.doubt_mps, zeros_s: self.zeros_s }
    }

    /// The velocity to believe of `motion`, `dt_s` after the one before, and one standard deviation
    /// of it on each axis. `mean` is what was said since then, `drift` the velocity by positions.
    pub(crate) fn believed(
        &mut self,
        motion: &Motion,
        mean: Velocity,
        drift: Option<Velocity>,
        dt_s: f64,
    ) -> (Velocity, f64) {
        let before = self.before.take();
        match motion.said {
            Some(said) if said == Velocity::default() => {
                self.last = [None; 2];
                self.zeros_s += dt_s;
                match drift.filter(|_| self.zeros_s >= DRIFT_WINDOW_S / 2.0) {
                    // Windows overlap: each second of them is new only in part.
                    Some(drift) => (drift, DRIFT_SD_MPS * (DRIFT_WINDOW_S / dt_s).max(1.0).sqrt()),
                    None => {
                        let threshold = self.slowest_mps.unwrap_or(THRESHOLD_MPS).min(THRESHOLD_MAX_MPS);
                        let again = (self.zeros_s.min(ZERO_MEMORY_S) / dt_s).max(1.0);
                        (mean, (DISC * threshold).max(SAID_SD_MPS) * again.sqrt())
                    }
                }
            }
            Some(said) => {
                self.zeros_s = 0.0;
                let speed = said.speed_mps();
                self.slowest_mps = Some(self.slowest_mps.map_or(speed, |slowest| slowest.min(speed)));
                self.learn(said, dt_s);
                self.doubt_mps = self.var.sqrt();
                (self.caught_up(before, mean, dt_s), self.doubt_mps)
            }
            None => {
                self.zeros_s = 0.0;
                self.doubt_mps = motion.velocity_sd_mps.clamp(SAID_SD_MPS, 1.0) * FROM_POSITIONS;
                (self.caught_up(before, mean, dt_s), self.doubt_mps)
            }
        }
    }

    /// `told` with the receiver's lateness taken out: through a turn it would have her slow down, and a stop would
    /// look gentle. A change that its noise explains is left alone, for it would only be made larger.
    ///
    /// What was smoothed exponentially, `told = kept * before + (1 - kept) * truth` with `kept = exp(-dt / late)`, is
    /// undone by adding `kept / (1 - kept)` of the change.
    fn caught_up(&mut self, before: Option<Velocity>, told: Velocity, dt_s: f64) -> Velocity {
        self.before = Some(told);
        let Some(before) = before.filter(|_| dt_s < CHANGE_MAX_S) else { return told };
        let change = told.minus(before);
        let (square, noise) = (change.speed_mps().powi(2), 2.0 * self.doubt_mps * self.doubt_mps);
        let share = square / (square + CHANGE_SURE * noise);
        let late_s = self.late.late_s().max(1e-3);
        let by = share / (dt_s / late_s).exp_m1();
        told.plus(Velocity { east_mps: by * change.east_mps, north_mps: by * change.north_mps })
    }

    fn learn(&mut self, said: Velocity, dt_s: f64) {
        let [newer, older] = self.last;
        self.last = [Some(said), newer];
        let (Some(newer), Some(older)) = (newer, older) else { return };
        let bend = said.minus(newer).minus(newer.minus(older)).speed_mps();
        let square = bend * bend / (2.0 * SECOND_DIFFERENCE);
        let (low, high) = SAID_SD_RANGE;
        // One lurch is not noise: no square counts for more than a few of the usual ones.
        let square = square.min(4.0 * self.var);
        let gain = (dt_s / SAID_MEMORY_S).min(0.5);
        self.var = (self.var + gain * (square - self.var)).clamp(low * low, high * high);
    }
}
