//! dunlin's engine: one value, one function of time and input, no input or output of its own.
//!
//! ```text
//! line or report -> fixes (Heard or Discard) -> tracks (Motion) -> wind, sailing
//!                -> conditions (belief) -> watch rules -> alerts -> effects
//! ```
//!
//! It reads no clock, socket, file, environment or random source: the same inputs at the same
//! moments give the same effects, so a journal replays to the same alerts.
#![deny(missing_docs)]

pub mod alerts;
mod claims;
pub mod conditions;
mod craft;
pub mod drift;
pub mod effect;
pub mod engine;
pub mod fixes;
pub mod fleet;
pub mod input;
pub mod limits;
pub mod moment;
pub mod needs;
mod orders;
pub mod sailing;
pub mod tally;
pub mod tracks;
pub mod units;
pub mod venue;
pub mod view;
pub mod watch;
pub mod wind;

pub use engine::{Engine, Setup};
