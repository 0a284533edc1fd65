//! A boat: an intention, the motion that follows it, and what may become of her.

use std::collections::VecDeque;

use super::{
    STEP_S,
    crew::Crew,
    hull::Hull,
    intent::Intent,
    over::{AGAIN, Over},
    weather::Wind,
};
use crate::{
    dice::{Dice, Wander},
    notes::Seen,
    plane::{Vec2, fold_180},
    truth::Reason,
};

/// Less wind than this moves nobody, and with more than that they sail again, m/s; guesses.
const CALM_MPS: (f64, f64) = (1.6, 2.1);
/// Wind before a gust is what blew so long on average, s.
const BEFORE_S: f64 = 12.0;

/// The wind as she feels it, over the water.
#[derive(Clone, Copy, Debug)]
pub(super) struct Felt {
    pub(super) from_deg: f64,
    pub(super) mps: f64,
    pub(super) velocity: Vec2,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: String,
    pub(super) at: Vec2,
    pub(super) home: Vec2,
    pub(super) intent: Intent,
    began: bool,
    pub(super) until_s: f64,
    /// What somebody asked of them, next.
    pub(super) asked: Option<Intent>,
    /// +1: wind on the starboard side.
    pub(super) side: f64,
    pub(super) off_want_deg: f64,
    /// Of the next leg, signed.
    pub(super) plan_deg: f64,
    pub(super) share: f64,
    pub(super) creep_mps: f64,
    pub(super) crew: Crew,
    pub(super) hull: Hull,
    pub(super) over: Option<Over>,
    again_s: Option<f64>,
    felt: Felt,
    steadily_mps: f64,
    is_calm: bool,
    puffs: Wander,
    pub(super) trim: Wander,
    pub(super) course: Wander,
    /// How much more or less a hull on her side drifts as she swings and the rig fills or dips.
    pub(super) swing: Wander,
    pub(super) through: Vec2,
    pub(super) lately_mps: VecDeque<f64>,
    pub(super) dice: Dice,
}

impl Boat {
    pub(super) fn draw(ix: usize, long_m: f64, crew: Crew, wind: Wind, mut dice: Dice) -> Boat {
        let side = dice.sign();
        let felt = Felt { from_deg: wind.from_deg, mps: wind.mps, velocity: wind.velocity() };
        let off_deg = dice.between(60.0, 120.0);
        let home = Vec2::new(120.0 * dice.normal(), 120.0 * dice.normal());
        let mut boat = Boat {
            id: format!("T{:02}", ix + 1),
            at: home + Vec2::new(80.0 * dice.normal(), 80.0 * dice.normal()),
            home,
            intent: Intent::Reach,
            began: false,
            until_s: 0.0,
            asked: None,
            side,
            off_want_deg: off_deg,
            plan_deg: side * off_deg,
            share: 0.0,
            creep_mps: 0.0,
            crew,
            hull: Hull::draw(long_m, wind.from_deg - side * off_deg, 1.0, &mut dice),
            over: None,
            again_s: None,
            felt,
            steadily_mps: wind.mps,
            is_calm: false,
            puffs: Wander::new(0.07, 9.0, &mut dice),
            trim: Wander::new(dice.between(0.06, 0.14), 14.0, &mut dice),
            course: Wander::new(crew.wanders_deg, 11.0, &mut dice),
            swing: Wander::new(0.4, 18.0, &mut dice),
            through: Vec2::default(),
            lately_mps: VecDeque::new(),
            dice,
        };
        boat.begin(Intent::Reach, &felt, 0.0);
        boat
    }

    /// Turns to that from now on.
    pub(super) fn begin(&mut self, intent: Intent, felt: &Felt, t_s: f64) {
        let manner = intent.manner();
        let dice = &mut self.dice;
        let is_leg = intent.is_leg();
        if matches!(intent, Intent::Tack | Intent::Gybe) {
            // From starboard tack the bow goes through the wind clockwise, the stern the other way round.
            self.hull.hand = if intent == Intent::Tack { self.side } else { -self.side };
            self.side = -self.side;
        }
        self.off_want_deg = if is_leg || matches!(intent, Intent::Tack | Intent::Gybe) {
            self.plan_deg.abs()
        } else {
            dice.between(manner.off_deg.0, manner.off_deg.1)
        };
        self.share = dice.between(manner.share.0, manner.share.1);
        self.creep_mps = dice.between(manner.creep_mps.0, manner.creep_mps.1);
        let pace = match &self.over {
            _ if is_leg => 1.0,
            // Up at once, little water in her.
            Some(over) if over.at_once => 0.6 * self.crew.lingers,
            _ => self.crew.lingers,
        };
        self.until_s = t_s + manner.lasts.draw(dice) * pace;
        if intent == Intent::Over {
            let is_gust = felt.mps > 1.05 * self.steadily_mps;
            self.over = Some(Over::draw(self.intent.cause(is_gust), t_s, dice));
            self.asked = None;
        } else {
            self.over = None;
        }
        self.again_s = (intent == Intent::Righted && self.dice.chance(AGAIN))
            .then(|| t_s + (self.until_s - t_s) * self.dice.between(0.1, 0.9));
        (self.intent, self.began) = (intent, true);
    }

    /// A step in that wind; `tow` is where the boat that tows her is.
    pub(super) fn step(&mut self, wind: Wind, stream: Vec2, tow: Option<Vec2>, t_s: f64) {
        self.began = false;
        let puff = 1.0 + self.puffs.step(STEP_S, &mut self.dice);
        let velocity = wind.velocity() * puff - stream;
        let felt = Felt { from_deg: (velocity * -1.0).bearing_deg(), mps: velocity.length(), velocity };
        self.felt = felt;
        self.steadily_mps += (felt.mps - self.steadily_mps) * STEP_S / BEFORE_S;
        let calm_mps = if self.is_calm { CALM_MPS.1 } else { CALM_MPS.0 };
        self.is_calm = self.steadily_mps < calm_mps;
        self.decide(&felt, t_s);
        self.move_on(&felt, stream, tow);
    }

    fn decide(&mut self, felt: &Felt, t_s: f64) {
        if let Some(over) = &self.over {
            if t_s >= over.up_s {
                self.begin(Intent::Righted, felt, t_s);
            }
        } else if self.again_s.is_some_and(|again_s| t_s >= again_s) || self.goes_over(felt) {
            self.begin(Intent::Over, felt, t_s);
        } else if t_s >= self.until_s {
            self.goes_on(felt, t_s);
        }
    }

    /// The chance of it grows with the wind, and much with a gust that comes before they are ready.
    fn goes_over(&mut self, felt: &Felt) -> bool {
        let gust = (felt.mps / self.steadily_mps.max(1.0) - 1.0).clamp(0.0, 1.0);
        let blows = (felt.mps / 6.0).clamp(0.25, 2.0).powf(1.8);
        let per_h = self.crew.over_per_h * self.intent.manner().risk * blows * (1.0 + 20.0 * gust);
        self.dice.happens(per_h, STEP_S)
    }

    /// Speed through the water.
    pub(super) fn through(&self) -> Vec2 {
        self.through
    }

    /// What she felt last.
    pub(super) fn felt(&self) -> Felt {
        self.felt
    }

    pub(super) fn seen(&self) -> Seen<'_> {
        let calm = Some(Reason::Becalmed).filter(|_| self.is_calm);
        Seen {
            id: &self.id,
            reason: self.intent.reason().or(calm),
            began: self.began && self.intent.reason().is_some(),
            over: self.over.map(|over| over.seen),
            before_mps: self.lately_mps.front().copied().unwrap_or_default().max(0.0),
            off_deg: fold_180(self.felt.from_deg - self.hull.heading_deg),
            heading_deg: crate::plane::wrap_360(self.hull.heading_deg),
            way_mps: self.hull.way_mps,
        }
    }
}
