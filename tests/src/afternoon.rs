//! One real boat's recording through the whole engine: what it says of wind and manoeuvres.

use dunlin_engine::{
    Engine, Setup,
    effect::{Effect, Manoeuvre, Turn, WindNow},
    fleet::{Boat, Class, Role},
    input::{FeedName, Input, Report},
    moment::{FixTime, Moment, days_from_civil},
    units::{Bearing, Position, mps_from_kn},
    venue::Site,
};
use serde::Deserialize;

/// What the engine said of one boat.
#[derive(Debug, Default)]
pub struct Said {
    /// Every wind.
    pub winds: Vec<WindNow>,
    /// Every tack and gybe.
    pub manoeuvres: Vec<Manoeuvre>,
    /// Moments from the first to the last input, s.
    pub lasted_s: f64,
}

impl Said {
    /// How many tacks or gybes were told.
    #[must_use]
    pub fn count(&self, turn: Turn) -> usize {
        self.manoeuvres.iter().filter(|said| said.turn == turn).count()
    }

    /// The middle one of the winds' distances from `from_deg`, degrees.
    #[must_use]
    pub fn median_error_deg(&self, from_deg: f64) -> f64 {
        let truth = Bearing::from_degrees_true(from_deg).expect("a direction");
        let mut errors: Vec<f64> = self.winds.iter().map(|wind| truth.turn_to(wind.from).abs()).collect();
        errors.sort_by(f64::total_cmp);
        errors.get(errors.len() / 2).copied().unwrap_or(f64::INFINITY)
    }
}

fn watch(name: &str) -> Engine {
    let boat = Boat {
        id: "01".to_owned(),
        name: None,
        role: Role::Dinghy,
        sources: vec![name.to_owned()],
        mmsi: None,
        crew: 2,
        class: Class::default(),
    };
    Engine::new(Setup { site: Site::default(), fleet: vec![boat], wind_limit_mps: None })
}

fn note(said: &mut Said, effects: Vec<Effect>) {
    for effect in effects {
        match effect {
            Effect::Wind(wind) => said.winds.push(wind),
            Effect::Manoeuvre(manoeuvre) => said.manoeuvres.push(manoeuvre),
            _ => (),
        }
    }
}

#[derive(Debug, Deserialize)]
struct Row {
    time_local: String,
    lat_deg: f64,
    lon_deg: f64,
    sog_kn: f64,
    cog_deg: f64,
}

/// A moment from text such as `2023-05-30T18:12:09.954`.
#[must_use]
pub fn moment(text: &str) -> Moment {
    let part = |range: std::ops::Range<usize>| text[range].parse::<i64>().expect("figures");
    let days = days_from_civil(part(0..4), part(5..7) as u32, part(8..10) as u32);
    let seconds: f64 = text[17..].parse().expect("seconds");
    let whole_ms = (days * 86_400 + part(11..13) * 3600 + part(14..16) * 60) * 1000;
    Moment(whole_ms + (seconds * 1000.0) as i64)
}

/// A table of positions, courses and speeds, thinned to one a second, as a phone would report it.
#[must_use]
pub fn reported(csv_text: &[u8]) -> Said {
    let mut engine = watch("boat");
    let mut said = Said::default();
    let mut first: Option<Moment> = None;
    let mut last: Option<Moment> = None;
    for row in csv::Reader::from_reader(csv_text).deserialize::<Row>() {
        let row = row.expect("a row");
        let now = moment(&row.time_local);
        if last.is_some_and(|last| now.ms_since(last) < 900) {
            continue; // the recording's fractions of a second go back now and then
        }
        first.get_or_insert(now);
        last = Some(now);
        let report = Report {
            taken: FixTime(now.0),
            position: Position::new(row.lat_deg, row.lon_deg),
            accuracy_m: None,
            speed_mps: Some(mps_from_kn(row.sog_kn)),
            course: Bearing::from_degrees_true(row.cog_deg),
            heading: None,
            heel_deg: None,
            battery_pct: None,
            help: None,
        };
        note(&mut said, engine.on(now, Input::Report { source: "boat".to_owned(), report }));
    }
    said.lasted_s = first.zip(last).map_or(0.0, |(first, last)| last.s_since(first));
    said
}

/// A log of sentences whose RMC lines carry the day and the time of arrival.
#[must_use]
pub fn logged(log: &[u8]) -> Said {
    let mut engine = watch("boat");
    let mut said = Said::default();
    let mut now: Option<Moment> = None;
    let mut first: Option<Moment> = None;
    for line in log.split(|byte| *byte == b'\n') {
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        let text = String::from_utf8_lossy(line);
        let fields: Vec<&str> = text.split(',').collect();
        if text.starts_with("$GPRMC")
            && let [_, hms, _, _, _, _, _, _, _, dmy, ..] = fields[..]
        {
            let part = |text: &str, at: usize| text[at..at + 2].parse::<i64>().expect("figures");
            let days = days_from_civil(2000 + part(dmy, 4), part(dmy, 2) as u32, part(dmy, 0) as u32);
            let seconds = days * 86_400 + part(hms, 0) * 3600 + part(hms, 2) * 60 + part(hms, 4);
            now = Some(Moment(seconds * 1000));
        }
        let Some(now) = now else { continue };
        first.get_or_insert(now);
        let input = Input::Line { feed: FeedName("boat".to_owned()), line: line.to_vec() };
        note(&mut said, engine.on(now, input));
    }
    said.lasted_s = first.zip(now).map_or(0.0, |(first, last)| last.s_since(first));
    said
}
