//! Bytes from the world to stamped lines.

pub mod framing;
