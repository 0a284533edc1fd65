//! Lines on their way from a boat's radio to the server.

use std::collections::BTreeMap;

use crate::{sentence, session::Line};

/// Lines by arrival; those that arrive together keep the order in which they were sent.
#[derive(Clone, Debug, Default)]
pub(crate) struct UnderWay {
    lines: BTreeMap<(i64, u64), String>,
    sent: u64,
}

impl UnderWay {
    /// A sentence of `source` that will arrive then.
    pub(crate) fn send(&mut self, source: &str, arrival_ms: i64, line: &str) {
        self.sent += 1;
        self.lines.insert((arrival_ms, self.sent), sentence::tagged(source, arrival_ms, line));
    }

    /// What has arrived before `now_ms`.
    pub(crate) fn arrived(&mut self, now_ms: i64) -> Vec<Line> {
        let later = self.lines.split_off(&(now_ms, 0));
        std::mem::replace(&mut self.lines, later)
            .into_iter()
            .map(|((arrival_ms, _), text)| Line { arrival_ms, text })
            .collect()
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }
}
