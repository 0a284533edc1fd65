//! A dinghy and her crew: what she is doing, and how a moment of it goes.

use std::collections::VecDeque;

use crate::{
    dice::{Dice, Wander},
    notes::{Seen, SeenOver},
    plane::{Vec2, fold_180, wrap_360},
    truth::Reason,
};

use super::{
    air::Wind,
    club::Club,
    errand::Errand,
    over::{Bail, Over},
    own::Own,
    phone::Phone,
    stop::{Irons, Stop},
};

/// What she is doing.
#[derive(Clone, Debug)]
pub(super) enum Doing {
    Sails,
    Stops(Stop),
    InIrons(Irons),
    IsOver(Box<Over>),
    Bails(Bail),
    /// By a safety boat, which moves her.
    IsTowed,
}

/// What is around her at this moment.
pub(super) struct Around<'a> {
    pub(super) t_s: f64,
    pub(super) dt_s: f64,
    /// Over the water.
    pub(super) wind: Wind,
    pub(super) stream: Vec2,
    pub(super) club: &'a Club,
    /// Every dinghy.
    pub(super) fleet: &'a [Vec2],
    /// Where a safety boat pulls her.
    pub(super) tow: Option<Vec2>,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: String,
    pub(super) own: Own,
    pub(super) at: Vec2,
    pub(super) heading_deg: f64,
    /// Ahead through the water, m/s.
    pub(super) way_mps: f64,
    /// Everything else through the water.
    pub(super) drift: Vec2,
    pub(super) doing: Doing,
    /// It began in this step.
    pub(super) began: bool,
    /// Sails drawing, 0 to 1.
    pub(super) trim: f64,
    pub(super) trims: Wander,
    pub(super) steers: Wander,
    pub(super) errand: Errand,
    /// Waits with a neighbour from then on.
    pub(super) joins_s: f64,
    /// A factor of how far she shoots this time.
    pub(super) shoots: f64,
    /// Would sail if there were wind.
    pub(super) becalmed: bool,
    /// Strength of the wind over the venue's that her crew has got used to.
    pub(super) felt: f64,
    /// Side of the wind she is on or tacks to, +1 starboard.
    pub(super) side: f64,
    way_was: VecDeque<f64>,
    pub(super) phone: Phone,
    pub(super) dice: Dice,
}

/// Less wind than this, and nobody sails; a little more, and they do again, m/s.
const CALM_MPS: f64 = 1.3;
const BREEZE_MPS: f64 = 1.8;
/// Seconds before a capsize at which her speed is told.
const BEFORE_S: usize = 5;

impl Boat {
    pub(super) fn draw(ix: usize, fleet: usize, from_deg: f64, phone: Phone, mut dice: Dice) -> Boat {
        const NAMES: [&str; 14] = [
            "Pilu", "Tarn", "Osk", "Mire", "Vell", "Jun", "Sorrel", "Bik", "Ando", "Quill", "Rusk", "Fenna",
            "Loti", "Ebb",
        ];
        let own = Own::draw(&mut dice);
        let steers = Wander::new(own.steers_deg, own.steers_s, &mut dice);
        Boat {
            id: NAMES[ix % NAMES.len()].to_owned(),
            at: Vec2::along(dice.between(0.0, 360.0), dice.between(20.0, 350.0)),
            heading_deg: wrap_360(from_deg + dice.sign() * dice.between(60.0, 130.0)),
            way_mps: dice.between(0.6, 1.4),
            drift: Vec2::default(),
            doing: Doing::Sails,
            began: false,
            trim: 1.0,
            trims: Wander::new(dice.between(0.03, 0.12), dice.between(12.0, 50.0), &mut dice),
            steers,
            errand: Errand::draw(dice.between(-300.0, 0.0), from_deg, fleet, &mut dice),
            joins_s: f64::INFINITY,
            shoots: 1.0,
            becalmed: false,
            felt: 1.0,
            side: 1.0,
            way_was: VecDeque::new(),
            own,
            phone,
            dice,
        }
    }

    pub(super) fn step(&mut self, around: &Around) {
        self.began = false;
        let wind = around.wind;
        self.felt += (wind.gust - self.felt) * around.dt_s / 25.0;
        let breeze = if self.becalmed { BREEZE_MPS } else { CALM_MPS };
        self.becalmed = matches!(self.doing, Doing::Sails) && wind.speed_mps < breeze;
        match self.doing {
            Doing::Sails => self.sail(around),
            Doing::Stops(_) => self.lie(around),
            Doing::InIrons(_) => self.hang(around),
            Doing::IsOver(_) => self.wallow(around),
            Doing::Bails(_) => self.bail(around),
            Doing::IsTowed => self.follow(around),
        }
        self.way_was.push_back(self.way_mps.abs());
        if self.way_was.len() as f64 > BEFORE_S as f64 / around.dt_s {
            self.way_was.pop_front();
        }
        self.at += (self.through() + around.stream) * around.dt_s;
    }

    /// Her motion through the water.
    pub(super) fn through(&self) -> Vec2 {
        Vec2::along(self.heading_deg, self.way_mps) + self.drift
    }

    /// What is to be seen of her.
    pub(super) fn seen(&self, from_deg: f64) -> Seen<'_> {
        let (reason, over) = match &self.doing {
            Doing::Sails if self.becalmed => (Some(Reason::Becalmed), None),
            Doing::Sails => (None, None),
            Doing::Stops(stop) => (Some(stop.reason), None),
            Doing::InIrons(_) => (Some(Reason::InIrons), None),
            Doing::IsOver(over) => {
                let seen = SeenOver { cause: over.cause, quick: over.quick, inverted: over.inverted };
                (Some(Reason::Capsized), Some(seen))
            }
            Doing::Bails(_) => (Some(Reason::Recovering), None),
            Doing::IsTowed => (Some(Reason::Towed), None),
        };
        Seen {
            id: &self.id,
            reason,
            began: self.began,
            over,
            before_mps: self.way_was.front().copied().unwrap_or(self.way_mps),
            off_deg: fold_180(from_deg - self.heading_deg),
            heading_deg: self.heading_deg,
            way_mps: self.way_mps,
        }
    }

    pub(super) fn is_over(&self) -> bool {
        matches!(self.doing, Doing::IsOver(_))
    }

    pub(super) fn is_sailing(&self) -> bool {
        matches!(self.doing, Doing::Sails) && !self.becalmed
    }

    pub(super) fn stops_for(&self) -> Option<Reason> {
        match &self.doing {
            Doing::Stops(stop) => Some(stop.reason),
            _ => None,
        }
    }

    pub(super) fn begins(&mut self, doing: Doing) {
        self.doing = doing;
        self.began = true;
        self.shoots = self.dice.log_normal(1.0, 0.4);
    }

    /// Goes over; `slow`: rolls over by and by.
    pub(super) fn goes_over(&mut self, cause: &'static str, slow: bool, around: &Around) {
        let over = Over::draw(
            cause,
            slow,
            around.wind.speed_mps,
            around.t_s,
            &self.own,
            around.club,
            &mut self.dice,
        );
        self.begins(Doing::IsOver(Box::new(over)));
        self.phone.gets_wet(around.club.drowns * if self.is_inverted() { 1.5 } else { 0.9 }, around.t_s);
    }

    fn is_inverted(&self) -> bool {
        matches!(&self.doing, Doing::IsOver(over) if over.inverted)
    }

    /// Way goes to what it would settle on: up by her mass, down by her drag, which is the less the slower she is.
    pub(super) fn gather(&mut self, settles_mps: f64, dt_s: f64) {
        let lag_s = if settles_mps > self.way_mps {
            self.own.gathers_s
        } else {
            (self.own.shoots_m * self.shoots).max(6.5) / (self.way_mps.abs() + 0.5)
        };
        self.way_mps += (settles_mps - self.way_mps) * (1.0 - (-dt_s / lag_s).exp());
    }

    /// Drift takes a while to change.
    pub(super) fn carry(&mut self, drift: Vec2, dt_s: f64) {
        self.drift += (drift - self.drift) * (1.0 - (-dt_s / 6.0).exp());
    }

    /// Downwind, of the wind so much, and less while she moves with her board down.
    pub(super) fn leeway(&self, wind: Wind) -> Vec2 {
        let slow = 1.0 - 0.75 * (self.way_mps.abs() / 1.2).min(1.0);
        Vec2::along(wind.from_deg + 180.0, self.own.windage * wind.speed_mps * slow)
    }

    /// Turns at most so fast; the rudder needs way.
    pub(super) fn turn(&mut self, to_deg: f64, most_deg_per_s: f64, dt_s: f64) {
        let turn_deg = fold_180(to_deg - self.heading_deg);
        let rate = (0.5 * turn_deg).clamp(-most_deg_per_s, most_deg_per_s);
        self.heading_deg = wrap_360(self.heading_deg + rate * dt_s);
    }
}
