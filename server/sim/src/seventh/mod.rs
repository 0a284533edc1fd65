//! A seventh water, held to what a simple rule scores elsewhere: a rule that takes any boat slower than 0.8 kn for
//! 20 s for a capsized one was run on a season that has nothing to do with this program, and how often it is right,
//! how soon, and what it mistakes are known from there. Crews here stop, drift and go over so that it does the same.

mod air;
mod boat;
mod club;
mod company;
mod errand;
mod lie;
mod over;
mod own;
mod phone;
mod rib;
mod sail;
mod stop;
#[cfg(test)]
mod tests;
mod water;

pub use water::SEVENTH_WATER;
pub(crate) use water::SeventhWater;
