//! One dinghy: what she does, and what follows from it for her motion.

use std::collections::VecDeque;

use super::{
    STEP_S, crew::Crew, doing::Doing, hull::Hull, lesson::Course, over::Over, phone::Phone, wind::Breeze,
};
use crate::{
    dice::Dice,
    notes::{Seen, SeenOver},
    plane::{Vec2, fold_180, mps},
    truth::Reason,
};

/// Boats of the fleet: invented, like all here.
const NAMES: [&str; 14] = [
    "samphire", "thrift", "marram", "sorrel", "tansy", "yarrow", "bracken", "sedge", "teasel", "campion",
    "burdock", "mallow", "vetch", "clover",
];

/// A moment as a boat has it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Now {
    pub(super) t_s: f64,
    /// Over the water.
    pub(super) wind: Breeze,
    pub(super) off_deg: f64,
    pub(super) stream: Vec2,
    /// The safety boat that has her in tow.
    pub(super) tow: Option<Vec2>,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: &'static str,
    pub(super) launches_s: f64,
    pub(super) hull: Hull,
    pub(super) crew: Crew,
    pub(super) course: Course,
    pub(super) doing: Doing,
    pub(super) phone: Phone,
    pub(super) dice: Dice,
    pub(super) felt_mps: f64,
    pub(super) in_gust: bool,
    pub(super) in_lull: bool,
    pub(super) has_crossed: bool,
    /// 0 with the sheets let fly.
    pub(super) trim: f64,
    pub(super) turned_s: f64,
    pub(super) board_s: f64,
    becalmed: bool,
    began: bool,
    pub(super) off_deg: f64,
    past_mps: VecDeque<f64>,
}

impl Boat {
    pub(super) fn draw(
        ix: usize,
        beach: Vec2,
        course: Course,
        wind: Breeze,
        phone: Phone,
        mut dice: Dice,
    ) -> Boat {
        let crew = Crew::draw(&mut dice);
        let off_deg = 90.0 * dice.sign();
        let at = beach + Vec2::new(dice.normal(), dice.normal()) * 15.0;
        Boat {
            id: NAMES[ix % NAMES.len()],
            launches_s: dice.between(0.0, 110.0),
            hull: Hull::at(at, wind.from_deg - off_deg),
            crew,
            course,
            doing: Doing::Sails,
            phone,
            felt_mps: wind.mps,
            in_gust: false,
            in_lull: false,
            has_crossed: false,
            trim: 0.3,
            turned_s: 0.0,
            board_s: dice.between(25.0, 60.0),
            becalmed: false,
            began: false,
            off_deg,
            past_mps: VecDeque::new(),
            dice,
        }
    }

    pub(super) fn does(&mut self, doing: Doing) {
        self.began = true;
        self.has_crossed = false;
        self.doing = doing;
    }

    /// Something else is called: who waits or practises stopping makes ready within a while.
    pub(super) fn hears(&mut self, t_s: f64) {
        let on_purpose = [Reason::HoveTo, Reason::Waiting, Reason::DrillPickUp];
        if let Doing::Stops(stop) = &mut self.doing
            && on_purpose.contains(&stop.reason)
        {
            stop.until_s = stop.until_s.min(t_s + self.dice.between(3.0, 40.0));
        }
    }

    pub(super) fn side(&self) -> f64 {
        if self.off_deg < 0.0 { -1.0 } else { 1.0 }
    }

    pub(super) fn reason(&self) -> Option<Reason> {
        self.doing.reason().or(self.becalmed.then_some(Reason::Becalmed))
    }

    /// For the truth.
    pub(super) fn seen(&self) -> Seen<'_> {
        Seen {
            id: self.id,
            reason: self.reason(),
            began: self.began,
            over: self.doing.over().map(|over| SeenOver {
                cause: over.cause,
                quick: over.falls_s < 4.0,
                inverted: over.inverts(),
            }),
            before_mps: self.past_mps.front().copied().unwrap_or_default(),
            off_deg: self.off_deg,
            heading_deg: self.hull.heading_deg,
            way_mps: self.hull.way_mps,
        }
    }

    pub(super) fn step(&mut self, now: &mut Now) {
        self.began = false;
        self.crew.step(STEP_S, &mut self.dice);
        now.off_deg = fold_180(now.wind.from_deg - self.hull.heading_deg);
        if let Some(cause) = self.goes_over(now, STEP_S) {
            let over = Over::draw(cause, &self.crew, self.hull.way_mps, now.t_s, &mut self.dice);
            self.does(Doing::Over(over));
        }
        let push = self.push(now);
        self.hull.step(&push, now.stream, STEP_S);
        self.off_deg = fold_180(now.wind.from_deg - self.hull.heading_deg);
        self.past_mps.push_back(self.hull.way_mps);
        if self.past_mps.len() as f64 * STEP_S > 5.0 {
            self.past_mps.pop_front();
        }
        let (slow_mps, light_mps) = if self.becalmed { (0.6, mps(4.5)) } else { (0.4, mps(3.5)) };
        self.becalmed =
            matches!(self.doing, Doing::Sails) && self.hull.way_mps < slow_mps && now.wind.mps < light_mps;
    }
}
