//! Engine views to wire messages: the only place where SI becomes what a tablet is told.

use dunlin_engine::{
    effect::{Alert, AlertKind, Level, Manoeuvre, Seen, Side, Standing, Turn, WindNow},
    fleet::{Boat, Role},
    units::{Bearing, Position, kn_from_mps},
    venue::{Site, Zone, ZoneKind},
    view::{BoatView, DriftView, NeedView, StrangerView, StreamView, WayView},
};

use super::wire;
use crate::link::{Notice, Picture};

/// Rounds to `places` decimals: the wire carries what can be read, not the filter's last bit.
fn round(value: f64, places: i32) -> f64 {
    let scale = 10_f64.powi(places);
    (value * scale).round() / scale
}

fn deg(bearing: Bearing) -> f64 {
    let rounded = round(bearing.deg(), 0);
    if rounded >= 360.0 { 0.0 } else { rounded }
}

fn kn(speed_mps: f64) -> f64 {
    round(kn_from_mps(speed_mps), 1)
}

/// `[lon_e7, lat_e7]`: degrees times 10^7, about a centimetre.
fn e7(position: Position) -> [i32; 2] {
    [(position.lon_deg() * 1e7).round() as i32, (position.lat_deg() * 1e7).round() as i32]
}

fn lon_lat(position: Position) -> [f64; 2] {
    [round(position.lon_deg(), 7), round(position.lat_deg(), 7)]
}

/// The word for a side.
pub fn side_word(side: Side) -> &'static str {
    match side {
        Side::Port => "port",
        Side::Starboard => "starboard",
    }
}

/// The word for a level.
pub fn level_word(level: Level) -> &'static str {
    match level {
        Level::Caution => "caution",
        Level::Warning => "warning",
        Level::Alarm => "alarm",
        Level::Emergency => "emergency",
    }
}

/// The word for a role, as in the fleet file.
pub fn role_word(role: Role) -> &'static str {
    match role {
        Role::Dinghy => "dinghy",
        Role::Safety => "safety",
        Role::Station => "station",
    }
}

/// The word for a zone, as in the site file.
pub fn zone_word(kind: ZoneKind) -> &'static str {
    match kind {
        ZoneKind::SailingArea => "sailing-area",
        ZoneKind::NoGo => "no-go",
        ZoneKind::Landing => "landing",
        ZoneKind::Shore => "shore",
    }
}

/// One boat.
pub fn boat(view: &BoatView) -> wire::BoatNow {
    wire::BoatNow(
        u32::from(view.boat.0),
        wire::BoatFacts {
            t: view.seen.map(|seen| seen.taken.0),
            at: view.seen.map(|seen| e7(seen.position)),
            sd_m: view.sd_m.map(|sd| round(sd, 1)),
            kn: view.speed_mps.map(kn),
            cog: view.course.map(deg),
            hdg: view.heading.map(deg),
            heel: view.heel_deg.map(|heel| round(heel, 0)),
            sail: view.sail.map(|side| side_word(side).to_owned()),
            twa: view.wind_angle_deg.map(|angle| round(angle, 0)),
            doing: view.doing.to_owned(),
            p_capsize: view.p_capsize.map(|p| round(p, 2)),
            standing: view.standing.word().to_owned(),
            persons: u32::from(view.persons),
            battery: view.battery_pct.map(|pct| round(pct, 0)),
            heard: view.heard.map(|at| at.0),
        },
    )
}

/// A place in the order of need.
pub fn need(view: &NeedView) -> wire::Need {
    wire::Need {
        alert: view.alert.0,
        boat: view.boat.map(|boat| u32::from(boat.0)),
        why: view.why.clone(),
        persons: u32::from(view.persons),
        ways: view.ways.iter().map(way).collect(),
        drift: view.drift.iter().map(drift).collect(),
    }
}

fn way(view: &WayView) -> wire::Way {
    wire::Way {
        safety: u32::from(view.safety.0),
        distance_m: round(view.distance_m, 0),
        bearing_deg: deg(view.bearing),
        steer_deg: view.steer.map(deg),
        time_s: view.time_s.map(|s| round(s, 0)),
        at_kn: kn(view.speed_mps),
    }
}

fn drift(view: &DriftView) -> wire::DriftArea {
    wire::DriftArea {
        minutes: round(view.minutes, 1),
        ring: view.ring.iter().map(|position| lon_lat(*position)).collect(),
    }
}

/// The wind.
pub fn wind(now: &WindNow) -> wire::WindState {
    wire::WindState {
        at_ms: now.at.0,
        heard_ms: now.heard.0,
        from_deg: deg(now.from),
        sd_deg: round(now.sd_deg, 0),
        speed_kn: now.speed_mps.map(kn),
        gust_kn: now.gust_mps.map(kn),
        lull_kn: now.lull_mps.map(kn),
        trend_deg: now.trend_deg.map(|trend| round(trend, 0)),
        basis: now.basis.word().to_owned(),
        because: now.because.clone(),
    }
}

/// A source that no boat claims.
pub fn stranger(view: &StrangerView) -> wire::Stranger {
    wire::Stranger {
        source: view.source.clone(),
        name: view.name.clone(),
        at: view.seen.map(|seen| e7(seen.position)),
        heard_ms: view.heard.0,
    }
}

/// An alert, with whether this state of it is on disk.
pub fn alert(alert: &Alert, changed_ms: i64, recorded: bool) -> wire::AlertState {
    wire::AlertState {
        id: alert.id.0,
        boat: alert.boat.map(|boat| u32::from(boat.0)),
        person: alert.person.map(|person| wire::PersonRef { session: person.session, id: person.number }),
        about: alert.kind.word().to_owned(),
        level: level_word(alert.level).to_owned(),
        raised_ms: alert.raised.0,
        began_ms: alert.began.0,
        changed_ms,
        confidence: alert.confidence.map(|p| round(p, 2)),
        evidence: alert.evidence.clone(),
        acknowledged: alert.acknowledged.as_ref().map(|(by, at)| wire::Said { by: by.clone(), at_ms: at.0 }),
        silenced: alert.silenced.as_ref().map(|(by, at)| wire::Said { by: by.clone(), at_ms: at.0 }),
        attended: alert.attended.as_ref().map(|(boat, by, at)| wire::Attending {
            boat: u32::from(boat.0),
            by: by.clone(),
            at_ms: at.0,
        }),
        heads: alert.heads.map(u32::from),
        cleared: alert
            .cleared
            .as_ref()
            .map(|(at, reason)| wire::Cleared { at_ms: at.0, reason: reason.clone() }),
        recorded,
    }
}

/// The last change of an alert that the alert itself can tell of.
pub fn changed_ms(alert: &Alert) -> i64 {
    [
        Some(alert.raised),
        alert.acknowledged.as_ref().map(|(_, at)| *at),
        alert.attended.as_ref().map(|(_, _, at)| *at),
        alert.cleared.as_ref().map(|(at, _)| *at),
    ]
    .into_iter()
    .flatten()
    .map(|at| at.0)
    .max()
    .unwrap_or(alert.raised.0)
}

/// A tack or gybe.
pub fn manoeuvre(done: &Manoeuvre) -> wire::ManoeuvreState {
    wire::ManoeuvreState {
        at_ms: done.at.0,
        boat: u32::from(done.boat.0),
        turn: match done.turn {
            Turn::Tack => "tack",
            Turn::Gybe => "gybe",
        }
        .to_owned(),
        turn_deg: round(done.turn_deg, 0),
        before_kn: kn(done.before_mps),
        after_kn: kn(done.after_mps),
    }
}

/// Whether people in a boat of this standing are still out.
pub fn is_out(standing: Standing) -> bool {
    match standing {
        Standing::Afloat | Standing::Landed => true,
        Standing::Ashore | Standing::Returned | Standing::StoodDown => false,
    }
}

/// The head count. A boat is in it unless she is a mast; `no_contact` is asked of those out.
pub fn tally(
    fleet: &[Boat],
    boats: &[BoatView],
    short_of: impl Fn(&BoatView) -> u32,
    people_missing: u32,
) -> wire::TallyState {
    let mut state = wire::TallyState {
        entries: Vec::with_capacity(boats.len()),
        boats_out: 0,
        persons_out: 0,
        unaccounted: people_missing,
    };
    for view in boats {
        let role = fleet.get(usize::from(view.boat.0)).map(|boat| boat.role);
        if role == Some(Role::Station) {
            continue;
        }
        if is_out(view.standing) {
            state.boats_out += 1;
            state.persons_out += u32::from(view.persons);
            state.unaccounted += short_of(view);
        }
        state.entries.push(wire::TallyEntry {
            boat: u32::from(view.boat.0),
            standing: view.standing.word().to_owned(),
            persons: u32::from(view.persons),
            since_ms: view.standing_since.0,
            by: view.standing_by.clone(),
        });
    }
    state
}

/// How many of a boat's people are not known to be all right: all of them while her contact is
/// lost, those not counted where heads were counted.
pub fn short_of(boat: &BoatView, alerts: &[Alert]) -> u32 {
    let persons = u32::from(boat.persons);
    alerts
        .iter()
        .filter(|alert| alert.boat == Some(boat.boat) && alert.cleared.is_none())
        .map(|alert| match (alert.kind, alert.heads) {
            (_, Some(heads)) => persons.saturating_sub(u32::from(heads)),
            (AlertKind::LostContact, None) => persons,
            (AlertKind::PersonOverboard, None) => persons.min(1),
            (_, None) => 0,
        })
        .max()
        .unwrap_or(0)
}

/// The fleet.
pub fn boat_info((ix, boat): (usize, &Boat)) -> wire::BoatInfo {
    wire::BoatInfo {
        ix: u32::try_from(ix).unwrap_or(u32::MAX),
        id: boat.id.clone(),
        name: boat.name.clone(),
        role: role_word(boat.role).to_owned(),
        class: (!boat.class.name.is_empty()).then(|| boat.class.name.clone()),
        crew: u32::from(boat.crew),
        has_feed: boat.has_feed(),
    }
}

/// The zones of a site.
pub fn zones(site: &Site) -> Vec<wire::ZoneShape> {
    site.zones.iter().map(zone).collect()
}

fn zone(zone: &Zone) -> wire::ZoneShape {
    let ring = |ring: &Vec<Position>| ring.iter().map(|position| lon_lat(*position)).collect();
    wire::ZoneShape {
        zone: zone_word(zone.kind).to_owned(),
        name: zone.name.clone(),
        polygons: zone.polygons.iter().map(|polygon| polygon.iter().map(ring).collect()).collect(),
    }
}

/// The marks of a site.
pub fn marks(site: &Site) -> Vec<wire::MarkShape> {
    site.marks
        .iter()
        .map(|mark| wire::MarkShape { name: mark.name.clone(), at: lon_lat(mark.position) })
        .collect()
}

/// The stream.
pub fn stream(view: &StreamView) -> wire::StreamState {
    wire::StreamState {
        towards_deg: deg(view.towards),
        speed_kn: round(kn_from_mps(view.speed_mps), 2),
        basis: if view.entered { "entered" } else { "estimated" }.to_owned(),
    }
}

/// The stable name of a trouble: its word, and the feed it concerns.
pub fn notice_code(notice: &Notice) -> String {
    match notice.kind.feed() {
        Some(feed) => format!("{}:{feed}", notice.kind.word()),
        None => notice.kind.word().to_owned(),
    }
}

/// A trouble of the program; `None` when it is over.
pub fn notice(notice: &Notice) -> Option<wire::Notice> {
    let since = notice.since?;
    Some(wire::Notice { code: notice_code(notice), text: notice.text.clone(), since_ms: since.0 })
}

/// All boats, whether they changed or not.
pub fn tick(picture: &Picture) -> wire::Tick {
    wire::Tick {
        now_ms: picture.at.0,
        boats: picture.boats.iter().map(boat).collect(),
        needs: picture.needs.iter().map(need).collect(),
        wind: picture.wind.as_ref().map(wind),
        strangers: picture.strangers.iter().map(stranger).collect(),
    }
}

/// One point of a trail as [`wire::Trail`] has it; `None` when the boat was never seen.
pub fn trail_point(view: &BoatView) -> Option<wire::TrailPoint> {
    let Seen { position, taken } = view.seen?;
    let [lon_e7, lat_e7] = e7(position);
    let speed_dkn = view.speed_mps.map(|speed| (kn_from_mps(speed) * 10.0).round() as i32);
    Some((taken.0, lon_e7, lat_e7, speed_dkn, view.heel_deg.map(|heel| heel.round() as i32)))
}

/// One point of a track read back from the journal.
pub fn past_point(point: &crate::day::past::Point) -> wire::TrailPoint {
    let [lon_e7, lat_e7] = e7(point.seen.position);
    let speed_dkn = point.speed_mps.map(|speed| (kn_from_mps(speed) * 10.0).round() as i32);
    (point.seen.taken.0, lon_e7, lat_e7, speed_dkn, point.heel_deg.map(|heel| heel.round() as i32))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bearing_that_rounds_up_to_360_is_told_as_north() {
        let almost = Bearing::from_degrees_true(359.7).expect("finite");
        assert_eq!(deg(almost), 0.0);
    }

    #[test]
    fn a_position_keeps_a_centimetre() {
        let at = Position::new(-33.123_456_74, 179.999_999_96).expect("on the earth");
        assert_eq!(e7(at), [1_800_000_000, -331_234_567]);
    }
}
