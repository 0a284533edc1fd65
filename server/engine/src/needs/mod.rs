//! Who needs help first and why, who can be there first, and the course to steer.

pub mod intercept;

use crate::{
    alerts::{Alerts, Topic},
    drift::{self, Adrift, Push},
    effect::{Alert, AlertKind, Level},
    fleet::{Boat, BoatIx, Role},
    moment::Moment,
    tracks::Motion,
    units::{Bearing, Local, Position, Velocity},
    view::{DriftView, NeedView, WayView},
    watch::words,
};

/// What a safety boat is assumed to make through the water, m/s: 15 kn, the speed the reference on
/// safety cover reckons a minute's reach with. Common practice, no source.
pub const SAFETY_BOAT_MPS: f64 = 15.0 * crate::units::KNOT_MPS;

/// Break points of time in the water, minutes: Transport Canada TP 13822 and Giesbrecht.
const FORECAST_MIN: [f64; 3] = [3.0, 10.0, 30.0];

/// A capsize that has lasted this long is not one of those that are righted at once, ms; beginners
/// take 1 to 5 min. Common practice, no source.
const LONG_CAPSIZE_MS: i64 = 180_000;

/// One standard deviation of a measured drift's components that grows with the forecast, m/s.
const MEASURED_SD_MPS: f64 = 0.08;

/// What the order of need is made from.
pub struct Scene<'a> {
    /// Now.
    pub now: Moment,
    /// The boats.
    pub fleet: &'a [Boat],
    /// The alerts.
    pub alerts: &'a Alerts,
    /// A boat's motion carried forward to now, and her measured drift over the last minute where she
    /// has one; `None`: never seen.
    pub motion: &'a dyn Fn(BoatIx) -> Option<(Motion, Option<Velocity>)>,
    /// Persons aboard as last said.
    pub persons: &'a dyn Fn(BoatIx) -> u8,
    /// Where a beacon with this identity was last heard.
    pub beacon: &'a dyn Fn(u32) -> Option<Local>,
    /// Wind and stream.
    pub push: Push,
    /// Takes a point of the plane back to the chart.
    pub position: &'a dyn Fn(Local) -> Option<Position>,
}

/// How pressing, most pressing first. People before boats, and a person who may be missing before a
/// crew that is seen. "Count heads first, people before boats" is published guidance to safety-boat crews;
/// the rest of the order is common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    PersonInWater,
    HeadShort,
    LongCapsize,
    AskedForHelp,
    Capsize,
    SilentAfterStop,
    LostContact,
    Danger,
    MayBeCapsized,
    Astray,
    HeadsCounted,
    Notice,
}

/// The order of need: one entry a boat or beacon, by its most pressing alert, others named with it.
pub fn order(scene: &Scene) -> Vec<NeedView> {
    let mut ranked: Vec<(Rank, bool, Moment, Topic, &Alert)> = scene
        .alerts
        .topics()
        .filter_map(|(topic, alert)| {
            let rank = scene.rank(alert)?;
            Some((rank, alert.attended.is_some(), alert.began, *topic, alert))
        })
        .collect();
    ranked.sort_by_key(|(rank, attended, began, topic, _)| (*rank, *attended, *began, *topic));
    let mut needs: Vec<NeedView> = Vec::new();
    for (rank, _, _, topic, alert) in ranked {
        let known = needs.iter_mut().find(|need| need.boat.is_some() && need.boat == alert.boat);
        match known {
            Some(need) => {
                need.why.push_str("; also ");
                need.why.push_str(said(alert.kind));
            }
            None => needs.push(scene.need(rank, topic, alert)),
        }
    }
    needs
}

impl Scene<'_> {
    /// `None` for what needs nobody to go anywhere.
    fn rank(&self, alert: &Alert) -> Option<Rank> {
        let long = self.now.ms_since(alert.began) >= LONG_CAPSIZE_MS;
        let persons = alert.boat.map(|boat| (self.persons)(boat));
        let heads = alert.heads.zip(persons);
        let silent = alert
            .boat
            .is_some_and(|boat| self.alerts.about(Topic::of(boat, AlertKind::LostContact)).is_some());
        Some(match alert.kind {
            AlertKind::PersonOverboard if alert.level == Level::Caution => Rank::Notice,
            AlertKind::PersonOverboard => match heads {
                Some((counted, aboard)) if counted >= aboard => Rank::HeadsCounted,
                Some(_) | None => Rank::PersonInWater,
            },
            AlertKind::Capsize | AlertKind::NeedsHelp => match (heads, alert.kind, alert.level) {
                (Some((counted, aboard)), _, _) if counted < aboard => Rank::HeadShort,
                (Some(_), _, _) => Rank::HeadsCounted,
                (None, AlertKind::NeedsHelp, _) => Rank::AskedForHelp,
                (None, _, Level::Caution) => Rank::MayBeCapsized,
                (None, _, _) if silent => Rank::SilentAfterStop,
                (None, _, _) if long => Rank::LongCapsize,
                (None, _, Level::Warning | Level::Alarm | Level::Emergency) => Rank::Capsize,
            },
            AlertKind::LostContact => Rank::LostContact,
            AlertKind::Overdue | AlertKind::PersonOverdue => Rank::Astray,
            AlertKind::NoGo => Rank::Danger,
            AlertKind::OutsideArea | AlertKind::DriftingOut | AlertKind::NearingNoGo => {
                if alert.level == Level::Caution { Rank::Notice } else { Rank::Astray }
            }
            AlertKind::FrozenTracker => Rank::Notice,
            AlertKind::WindOverLimit | AlertKind::WindDisagrees | AlertKind::DoubledSource => {
                return None;
            }
        })
    }

    fn need(&self, rank: Rank, topic: Topic, alert: &Alert) -> NeedView {
        let target = self.target(topic, alert);
        NeedView {
            alert: alert.id,
            boat: alert.boat,
            why: self.why(rank, alert),
            persons: alert.boat.map_or(1, |boat| (self.persons)(boat)),
            ways: target.map(|target| self.ways(&target)).unwrap_or_default(),
            drift: target.map(|target| self.forecasts(&target)).unwrap_or_default(),
        }
    }

    /// What has to be reached: where it is and what it drifts like.
    fn target(&self, topic: Topic, alert: &Alert) -> Option<Target> {
        let what = match alert.kind {
            AlertKind::PersonOverboard => Adrift::PersonInWater,
            AlertKind::Capsize => Adrift::CapsizedDinghy,
            AlertKind::NeedsHelp
            | AlertKind::OutsideArea
            | AlertKind::DriftingOut
            | AlertKind::NoGo
            | AlertKind::NearingNoGo
            | AlertKind::LostContact
            | AlertKind::FrozenTracker
            | AlertKind::WindOverLimit
            | AlertKind::WindDisagrees
            | AlertKind::DoubledSource
            | AlertKind::Overdue => Adrift::UprightDinghy,
            // Where they are, nobody knows.
            AlertKind::PersonOverdue => return None,
        };
        let pushed = self.push.mean_velocity(what).or(self.push.stream).unwrap_or_default();
        match (alert.boat, topic.tag) {
            (Some(boat), _) => {
                let (motion, drift) = (self.motion)(boat)?;
                let tracked = alert.kind != AlertKind::PersonOverboard;
                Some(Target {
                    what,
                    at: motion.position,
                    sd_m: motion.position_sd_m,
                    velocity: if tracked { drift.unwrap_or(motion.velocity) } else { pushed },
                    measured: drift.filter(|_| tracked),
                })
            }
            (None, mmsi) => u32::try_from(mmsi).ok().and_then(self.beacon).map(|at| Target {
                what,
                at,
                sd_m: 10.0,
                velocity: pushed,
                measured: None,
            }),
        }
    }

    fn ways(&self, target: &Target) -> Vec<WayView> {
        let stream = self.push.stream.unwrap_or_default();
        let safety_boats = (0..).map(BoatIx).zip(self.fleet).filter(|(_, boat)| boat.role == Role::Safety);
        let mut ways: Vec<WayView> = safety_boats
            .filter_map(|(safety, _)| {
                let (motion, _) = (self.motion)(safety)?;
                let through_water = target.velocity.minus(stream);
                let meeting = intercept::meet(motion.position, SAFETY_BOAT_MPS, target.at, through_water);
                Some(WayView {
                    safety,
                    distance_m: motion.position.distance_m(target.at),
                    bearing: motion.position.bearing_to(target.at).unwrap_or(Bearing::NORTH),
                    steer: meeting.and_then(|meeting| meeting.steer),
                    time_s: meeting.map(|meeting| meeting.after_s),
                    speed_mps: SAFETY_BOAT_MPS,
                })
            })
            .collect();
        let time_s = |way: &WayView| way.time_s.unwrap_or(f64::INFINITY);
        ways.sort_by(|a, b| time_s(a).total_cmp(&time_s(b)).then(a.distance_m.total_cmp(&b.distance_m)));
        ways
    }

    fn forecasts(&self, target: &Target) -> Vec<DriftView> {
        let area = |minutes: f64| -> Option<DriftView> {
            let s = minutes * 60.0;
            let ring = match target.measured {
                Some(velocity) => drift::area_of_motion(target.at, target.sd_m, velocity, MEASURED_SD_MPS, s),
                None => self.push.area(target.what, target.at, target.sd_m, s)?,
            };
            let ring: Option<Vec<Position>> = ring.into_iter().map(self.position).collect();
            ring.map(|ring| DriftView { minutes, ring })
        };
        FORECAST_MIN.into_iter().filter_map(area).collect()
    }

    fn why(&self, rank: Rank, alert: &Alert) -> String {
        let since = words::duration(self.now, alert.began);
        let what = said(alert.kind);
        let mut why = match rank {
            Rank::PersonInWater => format!("person in the water for {since}"),
            Rank::HeadShort => {
                let aboard = alert.boat.map_or(1, |boat| (self.persons)(boat));
                let counted = alert.heads.unwrap_or(0);
                format!("{what}, {counted} of {aboard} heads counted, {since}")
            }
            Rank::LongCapsize => format!("{what} for {since}, not righted"),
            Rank::Capsize => format!("{what} for {since}, heads not counted"),
            Rank::SilentAfterStop => format!("{what} {since} ago and silent since"),
            Rank::HeadsCounted => format!("{what} for {since}, all heads counted"),
            Rank::MayBeCapsized => format!("may have capsized {since} ago"),
            Rank::AskedForHelp | Rank::LostContact | Rank::Danger | Rank::Astray | Rank::Notice => {
                format!("{what} for {since}")
            }
        };
        if let Some((boat, _, _)) = &alert.attended {
            let id = self.fleet.get(usize::from(boat.0)).map_or("another boat", |boat| boat.id.as_str());
            why.push_str(&format!("; {id} is on the way"));
        }
        why
    }
}

/// What a safety boat has to reach.
#[derive(Clone, Copy, Debug)]
struct Target {
    what: Adrift,
    at: Local,
    sd_m: f64,
    velocity: Velocity,
    /// Her own drift where her tracker shows it.
    measured: Option<Velocity>,
}

fn said(kind: AlertKind) -> &'static str {
    match kind {
        AlertKind::Capsize => "capsized",
        AlertKind::PersonOverboard => "person overboard",
        AlertKind::NeedsHelp => "asked for help",
        AlertKind::OutsideArea => "outside the sailing area",
        AlertKind::DriftingOut => "drifting out of the sailing area",
        AlertKind::NoGo => "in a no-go zone",
        AlertKind::NearingNoGo => "nearing a no-go zone",
        AlertKind::LostContact => "not heard",
        AlertKind::FrozenTracker => "tracker frozen",
        AlertKind::WindOverLimit => "more wind than the limit",
        AlertKind::WindDisagrees => "wind instruments disagree",
        AlertKind::DoubledSource => "two places claim to be her",
        AlertKind::Overdue | AlertKind::PersonOverdue => "overdue",
    }
}

#[cfg(test)]
mod tests;
