//! How much each water has to say in the fit.

use dunlin_sim::{OtherWater, Season, sessions};

/// What is taken of a water's fitting season.
pub struct Share {
    water: &'static str,
    /// Of its seconds without heel one in so many is taken: neighbours say the same.
    pub every: usize,
    /// Scenarios of whose sessions one boat alone is heard as well: no wind is told there and no fleet seen.
    pub alone: &'static [&'static str],
    /// Boats of a session so heard, which of their seconds are taken, and how often each counts.
    pub alone_boats: (u64, usize, usize),
}

impl Share {
    /// Heel is told and fixes are rare on the first water only.
    pub fn has_senses(&self) -> bool {
        self.water == FIRST
    }

    /// Scenario and seed of each session.
    pub fn sessions(&self) -> Vec<(&'static str, u64)> {
        if self.water == FIRST {
            return sessions(Season::Fitting);
        }
        OtherWater::named(self.water).expect("a water of the list").sessions(Season::Fitting)
    }
}

const FIRST: &str = "first";

/// The seventh, which is held to a season that was sailed elsewhere, weighs most; the eighth, held to the same, less,
/// for its boats are all alike, and the first half as much: it alone has shores, launches and landings. The ninth was
/// let in a little: with as much of it as of those, the first, the sixth and the seventh were told worse.
pub const SHARES: [Share; 9] = [
    Share {
        water: FIRST,
        every: 6,
        alone: &["light", "moderate", "fresh", "squall"],
        alone_boats: (2, 2, 3),
    },
    Share { water: "second", every: 24, alone: &["second-still", "second-stream"], alone_boats: (1, 4, 2) },
    Share { water: "third", every: 18, alone: &["third-gusty", "third-stream"], alone_boats: (1, 4, 1) },
    Share {
        water: "fourth",
        every: 18,
        alone: &["fourth-heavy", "fourth-light", "fourth-stream"],
        alone_boats: (1, 4, 1),
    },
    Share { water: "fifth", every: 12, alone: &["fifth-inland", "fifth-tidal"], alone_boats: (1, 4, 2) },
    Share { water: "sixth", every: 6, alone: &["sixth-steady", "sixth-stream"], alone_boats: (1, 4, 2) },
    Share { water: "seventh", every: 3, alone: &["seventh-trade", "seventh-stream"], alone_boats: (1, 4, 3) },
    Share { water: "eighth", every: 6, alone: &["eighth-plain", "eighth-tide"], alone_boats: (1, 4, 3) },
    Share { water: "ninth", every: 18, alone: &["ninth-basin", "ninth-ebb"], alone_boats: (1, 4, 1) },
];
