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
        let mut told_mps = speed_mps;
        match self.last {
            Some((before, speed)) if before == position && same(speed, speed_mps) => {
                self.repeats += 1;
                // A sentence that tells no speed takes back none that another told.
                told_mps = speed_mps.or(speed);
            }
            _ => {
                let rested = self
                    .since
                    .zip(self.newest)
                    .is_some_and(|(since, newest)| newest.ms_since(since) >= RESTING_MS / 3);
                // One that said she made way was no pin but a fault, and excuses no later one.
                if rested && self.repeats >= REPEATS && !self.says_moving() {
                    self.pins += 1;
                }
                self.changes = self.changes.saturating_add(1);
                self.repeats = 0;
                self.since = Some(taken);
            }
        }
        self.last = Some((position, told_mps));
        self.newest = Some(taken);
    }

    /// Takes the speed that a second sentence tells of the newest fix. Another than before is a sign of life.
    pub(crate) fn told(&mut self, taken: Moment, speed_mps: Option<f64>) {
        let (Some((position, before)), Some(_)) = (self.last, speed_mps) else { return };
        if !same(before, speed_mps) {
            self.repeats = 0;
            self.since = Some(taken);
        }
        self.last = Some((position, speed_mps));
    }

    /// Whether she is said to make way.
    fn says_moving(&self) -> bool {
        self.last.and_then(|(_, speed_mps)| speed_mps).is_some_and(|speed| speed > MOVING_MPS)
    }

    /// Since when the position has been the same, if that is a fault rather than rest.
    pub(crate) fn since(&self) -> Option<Moment> {
        let (since, newest) = (self.since?, self.newest?);
        if self.repeats < REPEATS {
            return None;
        }
        let age_ms = newest.ms_since(since);
        let frozen = (self.says_moving() && age_ms >= MOVING_MS)
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

#[cfg(test)]
mod tests {
    use super::*;

    fn spot(n: i64) -> Position {
        Position::new(50.0 + 1e-5 * n as f64, 8.0).expect("a place on earth")
    }

    /// Tells a fix a second of a boat at `speed_mps`, in two sentences of which the second alone tells the speed.
    fn tell(frozen: &mut Frozen, s: i64, place: i64, speed_mps: f64) {
        frozen.note(Moment(s * 1000), spot(place), None);
        frozen.told(Moment(s * 1000), Some(speed_mps));
    }

    #[test]
    fn a_place_repeated_at_speed_is_frozen_whichever_sentence_tells_the_speed() {
        let mut frozen = Frozen::default();
        (0..20).for_each(|s| tell(&mut frozen, s, s, 1.4));
        (20..28).for_each(|s| tell(&mut frozen, s, 19, 1.4));
        assert_eq!(frozen.since(), Some(Moment(19_000)));
    }

    #[test]
    fn one_frozen_before_is_called_so_again() {
        let mut frozen = Frozen::default();
        for spell in 0..4 {
            let begins = spell * 200;
            (begins..begins + 100).for_each(|s| tell(&mut frozen, s, s, 1.4));
            assert_eq!(frozen.since(), None, "spell {spell}");
            (begins + 100..begins + 200).for_each(|s| tell(&mut frozen, s, begins + 99, 1.4));
            assert_eq!(frozen.since(), Some(Moment((begins + 99) * 1000)), "spell {spell}");
        }
    }

    #[test]
    fn a_speed_that_changes_at_one_place_is_a_sign_of_life() {
        let mut frozen = Frozen::default();
        (0..20).for_each(|s| tell(&mut frozen, s, s, 1.4));
        (20..120).for_each(|s| tell(&mut frozen, s, 19, 0.01 * (s % 7) as f64));
        assert_eq!(frozen.since(), None);
    }

    #[test]
    fn a_receiver_that_pins_her_at_rest_is_soon_known() {
        let mut frozen = Frozen::default();
        for spell in 0..4 {
            let begins = spell * 200;
            (begins..begins + 100).for_each(|s| tell(&mut frozen, s, s, 1.4));
            (begins + 100..begins + 200).for_each(|s| tell(&mut frozen, s, begins + 100, 0.0));
            assert_eq!(frozen.since().is_some(), spell < 2, "spell {spell}");
        }
    }
}
