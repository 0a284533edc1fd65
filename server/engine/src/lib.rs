//! The watch.
