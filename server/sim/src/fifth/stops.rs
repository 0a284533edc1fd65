//! Every way of not going anywhere while upright.

use crate::{
    dice::{Dice, Wander},
    fifth::{
        air::Air,
        habits::Habits,
        hull::{Hull, Order},
    },
    plane::{Vec2, fold_180},
    truth::Reason,
};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    HoveTo,
    Wait,
    /// A safety boat is to come alongside.
    Await,
    Raft,
    Dummy,
    Reef,
    Irons,
    /// Righted, crew climbing in and bailing.
    Bail,
}

impl Kind {
    pub(super) fn reason(self) -> Reason {
        match self {
            Kind::HoveTo => Reason::HoveTo,
            Kind::Wait | Kind::Await | Kind::Reef => Reason::Waiting,
            Kind::Raft => Reason::Rafted,
            Kind::Dummy => Reason::DrillPickUp,
            Kind::Irons => Reason::InIrons,
            Kind::Bail => Reason::Recovering,
        }
    }
}

#[derive(Clone, Debug)]
pub(super) struct Stop {
    pub(super) kind: Kind,
    pub(super) until_s: f64,
    /// First closer to the wind, until then, losing way so quickly.
    luff: Option<(f64, f64)>,
    luff_tau_s: f64,
    /// How she lies, wind on the starboard side above 0, and how that swings.
    lies_deg: f64,
    swing: Wander,
    way_mps: f64,
    tau_s: f64,
    rate_dps: f64,
    /// Share of the wind she drifts with.
    drifts: f64,
    /// Sails that draw for a moment, until then.
    nudge: Option<(f64, f64)>,
}

impl Stop {
    /// A stop that begins now. Lengths and numbers: reasoned. Drift of an upright open boat, 3-4 % of the
    /// wind: Allen and Fitzgerald 1997 (3.65 %); the rest of the shares are spread about it.
    pub(super) fn begin(
        kind: Kind,
        t_s: f64,
        hull: &Hull,
        side: f64,
        habits: &Habits,
        dice: &mut Dice,
    ) -> Stop {
        let mut d = |low: f64, high: f64| dice.between(low, high);
        // How long, how she lies, ahead, way gone after, turning, drift, swing and how slowly that goes.
        let (lasts_s, lies_deg, way_mps, gone_s, rate_dps, drifts, swing_deg, swing_s) = match kind {
            Kind::HoveTo => {
                let lasts_s = d(60.0, 300.0);
                let gone_s = d(10.0, 22.0);
                (
                    lasts_s,
                    d(50.0, 65.0),
                    d(0.1, 0.4),
                    gone_s,
                    d(6.0, 14.0),
                    d(0.03, 0.04),
                    d(3.0, 8.0),
                    d(15.0, 40.0),
                )
            }
            Kind::Wait | Kind::Await | Kind::Raft => {
                // Many short ones, a few long ones.
                let lasts_s = 20.0 + 220.0 * d(0.0, 1.0).powi(2);
                let gone_s = 2.3 * hull.coast_s * d(0.85, 1.15);
                (
                    lasts_s,
                    d(75.0, 110.0),
                    0.0,
                    gone_s,
                    d(3.0, 9.0),
                    d(0.02, 0.05),
                    d(5.0, 14.0),
                    d(20.0, 60.0),
                )
            }
            Kind::Dummy => {
                let lasts_s = d(10.0, 40.0);
                (
                    lasts_s,
                    d(40.0, 65.0),
                    d(0.0, 0.15),
                    d(9.0, 18.0),
                    15.0,
                    d(0.02, 0.035),
                    d(4.0, 9.0),
                    d(8.0, 20.0),
                )
            }
            Kind::Reef => {
                let lasts_s = d(15.0, 60.0);
                (
                    lasts_s,
                    d(0.0, 12.0),
                    d(-0.3, 0.0),
                    d(10.0, 20.0),
                    d(10.0, 22.0),
                    d(0.01, 0.02),
                    d(6.0, 18.0),
                    d(6.0, 15.0),
                )
            }
            Kind::Irons => {
                let lasts_s = 5.0 + 45.0 * d(0.0, 1.0).powi(2);
                (
                    lasts_s,
                    0.0,
                    d(-0.5, -0.05),
                    d(10.0, 20.0),
                    d(6.0, 14.0),
                    d(0.01, 0.02),
                    d(5.0, 14.0),
                    d(6.0, 15.0),
                )
            }
            Kind::Bail => {
                let lasts_s = d(10.0, 90.0);
                (
                    lasts_s,
                    d(35.0, 105.0),
                    d(0.0, 0.2),
                    6.0,
                    d(3.0, 8.0),
                    d(0.018, 0.038),
                    d(5.0, 15.0),
                    d(10.0, 40.0),
                )
            }
        };
        let luffs = match kind {
            Kind::HoveTo => true,
            Kind::Wait | Kind::Await => dice.chance(habits.luffs),
            _ => false,
        };
        let luff = luffs.then(|| (t_s + dice.between(2.5, 6.0), dice.between(5.0, 35.0)));
        let swaps = kind == Kind::HoveTo && dice.chance(habits.tacks_to_stop);
        let tau_s = gone_s / 2.3;
        Stop {
            kind,
            until_s: t_s + lasts_s,
            luff,
            luff_tau_s: if kind == Kind::HoveTo { tau_s } else { hull.brake_s },
            lies_deg: lies_deg * side * if swaps { -1.0 } else { 1.0 },
            swing: Wander::new(swing_deg, swing_s, dice),
            way_mps,
            tau_s,
            rate_dps,
            drifts,
            nudge: None,
        }
    }

    pub(super) fn order(&mut self, t_s: f64, step_s: f64, air: Air, hull: &Hull, dice: &mut Dice) -> Order {
        let swing_deg = self.swing.step(step_s, dice);
        if self.kind == Kind::Wait && self.nudge.is_none() && dice.happens(25.0, step_s) {
            self.nudge = Some((t_s + dice.between(3.0, 8.0), dice.between(0.4, 1.0)));
        }
        self.nudge = self.nudge.filter(|(until_s, _)| t_s < *until_s);
        let mut order = Order {
            heading_deg: air.from_deg - self.lies_deg - swing_deg,
            rate_dps: self.rate_dps,
            way_mps: self.way_mps,
            tau_s: self.tau_s,
            drift: air.flow() * self.drifts,
            jerk: Vec2::default(),
        };
        if let Some((_, way_mps)) = self.nudge.filter(|_| self.luff.is_none_or(|luff| t_s > luff.0)) {
            order.way_mps = way_mps;
            order.tau_s = hull.gather_s;
        }
        if let Some((_, close_deg)) = self.luff.filter(|luff| t_s < luff.0) {
            let side = fold_180(air.from_deg - hull.heading_deg).signum();
            order.heading_deg = air.from_deg - side * close_deg;
            order.rate_dps = 2.0 * self.rate_dps.max(9.0);
            order.tau_s = self.luff_tau_s;
        }
        order
    }
}
