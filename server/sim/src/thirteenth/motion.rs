//! How a boat moves: what her crew wish of the hull, and what wind and stream make of her besides.

use super::{
    STEP_S,
    boat::{Boat, Felt},
    intent::Intent,
};
use crate::plane::{Vec2, fold_180};

/// An upright boat without way drifts with so much of the wind (2.87 %, `leeway.md`); under sail she makes so much
/// leeway, degrees (3 to 8, `wind.md`).
const DRIFTS: f64 = 0.0287;
const LEEWAY_DEG: f64 = 5.0;
/// How fast the helm goes over in a turn, and at other times, degrees a second; guesses.
const HELM_DPS: (f64, f64) = (20.0, 9.0);
impl Boat {
    /// A step of it, in that wind.
    pub(super) fn move_on(&mut self, felt: &Felt, stream: Vec2, tow: Option<Vec2>) {
        let off_deg = fold_180(felt.from_deg - self.hull.heading_deg);
        let sails = 1.0 + self.trim.step(STEP_S, &mut self.dice).clamp(-0.5, 0.3);
        let could_mps = self.hull.could_mps(off_deg, felt.mps) * self.crew.trims * sails;
        let mut to_mps = self.share * could_mps + self.creep_mps * (felt.mps / 6.0).clamp(0.3, 1.6);
        if !self.intent.is_leg() {
            // Lying still she gathers some way and loses it again.
            to_mps += 0.3 * (sails - 1.0);
        }
        let wander_deg = self.course.step(STEP_S, &mut self.dice);
        let mut to_deg = felt.from_deg - self.side * self.off_want_deg + wander_deg;
        let is_turn = matches!(self.intent, Intent::Tack | Intent::Gybe | Intent::Towed);
        let mut helm_dps = if is_turn { HELM_DPS.0 } else { HELM_DPS.1 };
        if let Some(tow) = tow.filter(|_| self.intent == Intent::Towed) {
            let line = tow - self.at;
            to_deg = line.bearing_deg();
            to_mps = ((line.length() - 6.0) * 0.25).clamp(0.0, 2.6);
        }
        if self.over.is_some() {
            (to_mps, helm_dps) = (0.0, 4.0);
        }
        self.hull.steer(to_deg, helm_dps, STEP_S);
        self.hull.drive(to_mps, self.over.map(|over| over.stops), STEP_S);
        let way_mps = self.hull.way_mps;
        let ahead = self.hull.ahead(STEP_S, &mut self.dice);
        let aside = Vec2::along(self.hull.heading_deg - 90.0 * off_deg.signum(), way_mps.max(0.0));
        let leeway = aside * (LEEWAY_DEG.to_radians().tan() * off_deg.to_radians().sin().abs());
        let idle = (-way_mps.abs() / 0.8).exp();
        let swing = (1.0 + self.swing.step(STEP_S, &mut self.dice)).max(0.2);
        self.through = match &self.over {
            Some(over) => ahead + over.drift(felt.velocity) * (idle * swing),
            None => ahead + leeway + felt.velocity * (DRIFTS * idle),
        };
        self.at += (self.through + stream) * STEP_S;
        self.lately_mps.push_back(way_mps);
        if self.lately_mps.len() as f64 > 5.0 / STEP_S {
            self.lately_mps.pop_front();
        }
    }
}
