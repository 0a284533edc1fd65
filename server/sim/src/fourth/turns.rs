//! Turns through the wind, the one that fails, and a luff to look at something.

use super::{
    boat::Boat,
    curve::{Curve, mix},
    passage::{After, Passage},
};
use crate::truth::Reason;

/// How many tacks fail, for a beginner and for a good crew. Common practice, no source.
const FAILS: (f64, f64) = (0.06, 0.002);

/// A tack until she settles `to_deg` off the wind on the other side; or the attempt at one.
pub(super) fn tack(boat: &mut Boat, to_deg: f64) -> Passage {
    let slow_wind = boat.way_mps < 0.5;
    if boat.dice.chance(mix(FAILS.0, FAILS.1, boat.skill.powf(0.7)) * if slow_wind { 2.0 } else { 1.0 }) {
        return irons(boat);
    }
    let swept_deg = boat.off_deg + to_deg;
    let spread = boat.dice.log_normal(1.0, 0.18);
    let usual_s = mix(10.0, 5.0, boat.skill) * boat.turn_pace * spread;
    let turn_s = usual_s.clamp(4.5, 11.0) * (swept_deg / 95.0).clamp(0.8, 1.6);
    let cost = mix(0.7, 0.36, boat.skill) + boat.class.of(-0.02, 0.04) + 0.09 * boat.dice.normal();
    let floor_mps = boat.way_mps * (1.0 - cost.clamp(0.3, 0.85));
    // Many overshoot and come up again.
    let past_deg = boat.dice.between(0.0, mix(22.0, 5.0, boat.skill));
    let off = Curve::from(boat.off_deg).to(turn_s, -to_deg - past_deg);
    let way = Curve::from(boat.way_mps).hold(0.2 * turn_s).to(0.75 * turn_s, floor_mps);
    Passage::under_way(off, way)
}

/// A gybe: shorter, and she keeps most of her way.
pub(super) fn gybe(boat: &mut Boat, to_deg: f64) -> Passage {
    let swept_deg = 360.0 - to_deg - boat.off_deg;
    let turn_s = (mix(5.5, 2.5, boat.skill) * boat.dice.log_normal(1.0, 0.2)).clamp(2.0, 6.0)
        * (swept_deg / 60.0).clamp(0.7, 2.2);
    let kept = 1.0 - boat.dice.between(0.03, mix(0.35, 0.18, boat.skill));
    let past_deg = boat.dice.between(0.0, mix(25.0, 8.0, boat.skill));
    let off = Curve::from(boat.off_deg).to(turn_s, 360.0 - to_deg + past_deg);
    let way = Curve::from(boat.way_mps).hold(0.3 * turn_s).to(0.7 * turn_s, boat.way_mps * kept);
    Passage::under_way(off, way)
}

/// Stopped in the tack: way lost head to wind, astern for a while, out of it on whichever side she falls.
pub(super) fn irons(boat: &mut Boat) -> Passage {
    let dice = &mut boat.dice;
    let (luffs_s, loses_s) = (dice.between(4.0, 7.0), dice.between(4.0, 8.0));
    let stays_s = dice.log_normal(mix(20.0, 9.0, boat.skill), 0.65).clamp(3.0, 60.0);
    let astern_mps = dice.between(0.1, 0.6) * (boat.local.mps / 6.0).clamp(0.4, 1.0);
    let swings_s = dice.between(3.0, 8.0);
    // Two in three find themselves where they came from.
    let out_deg = if dice.chance(0.66) { 1.0 } else { -1.0 } * dice.between(50.0, 85.0);
    let (first_deg, second_deg) = (dice.between(-14.0, 14.0), dice.between(-22.0, 22.0));
    let off = Curve::from(boat.off_deg)
        .to(luffs_s, first_deg)
        .to(loses_s + 0.5 * stays_s, second_deg)
        .to(0.5 * stays_s, out_deg * 0.2)
        .to(swings_s, out_deg);
    let backs_s = stays_s.min(dice.between(3.0, 7.0));
    let way = Curve::from(boat.way_mps)
        .to(luffs_s, boat.way_mps * dice.between(0.4, 0.65))
        .to(loses_s, 0.0)
        .to(backs_s, -astern_mps)
        .hold(stays_s - backs_s)
        .to(swings_s, 0.12);
    let (from_s, to_s) = (luffs_s + 0.6 * loses_s, luffs_s + loses_s + stays_s + 0.5 * swings_s);
    let mut passage = Passage::under_way(off, way);
    passage.drift = Curve::from(0.01).to(luffs_s + loses_s, 0.012).hold(stays_s).to(swings_s, 0.025);
    passage.reason = Some((Reason::InIrons, from_s, to_s));
    passage
}

/// A luff with flapping sails, to read a signal or to wait for somebody ahead.
pub(super) fn luff(boat: &mut Boat) -> Passage {
    let dice = &mut boat.dice;
    let (up_s, stays_s, back_s) = (dice.between(3.0, 6.0), dice.between(3.0, 12.0), dice.between(2.0, 5.0));
    let up_deg = dice.between(18.0, 34.0).min(boat.off_deg);
    let kept = dice.between(0.25, 0.7);
    let off = Curve::from(boat.off_deg).to(up_s, up_deg).hold(stays_s).to(back_s, boat.off_deg.max(45.0));
    let way = Curve::from(boat.way_mps).to(up_s + stays_s, boat.way_mps * kept).hold(back_s);
    Passage { then: After::Sail, ..Passage::under_way(off, way) }
}
