//! The stream that best explains what boats did over the ground.
//!
//! How fast a boat sails through the water depends on her angle to the wind and is alike on both
//! tacks. So the velocities over the ground of a boat that sailed many courses lie on a curve that
//! the stream has displaced. The fit finds the displacement together with everything it might be
//! mistaken for: each boat's own pace, how much slower she is close-hauled and on a run, and an
//! error of the wind's direction. What those leave undecided comes out as doubt.
//!
//! Every leg is one of three: sailed at the usual speed, sailed slowly for whatever reason, or no
//! sailing at all, so that she goes where stream and wind take her. Which one is weighed anew in each
//! round (expectation and maximisation), so that beginners' stops help and their dawdling does not
//! harm.

use std::collections::BTreeMap;

use super::{
    stream::WindHint,
    stream_legs::Leg,
    vectors::{air_from, from_of},
};
use crate::{
    moment::Moment,
    units::{Bearing, Velocity},
};

/// Unknowns beside the boats' paces: stream east and north (m/s), error of the wind's direction
/// (rad), how much faster than on a reach boats are close-hauled and on a run (shares, negative), and
/// the fleet's mean pace (m/s), and the angle to the wind close-hauled (rad).
const UNKNOWNS: usize = 7;
const EAST: usize = 0;
const NORTH: usize = 1;
const WIND: usize = 2;
const BEAT: usize = 3;
const RUN: usize = 4;
const PACE: usize = 5;
const CLOSE: usize = 6;

/// A dinghy close-hauled makes three quarters of her speed on a reach, on a run five sixths, and
/// classes differ by so much (common practice, no source).
const BEAT_SHARE: (f64, f64) = (-0.25, 0.15);
const RUN_SHARE: (f64, f64) = (-0.15, 0.15);
/// Speed on a reach of training dinghies in beginners' winds, m/s (common practice, no source).
const REACH_MPS: (f64, f64) = (1.7, 0.7);
/// Angle to the wind of a training dinghy close-hauled, through the water, rad: 48 degrees with 6 of
/// doubt (`wind.md`, common practice: 40 to 50, more for beginners).
const CLOSE_RAD: (f64, f64) = (0.84, 0.1);
/// Of the legs sailed properly this share is close-hauled, as far from the angle as this, rad.
const BEATING: f64 = 0.4;
const BEATING_SD_RAD: f64 = 0.15;
/// Boats of one fleet differ by this share of it.
const BOATS_DIFFER: f64 = 0.25;
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
const STOP_SD_MPS: f64 = 0.2;
/// Taken where no wind speed is known, m/s: beginners sail in Beaufort 2 to 4.
const UNKNOWN_WIND_MPS: f64 = 5.0;
/// The wind where she is, against the wind of the venue, degrees: bends and puffs.
const LOCAL_WIND_DEG: f64 = 6.0;
/// A fleet's wind was found with the stream believed before: it may be off by more than it says.
const FLEET_WIND_DEG: f64 = 10.0;
/// Legs within a square of this many m/s over the ground show the same, and count for this much at
/// most (our choice).
const CELL_MPS: f64 = 0.5;
const CELL_COUNTS: f64 = 5.0;
/// Legs of one boat are not independent: she is sailed by one hand on one day.
const LEG_COUNTS: f64 = 0.5;
/// The same of readings of one compass, which has one error on one heading.
const PUSH_COUNTS: f64 = 0.25;
/// Freedom of the prior, a Student t: strong streams are rare, not impossible.
const PRIOR_FREEDOM: f64 = 3.0;
/// Rounds of the fit.
const ROUNDS: usize = 8;
/// The fit also sets out from so many streams around the prior, this far from it, m/s.
const STARTS: u16 = 4;
const START_MPS: f64 = 0.45;
/// Explanations nearer to each other than this are one, m/s.
const SAME_MPS: f64 = 0.08;
/// The furthest that one round moves the stream, m/s.
const STEP_MPS: f64 = 0.3;
/// Faster streams are not sailed in by beginners, m/s (3 kn; our choice).
const STREAM_MAX_MPS: f64 = 1.5;

/// One component of the stream as an instrument shows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Push {
    pub(super) at: Moment,
    /// The direction of the component.
    pub(super) along: Bearing,
    /// The stream along it, m/s.
    pub(super) mps: f64,
    /// One standard deviation, m/s.
    pub(super) sd_mps: f64,
}

/// All that is held for or against a stream, each with the share it still counts for.
#[derive(Clone, Debug)]
pub(super) struct Evidence {
    pub(super) prior: Velocity,
    pub(super) prior_sd_mps: f64,
    pub(super) boats: Vec<Vec<(Leg, f64)>>,
    pub(super) pushes: Vec<(Push, f64)>,
    pub(super) wind: Option<WindHint>,
}

impl Evidence {
    /// Twenty boats that beat out on one tack show one course, and share every puff: legs at about one
    /// velocity over the ground, whoever sailed them, never count for more than a few.
    pub(super) fn saturate(&mut self) {
        let mut cells: BTreeMap<(i32, i32), f64> = BTreeMap::new();
        let cell = |leg: &Leg| {
            let number = |mps: f64| (mps / CELL_MPS).round() as i32;
            (number(leg.velocity.east_mps), number(leg.velocity.north_mps))
        };
        for (leg, share) in self.boats.iter().flatten() {
            *cells.entry(cell(leg)).or_default() += share * leg.weight();
        }
        for (leg, share) in self.boats.iter_mut().flatten() {
            let all = cells.get(&cell(leg)).copied().unwrap_or(1.0).max(1e-6);
            *share *= CELL_COUNTS * (1.0 - (-all / CELL_COUNTS).exp()) / all;
        }
    }
}

/// What a fit came to.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fit {
    pub(super) stream: Velocity,
    /// Covariance of its components, east-east, east-north, north-north, m2/s2.
    covariance: [f64; 3],
    /// One standard deviation along the worse axis from what was seen alone, m/s; infinite when that
    /// tells nothing.
    pub(super) told_sd_mps: f64,
    unknowns: [f64; UNKNOWNS],
    /// The lower the better.
    cost: f64,
}

impl Fit {
    /// One standard deviation along the worse axis, m/s.
    pub(super) fn sd_mps(&self) -> f64 {
        eigenvalues(self.covariance).1.max(0.0).sqrt()
    }

    fn volume(&self) -> f64 {
        let [a, b, c] = self.covariance;
        (a * c - b * b).max(1e-12)
    }
}

/// The belief that the best explanations come to.
///
/// The same tracks may be explained in more than one way: a fleet that goes faster one way may have
/// the stream with it or the wind abaft. So the fit sets out from several streams, and every
/// explanation it arrives at counts by how well it explains. With two good ones the doubt is as wide
/// as they lie apart.
pub(super) fn fit(evidence: &Evidence, last: Option<&Fit>) -> Fit {
    let mut start = [0.0; UNKNOWNS];
    (start[EAST], start[NORTH]) = (evidence.prior.east_mps, evidence.prior.north_mps);
    (start[BEAT], start[RUN], start[PACE]) = (BEAT_SHARE.0, RUN_SHARE.0, REACH_MPS.0);
    start[CLOSE] = CLOSE_RAD.0;
    let mut found: Vec<Fit> = vec![climb(evidence, start)];
    if let Some(last) = last {
        found.push(climb(evidence, last.unknowns));
    }
    for number in 0..STARTS {
        let towards = Bearing::wrap(360.0 * f64::from(number) / f64::from(STARTS));
        let away = evidence.prior.plus(Velocity::towards(towards, START_MPS));
        (start[EAST], start[NORTH]) = (away.east_mps, away.north_mps);
        found.push(climb(evidence, start));
    }
    found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    let mut modes: Vec<Fit> = Vec::new();
    for fit in found {
        if modes.iter().all(|mode| mode.stream.minus(fit.stream).speed_mps() > SAME_MPS) {
            modes.push(fit);
        }
    }
    mixed(modes)
}

/// One belief from several explanations, the best first.
fn mixed(modes: Vec<Fit>) -> Fit {
    let (mut sum, mut mean) = (0.0, Velocity::default());
    let weights: Vec<f64> =
        modes.iter().map(|mode| mode.volume().sqrt() * (modes[0].cost - mode.cost).exp()).collect();
    for (mode, weight) in modes.iter().zip(&weights) {
        sum += weight;
        mean.east_mps += weight * mode.stream.east_mps;
        mean.north_mps += weight * mode.stream.north_mps;
    }
    mean = Velocity { east_mps: mean.east_mps / sum, north_mps: mean.north_mps / sum };
    let mut covariance = [0.0; 3];
    for (mode, weight) in modes.iter().zip(&weights) {
        let off = mode.stream.minus(mean);
        let spread =
            [off.east_mps * off.east_mps, off.east_mps * off.north_mps, off.north_mps * off.north_mps];
        for ((all, own), spread) in covariance.iter_mut().zip(mode.covariance).zip(spread) {
            *all += weight / sum * (own + spread);
        }
    }
    Fit { stream: mean, covariance, told_sd_mps: modes[0].told_sd_mps, ..modes[0].clone() }
}

/// Normal equations of the unknowns.
#[derive(Clone, Copy)]
struct Normal {
    matrix: [[f64; UNKNOWNS]; UNKNOWNS],
    vector: [f64; UNKNOWNS],
}

impl Normal {
    fn new() -> Normal {
        Normal { matrix: [[0.0; UNKNOWNS]; UNKNOWNS], vector: [0.0; UNKNOWNS] }
    }

    /// A residual with its slopes; `precision` is one over its variance.
    fn add(&mut self, residual: f64, slopes: &[f64; UNKNOWNS], precision: f64) {
        for (row, slope) in slopes.iter().enumerate() {
            self.vector[row] -= precision * slope * residual;
            for (column, other) in slopes.iter().enumerate() {
                self.matrix[row][column] += precision * slope * other;
            }
        }
    }
}

fn climb(evidence: &Evidence, start: [f64; UNKNOWNS]) -> Fit {
    let mut unknowns = start;
    let mut paces = vec![start[PACE]; evidence.boats.len()];
    let mut round = Round::of(evidence, &unknowns, &mut paces);
    for _ in 0..ROUNDS {
        let step = solved(round.normal.matrix, round.normal.vector);
        let moved_mps = step[EAST].hypot(step[NORTH]);
        let share = if moved_mps > STEP_MPS { STEP_MPS / moved_mps } else { 1.0 };
        for (unknown, step) in unknowns.iter_mut().zip(step) {
            *unknown += share * step;
        }
        bound(&mut unknowns);
        round = Round::of(evidence, &unknowns, &mut paces);
        if moved_mps < 0.002 {
            break;
        }
    }
    let inverse = inverted(round.normal.matrix);
    let covariance = [inverse[EAST][EAST], inverse[EAST][NORTH], inverse[NORTH][NORTH]];
    let told = less(inverse2(covariance), round.prior_precision);
    let weakest = eigenvalues(told).0;
    Fit {
        stream: Velocity { east_mps: unknowns[EAST], north_mps: unknowns[NORTH] },
        covariance,
        told_sd_mps: if weakest > 1e-6 { weakest.sqrt().recip() } else { f64::INFINITY },
        unknowns,
        cost: round.cost,
    }
}

fn bound(unknowns: &mut [f64; UNKNOWNS]) {
    let speed_mps = unknowns[EAST].hypot(unknowns[NORTH]);
    if speed_mps > STREAM_MAX_MPS {
        unknowns[EAST] *= STREAM_MAX_MPS / speed_mps;
        unknowns[NORTH] *= STREAM_MAX_MPS / speed_mps;
    }
    unknowns[WIND] = unknowns[WIND].clamp(-0.8, 0.8);
    unknowns[BEAT] = unknowns[BEAT].clamp(-0.6, 0.2);
    unknowns[RUN] = unknowns[RUN].clamp(-0.6, 0.3);
    unknowns[PACE] = unknowns[PACE].clamp(0.3, 6.0);
    unknowns[CLOSE] = unknowns[CLOSE].clamp(0.5, 1.2);
}

/// One look at all evidence from one set of unknowns.
struct Round {
    normal: Normal,
    prior_precision: f64,
    cost: f64,
}

impl Round {
    fn of(evidence: &Evidence, unknowns: &[f64; UNKNOWNS], paces: &mut [f64]) -> Round {
        let mut round = Round { normal: Normal::new(), prior_precision: 0.0, cost: 0.0 };
        round.prior(evidence, unknowns);
        let stream = Velocity { east_mps: unknowns[EAST], north_mps: unknowns[NORTH] };
        for (push, share) in &evidence.pushes {
            let (sin, cos) = push.along.deg().to_radians().sin_cos();
            let mut slopes = [0.0; UNKNOWNS];
            (slopes[EAST], slopes[NORTH]) = (sin, cos);
            let off = stream.along(push.along) - push.mps;
            let freedom = 4.0;
            let z2 = (off / push.sd_mps).powi(2);
            let weight = PUSH_COUNTS * share * (freedom + 1.0) / (freedom + z2);
            round.normal.add(off, &slopes, weight / push.sd_mps.powi(2));
            round.cost += PUSH_COUNTS * share * 0.5 * (freedom + 1.0) * (z2 / freedom).ln_1p();
        }
        if let Some(wind) = &evidence.wind {
            for (legs, pace) in evidence.boats.iter().zip(paces) {
                round.boat(legs, wind, unknowns, pace);
            }
        }
        round
    }

    fn prior(&mut self, evidence: &Evidence, unknowns: &[f64; UNKNOWNS]) {
        let off = Velocity { east_mps: unknowns[EAST], north_mps: unknowns[NORTH] }.minus(evidence.prior);
        let spread2 = PRIOR_FREEDOM * evidence.prior_sd_mps.powi(2);
        self.prior_precision = (PRIOR_FREEDOM + 2.0) / (spread2 + off.speed_mps().powi(2));
        self.cost += 0.5 * (PRIOR_FREEDOM + 2.0) * (off.speed_mps().powi(2) / spread2).ln_1p();
        self.unknown(EAST, off.east_mps, self.prior_precision);
        self.unknown(NORTH, off.north_mps, self.prior_precision);
        let wind_sd_deg = evidence.wind.map_or(LOCAL_WIND_DEG, |wind| {
            let other_deg = if wind.over_ground { LOCAL_WIND_DEG } else { FLEET_WIND_DEG };
            wind.sd_deg.hypot(other_deg)
        });
        for (which, usual, sd) in [
            (WIND, 0.0, wind_sd_deg.to_radians()),
            (BEAT, BEAT_SHARE.0, BEAT_SHARE.1),
            (RUN, RUN_SHARE.0, RUN_SHARE.1),
            (PACE, REACH_MPS.0, REACH_MPS.1),
            (CLOSE, CLOSE_RAD.0, CLOSE_RAD.1),
        ] {
            let off = unknowns[which] - usual;
            self.unknown(which, off, 1.0 / (sd * sd));
            self.cost += 0.5 * (off / sd).powi(2);
        }
    }

    fn unknown(&mut self, which: usize, off: f64, precision: f64) {
        let mut slopes = [0.0; UNKNOWNS];
        slopes[which] = 1.0;
        self.normal.add(off, &slopes, precision);
    }

    /// One boat's legs. Her pace is found for these unknowns, and its doubt taken out of what she
    /// says (the Schur complement).
    fn boat(&mut self, legs: &[(Leg, f64)], wind: &WindHint, unknowns: &[f64; UNKNOWNS], pace: &mut f64) {
        let tie_sd = BOATS_DIFFER * unknowns[PACE];
        let tie = 1.0 / (tie_sd * tie_sd);
        let looks: Vec<(Look, f64)> = legs
            .iter()
            .map(|(leg, share)| (Look::at(leg, wind, unknowns), LEG_COUNTS * share * leg.weight()))
            .collect();
        for _ in 0..2 {
            let (mut top, mut bottom) = (tie * unknowns[PACE], tie);
            for (look, counts) in &looks {
                let weighed = look.weighed(*pace);
                let precision = counts * weighed.sailed / weighed.var;
                top += precision * look.shape * look.speed_mps;
                bottom += precision * look.shape * look.shape;
            }
            *pace = (top / bottom).clamp(0.2, 8.0);
        }
        let mut cross = [0.0; UNKNOWNS];
        let mut own = tie;
        // Her pace against the fleet's.
        cross[PACE] -= tie;
        let off = *pace - unknowns[PACE];
        self.cost += 0.5 * tie * off * off;
        self.normal.matrix[PACE][PACE] += tie;
        self.normal.vector[PACE] += tie * off;
        for (look, counts) in &looks {
            let weighed = look.weighed(*pace);
            self.cost -= counts * weighed.likelihood.ln();
            let slopes = look.slopes(*pace);
            let precision = counts * weighed.sailed / weighed.var;
            self.normal.add(look.speed_mps - *pace * look.shape, &slopes, precision);
            for (cross, slope) in cross.iter_mut().zip(&slopes) {
                *cross -= precision * slope * look.shape;
            }
            own += precision * look.shape * look.shape;
            let precision = counts * weighed.beaten / (BEATING_SD_RAD * BEATING_SD_RAD);
            self.normal.add(look.close_off, &look.close_slopes, precision);
            let precision = counts * weighed.stopped / (STOP_SD_MPS * STOP_SD_MPS);
            for (which, off) in [(EAST, look.adrift.east_mps), (NORTH, look.adrift.north_mps)] {
                let mut slopes = [0.0; UNKNOWNS];
                slopes[which] = -1.0;
                self.normal.add(off, &slopes, precision);
            }
        }
        // The pace is at its best, so it adds nothing to the vector.
        for row in 0..UNKNOWNS {
            for column in 0..UNKNOWNS {
                self.normal.matrix[row][column] -= cross[row] * cross[column] / own;
            }
        }
    }
}

/// One leg as it looks from one set of unknowns.
struct Look {
    /// Through the water, m/s.
    speed_mps: f64,
    /// What share of her speed on a reach she should make.
    shape: f64,
    /// How far her velocity through the water is from that of a boat adrift.
    adrift: Velocity,
    /// How far off the close-hauled angle she sails, rad; negative: closer to the wind.
    close_off: f64,
    close_slopes: [f64; UNKNOWNS],
    speed_slopes: [f64; UNKNOWNS],
    shape_slopes: [f64; UNKNOWNS],
}

/// What a leg most likely was.
struct Weighed {
    sailed: f64,
    /// Sailed properly, and close-hauled.
    beaten: f64,
    stopped: f64,
    var: f64,
    likelihood: f64,
}

impl Look {
    fn at(leg: &Leg, wind: &WindHint, unknowns: &[f64; UNKNOWNS]) -> Look {
        let (speed_mps, shape, close_off) = seen(leg, wind, unknowns);
        let stream = Velocity { east_mps: unknowns[EAST], north_mps: unknowns[NORTH] };
        let wind_mps = wind.speed_mps.unwrap_or(UNKNOWN_WIND_MPS);
        let leeway = air_from(felt_from(leg, wind, unknowns), LEEWAY_SHARE * wind_mps);
        let mut look = Look {
            speed_mps,
            shape,
            adrift: leg.velocity.minus(stream).minus(leeway),
            close_off,
            close_slopes: [0.0; UNKNOWNS],
            speed_slopes: [0.0; UNKNOWNS],
            shape_slopes: [0.0; UNKNOWNS],
        };
        for (which, h) in
            [(EAST, 0.02), (NORTH, 0.02), (WIND, 0.02), (BEAT, 0.01), (RUN, 0.01), (CLOSE, 0.01)]
        {
            let mut moved = *unknowns;
            moved[which] += h;
            let (moved_mps, moved_shape, moved_off) = seen(leg, wind, &moved);
            look.close_slopes[which] = (moved_off - close_off) / h;
            look.speed_slopes[which] = (moved_mps - speed_mps) / h;
            look.shape_slopes[which] = (moved_shape - shape) / h;
        }
        look
    }

    fn slopes(&self, pace: f64) -> [f64; UNKNOWNS] {
        std::array::from_fn(|which| self.speed_slopes[which] - pace * self.shape_slopes[which])
    }

    /// Densities of her velocity through the water, all times the same.
    fn weighed(&self, pace: f64) -> Weighed {
        let should_mps = pace * self.shape;
        let var = (LEG_SHARE * should_mps).powi(2) + LEG_MPS * LEG_MPS;
        let off = self.speed_mps - should_mps;
        let speed = (-0.5 * off * off / var).exp() / (2.0 * std::f64::consts::PI * var).sqrt();
        let z = self.close_off / BEATING_SD_RAD;
        let beating = BEATING * (-0.5 * z * z).exp() / (BEATING_SD_RAD * (2.0 * std::f64::consts::PI).sqrt());
        let free = (1.0 - BEATING) / 2.3 / (1.0 + (-2.0 * z).exp());
        let direction = beating + free + 0.01;
        let around = 1.0 / (2.0 * self.speed_mps.max(0.15));
        let sailed = SAILED * speed * direction * around;
        let dawdled = DAWDLED / (1.5 * pace) / std::f64::consts::PI * around;
        let stop_var = STOP_SD_MPS * STOP_SD_MPS;
        let adrift2 = self.adrift.speed_mps().powi(2) / stop_var;
        let stopped = STOPPED * (-0.5 * adrift2).exp() / (2.0 * std::f64::consts::PI * stop_var);
        let likelihood = sailed + dawdled + stopped;
        Weighed {
            sailed: sailed / likelihood,
            beaten: sailed / likelihood * beating / direction,
            stopped: stopped / likelihood,
            var,
            likelihood,
        }
    }
}

/// Speed through the water, and what share of her speed on a reach she should make on that course.
fn seen(leg: &Leg, wind: &WindHint, unknowns: &[f64; UNKNOWNS]) -> (f64, f64, f64) {
    let stream = Velocity { east_mps: unknowns[EAST], north_mps: unknowns[NORTH] };
    let through_water = leg.velocity.minus(stream);
    let from = felt_from(leg, wind, unknowns);
    let angle_deg = through_water.direction().map_or(90.0, |course| course.turn_to(from).abs());
    let share = shape(angle_deg, unknowns[BEAT], unknowns[RUN]);
    (through_water.speed_mps(), share, angle_deg.to_radians() - unknowns[CLOSE])
}

/// Where the wind over the water comes from.
fn felt_from(leg: &Leg, wind: &WindHint, unknowns: &[f64; UNKNOWNS]) -> Bearing {
    let from = leg.from.filter(|_| wind.over_ground).unwrap_or(wind.from);
    let stream = Velocity { east_mps: unknowns[EAST], north_mps: unknowns[NORTH] };
    let felt = match wind.speed_mps {
        Some(speed_mps) if wind.over_ground => {
            from_of(air_from(from, speed_mps).minus(stream)).unwrap_or(from)
        }
        Some(_) | None => from,
    };
    felt.turned(unknowns[WIND].to_degrees())
}

/// Speed as a share of that on a reach, at an angle off the wind, degrees.
fn shape(angle_deg: f64, beat: f64, run: f64) -> f64 {
    let hold = |angle: f64, low: f64, high: f64| ((angle - low) / (high - low)).clamp(0.0, 1.0);
    let beating = 1.0 - hold(angle_deg, 45.0, 95.0);
    let running = hold(angle_deg, 135.0, 180.0);
    let pinching = 1.0 - hold(angle_deg, 0.0, 40.0);
    (1.0 + beat * beating + run * running - 0.6 * pinching).max(0.1)
}

/// Solves a positive definite system by elimination; zero where it is singular.
fn solved(matrix: [[f64; UNKNOWNS]; UNKNOWNS], vector: [f64; UNKNOWNS]) -> [f64; UNKNOWNS] {
    let inverse = inverted(matrix);
    std::array::from_fn(|row| inverse[row].iter().zip(vector).map(|(cell, value)| cell * value).sum())
}

/// The inverse by Gauss and Jordan without pivoting, which a positive definite matrix does not need.
fn inverted(mut matrix: [[f64; UNKNOWNS]; UNKNOWNS]) -> [[f64; UNKNOWNS]; UNKNOWNS] {
    let mut inverse = [[0.0; UNKNOWNS]; UNKNOWNS];
    for (place, row) in inverse.iter_mut().enumerate() {
        row[place] = 1.0;
    }
    for pivot in 0..UNKNOWNS {
        let by = 1.0 / matrix[pivot][pivot].max(1e-9);
        for column in 0..UNKNOWNS {
            matrix[pivot][column] *= by;
            inverse[pivot][column] *= by;
        }
        let (pivot_row, pivot_inverse) = (matrix[pivot], inverse[pivot]);
        for row in (0..UNKNOWNS).filter(|row| *row != pivot) {
            let by = matrix[row][pivot];
            for column in 0..UNKNOWNS {
                matrix[row][column] -= by * pivot_row[column];
                inverse[row][column] -= by * pivot_inverse[column];
            }
        }
    }
    inverse
}

/// The inverse of a symmetric two by two matrix.
fn inverse2([a, b, c]: [f64; 3]) -> [f64; 3] {
    let det = (a * c - b * b).max(1e-12);
    [c / det, -b / det, a / det]
}

fn less([a, b, c]: [f64; 3], both: f64) -> [f64; 3] {
    [a - both, b, c - both]
}

/// Of a symmetric two by two matrix, the smaller first.
fn eigenvalues([a, b, c]: [f64; 3]) -> (f64, f64) {
    let middle = (a + c) / 2.0;
    let reach = ((a - c) / 2.0).hypot(b);
    (middle - reach, middle + reach)
}
