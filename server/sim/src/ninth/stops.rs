//! Stops that a crew means: hove-to, waiting with loose sheets, a dummy to be picked up.

use crate::plane::{Vec2, wrap_360};

use super::{
    boat::{Around, Boat},
    doing::{Doing, Wait},
    hands::{Helm, Orders, Sheet},
};

/// A man-overboard drill under way.
#[derive(Clone, Copy, Debug)]
pub(super) struct Drill {
    pub(super) dummy: Vec2,
    /// She sails away from it until then.
    pub(super) back_s: f64,
    gives_up_s: f64,
}

impl Boat {
    /// Whatever makes a crew stop.
    pub(super) fn stops(&mut self, around: &Around) {
        let (t_s, dt_s) = (around.t_s, around.dt_s);
        if t_s < self.rested_s {
            return;
        }
        if self.dice.happens(self.people.rests_ph, dt_s) {
            let lasts_s = self.dice.log_normal(350.0, 0.5);
            self.heave_to(t_s + lasts_s);
        } else if self.dice.happens(self.people.waits_ph, dt_s) {
            // For others, at a mark, or to put something right.
            let lasts_s = if self.dice.chance(0.4) {
                self.dice.log_normal(40.0, 0.5)
            } else {
                self.dice.log_normal(350.0, 0.5)
            };
            self.wait(t_s, t_s + lasts_s);
        } else if self.drill.is_none() && self.dice.happens(self.people.drills_ph, dt_s) {
            let away_s = self.dice.between(12.0, 25.0);
            self.drill =
                Some(Drill { dummy: self.hull.at, back_s: t_s + away_s, gives_up_s: t_s + away_s + 200.0 });
        }
    }

    pub(super) fn heave_to(&mut self, until_s: f64) {
        self.doing = Doing::HeavesTo { until_s };
    }

    pub(super) fn wait(&mut self, t_s: f64, until_s: f64) {
        let trims_s = t_s + self.dice.log_normal(300.0, 0.6);
        self.doing = Doing::Waits(Wait { until_s, trims_s });
    }

    /// On with it, and not at once into the next stop.
    pub(super) fn goes_on(&mut self, t_s: f64) {
        self.doing = Doing::Sails;
        self.rested_s = t_s + self.dice.between(40.0, 200.0);
    }

    /// Tiller to leeward, jib to windward, main half out: she fore-reaches slowly, falls off and comes up again.
    pub(super) fn lie_to(&mut self, until_s: f64, around: &Around) -> Orders {
        let off_deg = self.hull.off_deg(around.wind);
        let side = off_deg.signum();
        if around.t_s > until_s {
            self.goes_on(around.t_s);
        }
        let free = off_deg.abs() > 95.0 && self.hull.ahead_mps() > 0.6;
        if free {
            let helm = Helm::Steer(wrap_360(around.wind.from_deg - side * 55.0));
            return Orders { helm, sheet: Sheet::Trim, backed: 0.0, shaky: 1.0 };
        }
        Orders { helm: Helm::Hold(side * 30.0), sheet: Sheet::At(self.eased_deg), backed: side, shaky: 4.0 }
    }

    /// Sheets loose; now and then in for a moment, to stay where the others are.
    pub(super) fn lie(&mut self, wait: Wait, around: &Around) -> Orders {
        let off_deg = self.hull.off_deg(around.wind);
        if around.t_s > wait.until_s {
            self.goes_on(around.t_s);
        } else if around.t_s > wait.trims_s + self.tidies_s {
            let trims_s = around.t_s + self.dice.log_normal(300.0, 0.6);
            self.tidies_s = self.dice.between(4.0, 12.0);
            self.doing = Doing::Waits(Wait { trims_s, ..wait });
        }
        let up_deg = wrap_360(around.wind.from_deg - off_deg.signum() * 62.0);
        let sheet = if around.t_s > wait.trims_s { Sheet::Trim } else { Sheet::LetGo };
        Orders { helm: Helm::Steer(up_deg), sheet, backed: 0.0, shaky: 5.0 }
    }

    /// Where a drill makes her go; she stops when she is there.
    pub(super) fn drills(&mut self, around: &Around) -> Option<Vec2> {
        let drill = self.drill.as_mut()?;
        drill.dummy += around.stream * around.dt_s;
        let drill = *drill;
        if around.t_s > drill.gives_up_s {
            self.drill = None;
        }
        if around.t_s < drill.back_s {
            return None;
        }
        let near_m = (drill.dummy - self.hull.at).length();
        // She carries her way for some lengths once the sheets are loose.
        if near_m < 3.0 + 4.0 * self.hull.ahead_mps().max(0.0) {
            let until_s = around.t_s + 6.0 + self.dice.log_normal(28.0, 0.5);
            (self.drill, self.doing) = (None, Doing::PicksUp { until_s });
        }
        Some(drill.dummy)
    }

    pub(super) fn pick_up(&mut self, until_s: f64, around: &Around) -> Orders {
        if around.t_s > until_s {
            self.doing = Doing::Sails;
        }
        let side = self.hull.off_deg(around.wind).signum();
        // exercises.md: 50 to 70 degrees off the wind in the end.
        let helm = Helm::Steer(wrap_360(around.wind.from_deg - side * 58.0));
        Orders { helm, sheet: Sheet::LetGo, backed: 0.0, shaky: 2.0 }
    }
}
