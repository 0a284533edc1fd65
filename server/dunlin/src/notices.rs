//! The troubles of the program itself: which stand, and which changed since they were last told.

use std::collections::BTreeMap;

use dunlin_engine::moment::Moment;

use crate::link::{Notice, NoticeKind};

/// A clock that is off by less is being steered, not set.
const CLOCK_MOVED_MS: i64 = 2_000;

/// How long it is shown that the clock was set.
const CLOCK_SHOWN_MS: i64 = 600_000;

/// How long it is shown that nobody was watching for a while.
const GAP_SHOWN_MS: i64 = 600_000;

/// Standing troubles.
#[derive(Debug)]
pub struct Notices {
    standing: BTreeMap<NoticeKind, Notice>,
    changed: Vec<Notice>,
    wall_ahead_ms: Option<i64>,
}

impl Notices {
    /// Begins with those known from the start.
    pub fn new(known: Vec<Notice>) -> Notices {
        Notices {
            standing: known.into_iter().map(|notice| (notice.kind.clone(), notice)).collect(),
            changed: Vec::new(),
            wall_ahead_ms: None,
        }
    }

    /// Sets or ends (`None`) a trouble.
    pub fn set(&mut self, now: Moment, kind: NoticeKind, text: Option<String>) {
        match (text, self.standing.get_mut(&kind)) {
            (None, None) => (),
            (None, Some(_)) => {
                self.standing.remove(&kind);
                self.changed.push(Notice { kind, since: None, text: String::new() });
            }
            (Some(text), Some(notice)) => {
                if notice.text != text {
                    notice.text = text;
                    self.changed.push(notice.clone());
                }
            }
            (Some(text), None) => {
                let notice = Notice { kind: kind.clone(), since: Some(now), text };
                self.changed.push(notice.clone());
                self.standing.insert(kind, notice);
            }
        }
    }

    /// Compares the wall clock with ours: how far it is ahead now, against how far it was. Ends what
    /// has been shown for long enough.
    pub fn pass_time(&mut self, now: Moment, wall_ahead_ms: Option<i64>) {
        if let Some(wall_ahead_ms) = wall_ahead_ms {
            self.compare(now, wall_ahead_ms);
        }
        for (kind, shown_ms) in
            [(NoticeKind::ClockMoved, CLOCK_SHOWN_MS), (NoticeKind::WatchGap, GAP_SHOWN_MS)]
        {
            let since = self.standing.get(&kind).and_then(|notice| notice.since);
            if since.is_some_and(|since| now.ms_since(since) > shown_ms) {
                self.set(now, kind, None);
            }
        }
    }

    fn compare(&mut self, now: Moment, wall_ahead_ms: i64) {
        let before = *self.wall_ahead_ms.get_or_insert(wall_ahead_ms);
        let moved_ms = wall_ahead_ms - before;
        if moved_ms.abs() >= CLOCK_MOVED_MS {
            self.wall_ahead_ms = Some(wall_ahead_ms);
            let way = if moved_ms > 0 { "forward" } else { "back" };
            let text = format!(
                "The computer's clock was set {way} by {} s, or it slept. dunlin keeps its own time; restart it when everyone is ashore.",
                moved_ms.abs() / 1000
            );
            self.set(now, NoticeKind::ClockMoved, Some(text));
        }
    }

    /// Those that stand.
    pub fn standing(&self) -> Vec<Notice> {
        self.standing.values().cloned().collect()
    }

    /// Those that changed since the last call.
    pub fn changes(&mut self) -> Vec<Notice> {
        std::mem::take(&mut self.changed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_change_is_told_once() {
        let mut notices = Notices::new(Vec::new());
        let kind = || NoticeKind::FeedDown("mast".to_owned());
        let mut told = Vec::new();
        for text in [None, Some("a"), Some("a"), Some("b"), None, None] {
            notices.set(Moment(7), kind(), text.map(str::to_owned));
            told.extend(notices.changes().into_iter().map(|n| (n.since.is_some(), n.text)));
        }
        let expected = [(true, "a"), (true, "b"), (false, "")];
        assert_eq!(told, expected.map(|(since, text)| (since, text.to_owned())));
    }

    #[test]
    fn a_step_of_the_clock_is_told_for_a_while_and_a_slow_drift_is_not() {
        let mut notices = Notices::new(Vec::new());
        let mut shown = Vec::new();
        for (now_s, ahead_ms) in [(0, 50), (1, 900), (2, 3_700_000), (3, 3_700_100), (700, 3_700_100)] {
            notices.pass_time(Moment(now_s * 1000), Some(ahead_ms));
            shown.push(notices.standing().len());
        }
        assert_eq!(shown, [0, 0, 1, 1, 0]);
    }
}
