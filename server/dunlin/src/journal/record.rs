//! Inputs and set-ups in the form in which they are stored. Boats go by what is painted on them, so
//! that a journal can be read with a fleet whose order has changed.

use dunlin_engine::{
    Setup,
    fleet::{Boat, BoatIx, Class, Role},
    input::{AlertId, Command, FeedName, HandMark, HandWind, Input, PersonId, Report},
    moment::{FixTime, Moment},
    units::{Bearing, Position},
    venue::{Mark, Site, Zone, ZoneKind},
};
use serde::{Deserialize, Serialize};

/// An input as a row.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What the row is: see [`LINE`], [`REPORT`], [`COMMAND`].
    pub kind: u8,
    /// Feed, source, or person.
    pub source: String,
    /// Bytes of a line, else JSON.
    pub body: Vec<u8>,
}

/// A row that holds a line.
pub const LINE: u8 = 0;
/// A row that holds a phone's report.
pub const REPORT: u8 = 1;
/// A row that holds a person's decision.
pub const COMMAND: u8 = 2;

/// The row for `input`; `None` for a wake, which needs none: time passes by itself.
pub fn row(fleet: &[Boat], input: &Input) -> Option<Row> {
    match input {
        Input::Line { feed, line } => Some(Row { kind: LINE, source: feed.0.clone(), body: line.clone() }),
        Input::Report { source, report } => {
            let body = json(&ReportRecord::from(report));
            Some(Row { kind: REPORT, source: source.clone(), body })
        }
        Input::Command { by, command } => {
            let body = json(&CommandRecord::new(fleet, command));
            Some(Row { kind: COMMAND, source: by.clone(), body })
        }
        Input::Wake => None,
    }
}

/// The input of a row; `None` when it cannot be read, or names a boat that is not in the fleet.
pub fn input(fleet: &[Boat], row: Row) -> Option<Input> {
    match row.kind {
        LINE => Some(Input::Line { feed: FeedName(row.source), line: row.body }),
        REPORT => {
            let record: ReportRecord = serde_json::from_slice(&row.body).ok()?;
            Some(Input::Report { source: row.source, report: record.report() })
        }
        COMMAND => {
            let record: CommandRecord = serde_json::from_slice(&row.body).ok()?;
            Some(Input::Command { by: row.source, command: record.command(fleet)? })
        }
        _ => None,
    }
}

/// These records hold text, numbers and lists only, which JSON can always carry.
fn json(record: &impl Serialize) -> Vec<u8> {
    serde_json::to_vec(record).unwrap_or_default()
}

#[derive(Serialize, Deserialize)]
struct ReportRecord {
    taken_ms: i64,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<[f64; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    accuracy_m: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    speed_mps: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    course_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    heading_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    heel_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    battery_pct: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    help: Option<bool>,
}

impl From<&Report> for ReportRecord {
    fn from(report: &Report) -> ReportRecord {
        ReportRecord {
            taken_ms: report.taken.0,
            at: report.position.map(|p| [p.lat_deg(), p.lon_deg()]),
            accuracy_m: report.accuracy_m,
            speed_mps: report.speed_mps,
            course_deg: report.course.map(Bearing::deg),
            heading_deg: report.heading.map(Bearing::deg),
            heel_deg: report.heel_deg,
            battery_pct: report.battery_pct,
            help: report.help,
        }
    }
}

impl ReportRecord {
    fn report(self) -> Report {
        Report {
            taken: FixTime(self.taken_ms),
            position: self.at.and_then(|[lat, lon]| Position::new(lat, lon)),
            accuracy_m: self.accuracy_m,
            speed_mps: self.speed_mps,
            course: self.course_deg.and_then(Bearing::from_degrees_true),
            heading: self.heading_deg.and_then(Bearing::from_degrees_true),
            heel_deg: self.heel_deg,
            battery_pct: self.battery_pct,
            help: self.help,
        }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case")]
enum CommandRecord {
    Acknowledge { alert: u32 },
    Silence { alert: u32 },
    Attend { alert: u32, boat: Option<String> },
    Clear { alert: u32, reason: String },
    HeadsCounted { alert: u32, heads: u8 },
    Mark { boat: String, mark: MarkWord },
    Aboard { boat: String, persons: u8 },
    SetWind { wind: Option<(f64, Option<f64>)> },
    SetStream { stream: Option<(f64, f64)> },
    SetWindLimit { limit_mps: Option<f64> },
    SetBackBy { back_by_ms: Option<i64> },
    Assign { source: String, boat: Option<String> },
    Drill { boat: String, on: bool },
    PersonOverdue { session: u32, person: u32, since_ms: i64 },
    PersonAccounted { session: u32, person: u32, reason: String },
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum MarkWord {
    Capsized,
    PersonOverboard,
    NeedsHelp,
    Fine,
    Ashore,
    Afloat,
    StoodDown,
}

impl CommandRecord {
    fn new(fleet: &[Boat], command: &Command) -> CommandRecord {
        let id =
            |boat: BoatIx| fleet.get(usize::from(boat.0)).map_or_else(String::new, |boat| boat.id.clone());
        match command {
            Command::Acknowledge(alert) => CommandRecord::Acknowledge { alert: alert.0 },
            Command::Silence(alert) => CommandRecord::Silence { alert: alert.0 },
            Command::Attend(alert, boat) => CommandRecord::Attend { alert: alert.0, boat: boat.map(id) },
            Command::Clear(alert, reason) => CommandRecord::Clear { alert: alert.0, reason: reason.clone() },
            Command::HeadsCounted(alert, heads) => {
                CommandRecord::HeadsCounted { alert: alert.0, heads: *heads }
            }
            Command::Mark(boat, mark) => CommandRecord::Mark { boat: id(*boat), mark: MarkWord::from(*mark) },
            Command::Aboard(boat, persons) => CommandRecord::Aboard { boat: id(*boat), persons: *persons },
            Command::SetWind(wind) => {
                CommandRecord::SetWind { wind: wind.as_ref().map(|w| (w.from.deg(), w.speed_mps)) }
            }
            Command::SetStream(stream) => {
                CommandRecord::SetStream { stream: stream.map(|(to, mps)| (to.deg(), mps)) }
            }
            Command::SetWindLimit(limit) => CommandRecord::SetWindLimit { limit_mps: *limit },
            Command::SetBackBy(back_by) => {
                CommandRecord::SetBackBy { back_by_ms: back_by.map(|moment| moment.0) }
            }
            Command::Assign(source, boat) => {
                CommandRecord::Assign { source: source.clone(), boat: boat.map(id) }
            }
            Command::Drill(boat, on) => CommandRecord::Drill { boat: id(*boat), on: *on },
            Command::PersonOverdue(PersonId { session, number }, since) => {
                CommandRecord::PersonOverdue { session: *session, person: *number, since_ms: since.0 }
            }
            Command::PersonAccounted(PersonId { session, number }, reason) => {
                let reason = reason.clone();
                CommandRecord::PersonAccounted { session: *session, person: *number, reason }
            }
        }
    }

    fn command(self, fleet: &[Boat]) -> Option<Command> {
        let ix = |id: String| {
            let place = fleet.iter().position(|boat| boat.id == id)?;
            u16::try_from(place).ok().map(BoatIx)
        };
        // A boat that was named must be found; one that was not named stays nobody.
        let maybe = |id: Option<String>| match id {
            Some(id) => ix(id).map(Some),
            None => Some(None),
        };
        Some(match self {
            CommandRecord::Acknowledge { alert } => Command::Acknowledge(AlertId(alert)),
            CommandRecord::Silence { alert } => Command::Silence(AlertId(alert)),
            CommandRecord::Attend { alert, boat } => Command::Attend(AlertId(alert), maybe(boat)?),
            CommandRecord::Clear { alert, reason } => Command::Clear(AlertId(alert), reason),
            CommandRecord::HeadsCounted { alert, heads } => Command::HeadsCounted(AlertId(alert), heads),
            CommandRecord::Mark { boat, mark } => Command::Mark(ix(boat)?, mark.into()),
            CommandRecord::Aboard { boat, persons } => Command::Aboard(ix(boat)?, persons),
            CommandRecord::SetWind { wind } => Command::SetWind(match wind {
                Some((from, speed_mps)) => {
                    Some(HandWind { from: Bearing::from_degrees_true(from)?, speed_mps })
                }
                None => None,
            }),
            CommandRecord::SetStream { stream } => Command::SetStream(match stream {
                Some((to, mps)) => Some((Bearing::from_degrees_true(to)?, mps)),
                None => None,
            }),
            CommandRecord::SetWindLimit { limit_mps } => Command::SetWindLimit(limit_mps),
            CommandRecord::SetBackBy { back_by_ms } => Command::SetBackBy(back_by_ms.map(Moment)),
            CommandRecord::Assign { source, boat } => Command::Assign(source, maybe(boat)?),
            CommandRecord::Drill { boat, on } => Command::Drill(ix(boat)?, on),
            CommandRecord::PersonOverdue { session, person, since_ms } => {
                Command::PersonOverdue(PersonId { session, number: person }, Moment(since_ms))
            }
            CommandRecord::PersonAccounted { session, person, reason } => {
                Command::PersonAccounted(PersonId { session, number: person }, reason)
            }
        })
    }
}

impl From<HandMark> for MarkWord {
    fn from(mark: HandMark) -> MarkWord {
        match mark {
            HandMark::Capsized => MarkWord::Capsized,
            HandMark::PersonOverboard => MarkWord::PersonOverboard,
            HandMark::NeedsHelp => MarkWord::NeedsHelp,
            HandMark::Fine => MarkWord::Fine,
            HandMark::Ashore => MarkWord::Ashore,
            HandMark::Afloat => MarkWord::Afloat,
            HandMark::StoodDown => MarkWord::StoodDown,
        }
    }
}

impl From<MarkWord> for HandMark {
    fn from(mark: MarkWord) -> HandMark {
        match mark {
            MarkWord::Capsized => HandMark::Capsized,
            MarkWord::PersonOverboard => HandMark::PersonOverboard,
            MarkWord::NeedsHelp => HandMark::NeedsHelp,
            MarkWord::Fine => HandMark::Fine,
            MarkWord::Ashore => HandMark::Ashore,
            MarkWord::Afloat => HandMark::Afloat,
            MarkWord::StoodDown => HandMark::StoodDown,
        }
    }
}

#[derive(Serialize, Deserialize)]
struct SetupRecord {
    zones: Vec<ZoneRecord>,
    marks: Vec<(String, f64, f64)>,
    boats: Vec<BoatRecord>,
    wind_limit_mps: Option<f64>,
}

#[derive(Serialize, Deserialize)]
struct ZoneRecord {
    kind: String,
    name: String,
    /// Polygons of rings of `[lat, lon]`.
    polygons: Vec<Vec<Vec<(f64, f64)>>>,
}

#[derive(Serialize, Deserialize)]
struct BoatRecord {
    id: String,
    name: Option<String>,
    role: String,
    sources: Vec<String>,
    mmsi: Option<u32>,
    crew: u8,
    class: String,
    waterline_m: f64,
    speeds_mps: [f64; 3],
}

/// The set-up as JSON.
pub fn setup_json(setup: &Setup) -> Vec<u8> {
    let zones = setup.site.zones.iter().map(|zone| ZoneRecord {
        kind: zone_word(zone.kind).to_owned(),
        name: zone.name.clone(),
        polygons: map_rings(&zone.polygons, |p| (p.lat_deg(), p.lon_deg())),
    });
    let marks = setup.site.marks.iter();
    let boats = setup.fleet.iter().map(|boat| BoatRecord {
        id: boat.id.clone(),
        name: boat.name.clone(),
        role: role_word(boat.role).to_owned(),
        sources: boat.sources.clone(),
        mmsi: boat.mmsi,
        crew: boat.crew,
        class: boat.class.name.clone(),
        waterline_m: boat.class.waterline_m,
        speeds_mps: [boat.class.beating_mps, boat.class.reaching_mps, boat.class.running_mps],
    });
    json(&SetupRecord {
        zones: zones.collect(),
        marks: marks.map(|m| (m.name.clone(), m.position.lat_deg(), m.position.lon_deg())).collect(),
        boats: boats.collect(),
        wind_limit_mps: setup.wind_limit_mps,
    })
}

/// The set-up of such JSON; `None` when it cannot be read.
pub fn setup(json: &[u8]) -> Option<Setup> {
    let record: SetupRecord = serde_json::from_slice(json).ok()?;
    let zone = |zone: ZoneRecord| {
        let polygons: Vec<Vec<Vec<Option<Position>>>> =
            map_rings(&zone.polygons, |(lat, lon)| Position::new(*lat, *lon));
        let whole = |ring: Vec<Option<Position>>| ring.into_iter().collect::<Option<Vec<_>>>();
        let polygons: Option<Vec<Vec<Vec<Position>>>> =
            polygons.into_iter().map(|rings| rings.into_iter().map(whole).collect()).collect();
        Some(Zone { kind: zone_kind(&zone.kind)?, name: zone.name, polygons: polygons? })
    };
    let boat = |boat: BoatRecord| {
        let [beating_mps, reaching_mps, running_mps] = boat.speeds_mps;
        let class =
            Class { name: boat.class, waterline_m: boat.waterline_m, beating_mps, reaching_mps, running_mps };
        Some(Boat {
            id: boat.id,
            name: boat.name,
            role: role(&boat.role)?,
            sources: boat.sources,
            mmsi: boat.mmsi,
            crew: boat.crew,
            class,
        })
    };
    let mark = |(name, lat, lon)| Some(Mark { name, position: Position::new(lat, lon)? });
    Some(Setup {
        site: Site {
            zones: record.zones.into_iter().map(zone).collect::<Option<_>>()?,
            marks: record.marks.into_iter().map(mark).collect::<Option<_>>()?,
        },
        fleet: record.boats.into_iter().map(boat).collect::<Option<_>>()?,
        wind_limit_mps: record.wind_limit_mps,
    })
}

fn map_rings<A, B>(polygons: &[Vec<Vec<A>>], each: impl Fn(&A) -> B) -> Vec<Vec<Vec<B>>> {
    let ring = |ring: &Vec<A>| ring.iter().map(&each).collect();
    polygons.iter().map(|rings| rings.iter().map(ring).collect()).collect()
}

const ZONES: [(ZoneKind, &str); 4] = [
    (ZoneKind::SailingArea, "sailing-area"),
    (ZoneKind::NoGo, "no-go"),
    (ZoneKind::Landing, "landing"),
    (ZoneKind::Shore, "shore"),
];

fn zone_word(kind: ZoneKind) -> &'static str {
    ZONES.iter().find(|(known, _)| *known == kind).map_or("shore", |(_, word)| word)
}

fn zone_kind(word: &str) -> Option<ZoneKind> {
    ZONES.iter().find(|(_, known)| *known == word).map(|(kind, _)| *kind)
}

const ROLES: [(Role, &str); 3] =
    [(Role::Dinghy, "dinghy"), (Role::Safety, "safety"), (Role::Station, "station")];

fn role_word(role: Role) -> &'static str {
    ROLES.iter().find(|(known, _)| *known == role).map_or("dinghy", |(_, word)| word)
}

fn role(word: &str) -> Option<Role> {
    ROLES.iter().find(|(_, known)| *known == word).map(|(role, _)| *role)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn setup_of_one() -> Setup {
        let corner = |lat, lon| Position::new(lat, lon).expect("on the earth");
        let ring =
            vec![corner(50.1, -5.0), corner(50.1, -5.01), corner(50.123_456_789, -5.01), corner(50.1, -5.0)];
        Setup {
            site: Site {
                zones: vec![Zone {
                    kind: ZoneKind::NoGo,
                    name: "Fairway".to_owned(),
                    polygons: vec![vec![ring]],
                }],
                marks: vec![Mark { name: "A".to_owned(), position: corner(50.1, -5.0) }],
            },
            fleet: vec![Boat {
                id: "07".to_owned(),
                name: Some("Redshank".to_owned()),
                role: Role::Safety,
                sources: vec!["07".to_owned()],
                mmsi: Some(232_001_234),
                crew: 3,
                class: Class::default(),
            }],
            wind_limit_mps: Some(9.0),
        }
    }

    #[test]
    fn a_set_up_comes_back_as_it_was() {
        let one = setup_of_one();
        assert_eq!(setup(&setup_json(&one)), Some(one));
        assert_eq!(setup(b"{}"), None);
    }

    #[test]
    fn every_input_comes_back_as_it_was() {
        let fleet = setup_of_one().fleet;
        let seven = BoatIx(0);
        let bearing = Bearing::from_degrees_true(123.456_789_012_345_6);
        let commands = [
            Command::Acknowledge(AlertId(1)),
            Command::Silence(AlertId(1)),
            Command::Attend(AlertId(1), Some(seven)),
            Command::Attend(AlertId(1), None),
            Command::Clear(AlertId(1), "seen \"well\"".to_owned()),
            Command::HeadsCounted(AlertId(1), 2),
            Command::Mark(seven, HandMark::PersonOverboard),
            Command::Aboard(seven, 4),
            Command::SetWind(bearing.map(|from| HandWind { from, speed_mps: None })),
            Command::SetWind(None),
            Command::SetStream(bearing.map(|to| (to, 0.1 + 0.2))),
            Command::SetWindLimit(Some(1.0 / 3.0)),
            Command::SetBackBy(Some(Moment(5))),
            Command::Assign("phone".to_owned(), Some(seven)),
            Command::Drill(seven, true),
            Command::PersonOverdue(PersonId { session: 3, number: 12 }, Moment(5)),
            Command::PersonAccounted(PersonId { session: 3, number: 12 }, "counted back".to_owned()),
        ];
        let mut inputs: Vec<Input> =
            commands.into_iter().map(|command| Input::Command { by: "Ann".to_owned(), command }).collect();
        inputs.push(Input::Line { feed: FeedName("mast".to_owned()), line: b"$\xff\0".to_vec() });
        inputs.push(Input::Report {
            source: "07".to_owned(),
            report: Report {
                taken: FixTime(7),
                position: Position::new(50.123_456_789_012_3, -5.1),
                accuracy_m: Some(3.7),
                speed_mps: None,
                course: bearing,
                heading: None,
                heel_deg: Some(-12.3),
                battery_pct: None,
                help: Some(false),
            },
        });
        for given in inputs {
            let row = row(&fleet, &given).expect("stored");
            assert_eq!(input(&fleet, row), Some(given));
        }
        assert_eq!(row(&fleet, &Input::Wake), None);
    }

    #[test]
    fn a_command_for_a_boat_that_is_gone_is_not_given_to_another() {
        let fleet = setup_of_one().fleet;
        let command = Command::Aboard(BoatIx(0), 4);
        let stored = row(&fleet, &Input::Command { by: "Ann".to_owned(), command });
        assert_eq!(input(&[], stored.expect("stored")), None);
    }
}
