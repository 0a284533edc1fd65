//! Stops on purpose, and the one nobody wanted: two boats in each other's rigging. How long a stop takes is held to
//! recordings of dinghies (`tests/slowing.rs`).

use super::{
    boat::Boat,
    curve::{Curve, mix},
    habits::Habits,
    passage::{Kind, Passage},
};
use crate::truth::Reason;

/// Jib backed, helm down: she lies quietly, goes a little ahead and more to leeward.
pub(super) fn heave_to(boat: &mut Boat, habits: &Habits) -> Passage {
    let dice = &mut boat.dice;
    let (rest_deg, ahead_mps) = (dice.between(45.0, 70.0), dice.between(0.1, 0.5));
    let lasts_s = (dice.log_normal(120.0, 0.6) * habits.stop_length).clamp(40.0, 400.0);
    let turn_s = mix(10.0, 6.0, boat.skill) * dice.log_normal(1.0, 0.2);
    let kept = boat.way_mps * dice.between(0.4, 0.65);
    let settles_s = dice.between(4.0, 12.0) * boat.class.of(1.2, 0.8);
    let off = if dice.chance(habits.by_tack) {
        let past_deg = dice.between(0.0, 18.0);
        Curve::from(boat.off_deg).to(turn_s, -rest_deg - past_deg).to(settles_s, -rest_deg)
    } else {
        let up_deg = dice.between(12.0, 38.0);
        Curve::from(boat.off_deg).to(turn_s, up_deg).hold(dice.between(1.0, 4.0)).to(settles_s, rest_deg)
    };
    let way = Curve::from(boat.way_mps).to(turn_s, kept).to(settles_s, ahead_mps);
    let mut passage = Passage::lying(Reason::HoveTo, lasts_s, off, way);
    passage.drift = Curve::from(0.008).hold(turn_s).to(settles_s, dice.between(0.03, 0.05));
    passage.drift_off_deg = dice.between(-15.0, 15.0);
    (passage.yaw_deg, passage.yaw_s) = (dice.between(3.0, 14.0), dice.between(10.0, 40.0));
    passage.yaw_from_s = turn_s + settles_s;
    passage
}

/// Loose sails, beam to the wind, for so long; she drifts, or creeps when the sails are not quite loose.
pub(super) fn wait(boat: &mut Boat, habits: &Habits, lasts_s: f64) -> Passage {
    let dice = &mut boat.dice;
    let rest_deg = dice.between(62.0, 115.0);
    let creeps_mps = if dice.chance(0.45) { dice.between(0.1, 0.5) } else { dice.between(-0.05, 0.1) };
    let (off, way, stops_s) = if dice.chance(habits.lets_go) {
        let stops_s = dice.between(9.0, 18.0) * boat.class.of(1.2, 0.9);
        let off = Curve::from(boat.off_deg).to(dice.between(3.0, 14.0), rest_deg);
        (off, Curve::from(boat.way_mps).to(stops_s, creeps_mps), stops_s)
    } else {
        let (luffs_s, falls_s) = (dice.between(6.5, 15.0), dice.between(4.0, 12.0));
        let up_deg = dice.between(15.0, 45.0).min(boat.off_deg);
        let kept_mps = boat.way_mps * dice.between(0.2, 0.5);
        let off = Curve::from(boat.off_deg).to(luffs_s, up_deg).to(falls_s, rest_deg);
        let way = Curve::from(boat.way_mps).to(luffs_s, kept_mps).to(falls_s, creeps_mps);
        (off, way, luffs_s + falls_s)
    };
    let mut passage = Passage::lying(Reason::Waiting, lasts_s, off, way);
    let share = (habits.loose_drift + 0.004 * dice.normal()).clamp(0.02, 0.04);
    passage.drift = Curve::from(0.008).to(stops_s, share);
    passage.drift_off_deg = dice.between(-30.0, 30.0);
    (passage.yaw_deg, passage.yaw_s) = (dice.between(2.0, 18.0), dice.between(12.0, 45.0));
    passage.yaw_from_s = stops_s;
    passage
}

/// How long a common wait lasts, s.
pub(super) fn wait_s(boat: &mut Boat, habits: &Habits) -> f64 {
    (boat.dice.log_normal(60.0, 0.75) * habits.stop_length).clamp(15.0, 300.0)
}

/// She lets go and waits for the safety boat; not for ever.
pub(super) fn hail(boat: &mut Boat, habits: &Habits) -> Passage {
    let lasts_s = boat.dice.between(100.0, 200.0);
    Passage { kind: Kind::Hail, ..wait(boat, habits, lasts_s) }
}

/// Made fast alongside the safety boat: both drift as one.
pub(super) fn raft(boat: &mut Boat) -> Passage {
    let dice = &mut boat.dice;
    let off = Curve::from(boat.off_deg).to(dice.between(4.0, 15.0), dice.between(30.0, 120.0));
    let way = Curve::from(boat.way_mps).to(dice.between(5.0, 10.0), dice.between(-0.05, 0.1));
    let mut passage = Passage::lying(Reason::Rafted, dice.between(30.0, 240.0), off, way);
    passage.kind = Kind::Rafted;
    passage.drift = Curve::from(0.025).to(5.0, dice.between(0.02, 0.04));
    (passage.yaw_deg, passage.yaw_s) = (dice.between(2.0, 10.0), dice.between(15.0, 60.0));
    passage.jerk_mps = dice.between(0.03, 0.12);
    passage
}

/// A dummy in the water: reach away, tack, close reach back with the sails eased, stop beside it.
pub(super) fn pick_up(boat: &mut Boat) -> Passage {
    let dice = &mut boat.dice;
    let (away_s, turn_s) = (dice.between(6.0, 20.0), mix(8.5, 4.0, boat.skill) * dice.log_normal(1.0, 0.15));
    let (back_s, stopped_s) = (dice.between(6.0, 18.0), dice.between(10.0, 45.0));
    let (back_deg, rest_deg) = (dice.between(48.0, 70.0), dice.between(45.0, 80.0));
    let reach_mps = boat.class.speed_mps(boat.local.mps, 100.0) * boat.trim;
    let off = Curve::from(boat.off_deg)
        .to(3.5, 100.0)
        .hold(away_s)
        .to(turn_s, -back_deg)
        .hold(back_s)
        .to(4.0, -rest_deg);
    let way = Curve::from(boat.way_mps)
        .to(5.0, reach_mps * dice.between(0.8, 1.0))
        .hold(away_s - 1.5)
        .to(turn_s, reach_mps * dice.between(0.3, 0.55))
        .to(0.6 * back_s, reach_mps * dice.between(0.3, 0.5))
        .to(0.4 * back_s + 4.0, dice.between(-0.05, 0.2));
    let slow_s = 3.5 + away_s + turn_s + 0.6 * back_s;
    let mut passage = Passage::lying(Reason::DrillPickUp, slow_s + 0.4 * back_s + 4.0 + stopped_s, off, way);
    passage.reason = Some((Reason::DrillPickUp, slow_s, f64::INFINITY));
    passage.drift = Curve::from(0.008).hold(slow_s).to(0.4 * back_s + 4.0, dice.between(0.02, 0.04));
    // She still sails for most of it, so nothing blows her over as it would a boat that lies.
    passage.kind = Kind::Way;
    passage
}

/// Helm and crew change places.
pub(super) fn swap(boat: &mut Boat) -> Passage {
    let dice = &mut boat.dice;
    let (slows_s, rest_deg) = (dice.between(7.0, 13.0), dice.between(35.0, 85.0));
    let off = Curve::from(boat.off_deg).to(slows_s, rest_deg);
    let way = Curve::from(boat.way_mps).to(slows_s * boat.class.of(1.4, 1.0), dice.between(0.0, 0.35));
    let mut passage = Passage::lying(Reason::Waiting, slows_s + dice.between(10.0, 40.0), off, way);
    passage.drift = Curve::from(0.008).to(slows_s, dice.between(0.02, 0.035));
    passage.drift_off_deg = dice.between(-20.0, 20.0);
    (passage.yaw_deg, passage.yaw_s, passage.yaw_from_s) = (dice.between(3.0, 15.0), 14.0, slows_s);
    passage.jerk_mps = dice.between(0.08, 0.2);
    passage
}

/// Caught in another boat's rigging for `lasts_s`: all way off within two seconds.
pub(super) fn tangle(boat: &mut Boat, lasts_s: f64) -> Passage {
    let dice = &mut boat.dice;
    let slewed_deg = (boat.off_deg + dice.between(-50.0, 50.0)).clamp(10.0, 170.0);
    let off =
        Curve::from(boat.off_deg).to(dice.between(1.5, 4.0), slewed_deg).to(20.0, dice.between(40.0, 120.0));
    let way = Curve::from(boat.way_mps).to(dice.between(0.8, 2.0), dice.between(0.0, 0.1));
    let mut passage = Passage::lying(Reason::Waiting, lasts_s, off, way);
    passage.drift = Curve::from(0.008).to(3.0, dice.between(0.02, 0.04));
    passage.jerk_mps = dice.between(0.05, 0.2);
    passage
}
