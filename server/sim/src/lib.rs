//! An invented fleet on invented water: wind, boats, crews, receivers and radio, and what really happened.
//!
//! Everything follows from one seed; there is no clock, file or socket here. The physics and the people
//! know nothing of the watch that will judge them: this crate shares no constant with it.

mod act;
mod boats;
mod demo;
mod dice;
mod dinghy;
mod fifth;
mod fourth;
mod habits;
mod happen;
mod mode;
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
mod third;
mod truth;
mod under_way;
mod weather;
mod wide_area;
mod world;

pub use demo::Demo;
pub use fifth::FIFTH_WATER;
pub use fourth::FOURTH_WATER;
pub use scenario::SCENARIOS;
pub use script::*;
pub use second::SECOND_WATER;
pub use seeds::{
    Season, fifth_sessions, fourth_sessions, second_sessions, sessions, seventh_sessions, sixth_sessions,
    third_sessions,
};
pub use sentence::{rfc3339, tagged};
pub use session::{Line, Session};
pub use seventh::SEVENTH_WATER;
pub use sixth::SIXTH_WATER;
pub use third::THIRD_WATER;
pub use truth::*;
pub use world::{Fix, Sent, World};
