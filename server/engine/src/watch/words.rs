//! Numbers and directions as people on the beach say them.

use crate::{
    moment::Moment,
    tracks::Motion,
    units::{Bearing, kn_from_mps},
};

/// The nearest of eight winds in words: "north-east".
pub fn compass(direction: Bearing) -> &'static str {
    const WINDS: [&str; 8] =
        ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
    let eighth = (direction.deg() / 45.0).round() as usize % WINDS.len();
    WINDS[eighth]
}

/// Three figures, as bearings are spoken: "007".
pub fn degrees(direction: Bearing) -> String {
    format!("{:03}", direction.deg().round() as u32 % 360)
}

/// "making 2.1 kn towards 350", or "lying still".
pub fn making(motion: &Motion) -> String {
    let speed_kn = kn_from_mps(motion.speed_mps());
    match motion.velocity.direction() {
        Some(towards) if speed_kn >= 0.2 => {
            format!("making {speed_kn:.1} kn towards {}", degrees(towards))
        }
        Some(_) | None => "hardly moving".to_owned(),
    }
}

/// "her position is good to about 4 m": one standard deviation.
pub fn doubt(motion: &Motion) -> String {
    format!("her position is good to about {:.0} m", motion.position_sd_m.max(1.0))
}

/// "6 s", "2 min 5 s", "1 h 3 min".
pub fn duration(later: Moment, earlier: Moment) -> String {
    let s = later.ms_since(earlier).max(0) / 1000;
    match s {
        0..120 => format!("{s} s"),
        120..3600 => format!("{} min {} s", s / 60, s % 60),
        3600.. => format!("{} h {} min", s / 3600, s / 60 % 60),
        i64::MIN..0 => "0 s".to_owned(),
    }
}
