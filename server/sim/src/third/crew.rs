//! The people in a dinghy: how they steer and trim, and how late. Common practice, no source.

use crate::{
    dice::{Dice, Wander},
    plane::fold_180,
    third::{
        habits::{Habits, from},
        hull::Hull,
    },
};

#[derive(Clone, Debug)]
pub(super) struct Crew {
    pub(super) skill: f64,
    /// Helm per degree off her course, and against how fast she turns: too much of one and too little of the
    /// other makes a wriggling wake.
    gain: f64,
    damp: f64,
    /// They look at where they go only now and then.
    looks_every_s: f64,
    looked_s: f64,
    seen_error_deg: f64,
    wanders: Wander,
    /// What they take for close-hauled and for as far downwind as they dare, degrees off the wind.
    pub(super) close_deg: f64,
    pub(super) broad_deg: f64,
    /// The sails' angle to the wind they trim for; a sheet is looked at only every so often.
    attack_deg: f64,
    trims_every_s: f64,
    trimmed_s: f64,
    sheet: f64,
    pub(super) sheet_per_s: f64,
    /// Helm in a tack, and how far past close-hauled they fall off after it.
    pub(super) tack_helm: f64,
    pub(super) falls_off_deg: f64,
    /// Seconds until the sheet comes in after a tack.
    pub(super) sheets_late_s: f64,
    /// How hard she must be pressed before they do something, whether that is luffing, and until when.
    bears: f64,
    luffs: bool,
    reacts_s: f64,
    pressed_s: f64,
    /// Rather tacks than gybes when it blows.
    pub(super) shy: bool,
    /// Seconds until they know what to do in irons.
    pub(super) puzzled_s: f64,
}

impl Crew {
    pub(super) fn draw(habits: &Habits, dice: &mut Dice) -> Crew {
        let skill = from(habits.skill, dice);
        let clumsy = 1.0 - skill;
        Crew {
            skill,
            gain: dice.between(0.02, 0.035 + 0.04 * clumsy),
            damp: dice.between(0.01, 0.02 + 0.03 * skill),
            looks_every_s: dice.between(0.25, 0.5 + 1.2 * clumsy),
            looked_s: 0.0,
            seen_error_deg: 0.0,
            wanders: Wander::new(2.0 + 6.0 * clumsy, dice.between(5.0, 20.0), dice),
            close_deg: dice.between(43.0, 48.0) + 9.0 * clumsy * dice.unit(),
            broad_deg: dice.between(142.0, 174.0),
            attack_deg: 16.0 + 9.0 * clumsy * dice.normal(),
            trims_every_s: dice.between(1.0, 2.0 + 6.0 * clumsy),
            trimmed_s: 0.0,
            sheet: 0.3,
            sheet_per_s: dice.between(0.15, 0.3 + 0.25 * skill),
            tack_helm: dice.between(0.45 + 0.2 * skill, 0.9),
            falls_off_deg: dice.between(0.0, 8.0 + 25.0 * clumsy),
            sheets_late_s: dice.between(0.5, 1.5 + 6.0 * clumsy),
            bears: dice.between(0.55, 0.85),
            luffs: dice.chance(0.5),
            reacts_s: dice.between(0.5, 1.0 + 3.0 * clumsy),
            pressed_s: 0.0,
            shy: dice.chance(0.3),
            puzzled_s: dice.between(3.0, 6.0 + 30.0 * clumsy),
        }
    }

    /// The helm for a wanted heading. With sternway it works the other way round, which few know.
    pub(super) fn helm(&mut self, hull: &Hull, want_deg: f64, t_s: f64, step_s: f64, dice: &mut Dice) -> f64 {
        let wander_deg = self.wanders.step(step_s, dice);
        if t_s - self.looked_s >= self.looks_every_s {
            self.looked_s = t_s;
            self.seen_error_deg = fold_180(want_deg - hull.heading_deg);
        } else {
            self.seen_error_deg -= hull.turn_dps * step_s;
        }
        let way = if hull.ahead_mps() < -0.1 && self.skill > 0.3 { -1.0 } else { 1.0 };
        (way * (self.gain * (self.seen_error_deg + wander_deg) - self.damp * hull.turn_dps)).clamp(-1.0, 1.0)
    }

    /// The sheet, and by how many degrees they luff, with the wind felt `beta_deg` off the bow.
    pub(super) fn trim(&mut self, hull: &Hull, beta_deg: f64, t_s: f64, step_s: f64) -> (f64, f64) {
        self.pressed_s = if hull.load > self.bears { self.pressed_s + step_s } else { 0.0 };
        if t_s - self.trimmed_s >= self.trims_every_s {
            self.trimmed_s = t_s;
            self.sheet = super::hull::sheet_for(beta_deg, self.attack_deg.max(5.0));
        }
        if self.pressed_s <= self.reacts_s {
            return (self.sheet, 0.0);
        }
        let over = ((hull.load - self.bears) / 0.3).clamp(0.2, 1.0);
        if self.luffs && beta_deg.abs() < 70.0 {
            (self.sheet + 0.1 * over, 18.0 * over)
        } else {
            (hull.sheet + 0.35 * over, 0.0)
        }
    }
}
