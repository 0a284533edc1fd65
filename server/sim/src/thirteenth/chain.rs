//! The chain: what a crew turns to when they are done with a thing.

use super::{
    boat::{Boat, Felt},
    crew::Crew,
    intent::Intent,
};
use crate::plane::fold_180;

/// After a leg, so likely each of these, for a crew that stops as often as most: guesses that make the stops as
/// frequent as elsewhere.
const AFTER_LEG: [(Intent, f64); 5] = [
    (Intent::HoveTo, 0.0135),
    (Intent::Luff, 0.0105),
    (Intent::PickUp, 0.0022),
    (Intent::Dawdle, 0.007),
    (Intent::InIrons, 0.004),
];
/// After a stop, one stop more: from, to, how likely. Guesses.
const AFTER_STOP: [(Intent, Intent, f64); 5] = [
    (Intent::Luff, Intent::InIrons, 0.05),
    (Intent::Luff, Intent::HoveTo, 0.05),
    (Intent::HoveTo, Intent::Luff, 0.04),
    (Intent::InIrons, Intent::Luff, 0.06),
    (Intent::PickUp, Intent::InIrons, 0.06),
];
/// Further off than this they sail back, m; a guess.
const ROAMS_M: f64 = 330.0;

impl Boat {
    /// What comes next.
    pub(super) fn goes_on(&mut self, felt: &Felt, t_s: f64) {
        if let Some(asked) = self.asked.take() {
            return self.begin(asked, felt, t_s);
        }
        let now = self.intent;
        if now.is_leg() {
            for (stop, p) in AFTER_LEG {
                if self.dice.chance(p * self.crew.stops) {
                    return self.begin(stop, felt, t_s);
                }
            }
        }
        for (from, to, p) in AFTER_STOP {
            if from == now && self.dice.chance(p) {
                return self.begin(to, felt, t_s);
            }
        }
        if matches!(now, Intent::Tack | Intent::Gybe) {
            return self.begin(Intent::leg(self.off_want_deg), felt, t_s);
        }
        self.new_leg(felt, t_s);
    }

    /// Another leg: home if she is far off, else wherever they like, by a tack or a gybe if it is on the other
    /// side.
    pub(super) fn new_leg(&mut self, felt: &Felt, t_s: f64) {
        let home = self.home - self.at;
        let off_deg = if home.length() > ROAMS_M * self.dice.between(0.7, 1.2) {
            let off_deg = fold_180(felt.from_deg - home.bearing_deg()) + 12.0 * self.dice.normal();
            off_deg.signum() * off_deg.abs().clamp(46.0, 172.0)
        } else {
            let legs = [Intent::Reach, Intent::Reach, Intent::Beat, Intent::Run];
            let (least, most) = legs[self.dice.pick(legs.len())].manner().off_deg;
            let same = if self.dice.chance(0.4) { self.side } else { -self.side };
            same * self.dice.between(least, most)
        };
        self.plan_deg = off_deg;
        if off_deg.signum() == self.side || !self.intent.is_leg() {
            self.side = off_deg.signum();
            return self.begin(Intent::leg(off_deg), felt, t_s);
        }
        // Through whichever end of the wind is nearer; beginners rather tack, and more so when it blows.
        let through_bow = self.off_want_deg.abs() + off_deg.abs() < self.dice.between(160.0, 260.0);
        let turn = if through_bow { Intent::Tack } else { Intent::Gybe };
        if turn == Intent::Tack && self.fails_to_tack(felt) {
            return self.begin(Intent::InIrons, felt, t_s);
        }
        self.begin(turn, felt, t_s);
    }

    /// Too little way, or the helm let go: she stays in the wind.
    fn fails_to_tack(&mut self, felt: &Felt) -> bool {
        let slow = (1.2 - self.hull.way_mps).clamp(0.0, 1.0);
        let rough = (felt.mps / 6.0).clamp(0.4, 1.6);
        self.dice.chance(Crew::FAILS * self.crew.clumsy * (0.5 + slow) * rough.sqrt())
    }
}
