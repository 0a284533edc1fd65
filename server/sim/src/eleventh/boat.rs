//! A dinghy: a point with a speed and a heading, and the state she is in.

use std::collections::VecDeque;

use super::{STEP_S, breeze::Wind, over::Over, phone::Phone, stop::Stop};
use crate::{
    dice::{Dice, Wander},
    notes::{Seen, SeenOver},
    plane::{Vec2, mps, wrap_360},
    truth::Reason,
};

/// What she is doing.
#[derive(Clone, Copy, Debug)]
pub(super) enum State {
    Sailing,
    /// Tacking or gybing to that angle off the wind, at so many degrees a second, clockwise above 0.
    Turning {
        to_off_deg: f64,
        dps: f64,
        is_tack: bool,
        sticks: bool,
    },
    Stopped(Stop),
    Capsized(Over),
    /// Upright, her crew climbs in and bails; some go over again.
    Recovering {
        until_s: f64,
        again_s: Option<f64>,
    },
    Towed {
        until_s: f64,
    },
}

/// What is around a boat at a moment.
#[derive(Clone, Copy, Debug)]
pub(super) struct Around<'a> {
    pub(super) t_s: f64,
    /// As she feels it: over the water.
    pub(super) wind: Wind,
    pub(super) stream: Vec2,
    pub(super) marks: &'a [Vec2],
    /// The end of the tow line, and how fast that goes.
    pub(super) tow: Option<(Vec2, Vec2)>,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: String,
    pub(super) crew: u32,
    pub(super) at: Vec2,
    pub(super) heading_deg: f64,
    pub(super) way_mps: f64,
    pub(super) drift: Vec2,
    pub(super) state: State,
    /// The state began with this step.
    pub(super) began: bool,
    pub(super) is_becalmed: bool,
    /// Angle off the wind, wind on the starboard side above 0.
    pub(super) off_deg: f64,
    pub(super) mark: usize,
    pub(super) turned_s: f64,
    /// She stays on one tack no longer than that, s.
    pub(super) patience_s: f64,
    /// More goes wrong with her than with others, 1 being the usual.
    pub(super) clumsy: f64,
    pub(super) closest_deg: f64,
    /// How long her way lasts: crew weight, and how hard they push the tiller. A guess.
    pub(super) carries_s: f64,
    pub(super) trimmed: f64,
    pub(super) trim: Wander,
    pub(super) helm: Wander,
    past_mps: VecDeque<f64>,
    pub(super) phone: Phone,
    pub(super) dice: Dice,
}

impl Boat {
    pub(super) fn draw(ix: usize, wind: Wind, phone: Phone, mut dice: Dice) -> Boat {
        let off_deg = dice.sign() * dice.between(60.0, 120.0);
        Boat {
            id: format!("gnat-{}", ix + 1),
            crew: 1 + dice.pick(3) as u32,
            at: Vec2::along(dice.between(0.0, 360.0), dice.between(20.0, 150.0)),
            heading_deg: wrap_360(wind.from_deg - off_deg),
            way_mps: mps(1.5),
            drift: Vec2::default(),
            state: State::Sailing,
            began: false,
            is_becalmed: false,
            off_deg,
            mark: 0,
            turned_s: 0.0,
            patience_s: dice.between(30.0, 120.0),
            clumsy: dice.log_normal(1.0, 0.45),
            closest_deg: dice.between(44.0, 56.0),
            carries_s: dice.between(3.0, 7.5),
            trimmed: dice.between(0.7, 0.95),
            trim: Wander::new(0.09, 25.0, &mut dice),
            helm: Wander::new(dice.between(3.0, 7.0), 6.0, &mut dice),
            past_mps: VecDeque::new(),
            phone,
            dice,
        }
    }

    pub(super) fn over_water(&self) -> Vec2 {
        Vec2::along(self.heading_deg, self.way_mps) + self.drift
    }

    /// She moves (`wish.rs`); then her state may change (`state.rs`).
    pub(super) fn step(&mut self, around: &Around) {
        self.began = false;
        self.helm.step(STEP_S, &mut self.dice);
        self.trim.step(STEP_S, &mut self.dice);
        let wish = self.wish(around);
        self.follow(&wish, around);
        let velocity = self.over_water() + around.stream;
        self.at += velocity * STEP_S;
        self.phone.carry(velocity, matches!(self.state, State::Capsized(_)), around.t_s);
        self.past_mps.push_back(self.way_mps);
        if self.past_mps.len() > (5.0 / STEP_S) as usize {
            self.past_mps.pop_front();
        }
        let calm_mps = if self.is_becalmed { 1.4 } else { 1.1 };
        self.is_becalmed = around.wind.mps < calm_mps;
        self.change(around);
    }

    /// For the truth.
    pub(super) fn seen(&self) -> Seen<'_> {
        let (reason, over) = match self.state {
            State::Capsized(over) => (Some(Reason::Capsized), Some(over)),
            State::Recovering { .. } => (Some(Reason::Recovering), None),
            State::Towed { .. } => (Some(Reason::Towed), None),
            State::Stopped(stop) if stop.kind.reason.is_some() => (stop.kind.reason, None),
            _ => (self.is_becalmed.then_some(Reason::Becalmed), None),
        };
        let seen_over =
            |over: Over| SeenOver { cause: over.cause, quick: over.quick, inverted: over.inverted };
        Seen {
            id: &self.id,
            reason,
            began: self.began && reason.is_some_and(|reason| reason != Reason::Becalmed),
            over: over.map(seen_over),
            before_mps: self.past_mps.front().copied().unwrap_or_default(),
            off_deg: self.off_deg,
            heading_deg: self.heading_deg,
            way_mps: self.way_mps,
        }
    }
}
