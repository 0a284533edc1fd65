//! What a phone kept through a dead spot and sent at once: the picture shows only the newest of it.

use dunlin_engine::{input::Report, moment::Moment, view::BoatView};

use crate::{day::past::LATE_MS, hub::limits::TRAIL_STEP_MS};

/// Positions of one message that are too old to be seen in any picture.
#[derive(Debug, Default)]
pub(super) struct Late {
    /// Her, at each of them.
    pub(super) views: Vec<BoatView>,
    newest: Option<Moment>,
}

impl Late {
    /// Whether a report's position is one of several that came at once, and far enough from the last.
    pub(super) fn wants(&mut self, report: &Report, at: Moment, count: usize) -> bool {
        let taken = Moment(report.taken.0);
        let is_apart = self.newest.is_none_or(|newest| taken.ms_since(newest) >= TRAIL_STEP_MS);
        let wants = count > 1 && report.position.is_some() && at.ms_since(taken) > LATE_MS && is_apart;
        if wants {
            self.newest = Some(taken);
        }
        wants
    }

    /// Keeps where that put her, unless it changed nothing.
    pub(super) fn note(&mut self, view: Option<BoatView>) {
        let is_new = |view: &BoatView| self.views.last().is_none_or(|last| last.seen != view.seen);
        self.views.extend(view.filter(|view| view.seen.is_some() && is_new(view)));
    }
}
