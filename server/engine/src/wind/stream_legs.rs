//! What one boat's track shows of the stream: stretches kept at one velocity over the ground.

use std::collections::VecDeque;

use super::stream::scaled;
use crate::{
    moment::Moment,
    units::{Bearing, Velocity},
};

/// A velocity kept over this long is a stretch, s: the helm's weaving averages out of it.
const STRETCH_S: f64 = 14.0;
/// Kept within this, as m/s and as a share of the speed (root mean square): a beginner weaves by ten
/// degrees and a puff adds a tenth.
const KEPT_MPS: f64 = 0.12;
const KEPT_SHARE: f64 = 0.2;
/// Stretches that differ by less than this belong to one leg, m/s and as a share of the speed.
const SAME_MPS: f64 = 0.2;
const SAME_SHARE: f64 = 0.15;
/// A leg counts anew after this long, s: by then she sails in another puff and bend of the wind.
pub const LEG_MAX_S: f64 = 90.0;
/// A silence after which nothing is joined, s.
const GAP_S: f64 = 12.0;
/// A leg of this length counts once, a shorter one for less, s.
const WHOLE_S: f64 = 30.0;
/// Legs kept of one boat: those of twenty minutes or more.
const LEGS_MAX: usize = 24;
/// Samples of a stretch that is being sailed.
const SAMPLES_MAX: usize = 32;

/// One moment of one boat.
#[derive(Clone, Copy, Debug)]
pub struct Seen {
    /// Over the ground.
    pub velocity: Velocity,
    /// Where the wind over the ground comes from, as measured at that time; `None`: not measured.
    pub from: Option<Bearing>,
}

/// A leg: what she did for some time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Mean velocity over the ground.
    pub velocity: Velocity,
    /// The measured wind of that time.
    pub from: Option<Bearing>,
    /// Its beginning.
    pub began: Moment,
    /// Its end.
    pub ended: Moment,
    /// Seconds of stretches in it.
    pub seconds: f64,
}

impl Leg {
    /// For how much it counts, 0..=1.
    pub fn weight(&self) -> f64 {
        (self.seconds / WHOLE_S).min(1.0)
    }
}

/// One boat's legs.
#[derive(Clone, Debug, Default)]
pub struct Legs {
    recent: VecDeque<(Moment, Velocity)>,
    legs: VecDeque<Leg>,
}

impl Legs {
    /// Takes in one moment.
    pub fn see(&mut self, now: Moment, seen: Seen) {
        match self.recent.back() {
            Some((last, _)) if now.ms_since(*last) < 450 => return,
            Some((last, _)) if now.s_since(*last) > GAP_S => self.recent.clear(),
            Some(_) | None => (),
        }
        self.recent.push_back((now, seen.velocity));
        if self.recent.len() > SAMPLES_MAX {
            self.recent.pop_front();
        }
        let Some(began) = self.recent.front().map(|(at, _)| *at) else { return };
        if now.s_since(began) < STRETCH_S {
            return;
        }
        match self.kept() {
            Some(velocity) => {
                let seconds = now.s_since(began);
                self.join(Leg { velocity, from: seen.from, began, ended: now, seconds });
                self.recent.clear();
            }
            // Try again with the later part.
            None => self.recent.drain(..self.recent.len().div_ceil(4)).for_each(drop),
        }
    }

    /// The mean velocity when it was kept.
    fn kept(&self) -> Option<Velocity> {
        if self.recent.len() < 3 {
            return None;
        }
        let share = 1.0 / self.recent.len() as f64;
        let sum = self.recent.iter().fold(Velocity::default(), |sum, (_, velocity)| sum.plus(*velocity));
        let mean = scaled(sum, share);
        let spread: f64 =
            self.recent.iter().map(|(_, velocity)| velocity.minus(mean).speed_mps().powi(2)).sum();
        let allowed_mps = KEPT_MPS + KEPT_SHARE * mean.speed_mps();
        ((spread * share).sqrt() <= allowed_mps).then_some(mean)
    }

    fn join(&mut self, stretch: Leg) {
        let same_mps = SAME_MPS + SAME_SHARE * stretch.velocity.speed_mps();
        match self.legs.back_mut() {
            Some(leg)
                if stretch.began.s_since(leg.ended) <= GAP_S
                    && stretch.ended.s_since(leg.began) <= LEG_MAX_S
                    && leg.velocity.minus(stretch.velocity).speed_mps() <= same_mps =>
            {
                let share = stretch.seconds / (leg.seconds + stretch.seconds);
                leg.velocity = leg.velocity.plus(scaled(stretch.velocity.minus(leg.velocity), share));
                leg.seconds += stretch.seconds;
                leg.ended = stretch.ended;
                leg.from = stretch.from.or(leg.from);
            }
            Some(_) | None => self.legs.push_back(stretch),
        }
        if self.legs.len() > LEGS_MAX {
            self.legs.pop_front();
        }
    }

    /// Drops legs older than this.
    pub fn forget(&mut self, now: Moment, old_s: f64) {
        while self.legs.front().is_some_and(|leg| now.s_since(leg.ended) > old_s) {
            self.legs.pop_front();
        }
    }

    /// The legs, oldest first.
    pub fn iter(&self) -> impl Iterator<Item = &Leg> {
        self.legs.iter()
    }
}
