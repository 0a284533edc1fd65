//! Drifting out and nearing a no-go zone: where she will be if nothing changes.
//!
//! A boat that sails towards the edge is about to tack, and says nothing of herself by doing so. One
//! that does not sail goes where wind and stream take her, and her line can be drawn. So the forecast
//! is for boats that have stopped sailing; a sailing boat gets a caution at a no-go zone alone.

use super::{
    Context, fact,
    latch::{Holds, Latch, Says},
    words,
};
use crate::{
    alerts::Alerts,
    drift::Adrift,
    effect::{AlertKind, Level},
    moment::Moment,
    tracks::Motion,
    units::{Local, Velocity, kn_from_mps},
    venue::Venue,
};

/// Announced when she will be over the line within this, seconds. Someone should know at least 45 s
/// before; half a minute of track gives a drift of a fifth of a knot with a doubt of half of it (computed
/// for a phone's usual error), so the time is taken three times as long.
const RAISE_S: f64 = 150.0;

/// Taken back when she will not be over it within this, seconds.
const CLEAR_S: f64 = 300.0;

/// A sailing boat this near in time to a no-go zone gets a caution, seconds.
const SAILING_RAISE_S: f64 = 12.0;

/// The caution goes when the zone is this far off on her course, seconds.
const SAILING_CLEAR_S: f64 = 30.0;

/// Her line has to lead over it for this long; it has to lead elsewhere for much longer, since one bad
/// position turns a slow drift's direction until it has left the window. A boat that sails again is
/// cleared by that.
const HOLDS: Holds = Holds { raise_ms: 4_000, clear_ms: 30_000 };

/// The same for a boat that sails, who is clear as soon as she has turned.
const SAILING_HOLDS: Holds = Holds { raise_ms: 4_000, clear_ms: 8_000 };

/// How long she has to have stopped sailing, or to sail again, to be believed.
const STOP_HOLDS: Holds = Holds { raise_ms: 3_000, clear_ms: 4_000 };

/// Probability of making way under sail or power below which she counts as stopped, and above which
/// she counts as sailing.
const MAKING_WAY: (f64, f64) = (0.35, 0.65);

/// The same by speed through the water where no belief is at hand, m/s: a swamped boat makes 0.2 m/s in
/// 20 kn of wind, a slow beginner 0.8.
const SPEED_MPS: (f64, f64) = (0.6, 0.9);

/// The same beside a belief that she does not make way, m/s: wide, for a stream that nobody knows of.
const ADRIFT_MPS: (f64, f64) = (1.1, 1.5);

/// Stretch of track that speed is taken over, seconds.
const SPEED_WINDOW_S: f64 = 10.0;

/// From this long after the stop her own motion shows the drift; before it, wind and stream tell, ms.
const MEASURED_AFTER_MS: i64 = 12_000;

/// Longest stretch of track the drift is fitted to, seconds.
const DRIFT_WINDOW_S: f64 = 60.0;

/// Land this near beyond the edge of a landing place makes that edge its landward one, metres.
const ASHORE_WITHIN_M: f64 = 20.0;

/// A motion older than this foretells nothing, ms.
const STALE_MS: i64 = 30_000;

/// What is believed of one boat's way towards the lines.
#[derive(Clone, Copy, Debug, Default)]
pub struct Approach {
    stopped: Latch,
    out: Latch,
    into: Latch,
}

/// A line that a boat is about to cross.
#[derive(Clone, Copy, Debug)]
struct Ahead {
    after_s: f64,
    velocity: Velocity,
    adrift: bool,
}

impl Approach {
    /// A second passed. Where the line is crossed already the other rule tells, for one situation is
    /// one alert.
    pub fn on_tick(&mut self, now: Moment, ctx: &Context, alerts: &mut Alerts) {
        let Some(motion) = ctx.motion.filter(|_| ctx.is_watched_dinghy()) else {
            *self = Approach::default();
            alerts.release(now, ctx.topic(AlertKind::DriftingOut), "not afloat");
            alerts.release(now, ctx.topic(AlertKind::NearingNoGo), "not afloat");
            return;
        };
        if now.ms_since(motion.at) > STALE_MS {
            return;
        }
        self.stopped = self.stopped.after(now, stopped(ctx, motion), STOP_HOLDS);
        let drift = self.stopped.on_since().map(|since| drift(now, since, ctx, motion));
        self.watch_out(now, motion, drift, ctx, alerts);
        self.watch_into(now, motion, drift, ctx, alerts);
    }

    fn watch_out(
        &mut self,
        now: Moment,
        motion: &Motion,
        drift: Option<Velocity>,
        ctx: &Context,
        alerts: &mut Alerts,
    ) {
        let topic = ctx.topic(AlertKind::DriftingOut);
        if alerts.about(ctx.topic(AlertKind::OutsideArea)).is_some() {
            self.out = Latch::Off;
            return alerts.release(now, topic, "she has crossed the edge");
        }
        let ahead = drift.and_then(|velocity| leaving(motion, velocity, ctx));
        let before = self.out;
        self.out = match drift {
            Some(_) => before.after(now, says(ahead, RAISE_S, CLEAR_S), HOLDS),
            None => Latch::Off,
        };
        match (self.out.on_since(), ahead) {
            (Some(since), Some(ahead)) => {
                alerts
                    .hold(now, topic, fact(Level::Warning, since), || ahead.words("leave the sailing area"));
            }
            (None, _) if before.on_since().is_some() => {
                let reason = if drift.is_some() { "drifting clear of the edge" } else { "sailing again" };
                alerts.release(now, topic, reason);
            }
            (Some(_) | None, _) => (),
        }
    }

    fn watch_into(
        &mut self,
        now: Moment,
        motion: &Motion,
        drift: Option<Velocity>,
        ctx: &Context,
        alerts: &mut Alerts,
    ) {
        let topic = ctx.topic(AlertKind::NearingNoGo);
        if alerts.about(ctx.topic(AlertKind::NoGo)).is_some() {
            self.into = Latch::Off;
            return alerts.release(now, topic, "she has entered it");
        }
        let velocity = drift.unwrap_or(motion.velocity);
        let entering = entering(motion, velocity, drift.is_some(), ctx);
        let ahead = entering.map(|(ahead, _)| ahead);
        let before = self.into;
        self.into = match drift {
            Some(_) => before.after(now, says(ahead, RAISE_S, CLEAR_S), HOLDS),
            None => before.after(now, says(ahead, SAILING_RAISE_S, SAILING_CLEAR_S), SAILING_HOLDS),
        };
        match (self.into.on_since(), entering) {
            (Some(since), Some((ahead, zone))) => {
                let level = if ahead.adrift { Level::Warning } else { Level::Caution };
                alerts.hold(now, topic, fact(level, since), || ahead.words(&format!("enter {zone}")));
            }
            (None, _) if before.on_since().is_some() => {
                alerts.release(now, topic, "her way leads clear of it");
            }
            (Some(_) | None, _) => (),
        }
    }
}

impl Ahead {
    fn words(self, what: &str) -> Vec<String> {
        let speed_kn = kn_from_mps(self.velocity.speed_mps());
        let towards = self.velocity.direction().map_or_else(String::new, words::degrees);
        let how = if self.adrift { "drifting" } else { "sailing" };
        vec![
            format!("will {what} in about {:.0} s", self.after_s),
            format!("{how} {speed_kn:.1} kn towards {towards}"),
        ]
    }
}

fn says(ahead: Option<Ahead>, raise_s: f64, clear_s: f64) -> Says {
    match ahead {
        Some(ahead) if ahead.after_s <= raise_s => Says::Yes,
        Some(ahead) if ahead.after_s <= clear_s => Says::Unsure,
        Some(_) | None => Says::No,
    }
}

/// Whether she has stopped sailing. A belief that she does not make way has to agree with her speed:
/// nothing that only drifts goes through the water as fast as a boat that sails.
fn stopped(ctx: &Context, motion: &Motion) -> Says {
    let over_ground = ctx.track.drift_over(SPEED_WINDOW_S).unwrap_or(motion.velocity);
    let through_water = over_ground.minus(ctx.push.stream.unwrap_or_default()).speed_mps();
    let by_speed = |(low_mps, high_mps): (f64, f64)| {
        if through_water < low_mps {
            Says::Yes
        } else if through_water > high_mps {
            Says::No
        } else {
            Says::Unsure
        }
    };
    match ctx.making_way {
        None => by_speed(SPEED_MPS),
        // In light wind a crew that lets her lie and one that ghosts along look alike: neither ends it.
        Some(probability) if probability > MAKING_WAY.1 => match by_speed(SPEED_MPS) {
            Says::Yes => Says::Unsure,
            Says::Unsure | Says::No => Says::No,
        },
        Some(probability) if probability < MAKING_WAY.0 => by_speed(ADRIFT_MPS),
        Some(_) => match by_speed(ADRIFT_MPS) {
            Says::No => Says::No,
            Says::Yes | Says::Unsure => Says::Unsure,
        },
    }
}

/// The velocity over the ground of a boat that stopped sailing at `since`.
fn drift(now: Moment, since: Moment, ctx: &Context, motion: &Motion) -> Velocity {
    let stopped_ms = now.ms_since(since);
    if stopped_ms < MEASURED_AFTER_MS {
        let pushed = ctx.push.mean_velocity(Adrift::CapsizedDinghy);
        return pushed.or(ctx.push.stream).unwrap_or(motion.velocity);
    }
    let window_s = (stopped_ms as f64 / 1000.0).min(DRIFT_WINDOW_S);
    ctx.track.drift_over(window_s).unwrap_or(motion.velocity)
}

fn leaving(motion: &Motion, velocity: Velocity, ctx: &Context) -> Option<Ahead> {
    let margin = ctx.venue.allowed_margin(motion.position)?;
    let ahead = |after_s| Ahead { after_s, velocity, adrift: true };
    if margin.signed_m <= 0.0 {
        return Some(ahead(0.0)); // over it by her position, not yet beyond its doubt
    }
    if margin.signed_m > velocity.speed_mps() * CLEAR_S {
        return None;
    }
    let after_s = ctx.venue.leaves_after_s(motion.position, velocity)?;
    let there = motion.position.after(velocity, after_s);
    (!comes_ashore(there, velocity, ctx.venue)).then(|| ahead(after_s))
}

/// Whether a boat that leaves the water where she may be at `there` does so over the landward edge of a
/// landing place: then she does not drift out, she comes home. Where the site file draws no land, any
/// edge of a landing place counts as that.
fn comes_ashore(there: Local, velocity: Velocity, venue: &Venue) -> bool {
    let onward = velocity
        .direction()
        .map_or(there, |towards| there.after(Velocity::towards(towards, ASHORE_WITHIN_M), 1.0));
    venue.near_landing(there, 1.0) && (!venue.has_shore() || venue.on_shore(there) || venue.on_shore(onward))
}

fn entering<'a>(
    motion: &Motion,
    velocity: Velocity,
    adrift: bool,
    ctx: &Context<'a>,
) -> Option<(Ahead, &'a str)> {
    let (margin, zone) = ctx.venue.no_go_margin(motion.position)?;
    let ahead = |after_s| Ahead { after_s, velocity, adrift };
    if margin.signed_m >= 0.0 {
        return Some((ahead(0.0), zone));
    }
    let clear_s = if adrift { CLEAR_S } else { SAILING_CLEAR_S };
    if -margin.signed_m > velocity.speed_mps() * clear_s {
        return None;
    }
    let (after_s, zone) = ctx.venue.enters_no_go_after_s(motion.position, velocity)?;
    Some((ahead(after_s), zone))
}
