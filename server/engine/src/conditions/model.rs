//! What each condition looks like: every parameter of the belief, with where it comes from.
//!
//! Marks as in the reference sheets: a named source; "practice" for trade practice without one;
//! "reasoned" where it follows from the physics of a small boat as said beside it.

use super::around::Surroundings;

/// What a boat is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Condition {
    /// Making way as her class and crew do in this wind.
    Sailing,
    /// Turning: slower for some seconds, course swinging. A knockdown that recovers is one too.
    Manoeuvring,
    /// Head to wind without way, or falling astern.
    InIrons,
    /// Stopped on purpose with sails set, forereaching slowly.
    HoveTo,
    /// Lying with flapping sails: for a start, a turn, a word from the instructor.
    Waiting,
    /// Stopping beside something in the water, as drilled.
    PickingUp,
    /// Alongside a safety boat.
    Rafted,
    /// Moving as the safety boat ahead of her does.
    Towed,
    /// At a landing place.
    Ashore,
    /// On the ground away from a landing place.
    Aground,
    /// On a mooring or at anchor.
    Moored,
    /// No wind to speak of, and everyone slow.
    Becalmed,
    /// Upright again after a capsize, bailing and sorting out.
    Righted,
    /// On her side or upside down.
    Capsized,
}

impl Condition {
    /// How many there are.
    pub const COUNT: usize = 14;

    /// All of them, in the order of their discriminants.
    pub const ALL: [Condition; Condition::COUNT] = [
        Condition::Sailing,
        Condition::Manoeuvring,
        Condition::InIrons,
        Condition::HoveTo,
        Condition::Waiting,
        Condition::PickingUp,
        Condition::Rafted,
        Condition::Towed,
        Condition::Ashore,
        Condition::Aground,
        Condition::Moored,
        Condition::Becalmed,
        Condition::Righted,
        Condition::Capsized,
    ];

    /// As shown to people: `in irons`.
    pub fn word(self) -> &'static str {
        match self {
            Condition::Sailing => "sailing",
            Condition::Manoeuvring => "manoeuvring",
            Condition::InIrons => "in irons",
            Condition::HoveTo => "hove-to",
            Condition::Waiting => "waiting",
            Condition::PickingUp => "picking up",
            Condition::Rafted => "alongside a safety boat",
            Condition::Towed => "under tow",
            Condition::Ashore => "at the landing",
            Condition::Aground => "aground",
            Condition::Moored => "moored",
            Condition::Becalmed => "becalmed",
            Condition::Righted => "righted, bailing",
            Condition::Capsized => "capsized",
        }
    }

    /// Whether she makes way under sail.
    pub fn makes_way(self) -> bool {
        matches!(self, Condition::Sailing | Condition::Manoeuvring)
    }

    pub(crate) fn ix(self) -> usize {
        self as usize
    }
}

/// How a boat comes to rest in a condition and how she lies in it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rest {
    /// Time constant of losing her way, s (down to a third after one, a tenth after 2.3).
    pub stop_s: f64,
    /// Spread of that loss, as a share of what is lost in a step.
    pub stop_spread: f64,
    /// Mean turn of the course towards the wind while she loses way, degrees a second.
    pub luff_dps: f64,
    /// Spread of the course while she loses way, as an angle in radians per root second.
    pub veer_rad: f64,
    /// How much her speed swings about its mean once she lies, m/s on each axis.
    pub swing_mps: f64,
    /// How fast that mean itself wanders, m/s per root second.
    pub wander_mps: f64,
    /// Median of how long it lasts, s.
    pub lasts_s: f64,
    /// Spread of the logarithm of how long it lasts.
    pub lasts_spread: f64,
}

/// The table of [`Rest`]s. Sailing and manoeuvring have none: they are speed rings (see `filter`).
pub(crate) fn rest(condition: Condition) -> Rest {
    let usual = Rest {
        stop_s: 4.0, // a luffed training dinghy carries her way 5 to 10 s (practice)
        stop_spread: 0.6,
        luff_dps: 0.0,
        veer_rad: 0.15,
        swing_mps: 0.11, // flapping sails, short runs forward, crew moving about (reasoned)
        wander_mps: 0.02,
        lasts_s: 45.0,
        lasts_spread: 0.9,
    };
    match condition {
        // She stops within 2 to 4 s: the rig in the water is a sea anchor. Then the hull drifts
        // steadily; wavelets alone move it. 20 s for an expert to 5 min (`detection.md` (a)).
        Condition::Capsized => Rest {
            stop_s: 1.1,
            stop_spread: 0.6,
            veer_rad: 0.2,
            swing_mps: 0.07,
            wander_mps: 0.006,
            lasts_s: 70.0,
            lasts_spread: 1.0,
            ..usual
        },
        // A tack that dies: the bow comes up at the turn rate of a tack (45 deg in 4 s) and the
        // way goes on to windward before it is lost. Got out of in 10 to 60 s (practice).
        Condition::InIrons => {
            Rest { stop_s: 3.0, luff_dps: 11.0, veer_rad: 0.25, lasts_s: 20.0, lasts_spread: 0.7, ..usual }
        }
        Condition::HoveTo => Rest { stop_s: 4.5, luff_dps: 7.0, ..usual },
        Condition::Waiting => Rest { luff_dps: 6.0, swing_mps: 0.14, ..usual },
        // The final approach on a close reach, sails eased, then alongside for some seconds.
        Condition::PickingUp => {
            Rest { stop_s: 3.5, luff_dps: 6.0, lasts_s: 15.0, lasts_spread: 0.6, ..usual }
        }
        Condition::Rafted => Rest { stop_s: 3.0, lasts_s: 90.0, ..usual },
        Condition::Towed => Rest {
            stop_s: 2.0,
            swing_mps: 0.25, // the rope snatches
            wander_mps: 0.1,
            lasts_s: 300.0,
            ..usual
        },
        Condition::Ashore => Rest {
            stop_s: 2.5,
            swing_mps: 0.06,
            wander_mps: 0.003,
            lasts_s: 900.0,
            lasts_spread: 1.2,
            ..usual
        },
        Condition::Aground => {
            Rest { stop_s: 0.8, swing_mps: 0.05, wander_mps: 0.003, lasts_s: 90.0, ..usual }
        }
        Condition::Moored => Rest {
            stop_s: 3.0,
            swing_mps: 0.05,
            wander_mps: 0.003,
            lasts_s: 900.0,
            lasts_spread: 1.2,
            ..usual
        },
        Condition::Becalmed => {
            Rest { stop_s: 12.0, swing_mps: 0.08, lasts_s: 180.0, lasts_spread: 1.0, ..usual }
        }
        Condition::Righted => Rest { stop_s: 3.0, lasts_s: 20.0, lasts_spread: 0.8, ..usual },
        Condition::Sailing | Condition::Manoeuvring => usual,
    }
}

/// The mean velocity of a boat at rest, before any of it is seen: over the water, in the frame of
/// the wind (`down` the wind, `across` positive to the right looking downwind), with standard
/// deviations, m/s.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lie {
    pub down_mps: f64,
    pub down_sd: f64,
    pub across_mps: f64,
    pub across_sd: f64,
}

/// Where a boat in `condition` goes in a wind of `wind_mps`, having sailed to the side `side`
/// (-1..=1: how surely her way was across the wind to the left or the right).
pub(crate) fn lie(condition: Condition, wind_mps: f64, side: f64) -> Lie {
    let wind = wind_mps.clamp(0.0, 20.0);
    let forward = |speed: f64, sd: f64, down: f64, down_sd: f64| {
        // The mean of a mixture of both sides, and its spread, by how surely the side is known.
        let left_over = speed * speed * (1.0 - side * side);
        Lie { down_mps: down, down_sd, across_mps: speed * side, across_sd: (sd * sd + left_over).sqrt() }
    };
    match condition {
        // leeway.md: 1.65 to 2.3 % of the wind downwind; a real capsized dinghy went 0.4 m/s some
        // 60 to 75 deg off downwind, so the window is wide, above all across.
        Condition::Capsized => Lie {
            down_mps: 0.019 * wind,
            down_sd: 0.04 + 0.008 * wind,
            across_mps: 0.0,
            across_sd: 0.05 + 0.015 * wind,
        },
        // Windage of an upright hull with flapping sails, bow-on: SKIFF-2 upright drifts 2.9 % plus
        // 4 cm/s (leeway.csv); flapping sails add as much again (reasoned): 0.3 to 0.6 m/s.
        Condition::InIrons => Lie {
            down_mps: 0.045 * wind,
            down_sd: 0.06 + 0.02 * wind,
            across_mps: 0.0,
            across_sd: 0.12 + 0.01 * wind,
        },
        // 0.5 to 1.5 kn forward, some leeway (practice).
        Condition::HoveTo => forward(0.45, 0.2, 0.02 * wind, 0.08 + 0.01 * wind),
        Condition::Waiting => forward(0.25, 0.2, 0.02 * wind, 0.10 + 0.01 * wind),
        Condition::PickingUp => forward(0.2, 0.2, 0.0, 0.18),
        Condition::Righted => forward(0.15, 0.2, 0.025 * wind, 0.08 + 0.01 * wind),
        Condition::Becalmed => forward(0.0, 0.2, 0.0, 0.2),
        Condition::Rafted => forward(0.0, 0.15, 0.0, 0.15),
        Condition::Towed => forward(0.0, 0.4, 0.0, 0.4),
        Condition::Ashore | Condition::Aground | Condition::Moored => forward(0.0, 0.04, 0.0, 0.04),
        Condition::Sailing | Condition::Manoeuvring => forward(0.0, 0.6, 0.0, 0.6),
    }
}

/// Turns an hour begun while sailing (about one every two minutes; practice, and the recordings'
/// 58 tacks and 15 gybes in two hours), and how long their loss of speed lasts, s.
pub(crate) const TURNS_PER_H: f64 = 40.0;
/// Mean time that a turn keeps a boat slow, s (`exercises.md`: a good tack takes under 10 s).
pub(crate) const TURN_LASTS_S: f64 = 6.0;
/// Share of the expected speed left in a turn ("loses less than half the speed" is good).
pub(crate) const TURN_PACE: f64 = 0.5;

/// Capsizes an hour of sailing of a beginners' boat in [`CAPSIZE_WIND_MPS`] of wind. Practice: in
/// a moderate breeze a boat with novices goes over about once in two to three hours.
const CAPSIZE_PER_H: f64 = 0.4;
/// See [`CAPSIZE_PER_H`]; the rate follows the square of the wind as the heeling force does.
const CAPSIZE_WIND_MPS: f64 = 5.5;
/// While she lies with sails let go hardly anything can capsize her: this share of the rate.
const CAPSIZE_AT_REST: f64 = 0.03;
/// A capsize is this much likelier in the seconds after a gybe (practice: the usual moment).
const CAPSIZE_AFTER_GYBE: f64 = 5.0;
/// "The seconds after": 8.
const GYBE_LASTS_S: f64 = 8.0;
/// And grows with this power of the gust ratio beyond the square of the mean wind.
const CAPSIZE_GUST_POWER: f64 = 4.0;

/// Rates at which conditions begin, an hour, given what surrounds her.
pub(crate) struct Onsets {
    /// From sailing or manoeuvring.
    pub sailing_per_h: [f64; Condition::COUNT],
    /// From any other condition, on top of what [`successors`] says of its end.
    pub resting_per_h: [f64; Condition::COUNT],
}

/// Onset rates. `twa_deg` is how far her way is off the wind, `None` when not known.
pub(crate) fn onsets(around: &Surroundings, twa_deg: Option<f64>) -> Onsets {
    let wind = around.wind_mps();
    let gust = around.gust_ratio().clamp(0.7, 2.0);
    let gybed = around.since_gybe_s.is_some_and(|s| s < GYBE_LASTS_S);
    let strength = (wind / CAPSIZE_WIND_MPS).powi(2).clamp(0.05, 6.0);
    let capsize = CAPSIZE_PER_H
        * strength
        * gust.powf(CAPSIZE_GUST_POWER)
        * if gybed { CAPSIZE_AFTER_GYBE } else { 1.0 };

    // In irons can only begin from close to the wind.
    let irons = match twa_deg {
        None => 1.0,
        Some(twa) if twa < 70.0 => 1.6,
        Some(twa) if twa < 100.0 => 0.4,
        Some(_) => 0.1,
    };
    // Boats wait together: for a start, a briefing, the last one round the mark.
    let company = 1.0 + 2.0 * (1.0 - around.fleet.moving_share) * f64::from(around.fleet.boats.min(1));
    let mark = if around.mark_m.is_some_and(|m| m < 25.0) { 2.0 } else { 1.0 };
    let pick_up = match (around.drill, around.mark_m) {
        (true, _) => 20.0,
        (false, Some(m)) if m < 20.0 => 0.4,
        (false, _) => 0.1,
    };
    let safety_m = around.safety.map(|safety| safety.distance_m);
    // A boat's length or two, and both receivers' errors (GPS.gov: 4.9 m radius each).
    let rafted = match safety_m {
        Some(m) => 90.0 * (-(m / 12.0).powi(2)).exp() + 0.001,
        None => 0.01,
    };
    let safety_moves = around.safety.is_some_and(|safety| safety.velocity.speed_mps() > 0.5);
    let towed = match safety_m {
        Some(m) if m < 60.0 && safety_moves => 4.0,
        Some(m) if m < 60.0 => 0.4,
        Some(_) => 0.001,
        None => 0.01,
    };
    let ashore = match around.landing_m {
        Some(m) => 80.0 * (-(m / 20.0).powi(2)).exp() + 0.001,
        None => 0.01,
    };
    let light = 1.0 / (1.0 + ((wind - 1.6) / 0.35).exp());
    let slow_fleet = if around.fleet.boats == 0 { 0.5 } else { 1.0 - around.fleet.moving_share };
    let becalmed = 12.0 * light * (0.2 + 0.8 * slow_fleet);

    let mut sailing_per_h = [0.0; Condition::COUNT];
    let mut set = |condition: Condition, rate: f64| sailing_per_h[condition.ix()] = rate;
    set(Condition::InIrons, irons);
    set(Condition::HoveTo, 1.2 * company);
    set(Condition::Waiting, 1.2 * company * mark);
    set(Condition::PickingUp, pick_up);
    set(Condition::Rafted, rafted);
    set(Condition::Towed, towed);
    set(Condition::Ashore, ashore);
    set(Condition::Aground, 0.01);
    set(Condition::Moored, 0.02);
    set(Condition::Becalmed, becalmed);
    set(Condition::Capsized, capsize);

    let mut resting_per_h = sailing_per_h;
    for rate in &mut resting_per_h {
        *rate *= 0.3;
    }
    resting_per_h[Condition::Rafted.ix()] = rafted;
    resting_per_h[Condition::Towed.ix()] = towed;
    resting_per_h[Condition::Capsized.ix()] = capsize * CAPSIZE_AT_REST;
    Onsets { sailing_per_h, resting_per_h }
}

/// What follows when a condition ends, with probabilities that sum to one.
pub(crate) fn successors(condition: Condition) -> &'static [(Condition, f64)] {
    match condition {
        Condition::Capsized => &[(Condition::Righted, 0.85), (Condition::Sailing, 0.15)],
        // A boat full of water goes over again easily (`detection.md` (a): "a second capsize").
        Condition::Righted => &[(Condition::Sailing, 0.88), (Condition::Capsized, 0.12)],
        Condition::InIrons => &[(Condition::Sailing, 0.8), (Condition::Waiting, 0.2)],
        Condition::HoveTo => &[(Condition::Sailing, 0.85), (Condition::Waiting, 0.15)],
        Condition::Waiting => &[(Condition::Sailing, 0.85), (Condition::HoveTo, 0.15)],
        Condition::Rafted => &[(Condition::Sailing, 0.6), (Condition::Towed, 0.2), (Condition::Waiting, 0.2)],
        Condition::Towed => &[(Condition::Rafted, 0.5), (Condition::Sailing, 0.5)],
        Condition::Sailing
        | Condition::Manoeuvring
        | Condition::PickingUp
        | Condition::Ashore
        | Condition::Aground
        | Condition::Moored
        | Condition::Becalmed => &[(Condition::Sailing, 1.0)],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_condition_ends_in_something() {
        for condition in Condition::ALL {
            let sum: f64 = successors(condition).iter().map(|&(_, share)| share).sum();
            assert!((sum - 1.0).abs() < 1e-12, "{condition:?}");
            assert_eq!(Condition::ALL[condition.ix()], condition);
        }
    }

    #[test]
    fn a_gust_and_a_gybe_make_a_capsize_likelier_and_a_lull_does_not() {
        let calm = Surroundings::default();
        let gybed = Surroundings { since_gybe_s: Some(3.0), ..calm };
        let of = |around: &Surroundings| onsets(around, None).sailing_per_h[Condition::Capsized.ix()];
        assert!(of(&gybed) > 3.0 * of(&calm));
    }
}
