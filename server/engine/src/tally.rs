//! The head count: who is ashore, out, back but not counted, counted.

use crate::{
    effect::{Standing, TallyChange},
    fleet::{Boat, BoatIx},
    input::{Command, HandMark},
    moment::Moment,
    tracks::Motion,
    units::Local,
    venue::Venue,
};

/// How far from a landing place a boat has to be to be out, metres: twice the usual error of a phone.
const OUT_M: f64 = 10.0;

/// How far from where she lay a boat under way has to be to be out though still at the landing place,
/// metres. Landing places reach into the water, and boats wait and sail there.
const AWAY_M: f64 = 30.0;

/// Faster than this she is under way, m/s: a boat on a trolley seldom is.
const UNDER_WAY_MPS: f64 = 0.5;

/// How long she has to be out, or away and under way, ms. Common practice, no source.
const OUT_HOLD_MS: i64 = 5_000;

/// How long she has to lie in one spot of a landing place to have landed, ms. A capsized boat drifts
/// out of the spot in that time; a boat pulled up does not. Common practice, no source.
const LANDED_HOLD_MS: i64 = 45_000;

/// The spot's radius: this many standard deviations of the position, and never less than this, metres.
const SPOT: (f64, f64) = (2.0, 5.0);

/// A boat ashore that has moved this far from where she lay is stirring, metres.
const STIRRING_M: f64 = 10.0;

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

/// What her fixes show of where she is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sign {
    /// Clear of landing places and shore, or under way and away from where she lay.
    Out,
    /// In one spot of a landing place.
    Lying,
    /// Neither.
    Unclear,
}

/// Where a boat lay and what she has done since.
#[derive(Clone, Copy, Debug, Default)]
struct Whereabouts {
    /// The spot she keeps to and since when.
    spot: Option<(Local, Moment)>,
    /// Where she last lay ashore or at a landing place, or was said to.
    lay: Option<Local>,
    out_since: Option<Moment>,
    newest: Option<Local>,
}

/// One boat's line with what it follows from.
///
/// ```text
///   ashore, landed, returned --out for OUT_HOLD--> afloat
///   afloat --in one spot of a landing place for LANDED_HOLD--> landed  (a person counts: returned)
/// ```
#[derive(Clone, Debug)]
struct Line {
    entry: TallyEntry,
    place: Whereabouts,
    been_afloat: bool,
}

/// The head count of a session.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    lines: Vec<Line>,
}

impl Tally {
    /// Everyone ashore, with the crews as planned.
    pub fn new(fleet: &[Boat]) -> Tally {
        let line = |boat: &Boat| Line {
            entry: TallyEntry {
                standing: Standing::Ashore,
                since: None,
                by: None,
                persons: boat.crew,
                tracked: false,
            },
            place: Whereabouts::default(),
            been_afloat: false,
        };
        Tally { lines: fleet.iter().map(line).collect() }
    }

    /// One boat's line; `None` for a boat that is not in the fleet.
    pub fn entry(&self, boat: BoatIx) -> Option<&TallyEntry> {
        self.lines.get(usize::from(boat.0)).map(|line| &line.entry)
    }

    /// Where a boat stands; ashore for a boat that is not in the fleet.
    pub fn standing(&self, boat: BoatIx) -> Standing {
        self.entry(boat).map_or(Standing::Ashore, |entry| entry.standing)
    }

    /// Whether a boat that counts as ashore has moved from where she lay: she may be going afloat.
    pub fn is_stirring(&self, boat: BoatIx) -> bool {
        self.lines.get(usize::from(boat.0)).is_some_and(|line| {
            line.entry.standing == Standing::Ashore
                && line.place.newest.is_some_and(|at| line.place.lay_distance_m(at) > STIRRING_M)
        })
    }

    /// A fix was believed. Leaving and landing are told; nobody is counted by it.
    pub fn on_fix(
        &mut self,
        now: Moment,
        boat: BoatIx,
        motion: &Motion,
        venue: &Venue,
    ) -> Option<TallyChange> {
        let line = self.lines.get_mut(usize::from(boat.0))?;
        let first = !line.entry.tracked;
        line.entry.tracked = true;
        let sign = line.place.look(motion, venue);
        let out_for_ms = line.place.out_since.map_or(0, |since| motion.at.ms_since(since));
        let standing = match (line.entry.standing, sign) {
            (Standing::Ashore | Standing::Landed | Standing::Returned, Sign::Out)
                if first || out_for_ms >= OUT_HOLD_MS =>
            {
                Standing::Afloat
            }
            (Standing::Afloat, Sign::Lying) => Standing::Landed,
            (
                Standing::Ashore | Standing::Landed | Standing::Returned | Standing::StoodDown,
                Sign::Out | Sign::Lying | Sign::Unclear,
            )
            | (Standing::Afloat, Sign::Out | Sign::Unclear) => return None,
        };
        Some(line.set(now, boat, standing, None))
    }

    /// Carries out what a person said of a boat or her crew; other commands change nothing.
    pub fn on_command(&mut self, now: Moment, by: &str, command: &Command) -> Option<TallyChange> {
        let (boat, mark) = match command {
            Command::Mark(boat, mark) => (*boat, *mark),
            Command::Aboard(boat, persons) => {
                let line = self.lines.get_mut(usize::from(boat.0))?;
                line.entry.persons = *persons;
                return Some(line.entry.told(now, *boat, Some(by.to_owned())));
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
        let line = self.lines.get_mut(usize::from(boat.0))?;
        let standing = match mark {
            HandMark::Ashore if line.been_afloat => Standing::Returned,
            HandMark::Ashore => Standing::Ashore,
            HandMark::Afloat => Standing::Afloat,
            HandMark::StoodDown => Standing::StoodDown,
            HandMark::Capsized | HandMark::PersonOverboard | HandMark::NeedsHelp | HandMark::Fine => {
                return None;
            }
        };
        line.place.heed_word();
        Some(line.set(now, boat, standing, Some(by.to_owned())))
    }
}

impl Line {
    fn set(&mut self, now: Moment, boat: BoatIx, standing: Standing, by: Option<String>) -> TallyChange {
        self.been_afloat |= standing == Standing::Afloat;
        self.entry.standing = standing;
        self.entry.since = Some(now);
        self.entry.by.clone_from(&by);
        self.entry.told(now, boat, by)
    }
}

impl TallyEntry {
    fn told(&self, now: Moment, boat: BoatIx, by: Option<String>) -> TallyChange {
        TallyChange { at: now, boat, standing: self.standing, persons: self.persons, by }
    }
}

impl Whereabouts {
    fn look(&mut self, motion: &Motion, venue: &Venue) -> Sign {
        let at = motion.position;
        self.newest = Some(at);
        let spot_m = (SPOT.0 * motion.position_sd_m).max(SPOT.1);
        let kept = self.spot.filter(|(spot, _)| spot.distance_m(at) <= spot_m);
        let (_, since) = *self.spot.insert(kept.unwrap_or((at, motion.at)));
        let on_land = venue.on_shore(at);
        let at_landing = on_land || venue.in_landing(at);
        if at_landing && (self.lay.is_none() || motion.at.ms_since(since) >= LANDED_HOLD_MS) {
            self.lay = Some(at);
        }
        let clear = !on_land && !venue.near_landing(at, OUT_M) && self.lay_distance_m(at) > OUT_M;
        let away = !on_land && motion.speed_mps() > UNDER_WAY_MPS && self.lay_distance_m(at) > AWAY_M;
        if clear || away {
            self.out_since.get_or_insert(motion.at);
            return Sign::Out;
        }
        self.out_since = None;
        if at_landing && motion.at.ms_since(since) >= LANDED_HOLD_MS { Sign::Lying } else { Sign::Unclear }
    }

    /// Distance from where she lay; infinite when she was never seen to lie.
    fn lay_distance_m(&self, at: Local) -> f64 {
        self.lay.map_or(f64::INFINITY, |lay| lay.distance_m(at))
    }

    /// A person said where she is: that holds until she has moved away from there.
    fn heed_word(&mut self) {
        self.lay = self.newest;
        self.spot = None;
        self.out_since = None;
    }
}
