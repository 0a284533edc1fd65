//! Tacks, gybes, and a boat that is caught head to wind.

use crate::plane::wrap_360;

use super::{
    boat::{Around, Boat},
    doing::{Doing, Irons, Turn},
    hands::{Helm, Orders, Sheet},
    hull::Hull,
};

/// Nearer to the wind nothing draws, degrees.
const DEAD_DEG: f64 = 36.0;
/// Less way and a rudder does nothing, m/s.
const NO_WAY_MPS: f64 = 0.2;

impl Boat {
    pub(super) fn begin_turn(&mut self, to: f64, is_tack: bool, t_s: f64) {
        let turn = Turn { to, since_s: t_s, botched: self.dice.chance(self.people.botches), over: false };
        self.doing = if is_tack { Doing::Tacks(turn) } else { Doing::Gybes(turn) };
    }

    pub(super) fn tack(&mut self, turn: Turn, around: &Around) -> Orders {
        let t_s = around.t_s;
        let off_deg = turn.to * self.hull.off_deg(around.wind);
        let steer_deg = wrap_360(around.wind.from_deg - turn.to * (self.people.close_deg + 6.0));
        // Someone who forgets the tiller half way, or puts it over as if it were hot.
        let rudder_deg = match (turn.botched, off_deg > -22.0) {
            (true, true) => 0.0,
            (true, false) => 0.45 * self.people.hard_deg,
            (false, _) => self.people.hard_deg,
        };
        let helm = if off_deg > 24.0 { Helm::Steer(steer_deg) } else { Helm::Hold(-turn.to * rudder_deg) };
        if off_deg > 38.0 || t_s - turn.since_s > 20.0 {
            self.doing = Doing::Sails;
        }
        Orders { helm, sheet: Sheet::Trim, backed: 0.0, shaky: 5.0 }
    }

    pub(super) fn gybe(&mut self, turn: Turn, around: &Around) -> Orders {
        let off_deg = turn.to * self.hull.off_deg(around.wind);
        if off_deg > 0.0 && !turn.over {
            self.doing = Doing::Gybes(Turn { over: true, ..turn });
            // The boom goes from side to side with the weight of the wind behind it.
            let slam_dps =
                0.055 * self.class.sail_m2 * around.wind.speed_mps.powi(2) * 230.0 / self.class.mass_kg;
            self.hull.roll_dps -= turn.to * slam_dps;
            if turn.botched {
                self.hands.slips(&self.class, &self.hull, around.t_s);
            }
        }
        let done = turn.over && off_deg > 0.0 && off_deg < 168.0;
        if done || around.t_s - turn.since_s > 25.0 {
            self.doing = Doing::Sails;
        }
        // One who forgets to straighten up again lets her round up under a full sail.
        let rudder_deg = if turn.botched { 1.2 } else { 0.6 } * self.people.hard_deg;
        Orders {
            helm: Helm::Hold(turn.to * rudder_deg),
            sheet: Sheet::At(if turn.over { 70.0 } else { 40.0 }),
            backed: 0.0,
            shaky: 8.0,
        }
    }

    /// She has lost her way where nothing draws.
    pub(super) fn is_caught(&mut self, around: &Around) -> bool {
        let near = self.hull.off_deg(around.wind).abs() < DEAD_DEG;
        let stuck = near && self.hull.ahead_mps() < NO_WAY_MPS;
        self.stuck_s = if stuck { self.stuck_s + around.dt_s } else { 0.0 };
        self.stuck_s > 6.0
    }

    pub(super) fn caught(&mut self, t_s: f64) {
        let to = match &self.doing {
            Doing::Tacks(turn) => turn.to,
            _ => self.dice.sign(),
        };
        let sees_s = t_s + self.dice.log_normal(self.people.wits_s, 0.7);
        self.doing = Doing::Irons(Irons { sees_s, to });
    }

    pub(super) fn irons(&mut self, irons: Irons, around: &Around) -> Orders {
        let off_deg = self.hull.off_deg(around.wind);
        let steer_deg = wrap_360(around.wind.from_deg - irons.to * 75.0);
        if self.hull.ahead_mps() > 0.55 && off_deg.abs() > 40.0 {
            self.doing = Doing::Sails;
        } else if around.t_s > irons.sees_s + 40.0 {
            // It did not work; the other way, then.
            let sees_s = around.t_s + self.dice.between(2.0, 10.0);
            self.doing = Doing::Irons(Irons { sees_s, to: -irons.to });
        }
        let filled = off_deg.abs() > 52.0;
        let backed = if around.t_s > irons.sees_s && !filled { irons.to } else { 0.0 };
        let helm = if around.t_s < irons.sees_s {
            Helm::Steer(steer_deg)
        } else if filled {
            Helm::Steer(wrap_360(around.wind.from_deg - off_deg.signum() * 75.0))
        } else {
            Helm::Hold(astern(&self.hull) * -irons.to * 28.0)
        };
        // Until they see, they haul the sheet in to make her go.
        let sheet = if around.t_s < irons.sees_s && !filled {
            Sheet::At(12.0)
        } else if filled {
            Sheet::Trim
        } else {
            Sheet::LetGo
        };
        Orders { helm, sheet, backed, shaky: 10.0 }
    }
}

fn astern(hull: &Hull) -> f64 {
    if hull.ahead_mps() < 0.0 { -1.0 } else { 1.0 }
}
