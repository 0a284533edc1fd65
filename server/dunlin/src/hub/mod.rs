//! The hub: what tablets, phones and people's browsers talk to.

pub mod wire;
