//! A tracker that repeats one position: frozen is not stopped.

use crate::{moment::Moment, units::Position};

/// A boat that reports way on but the same position for this long is frozen, ms.
const MOVING_MS: i64 = 8_000;

/// A source that usually jitters and repeats one position at rest for this long is frozen, ms.
const RESTING_MS: i64 = 30_000;

/// Repeats needed as well, so that a slow feed is not judged by two fixes.
const REPEATS: u32 = 4;

/// Reported speed above which a repeated position is a contradiction, m/s.
const MOVING_MPS: f64 = 0.5;

/// A source that has come out of this many long repeats pins its position at rest by design, and
/// is never called frozen for it.
const PINS: u32 = 2;

/// Watches one boat's positions for repeats.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Frozen {
    last: Option<(Position, Option<f64>)>,
    since: Option<Moment>,
    newest: Option<Moment>,
    repeats: u32,
    /// Different positions seen in all: jitter, as a rule.
    changes: u32,
    pins: u32,
}

impl Frozen {
    /// Takes one fix; says whether the position is a repeat of the one before.
    pub(crate) fn note(&mut self, taken: Moment, position: Position, speed_mps: Option<f64>) {
        match self.last {
            Some((before, speed)) if before == position && same(speed, speed_mps) => {
                self.repeats += 1;
            }
            _ => {
                let rested = self
                    .since
                    .zip(self.newest)
                    .is_some_and(|(since, newest)| newest.ms_since(since) >= RESTING_MS / 3);
                if rested && self.repeats >= REPEATS {
                    self.pins += 1;
                }
                self.changes = self.changes.saturating_add(1);
                self.repeats = 0;
                self.since = Some(taken);
            }
        }
        self.last = Some((position, speed_mps));
        self.newest = Some(taken);
    }

    /// Since when the position has been the same, if that is a fault rather than rest.
    pub(crate) fn since(&self) -> Option<Moment> {
        let (since, newest) = (self.since?, self.newest?);
        let (_, speed_mps) = self.last?;
        if self.repeats < REPEATS {
            return None;
        }
        let age_ms = newest.ms_since(since);
        let moving = speed_mps.is_some_and(|speed| speed > MOVING_MPS);
        let frozen = (moving && age_ms >= MOVING_MS)
            || (age_ms >= RESTING_MS && self.changes > 2 * REPEATS && self.pins < PINS);
        frozen.then_some(since)
    }
}

/// Two reported speeds are the same, or neither was reported.
fn same(a: Option<f64>, b: Option<f64>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => a == b,
        (None, None) => true,
        (Some(_), None) | (None, Some(_)) => true,
    }
}
