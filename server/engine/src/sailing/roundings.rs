//! Marks rounded, and on which hand they were left.
//!
//! The bearing from the mark to the boat, unwrapped, sweeps anticlockwise when the mark is left to
//! port and clockwise when it is left to starboard (`exercises.md`). A boat that sails straight past
//! sweeps as well, so her own turn must agree. It is decided by the whole pass, when she has left the
//! mark behind: a boat that circles or tacks beside a mark has not rounded it yet.

use super::customs::Customs;
use crate::{
    effect::{Rounding, Side},
    fleet::BoatIx,
    moment::Moment,
    tracks::Motion,
    units::{Local, fold},
};

/// Within this distance of a mark she may be rounding it, metres: a beginner's wide turn and the
/// error of two positions (our choice).
const NEAR_M: f64 = 30.0;
/// She has left it when this far away, metres: farther than she came in by as much as a position
/// wanders meanwhile (our choice).
const LEFT_M: f64 = 33.0;
/// First heard again farther away than this, metres, which side she left it on is a guess: nothing was heard as she
/// went. A feed of 5 s and 3 m/s stay within it (our choice).
const HEARD_M: f64 = LEFT_M + 15.0;
/// She must have come this near, beside the error of her position, metres (our choice).
const CLOSE_M: f64 = 20.0;
/// With a sweep of this much her turn may go either way, degrees: she came to the mark on one
/// course, left it on another, and tacked in between.
const PLAIN_SWEEP_DEG: f64 = 120.0;
/// No straight course past a mark sweeps this much, degrees: whatever her turn, she went round it.
const ROUND_SWEEP_DEG: f64 = 185.0;
/// Straight past on the usual hand she must sweep this much, degrees: within some 20 m (our choice).
const PAST_SWEEP_DEG: f64 = 90.0;
/// Passed within so many standard deviations of her position, a mark may have been on her other side.
const UNSURE_SDS: f64 = 2.0;
/// The bearing must sweep at least this far, degrees (`exercises.md`, our choice).
const SWEEP_DEG: f64 = 60.0;
/// Her own course must turn the same way by at least this, degrees (our choice).
const TURN_DEG: f64 = 35.0;
/// Slower than this neither sweep nor turn means anything, m/s.
const SLOW_MPS: f64 = 0.4;

/// A mark on the plane.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkAt {
    /// As people call it.
    pub name: String,
    /// Where.
    pub at: Local,
}

#[derive(Clone, Copy, Debug)]
struct Pass {
    bearing_deg: f64,
    sweep_deg: f64,
    turn_deg: f64,
    course_deg: Option<f64>,
    nearest_m: f64,
    position_sd_m: f64,
}

/// One boat's roundings of every mark.
#[derive(Clone, Debug)]
pub struct Roundings {
    boat: BoatIx,
    passes: Vec<Option<Pass>>,
    /// The side on which she last left each mark.
    usual: Vec<Option<Side>>,
}

impl Roundings {
    /// Nothing seen yet.
    pub fn new(boat: BoatIx) -> Roundings {
        Roundings { boat, passes: Vec::new(), usual: Vec::new() }
    }

    /// Takes in her newest motion and says which marks she has just rounded.
    ///
    /// `marks` keep their order for a session; when their number changes all passes start anew. `customs` is what the
    /// whole fleet does there; a rounding that is plain without it is added.
    pub fn see(&mut self, motion: &Motion, marks: &[MarkAt], customs: &mut Customs) -> Vec<Rounding> {
        if self.passes.len() != marks.len() {
            self.passes = vec![None; marks.len()];
            self.usual = vec![None; marks.len()];
        }
        let mut rounded = Vec::new();
        for (ix, ((pass, usual), mark)) in self.passes.iter_mut().zip(&mut self.usual).zip(marks).enumerate()
        {
            let distance_m = mark.at.distance_m(motion.position);
            if distance_m > LEFT_M || (distance_m > NEAR_M && pass.is_none()) {
                let pass = pass.take().filter(|_| distance_m <= HEARD_M);
                let plain = pass.and_then(|pass| pass.plain_hand());
                if let Some(hand) = plain {
                    customs.add(ix, hand);
                }
                let likely = customs.hand(ix).or(*usual);
                if let Some(hand) = pass.and_then(|pass| pass.hand(likely)) {
                    *usual = Some(hand);
                    rounded.push(rounding(motion.at, self.boat, mark, hand));
                }
                continue;
            }
            let Some(bearing) = mark.at.bearing_to(motion.position) else {
                continue;
            };
            let now = pass.get_or_insert(Pass {
                bearing_deg: bearing.deg(),
                sweep_deg: 0.0,
                turn_deg: 0.0,
                course_deg: None,
                nearest_m: distance_m,
                position_sd_m: motion.position_sd_m,
            });
            now.follow(motion, bearing.deg(), distance_m);
        }
        rounded
    }
}

impl Pass {
    fn follow(&mut self, motion: &Motion, bearing_deg: f64, distance_m: f64) {
        if distance_m <= self.nearest_m {
            self.nearest_m = distance_m;
            self.position_sd_m = motion.position_sd_m;
        }
        self.sweep_deg += fold(bearing_deg - self.bearing_deg);
        self.bearing_deg = bearing_deg;
        if motion.speed_mps() < SLOW_MPS {
            return;
        }
        if let Some(course) = motion.course {
            if let Some(before) = self.course_deg {
                self.turn_deg += fold(course.deg() - before);
            }
            self.course_deg = Some(course.deg());
        }
    }

    /// The side the mark was left on, as far as the track alone shows; `None` when it was not rounded, or that is not
    /// clear.
    fn plain_hand(&self) -> Option<Side> {
        if self.is_far() || self.is_unsure() { None } else { self.swept_hand() }
    }

    /// The side the mark was left on, in sight of the one on which it is `usual`ly left, by her or by everybody.
    ///
    /// A mark passed closer than the position is known may seem to have been passed on its other side, and no track
    /// tells that from a boat that turned back beside it; and she may come to it on the one course and leave it on the
    /// same. An exercise is sailed one way round: where it is known, that decides both.
    fn hand(&self, usual: Option<Side>) -> Option<Side> {
        if self.is_far() {
            return None;
        }
        let swept = side(self.sweep_deg);
        let past_deg = if self.has_turned() { SWEEP_DEG } else { PAST_SWEEP_DEG };
        let passed = self.sweep_deg.abs() >= past_deg;
        let crossed = self.is_unsure() && self.has_turned() && swept != side(self.turn_deg);
        match usual {
            Some(usual) if passed && (crossed || usual == swept) => Some(usual),
            None if crossed => None,
            Some(_) | None => self.swept_hand(),
        }
    }

    /// By the sweep of the bearing, with which her own turn must agree unless it is wide.
    fn swept_hand(&self) -> Option<Side> {
        let swept = side(self.sweep_deg);
        let agree = swept == side(self.turn_deg);
        let swept_deg = match (agree, self.has_turned()) {
            (true, true) => SWEEP_DEG,
            (false, true) => PLAIN_SWEEP_DEG,
            (_, false) => ROUND_SWEEP_DEG,
        };
        (self.sweep_deg.abs() >= swept_deg).then_some(swept)
    }

    fn has_turned(&self) -> bool {
        self.turn_deg.abs() >= TURN_DEG
    }

    fn is_far(&self) -> bool {
        self.nearest_m > CLOSE_M + self.position_sd_m
    }

    fn is_unsure(&self) -> bool {
        self.nearest_m <= UNSURE_SDS * self.position_sd_m
    }
}

/// The side on which a mark lies whose bearing sweeps, or round which a boat turns, this way.
fn side(clockwise_deg: f64) -> Side {
    if clockwise_deg < 0.0 { Side::Port } else { Side::Starboard }
}

fn rounding(at: Moment, boat: BoatIx, mark: &MarkAt, hand: Side) -> Rounding {
    Rounding { at, boat, mark: mark.name.clone(), hand }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Bearing, Velocity};

    const SD_M: f64 = 2.0;

    /// What is told of a boat that sails north at 2 m/s past a mark, so far east of it.
    fn sails_past(east_m: f64, customs: &mut Customs) -> Vec<Side> {
        let marks = [MarkAt { name: "A".to_owned(), at: Local { east_m: 0.0, north_m: 0.0 } }];
        let mut roundings = Roundings::new(BoatIx(0));
        let told = (0..50).flat_map(|s| {
            let motion = Motion {
                at: Moment(s * 1000),
                position: Local { east_m, north_m: -50.0 + 2.0 * s as f64 },
                position_sd_m: SD_M,
                velocity: Velocity::towards(Bearing::NORTH, 2.0),
                velocity_sd_mps: 0.1,
                said: None,
                course: Some(Bearing::NORTH),
                heading: None,
                heading_sensed: false,
                turn_rate_dps: None,
                heel_deg: None,
            };
            roundings.see(&motion, &marks, customs)
        });
        told.map(|rounding| rounding.hand).collect()
    }

    #[test]
    fn straight_past_a_mark_counts_on_the_hand_that_the_fleet_leaves_it_on() {
        let mut customs = Customs::default();
        assert_eq!(sails_past(8.0, &mut customs), [], "nobody rounds it yet");
        for _ in 0..6 {
            customs.add(0, Side::Port);
        }
        // East of it and northward: the mark is on her port side.
        assert_eq!(sails_past(8.0, &mut customs), [Side::Port]);
        assert_eq!(sails_past(-8.0, &mut customs), [], "on the other hand it is no rounding");
        assert_eq!(sails_past(24.0, &mut customs), [], "too far off");
    }
}
