//! The program's parts: everything that touches the world.

pub mod hub;
