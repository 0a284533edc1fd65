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

/// How a boat loses her way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Stop {
    /// She does not: under way.
    Never,
    /// As water drags her: fast at first, with a long tail. The time constant, s.
    Dragged(f64),
    /// As a sea anchor stops her: evenly, and altogether. From way to none, s.
    Arrested(f64),
}

/// Which way she goes once she lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Drift {
    /// As [`lie`] has it.
    Usual,
    /// Her rig in the water steers her to the left of downwind.
    Left,
    /// To the right.
    Right,
}

/// One way of coming to rest in a condition. How fast this boat does it is not known beforehand but
/// is one thing for the whole stop, so each has several, with their chances.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Shape {
    pub condition: Condition,
    pub stop: Stop,
    pub drift: Drift,
    /// Chance of this stop among the condition's own; they sum to one.
    pub chance: f64,
}

impl Shape {
    /// Whether both go the same way once they lie.
    pub(crate) fn lies_as(&self, other: &Shape) -> bool {
        self.condition == other.condition && self.drift == other.drift
    }
}

const fn shape(condition: Condition, stop: Stop, chance: f64) -> Shape {
    Shape { condition, stop, drift: Drift::Usual, chance }
}

const fn sheering(drift: Drift, stop: Stop, chance: f64) -> Shape {
    Shape { condition: Condition::Capsized, stop, drift, chance }
}

/// Every shape. A luffed dinghy carries her way two or three boat's lengths, 5 to 10 s (practice), so
/// a time constant of about 5 s; pushed head to wind or with a backed jib less. A capsize stops her
/// within 2 to 4 s, and a receiver that smooths makes a second more of it.
pub(crate) const SHAPES: [Shape; 29] = [
    shape(Condition::Sailing, Stop::Never, 1.0),
    shape(Condition::Manoeuvring, Stop::Never, 1.0),
    shape(Condition::InIrons, Stop::Dragged(2.5), 0.3),
    shape(Condition::InIrons, Stop::Dragged(4.5), 0.4),
    shape(Condition::InIrons, Stop::Dragged(7.0), 0.3),
    shape(Condition::HoveTo, Stop::Dragged(3.5), 0.25),
    shape(Condition::HoveTo, Stop::Dragged(6.5), 0.4),
    shape(Condition::HoveTo, Stop::Dragged(11.0), 0.35),
    shape(Condition::Waiting, Stop::Dragged(3.0), 0.2),
    shape(Condition::Waiting, Stop::Dragged(5.5), 0.5),
    shape(Condition::Waiting, Stop::Dragged(9.0), 0.3),
    shape(Condition::PickingUp, Stop::Dragged(2.5), 0.3),
    shape(Condition::PickingUp, Stop::Dragged(5.0), 0.7),
    shape(Condition::Rafted, Stop::Arrested(3.0), 0.5),
    shape(Condition::Rafted, Stop::Dragged(4.0), 0.5),
    shape(Condition::Towed, Stop::Dragged(2.0), 1.0),
    shape(Condition::Ashore, Stop::Dragged(0.8), 0.3),
    shape(Condition::Ashore, Stop::Dragged(3.0), 0.7),
    shape(Condition::Aground, Stop::Arrested(1.0), 0.6),
    shape(Condition::Aground, Stop::Dragged(2.0), 0.4),
    shape(Condition::Moored, Stop::Dragged(3.0), 1.0),
    shape(Condition::Becalmed, Stop::Dragged(12.0), 1.0),
    shape(Condition::Righted, Stop::Dragged(3.0), 1.0),
    shape(Condition::Capsized, Stop::Arrested(2.5), 0.3),
    shape(Condition::Capsized, Stop::Arrested(4.5), 0.25),
    shape(Condition::Capsized, Stop::Dragged(1.3), 0.1),
    shape(Condition::Capsized, Stop::Dragged(3.0), 0.15),
    sheering(Drift::Left, Stop::Arrested(3.5), 0.1),
    sheering(Drift::Right, Stop::Arrested(3.5), 0.1),
];

/// How a boat lies in a condition once she has stopped, and how long.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rest {
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

/// How a boat lies, by condition.
pub(crate) static RESTS: [Rest; Condition::COUNT] = {
    let mut rests = [rest(Condition::Sailing); Condition::COUNT];
    let mut ix = 0;
    while ix < Condition::COUNT {
        rests[ix] = rest(Condition::ALL[ix]);
        ix += 1;
    }
    rests
};

const fn rest(condition: Condition) -> Rest {
    let usual = Rest {
        luff_dps: 0.0,
        veer_rad: 0.15,
        // Waves, flapping sails, people moving about. How steadily she lies tells less than it seems:
        // a boat with her sails down is as steady as one on her side, so all swing alike.
        swing_mps: 0.08,
        wander_mps: 0.015,
        lasts_s: 60.0,
        lasts_spread: 0.9,
    };
    let fast = Rest { swing_mps: 0.05, wander_mps: 0.003, lasts_s: 900.0, lasts_spread: 1.2, ..usual };
    match condition {
        // Knocked flat she often rounds up as she goes. Then the hull drifts steadily; wavelets
        // alone move it. 20 s for an expert to 5 min (`detection.md` (a)).
        Condition::Capsized => Rest { luff_dps: 4.0, veer_rad: 0.3, lasts_s: 80.0, ..usual },
        // A tack that dies: the bow comes up at the turn rate of a tack (45 deg in 4 s) and the
        // way goes on to windward before it is lost. Got out of in 10 to 60 s (practice).
        Condition::InIrons => {
            Rest { luff_dps: 8.0, veer_rad: 0.25, lasts_s: 25.0, lasts_spread: 0.7, ..usual }
        }
        Condition::HoveTo => Rest { luff_dps: 3.0, veer_rad: 0.2, ..usual },
        Condition::Waiting => Rest { luff_dps: 3.0, veer_rad: 0.2, ..usual },
        // The final approach on a close reach, sails eased, then alongside for some seconds.
        Condition::PickingUp => Rest { luff_dps: 6.0, lasts_s: 15.0, lasts_spread: 0.6, ..usual },
        // Both hulls drift as one; the pair sits heavily.
        Condition::Rafted => Rest { swing_mps: 0.08, wander_mps: 0.01, lasts_s: 90.0, ..usual },
        // The rope snatches.
        Condition::Towed => Rest { swing_mps: 0.25, wander_mps: 0.1, lasts_s: 300.0, ..usual },
        Condition::Ashore | Condition::Moored => fast,
        Condition::Aground => Rest { lasts_s: 90.0, lasts_spread: 0.9, ..fast },
        Condition::Becalmed => Rest { swing_mps: 0.08, lasts_s: 180.0, lasts_spread: 1.0, ..usual },
        Condition::Righted => Rest { lasts_s: 20.0, lasts_spread: 0.8, ..usual },
        Condition::Sailing | Condition::Manoeuvring => usual,
    }
}

/// The mean velocity of a boat at rest, before any of it is seen: over the water, in the frame of
/// the wind (`down` the wind, `across` positive to the right looking downwind), with standard
/// deviations, m/s.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Lie {
    pub down_mps: f64,
    pub down_sd: f64,
    pub across_mps: f64,
    pub across_sd: f64,
    /// No such boat goes faster across, either way.
    pub across_max: f64,
}

/// A boat that forereaches faster than this sails: 1.5 kn (practice), m/s.
const FORWARD_MAX_MPS: f64 = 0.77;

/// Where a boat in `condition` goes in a wind of `wind_mps`, having sailed to the side `side`
/// (-1..=1: how surely her way was across the wind to the left or the right).
pub(crate) fn lie(shape: &Shape, wind_mps: f64, side: f64) -> Lie {
    let wind = wind_mps.clamp(0.0, 20.0);
    let forward = |speed: f64, sd: f64, down: f64, down_sd: f64| {
        // The mean of a mixture of both sides, and its spread, by how surely the side is known.
        let left_over = speed * speed * (1.0 - side * side);
        Lie {
            down_mps: down,
            down_sd,
            across_mps: speed * side,
            across_sd: (sd * sd + left_over).sqrt(),
            across_max: (speed + 2.2 * sd).min(FORWARD_MAX_MPS),
        }
    };
    match shape.condition {
        // leeway.md: 1.65 to 2.3 % of the wind, some with 3 to 5 cm/s more, downwind within some 26 deg for 9 in 10 members.
        // But a real capsized dinghy with her rig in the water went 0.4 m/s some 60 to 75 deg off
        // downwind: at a moderate 7 m/s that is 5 % across and 2 % down.
        Condition::Capsized => match shape.drift {
            Drift::Usual => Lie {
                down_mps: 0.02 + 0.018 * wind,
                down_sd: 0.04 + 0.012 * wind,
                across_mps: 0.0,
                across_sd: 0.03 + 0.012 * wind,
                across_max: 0.07 + 0.026 * wind,
            },
            Drift::Left | Drift::Right => Lie {
                down_mps: 0.02 * wind,
                down_sd: 0.04 + 0.015 * wind,
                across_mps: if shape.drift == Drift::Left { -0.035 } else { 0.035 } * wind,
                across_sd: 0.03 + 0.008 * wind,
                across_max: 0.06 + 0.055 * wind,
            },
        },
        // Windage of an upright hull with flapping sails, bow-on: SKIFF-2 upright drifts 2.9 % plus
        // 4 cm/s (leeway.csv); flapping sails add as much again (reasoned): 0.3 to 0.6 m/s.
        Condition::InIrons => Lie {
            down_mps: 0.055 * wind,
            down_sd: 0.04 + 0.02 * wind,
            across_mps: 0.0,
            across_sd: 0.05 + 0.015 * wind,
            across_max: 0.12 + 0.035 * wind,
        },
        // 0.5 to 1.5 kn forward, some leeway (practice).
        Condition::HoveTo => forward(0.1 + 0.04 * wind, 0.08 + 0.015 * wind, 0.0, 0.05 + 0.025 * wind),
        Condition::Waiting => {
            forward(0.02 + 0.02 * wind, 0.06 + 0.02 * wind, 0.022 * wind, 0.05 + 0.02 * wind)
        }
        Condition::PickingUp => forward(0.01 * wind, 0.06 + 0.015 * wind, 0.02 * wind, 0.05 + 0.02 * wind),
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
/// a moderate breeze a boat with novices goes over about once an hour or two. The upper end was
/// taken after seeing how often boats go over in the tuning sessions.
const CAPSIZE_PER_H: f64 = 0.8;
/// See [`CAPSIZE_PER_H`]; the rate follows the square of the wind as the heeling force does.
const CAPSIZE_WIND_MPS: f64 = 5.5;
/// While she lies with sails let go hardly anything can capsize her: this share of the rate.
const CAPSIZE_AT_REST: f64 = 0.1;
/// A capsize is this much likelier in the seconds after a gybe (practice: the usual moment).
const CAPSIZE_AFTER_GYBE: f64 = 5.0;
/// A boat that has not yet left where she was first heard is lying there: this share of the rate.
const CAPSIZE_NOT_SAILED: f64 = 0.02;
/// "The seconds after": 8.
const GYBE_LASTS_S: f64 = 8.0;
/// And grows with this power of the gust ratio beyond the square of the mean wind.
const CAPSIZE_GUST_POWER: f64 = 4.0;

/// Antennas of two boats alongside are this far apart, metres: a boat's length or two and both
/// receivers' errors (GPS.gov: 4.9 m radius each).
pub(crate) const RAFTED_M: f64 = 10.0;

/// And of two boats with a tow rope between them, metres.
pub(crate) const TOWED_M: f64 = 35.0;

/// A boat lying with her sails loose does not lie the same way for long: she falls off on the other
/// tack, fills for a moment, swings head to wind. So often an hour, each way (practice: once in a
/// minute or two).
const FALLS_OFF_PER_H: f64 = 20.0;
/// A beginner's tack fails one time in ten or so: while turning close to the wind the rate of being
/// caught is this many times that of sailing.
const IRONS_IN_TURN: f64 = 30.0;
/// Turns are when boats go over.
const CAPSIZE_IN_TURN: f64 = 4.0;

/// Rates at which conditions begin, an hour, given what surrounds her.
pub(crate) struct Onsets {
    /// From sailing.
    pub sailing_per_h: [f64; Condition::COUNT],
    /// From a turn.
    pub turning_per_h: [f64; Condition::COUNT],
    /// From any other upright condition, on top of what [`successors`] says of its end.
    pub resting_per_h: [f64; Condition::COUNT],
    /// From capsized, likewise.
    pub capsized_per_h: [f64; Condition::COUNT],
}

/// Onset rates. `twa_deg` is how far her way is off the wind, `None` when not known.
pub(crate) fn onsets(around: &Surroundings, twa_deg: Option<f64>, has_sailed: bool) -> Onsets {
    let wind = around.wind_mps();
    let gust = around.gust_ratio().clamp(0.7, 2.0);
    let gybed = around.since_gybe_s.is_some_and(|s| s < GYBE_LASTS_S);
    let strength = (wind / CAPSIZE_WIND_MPS).powi(2).clamp(0.05, 6.0);
    let capsize = CAPSIZE_PER_H
        * strength
        * gust.powf(CAPSIZE_GUST_POWER)
        * if gybed { CAPSIZE_AFTER_GYBE } else { 1.0 }
        * if has_sailed { 1.0 } else { CAPSIZE_NOT_SAILED };

    // In irons can only begin from close to the wind.
    let irons = match twa_deg {
        None => 1.0,
        Some(twa) if twa < 70.0 => 1.2,
        Some(twa) if twa < 100.0 => 0.3,
        Some(_) => 0.05,
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
    let rafted = match safety_m {
        Some(m) => 90.0 * (-(m / RAFTED_M).powi(2)).exp() + 0.001,
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

    let mut turning_per_h = sailing_per_h;
    turning_per_h[Condition::InIrons.ix()] *= IRONS_IN_TURN;
    turning_per_h[Condition::Capsized.ix()] *= CAPSIZE_IN_TURN;

    let mut resting_per_h = sailing_per_h;
    for rate in &mut resting_per_h {
        *rate *= 0.3;
    }
    resting_per_h[Condition::Rafted.ix()] = rafted;
    resting_per_h[Condition::Towed.ix()] = towed;
    resting_per_h[Condition::Capsized.ix()] = capsize * CAPSIZE_AT_REST;
    let mut capsized_per_h = [0.0; Condition::COUNT];
    capsized_per_h[Condition::Rafted.ix()] = 0.1 * rafted;
    capsized_per_h[Condition::Towed.ix()] = 0.1 * towed;
    for condition in [Condition::InIrons, Condition::HoveTo, Condition::Waiting] {
        resting_per_h[condition.ix()] += FALLS_OFF_PER_H;
    }
    Onsets { sailing_per_h, turning_per_h, resting_per_h, capsized_per_h }
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
        Condition::Sailing => &[(Condition::Manoeuvring, 1.0)],
        Condition::Manoeuvring
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
    fn chances_of_stops_sum_to_one() {
        for condition in Condition::ALL {
            let own = SHAPES.iter().filter(|shape| shape.condition == condition);
            let sum: f64 = own.map(|shape| shape.chance).sum();
            assert!((sum - 1.0).abs() < 1e-12, "{condition:?}");
        }
    }

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
        let of = |around: &Surroundings| onsets(around, None, true).sailing_per_h[Condition::Capsized.ix()];
        assert!(of(&gybed) > 3.0 * of(&calm));
    }
}
