//! Which sessions make a season. Fitting, tuning and judging seeds are in separate files on purpose.

use crate::scenario::SCENARIOS;

/// Seeds that rules may be tuned on.
const TUNING: &str = include_str!("../seeds/tuning.txt");
/// Seeds that weights are fitted on.
const FITTING: &str = include_str!("../seeds/fitting.txt");
/// Seeds for the verdict only.
const JUDGING: &str = include_str!("../seeds/judging.txt");
/// Seeds of the short season.
const SHORT: &str = include_str!("../seeds/short.txt");

/// Of the other waters each seed makes several sessions of each kind, so far apart: what a session draws there is wide.
const APART: u64 = 1_000;
/// So many to tune or to judge with, and in a short season.
const TIMES: u64 = 2;

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

/// Every scenario of a water, for each seed of the fitting season so many `times`.
pub(crate) fn elsewhere(names: &[&'static str], season: Season, times: u64) -> Vec<(&'static str, u64)> {
    let times = if season == Season::Fitting { times } else { TIMES };
    seeds(season)
        .flat_map(|seed| (0..times).map(move |n| seed + n * APART))
        .flat_map(|seed| names.iter().map(move |name| (*name, seed)))
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
    use crate::waters::OTHER_WATERS;

    #[test]
    fn no_seed_is_in_two_seasons() {
        let seeds = |season| {
            let others = OTHER_WATERS.iter().flat_map(|water| water.sessions(season));
            sessions(season)
                .into_iter()
                .chain(others)
                .map(|(_, seed)| seed)
                .collect::<std::collections::BTreeSet<u64>>()
        };
        let all = [Season::Fitting, Season::Tuning, Season::Judging, Season::Short].map(seeds);
        for (n, season) in all.iter().enumerate() {
            assert!(all[n + 1..].iter().all(|other| season.is_disjoint(other)));
        }
        let mut fitted = OTHER_WATERS.iter().flat_map(|water| water.sessions(Season::Fitting));
        assert!(fitted.all(|(name, _)| name != "second-strange"), "nothing is fitted on the strange water");
        assert!(sessions(Season::Judging).len() >= 80, "a season is at least 1,000 boat-hours");
    }
}
