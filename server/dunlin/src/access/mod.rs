//! Safe access: who may do what, keys and PINs, the local certificate authority.

pub mod authority;
pub mod code;
pub mod gate;
pub mod join;
pub mod keys;
pub mod lockout;
pub mod origin;
pub mod pins;
pub mod role;
pub mod tls;
pub mod trust;
