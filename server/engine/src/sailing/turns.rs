//! Tacks and gybes as they complete.
//!
//! A boat is settled on one side of the wind until she is settled on the other. What lies between
//! is a tack when the bow went through the wind, a gybe when the stern did: the heading unwrapped
//! from one board to the other crosses the wind's direction, or its opposite. Both boards are
//! counted from the wind as it is believed *now*, so that a better idea of the wind never makes a
//! manoeuvre by itself.

use std::collections::VecDeque;

use super::bow::Pointing;
use crate::{
    effect::{Manoeuvre, Turn},
    fleet::BoatIx,
    moment::Moment,
    units::fold,
    wind::WaterWind,
};

/// A tack is complete with the wind at least this far on the new side, degrees (`exercises.md`).
const TACKED_DEG: f64 = 20.0;
/// A gybe is complete with the stern at least this far past the wind, degrees. Beginners on a run
/// weave across the wind by ten degrees with the boom where it was (sailing by the lee).
const GYBED_DEG: f64 = 9.0;
/// Sailing by the lee: this close to the wind on the new side a gybe in progress is not given up.
const LEE_DEG: f64 = 2.0;
/// A gybe is a turn of at least this within seconds, degrees: a helm wanders, but more slowly.
const GYBE_TURN_DEG: f64 = 24.0;
/// The turn must be kept this long, s.
const GYBE_HOLD_S: f64 = 2.0;
/// Fixes further apart than this show a swing through the wind once only, s.
const SPARSE_S: f64 = 3.0;
/// Such a swing is a gybe when it went this far past the wind, degrees: no helm that wanders does.
const SPARSE_GYBE_DEG: f64 = 18.0;
/// The new side must be kept this long, s.
const HOLD_S: f64 = 3.0;
/// While she still swings it is not told, but no longer than this, s: the whole turn is worth more
/// than a second.
const SWING_S: f64 = 9.0;
/// A change of side without a turn of at least this is the helm's wandering or the wind's, degrees.
const TURN_MIN_DEG: f64 = 20.0;
/// Unless the new side is kept this long, s.
const WANDER_S: f64 = 25.0;
/// She has settled on the old side again when this far into it, degrees.
const BACK_DEG: f64 = 12.0;
/// A board not seen for longer than this is no start of a manoeuvre, s.
const BOARD_OLD_S: f64 = 90.0;
/// A boat that lay without way for longer than this between two boards made no manoeuvre, s.
const STALLED_S: f64 = 12.0;
/// She must be taken not to sail for longer than this, s: a slow tack may look like a capsize for a
/// moment.
const IDLE_S: f64 = 12.0;
/// While no wind is known, moments this far apart are kept, ms, ...
const KEPT_EVERY_MS: i64 = 900;
/// ... no more than so many; the oldest goes first. Fleets without an instrument know the wind within
/// some ten minutes (tuning seeds), and this is a quarter of an hour.
const KEPT_MAX: usize = 1_000;
/// How far back the speed before a manoeuvre is looked for, ms.
const PAST_MS: i64 = 40_000;
/// Samples of it kept: one a half second over that time.
const PAST_MAX: usize = 80;

/// A heading kept within this over [`STRAIGHT_S`] is one held, not turned through, degrees.
const STRAIGHT_DEG: f64 = 8.0;
/// How long it must be kept, s.
const STRAIGHT_S: f64 = 4.0;

#[derive(Clone, Copy, Debug)]
struct Board {
    heading_deg: f64,
    seen: Moment,
}

#[derive(Clone, Copy, Debug)]
struct Past {
    at: Moment,
    speed_mps: f64,
    heading_deg: f64,
}

#[derive(Clone, Copy, Debug)]
struct Candidate {
    since: Moment,
    samples: u32,
    before: i64,
    after: i64,
    /// Kept long enough: it will be told, at the latest when she leaves that side again.
    ripe: bool,
}

/// A moment of which nothing could be said, for want of a wind.
#[derive(Clone, Copy, Debug)]
struct Kept {
    at: Moment,
    bow: Pointing,
    under_sail: bool,
}

/// One boat's manoeuvres.
#[derive(Clone, Debug)]
pub struct Turns {
    boat: BoatIx,
    kept: VecDeque<Kept>,
    board: Option<Board>,
    candidate: Option<Candidate>,
    sailed: Option<Moment>,
    past: VecDeque<Past>,
    went_through: bool,
    failed_tacks: u32,
    stalled: u32,
}

impl Turns {
    /// Nothing seen yet.
    pub fn new(boat: BoatIx) -> Turns {
        Turns {
            boat,
            kept: VecDeque::new(),
            board: None,
            candidate: None,
            sailed: None,
            past: VecDeque::new(),
            went_through: false,
            failed_tacks: 0,
            stalled: 0,
        }
    }

    /// Tries to tack that ended on the old side.
    pub fn failed_tacks(&self) -> u32 {
        self.failed_tacks
    }

    /// Takes in one moment and says what it completed; once a wind is known, first what was completed
    /// while it was not.
    pub fn see(
        &mut self,
        at: Moment,
        bow: &Pointing,
        wind: Option<&WaterWind>,
        under_sail: bool,
    ) -> Vec<Manoeuvre> {
        let Some(wind) = wind else {
            self.keep(Kept { at, bow: *bow, under_sail });
            return Vec::new();
        };
        let mut told = Vec::new();
        for kept in std::mem::take(&mut self.kept) {
            told.extend(self.judge(kept.at, &kept.bow, wind, kept.under_sail));
        }
        told.extend(self.judge(at, bow, wind, under_sail));
        told
    }

    fn keep(&mut self, moment: Kept) {
        if self.kept.back().is_some_and(|last| moment.at.ms_since(last.at) < KEPT_EVERY_MS) {
            return;
        }
        if self.kept.len() == KEPT_MAX {
            self.kept.pop_front();
        }
        self.kept.push_back(moment);
    }

    fn judge(&mut self, at: Moment, bow: &Pointing, wind: &WaterWind, under_sail: bool) -> Vec<Manoeuvre> {
        self.note(at, bow);
        if under_sail {
            self.sailed = Some(at);
        } else if self.sailed.is_none_or(|sailed| at.s_since(sailed) > IDLE_S) {
            self.board = None;
            self.candidate = None;
            return Vec::new();
        }
        if bow.heading.is_none() {
            return self.tell_if_ripe(at);
        }
        let heading_deg = bow.unwrapped_deg;
        // Straight into the wind on the branch nearest to the board she came from.
        let Some(board) = self.board.filter(|board| at.s_since(board.seen) <= BOARD_OLD_S) else {
            self.candidate = None;
            self.settle_first(at, heading_deg, wind);
            return Vec::new();
        };
        let start_angle = fold(wind.from.deg() - board.heading_deg);
        let angle = start_angle - (heading_deg - board.heading_deg);
        let (before, after) = (sector(start_angle), sector(angle));
        if bow.unseen_s > STALLED_S && before != after {
            // She lay without way and fell off to one side or the other: no manoeuvre was sailed.
            self.stalled += 1;
            self.candidate = None;
            self.board = Some(Board { heading_deg, seen: at });
            return Vec::new();
        }
        // Near the wind or dead before it she keeps the side she came from, for as long as it takes.
        self.board = Some(Board { seen: at, ..board });
        if before == after {
            let told = self.tell_if_ripe(at);
            if told.is_empty() {
                self.same_side(at, heading_deg, angle);
            }
            return told;
        }
        if self.candidate.is_some_and(|candidate| candidate.after != after) {
            let told = self.tell_if_ripe(at);
            if !told.is_empty() {
                return told;
            }
        }
        self.went_through |= crosses_head(before, after);
        let crossed = last_crossed(before, after);
        let depth_deg = (angle - crossed.angle_deg).abs();
        let won_deg = match crossed.turn {
            Turn::Tack => TACKED_DEG,
            Turn::Gybe => GYBED_DEG,
        };
        if depth_deg >= won_deg && bow.way {
            self.new_side(at, heading_deg, (before, after), depth_deg)
        } else {
            // A stern just through the wind wavers about it; a bow that does has not tacked.
            if crossed.turn == Turn::Tack || depth_deg < LEE_DEG {
                return self.tell_if_ripe(at);
            }
            Vec::new()
        }
    }

    fn note(&mut self, at: Moment, bow: &Pointing) {
        if self.past.back().is_none_or(|last| at.ms_since(last.at) >= 450) {
            self.past.push_back(Past { at, speed_mps: bow.speed_mps, heading_deg: bow.unwrapped_deg });
        }
        while self.past.len() > PAST_MAX
            || self.past.front().is_some_and(|first| at.ms_since(first.at) > PAST_MS)
        {
            self.past.pop_front();
        }
    }

    fn settle_first(&mut self, at: Moment, heading_deg: f64, wind: &WaterWind) {
        if clear_of_wind(fold(wind.from.deg() - heading_deg)) {
            self.board = Some(Board { heading_deg, seen: at });
        }
    }

    fn same_side(&mut self, at: Moment, heading_deg: f64, angle: f64) {
        self.candidate = None;
        let off_wind = fold(angle).abs();
        if (BACK_DEG..=180.0 - BACK_DEG).contains(&off_wind) {
            if self.went_through {
                self.went_through = false;
                self.failed_tacks += 1;
            }
            self.board = Some(Board { heading_deg, seen: at });
        }
    }

    fn new_side(
        &mut self,
        at: Moment,
        heading_deg: f64,
        (before, after): (i64, i64),
        depth_deg: f64,
    ) -> Vec<Manoeuvre> {
        let fresh = Candidate { since: at, samples: 0, before, after, ripe: false };
        let mut candidate = self.candidate.unwrap_or(fresh);
        candidate.samples += 1;
        candidate.after = after;
        let kept_s = at.s_since(candidate.since);
        let turned = (heading_deg - self.heading_before(candidate.since)).abs() >= TURN_MIN_DEG;
        let kept = match last_crossed(before, after).turn {
            Turn::Tack => kept_s >= HOLD_S,
            Turn::Gybe => self.gybed(at, candidate.since),
        };
        candidate.ripe |= candidate.samples >= 2 && kept && (turned || kept_s >= WANDER_S);
        candidate.ripe |= last_crossed(before, after).turn == Turn::Gybe
            && depth_deg >= SPARSE_GYBE_DEG
            && self.swung_between_fixes(at, heading_deg);
        self.candidate = Some(candidate);
        let turning = kept_s < SWING_S && self.swung_deg(at, heading_deg) > STRAIGHT_DEG;
        if turning { Vec::new() } else { self.complete(at) }
    }

    /// She leaves the new side: what was sailed there is told if it was kept long enough.
    fn tell_if_ripe(&mut self, at: Moment) -> Vec<Manoeuvre> {
        let told = self.complete(at);
        self.candidate = None;
        told
    }

    /// Tells the manoeuvre in progress, if it was kept long enough.
    fn complete(&mut self, at: Moment) -> Vec<Manoeuvre> {
        let (Some(candidate), Some(now)) =
            (self.candidate.filter(|candidate| candidate.ripe), self.past.back().copied())
        else {
            return Vec::new();
        };
        self.candidate = None;
        self.went_through = false;
        let turn_deg = now.heading_deg - self.heading_before(candidate.since);
        // Where she was on the new side, whatever she has turned to since.
        let heading_deg = self.mean_heading(at, 1.0, 3.0).unwrap_or(now.heading_deg);
        self.board = Some(Board { heading_deg, seen: at });
        crossings(candidate.before, candidate.after)
            .map(|turn| Manoeuvre {
                at: candidate.since,
                boat: self.boat,
                turn,
                turn_deg,
                before_mps: self.speed_before(candidate.since),
                after_mps: now.speed_mps,
            })
            .collect()
    }

    /// Whether a stern that went through the wind at about `since` was gybed and did not wander:
    /// she turned at once, or she went well past the wind, or she stays there.
    fn gybed(&self, at: Moment, since: Moment) -> bool {
        let kept_s = at.s_since(since);
        let Some(now_deg) = self.mean_heading(at, 0.0, 2.6) else {
            return false;
        };
        let turned = self
            .mean_heading(since, 2.4, 8.0)
            .is_some_and(|before_deg| (now_deg - before_deg).abs() >= GYBE_TURN_DEG);
        (kept_s >= GYBE_HOLD_S && turned) || kept_s >= WANDER_S
    }

    /// Whether the fixes come far apart, and she turned far between the last two.
    fn swung_between_fixes(&self, at: Moment, heading_deg: f64) -> bool {
        let before = self.past.iter().rev().find(|past| past.at < at);
        before.is_some_and(|before| {
            let gap_s = at.s_since(before.at);
            (SPARSE_S..=2.5 * SPARSE_S).contains(&gap_s)
                && (heading_deg - before.heading_deg).abs() >= GYBE_TURN_DEG
        })
    }

    /// Mean of the headings between `from_s` and `to_s` before a moment; `None` when none is known.
    fn mean_heading(&self, at: Moment, from_s: f64, to_s: f64) -> Option<f64> {
        let within = self
            .past
            .iter()
            .rev()
            .skip_while(|past| at.s_since(past.at) < from_s)
            .take_while(|past| at.s_since(past.at) <= to_s);
        let (sum, count) =
            within.fold((0.0, 0.0), |(sum, count), past| (sum + past.heading_deg, count + 1.0));
        (count > 0.0).then(|| sum / count)
    }

    /// The speed she had before: the best of the time from 20 to 6 s before the new side was won.
    fn speed_before(&self, won: Moment) -> f64 {
        self.past
            .iter()
            .filter(|past| (6.0..=20.0).contains(&won.s_since(past.at)))
            .map(|past| past.speed_mps)
            .fold(0.0, f64::max)
    }

    /// How far her heading moved over the last two seconds or so.
    fn swung_deg(&self, at: Moment, heading_deg: f64) -> f64 {
        self.past
            .iter()
            .rev()
            .find(|past| at.s_since(past.at) >= 2.0)
            .map_or(0.0, |past| (heading_deg - past.heading_deg).abs())
    }

    /// The heading she held before she began to turn, unwrapped: going back from the moment the
    /// new side was won, the first that was kept for [`STRAIGHT_S`].
    fn heading_before(&self, won: Moment) -> f64 {
        let mut kept: Option<Past> = None;
        let mut oldest = self.board.map_or(0.0, |board| board.heading_deg);
        for past in self.past.iter().rev().filter(|past| past.at < won) {
            oldest = past.heading_deg;
            match kept {
                Some(since) if (since.heading_deg - past.heading_deg).abs() <= STRAIGHT_DEG => {
                    if since.at.s_since(past.at) >= STRAIGHT_S {
                        return (since.heading_deg + past.heading_deg) / 2.0;
                    }
                }
                Some(_) | None => kept = Some(*past),
            }
        }
        oldest
    }
}

/// Which half turn about the wind an unwrapped angle lies in: even with the wind to starboard.
fn sector(angle_deg: f64) -> i64 {
    (angle_deg / 180.0).floor() as i64
}

/// What was crossed last on the way from one sector to another, and at which unwrapped angle.
struct Crossed {
    turn: Turn,
    angle_deg: f64,
}

fn last_crossed(before: i64, after: i64) -> Crossed {
    let half = if after > before { after } else { after + 1 };
    let turn = if half % 2 == 0 { Turn::Tack } else { Turn::Gybe };
    Crossed { turn, angle_deg: half as f64 * 180.0 }
}

/// Far enough from head to wind, and from dead before it, to be settled on a side.
fn clear_of_wind(angle_deg: f64) -> bool {
    (TACKED_DEG..=180.0 - GYBED_DEG).contains(&fold(angle_deg).abs())
}

fn crosses_head(before: i64, after: i64) -> bool {
    crossings(before, after).any(|turn| turn == Turn::Tack)
}

/// What was crossed between two sectors: a tack at each multiple of 360 degrees, else a gybe.
fn crossings(before: i64, after: i64) -> impl Iterator<Item = Turn> {
    (before.min(after) + 1..=before.max(after)).map(
        |half| {
            if half % 2 == 0 { Turn::Tack } else { Turn::Gybe }
        },
    )
}
