//! The weight of each sign: value and ln odds, a scale for each way of seeing. The files are written by
//! `tests/examples/weigh_signs`, which fits them on the fitting season; not to be changed by hand.

#![allow(clippy::approx_constant, reason = "a weight may lie near a constant of mathematics")]

mod blind;
mod felt;
mod seconds_1;
mod seconds_2;
mod sparse;

pub(crate) use blind::BLIND;
pub(crate) use felt::FELT;
pub(crate) use sparse::SPARSE;

use super::seconds::Net;

/// The nets over seconds: what they say is averaged.
pub(crate) static SECONDS: [&Net; 2] = [&seconds_1::NET, &seconds_2::NET];
/// What the library that fitted each says of some seconds.
#[cfg(test)]
pub(crate) const SECONDS_CHECKS: [&[(&[f32], bool, f64)]; SECONDS.len()] =
    [seconds_1::CHECK, seconds_2::CHECK];
