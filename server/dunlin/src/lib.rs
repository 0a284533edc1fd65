//! dunlin, the program: all that touches the world. The watch itself is [`dunlin_engine`].
#![deny(missing_docs)]

pub mod config;
pub mod feeds;
pub mod hub;
pub mod journal;
pub mod link;
pub mod naive;
pub mod output;
pub mod replay;
pub mod score;
pub mod season;
pub mod setup;
pub mod simulate;
pub mod stop;
