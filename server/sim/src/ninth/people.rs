//! Crews: how soon they feel, how well they steer and trim, what they get wrong and how often they stop.

use crate::dice::Dice;

/// A club: what its instructors ask for, and how green its people are. Everything here is a guess, drawn wide.
#[derive(Clone, Copy, Debug)]
pub(super) struct Club {
    /// 1 for the usual beginners, more for greener ones.
    pub(super) green: f64,
    pub(super) rests_ph: f64,
    pub(super) waits_ph: f64,
    /// The whole group is called together, an hour.
    pub(super) calls_ph: f64,
    /// How likely a group that is called heaves to rather than let its sheets go.
    pub(super) heaves: f64,
    pub(super) talks_ph: f64,
    pub(super) drills_ph: f64,
    pub(super) heavy: bool,
    /// Share of the sail area that is set.
    pub(super) reef: f64,
    /// How many capsizes a safety boat goes to unasked.
    pub(super) attends: f64,
}

impl Club {
    pub(super) fn draw(windy: bool, dice: &mut Dice) -> Club {
        Club {
            green: dice.log_normal(1.0, 0.3),
            rests_ph: dice.log_normal(0.41, 0.4),
            waits_ph: dice.log_normal(0.5, 0.4),
            calls_ph: dice.log_normal(0.7, 0.4),
            heaves: dice.between(0.15, 0.7),
            talks_ph: dice.log_normal(2.5, 0.4),
            drills_ph: dice.log_normal(0.3, 0.6),
            heavy: dice.chance(0.45),
            reef: if windy { dice.between(0.7, 0.95) } else { dice.between(0.85, 1.0) },
            attends: dice.between(0.1, 0.5),
        }
    }
}

/// A crew of two.
#[derive(Clone, Copy, Debug)]
pub(super) struct People {
    /// From seeing to moving, s.
    pub(super) lag_s: f64,
    /// To bring their weight across, s.
    pub(super) shift_s: f64,
    pub(super) waver_deg: f64,
    pub(super) trim_deg: f64,
    /// Tiller in a tack, degrees.
    pub(super) hard_deg: f64,
    /// Tacks and gybes that go wrong.
    pub(super) botches: f64,
    /// Slips and stumbles, an hour.
    pub(super) slips_ph: f64,
    /// The sheet is eased when she heels; else it is held on to.
    pub(super) eases: bool,
    /// They know that a rudder works the other way round astern.
    pub(super) knows_astern: bool,
    /// To understand that she is in irons, s.
    pub(super) wits_s: f64,
    /// Closest they sail to the wind, degrees.
    pub(super) close_deg: f64,
    pub(super) rests_ph: f64,
    pub(super) waits_ph: f64,
    pub(super) drills_ph: f64,
    /// To get back on the board and pull her up, s.
    pub(super) rights_s: f64,
}

impl People {
    pub(super) fn draw(club: &Club, dice: &mut Dice) -> People {
        let green = club.green * dice.log_normal(1.0, 0.3);
        People {
            lag_s: 0.6 * green * dice.between(0.7, 1.5),
            shift_s: 1.1 * green * dice.between(0.7, 1.5),
            waver_deg: 5.0 * green,
            trim_deg: 8.0 * green,
            hard_deg: dice.between(22.0, 33.0),
            botches: (0.02 * green).min(0.4),
            slips_ph: 3.9 * green,
            eases: dice.chance(0.75 / green.max(0.8)),
            knows_astern: dice.chance(0.4 / green.max(0.8)),
            wits_s: 46.0 * green,
            close_deg: dice.between(44.0, 54.0),
            rests_ph: club.rests_ph * dice.log_normal(1.0, 0.4),
            waits_ph: club.waits_ph * dice.log_normal(1.0, 0.4),
            drills_ph: club.drills_ph,
            rights_s: dice.log_normal(50.0, 0.4) * green.sqrt(),
        }
    }
}
