//! Shared test means.

pub mod field;
