//! A boat: what she is, what she is doing, and how that moves her.

use std::collections::VecDeque;

use super::{
    STEP_S,
    air::Wind,
    course::Course,
    doing::{Doing, Turn},
    habits::Habits,
    helm::Helm,
    hull::Hull,
    motion::{Motion, Wish},
    over::Capsizing,
    phone::Phone,
    stops::{Custom, Stop, Stops},
};
use crate::{
    dice::{Dice, Wander},
    notes::Seen,
    plane::{Vec2, fold_180},
    truth::Reason,
};

/// How long ago "before" is, steps.
const BEFORE: usize = 20;
/// Hardly any wind and way: becalmed; and this much, and she is not, m/s. Guesses.
const CALM_MPS: [f64; 2] = [1.5, 2.0];
const CALM_WAY_MPS: [f64; 2] = [0.35, 0.5];

/// What is around her.
#[derive(Clone, Copy, Debug)]
pub(super) struct Around {
    pub(super) t_s: f64,
    pub(super) wind: Wind,
    pub(super) stream: Vec2,
    /// The safety boat that has her in tow.
    pub(super) tow: Option<Vec2>,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: String,
    pub(super) hull: Hull,
    pub(super) helm: Helm,
    pub(super) stops: Stops,
    pub(super) capsizing: Capsizing,
    pub(super) motion: Motion,
    pub(super) side: f64,
    pub(super) course: Course,
    pub(super) doing: Doing,
    /// Another doing began with this step.
    pub(super) began: bool,
    is_becalmed: bool,
    wanders: Wander,
    neglects: Wander,
    patch: Wander,
    /// A puff or a hole for her alone: until when, and share of the wind.
    pub(super) puff: (f64, f64),
    pub(super) wind: Wind,
    /// How far off downwind she drifts with her sails flapping.
    flaps_deg: f64,
    before: VecDeque<f64>,
    pub(super) phone: Phone,
    pub(super) dice: Dice,
}

impl Boat {
    pub(super) fn draw(
        ix: usize,
        habits: &Habits,
        course: Course,
        around: &Around,
        patch: (f64, f64),
        phone: Phone,
        mut dice: Dice,
    ) -> Boat {
        let helm = habits.helm.another(&mut dice);
        let at = Vec2::along(dice.between(0.0, 360.0), dice.between(20.0, 180.0));
        let side = dice.sign();
        let motion = Motion {
            at,
            heading_deg: around.wind.from_deg - side * 80.0,
            way_mps: 0.5,
            drift: Vec2::default(),
        };
        Boat {
            id: format!("T{:02}", ix + 1),
            hull: habits.hull.sister(&mut dice),
            stops: habits.stops.clone(),
            capsizing: habits.capsizing.clone(),
            motion,
            side,
            course,
            doing: Doing::Sails { dawdles: 1.0 },
            began: false,
            is_becalmed: false,
            wanders: Wander::new(helm.wanders_deg, helm.wanders_s, &mut dice),
            neglects: Wander::new(helm.neglects, helm.neglects_s, &mut dice),
            patch: Wander::new(patch.0, patch.1, &mut dice),
            puff: (0.0, 0.0),
            wind: around.wind,
            flaps_deg: 0.0,
            before: VecDeque::new(),
            phone,
            helm,
            dice,
        }
    }

    pub(super) fn is_sailing(&self) -> bool {
        matches!(self.doing, Doing::Sails { .. })
    }

    pub(super) fn off_deg(&self) -> f64 {
        self.wind.off_deg(self.motion.heading_deg)
    }

    pub(super) fn does(&mut self, doing: Doing) {
        (self.doing, self.began) = (doing, true);
    }

    /// Stops in that way, and for how long.
    pub(super) fn stop(&mut self, custom: &Custom, t_s: f64) -> Stop {
        self.flaps_deg = self.dice.between(-1.0, 1.0) * self.hull.flaps_deg;
        Stop::begin(custom, self.side, t_s, &mut self.dice)
    }

    pub(super) fn step(&mut self, around: &Around) {
        let patch = self.patch.step(STEP_S, &mut self.dice);
        let puff = if around.t_s < self.puff.0 { self.puff.1 } else { 0.0 };
        let mut wind = around.wind.over(around.stream);
        wind.mps *= (1.0 + patch + puff).clamp(0.3, 2.0);
        self.wind = wind;
        self.wanders.step(STEP_S, &mut self.dice);
        self.neglects.step(STEP_S, &mut self.dice);
        self.began = false;
        self.happens(around);
        let wish = self.wish(around);
        self.motion.follow(&wish, around.stream);
        if self.before.len() >= BEFORE {
            self.before.pop_front();
        }
        self.before.push_back(self.motion.through().length());
        let calm = usize::from(self.is_becalmed);
        self.is_becalmed =
            self.is_sailing() && self.wind.mps < CALM_MPS[calm] && self.motion.way_mps < CALM_WAY_MPS[calm];
    }

    pub(super) fn seen(&self) -> Seen<'_> {
        Seen {
            id: &self.id,
            reason: self.doing.reason().or(self.is_becalmed.then_some(Reason::Becalmed)),
            began: self.began && self.doing.reason().is_some(),
            over: self.doing.over(),
            before_mps: self.before.front().copied().unwrap_or_default(),
            off_deg: self.off_deg(),
            heading_deg: self.motion.heading_deg,
            way_mps: self.motion.way_mps,
        }
    }

    fn wish(&mut self, around: &Around) -> Wish {
        let Motion { heading_deg, way_mps, .. } = self.motion;
        let flapping = self.wind.drift(self.hull.flaps, self.flaps_deg);
        // A rudder works by her way; with hardly any, sails and oars of hands turn her slowly.
        let turns_deg_s = self.hull.turns_deg_s * (way_mps.abs() / 1.0).clamp(0.3, 1.0);
        match &mut self.doing {
            Doing::Sails { dawdles } | Doing::Leaves { dawdles, .. } => {
                let dawdles = *dawdles;
                self.sailing(turns_deg_s, dawdles, around)
            }
            Doing::Turns(turn) => turning(turn, self.hull.leeway_deg, around.t_s, heading_deg, way_mps),
            Doing::GoesOver { cause: _, way, .. } => {
                let rounds_up = *way == super::over::Way::RoundsUp;
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
            &super::course::Sailed {
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

    /// Begins a tack or a gybe, whichever is the shorter turn.
    pub(super) fn turn_to(&mut self, to_off_deg: f64, t_s: f64) {
        let off_deg = self.off_deg();
        let to_side = to_off_deg.signum();
        let is_tack = off_deg.abs() + to_off_deg.abs() < 190.0;
        let turns_deg = if is_tack { off_deg - to_off_deg } else { off_deg - to_off_deg + 360.0 * to_side };
        let (lasts_s, leaves) = if is_tack {
            (self.helm.tack_s, self.helm.tack_leaves)
        } else {
            (self.helm.gybe_s, self.helm.gybe_leaves)
        };
        let turns_deg = if turns_deg.abs() > 300.0 { fold_180(turns_deg) } else { turns_deg };
        let lasts_s = (lasts_s * self.dice.log_normal(1.0, 0.2)).max(turns_deg.abs() / 45.0);
        let leaves = (leaves * self.dice.log_normal(1.0, 0.12)).min(1.0);
        let fails = is_tack && self.dice.chance(self.helm.tack_fails);
        self.does(Doing::Turns(Turn {
            is_tack,
            from_s: t_s,
            lasts_s,
            from_deg: self.motion.heading_deg,
            turns_deg,
            to_side,
            way_mps: self.motion.way_mps,
            leaves,
            fails,
            goes_over: false,
        }));
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
