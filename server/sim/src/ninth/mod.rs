//! A ninth water: boats are bodies that forces push, crews are hands on a sheet and a tiller. Nobody here is told to
//! be slow: a boat that waits has let her sheet go, one in irons has lost the way her rudder needs, one that is hove-to
//! balances a backed jib against her tiller, and one goes over when weight and wind leave her no righting moment. What a
//! simple rule ("slower than 0.8 kn for 20 s") scored on a season sailed elsewhere says whether habits are as there.

mod boat;
mod class;
mod company;
mod course;
mod day;
mod doing;
mod hands;
mod hull;
mod mishap;
mod over;
mod people;
mod phone;
mod rib;
mod sails;
mod stops;
#[cfg(test)]
mod tests;
mod turns;
mod water;

pub use water::NINTH_WATER;
pub(crate) use water::NinthWater;
