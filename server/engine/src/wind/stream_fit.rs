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
    stream::{TOLD_SD_MAX_MPS, WindHint},
    stream_legs::Leg,
    stream_look::{BEATING_SD_RAD, Guess, Known, Look, STOP_SD_MPS, stream_of},
    stream_normal::{
        BEAT, CLOSE, EAST, NORTH, Normal, PACE, RUN, UNKNOWNS, WIND, eigenvalues, inverse2, less,
    },
};
use crate::{
    moment::Moment,
    units::{Bearing, Velocity},
};

/// A dinghy close-hauled makes three quarters of her speed on a reach, on a run five sixths, and
/// classes differ by so much (common practice, no source).
const BEAT_SHARE: (f64, f64) = (-0.25, 0.15);
const RUN_SHARE: (f64, f64) = (-0.15, 0.15);
/// Speed on a reach of training dinghies in beginners' winds, m/s (common practice, no source).
const REACH_MPS: (f64, f64) = (1.7, 0.7);
/// Angle to the wind of a training dinghy close-hauled, through the water, rad: 48 degrees with 6 of
/// doubt (`wind.md`, common practice: 40 to 50, more for beginners).
const CLOSE_RAD: (f64, f64) = (0.84, 0.1);
/// Boats of one fleet differ by this share of it.
const BOATS_DIFFER: f64 = 0.25;
/// The wind where she is, against the wind of the venue, degrees: bends and puffs.
const LOCAL_WIND_DEG: f64 = 6.0;
/// A fleet's wind was found with the stream believed before: it may be off by more than it says.
const FLEET_WIND_DEG: f64 = 10.0;
/// Legs within a square of this many m/s over the ground show the same, and count for this much at
/// most (our choice).
const CELL_MPS: f64 = 0.5;
const CELL_COUNTS: f64 = 5.0;
/// Readings of one compass are not independent: it has one error on one heading.
const PUSH_COUNTS: f64 = 0.25;
/// Freedom of the prior, a Student t: strong streams are rare, not impossible.
const PRIOR_FREEDOM: f64 = 3.0;
/// Rounds of the fit.
const ROUNDS: usize = 8;
/// The fit also sets out from so many streams around the prior, this far from it, m/s.
const STARTS: usize = 4;
const START_MPS: f64 = 0.45;
/// An explanation this much worse than the best, as ln likelihood, is dropped.
const HOPELESS: f64 = 20.0;
/// Explanations followed at once; the worst beyond that are dropped.
const EXPLANATIONS_MAX: usize = 6;
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
    /// All the explanations found, the best first.
    explanations: Vec<[f64; UNKNOWNS]>,
    /// How often it was looked for others since the first fit.
    searches: usize,
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
///
/// Until something is told it sets out from all of them. From then on it follows the explanations found
/// before, which a minute of sailing moves little, and looks for another from one of the streams, each
/// in turn.
pub(super) fn fit(evidence: &Evidence, last: Option<&Fit>) -> Fit {
    let scene = Scene::of(evidence);
    let known = last.map_or(&[][..], |last| &last.explanations);
    let mut found: Vec<Fit> = known.iter().map(|unknowns| climb(&scene, *unknowns)).collect();
    let starts = match last {
        Some(last) if last.told_sd_mps <= TOLD_SD_MAX_MPS => {
            let next = last.searches % (STARTS + 1);
            next..next + 1
        }
        Some(_) | None => 0..STARTS + 1,
    };
    found.extend(starts.map(|number| climb(&scene, start(evidence, number))));
    found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    let worst = found[0].cost + HOPELESS;
    let mut modes: Vec<Fit> = Vec::new();
    for fit in found.into_iter().filter(|fit| fit.cost <= worst) {
        if modes.iter().all(|mode| mode.stream.minus(fit.stream).speed_mps() > SAME_MPS) {
            modes.push(fit);
        }
    }
    modes.truncate(EXPLANATIONS_MAX);
    Fit { searches: last.map_or(0, |last| last.searches + 1), ..mixed(modes) }
}

/// Where the fit sets out from: the prior, or one of the streams around it.
fn start(evidence: &Evidence, number: usize) -> [f64; UNKNOWNS] {
    let away = match number {
        0 => Velocity::default(),
        around => Velocity::towards(Bearing::wrap(360.0 * around as f64 / STARTS as f64), START_MPS),
    };
    let stream = evidence.prior.plus(away);
    let mut start = [0.0; UNKNOWNS];
    (start[EAST], start[NORTH]) = (stream.east_mps, stream.north_mps);
    (start[BEAT], start[RUN], start[PACE]) = (BEAT_SHARE.0, RUN_SHARE.0, REACH_MPS.0);
    start[CLOSE] = CLOSE_RAD.0;
    start
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
    let explanations = modes.iter().map(|mode| mode.unknowns).collect();
    Fit { stream: mean, covariance, explanations, ..modes[0].clone() }
}

/// What every round looks at.
struct Scene<'a> {
    evidence: &'a Evidence,
    boats: Vec<Vec<Known>>,
}

impl Scene<'_> {
    fn of(evidence: &Evidence) -> Scene<'_> {
        let known = |wind: &WindHint| {
            let boats = evidence.boats.iter();
            boats.map(|legs| legs.iter().map(|(leg, share)| Known::of(leg, *share, wind)).collect()).collect()
        };
        Scene { evidence, boats: evidence.wind.as_ref().map_or_else(Vec::new, known) }
    }
}

fn climb(scene: &Scene, start: [f64; UNKNOWNS]) -> Fit {
    let mut unknowns = start;
    let mut paces = vec![start[PACE]; scene.boats.len()];
    let mut round = Round::of(scene, &unknowns, &mut paces);
    for _ in 0..ROUNDS {
        let step = round.normal.solved();
        let moved_mps = step[EAST].hypot(step[NORTH]);
        let share = if moved_mps > STEP_MPS { STEP_MPS / moved_mps } else { 1.0 };
        for (unknown, step) in unknowns.iter_mut().zip(step) {
            *unknown += share * step;
        }
        bound(&mut unknowns);
        round = Round::of(scene, &unknowns, &mut paces);
        if moved_mps < 0.002 {
            break;
        }
    }
    let inverse = round.normal.inverse();
    let covariance = [inverse[EAST][EAST], inverse[EAST][NORTH], inverse[NORTH][NORTH]];
    let told = less(inverse2(covariance), round.prior_precision);
    let weakest = eigenvalues(told).0;
    Fit {
        stream: stream_of(&unknowns),
        covariance,
        told_sd_mps: if weakest > 1e-6 { weakest.sqrt().recip() } else { f64::INFINITY },
        unknowns,
        cost: round.cost,
        explanations: Vec::new(),
        searches: 0,
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
    fn of(scene: &Scene, unknowns: &[f64; UNKNOWNS], paces: &mut [f64]) -> Round {
        let evidence = scene.evidence;
        let mut round = Round { normal: Normal::new(), prior_precision: 0.0, cost: 0.0 };
        round.prior(evidence, unknowns);
        let stream = stream_of(unknowns);
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
            let guess = Guess::of(unknowns, wind);
            let mut looks = Vec::new();
            for (legs, pace) in scene.boats.iter().zip(paces) {
                looks.clear();
                looks.extend(legs.iter().map(|leg| (Look::at(leg, &guess), leg.counts)));
                round.boat(&looks, unknowns[PACE], pace);
            }
        }
        round
    }

    fn prior(&mut self, evidence: &Evidence, unknowns: &[f64; UNKNOWNS]) {
        let off = stream_of(unknowns).minus(evidence.prior);
        let spread2 = PRIOR_FREEDOM * evidence.prior_sd_mps.powi(2);
        self.prior_precision = (PRIOR_FREEDOM + 2.0) / (spread2 + off.speed_mps().powi(2));
        self.cost += 0.5 * (PRIOR_FREEDOM + 2.0) * (off.speed_mps().powi(2) / spread2).ln_1p();
        self.normal.add_one(EAST, off.east_mps, self.prior_precision);
        self.normal.add_one(NORTH, off.north_mps, self.prior_precision);
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
            self.normal.add_one(which, off, 1.0 / (sd * sd));
            self.cost += 0.5 * (off / sd).powi(2);
        }
    }

    /// One boat's legs. Her pace is found for these unknowns, and its doubt taken out of what she
    /// says (the Schur complement).
    fn boat(&mut self, looks: &[(Look, f64)], fleet_pace: f64, pace: &mut f64) {
        let tie_sd = BOATS_DIFFER * fleet_pace;
        let tie = 1.0 / (tie_sd * tie_sd);
        for _ in 0..2 {
            let (mut top, mut bottom) = (tie * fleet_pace, tie);
            for (look, counts) in looks {
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
        let off = *pace - fleet_pace;
        self.cost += 0.5 * tie * off * off;
        self.normal.add_one(PACE, -off, tie);
        for (look, counts) in looks {
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
            self.normal.add_one(EAST, -look.adrift.east_mps, precision);
            self.normal.add_one(NORTH, -look.adrift.north_mps, precision);
        }
        // The pace is at its best, so it adds nothing to the vector.
        self.normal.take_out(&cross, own);
    }
}
