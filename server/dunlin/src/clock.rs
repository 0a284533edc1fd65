//! The program's clock: the wall clock read once at the start, and a steady count since.

use dunlin_engine::moment::Moment;
use std::time::{SystemTime, UNIX_EPOCH};
use tokio::time::Instant;

/// Gives moments that never go back. Copies of one clock agree.
#[derive(Clone, Copy, Debug)]
pub struct Clock {
    base: Instant,
    base_ms: i64,
}

impl Clock {
    /// A clock that begins now, but not before `earliest`: after a restart, time goes on from where
    /// the journal was left even if the wall clock was set back meanwhile.
    pub fn start(earliest: Moment) -> Clock {
        Clock { base: Instant::now(), base_ms: wall_ms().max(earliest.0) }
    }

    /// The moment now.
    pub fn now(&self) -> Moment {
        let since = self.base.elapsed().as_millis();
        Moment(self.base_ms.saturating_add(i64::try_from(since).unwrap_or(i64::MAX)))
    }

    /// The instant of a moment, for sleeping until it; now for moments past.
    pub fn instant(&self, moment: Moment) -> Instant {
        let ahead = u64::try_from(moment.ms_since(Moment(self.base_ms))).unwrap_or(0);
        self.base + std::time::Duration::from_millis(ahead)
    }

    /// How far the wall clock is ahead of this one, ms; negative when it is behind. Not 0 after the
    /// wall clock was set, or the computer slept.
    pub fn wall_ahead_ms(&self) -> i64 {
        wall_ms().saturating_sub(self.now().0)
    }
}

/// The wall clock, ms since 1970 UTC; 0 for a clock before that.
pub fn wall_ms() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    i64::try_from(since.as_millis()).unwrap_or(i64::MAX)
}
