//! Positions that leap as no boat can: echoes off walls and water, which last for some seconds and
//! then leap back. They tell nothing of lines until they have lasted.

use crate::{moment::Moment, tracks::Motion};

/// Farther than this from where her motion leads, beyond the doubt of both, is a leap, metres.
const LEAP_M: f64 = 15.0;

/// What a boat may do unforeseen between two fixes, m/s.
const UNFORESEEN_MPS: f64 = 4.0;

/// A place she leapt to counts after this long, ms. Common practice, no source: echoes last some tens
/// of seconds.
const PROOF_MS: i64 = 30_000;

/// Watches one boat's motions for leaps.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Leap {
    last: Option<Motion>,
    leapt: Option<Moment>,
}

impl Leap {
    /// Takes in the motion after a fix.
    pub(super) fn look(&mut self, motion: &Motion) {
        if let Some(last) = self.last.replace(*motion) {
            let s = motion.at.s_since(last.at).max(0.0);
            let off_m = last.position.after(last.velocity, s).distance_m(motion.position);
            let doubt_m = last.position_sd_m.max(motion.position_sd_m);
            if off_m > LEAP_M + doubt_m + UNFORESEEN_MPS * s {
                self.leapt = Some(motion.at);
            }
        }
    }

    /// Whether she is at a place she leapt to so lately that it may be an echo.
    pub(super) fn is_fresh(&self, now: Moment) -> bool {
        self.leapt.is_some_and(|leapt| now.ms_since(leapt) < PROOF_MS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Local, Velocity};

    #[test]
    fn what_no_boat_can_do_is_a_leap() {
        for (east_m, s, expected, what) in [
            (2.0, 1, false, "sailing on"),
            (18.0, 1, false, "a poor receiver"),
            (45.0, 1, true, "an echo"),
            (45.0, 10, false, "a gap in which she may have got there"),
            (300.0, 10, true, "not even in the gap"),
        ] {
            let motion = |at: i64, east_m: f64| Motion {
                at: Moment(at * 1000),
                position: Local { east_m, north_m: 0.0 },
                position_sd_m: 3.0,
                velocity: Velocity { east_mps: 2.0, north_mps: 0.0 },
                velocity_sd_mps: 0.2,
                said: None,
                course: None,
                heading: None,
                heading_sensed: false,
                turn_rate_dps: None,
                heel_deg: None,
            };
            let mut leap = Leap::default();
            leap.look(&motion(0, 0.0));
            leap.look(&motion(s, east_m));
            assert_eq!(leap.is_fresh(Moment(s * 1000)), expected, "{what}");
            assert!(!leap.is_fresh(Moment(s * 1000 + PROOF_MS)), "{what}: proven by lasting");
        }
    }
}
