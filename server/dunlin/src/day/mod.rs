//! The day: session, crews, checks, defects, cover and sun, from briefing to boats washed down.

pub mod book;
pub mod change;
pub mod cover;
pub mod desk;
pub mod export;
pub mod files;
pub mod forget;
#[cfg(test)]
mod gpx_rules;
pub mod past;
pub mod people;
pub mod record;
pub mod retention;
pub mod sun;
pub mod told;
