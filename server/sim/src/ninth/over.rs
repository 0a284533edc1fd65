//! A capsized hull: another body. Her mast is a sea anchor, her side a sail, her people swim about her.

use crate::{
    dice::Dice,
    plane::{Vec2, wrap_360},
};

use super::{class::Class, hull::Hull, people::People};

#[derive(Clone, Debug)]
pub(super) struct Over {
    pub(super) since_s: f64,
    pub(super) rights_s: f64,
    /// Not without a safety boat.
    pub(super) needs_help: bool,
    pub(super) inverts: bool,
    /// Someone stepped over onto the board and has her up before she fills.
    pub(super) dry: bool,
    pub(super) quick: bool,
    pub(super) cause: &'static str,
    /// Drift down the wind and across it, of the wind at 10 m.
    down: f64,
    across: f64,
    /// And with no wind at all, m/s.
    of_itself: Vec2,
    /// To lose the way she had, s.
    brakes_s: f64,
}

impl Over {
    pub(super) fn goes(
        hull: &Hull,
        (class, people): (&Class, &People),
        cause: &'static str,
        t_s: f64,
        dice: &mut Dice,
    ) -> Over {
        let inverts = dice.chance(0.2);
        let needs_help = dice.chance(if inverts { 0.3 } else { 0.08 });
        let dry = !inverts && !needs_help && dice.chance(0.2);
        let own_s = dice.log_normal(people.rights_s, 0.9) * if inverts { 1.6 } else { 1.0 };
        let own_s = if dry { dice.between(5.0, 13.0) } else { own_s.max(7.0) };
        Over {
            since_s: t_s,
            rights_s: t_s + own_s,
            needs_help,
            inverts,
            dry,
            quick: hull.leans_s < 4.0,
            cause,
            // leeway.md: SKIFF-3 1.65 %, SAILBOAT-8 1.79 %; 1.65 to 2.3 % is its own choice for a dinghy with her rig.
            down: dice.between(0.0165, 0.023),
            // leeway.md: SKIFF-3 0.39 % to either side.
            across: 0.0039 * dice.sign(),
            // leeway.md: SKIFF-3, half of the spread of 3.1 cm/s is there at no wind.
            of_itself: Vec2::new(0.0155 * dice.normal(), 0.0155 * dice.normal()),
            // A sail that fills stops her within her length or two, one that lies flat does not. A guess.
            brakes_s: dice.log_normal(2.2, 0.45) * (class.mass_kg / 280.0).sqrt(),
        }
    }

    /// `wind` is the air over the water at 10 m.
    pub(super) fn drift(&self, hull: &mut Hull, wind: Vec2, stream: Vec2, t_s: f64, dt_s: f64) {
        // Only a strip of bottom stands up in the wind once she is right over. A guess.
        let turtle = if self.is_inverted(t_s) { 0.75 } else { 1.0 };
        let drift = wind * (turtle * self.down) + wind.turned(90.0) * self.across + self.of_itself;
        hull.way = hull.way + (drift - hull.way) * (1.0 - (-dt_s / self.brakes_s).exp());
        hull.at += (hull.way + stream) * dt_s;
        // She swings slowly until her mast points down the wind.
        let to_deg = wind.bearing_deg() + 90.0;
        let turn_deg = (to_deg - hull.heading_deg).to_radians().sin() * 4.0;
        hull.heading_deg = wrap_360(hull.heading_deg + turn_deg * dt_s);
    }

    /// Half a minute after she went over, if at all.
    fn is_inverted(&self, t_s: f64) -> bool {
        self.inverts && t_s > self.since_s + 20.0
    }
}
