//! One dinghy: what her crew are doing, and how they come to do something else.

use std::collections::VecDeque;

use crate::{
    dice::Dice,
    fifth::{
        air::Air,
        course::Course,
        crew::Crew,
        habits::Habits,
        hull::{Hull, Order},
        over::{Cause, Over},
        phone::Phone,
        stops::{Kind, Stop},
        turns::Turn,
    },
    notes::{Seen, SeenOver},
    plane::{Vec2, fold_180, mps},
};

/// So many speeds are kept: five seconds of steps.
const KEEPS: usize = 10;
/// How far abeam of the safety boat a rafted one lies, and how near it must be to be taken alongside, m.
const BESIDE_M: f64 = 1.8;
const REACHED_M: f64 = 5.0;

/// The safety boat, as the others see it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Leader {
    pub(super) at: Vec2,
    pub(super) velocity: Vec2,
    pub(super) heading_deg: f64,
    pub(super) leads: bool,
    /// Can be asked to come.
    pub(super) is_free: bool,
    /// Whose raft it is, or is about to be.
    pub(super) rafts: Option<usize>,
}

/// All that a boat meets in one step.
pub(super) struct Around<'a> {
    pub(super) t_s: f64,
    pub(super) step_s: f64,
    pub(super) ground: Air,
    pub(super) mean_mps: f64,
    pub(super) stream: Vec2,
    pub(super) course: &'a Course,
    pub(super) habits: &'a Habits,
    pub(super) leader: Leader,
}

#[derive(Clone, Debug)]
pub(super) enum Doing {
    Sail,
    Turn(Turn),
    Stop(Stop),
    Over(Over),
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    ix: usize,
    pub(super) id: String,
    pub(super) hull: Hull,
    pub(super) crew: Crew,
    pub(super) phone: Phone,
    /// The wind she sails by: over the water.
    pub(super) local: Air,
    pub(super) doing: Doing,
    pub(super) side: f64,
    leg: usize,
    leg_since_s: f64,
    pub(super) board_until_s: f64,
    pub(super) settled_s: f64,
    /// How she will go over, and by when if the moment for it does not come.
    pub(super) doom: Option<(Cause, f64)>,
    lane: Vec2,
    speeds: VecDeque<f64>,
    pub(super) dice: Dice,
}

impl Boat {
    pub(super) fn draw(ix: usize, from_deg: f64, habits: &Habits, phone: Phone, mut dice: Dice) -> Boat {
        let crew = Crew::draw(habits, &mut dice);
        let at = Vec2::along(dice.between(0.0, 360.0), dice.between(5.0, 120.0));
        let side = dice.sign();
        let heading_deg = from_deg - side * dice.between(60.0, 140.0);
        Boat {
            ix,
            id: format!("D{:02}", ix + 1),
            hull: Hull::draw(at, heading_deg, crew.sheet_s, &mut dice),
            crew,
            phone,
            local: Air::default(),
            doing: Doing::Sail,
            side,
            leg: dice.pick(3),
            leg_since_s: 0.0,
            board_until_s: dice.between(10.0, 60.0),
            settled_s: 0.0,
            doom: None,
            lane: Vec2::along(dice.between(0.0, 360.0), dice.between(0.0, 35.0)),
            speeds: VecDeque::new(),
            dice,
        }
    }

    pub(super) fn off_deg(&self) -> f64 {
        fold_180(self.local.from_deg - self.hull.heading_deg)
    }

    pub(super) fn is_over(&self) -> bool {
        matches!(self.doing, Doing::Over(_))
    }

    pub(super) fn is_sailing(&self) -> bool {
        matches!(self.doing, Doing::Sail)
    }

    /// Over, or not yet bailed out.
    pub(super) fn is_helpless(&self) -> bool {
        self.is_over() || self.stop() == Some(Kind::Bail)
    }

    pub(super) fn stop(&self) -> Option<Kind> {
        match &self.doing {
            Doing::Stop(stop) => Some(stop.kind),
            _ => None,
        }
    }

    pub(super) fn seen(&self) -> Seen<'_> {
        let over = match &self.doing {
            Doing::Over(over) => {
                Some(SeenOver { cause: over.cause.name(), quick: true, inverted: over.inverted })
            }
            _ => None,
        };
        Seen {
            id: &self.id,
            reason: over.map(|_| crate::Reason::Capsized).or(self.stop().map(Kind::reason)),
            began: false,
            over,
            before_mps: self.speeds.front().copied().unwrap_or_default(),
            off_deg: self.off_deg(),
            heading_deg: self.hull.heading_deg,
            way_mps: self.hull.way_mps,
        }
    }

    /// One step; true if she asks the safety boat alongside.
    pub(super) fn step(&mut self, around: &Around) -> bool {
        let (t_s, step_s) = (around.t_s, around.step_s);
        self.local = Air::of_flow(around.ground.flow() - around.stream);
        if self.speeds.len() >= KEEPS {
            self.speeds.pop_front();
        }
        self.speeds.push_back(self.hull.through.length());
        let asks = self.decide(around);
        let air = self.local;
        let order = match &mut self.doing {
            Doing::Stop(stop) if stop.kind == Kind::Raft => {
                let leader = around.leader;
                let beside = leader.at + Vec2::along(leader.heading_deg + 90.0, BESIDE_M);
                self.hull.held(beside, leader.heading_deg, leader.velocity, around.stream, step_s);
                return asks;
            }
            Doing::Stop(stop) => stop.order(t_s, step_s, air, &self.hull, &mut self.dice),
            Doing::Over(over) => over.order(t_s, step_s, air, &mut self.dice),
            Doing::Turn(turn) => {
                let turn = *turn;
                self.turning(turn)
            }
            Doing::Sail => self.sailing(around),
        };
        self.hull.step(&order, around.stream, step_s);
        asks
    }

    /// What she does next, if it is time for that.
    fn decide(&mut self, around: &Around) -> bool {
        let t_s = around.t_s;
        match &mut self.doing {
            Doing::Sail => return self.may_stop(around),
            Doing::Turn(turn) => {
                let turn = *turn;
                self.end_turn(turn, around);
            }
            Doing::Stop(stop) if stop.kind == Kind::Await => {
                let leader = around.leader;
                let comes = leader.rafts == Some(self.ix);
                if comes && (leader.at - self.hull.at).length() < REACHED_M {
                    stop.kind = Kind::Raft;
                    stop.until_s = t_s + self.dice.between(30.0, 300.0);
                } else if !comes && t_s > stop.until_s {
                    self.sail_on(t_s);
                }
            }
            Doing::Stop(stop) if t_s >= stop.until_s => {
                // One in ten goes over again before she is well under way.
                if stop.kind == Kind::Bail && self.dice.chance(0.11) {
                    let cause = if self.dice.chance(0.5) { Cause::Gust } else { Cause::ToWindward };
                    self.doom = Some((cause, t_s + self.dice.between(2.0, 20.0)));
                }
                self.sail_on(t_s);
            }
            Doing::Over(over) if t_s >= over.righted_s => self.begin(Kind::Bail, around),
            _ => {}
        }
        false
    }

    pub(super) fn sail_on(&mut self, t_s: f64) {
        self.side = if self.off_deg() < 0.0 { -1.0 } else { 1.0 };
        self.settled_s = t_s + self.dice.between(5.0, 12.0);
        self.leg_since_s = t_s;
        self.doing = Doing::Sail;
    }

    pub(super) fn begin(&mut self, kind: Kind, around: &Around) {
        let side = if self.off_deg() < 0.0 { -1.0 } else { 1.0 };
        self.doing =
            Doing::Stop(Stop::begin(kind, around.t_s, &self.hull, side, around.habits, &mut self.dice));
    }

    pub(super) fn capsize(&mut self, cause: Cause, t_s: f64) {
        self.doom = None;
        if self.dice.chance(0.1) {
            let drowns_s = t_s + self.dice.between(3.0, 25.0);
            self.phone.dead_from_s = self.phone.dead_from_s.min(drowns_s);
        }
        let off_deg = self.off_deg();
        self.doing = Doing::Over(Over::begin(cause, t_s, &self.hull, off_deg, &mut self.dice));
    }

    fn may_stop(&mut self, around: &Around) -> bool {
        let (t_s, step_s, habits) = (around.t_s, around.step_s, around.habits);
        // More of them with more wind: by its square or nearly (reasoned).
        let blows = (self.local.speed_mps / mps(11.0)).powf(1.7);
        if self.doom.is_none() && self.dice.happens(habits.capsizes * blows, step_s) {
            self.doom = Some((Cause::draw(&mut self.dice), t_s + 150.0));
        }
        if let Some((cause, by_s)) = self.doom {
            // A gybe that nobody meant comes on a run.
            let ripe = match cause {
                Cause::Gust => self.local.speed_mps > 1.12 * around.mean_mps,
                Cause::ToWindward => self.off_deg().abs() > 115.0,
                Cause::Gybe => self.off_deg().abs() > 140.0,
                Cause::Tack => false,
            };
            let late = t_s > by_s;
            if late || (ripe && self.hull.way_mps > 0.4) {
                let turns = matches!(cause, Cause::Gybe | Cause::Tack);
                self.capsize(if late && turns { Cause::Gust } else { cause }, t_s);
                return false;
            }
        }
        let wish = [
            (Kind::HoveTo, habits.heave_to),
            (Kind::Wait, habits.waits),
            (Kind::Dummy, habits.dummies),
            (Kind::Reef, habits.reefs),
            (Kind::Await, if around.leader.is_free { habits.rafts } else { 0.0 }),
        ];
        for (kind, per_hour) in wish {
            if self.dice.happens(per_hour * self.crew.stops, step_s) {
                self.begin(kind, around);
                return kind == Kind::Await;
            }
        }
        false
    }

    /// Sideways, through the water: most close to the wind (reasoned: 3 to 8 degrees of it).
    pub(super) fn leeway(&self) -> Vec2 {
        let close = (1.0 - self.off_deg().abs() / 140.0).max(0.1);
        self.local.flow() * (0.035 * close)
    }

    fn sailing(&mut self, around: &Around) -> Order {
        let t_s = around.t_s;
        let (goal, share) = self.goal(around);
        let mark_deg = fold_180(self.local.from_deg - (goal - self.hull.at).bearing_deg());
        let (close_deg, deep_deg) = (self.crew.close_deg, self.crew.deep_deg);
        let want_deg = if mark_deg.abs() < close_deg {
            let other = t_s > self.board_until_s;
            if other { -self.side * close_deg } else { self.side * close_deg }
        } else if mark_deg.abs() > deep_deg {
            self.side * deep_deg
        } else {
            mark_deg
        };
        if want_deg * self.side < 0.0 && t_s > self.settled_s {
            self.begin_turn(want_deg, around);
        }
        let aim_deg = if want_deg * self.side < 0.0 {
            self.side * close_deg.max(self.off_deg().abs())
        } else {
            want_deg
        };
        let sways_deg = self.crew.sways_deg(around.step_s, &mut self.dice);
        let way_mps = share * self.crew.way_mps(self.off_deg(), self.local, around.mean_mps);
        let gathers = way_mps > self.hull.way_mps;
        Order {
            heading_deg: self.local.from_deg - aim_deg - sways_deg,
            // Without way the rudder does little.
            rate_dps: self.crew.turns_dps * (self.hull.way_mps / 0.8).clamp(0.3, 1.0),
            way_mps,
            tau_s: if gathers { self.hull.gather_s } else { self.hull.coast_s },
            drift: self.leeway(),
            jerk: Vec2::default(),
        }
    }

    /// Where to, and with how much of the way she could make.
    fn goal(&mut self, around: &Around) -> (Vec2, f64) {
        let leader = around.leader;
        if around.course.follows && leader.leads {
            let behind = leader.velocity.unit() * (-12.0 - 9.0 * self.ix as f64);
            let place = leader.at + behind + self.lane * 0.2;
            // Those who come up too close let the sheets out a little.
            let ahead_m = (place - self.hull.at).dot(leader.velocity.unit());
            return (place + leader.velocity.unit() * 30.0, (0.75 + ahead_m / 60.0).clamp(0.5, 1.0));
        }
        let mark = around.course.mark(self.leg) + self.lane;
        let near_m = self.hull.way_mps * 4.0 + 6.0;
        if (mark - self.hull.at).length() < near_m || around.t_s - self.leg_since_s > 420.0 {
            self.leg = (self.leg + 1) % around.course.marks.len();
            self.leg_since_s = around.t_s;
        }
        (mark, 1.0)
    }
}
