//! Which sessions make a season. Fitting, tuning and judging seeds are in separate files on purpose.

use crate::{scenario::SCENARIOS, second::SECOND_WATER};

/// Seeds that rules may be tuned on.
const TUNING: &str = include_str!("../seeds/tuning.txt");
/// Seeds that weights are fitted on.
const FITTING: &str = include_str!("../seeds/fitting.txt");
/// Seeds for the verdict only.
const JUDGING: &str = include_str!("../seeds/judging.txt");
/// Seeds of the short season.
const SHORT: &str = include_str!("../seeds/short.txt");

/// Sessions of the second water, of each kind, for each seed of the fitting and of the short season, and how far
/// apart their seeds are.
const FITTING_TIMES: u64 = 8;
/// See [`FITTING_TIMES`].
const SHORT_TIMES: u64 = 2;
/// See [`FITTING_TIMES`].
const APART: u64 = 1_000;

/// Which season.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Season {
    /// Every scenario on the seeds that weights are fitted on.
    Fitting,
    /// Every scenario on the tuning seeds.
    Tuning,
    /// Every scenario on the judging seeds.
    Judging,
    /// A few sessions, for every commit.
    Short,
}

/// The sessions of a season on the first water: scenario and seed.
pub fn sessions(season: Season) -> Vec<(&'static str, u64)> {
    // The stride starts at the second scenario: "moderate" belongs in every season.
    let (skip, every) = if season == Season::Short { (1, 3) } else { (0, 1) };
    seeds(season)
        .flat_map(|seed| SCENARIOS.into_iter().skip(skip).step_by(every).map(move |name| (name, seed)))
        .collect()
}

/// The sessions of a season on the second water. Of those to be fitted the strange one is no part. A seed
/// that is fitted on makes eight of each kind, a short one two: what a session draws there is wide.
pub fn second_sessions(season: Season) -> Vec<(&'static str, u64)> {
    let (names, times) = match season {
        Season::Fitting => (SECOND_WATER.len() - 1, FITTING_TIMES),
        Season::Short => (SECOND_WATER.len(), SHORT_TIMES),
        Season::Tuning | Season::Judging => (SECOND_WATER.len(), 1),
    };
    seeds(season)
        .flat_map(|seed| (0..times).map(move |n| seed + n * APART))
        .flat_map(|seed| SECOND_WATER.into_iter().take(names).map(move |name| (name, seed)))
        .collect()
}

fn seeds(season: Season) -> impl Iterator<Item = u64> {
    let text = match season {
        Season::Fitting => FITTING,
        Season::Tuning => TUNING,
        Season::Judging => JUDGING,
        Season::Short => SHORT,
    };
    text.lines().filter_map(|line| line.trim().parse().ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_seed_is_in_two_seasons() {
        let seeds = |season| {
            let both = [sessions(season), second_sessions(season)].concat();
            both.into_iter().map(|(_, seed)| seed).collect::<std::collections::BTreeSet<u64>>()
        };
        let all = [Season::Fitting, Season::Tuning, Season::Judging, Season::Short].map(seeds);
        for (n, season) in all.iter().enumerate() {
            assert!(all[n + 1..].iter().all(|other| season.is_disjoint(other)));
        }
        let fitted = second_sessions(Season::Fitting);
        assert!(
            fitted.iter().all(|(name, _)| *name != "second-strange"),
            "nothing is fitted on the strange water"
        );
        assert!(sessions(Season::Judging).len() >= 80, "a season is at least 1,000 boat-hours");
    }
}
