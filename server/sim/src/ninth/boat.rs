//! A dinghy and her crew, step by step.

use std::collections::VecDeque;

use crate::{
    dice::{Dice, Wander},
    notes::{Seen, SeenOver},
    plane::{Vec2, wrap_360},
    truth::Reason,
};

use super::{
    class::Class,
    course::{Course, Exercise, Next},
    day::Wind,
    doing::Doing,
    hands::{Hands, Helm, Orders, Sheet},
    hull::Hull,
    people::{Club, People},
    phone::Phone,
    stops::Drill,
    water::STEP_S,
};

/// Steps that make five seconds, and a wind with which nobody sails, m/s.
const FIVE_S: usize = (5.0 / STEP_S) as usize;
const CALM_MPS: f64 = 0.9;

/// What is about a boat.
pub(super) struct Around<'a> {
    pub(super) t_s: f64,
    pub(super) dt_s: f64,
    /// At her sail, over the water.
    pub(super) wind: Wind,
    /// Air over the water at 10 m.
    pub(super) air: Vec2,
    pub(super) stream: Vec2,
    pub(super) exercise: &'a Exercise,
    /// The boat to be followed.
    pub(super) leader: Option<Vec2>,
    /// The safety boat she is made fast to, over the ground.
    pub(super) held_by: Option<(Vec2, Vec2)>,
}

/// Called together with the others of her group.
#[derive(Clone, Copy, Debug)]
pub(super) struct Called {
    pub(super) at_s: f64,
    pub(super) until_s: f64,
    pub(super) heaves: bool,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: String,
    pub(super) group: usize,
    pub(super) class: Class,
    pub(super) people: People,
    pub(super) hull: Hull,
    pub(super) hands: Hands,
    pub(super) doing: Doing,
    pub(super) course: Course,
    pub(super) phone: Phone,
    pub(super) drill: Option<Drill>,
    pub(super) called: Option<Called>,
    /// No stop before then.
    pub(super) rested_s: f64,
    pub(super) stuck_s: f64,
    /// How long the sheet is in, of one who waits.
    pub(super) tidies_s: f64,
    /// Boom of one who is hove-to.
    pub(super) eased_deg: f64,
    pub(super) dice: Dice,
    /// Her last turn, and when.
    pub(super) turned: Option<(&'static str, f64)>,
    felt_mps: f64,
    lately_mps: VecDeque<f64>,
    began: bool,
    puffs: Wander,
}

impl Boat {
    pub(super) fn draw(ix: usize, group: usize, at: Vec2, club: &Club, phone: Phone, mut dice: Dice) -> Boat {
        let class = Class::draw(club.heavy, club.reef, &mut dice);
        let people = People::draw(club, &mut dice);
        Boat {
            id: format!("dinghy-{}", ix + 1),
            group,
            class,
            people,
            hull: Hull::at_rest(at, dice.between(0.0, 360.0)),
            hands: Hands::of(&people, dice.clone()),
            doing: Doing::Sails,
            course: Course::new(ix, &mut dice),
            phone,
            drill: None,
            called: None,
            rested_s: dice.between(60.0, 300.0),
            stuck_s: 0.0,
            tidies_s: dice.between(4.0, 12.0),
            eased_deg: dice.between(64.0, 88.0),
            turned: None,
            felt_mps: 5.0,
            lately_mps: VecDeque::new(),
            began: false,
            puffs: Wander::new(0.08, 6.0, &mut dice),
            dice,
        }
    }

    pub(super) fn is_over(&self) -> bool {
        matches!(self.doing, Doing::Over(_))
    }

    pub(super) fn is_sailing(&self) -> bool {
        matches!(self.doing, Doing::Sails)
    }

    pub(super) fn step(&mut self, around: &Around) {
        let before = self.doing.reason();
        // What no patch of wind tells: every sail has puffs of its own.
        let puff = 1.0 + self.puffs.step(around.dt_s, &mut self.dice);
        let wind = Wind { speed_mps: around.wind.speed_mps * puff, ..around.wind };
        self.felt_mps += (wind.speed_mps - self.felt_mps) * around.dt_s / 20.0;
        match (self.doing.clone(), around.held_by) {
            (Doing::Over(over), _) => {
                over.drift(&mut self.hull, around.air, around.stream, around.t_s, around.dt_s);
                if around.t_s > over.rights_s && !over.needs_help {
                    self.rights(over.dry, around);
                }
            }
            (Doing::Holds | Doing::Towed, Some((at, moves))) => self.is_held(at, moves, around),
            (Doing::Holds | Doing::Towed, None) => self.goes_on(around.t_s),
            _ => self.handles(wind, around),
        }
        self.began = self.doing.reason() != before;
        self.lately_mps.push_back(self.hull.way.length());
        if self.lately_mps.len() > FIVE_S {
            self.lately_mps.pop_front();
        }
    }

    fn handles(&mut self, wind: Wind, around: &Around) {
        let (t_s, dt_s) = (around.t_s, around.dt_s);
        let orders = self.means(around);
        self.hands.step((&self.people, &self.class, &self.hull), &orders, wind, (t_s, dt_s));
        self.hull.step(&self.class, &self.hands.held, wind, around.stream, dt_s);
        if self.is_lost() {
            self.goes_over(t_s);
        } else if matches!(self.doing, Doing::Sails | Doing::Tacks(_)) && self.is_caught(around) {
            self.caught(t_s);
        }
    }

    fn means(&mut self, around: &Around) -> Orders {
        match self.doing.clone() {
            Doing::Tacks(turn) => {
                self.turned = Some(("tack", around.t_s));
                self.tack(turn, around)
            }
            Doing::Gybes(turn) => {
                self.turned = Some(("gybe", around.t_s));
                self.gybe(turn, around)
            }
            Doing::Irons(irons) => self.irons(irons, around),
            Doing::HeavesTo { until_s } => self.lie_to(until_s, around),
            Doing::Waits(wait) => self.lie(wait, around),
            Doing::PicksUp { until_s } => self.pick_up(until_s, around),
            Doing::Bails { until_s } => {
                if around.t_s > until_s {
                    self.goes_on(around.t_s);
                }
                // Whoever is in first keeps her near the wind, so that the boom does not sweep him out again.
                let side = self.hull.off_deg(around.wind).signum();
                let helm = Helm::Steer(wrap_360(around.wind.from_deg - side * 65.0));
                Orders { helm, sheet: Sheet::LetGo, backed: 0.0, shaky: 8.0 }
            }
            Doing::Sails | Doing::Holds | Doing::Towed | Doing::Over(_) => self.sails(around),
        }
    }

    fn sails(&mut self, around: &Around) -> Orders {
        self.stops(around);
        if let Some(called) = self.called.filter(|called| around.t_s > called.at_s) {
            self.called = None;
            if called.heaves {
                self.heave_to(called.until_s);
            } else {
                self.wait(around.t_s, called.until_s);
            }
        }
        let mark = self.course.mark(around.exercise, self.hull.at, &mut self.dice);
        let drill = self.drills(around);
        let target = drill.or(around.leader).or(mark).unwrap_or_default();
        let close = around.leader.is_some_and(|leader| (leader - self.hull.at).length() < 16.0);
        let off_deg = self.hull.off_deg(around.wind);
        let winds = (around.wind.from_deg, off_deg, self.people.close_deg);
        // Without way no boat turns through the wind: whoever knows it gathers some first.
        let has_way = self.hull.ahead_mps() > 0.9;
        let heading_deg = match self.course.towards(target, self.hull.at, winds, around.t_s) {
            Next::Steer(to_deg) => to_deg,
            Next::Tack(to) if !has_way && !self.dice.chance(3.0 * self.people.botches) => {
                wrap_360(around.wind.from_deg + to * (self.people.close_deg + 12.0))
            }
            Next::Tack(to) => {
                self.begin_turn(to, true, around.t_s);
                self.hull.heading_deg
            }
            Next::Gybe(to) => {
                self.begin_turn(to, false, around.t_s);
                self.hull.heading_deg
            }
        };
        // Too near the boat ahead: loosen the sheet.
        let sheet = if close && drill.is_none() { Sheet::At(62.0) } else { Sheet::Trim };
        Orders { helm: Helm::Steer(heading_deg), sheet, backed: 0.0, shaky: 1.0 }
    }

    /// For the truth.
    pub(super) fn seen(&self, wind: Wind) -> Seen<'_> {
        let over = match &self.doing {
            Doing::Over(over) => {
                Some(SeenOver { cause: over.cause, quick: over.quick, inverted: over.inverts })
            }
            _ => None,
        };
        let calm = self.is_sailing() && self.felt_mps < CALM_MPS;
        Seen {
            id: &self.id,
            reason: self.doing.reason().or(calm.then_some(Reason::Becalmed)),
            began: self.began,
            over,
            before_mps: self.lately_mps.front().copied().unwrap_or_default(),
            off_deg: self.hull.off_deg(wind),
            heading_deg: self.hull.heading_deg,
            way_mps: self.hull.way.length(),
        }
    }
}
