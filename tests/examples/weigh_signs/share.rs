//! How much each water has to say in the fit.

use std::{
    io,
    path::{Path, PathBuf},
};

use dunlin_sim::{OtherWater, Season, sessions};

use super::rows::{self, Row};

/// What is taken of a water's fitting season.
pub struct Share {
    /// The water.
    pub water: &'static str,
    /// Of its kept seconds without heel one in so many is taken.
    one_in: usize,
    /// Scenarios of whose sessions boats alone are heard as well: no wind is told there and no fleet seen.
    pub alone: &'static [&'static str],
    /// Boats of a session so heard.
    pub alone_boats: u64,
    /// Of their kept seconds one in so many is taken, and how often each counts.
    alone_counts: (usize, usize),
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
        OtherWater::named(self.water).map(|water| water.sessions(Season::Fitting)).unwrap_or_default()
    }

    /// The file of its rows of a kind.
    pub fn file(&self, dir: &Path, kind: &str) -> PathBuf {
        dir.join(format!("{}-{kind}.rows", self.water))
    }

    /// Its rows without heel.
    pub fn blind(&self, dir: &Path) -> io::Result<Vec<Row>> {
        let mut all = rows::read(&self.file(dir, "blind"), self.one_in, 1)?;
        all.extend(rows::read(&self.file(dir, "alone"), self.alone_counts.0, self.alone_counts.1)?);
        Ok(all)
    }
}

const FIRST: &str = "first";

/// The seventh, which is held to a season that was sailed elsewhere, weighs most; the eighth, the tenth and the eleventh,
/// held to the same, less, and the first half as much: it alone has shores, launches and landings. The ninth has a smaller
/// share: with as much of it as of the seventh, the first, the sixth and the seventh were told worse.
pub const SHARES: [Share; 11] = [
    share(FIRST, 2, &["light", "moderate", "fresh", "squall"], (1, 3)).with_boats(2),
    share("second", 8, &["second-still", "second-stream"], (2, 2)),
    share("third", 6, &["third-gusty", "third-stream"], (2, 1)),
    share("fourth", 6, &["fourth-heavy", "fourth-light", "fourth-stream"], (2, 1)),
    share("fifth", 4, &["fifth-inland", "fifth-tidal"], (2, 2)),
    share("sixth", 2, &["sixth-steady", "sixth-stream"], (2, 2)),
    share("seventh", 1, &["seventh-trade", "seventh-stream"], (2, 3)),
    share("eighth", 2, &["eighth-plain", "eighth-tide"], (2, 3)),
    share("ninth", 3, &["ninth-basin", "ninth-ebb"], (2, 1)),
    share("tenth", 2, &["tenth-any", "tenth-contrary"], (2, 3)),
    share("eleventh", 2, &["eleventh-fair", "eleventh-ebb"], (2, 3)),
];

const fn share(
    water: &'static str,
    one_in: usize,
    alone: &'static [&'static str],
    alone_counts: (usize, usize),
) -> Share {
    Share { water, one_in, alone, alone_boats: 1, alone_counts }
}

impl Share {
    const fn with_boats(self, alone_boats: u64) -> Share {
        Share { alone_boats, ..self }
    }
}
