//! From what a crew means to do to what tiller, sheet and weight do: later, not quite, and at times wrongly.

use crate::{
    dice::{Dice, Wander},
    plane::fold_180,
};

use super::{
    class::Class,
    day::Wind,
    hull::{Held, Hull},
    people::People,
    sails::Trim,
};

/// Decks steeper than this are climbed, not crossed, degrees: a guess.
const STEEP_DEG: f64 = 32.0;

/// How a boat is to be steered.
#[derive(Clone, Copy, Debug)]
pub(super) enum Helm {
    /// Towards there, degrees.
    Steer(f64),
    /// The tiller held still: rudder, degrees, starboard positive.
    Hold(f64),
}

/// What is to be done with the main sheet.
#[derive(Clone, Copy, Debug)]
pub(super) enum Sheet {
    Trim,
    LetGo,
    /// Boom at so many degrees.
    At(f64),
}

/// What the crew means to do.
#[derive(Clone, Copy, Debug)]
pub(super) struct Orders {
    pub(super) helm: Helm,
    pub(super) sheet: Sheet,
    /// As in [`Trim`].
    pub(super) backed: f64,
    /// How likely someone slips, in times of what is usual.
    pub(super) shaky: f64,
}

/// Someone falls, slips or sits down on the wrong side.
#[derive(Clone, Copy, Debug)]
struct Slip {
    weight_m: f64,
    until_s: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Hands {
    pub(super) held: Held,
    waver_deg: Wander,
    misjudged_deg: Wander,
    felt_nm: f64,
    felt_heel_deg: f64,
    slip: Option<Slip>,
    dice: Dice,
}

impl Hands {
    pub(super) fn of(people: &People, mut dice: Dice) -> Hands {
        Hands {
            held: Held {
                rudder_deg: 0.0,
                trim: Trim { boom_deg: 40.0, backed: 0.0 },
                good: dice.between(0.62, 0.95),
                weight_m: 0.0,
            },
            waver_deg: Wander::new(people.waver_deg, 12.0, &mut dice),
            misjudged_deg: Wander::new(people.trim_deg, 25.0, &mut dice),
            felt_nm: 0.0,
            felt_heel_deg: 0.0,
            slip: None,
            dice,
        }
    }

    /// Someone is on the wrong side for a moment.
    pub(super) fn slips(&mut self, class: &Class, hull: &Hull, t_s: f64) {
        let pressed = hull.press_nm.abs() > 60.0 && self.dice.chance(0.85);
        let lee = if pressed { hull.press_nm.signum() } else { self.dice.sign() };
        self.slip = Some(Slip {
            weight_m: lee * class.reach_m * self.dice.between(0.15, 0.95),
            until_s: t_s + self.dice.between(0.8, 6.0),
        });
    }

    pub(super) fn step(
        &mut self,
        (people, class, hull): (&People, &Class, &Hull),
        orders: &Orders,
        wind: Wind,
        (t_s, dt_s): (f64, f64),
    ) {
        self.waver_deg.step(dt_s, &mut self.dice);
        self.misjudged_deg.step(dt_s, &mut self.dice);
        let follow = |tau_s: f64| 1.0 - (-dt_s / tau_s.max(0.1)).exp();
        self.felt_nm += (hull.press_nm - self.felt_nm) * follow(people.shift_s);
        self.felt_heel_deg += (hull.heel_deg - self.felt_heel_deg) * follow(people.lag_s);
        if self.dice.happens(people.slips_ph * orders.shaky, dt_s) {
            self.slips(class, hull, t_s);
        }
        let rudder_deg = self.meant_rudder_deg(people, hull, orders.helm);
        self.held.rudder_deg += (rudder_deg - self.held.rudder_deg) * follow(people.lag_s);
        self.sheet(people, hull.off_deg(wind).abs(), orders, dt_s);
        self.balance(people, class, t_s, dt_s);
    }

    fn meant_rudder_deg(&self, people: &People, hull: &Hull, helm: Helm) -> f64 {
        match helm {
            Helm::Hold(rudder_deg) => rudder_deg,
            Helm::Steer(to_deg) => {
                let wrong_deg = fold_180(to_deg + self.waver_deg.value - hull.heading_deg);
                let astern = hull.ahead_mps() < -0.08 && people.knows_astern;
                let meant_deg = (1.1 * wrong_deg - 1.4 * people.lag_s * hull.turn_dps).clamp(-32.0, 32.0);
                if astern { -meant_deg } else { meant_deg }
            }
        }
    }

    fn sheet(&mut self, people: &People, off_deg: f64, orders: &Orders, dt_s: f64) {
        let meant_deg = match orders.sheet {
            Sheet::LetGo => 88.0,
            Sheet::At(boom_deg) => boom_deg,
            Sheet::Trim => {
                let much_deg = if people.eases { (self.felt_heel_deg.abs() - 12.0).max(0.0) } else { 0.0 };
                (off_deg - 24.0 + self.misjudged_deg.value).clamp(9.0, 78.0) + 2.0 * much_deg
            }
        };
        // It runs out by itself and has to be pulled in.
        let change_deg = meant_deg - self.held.trim.boom_deg;
        self.held.trim.boom_deg += change_deg.clamp(-14.0 * dt_s, 35.0 * dt_s);
        self.held.trim.backed = orders.backed;
    }

    fn balance(&mut self, people: &People, class: &Class, t_s: f64, dt_s: f64) {
        self.slip = self.slip.filter(|slip| t_s < slip.until_s);
        let heel_deg = self.felt_heel_deg;
        let (meant_m, pace) = match self.slip {
            Some(slip) => (slip.weight_m, 2.5),
            None => {
                let level_m = -self.felt_nm / (class.crew_kg * 9.81) - 0.010 * heel_deg;
                // A steep deck is a wall: who lies at its foot climbs it slowly.
                let pace = if heel_deg.abs() > STEEP_DEG { 0.25 } else { 1.4 };
                (level_m, pace / people.shift_s)
            }
        };
        let meant_m = meant_m.clamp(-class.reach_m, class.reach_m);
        let most_m = pace * dt_s;
        self.held.weight_m += (meant_m - self.held.weight_m).clamp(-most_m, most_m);
    }

    /// After a capsize: nobody sits anywhere, every sheet is loose.
    pub(super) fn let_go(&mut self) {
        self.held.trim = Trim { boom_deg: 88.0, backed: 0.0 };
        (self.held.weight_m, self.held.rudder_deg) = (0.0, 0.0);
        (self.felt_nm, self.felt_heel_deg, self.slip) = (0.0, 0.0, None);
    }
}
