//! The tidal stream: a person's word, the fleet's tracks, and a compass or a log beside a track.
//!
//! Nothing is stated until something tells, and then with its doubt. A person's word is where the
//! estimate starts from instead of still water, and tracks that clearly say otherwise move it: a
//! stream entered at noon has turned by three.

use std::collections::BTreeMap;

use super::{
    stream_fit::{Evidence, Fit, Push, fit},
    stream_legs::{LEG_MAX_S, Legs, Seen},
};
use crate::{
    fleet::BoatIx,
    moment::Moment,
    tracks::Motion,
    units::{Bearing, Velocity},
};

/// How often the fit is worked out anew, ms: a stream turns over hours.
const PERIOD_MS: i64 = 60_000;
/// What the fleet and the instruments show fades with this time constant, s: half an hour after the
/// turn of the tide a stream of 1 kn runs with a quarter of it (common practice, rule of twelfths).
const FADE_S: f64 = 1_500.0;
/// The doubt of what a person entered, m/s in each component, and how it grows in a second: tide
/// tables are for one place and hour (our choice).
const HAND_SD_MPS: f64 = 0.1;
const HAND_GROWS_MPS_PER_S: f64 = 0.15 / 3_600.0;
/// How far streams of sailing waters lie from none on most days, m/s in each component (our choice).
const STILL_SD_MPS: f64 = 0.2;
/// With more doubt than this in either component nothing is stated, m/s.
const STATED_SD_MAX_MPS: f64 = 0.25;
/// Nor while what was seen would by itself leave more than this, m/s.
pub(super) const TOLD_SD_MAX_MPS: f64 = 0.16;
/// Doubt that no evidence takes away, m/s and as a share of the stream: it is not the same inshore
/// and off (our choice).
const VENUE_SD_MPS: f64 = 0.07;
const VENUE_SHARE: f64 = 0.15;
/// A log is not read slower than this, m/s: at rest it reads what weed and waves make of it.
const LOG_MPS: f64 = 1.0;
/// Slower over the ground than this a craft may lie at anchor or alongside, m/s.
const UNDER_WAY_MPS: f64 = 0.8;
/// Nor anything from a bow that turns faster than this, degrees a second.
const STEADY_DPS: f64 = 3.0;
/// Compass readings are averaged over this long, ms.
const COMPASS_MS: i64 = 15_000;
/// Error of a compass, degrees (EP 2354798, para 0002 gives 7 for a vane and compass together).
const COMPASS_SD_DEG: f64 = 5.0;
/// Error of a log, as a share of its speed (our choice).
const LOG_SHARE: f64 = 0.06;
/// What wind and waves do to a craft under power, m/s in each component (our choice).
const CRAFT_SD_MPS: f64 = 0.2;
/// Compass readings kept of one session: an hour of two craft.
const COMPASS_MAX: usize = 480;

/// The tidal stream as believed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stream {
    /// Where the water goes.
    pub velocity: Velocity,
    /// One standard deviation of each component, m/s.
    pub sd_mps: f64,
    /// Whether a person said so.
    pub by_hand: bool,
}

/// The wind that boats are held against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct WindHint {
    /// Where it comes from.
    pub(super) from: Bearing,
    /// One standard deviation, degrees.
    pub(super) sd_deg: f64,
    /// Over the ground, m/s; `None`: unknown.
    pub(super) speed_mps: Option<f64>,
    /// Whether `from` was measured over the ground; else it is what sails feel, as the fleet shows.
    pub(super) over_ground: bool,
}

/// A compass beside a track, averaged over [`COMPASS_MS`].
#[derive(Clone, Copy, Debug)]
struct CompassSum {
    began: Moment,
    count: f64,
    over_ground: Velocity,
    bow: Velocity,
    log_mps: f64,
    logs: f64,
}

/// What is known of the stream.
#[derive(Clone, Debug, Default)]
pub struct StreamBook {
    hand: Option<(Velocity, Moment)>,
    boats: BTreeMap<BoatIx, Legs>,
    compasses: BTreeMap<String, CompassSum>,
    pushes: Vec<Push>,
    worked_out: Option<Moment>,
    fitted: Option<Fit>,
    now: Option<Stream>,
}

impl StreamBook {
    /// A person's word, which stands until taken back.
    pub fn by_hand(&mut self, now: Moment, stream: Option<Velocity>) {
        self.hand = stream.map(|stream| (stream, now));
        self.fitted = None;
        self.now = stream.map(|velocity| Stream { velocity, sd_mps: HAND_SD_MPS, by_hand: true });
        self.worked_out = None;
    }

    /// A dinghy's motion over the ground while she may be sailing.
    pub fn sailed(&mut self, now: Moment, boat: BoatIx, motion: &Motion, wind: Option<&WindHint>) {
        let from = wind.filter(|wind| wind.over_ground).map(|wind| wind.from);
        let seen = Seen { velocity: motion.velocity, from };
        self.boats.entry(boat).or_default().see(now, seen);
    }

    /// A craft under power with a compass, and with a log if `log_mps` tells her speed through the
    /// water: what moves her across her bow is the stream, and with a log along it too.
    pub fn powered(&mut self, now: Moment, source: &str, motion: &Motion, log_mps: Option<f64>) {
        let Some(heading) = motion.heading.filter(|_| motion.heading_sensed) else {
            return;
        };
        let log_mps = log_mps.filter(|log_mps| *log_mps >= LOG_MPS);
        if motion.speed_mps() < UNDER_WAY_MPS && log_mps.is_none() {
            return;
        }
        if motion.turn_rate_dps.is_some_and(|rate| rate.abs() > STEADY_DPS) {
            return;
        }
        let fresh = CompassSum {
            began: now,
            count: 0.0,
            over_ground: Velocity::default(),
            bow: Velocity::default(),
            log_mps: 0.0,
            logs: 0.0,
        };
        let sum = self.compasses.entry(source.to_string()).or_insert(fresh);
        sum.count += 1.0;
        sum.over_ground = sum.over_ground.plus(motion.velocity);
        sum.bow = sum.bow.plus(Velocity::towards(heading, 1.0));
        if let Some(log_mps) = log_mps {
            sum.log_mps += log_mps;
            sum.logs += 1.0;
        }
        if now.ms_since(sum.began) >= COMPASS_MS {
            let sum = *sum;
            self.compasses.remove(source);
            self.push(now, &sum);
        }
    }

    fn push(&mut self, now: Moment, sum: &CompassSum) {
        // A gap, or too few readings for an average.
        if sum.count < 3.0 || now.ms_since(sum.began) > 2 * COMPASS_MS {
            return;
        }
        let Some(heading) = sum.bow.direction().filter(|_| sum.bow.speed_mps() > 0.95 * sum.count) else {
            return;
        };
        let over_ground = scaled(sum.over_ground, 1.0 / sum.count);
        let speed_mps = over_ground.speed_mps();
        let across = heading.turned(90.0);
        let sd_mps = CRAFT_SD_MPS.hypot(speed_mps * COMPASS_SD_DEG.to_radians());
        self.pushes.push(Push { at: now, along: across, mps: over_ground.along(across), sd_mps });
        if sum.logs >= 3.0 {
            let log_mps = sum.log_mps / sum.logs;
            let sd_mps = CRAFT_SD_MPS.hypot(LOG_SHARE * log_mps);
            self.pushes.push(Push {
                at: now,
                along: heading,
                mps: over_ground.along(heading) - log_mps,
                sd_mps,
            });
        }
        if self.pushes.len() > COMPASS_MAX {
            self.pushes.drain(..self.pushes.len() - COMPASS_MAX);
        }
    }

    /// Works the stream out anew when that is due.
    pub(super) fn tick(&mut self, now: Moment, wind: Option<&WindHint>) {
        if self.worked_out.is_some_and(|at| now.ms_since(at) < PERIOD_MS) {
            return;
        }
        self.worked_out = Some(now);
        let old_s = 3.0 * FADE_S + LEG_MAX_S;
        self.pushes.retain(|push| now.s_since(push.at) <= old_s);
        for legs in self.boats.values_mut() {
            legs.forget(now, old_s);
        }
        let (prior, prior_sd_mps) = match self.hand {
            Some((velocity, said)) => {
                let grown = HAND_SD_MPS + HAND_GROWS_MPS_PER_S * now.s_since(said).max(0.0);
                (velocity, grown)
            }
            None => (Velocity::default(), STILL_SD_MPS),
        };
        let share = |at: Moment| (-now.s_since(at).max(0.0) / FADE_S).exp();
        let mut evidence = Evidence {
            prior,
            prior_sd_mps,
            boats: wind.map_or_else(Vec::new, |_| {
                self.boats
                    .values()
                    .map(|legs| legs.iter().map(|leg| (*leg, share(leg.ended))).collect())
                    .collect()
            }),
            pushes: self.pushes.iter().map(|push| (*push, share(push.at))).collect(),
            wind: wind.copied(),
        };
        evidence.saturate();
        let fitted = fit(&evidence, self.fitted.as_ref());
        let stated_sd_mps =
            fitted.sd_mps().hypot(VENUE_SD_MPS).hypot(VENUE_SHARE * fitted.stream.speed_mps());
        let seen = fitted.told_sd_mps <= TOLD_SD_MAX_MPS && stated_sd_mps <= STATED_SD_MAX_MPS;
        let told = self.hand.is_some() || seen;
        self.now = told.then_some(Stream {
            velocity: fitted.stream,
            sd_mps: stated_sd_mps,
            by_hand: self.hand.is_some(),
        });
        self.fitted = Some(fitted);
    }

    /// The stream; `None` while nothing tells.
    pub fn now(&self) -> Option<Stream> {
        self.now
    }
}

/// A velocity times a number.
pub(super) fn scaled(velocity: Velocity, by: f64) -> Velocity {
    Velocity { east_mps: velocity.east_mps * by, north_mps: velocity.north_mps * by }
}
