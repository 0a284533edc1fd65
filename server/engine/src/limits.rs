//! Every bound of the engine, why it is what it is, and what happens at it.

/// Bytes of one line, TAG block included. IEC 61162-1 allows 82 for the sentence; a longer line is
/// discarded whole as [`crate::effect::DiscardReason::TooLong`].
pub const LINE_MAX: usize = 1024;

/// Sources remembered, fleet and strangers together. A further one is discarded and counted.
pub const SOURCES_MAX: usize = 4096;

/// Boats in a fleet; the set-up file is refused above it.
pub const BOATS_MAX: usize = 2000;

/// Samples of one boat's track kept (ten minutes at 2 Hz; faster feeds are thinned to 2 Hz).
/// The oldest goes first.
pub const HISTORY_MAX: usize = 1200;

/// Alerts kept after they cleared, for late tablets. The oldest goes first; standing ones never go.
pub const CLEARED_ALERTS_MAX: usize = 200;

/// Period of the rules that run by the clock rather than by a fix, ms.
pub const TICK_MS: i64 = 1000;

/// Ticks run to catch up after a hole in time (a replay that jumps a day). Beyond it time is
/// skipped: fifteen minutes of silence have raised everything silence can raise.
pub const CATCH_UP_TICKS_MAX: i64 = 900;
