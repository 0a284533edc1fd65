//! The head count: who is ashore, out, back but not counted, counted.

use crate::{
    effect::{Standing, TallyChange},
    fleet::{Boat, BoatIx},
    input::{Command, HandMark},
    moment::Moment,
    tracks::Motion,
    venue::Venue,
};

/// How far from a landing place a boat has to be to be out, metres: twice the usual error of a phone.
const OUT_M: f64 = 10.0;

/// How long she has to be so, ms. Common practice, no source.
const OUT_HOLD_MS: i64 = 5_000;

/// How long she has to lie at a landing place to have landed, ms. Common practice, no source.
const LANDED_HOLD_MS: i64 = 15_000;

/// Slower than this at a landing place she has landed, m/s: a boat sailing past does not.
const LANDED_MPS: f64 = 0.8;

/// One boat's line in the head count.
#[derive(Clone, Debug, PartialEq)]
pub struct TallyEntry {
    /// Where she stands.
    pub standing: Standing,
    /// Since when; `None` until anything was said or seen of her.
    pub since: Option<Moment>,
    /// Who said so; `None`: her own track.
    pub by: Option<String>,
    /// Persons aboard as last said.
    pub persons: u8,
    /// Whether her position was ever heard. A boat that never was is out of sight, not safe.
    pub tracked: bool,
}

/// What her fixes suggest and for how long.
///
/// ```text
///   ashore, landed, returned --outside landing and shore for OUT_HOLD--> afloat
///   afloat --still at a landing place for LANDED_HOLD--> landed   (a person counts: returned)
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Place {
    #[default]
    Unclear,
    Out {
        since: Moment,
    },
    AtLanding {
        since: Moment,
    },
}

/// The head count of a session.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    lines: Vec<(TallyEntry, Place)>,
}

impl Tally {
    /// Everyone ashore, with the crews as planned.
    pub fn new(fleet: &[Boat]) -> Tally {
        let line = |boat: &Boat| TallyEntry {
            standing: Standing::Ashore,
            since: None,
            by: None,
            persons: boat.crew,
            tracked: false,
        };
        Tally { lines: fleet.iter().map(|boat| (line(boat), Place::Unclear)).collect() }
    }

    /// One boat's line; `None` for a boat that is not in the fleet.
    pub fn entry(&self, boat: BoatIx) -> Option<&TallyEntry> {
        self.lines.get(usize::from(boat.0)).map(|(entry, _)| entry)
    }

    /// Where a boat stands; ashore for a boat that is not in the fleet.
    pub fn standing(&self, boat: BoatIx) -> Standing {
        self.entry(boat).map_or(Standing::Ashore, |entry| entry.standing)
    }

    /// A fix was believed. A landing place entered or left is told; nobody is counted by it.
    pub fn on_fix(
        &mut self,
        now: Moment,
        boat: BoatIx,
        motion: &Motion,
        venue: &Venue,
    ) -> Option<TallyChange> {
        let (entry, place) = self.lines.get_mut(usize::from(boat.0))?;
        let first = !entry.tracked;
        entry.tracked = true;
        *place = place.after(motion, venue);
        let standing = match (entry.standing, *place) {
            (Standing::Ashore | Standing::Landed | Standing::Returned, Place::Out { since })
                if first || motion.at.ms_since(since) >= OUT_HOLD_MS =>
            {
                Standing::Afloat
            }
            (Standing::Afloat, Place::AtLanding { since }) if motion.at.ms_since(since) >= LANDED_HOLD_MS => {
                Standing::Landed
            }
            (
                Standing::Ashore
                | Standing::Afloat
                | Standing::Landed
                | Standing::Returned
                | Standing::StoodDown,
                Place::Unclear | Place::Out { .. } | Place::AtLanding { .. },
            ) => return None,
        };
        Some(entry.set(now, boat, standing, None))
    }

    /// Carries out what a person said of a boat or her crew; other commands change nothing.
    pub fn on_command(&mut self, now: Moment, by: &str, command: &Command) -> Option<TallyChange> {
        let (boat, mark) = match command {
            Command::Mark(boat, mark) => (*boat, *mark),
            Command::Aboard(boat, persons) => {
                let (entry, _) = self.lines.get_mut(usize::from(boat.0))?;
                entry.persons = *persons;
                return Some(entry.told(now, *boat, Some(by.to_owned())));
            }
            Command::Acknowledge(_)
            | Command::Silence(_)
            | Command::Attend(..)
            | Command::Clear(..)
            | Command::HeadsCounted(..)
            | Command::SetWind(_)
            | Command::SetStream(_)
            | Command::SetBackBy(_)
            | Command::SetWindLimit(_)
            | Command::Assign(..)
            | Command::Drill(..) => return None,
        };
        let (entry, place) = self.lines.get_mut(usize::from(boat.0))?;
        let standing = match mark {
            HandMark::Ashore if entry.since.is_none() => Standing::Ashore,
            HandMark::Ashore => Standing::Returned,
            HandMark::Afloat => Standing::Afloat,
            HandMark::StoodDown => Standing::StoodDown,
            HandMark::Capsized | HandMark::PersonOverboard | HandMark::NeedsHelp | HandMark::Fine => {
                return None;
            }
        };
        *place = Place::Unclear; // a person's word holds until her track says something new
        Some(entry.set(now, boat, standing, Some(by.to_owned())))
    }
}

impl TallyEntry {
    fn set(&mut self, now: Moment, boat: BoatIx, standing: Standing, by: Option<String>) -> TallyChange {
        self.standing = standing;
        self.since = Some(now);
        self.by.clone_from(&by);
        self.told(now, boat, by)
    }

    fn told(&self, now: Moment, boat: BoatIx, by: Option<String>) -> TallyChange {
        TallyChange { at: now, boat, standing: self.standing, persons: self.persons, by }
    }
}

impl Place {
    fn after(self, motion: &Motion, venue: &Venue) -> Place {
        let at = motion.position;
        let at_landing = venue.in_landing(at) && motion.speed_mps() < LANDED_MPS;
        let out = !venue.near_landing(at, OUT_M) && !venue.on_shore(at);
        match (self, at_landing, out) {
            (Place::AtLanding { since }, true, _) => Place::AtLanding { since },
            (Place::Unclear | Place::Out { .. }, true, _) => Place::AtLanding { since: motion.at },
            (Place::Out { since }, false, true) => Place::Out { since },
            (Place::Unclear | Place::AtLanding { .. }, false, true) => Place::Out { since: motion.at },
            (_, false, false) => Place::Unclear,
        }
    }
}
