//! An invented fleet on invented water: wind, boats, crews, receivers and radio, and what really happened.
//!
//! Everything follows from one seed; there is no clock, file or socket here. The physics and the people
//! know nothing of the watch that will judge them: this crate shares no constant with it.

mod act;
mod boats;
mod demo;
mod dice;
mod dinghy;
mod eighth;
mod eleventh;
mod fifth;
mod fleet_file;
mod fourth;
mod habits;
mod happen;
mod mode;
mod ninth;
mod notes;
mod plane;
mod receiver;
mod record;
mod rescue;
mod safety;
mod scenario;
mod script;
mod second;
mod seeds;
mod sentence;
mod session;
mod setup;
mod seventh;
mod site;
mod sixth;
mod tenth;
mod third;
mod thirteenth;
#[cfg(test)]
mod trial;
mod truth;
mod twelfth;
mod under_way;
mod waters;
mod weather;
mod wide_area;
mod world;

pub use demo::Demo;
pub use scenario::SCENARIOS;
pub use script::*;
pub use seeds::{Season, sessions};
pub use sentence::{rfc3339, tagged};
pub use session::{Line, Session};
pub use truth::*;
pub use waters::{OTHER_WATERS, OtherWater};
pub use world::{Fix, Sent, World};
