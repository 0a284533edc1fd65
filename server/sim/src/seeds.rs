//! Which sessions make a season. Fitting, tuning and judging seeds are in separate files on purpose.

use crate::{
    fifth::FIFTH_WATER, fourth::FOURTH_WATER, scenario::SCENARIOS, second::SECOND_WATER,
    seventh::SEVENTH_WATER, sixth::SIXTH_WATER, third::THIRD_WATER,
};

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

/// The sessions of a season on the second water. The strange ones are never fitted on.
pub fn second_sessions(season: Season) -> Vec<(&'static str, u64)> {
    let all = elsewhere(&SECOND_WATER, season, 5);
    all.into_iter().filter(|(name, _)| season != Season::Fitting || *name != "second-strange").collect()
}

/// The sessions of a season on the third water.
pub fn third_sessions(season: Season) -> Vec<(&'static str, u64)> {
    elsewhere(&THIRD_WATER, season, 4)
}

/// The sessions of a season on the fourth water.
pub fn fourth_sessions(season: Season) -> Vec<(&'static str, u64)> {
    elsewhere(&FOURTH_WATER, season, 3)
}

/// The sessions of a season on the fifth water.
pub fn fifth_sessions(season: Season) -> Vec<(&'static str, u64)> {
    elsewhere(&FIFTH_WATER, season, 3)
}

/// The sessions of a season on the sixth water.
pub fn sixth_sessions(season: Season) -> Vec<(&'static str, u64)> {
    elsewhere(&SIXTH_WATER, season, 3)
}

/// The sessions of a season on the seventh water.
pub fn seventh_sessions(season: Season) -> Vec<(&'static str, u64)> {
    elsewhere(&SEVENTH_WATER, season, 3)
}

/// Every scenario of a water, for each seed of the fitting season so many `times`.
fn elsewhere(names: &[&'static str], season: Season, times: u64) -> Vec<(&'static str, u64)> {
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

    #[test]
    fn no_seed_is_in_two_seasons() {
        let seeds = |season| {
            let all = [
                sessions(season),
                second_sessions(season),
                third_sessions(season),
                fourth_sessions(season),
                fifth_sessions(season),
                sixth_sessions(season),
                seventh_sessions(season),
            ];
            all.concat().into_iter().map(|(_, seed)| seed).collect::<std::collections::BTreeSet<u64>>()
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
