//! What each doing asks of the hull from one moment to the next. Numbers that are not a session's own are guesses.

use super::{
    STEP_S,
    boat::{Around, Boat},
    course::Sailed,
    doing::{Doing, Turn},
    motion::{Motion, Wish},
    over::Way,
};
use crate::{plane::Vec2, truth::Reason};

impl Boat {
    pub(super) fn wish(&mut self, around: &Around) -> Wish {
        let Motion { heading_deg, way_mps, .. } = self.motion;
        let flapping = self.wind.drift(self.hull.flaps, self.flaps_deg);
        // A rudder works by her way; with hardly any, sails and the crew's weight turn her slowly.
        let turns_deg_s = self.hull.turns_deg_s * (way_mps.abs() / 1.0).clamp(0.3, 1.0);
        match &mut self.doing {
            Doing::Sails { dawdles } | Doing::Leaves { dawdles, .. } => {
                let dawdles = *dawdles;
                self.sailing(turns_deg_s, dawdles, around)
            }
            Doing::Turns(turn) => turning(turn, self.hull.leeway_deg, around.t_s, heading_deg, way_mps),
            Doing::GoesOver { way, .. } => {
                let rounds_up = *way == Way::RoundsUp;
                Wish {
                    heading_deg: if rounds_up { self.wind.from_deg } else { heading_deg },
                    turns_deg_s,
                    way_mps: if rounds_up { way_mps * 0.4 } else { way_mps },
                    way_s: 3.0,
                    drift: self.motion.drift,
                }
            }
            Doing::Stops(stop) => {
                let swing_deg = stop.swings.step(STEP_S, &mut self.dice);
                let luffs = around.t_s < stop.luffs_until_s;
                let off_deg = if luffs { 8.0 * self.side } else { stop.off_deg + swing_deg };
                let is_in_irons = stop.reason == Some(Reason::InIrons);
                let base_s = if off_deg.abs() < 35.0 { self.hull.luffs_s } else { self.hull.loses_s };
                let creeps_mps = if is_in_irons { -self.hull.astern_mps } else { stop.creeps_mps };
                Wish {
                    heading_deg: self.wind.from_deg - off_deg,
                    turns_deg_s: turns_deg_s * 0.7,
                    way_mps: creeps_mps,
                    way_s: base_s * stop.carries,
                    drift: flapping,
                }
            }
            Doing::IsOver(over) => {
                if self.dice.happens(over.surges_per_h, STEP_S) {
                    over.surge = (around.t_s + self.dice.between(4.0, 15.0), self.dice.between(0.3, 0.9));
                }
                let way_mps = if around.t_s < over.surge.0 { over.surge.1 } else { 0.0 };
                Wish {
                    heading_deg: self.wind.from_deg - over.off_deg - over.yaws.step(STEP_S, &mut self.dice),
                    turns_deg_s: 6.0,
                    way_mps,
                    way_s: over.stops_s.max(2.5 * way_mps),
                    drift: self.wind.drift(over.drift, over.drift_deg),
                }
            }
            Doing::Recovers { .. } => Wish {
                heading_deg: self.wind.from_deg - 55.0 * self.side + 2.0 * self.wanders.value,
                turns_deg_s: 5.0,
                way_mps: 0.1,
                way_s: 5.0,
                drift: flapping,
            },
            Doing::IsTowed => {
                let rope = around.tow.map_or(Vec2::default(), |tow| tow - self.motion.at);
                Wish {
                    heading_deg: if rope.length() > 1.0 { rope.bearing_deg() } else { heading_deg },
                    turns_deg_s: 25.0,
                    way_mps: ((rope.length() - 8.0) * 0.6).clamp(0.0, 3.5),
                    way_s: 2.0,
                    drift: Vec2::default(),
                }
            }
        }
    }

    fn sailing(&mut self, turns_deg_s: f64, dawdles: f64, around: &Around) -> Wish {
        let want_deg = self.course.off_deg(
            &Sailed {
                at: self.motion.at,
                side: self.side,
                wind: self.wind,
                t_s: around.t_s,
                hull: &self.hull,
                helm: &self.helm,
            },
            &mut self.dice,
        );
        let off_deg = self.off_deg();
        if want_deg * self.side < 0.0 && self.motion.way_mps > 0.5 && self.is_sailing() {
            self.turn_to(want_deg, around.t_s);
        }
        // Until she has turned she keeps to her side.
        let keep_deg = if want_deg * self.side > 0.0 { want_deg } else { self.side * want_deg.abs() };
        let neglect = (1.0 + self.neglects.value).clamp(0.4, 1.1);
        let way_mps = self.hull.speed_mps(off_deg, self.wind.mps) * self.helm.skill * neglect;
        let gathers = way_mps > self.motion.way_mps;
        if self.motion.way_mps > 0.7 * way_mps && dawdles > 1.0 && self.is_sailing() {
            self.doing = Doing::Sails { dawdles: 1.0 };
        }
        Wish {
            heading_deg: self.wind.from_deg - keep_deg + self.wanders.value,
            turns_deg_s,
            way_mps,
            way_s: if gathers { self.hull.gathers_s * dawdles } else { self.hull.loses_s.max(5.0) },
            drift: leeway(&self.motion, self.side, self.hull.leeway_deg)
                + self.wind.drift(self.hull.flaps, 0.0) * (1.0 - self.motion.way_mps).clamp(0.0, 1.0),
        }
    }
}

fn leeway(motion: &Motion, side: f64, leeway_deg: f64) -> Vec2 {
    Vec2::along(motion.heading_deg - 90.0 * side, motion.way_mps.max(0.0) * leeway_deg.to_radians().tan())
}

fn turning(turn: &Turn, leeway_deg: f64, t_s: f64, heading_deg: f64, way_mps: f64) -> Wish {
    let done = turn.done(t_s);
    let side = if done < 0.5 { -turn.to_side } else { turn.to_side };
    let motion = Motion { at: Vec2::default(), heading_deg, way_mps, drift: Vec2::default() };
    Wish {
        heading_deg: turn.from_deg + turn.turns_deg * done,
        turns_deg_s: 60.0,
        way_mps: turn.way_mps * (1.0 - (1.0 - turn.leaves) * done),
        way_s: 0.8,
        drift: leeway(&motion, side, leeway_deg),
    }
}
