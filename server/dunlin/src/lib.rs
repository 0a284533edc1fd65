//! dunlin, the program: all that touches the world. The watch itself is [`dunlin_engine`].
#![deny(missing_docs)]

pub mod access;
pub mod backup;
pub mod check;
pub mod clock;
pub mod config;
pub mod day;
pub mod demo;
pub mod driver;
pub mod feeds;
pub mod hub;
pub mod journal;
pub mod link;
pub mod metrics;
pub mod naive;
pub mod new_day;
pub mod notices;
pub mod output;
pub mod papers;
pub mod phone;
pub mod rebuild;
pub mod replay;
pub mod score;
pub mod season;
pub mod serve;
pub mod setup;
pub mod simulate;
pub mod stop;
