//! Shared test means.
