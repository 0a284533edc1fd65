//! The program's clock: the wall clock read once at the start, and a steady count since.

use std::time::{Duration, SystemTime, UNIX_EPOCH};

use dunlin_engine::moment::Moment;
use tokio::time::Instant;

/// Gives moments that never go back. Copies of one clock agree.
#[derive(Clone, Copy, Debug)]
pub struct Clock {
    base: Instant,
    base_ms: i64,
    /// Seconds of ours in a second of the world.
    speed: f64,
}

impl Clock {
    /// A clock that begins now, but not before `earliest`: after a restart, time goes on from where
    /// the journal was left even if the wall clock was set back meanwhile. `speed` is 1, except in a
    /// demonstration that shows hours in minutes.
    pub fn start(earliest: Moment, speed: f64) -> Clock {
        Clock { base: Instant::now(), base_ms: wall_ms().max(earliest.0), speed }
    }

    /// The moment now.
    pub fn now(&self) -> Moment {
        let since_ms = self.base.elapsed().as_secs_f64() * 1000.0 * self.speed;
        Moment(self.base_ms.saturating_add(since_ms as i64))
    }

    /// The instant of a moment, for sleeping until it; now for moments past.
    pub fn instant(&self, moment: Moment) -> Instant {
        // Rounded up, so that whoever sleeps until it does not wake a moment before.
        let ahead_us = (moment.ms_since(Moment(self.base_ms)).max(0) as f64 * 1000.0 / self.speed).ceil();
        self.base + Duration::from_micros(ahead_us as u64)
    }

    /// How far the wall clock is ahead of this one, ms; negative when it is behind. Not 0 after the
    /// wall clock was set, or the computer slept. `None` for a clock of another speed.
    pub fn wall_ahead_ms(&self) -> Option<i64> {
        (self.speed == 1.0).then(|| wall_ms().saturating_sub(self.now().0))
    }
}

/// The wall clock, ms since 1970 UTC; 0 for a clock before that.
pub fn wall_ms() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    i64::try_from(since.as_millis()).unwrap_or(i64::MAX)
}
