//! Every bound of the hub, why, and what happens at it.

use std::time::Duration;

/// Tablets at once; the next is told to wait. Five times the largest centre we know how to picture.
pub const TABLETS_MAX: usize = 500;

/// Phones at once; the next is told to wait. One a boat, and the engine's fleet bound is 2,000.
pub const PHONES_MAX: usize = 2_000;

/// Sockets at once from one address other than this machine's own, tablets and phones together.
pub const SOCKETS_PER_ADDRESS: usize = 64;

/// Urgent messages kept for one tablet that is slow to read. One that falls further behind is sent
/// a whole snapshot instead.
pub const URGENT_MAX: usize = 512;

/// Connections at once, of all kinds; the next is closed as soon as it is taken.
pub const CONNECTIONS_MAX: usize = 4_000;

/// Connections at once from one address other than this machine's own. A browser opens six.
pub const CONNECTIONS_PER_ADDRESS: usize = 128;

/// Requests a second from one address other than this machine's own, on average, and at once.
pub const REQUESTS_PER_S: f64 = 20.0;

/// As [`REQUESTS_PER_S`], at once: a page with all its files, several times over.
pub const REQUESTS_BURST: f64 = 300.0;

/// How long one message may take to be sent. A tablet that takes longer is cut off, and returns
/// for a snapshot.
pub const SEND_TIMEOUT: Duration = Duration::from_secs(10);

/// How often a quiet socket is asked whether it is still there.
pub const PING_EVERY: Duration = Duration::from_secs(5);

/// A socket that has not answered for this long is closed: half-open links do that.
pub const SILENCE_MAX: Duration = Duration::from_secs(20);

/// Bytes of one message from a tablet. The longest is a pasted list of people.
pub const ACTION_BYTES_MAX: usize = 64 * 1024;

/// Bytes of one message from a phone: 600 fixes of a quarter of an hour at most.
pub const PHONE_BYTES_MAX: usize = 128 * 1024;

/// Fixes in one message from a phone; a longer batch is refused with a request to split it.
pub const PHONE_FIXES_MAX: usize = 600;

/// Messages of one phone whose fixes are not on disk yet. When full, the socket is not read: the
/// phone keeps its fixes, as it must anyway.
pub const PHONE_PENDING_MAX: usize = 64;

/// Messages a second from one tablet, on average, and the burst allowed. Beyond it the socket is
/// read more slowly, so the link itself holds the sender back.
pub const ACTIONS_PER_S: f64 = 10.0;

/// As [`ACTIONS_PER_S`], for phones: 1 Hz and the catching up after a dead spot.
pub const PHONE_MESSAGES_PER_S: f64 = 10.0;

/// Messages let through at once before the two limits above begin to hold.
pub const BURST: f64 = 30.0;

/// Levels of nesting in JSON from outside. The deepest message we know has six.
pub const JSON_DEPTH_MAX: usize = 16;

/// Bytes of a request's body, where a route does not say otherwise.
pub const BODY_MAX: usize = 64 * 1024;

/// Bytes of a set-up file sent by a tablet.
pub const SETUP_BODY_MAX: usize = 16 * 1024 * 1024;

/// How long a request may take to arrive and be answered.
pub const REQUEST_TIMEOUT: Duration = Duration::from_secs(20);

/// Points of a trail told to a tablet that joins; the oldest go first.
pub const TRAIL_POINTS_MAX: usize = 120;

/// Time between two points of a trail, ms. 120 of them are ten minutes.
pub const TRAIL_STEP_MS: i64 = 5_000;

/// Manoeuvres told to a tablet that joins; the oldest go first.
pub const MANOEUVRES_MAX: usize = 200;

/// Points of the wind kept for a plot of its last twenty minutes; the oldest goes first.
pub const WIND_POINTS_MAX: usize = 120;

/// Winds closer in time than this are not kept apart, ms.
pub const WIND_STEP_MS: i64 = 10_000;

/// Lines of the day's log told to a tablet that joins; all of it is in the export.
pub const LOG_LINES_MAX: usize = 200;

/// Actions that can still be taken back; the oldest can then no longer be.
pub const UNDO_MAX: usize = 500;

/// Answers kept for each tablet, for requests it sends again after its link broke.
pub const ANSWERS_PER_TABLET: usize = 64;

/// Tablets whose answers are kept; the one longest away is forgotten.
pub const ANSWERED_TABLETS_MAX: usize = 1_000;

/// Without a picture from the driver for this long the watch is shown as stalled.
pub const STALLED_MS: i64 = 4_000;

/// Letters of a text a person types: a reason, a note, a name.
pub const TEXT_MAX: usize = 2_000;
