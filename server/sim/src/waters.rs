//! The waters besides the first: what each is called, what is sailed there and how it begins.

use crate::{
    eighth::{EIGHTH_WATER, EighthWater},
    eleventh::{ELEVENTH_WATER, EleventhWater},
    fifth::{FIFTH_WATER, FifthWater},
    fourth::{FOURTH_WATER, FourthWater},
    ninth::{NINTH_WATER, NinthWater},
    second::{SECOND_WATER, SecondWater},
    seeds::{self, Season},
    session::Line,
    seventh::{SEVENTH_WATER, SeventhWater},
    sixth::{SIXTH_WATER, SixthWater},
    tenth::{TENTH_WATER, TenthWater},
    third::{THIRD_WATER, ThirdWater},
    thirteenth::{THIRTEENTH_WATER, ThirteenthWater},
    truth::Truth,
    twelfth::{TWELFTH_WATER, TwelfthWater},
};

/// A session on one of the other waters, while it is sailed.
pub(crate) trait Afloat: std::fmt::Debug {
    /// Nothing more will be heard.
    fn is_over(&self) -> bool;
    /// A moment; gives the lines that arrived in it.
    fn step(&mut self) -> Vec<Line>;
    /// `site.geojson`.
    fn site_geojson(&self) -> String;
    /// `fleet.toml`.
    fn fleet_toml(&self) -> String;
    /// What really happened.
    fn finish(self: Box<Self>) -> Truth;
}

/// Begins a session: scenario, seed, the seed mixed with the scenario's name, when (Unix ms).
type Launch = fn(&'static str, u64, u64, i64) -> Box<dyn Afloat>;

/// A water besides the first. Waters share neither physics nor people nor numbers: what holds on one is tried on
/// the others.
#[derive(Clone, Copy, Debug)]
pub struct OtherWater {
    /// What it is called.
    pub name: &'static str,
    /// What is particular to it, in a few words.
    pub about: &'static str,
    /// Its scenarios.
    pub scenarios: &'static [&'static str],
    /// What its short season must not fall below: lines of a figure's key and value.
    pub floors: &'static str,
    /// Scenarios that nothing is ever fitted on.
    never_fitted: &'static [&'static str],
    /// So many sessions of each scenario are made of each fitting seed.
    fitting_times: u64,
    pub(crate) launch: Launch,
}

impl OtherWater {
    /// The water of that name.
    pub fn named(name: &str) -> Option<&'static OtherWater> {
        OTHER_WATERS.iter().find(|water| water.name == name)
    }

    /// The sessions of a season there: scenario and seed.
    pub fn sessions(&self, season: Season) -> Vec<(&'static str, u64)> {
        let mut all = seeds::elsewhere(self.scenarios, season, self.fitting_times);
        all.retain(|(name, _)| season != Season::Fitting || !self.never_fitted.contains(name));
        all
    }
}

macro_rules! afloat {
    ($($water:ty),*) => {$(
        impl Afloat for $water {
            fn is_over(&self) -> bool {
                self.is_over()
            }

            fn step(&mut self) -> Vec<Line> {
                self.step()
            }

            fn site_geojson(&self) -> String {
                self.site_geojson()
            }

            fn fleet_toml(&self) -> String {
                self.fleet_toml()
            }

            fn finish(self: Box<Self>) -> Truth {
                (*self).finish()
            }
        }
    )*};
}

afloat!(
    SecondWater,
    ThirdWater,
    FourthWater,
    FifthWater,
    SixthWater,
    SeventhWater,
    EighthWater,
    NinthWater,
    TenthWater,
    EleventhWater,
    TwelfthWater,
    ThirteenthWater
);

/// All of them, in the order they were made in.
pub static OTHER_WATERS: [OtherWater; 12] = [
    OtherWater {
        name: "second",
        about: "boats with one speed and one heading; a way of stopping for each thing that stops them",
        scenarios: &SECOND_WATER,
        floors: include_str!("../seeds/floors-second.txt"),
        never_fitted: &["second-strange"],
        fitting_times: 5,
        launch: |name, seed, mixed, at_ms| Box::new(SecondWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "third",
        about: "forces on a mass, crews that trim late",
        scenarios: &THIRD_WATER,
        floors: include_str!("../seeds/floors-third.txt"),
        never_fitted: &[],
        fitting_times: 4,
        launch: |name, seed, mixed, at_ms| Box::new(ThirdWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "fourth",
        about: "passages as an instructor would tell them",
        scenarios: &FOURTH_WATER,
        floors: include_str!("../seeds/floors-fourth.txt"),
        never_fitted: &[],
        fitting_times: 3,
        launch: |name, seed, mixed, at_ms| Box::new(FourthWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "fifth",
        about: "boats that follow their crews' wishes with an inertia of their own",
        scenarios: &FIFTH_WATER,
        floors: include_str!("../seeds/floors-fifth.txt"),
        never_fitted: &[],
        fitting_times: 3,
        launch: |name, seed, mixed, at_ms| Box::new(FifthWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "sixth",
        about: "held to what was measured of real dinghies",
        scenarios: &SIXTH_WATER,
        floors: include_str!("../seeds/floors-sixth.txt"),
        never_fitted: &[],
        fitting_times: 3,
        launch: |name, seed, mixed, at_ms| Box::new(SixthWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "seventh",
        about: "held to what a simple rule scores elsewhere",
        scenarios: &SEVENTH_WATER,
        floors: include_str!("../seeds/floors-seventh.txt"),
        never_fitted: &[],
        fitting_times: 3,
        launch: |name, seed, mixed, at_ms| Box::new(SeventhWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "eighth",
        about: "as plain as a season can be written, and held to the same as the seventh",
        scenarios: &EIGHTH_WATER,
        floors: include_str!("../seeds/floors-eighth.txt"),
        never_fitted: &[],
        fitting_times: 3,
        launch: |name, seed, mixed, at_ms| Box::new(EighthWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "ninth",
        about: "forces on hulls and hands on sheet and tiller, held to the same as the seventh",
        scenarios: &NINTH_WATER,
        floors: include_str!("../seeds/floors-ninth.txt"),
        never_fitted: &[],
        fitting_times: 3,
        launch: |name, seed, mixed, at_ms| Box::new(NinthWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "tenth",
        about: "every session a world of its own: hulls, crews and phones drawn anew, held to the seventh's on average",
        scenarios: &TENTH_WATER,
        floors: include_str!("../seeds/floors-tenth.txt"),
        never_fitted: &[],
        fitting_times: 3,
        launch: |name, seed, mixed, at_ms| Box::new(TenthWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "eleventh",
        about: "the smallest honest season, nearest to what a simple rule scores elsewhere",
        scenarios: &ELEVENTH_WATER,
        floors: include_str!("../seeds/floors-eleventh.txt"),
        never_fitted: &[],
        fitting_times: 3,
        launch: |name, seed, mixed, at_ms| Box::new(EleventhWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "twelfth",
        about: "a lesson in its phases, crews of every skill, held to the same as the seventh",
        scenarios: &TWELFTH_WATER,
        floors: include_str!("../seeds/floors-twelfth.txt"),
        never_fitted: &[],
        fitting_times: 3,
        launch: |name, seed, mixed, at_ms| Box::new(TwelfthWater::new(name, seed, mixed, at_ms)),
    },
    OtherWater {
        name: "thirteenth",
        about: "chains of intentions and damped responses, gusts as fronts, held to the same as the seventh",
        scenarios: &THIRTEENTH_WATER,
        floors: include_str!("../seeds/floors-thirteenth.txt"),
        never_fitted: &[],
        fitting_times: 3,
        launch: |name, seed, mixed, at_ms| Box::new(ThirteenthWater::new(name, seed, mixed, at_ms)),
    },
];
