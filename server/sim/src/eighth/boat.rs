//! One dinghy: what she does next, and how she moves while she does it.

use std::collections::VecDeque;

use super::{
    STEP_S,
    course::Course,
    deed::{Doing, Turn},
    happen::{Crew, Event},
    helm::{self, Wish},
    over::Over,
    phone::Phone,
    stop::{self, Kind, Stop},
    wind::{Local, Venue, Wind},
};
use crate::{
    dice::{Dice, Wander},
    notes::Seen,
    plane::Vec2,
    truth::Reason,
};

/// A mark counts as reached this close, m; the dummy closer. Guesses.
const AT_MARK_M: f64 = 15.0;
const AT_DUMMY_M: f64 = 7.0;
/// With less wind than that a boat that hardly moves is becalmed, m/s: a guess.
const CALM_MPS: f64 = 1.2;
/// Capsizes in irons, an hour of lying in them, and the chance to go over again when just righted. Guesses.
const IRONS_UPSET_PER_H: f64 = 2.0;
const AGAIN: f64 = 0.11;
/// How long ago "before" is, in steps.
const BEFORE_STEPS: usize = 20;

/// What a boat meets in a step.
pub(super) struct Around<'a> {
    pub(super) t_s: f64,
    pub(super) venue: &'a Venue,
    pub(super) stream: Vec2,
    /// The boat to follow, if that is the exercise and she sails.
    pub(super) ahead: Option<Vec2>,
    /// The boat that tows her.
    pub(super) tow: Option<Vec2>,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: String,
    pub(super) at: Vec2,
    pub(super) heading_deg: f64,
    /// Way ahead, and drift through the water.
    pub(super) way_mps: f64,
    pub(super) slide: Vec2,
    pub(super) doing: Doing,
    began: bool,
    pub(super) crew: Crew,
    pub(super) course: Course,
    pub(super) wind: Wind,
    local: Local,
    pub(super) sway: Wander,
    pub(super) pace: Wander,
    pub(super) waves: [Wander; 2],
    /// When they may tack again on a beat.
    board_until_s: f64,
    /// Wants a safety boat alongside.
    pub(super) calls: bool,
    /// Was righted last with a safety boat's help.
    pub(super) was_helped: bool,
    before: VecDeque<f64>,
    pub(super) phone: Phone,
    pub(super) dice: Dice,
}

impl Boat {
    pub(super) fn draw(ix: usize, course: Course, wind: Wind, phone: Phone, mut dice: Dice) -> Boat {
        let off_deg = dice.sign() * dice.between(60.0, 120.0);
        Boat {
            id: format!("K{:02}", ix + 1),
            at: course.mark() + Vec2::along(dice.between(0.0, 360.0), dice.between(30.0, 100.0)),
            heading_deg: wind.from_deg - off_deg,
            way_mps: 1.0,
            slide: Vec2::default(),
            doing: Doing::Sails,
            began: false,
            crew: Crew::draw(&mut dice),
            course,
            wind,
            local: Local::new(&mut dice),
            sway: Wander::new(1.0, 6.0, &mut dice),
            pace: Wander::new(1.0, 15.0, &mut dice),
            waves: [0; 2].map(|_| Wander::new(1.0, 2.0, &mut dice)),
            board_until_s: 0.0,
            calls: false,
            was_helped: false,
            before: VecDeque::new(),
            phone,
            dice,
        }
    }

    pub(super) fn off_deg(&self) -> f64 {
        self.wind.off_deg(self.heading_deg)
    }

    fn side(&self) -> f64 {
        if self.off_deg() < 0.0 { -1.0 } else { 1.0 }
    }

    pub(super) fn is_sailing(&self) -> bool {
        matches!(self.doing, Doing::Sails | Doing::Turns(_))
    }

    fn does(&mut self, doing: Doing) {
        (self.doing, self.began) = (doing, true);
    }

    pub(super) fn stops(&mut self, kind: &Kind, t_s: f64) {
        let stop = Stop::draw(kind, t_s, self.side(), &mut self.dice);
        self.does(Doing::Stops(stop));
    }

    fn goes_over(&mut self, cause: &'static str, t_s: f64) {
        let over = Over::draw(cause, t_s, self.crew.clumsy, &mut self.dice);
        self.does(Doing::IsOver(over));
    }

    pub(super) fn is_taken_in_tow(&mut self) {
        self.does(Doing::Towed);
    }

    pub(super) fn is_let_go(&mut self) {
        self.does(Doing::Sails);
    }

    pub(super) fn step(&mut self, around: &Around) {
        self.began = false;
        self.before.push_back(self.way_mps.hypot(self.slide.length()));
        if self.before.len() > BEFORE_STEPS {
            self.before.pop_front();
        }
        let gust = self.local.step(around.t_s, STEP_S, around.venue.gusty, &mut self.dice);
        self.wind = self.local.of(around.venue.now(), around.t_s).over(around.stream);
        match self.doing.clone() {
            Doing::Sails => self.sails_on(gust, around),
            Doing::Turns(turn) => self.turns_on(turn, around.t_s),
            Doing::Stops(stop) => {
                let irons = stop.reason == Some(Reason::InIrons);
                if irons && self.dice.happens(IRONS_UPSET_PER_H * self.crew.clumsy, STEP_S) {
                    self.goes_over("irons", around.t_s);
                } else if around.t_s >= stop.until_s {
                    self.does(Doing::Sails);
                }
            }
            Doing::IsOver(over) if over.until_s.is_some_and(|until_s| around.t_s >= until_s) => {
                self.was_helped = over.is_helped;
                self.does(Doing::Bails { until_s: around.t_s + over.bails_s });
            }
            Doing::Bails { until_s } if around.t_s >= until_s => {
                if self.dice.chance(AGAIN * self.crew.clumsy) {
                    self.goes_over("to-windward", around.t_s);
                } else {
                    self.does(Doing::Sails);
                }
            }
            Doing::IsOver(_) | Doing::Bails { .. } | Doing::Towed => (),
        }
        self.moves(around);
    }

    fn sails_on(&mut self, gust: Option<f64>, around: &Around) {
        match self.crew.befalls(gust, self.wind.mps, STEP_S, &mut self.dice) {
            Some(Event::Stops(kind)) => return self.stops(kind, around.t_s),
            Some(Event::Calls) => self.calls = true,
            Some(Event::GoesOver(cause)) => return self.goes_over(cause, around.t_s),
            None => (),
        }
        let to_mark = self.course.mark() - self.at;
        if self.course.is_to_the_dummy() && to_mark.length() < AT_DUMMY_M {
            self.course.rounded();
            return self.stops(&stop::PICK_UP, around.t_s);
        }
        if to_mark.length() < AT_MARK_M && !self.course.is_to_the_dummy() {
            self.course.rounded();
        }
        if let Wish::Tack(to_deg) | Wish::Gybe(to_deg) = self.wish(around) {
            let is_tack = matches!(self.wish(around), Wish::Tack(_));
            let to_deg = to_deg.clamp(self.crew.close_deg, 165.0);
            let mut turn = Turn::draw(is_tack, self.side(), to_deg, around.t_s, &mut self.dice);
            turn.stuck = is_tack && self.crew.gets_stuck(&mut self.dice);
            turn.upsets = if is_tack {
                self.crew.upsets_in_a_tack(self.wind.mps, &mut self.dice)
            } else {
                self.crew.upsets_in_a_gybe(self.wind.mps, &mut self.dice)
            };
            self.does(Doing::Turns(turn));
        }
    }

    fn turns_on(&mut self, turn: Turn, t_s: f64) {
        let off_deg = self.off_deg();
        if turn.stuck && off_deg.abs() < 10.0 {
            self.stops(&stop::IRONS, t_s);
        } else if turn.upsets && turn.is_across(off_deg) {
            self.goes_over(if turn.is_tack { "tack" } else { "gybe" }, t_s);
        } else if turn.is_done(off_deg, t_s) {
            self.board_until_s = t_s + self.dice.log_normal(40.0, 0.4);
            self.does(Doing::Sails);
        }
    }

    /// Where the helm wants her.
    pub(super) fn wish(&self, around: &Around) -> Wish {
        let mark = around.ahead.unwrap_or(self.course.mark());
        let mark_off_deg = self.wind.off_deg((mark - self.at).bearing_deg());
        let is_board_over = around.t_s >= self.board_until_s;
        let turns_up = self.course.turns_up();
        helm::wish(self.side(), mark_off_deg, self.crew.close_deg, is_board_over, turns_up)
    }

    pub(super) fn seen(&self) -> Seen<'_> {
        let calm = self.is_sailing() && self.wind.mps < CALM_MPS && self.way_mps < 0.4;
        Seen {
            id: &self.id,
            reason: self.doing.reason().or(calm.then_some(Reason::Becalmed)),
            began: self.began && self.doing.reason().is_some(),
            over: self.doing.over(),
            before_mps: self.before.front().copied().unwrap_or_default(),
            off_deg: self.off_deg(),
            heading_deg: self.heading_deg,
            way_mps: self.way_mps,
        }
    }
}
