//! The simulator.
