//! A dinghy of the third water under sail: helm and sheets from mark to mark, and through the wind.

use std::collections::VecDeque;

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, fold_180, wrap_360},
    third::{
        air::Air,
        course::{Course, off_for},
        crew::Crew,
        doing::Doing,
        habits::Habits,
        hull::{Hands, Hull},
        over::Cause,
        phone::Phone,
    },
    truth::Reason,
};

/// A mark is rounded within this, m.
const ROUNDED_M: f64 = 18.0;
/// Whoever does not get to a mark in so long gives it up, s.
const GIVES_UP_S: f64 = 420.0;
/// Nearer the wind than this and slower than that she no longer steers: irons.
const IRONS_DEG: f64 = 32.0;
const IRONS_MPS: f64 = 0.25;
/// Less wind than this stops her, and at this speed she has stopped, m/s.
const CALM_WIND_MPS: f64 = 1.3;
const CALM_MPS: f64 = 0.35;

/// What a boat sees of the world in one step.
pub(super) struct Around<'a> {
    pub(super) t_s: f64,
    pub(super) step_s: f64,
    pub(super) air: Air,
    pub(super) stream: Vec2,
    pub(super) course: &'a Course,
    pub(super) habits: &'a Habits,
    /// The safety boats: places and velocities over the ground.
    pub(super) safety: &'a [(Vec2, Vec2, f64)],
}

/// On her way to the other side of the wind.
#[derive(Clone, Copy, Debug)]
struct Turn {
    through_wind: bool,
    began_s: f64,
    crossed: bool,
}

#[derive(Clone, Debug)]
pub(super) struct Boat {
    pub(super) id: String,
    pub(super) hull: Hull,
    pub(super) crew: Crew,
    pub(super) phone: Phone,
    pub(super) dice: Dice,
    pub(super) doing: Doing,
    pub(super) since_s: f64,
    pub(super) until_s: f64,
    /// The tack she is on, 1 starboard.
    pub(super) side: f64,
    turn: Option<Turn>,
    leg: usize,
    leg_since_s: f64,
    next_tack_s: f64,
    sheet_in_s: f64,
    /// Where her crew believe the wind to come from.
    believed_deg: f64,
    pub(super) ripple: Wander,
    stuck_s: f64,
    calm: bool,
    /// A slow mean of her load: what her crew lean against.
    pub(super) leaned: f64,
    /// Speeds of the last five seconds.
    pub(super) speeds: VecDeque<f64>,
    pub(super) again_s: Option<f64>,
    /// Her place on the starting line, -1 to 1, and when her crew leave it.
    pub(super) place: f64,
    pub(super) starts_late_s: f64,
}

impl Boat {
    pub(super) fn draw(ix: usize, course: &Course, habits: &Habits, from_deg: f64, mut dice: Dice) -> Boat {
        let dice = &mut dice;
        let leg = dice.pick(3);
        let (one, two) = (course.mark(leg), course.mark(leg + course.marks.len() - 1));
        let mut hull = Hull::draw(dice);
        let scatter = Vec2::new(dice.normal(), dice.normal()) * 25.0;
        hull.at = two + (one - two) * dice.unit() + scatter;
        let side = dice.sign();
        hull.heading_deg = wrap_360(from_deg - 80.0 * side);
        hull.through = Vec2::along(hull.heading_deg, 1.0);
        Boat {
            id: format!("{}", ix + 1),
            hull,
            crew: Crew::draw(habits, dice),
            phone: Phone::draw(dice),
            doing: Doing::Sailing,
            since_s: 0.0,
            until_s: 0.0,
            side,
            turn: None,
            leg,
            leg_since_s: 0.0,
            next_tack_s: dice.between(20.0, 80.0),
            sheet_in_s: 0.0,
            believed_deg: from_deg,
            ripple: Wander::new(0.05, 4.0, dice),
            stuck_s: 0.0,
            calm: false,
            leaned: 0.3,
            speeds: VecDeque::new(),
            again_s: None,
            place: dice.between(-1.0, 1.0),
            starts_late_s: dice.between(-8.0, 20.0),
            dice: dice.clone(),
        }
    }

    pub(super) fn reason(&self) -> Option<Reason> {
        let calm = self.calm && matches!(self.doing, Doing::Sailing);
        self.doing.reason().or(calm.then_some(Reason::Becalmed))
    }

    pub(super) fn go(&mut self, doing: Doing, t_s: f64, lasts_s: f64) {
        (self.doing, self.since_s, self.until_s) = (doing, t_s, t_s + lasts_s);
        (self.turn, self.stuck_s) = (None, 0.0);
        self.leg_since_s = t_s;
    }

    /// From the line everybody goes to the same mark.
    pub(super) fn head_for_first_mark(&mut self) {
        self.leg = 0;
    }

    pub(super) fn off_deg(&self, air: Air) -> f64 {
        self.hull.off_deg(air.from_deg)
    }

    /// A step under sail. Gives the reason for which she goes over in a turn, if she does.
    pub(super) fn sail(&mut self, around: &Around<'_>) -> Option<Cause> {
        let (t_s, step_s) = (around.t_s, around.step_s);
        let error_deg = fold_180(around.air.from_deg - self.believed_deg);
        self.believed_deg = wrap_360(self.believed_deg + error_deg * step_s / 4.0);
        let off_deg = self.off_deg(around.air);
        let (_, beta_deg) = self.hull.felt(around.air, around.stream);
        let mut cause = None;
        let hands = match self.turn {
            Some(turn) => self.turning(turn, off_deg, around, &mut cause),
            None => {
                let want_deg = self.wanted_off_deg(around);
                // The better ones wait for way before they tack.
                let slow = self.hull.ahead_mps() < 0.24 * around.air.mps.min(6.0) * self.crew.skill;
                let turns = want_deg * self.side < 0.0 && !(slow && off_deg.abs() < 90.0);
                if turns {
                    let shy = self.crew.shy && around.air.mps > 6.0;
                    let by_wind = off_deg.abs() + want_deg.abs() < 180.0;
                    let through_wind = by_wind || around.course.tacks_only || shy;
                    self.turn = Some(Turn { through_wind, began_s: t_s, crossed: false });
                    self.next_tack_s = self.next_tack_s.max(t_s + 15.0);
                }
                let (sheet, luff_deg) = self.crew.trim(&self.hull, beta_deg, t_s, step_s);
                let stays = turns || want_deg * self.side < 0.0;
                let want_deg = if stays { self.side * off_deg.abs().max(50.0) } else { want_deg };
                let want_deg = self.side * (want_deg.abs() - luff_deg).max(25.0);
                let heading_deg = self.believed_deg - want_deg;
                let helm = self.crew.helm(&self.hull, heading_deg, t_s, step_s, &mut self.dice);
                let late = t_s < self.sheet_in_s;
                Hands {
                    helm,
                    sheet: if late { sheet.max(0.45) } else { sheet },
                    sheet_per_s: self.crew.sheet_per_s,
                    ..Hands::default()
                }
            }
        };
        self.hull.step(step_s, around.air, around.stream, &hands);
        self.notice(around);
        cause
    }

    /// Irons and calms are seen, not decided.
    fn notice(&mut self, around: &Around<'_>) {
        let (off_deg, ahead_mps) = (self.off_deg(around.air), self.hull.ahead_mps());
        let stuck = off_deg.abs() < IRONS_DEG && ahead_mps < IRONS_MPS && !self.calm;
        // While she still swings she may yet get through.
        let stuck = stuck && (self.hull.turn_dps.abs() < 4.0 || ahead_mps < 0.0);
        self.stuck_s = if stuck { self.stuck_s + around.step_s } else { 0.0 };
        self.calm = if self.calm {
            around.air.mps < 1.3 * CALM_WIND_MPS && ahead_mps < 2.0 * CALM_MPS
        } else {
            around.air.mps < CALM_WIND_MPS && ahead_mps < CALM_MPS
        };
        if self.stuck_s > 1.5 {
            let side = if self.dice.chance(0.5 + 0.4 * self.crew.skill) { -self.side } else { self.side };
            let puzzled_s = self.crew.puzzled_s * self.dice.between(0.5, 1.5);
            self.go(Doing::Irons { side }, around.t_s, puzzled_s);
        }
    }

    fn wanted_off_deg(&mut self, around: &Around<'_>) -> f64 {
        let t_s = around.t_s;
        let gathers = around.habits.gathers.is_some_and(|(from_s, to_s)| (from_s..to_s).contains(&t_s));
        let goal = if gathers { around.course.place(self.place) } else { around.course.mark(self.leg) };
        let way = goal - self.hull.at;
        if !gathers && (way.length() < ROUNDED_M || t_s - self.leg_since_s > GIVES_UP_S) {
            self.leg += 1;
            self.leg_since_s = t_s;
        }
        if matches!(self.doing, Doing::Approach) {
            return self.side * (self.crew.close_deg + 12.0);
        }
        let straight_deg = fold_180(self.believed_deg - way.bearing_deg());
        let mut off_deg = off_for(straight_deg, self.side, self.crew.close_deg, self.crew.broad_deg);
        // On a beat or a run they change sides when it suits them.
        let zigzags = off_deg != straight_deg;
        if zigzags && t_s > self.next_tack_s {
            self.next_tack_s = t_s + self.dice.between(22.0, 95.0);
            off_deg = -off_deg;
        } else if !zigzags {
            // Nearly there on the other side already: not for a few degrees.
            let near_deg = self.crew.close_deg + 4.0;
            if off_deg * self.side < 0.0 && off_deg.abs() < near_deg && t_s < self.next_tack_s - 70.0 {
                off_deg = self.side * self.crew.close_deg;
            }
        }
        off_deg
    }

    fn turning(&mut self, turn: Turn, off_deg: f64, around: &Around<'_>, cause: &mut Option<Cause>) -> Hands {
        let t_s = around.t_s;
        let new = -self.side;
        let crossed = off_deg * new > 0.0 && (turn.through_wind == (off_deg.abs() < 90.0));
        if crossed && !turn.crossed {
            *cause = self.thrown(turn.through_wind, around);
        }
        self.turn = Some(Turn { crossed: crossed || turn.crossed, ..turn });
        let far_deg =
            if turn.through_wind { self.crew.close_deg - 6.0 + self.crew.falls_off_deg } else { 168.0 };
        let through =
            crossed && if turn.through_wind { off_deg.abs() > far_deg } else { off_deg.abs() < far_deg };
        let tired = t_s - turn.began_s > 22.0;
        if through || tired {
            self.side = if tired && !through { off_deg.signum() } else { new };
            self.turn = None;
            self.sheet_in_s = t_s + if turn.through_wind { self.crew.sheets_late_s } else { 0.5 };
            self.next_tack_s = t_s + self.dice.between(22.0, 95.0);
        }
        let round = if turn.through_wind { 1.0 } else { -0.8 };
        // Past head to wind the jib, not yet let go, helps her round. Common practice, no source.
        let aback = (turn.through_wind && crossed && off_deg.abs() < 25.0).then_some(new);
        let sheet = if turn.through_wind { 0.15 } else { 0.75 };
        let sheet_per_s = self.crew.sheet_per_s;
        Hands { helm: round * self.side * self.crew.tack_helm, sheet, sheet_per_s, aback, ..Hands::default() }
    }

    /// Whether the boom or the new wind side throws her over as she passes through the wind.
    fn thrown(&mut self, through_wind: bool, around: &Around<'_>) -> Option<Cause> {
        let press = (around.air.mps / 6.0).powi(2) * (1.4 - 0.8 * self.crew.skill);
        let (chance, cause) = if through_wind { (0.0015, Cause::Tack) } else { (0.012, Cause::Gybe) };
        self.dice.chance((chance * press).min(0.3)).then_some(cause)
    }
}
