//! One leg as it looks from one guess of the stream: how fast and at what angle to the wind she would
//! have sailed through the water, and what that leg then most likely was.

use std::f64::consts::{FRAC_PI_2, PI};

use super::{
    stream::{WindHint, scaled},
    stream_legs::Leg,
    stream_normal::{BEAT, CLOSE, EAST, NORTH, RUN, UNKNOWNS, WIND},
};
use crate::units::Velocity;

/// Of the legs sailed properly this share is close-hauled, as far from the angle as this, rad.
const BEATING: f64 = 0.4;
pub(super) const BEATING_SD_RAD: f64 = 0.15;
/// Puffs, trim and helm change a boat's speed by this share from leg to leg, and by so much at least,
/// m/s.
const LEG_SHARE: f64 = 0.17;
const LEG_MPS: f64 = 0.12;
/// How often a leg is sailed properly, slowly, or not at all (our choice).
const SAILED: f64 = 0.75;
const DAWDLED: f64 = 0.12;
const STOPPED: f64 = 0.13;
/// An upright dinghy that does not sail drifts down the wind at this share of it, and by this much
/// otherwise, m/s (`leeway.md`: open skiff 2.9 %, small sailing dinghy 1.8 % and 3 cm/s).
const LEEWAY_SHARE: f64 = 0.025;
pub(super) const STOP_SD_MPS: f64 = 0.2;
/// Taken where no wind speed is known, m/s: beginners sail in Beaufort 2 to 4.
const UNKNOWN_WIND_MPS: f64 = 5.0;
/// Legs of one boat are not independent: she is sailed by one hand on one day.
const LEG_COUNTS: f64 = 0.5;
/// No angle turns faster with the stream than that of a boat or a wind this slow, m/s.
const SLOWEST_MPS: f64 = 0.05;

/// What of a leg does not depend on the guess.
#[derive(Clone, Copy, Debug)]
pub(super) struct Known {
    over_ground: Velocity,
    /// Where the wind comes from, of length one.
    from: Velocity,
    /// For how much the leg counts.
    pub(super) counts: f64,
}

impl Known {
    pub(super) fn of(leg: &Leg, share: f64, wind: &WindHint) -> Known {
        let from = leg.from.filter(|_| wind.over_ground).unwrap_or(wind.from);
        Known {
            over_ground: leg.velocity,
            from: Velocity::towards(from, 1.0),
            counts: LEG_COUNTS * share * leg.weight(),
        }
    }
}

/// What every leg is looked at from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guess {
    unknowns: [f64; UNKNOWNS],
    stream: Velocity,
    /// Sine and cosine of the error of the wind's direction.
    veer: (f64, f64),
    /// The wind over the ground, m/s, where it was measured there: then the wind over the water follows
    /// from the stream.
    over_ground_mps: Option<f64>,
    leeway_mps: f64,
}

impl Guess {
    pub(super) fn of(unknowns: &[f64; UNKNOWNS], wind: &WindHint) -> Guess {
        Guess {
            unknowns: *unknowns,
            stream: stream_of(unknowns),
            veer: unknowns[WIND].sin_cos(),
            over_ground_mps: wind.speed_mps.filter(|_| wind.over_ground),
            leeway_mps: LEEWAY_SHARE * wind.speed_mps.unwrap_or(UNKNOWN_WIND_MPS),
        }
    }
}

pub(super) fn stream_of(unknowns: &[f64; UNKNOWNS]) -> Velocity {
    Velocity { east_mps: unknowns[EAST], north_mps: unknowns[NORTH] }
}

/// One leg as it looks from one guess.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look {
    /// Through the water, m/s.
    pub(super) speed_mps: f64,
    /// What share of her speed on a reach she should make.
    pub(super) shape: f64,
    /// How far her velocity through the water is from that of a boat adrift.
    pub(super) adrift: Velocity,
    /// How far off the close-hauled angle she sails, rad; negative: closer to the wind.
    pub(super) close_off: f64,
    pub(super) close_slopes: [f64; UNKNOWNS],
    speed_slopes: [f64; UNKNOWNS],
    shape_slopes: [f64; UNKNOWNS],
    /// Densities of her course if she sails: close-hauled, and on any.
    beating: f64,
    course: f64,
    /// And of her velocity if she does not sail.
    stopped: f64,
}

/// What a leg most likely was.
pub(super) struct Weighed {
    pub(super) sailed: f64,
    /// Sailed properly, and close-hauled.
    pub(super) beaten: f64,
    pub(super) stopped: f64,
    pub(super) var: f64,
    pub(super) likelihood: f64,
}

impl Look {
    pub(super) fn at(leg: &Known, guess: &Guess) -> Look {
        let water = leg.over_ground.minus(guess.stream);
        let steady = match guess.over_ground_mps {
            Some(wind_mps) => scaled(leg.from, wind_mps).plus(guess.stream),
            None => leg.from,
        };
        let (sin, cos) = guess.veer;
        let felt = Velocity {
            east_mps: steady.east_mps * cos + steady.north_mps * sin,
            north_mps: steady.north_mps * cos - steady.east_mps * sin,
        };
        let (speed2, felt2) = (square(water), square(felt));
        let (speed_mps, felt_mps) = (speed2.sqrt(), felt2.sqrt());
        let cross = felt.east_mps * water.north_mps - felt.north_mps * water.east_mps;
        let dot = felt.east_mps * water.east_mps + felt.north_mps * water.north_mps;
        let angle = if speed2 > 0.0 { cross.abs().atan2(dot) } else { FRAC_PI_2 };
        let side = if cross < 0.0 { -1.0 } else { 1.0 };

        // Her own direction through the water turns against the stream's, the wind's over it with it.
        let turns = |velocity: Velocity, square: f64| {
            let by = side / square.max(SLOWEST_MPS * SLOWEST_MPS);
            (velocity.north_mps * by, -velocity.east_mps * by)
        };
        let mut angle_slopes = [0.0; UNKNOWNS];
        (angle_slopes[EAST], angle_slopes[NORTH]) = turns(water, speed2);
        if guess.over_ground_mps.is_some() {
            let (east, north) = turns(steady, felt2);
            angle_slopes[EAST] += east;
            angle_slopes[NORTH] += north;
        }
        angle_slopes[WIND] = side;
        let mut speed_slopes = [0.0; UNKNOWNS];
        let per_mps = 1.0 / speed_mps.max(SLOWEST_MPS);
        (speed_slopes[EAST], speed_slopes[NORTH]) = (-water.east_mps * per_mps, -water.north_mps * per_mps);

        let curve = Curve::at(angle.to_degrees(), guess.unknowns[BEAT], guess.unknowns[RUN]);
        let mut shape_slopes = angle_slopes.map(|slope| curve.per_deg * slope.to_degrees());
        (shape_slopes[BEAT], shape_slopes[RUN]) = (curve.per_beat, curve.per_run);
        let close_off = angle - guess.unknowns[CLOSE];
        let mut close_slopes = angle_slopes;
        close_slopes[CLOSE] = -1.0;

        // Adrift she goes where the wind over the water goes.
        let leeway = scaled(felt, -guess.leeway_mps / felt_mps.max(1e-9));
        let adrift = water.minus(leeway);
        let z = close_off / BEATING_SD_RAD;
        let beating = BEATING * (-0.5 * z * z).exp() / (BEATING_SD_RAD * (2.0 * PI).sqrt());
        let free = (1.0 - BEATING) / 2.3 / (1.0 + (-2.0 * z).exp());
        let stop_var = STOP_SD_MPS * STOP_SD_MPS;
        let stopped = STOPPED * (-0.5 * square(adrift) / stop_var).exp() / (2.0 * PI * stop_var);
        Look {
            speed_mps,
            shape: curve.share,
            adrift,
            close_off,
            close_slopes,
            speed_slopes,
            shape_slopes,
            beating,
            course: beating + free + 0.01,
            stopped,
        }
    }

    /// How the difference between her speed and what it should be follows the unknowns.
    pub(super) fn slopes(&self, pace: f64) -> [f64; UNKNOWNS] {
        std::array::from_fn(|which| self.speed_slopes[which] - pace * self.shape_slopes[which])
    }

    /// Densities of her velocity through the water, all times the same.
    pub(super) fn weighed(&self, pace: f64) -> Weighed {
        let should_mps = pace * self.shape;
        let var = (LEG_SHARE * should_mps).powi(2) + LEG_MPS * LEG_MPS;
        let off = self.speed_mps - should_mps;
        let speed = (-0.5 * off * off / var).exp() / (2.0 * PI * var).sqrt();
        let around = 1.0 / (2.0 * self.speed_mps.max(0.15));
        let sailed = SAILED * speed * self.course * around;
        let dawdled = DAWDLED / (1.5 * pace) / PI * around;
        let likelihood = sailed + dawdled + self.stopped;
        Weighed {
            sailed: sailed / likelihood,
            beaten: sailed / likelihood * self.beating / self.course,
            stopped: self.stopped / likelihood,
            var,
            likelihood,
        }
    }
}

fn square(velocity: Velocity) -> f64 {
    velocity.east_mps * velocity.east_mps + velocity.north_mps * velocity.north_mps
}

/// Speed as a share of that on a reach, and how it follows the angle off the wind and the two shares
/// that are fitted.
struct Curve {
    share: f64,
    per_deg: f64,
    per_beat: f64,
    per_run: f64,
}

impl Curve {
    fn at(angle_deg: f64, beat: f64, run: f64) -> Curve {
        let (freed, freed_per_deg) = ramp(angle_deg, 45.0, 95.0);
        let (running, running_per_deg) = ramp(angle_deg, 135.0, 180.0);
        let (unpinched, unpinched_per_deg) = ramp(angle_deg, 0.0, 40.0);
        let share = 1.0 + beat * (1.0 - freed) + run * running - 0.6 * (1.0 - unpinched);
        if share < 0.1 {
            return Curve { share: 0.1, per_deg: 0.0, per_beat: 0.0, per_run: 0.0 };
        }
        Curve {
            share,
            per_deg: -beat * freed_per_deg + run * running_per_deg + 0.6 * unpinched_per_deg,
            per_beat: 1.0 - freed,
            per_run: running,
        }
    }
}

/// From 0 at `low` to 1 at `high`, and its slope.
fn ramp(at: f64, low: f64, high: f64) -> (f64, f64) {
    let share = (at - low) / (high - low);
    if (0.0..1.0).contains(&share) { (share, 1.0 / (high - low)) } else { (share.clamp(0.0, 1.0), 0.0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{moment::Moment, units::Bearing};

    /// Slopes worked out by hand against small differences, on every point of sailing and both tacks.
    #[test]
    fn slopes_are_those_of_small_differences() {
        let wind =
            WindHint { from: Bearing::wrap(20.0), sd_deg: 5.0, speed_mps: Some(5.0), over_ground: true };
        let unknowns = [0.2, -0.1, 0.05, -0.25, -0.15, 1.7, 0.84];
        for over_ground in [true, false] {
            let wind = WindHint { over_ground, ..wind };
            for course in [50.0, 70.0, 100.0, 150.0, 190.0, 230.0, 280.0, 320.0, 345.0] {
                let (began, ended) = (Moment(0), Moment(30_000));
                let velocity = Velocity::towards(Bearing::wrap(course), 1.6);
                let leg = Leg { velocity, from: None, began, ended, seconds: 30.0 };
                let leg = Known::of(&leg, 1.0, &wind);
                let look = |unknowns: &[f64; UNKNOWNS]| Look::at(&leg, &Guess::of(unknowns, &wind));
                let here = look(&unknowns);
                for which in [EAST, NORTH, WIND, BEAT, RUN, CLOSE] {
                    let mut moved = unknowns;
                    moved[which] += 1e-6;
                    let there = look(&moved);
                    for (told, small) in [
                        (here.speed_slopes[which], there.speed_mps - here.speed_mps),
                        (here.shape_slopes[which], there.shape - here.shape),
                        (here.close_slopes[which], there.close_off - here.close_off),
                    ] {
                        assert!((told - small / 1e-6).abs() < 1e-3, "{course} {which}: {told} {small:e}");
                    }
                }
            }
        }
    }
}
