//! A boat: what she is, what she is doing, and what is to be seen of her.

use std::collections::VecDeque;

use super::{
    STEP_S,
    air::{Air, Wind},
    course::Course,
    doing::Doing,
    habits::Habits,
    helm::Helm,
    hull::Hull,
    motion::Motion,
    over::Capsizing,
    phone::Phone,
    stops::{Custom, Stop, Stops},
};
use crate::{
    dice::{Dice, Wander},
    notes::Seen,
    plane::{Vec2, wrap_360},
    truth::Reason,
};

/// How long ago "before" is, steps.
const BEFORE: usize = 20;
/// Hardly any wind and way: becalmed; and this much, and she is not, m/s. Guesses.
const CALM_MPS: [f64; 2] = [1.5, 2.0];
const CALM_WAY_MPS: [f64; 2] = [0.35, 0.5];

/// What is around her.
#[derive(Clone, Copy, Debug)]
pub(super) struct Around {
    pub(super) t_s: f64,
    pub(super) wind: Wind,
    pub(super) stream: Vec2,
    /// The safety boat that has her in tow.
    pub(super) tow: Option<Vec2>,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: String,
    pub(super) hull: Hull,
    pub(super) helm: Helm,
    pub(super) stops: Stops,
    pub(super) capsizing: Capsizing,
    pub(super) motion: Motion,
    pub(super) side: f64,
    pub(super) course: Course,
    pub(super) doing: Doing,
    /// Another doing began with this step.
    pub(super) began: bool,
    is_becalmed: bool,
    pub(super) wanders: Wander,
    pub(super) neglects: Wander,
    patch: Wander,
    slants: Wander,
    /// A puff or a hole for her alone: until when, and share of the wind.
    pub(super) puff: (f64, f64),
    pub(super) wind: Wind,
    /// How far off downwind she drifts with her sails flapping.
    pub(super) flaps_deg: f64,
    before: VecDeque<f64>,
    pub(super) phone: Phone,
    pub(super) dice: Dice,
}

impl Boat {
    pub(super) fn draw(
        ix: usize,
        habits: &Habits,
        course: Course,
        around: &Around,
        air: &Air,
        phone: Phone,
        mut dice: Dice,
    ) -> Boat {
        let helm = habits.helm.another(&mut dice);
        let at = Vec2::along(dice.between(0.0, 360.0), dice.between(20.0, 180.0));
        let side = dice.sign();
        let motion = Motion {
            at,
            heading_deg: around.wind.from_deg - side * 80.0,
            way_mps: 0.5,
            drift: Vec2::default(),
        };
        Boat {
            id: format!("T{:02}", ix + 1),
            hull: habits.hull.sister(&mut dice),
            stops: habits.stops.clone(),
            capsizing: habits.capsizing.clone(),
            motion,
            side,
            course,
            doing: Doing::Sails { dawdles: 1.0 },
            began: false,
            is_becalmed: false,
            wanders: Wander::new(helm.wanders_deg, helm.wanders_s, &mut dice),
            neglects: Wander::new(helm.neglects, helm.neglects_s, &mut dice),
            patch: Wander::new(air.patch.0, air.patch.1, &mut dice),
            slants: Wander::new(air.slants_deg, air.patch.1, &mut dice),
            puff: (0.0, 0.0),
            wind: around.wind,
            flaps_deg: 0.0,
            before: VecDeque::new(),
            phone,
            helm,
            dice,
        }
    }

    pub(super) fn is_sailing(&self) -> bool {
        matches!(self.doing, Doing::Sails { .. })
    }

    pub(super) fn off_deg(&self) -> f64 {
        self.wind.off_deg(self.motion.heading_deg)
    }

    pub(super) fn does(&mut self, doing: Doing) {
        (self.doing, self.began) = (doing, true);
    }

    /// Stops in that way, and for how long.
    pub(super) fn stop(&mut self, custom: &Custom, t_s: f64) -> Stop {
        self.flaps_deg = self.dice.between(-1.0, 1.0) * self.hull.flaps_deg;
        Stop::begin(custom, self.side, t_s, &mut self.dice)
    }

    pub(super) fn step(&mut self, around: &Around) {
        let patch = self.patch.step(STEP_S, &mut self.dice);
        let puff = if around.t_s < self.puff.0 { self.puff.1 } else { 0.0 };
        let mut wind = around.wind.over(around.stream);
        wind.mps *= (1.0 + patch + puff).clamp(0.3, 2.0);
        wind.from_deg = wrap_360(wind.from_deg + self.slants.step(STEP_S, &mut self.dice));
        self.wind = wind;
        self.wanders.step(STEP_S, &mut self.dice);
        self.neglects.step(STEP_S, &mut self.dice);
        self.began = false;
        self.happens(around);
        let wish = self.wish(around);
        self.motion.follow(&wish, around.stream);
        if self.before.len() >= BEFORE {
            self.before.pop_front();
        }
        self.before.push_back(self.motion.through().length());
        let calm = usize::from(self.is_becalmed);
        self.is_becalmed =
            self.is_sailing() && self.wind.mps < CALM_MPS[calm] && self.motion.way_mps < CALM_WAY_MPS[calm];
    }

    pub(super) fn seen(&self) -> Seen<'_> {
        Seen {
            id: &self.id,
            reason: self.doing.reason().or(self.is_becalmed.then_some(Reason::Becalmed)),
            began: self.began && self.doing.reason().is_some(),
            over: self.doing.over(),
            before_mps: self.before.front().copied().unwrap_or_default(),
            off_deg: self.off_deg(),
            heading_deg: self.motion.heading_deg,
            way_mps: self.motion.way_mps,
        }
    }
}
