//! A dinghy on her side: how she goes over, loses her way, drifts, and comes up.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, wrap_360},
    third::{
        air::Air,
        habits::{Habits, from},
        hull::Hull,
    },
};

/// Why she went over; the names are those of the truth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cause {
    Gust,
    ToWindward,
    Gybe,
    Tack,
    Irons,
}

impl Cause {
    pub(super) fn name(self) -> &'static str {
        match self {
            Cause::Gust => "gust",
            Cause::ToWindward => "to-windward",
            Cause::Gybe => "gybe",
            Cause::Tack => "tack",
            Cause::Irons => "irons",
        }
    }
}

/// Upright to flat in less than this counts as quick in the truth, s.
const QUICK_S: f64 = 4.0;

#[derive(Clone, Debug)]
pub(super) struct Over {
    pub(super) cause: Cause,
    began_s: f64,
    falls_s: f64,
    /// Turn while she goes over; positive rounds her up.
    slews_dps: f64,
    /// The tack she was on, 1 starboard.
    side: f64,
    drag: f64,
    drift: f64,
    /// Direction of the drift off downwind, and its slow wander.
    off_deg: f64,
    veers: Wander,
    jerk_mps: f64,
    /// How the hull comes to lie to the wind, and how long that takes.
    lies_deg: f64,
    swings_s: f64,
    /// When she turns right over, if she does.
    turtle_s: Option<f64>,
    /// Next try at righting that fails, how many are left, and until when she hangs half up.
    fails_s: f64,
    fails: usize,
    half_up_s: f64,
}

impl Over {
    pub(super) fn draw(
        cause: Cause,
        side: f64,
        t_s: f64,
        lasts_s: f64,
        habits: &Habits,
        dice: &mut Dice,
    ) -> Over {
        let slews_dps = match cause {
            Cause::ToWindward => dice.between(-40.0, 5.0),
            Cause::Irons => dice.between(-12.0, 12.0),
            Cause::Gust | Cause::Gybe | Cause::Tack => dice.between(0.0, 38.0),
        };
        let most = (lasts_s / 25.0) as usize;
        let fails = usize::from(dice.chance(habits.half_rights)) * (1 + dice.pick(3));
        Over {
            cause,
            began_s: t_s,
            falls_s: dice.between(1.0, 5.0).min(0.4 * lasts_s),
            slews_dps,
            side,
            drag: from(habits.over_drag, dice),
            drift: from(habits.over_drift, dice),
            off_deg: (habits.over_off_deg * dice.normal()).clamp(-75.0, 75.0),
            veers: Wander::new(8.0, 60.0, dice),
            jerk_mps: habits.jerk_mps * dice.between(0.4, 1.3),
            lies_deg: dice.sign() * dice.between(60.0, 130.0),
            swings_s: dice.between(12.0, 70.0),
            turtle_s: dice.chance(habits.inverts).then(|| t_s + dice.between(8.0, 60.0)),
            fails_s: t_s + dice.between(0.25, 0.6) * lasts_s,
            fails: fails.min(most),
            half_up_s: 0.0,
        }
    }

    pub(super) fn is_quick(&self) -> bool {
        self.falls_s < QUICK_S
    }

    pub(super) fn is_inverted(&self, t_s: f64) -> bool {
        self.turtle_s.is_some_and(|at_s| t_s >= at_s)
    }

    pub(super) fn step(
        &mut self,
        hull: &mut Hull,
        t_s: f64,
        step_s: f64,
        air: Air,
        stream: Vec2,
        dice: &mut Dice,
    ) {
        let down = ((t_s - self.began_s + step_s) / self.falls_s).min(1.0);
        let turtle = self.is_inverted(t_s);
        if self.fails > 0 && t_s >= self.fails_s && down >= 1.0 {
            self.fails -= 1;
            self.half_up_s = t_s + dice.between(1.5, 6.0);
            self.fails_s = self.half_up_s + dice.between(10.0, 40.0);
            // Whoever rights her half-way brings her back on her side from upside down.
            self.turtle_s = self.turtle_s.filter(|at_s| *at_s > t_s);
            hull.turn_dps += 10.0 * dice.normal();
        }
        let half_up = t_s < self.half_up_s;

        // Rig and hull on their side stop her as the square of her way; the wind's push is such that, with all
        // of it in the water, she goes at her share of the wind.
        let share = self.drift * if turtle { 0.55 } else { 1.0 } * if half_up { 1.6 } else { 1.0 };
        let off_deg = self.off_deg + self.veers.step(step_s, dice);
        let rests = Vec2::along(air.from_deg + 180.0 + off_deg.clamp(-75.0, 75.0), share * air.mps);
        let way = hull.through - rests;
        let drag = (14.0 + (self.drag - 14.0) * down) * if half_up { 0.6 } else { 1.0 };
        // Some water is dragged along with her.
        let mass_kg = 1.25 * hull.mass_kg();
        hull.through = rests + way * (1.0 / (1.0 + step_s * drag * way.length() / mass_kg));
        // The last of it is friction, which goes with the way itself.
        let lasts = 1.0 - (step_s / 9.0) * down;
        hull.through = rests + (hull.through - rests) * lasts;
        if down >= 1.0 && dice.happens(3_600.0 / 14.0, step_s) {
            hull.through += Vec2::along(dice.between(0.0, 360.0), self.jerk_mps * dice.unit());
            hull.turn_dps += 6.0 * dice.normal();
        }

        let want_dps = if down < 1.0 {
            self.side * self.slews_dps
        } else {
            let error_deg = hull.off_deg(air.from_deg) - self.lies_deg;
            (crate::plane::fold_180(error_deg) / self.swings_s).clamp(-5.0, 5.0)
        };
        hull.turn_dps += (want_dps - hull.turn_dps) * (step_s / 1.2).min(1.0);
        hull.heading_deg = wrap_360(hull.heading_deg + hull.turn_dps * step_s);
        hull.load = 0.0;
        hull.at += (hull.through + stream) * step_s;
    }
}
