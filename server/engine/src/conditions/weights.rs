//! The weight of each sign: value and ln odds, a scale for each way of seeing. The files are written by
//! `tests/examples/weigh_signs`, which fits them on the fitting season; not to be changed by hand.

#![allow(clippy::approx_constant, reason = "a weight may lie near a constant of mathematics")]

mod blind;
mod felt;
mod seconds;
mod sparse;

pub(crate) use blind::BLIND;
pub(crate) use felt::FELT;
#[cfg(test)]
pub(crate) use seconds::CHECK as SECONDS_CHECK;
pub(crate) use seconds::SECONDS;
pub(crate) use sparse::SPARSE;
