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

    /// Scenario and seed of each session of one part of the seeds.
    pub fn sessions(&self, part: usize) -> Vec<(&'static str, u64)> {
        let all = match OtherWater::named(self.water) {
            Some(water) => water.sessions(Season::Fitting),
            None => sessions(Season::Fitting),
        };
        let each = all.len() / PARTS;
        all.into_iter().skip(part * each).take(each).collect()
    }

    /// The file of its rows of a kind.
    pub fn file(&self, dir: &Path, kind: &str, part: usize) -> PathBuf {
        dir.join(format!("{}-{kind}-{}.rows", self.water, part + 1))
    }

    /// Its rows of a kind: one in `one_in`, each so many `times`.
    pub fn rows(&self, dir: &Path, kind: &str, (one_in, times): (usize, usize)) -> io::Result<Vec<Row>> {
        let mut all = Vec::new();
        for part in 0..PARTS {
            all.extend(rows::read(&self.file(dir, kind, part), one_in, times)?);
        }
        Ok(all)
    }

    /// Its rows without heel.
    pub fn blind(&self, dir: &Path) -> io::Result<Vec<Row>> {
        let mut all = self.rows(dir, "blind", (self.one_in, 1))?;
        all.extend(self.rows(dir, "alone", self.alone_counts)?);
        Ok(all)
    }
}

/// The seeds are sailed in so many parts, each to files of its own.
pub const PARTS: usize = 2;

const FIRST: &str = "first";

/// The seventh, which is held to a season that was sailed elsewhere, weighs most; the eighth, the tenth and those after
/// it, held to the same, less, and the first half as much: it alone has shores, launches and landings. The ninth has a smaller
/// share: with as much of it as of the seventh, the first, the sixth and the seventh were told worse.
pub const SHARES: [Share; 13] = [
    share(FIRST, 4, &["light", "moderate", "fresh", "squall"], (2, 3)).with_boats(2),
    share("second", 16, &["second-still", "second-stream"], (4, 2)),
    share("third", 12, &["third-gusty", "third-stream"], (4, 1)),
    share("fourth", 12, &["fourth-heavy", "fourth-light", "fourth-stream"], (4, 1)),
    share("fifth", 8, &["fifth-inland", "fifth-tidal"], (4, 2)),
    share("sixth", 4, &["sixth-steady", "sixth-stream"], (4, 2)),
    share("seventh", 2, &["seventh-trade", "seventh-stream"], (4, 3)),
    share("eighth", 4, &["eighth-plain", "eighth-tide"], (4, 3)),
    share("ninth", 6, &["ninth-basin", "ninth-ebb"], (4, 1)),
    share("tenth", 4, &["tenth-any", "tenth-contrary"], (4, 3)),
    share("eleventh", 4, &["eleventh-fair", "eleventh-ebb"], (4, 3)),
    share("twelfth", 4, &["twelfth-lesson", "twelfth-ebb"], (4, 3)),
    share("thirteenth", 4, &["thirteenth-fair", "thirteenth-ebb"], (4, 3)),
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
