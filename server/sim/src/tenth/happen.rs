//! What happens to a boat from one moment to the next: how one doing ends and another begins.

use super::{
    STEP_S,
    boat::{Around, Boat},
    doing::{Doing, Turn},
    over::{Cause, Over, Way},
    stops::{TOGETHER, WAITING},
};
use crate::{plane::fold_180, truth::Reason};

/// With so much way she is under way again, m/s; after so long in any case, s. Guesses.
const UNDER_WAY_MPS: f64 = 0.5;
const UNDER_WAY_S: f64 = 30.0;
/// In which half of her way may be lost by turning, s: `tests/slowing.rs`.
const HALF_S: f64 = 3.2;

impl Boat {
    pub(super) fn happens(&mut self, around: &Around) {
        let t_s = around.t_s;
        match &self.doing {
            Doing::Sails { .. } => self.sailing_happens(t_s),
            Doing::Turns(_) => self.turn_goes_on(t_s),
            Doing::GoesOver { at_s, cause, way } if t_s >= *at_s => {
                let (cause, way) = (*cause, *way);
                self.is_over(cause, way, t_s);
            }
            Doing::Stops(stop) => {
                if stop.over_s.is_some_and(|over_s| t_s >= over_s) {
                    let is_in_irons = stop.reason == Some(Reason::InIrons);
                    self.is_over(if is_in_irons { Cause::Irons } else { Cause::Waiting }, Way::Sharp, t_s);
                } else if t_s >= stop.until_s {
                    self.sails_on(stop.dawdles, stop.reason == Some(Reason::InIrons), t_s);
                }
            }
            Doing::IsOver(over) if !over.helpless && t_s >= over.until_s => {
                let again = over.again;
                let until_s = t_s + self.capsizing.bails_s(&mut self.dice);
                self.side = self.dice.sign();
                self.does(Doing::Recovers { until_s, again });
            }
            Doing::Recovers { until_s, again } => {
                let goes_again = *again && self.dice.happens(400.0, STEP_S);
                if goes_again {
                    self.is_over(Cause::Gust, Way::Sharp, t_s);
                } else if t_s >= *until_s {
                    self.sails_on(1.0, false, t_s);
                }
            }
            Doing::Leaves { dawdles, until_s, .. } => {
                let dawdles = *dawdles;
                if self.motion.way_mps > UNDER_WAY_MPS || t_s >= *until_s {
                    self.doing = Doing::Sails { dawdles };
                }
            }
            Doing::GoesOver { .. } | Doing::IsOver(_) | Doing::IsTowed => (),
        }
    }

    pub(super) fn sails_on(&mut self, dawdles: f64, may_fall_off: bool, t_s: f64) {
        if may_fall_off {
            self.side = self.dice.sign();
        } else if self.off_deg() != 0.0 {
            self.side = self.off_deg().signum();
        }
        // The reason is the same: no other doing began.
        let reason = self.doing.reason();
        self.doing = Doing::Leaves { reason, dawdles, until_s: t_s + UNDER_WAY_S };
    }

    fn is_over(&mut self, cause: Cause, way: Way, t_s: f64) {
        let over = Over::begin(&self.capsizing, cause, way, t_s, &mut self.dice);
        self.does(Doing::IsOver(over));
    }

    fn sailing_happens(&mut self, t_s: f64) {
        if self.dice.happens(self.capsizing.per_h, STEP_S) {
            self.goes_over(t_s);
            return;
        }
        for ix in 0..self.stops.of_themselves.len() {
            if self.dice.happens(self.stops.of_themselves[ix].per_h, STEP_S) {
                let custom = self.stops.of_themselves[ix].clone();
                let mut stop = self.stop(&custom, t_s);
                stop.is_together = ix == TOGETHER;
                self.does(Doing::Stops(stop));
                return;
            }
        }
        // Pinched too far, or taken aback by a shift.
        if self.dice.happens(self.stops.irons.per_h, STEP_S) && self.off_deg().abs() < 80.0 {
            self.in_irons(t_s);
        }
    }

    fn in_irons(&mut self, t_s: f64) {
        let custom = self.stops.irons.clone();
        let stop = self.stop(&custom, t_s);
        self.does(Doing::Stops(stop));
    }

    /// What leads to it begins.
    fn goes_over(&mut self, t_s: f64) {
        let cause = self.capsizing.cause(&mut self.dice);
        let way = self.capsizing.way(&mut self.dice);
        let soon_s = t_s + self.dice.between(1.0, 5.0);
        match cause {
            Cause::Gust => {
                self.puff = (t_s + 8.0, self.dice.between(0.2, 0.6));
                self.does(Doing::GoesOver { at_s: soon_s, cause, way });
            }
            Cause::ToWindward => {
                self.puff = (t_s + 8.0, self.dice.between(-0.6, -0.2));
                self.does(Doing::GoesOver { at_s: soon_s, cause, way: Way::Sharp });
            }
            Cause::Gybe | Cause::Tack => {
                let to_deg = if cause == Cause::Gybe { 150.0 } else { 55.0 };
                self.turn_to(-self.side * to_deg, t_s);
                if let Doing::Turns(turn) = &mut self.doing {
                    (turn.goes_over, turn.fails) = (true, false);
                }
            }
            Cause::Irons | Cause::Waiting => {
                if cause == Cause::Irons {
                    self.in_irons(t_s);
                } else {
                    let custom = self.stops.of_themselves[WAITING].clone();
                    let stop = self.stop(&custom, t_s);
                    self.does(Doing::Stops(stop));
                }
                if let Doing::Stops(stop) = &mut self.doing {
                    stop.over_s = Some(t_s + (stop.until_s - t_s) * self.dice.between(0.2, 1.0));
                }
            }
        }
    }

    fn turn_goes_on(&mut self, t_s: f64) {
        let off_deg = self.off_deg();
        let Doing::Turns(turn) = &self.doing else { return };
        let done = turn.done(t_s);
        let (to_side, is_tack) = (turn.to_side, turn.is_tack);
        if turn.goes_over && done > 0.75 {
            let way = self.capsizing.way(&mut self.dice);
            self.is_over(if is_tack { Cause::Tack } else { Cause::Gybe }, way, t_s);
        } else if turn.fails && off_deg.abs() < 8.0 {
            self.in_irons(t_s);
        } else if done >= 1.0 {
            self.side = to_side;
            self.doing = Doing::Sails { dawdles: 1.0 };
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
        let leaves = (leaves * self.dice.log_normal(1.0, 0.12)).min(1.0);
        // However short it is meant to be: hulls turn so fast and no faster, and hardly lose half their way in 3 s.
        let least_s = (turns_deg.abs() / 45.0).max(HALF_S * 2.0 * (1.0 - leaves));
        let lasts_s = (lasts_s * self.dice.log_normal(1.0, 0.2)).max(least_s);
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
