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

/// How long she has to be as far off the shore though still at the landing place, ms: crews stand beside their boats in the
/// shallows before they go (our choice).
const OFF_HOLD_MS: i64 = 30_000;

/// For how long she has to lie in one spot of a landing place off the shore before she has landed, s: at a jetty boats do;
/// in irons beginners lie for up to a minute or two (our choice).
const OFF_LIES_S: f64 = 180.0;

/// How slowly a boat may leave a spot and still be drifting, m/s: a swamped boat makes 1.65 % of the wind
/// (Allen and Fitzgerald 1997), 0.12 in 14 kn. She has to lie in one spot of a landing place for as long
/// as that drift takes to cross it before she has landed.
const DRIFT_MPS: f64 = 0.12;

/// The spot's radius: this many standard deviations of the position, and never less than this, metres.
const SPOT: (f64, f64) = (2.0, 5.0);

/// Of a gap between two fixes so much counts as lying there, s: a boat that was not heard for minutes and is found in the
/// same spot may have been anywhere, or on her side in the shallows.
const HEARD_S: f64 = 15.0;

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
    /// Clear of landing places and shore, under way and away from where she lay, or off the shore for long.
    Out,
    /// In one spot of a landing place.
    Lying,
    /// Neither.
    Unclear,
}

/// A spot a boat keeps to.
#[derive(Clone, Copy, Debug)]
struct Spot {
    at: Local,
    /// Her last fix there.
    last: Moment,
    /// For how long she has been heard there, s.
    heard_s: f64,
}

/// Where a boat lay and what she has done since.
#[derive(Clone, Copy, Debug, Default)]
struct Whereabouts {
    /// The spot she keeps to.
    spot: Option<Spot>,
    /// Where she last lay ashore or at a landing place, or was said to.
    lay: Option<Local>,
    out_since: Option<Moment>,
    stirring_since: Option<Moment>,
    /// Since when she is off the shore, away from where she lay; never where the site does not tell water from land.
    off_since: Option<Moment>,
    newest: Option<Local>,
}

/// One boat's line with what it follows from.
///
/// ```text
///   ashore, landed, returned --out for OUT_HOLD--> afloat
///   afloat --in one spot of a landing place for long enough--> landed  (a person counts: returned)
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
        self.stirring_since(boat).is_some()
    }

    /// Since when a boat that counts as ashore is away from where she lay; `None`: she is not.
    pub fn stirring_since(&self, boat: BoatIx) -> Option<Moment> {
        let line = self.lines.get(usize::from(boat.0))?;
        line.place.stirring_since.filter(|_| line.entry.standing == Standing::Ashore)
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
            | Command::PersonOverdue(..)
            | Command::PersonAccounted(..)
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
        let kept = self.spot.filter(|spot| spot.at.distance_m(at) <= spot_m);
        let mut spot = kept.unwrap_or(Spot { at, last: motion.at, heard_s: 0.0 });
        spot.heard_s += motion.at.s_since(spot.last).clamp(0.0, HEARD_S);
        spot.last = motion.at;
        self.spot = Some(spot);
        let on_land = venue.on_shore(at);
        let at_landing = venue.in_landing(at);
        // Where the site does not tell water from land, a landing place is taken for ashore.
        let off = venue.off_beach(at, OUT_M);
        let lies_s = (spot_m / DRIFT_MPS).max(if off { OFF_LIES_S } else { 0.0 });
        let lies = spot.heard_s >= lies_s;
        if (at_landing || on_land) && (self.lay.is_none() || lies) {
            self.lay = Some(at);
        }
        self.stirring_since =
            (self.lay_distance_m(at) > STIRRING_M).then(|| self.stirring_since.unwrap_or(motion.at));
        self.off_since =
            (off && self.lay_distance_m(at) > OUT_M).then(|| self.off_since.unwrap_or(motion.at));
        let long_off = self.off_since.is_some_and(|since| motion.at.ms_since(since) >= OFF_HOLD_MS);
        let clear = !on_land && !venue.near_landing(at, OUT_M) && self.lay_distance_m(at) > OUT_M;
        let away = !on_land && motion.speed_mps() > UNDER_WAY_MPS && self.lay_distance_m(at) > AWAY_M;
        if clear || away || long_off {
            self.out_since.get_or_insert(motion.at);
            return Sign::Out;
        }
        self.out_since = None;
        // Aground on a shore that is no landing place is not landed.
        if at_landing && lies { Sign::Lying } else { Sign::Unclear }
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
        self.stirring_since = None;
        self.off_since = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        fleet::{Class, Role},
        units::{Position, Velocity},
        venue::{Site, Zone, ZoneKind},
    };

    const BOAT: BoatIx = BoatIx(0);

    /// A metre is 1e-5 degrees here, both ways: only shapes matter.
    fn local(at: Position) -> Local {
        Local { east_m: at.lon_deg() * 1e5, north_m: at.lat_deg() * 1e5 }
    }

    /// A zone 60 m wide from south to north of the origin, metres.
    fn zone(kind: ZoneKind, south_m: f64, north_m: f64) -> Zone {
        let at = |(east_m, north_m): (f64, f64)| Position::new(north_m / 1e5, east_m / 1e5);
        let corners =
            [(-30.0, south_m), (30.0, south_m), (30.0, north_m), (-30.0, north_m), (-30.0, south_m)];
        let ring: Option<Vec<Position>> = corners.into_iter().map(at).collect();
        Zone { kind, name: String::new(), polygons: vec![vec![ring.expect("on the globe")]] }
    }

    /// A tally of one boat of three at a beach of 60 m by 40 m around the origin, its southern half land.
    struct Beach {
        tally: Tally,
        venue: Venue,
        now: Moment,
    }

    impl Beach {
        fn new() -> Beach {
            let boat = Boat {
                id: "07".to_owned(),
                name: None,
                role: Role::Dinghy,
                sources: vec!["phone".to_owned()],
                mmsi: None,
                crew: 3,
                class: Class::default(),
            };
            let zones = vec![zone(ZoneKind::Landing, -20.0, 20.0), zone(ZoneKind::Shore, -20.0, 0.0)];
            Beach {
                tally: Tally::new(&[boat]),
                venue: Venue::lay_out(&Site { zones, marks: Vec::new() }, local),
                now: Moment(0),
            }
        }

        /// Moves from one point north of the origin to another at a steady pace; gives what was told.
        fn go(&mut self, from_m: f64, to_m: f64, s: i64) -> Vec<Standing> {
            let north_mps = (to_m - from_m) / s as f64;
            let mut told = Vec::new();
            for second in 1..=s {
                self.now = self.now.plus_ms(1000);
                let motion = Motion {
                    at: self.now,
                    position: Local { east_m: 0.0, north_m: from_m + north_mps * second as f64 },
                    position_sd_m: 2.0,
                    velocity: Velocity { east_mps: 0.0, north_mps },
                    velocity_sd_mps: 0.1,
                    said: None,
                    course: None,
                    heading: None,
                    heading_sensed: false,
                    turn_rate_dps: None,
                    heel_deg: None,
                };
                let change = self.tally.on_fix(self.now, BOAT, &motion, &self.venue);
                told.extend(change.map(|change| change.standing));
            }
            told
        }

        fn mark(&mut self, mark: HandMark) -> Option<TallyChange> {
            self.tally.on_command(self.now, "Ada", &Command::Mark(BOAT, mark))
        }
    }

    #[test]
    fn a_day_out_and_back() {
        let mut beach = Beach::new();
        assert_eq!(beach.go(-10.0, -10.0, 600), [], "lying ashore");
        assert_eq!(beach.go(-10.0, 60.0, 60), [Standing::Afloat]);
        assert_eq!(beach.go(60.0, 5.0, 60), [], "a boat that comes in is not back yet");
        assert_eq!(beach.go(5.0, 5.0, 60), [Standing::Landed]);
        let counted = beach.mark(HandMark::Ashore).expect("told");
        assert_eq!((counted.standing, counted.persons), (Standing::Returned, 3));
        assert_eq!(counted.by.as_deref(), Some("Ada"));
        assert_eq!(beach.go(5.0, 5.0, 600), []);
        assert_eq!(beach.go(5.0, 60.0, 60), [Standing::Afloat], "out again");
    }

    #[test]
    fn first_seen_out_is_afloat_at_once() {
        let mut beach = Beach::new();
        assert_eq!(beach.go(300.0, 300.0, 1), [Standing::Afloat]);
    }

    #[test]
    fn drifting_through_a_landing_place_is_no_landing() {
        let mut beach = Beach::new();
        beach.go(100.0, 90.0, 10);
        assert_eq!(beach.go(18.0, 2.0, 80), [], "0.2 m/s is a capsized boat's way");
    }

    #[test]
    fn a_boat_that_was_not_heard_has_not_lain_there() {
        let mut beach = Beach::new();
        beach.go(100.0, 8.0, 60);
        beach.now = beach.now.plus_ms(180_000);
        assert_eq!(beach.go(8.0, 8.0, 20), [], "found where she fell silent");
        assert_eq!(beach.go(8.0, 8.0, 30), [Standing::Landed]);
    }

    #[test]
    fn a_persons_word_holds_until_she_moves_away() {
        let mut beach = Beach::new();
        beach.go(300.0, 300.0, 10);
        // Her phone lies in the boat park that the site file does not know.
        assert_eq!(beach.mark(HandMark::Ashore).map(|change| change.standing), Some(Standing::Returned));
        assert_eq!(beach.go(300.0, 303.0, 600), []);
        assert_eq!(beach.go(303.0, 350.0, 60), [Standing::Afloat]);
        beach.mark(HandMark::StoodDown);
        assert_eq!(beach.go(350.0, 500.0, 100), [], "out of use until a person says otherwise");
    }

    #[test]
    fn ashore_without_having_been_out_is_not_returned() {
        let mut beach = Beach::new();
        beach.mark(HandMark::Ashore);
        assert_eq!(beach.mark(HandMark::Ashore).map(|change| change.standing), Some(Standing::Ashore));
    }

    #[test]
    fn a_swap_changes_heads_and_nothing_else() {
        let mut beach = Beach::new();
        beach.go(300.0, 300.0, 1);
        let swap = beach.tally.on_command(beach.now, "Ada", &Command::Aboard(BOAT, 2)).expect("told");
        assert_eq!((swap.standing, swap.persons), (Standing::Afloat, 2));
        assert_eq!(beach.tally.entry(BOAT).map(|entry| entry.persons), Some(2));
    }

    #[test]
    fn a_boat_nobody_heard_is_in_the_count_and_not_tracked() {
        let beach = Beach::new();
        let entry = beach.tally.entry(BOAT).expect("in the fleet");
        assert_eq!((entry.persons, entry.tracked, entry.since), (3, false, None));
        assert_eq!(beach.tally.entry(BoatIx(9)), None);
    }

    #[test]
    fn a_boat_that_moves_off_ashore_is_stirring() {
        let mut beach = Beach::new();
        beach.go(-10.0, -10.0, 60);
        assert!(!beach.tally.is_stirring(BOAT));
        beach.go(-10.0, 10.0, 40);
        assert!(beach.tally.is_stirring(BOAT));
    }

    #[test]
    fn who_lies_in_irons_off_the_beach_is_out() {
        let mut beach = Beach::new();
        beach.go(-10.0, -10.0, 60);
        assert_eq!(beach.go(-10.0, 14.0, 60), [], "drawn into the water");
        assert_eq!(beach.go(14.0, 14.0, 60), [Standing::Afloat]);
        assert_eq!(beach.go(14.0, 14.0, 90), [], "and there she has not landed yet");
    }

    #[test]
    fn at_a_jetty_a_boat_lands_in_the_water() {
        let mut beach = Beach::new();
        beach.go(100.0, 90.0, 10);
        assert_eq!(beach.go(90.0, 14.0, 60), []);
        assert_eq!(beach.go(14.0, 14.0, 300), [Standing::Landed]);
    }

    #[test]
    fn where_no_shore_is_known_a_landing_place_is_ashore() {
        // None at all, the other bank's, or but a line in front of it.
        let others = [None, Some(zone(ZoneKind::Shore, 200.0, 300.0)), Some(zone(ZoneKind::Shore, 0.0, 0.0))];
        for other in others {
            let mut beach = Beach::new();
            let zones = [zone(ZoneKind::Landing, -20.0, 20.0)].into_iter().chain(other).collect();
            beach.venue = Venue::lay_out(&Site { zones, marks: Vec::new() }, local);
            beach.go(-10.0, -10.0, 60);
            assert_eq!(beach.go(-10.0, 14.0, 60), []);
            assert_eq!(beach.go(14.0, 14.0, 300), []);
        }
    }
}
