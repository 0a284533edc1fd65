//! The rules of the session itself: more wind than allowed, instruments that contradict.

use super::{
    fact,
    latch::{Holds, Latch, Says},
    words,
};
use crate::{
    alerts::{Alerts, Topic},
    effect::{AlertKind, Level, WindNow},
    moment::Moment,
    units::kn_from_mps,
    wind::Disagreement,
};

/// The mean has to stay over the limit this long, and well under it for longer: groups are not
/// called in for one gust, nor sent out for one lull. Common practice, no source.
const LIMIT_HOLDS: Holds = Holds { raise_ms: 20_000, clear_ms: 180_000 };

/// Below this share of the limit the wind counts as within it again.
const WITHIN: f64 = 0.9;

/// Gusts of this share of the limit count as over it though the mean is not.
const GUSTS: f64 = 1.4;

/// A vane already counts as differing only when it persists; it has to agree again for longer.
const DISAGREE_HOLDS: Holds = Holds { raise_ms: 10_000, clear_ms: 60_000 };

/// A vane this far off the fleet's wind counts as wrong, degrees, and below half of it as right: twice
/// the 95 % error of four boards on each tack (wind_from_tracks.csv).
const DISAGREE_DEG: f64 = 25.0;

/// The state of the session's own rules.
#[derive(Clone, Copy, Debug, Default)]
pub struct SessionRules {
    limit: Latch,
    disagree: Latch,
}

impl SessionRules {
    /// A second passed. `limit_mps`: the session's wind limit, if it has one; `disagreement`: the
    /// instrument furthest from the fleet, while both speak.
    pub fn on_tick(
        &mut self,
        now: Moment,
        wind: Option<&WindNow>,
        limit_mps: Option<f64>,
        disagreement: Option<&Disagreement>,
        alerts: &mut Alerts,
    ) {
        self.watch_limit(now, wind, limit_mps, alerts);
        self.watch_instruments(now, disagreement, alerts);
    }

    fn watch_limit(
        &mut self,
        now: Moment,
        wind: Option<&WindNow>,
        limit_mps: Option<f64>,
        alerts: &mut Alerts,
    ) {
        let topic = Topic::session(AlertKind::WindOverLimit);
        let Some(limit_mps) = limit_mps else {
            self.limit = Latch::Off;
            return alerts.release(now, topic, "no limit is set");
        };
        let speed_mps = wind.and_then(|wind| wind.speed_mps);
        let gust_mps = wind.and_then(|wind| wind.gust_mps);
        let says = match speed_mps {
            Some(mean) if mean > limit_mps || gust_mps.is_some_and(|gust| gust > GUSTS * limit_mps) => {
                Says::Yes
            }
            Some(mean) if mean < WITHIN * limit_mps => Says::No,
            Some(_) | None => Says::Unsure, // an unknown wind is no wind within the limit
        };
        self.limit = self.limit.after(now, says, LIMIT_HOLDS);
        match (self.limit.on_since(), speed_mps) {
            (Some(since), Some(mean_mps)) => {
                alerts.hold(now, topic, fact(Level::Warning, since), || {
                    limit_words(now, since, mean_mps, gust_mps, limit_mps)
                });
            }
            (Some(_), None) => (),
            (None, _) => alerts.release(now, topic, "the wind is within the limit again"),
        }
    }

    fn watch_instruments(&mut self, now: Moment, disagreement: Option<&Disagreement>, alerts: &mut Alerts) {
        let topic = Topic::session(AlertKind::WindDisagrees);
        let off_deg = disagreement.map(|found| found.off_deg);
        let says = match off_deg.map(f64::abs) {
            Some(off) if off > DISAGREE_DEG => Says::Yes,
            Some(off) if off > DISAGREE_DEG / 2.0 => Says::Unsure,
            Some(_) | None => Says::No,
        };
        self.disagree = self.disagree.after(now, says, DISAGREE_HOLDS);
        match (self.disagree.on_since(), disagreement, off_deg) {
            (Some(since), Some(found), Some(off)) => {
                alerts.hold(now, topic, fact(Level::Caution, since), || {
                    let side = if off > 0.0 { "clockwise" } else { "anticlockwise" };
                    vec![format!(
                        "{} says a wind {:.0} degrees {side} of {}",
                        found.source,
                        off.abs(),
                        found.with
                    )]
                });
            }
            (Some(_), _, _) => (),
            (None, _, _) => alerts.release(now, topic, "instrument and fleet agree again"),
        }
    }
}

fn limit_words(
    now: Moment,
    since: Moment,
    mean_mps: f64,
    gust_mps: Option<f64>,
    limit_mps: f64,
) -> Vec<String> {
    let kn = kn_from_mps;
    let mut evidence = vec![format!(
        "mean wind {:.0} kn, limit {:.0} kn, for {}",
        kn(mean_mps),
        kn(limit_mps),
        words::duration(now, since)
    )];
    evidence.extend(gust_mps.map(|gust| format!("gusts of {:.0} kn in the last ten minutes", kn(gust))));
    evidence
}
