//! How much each water has to say in the fit.

use dunlin_sim::{OtherWater, Season, sessions};

/// What is taken of a water's fitting season.
pub struct Share {
    water: &'static str,
    /// Of its seconds without heel one in so many is taken: neighbours say the same.
    pub every: usize,
    /// Each of those counts so often.
    pub times: usize,
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

/// The first weighs some three times as much as each of the next four, which weigh alike: it alone has shores, launches
/// and landings. The seventh weighs most: it is held to a season that was sailed elsewhere.
pub const SHARES: [Share; 7] = [
    Share {
        water: FIRST,
        every: 3,
        times: 1,
        alone: &["light", "moderate", "fresh", "squall"],
        alone_boats: (2, 1, 3),
    },
    Share {
        water: "second",
        every: 12,
        times: 1,
        alone: &["second-still", "second-stream"],
        alone_boats: (1, 2, 2),
    },
    Share {
        water: "third",
        every: 9,
        times: 1,
        alone: &["third-gusty", "third-stream"],
        alone_boats: (1, 2, 1),
    },
    Share {
        water: "fourth",
        every: 9,
        times: 1,
        alone: &["fourth-heavy", "fourth-light", "fourth-stream"],
        alone_boats: (1, 2, 1),
    },
    Share {
        water: "fifth",
        every: 6,
        times: 1,
        alone: &["fifth-inland", "fifth-tidal"],
        alone_boats: (1, 2, 2),
    },
    Share {
        water: "sixth",
        every: 3,
        times: 1,
        alone: &["sixth-steady", "sixth-stream"],
        alone_boats: (1, 2, 2),
    },
    Share {
        water: "seventh",
        every: 3,
        times: 2,
        alone: &["seventh-trade", "seventh-stream"],
        alone_boats: (1, 2, 3),
    },
];
