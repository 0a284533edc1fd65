//! A position that cannot be hers is held back, until several agree that it is.

use crate::{moment::Moment, units::Local};

/// Fixes in agreement that move a track to where they are.
const AGREEING: u32 = 3;

/// They must span this long, ms: one epoch told by three sentences is one witness.
const AGREEING_MS: i64 = 1_900;

/// They must span this long where the receiver tells her velocity too, ms: that goes on as before
/// through a reflection, which may last, and she is followed by it meanwhile.
const AGREEING_TOLD_MS: i64 = 10_000;

/// However wild they are, positions that keep away from the track for this long are where she is,
/// ms: a boat on a trailer, a receiver that found itself.
const GIVE_IN_MS: i64 = 180_000;

/// What to do with a position that fails the gate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Doubt {
    /// Wait for another.
    Hold,
    /// Enough agree: she is there.
    Believe,
}

/// Positions away from the track, in agreement with each other so far.
#[derive(Clone, Copy, Debug)]
struct Run {
    first: Moment,
    last: Moment,
    at: Local,
    count: u32,
}

/// Remembers what was held back.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Gate {
    run: Option<Run>,
    away_since: Option<Moment>,
}

impl Gate {
    /// A position passed: whatever was held back was wrong.
    pub(crate) fn passed(&mut self) {
        *self = Gate::default();
    }

    /// Whether the newest position is being held back.
    pub(crate) fn holds(&self) -> bool {
        self.run.is_some()
    }

    /// A position did not pass. `speed_max_mps` and `error_m` bound how far two agreeing ones can
    /// be apart; `told`: the receiver tells her velocity as well.
    pub(crate) fn doubt(
        &mut self,
        taken: Moment,
        at: Local,
        speed_max_mps: f64,
        error_m: f64,
        told: bool,
    ) -> Doubt {
        let away_since = *self.away_since.get_or_insert(taken);
        let run = match self.run {
            Some(run)
                if at.distance_m(run.at) <= speed_max_mps * taken.s_since(run.last).max(0.0) + error_m =>
            {
                let count = run.count + u32::from(taken != run.last);
                Run { last: taken, at, count, ..run }
            }
            _ => Run { first: taken, last: taken, at, count: 1 },
        };
        self.run = Some(run);
        let span_ms = if told { AGREEING_TOLD_MS } else { AGREEING_MS };
        let agree = run.count >= AGREEING && taken.ms_since(run.first) >= span_ms;
        if agree || taken.ms_since(away_since) >= GIVE_IN_MS { Doubt::Believe } else { Doubt::Hold }
    }
}
