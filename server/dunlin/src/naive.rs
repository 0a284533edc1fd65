//! The rule anyone would write first, kept as a yardstick: it reads the log that the watch reads and
//! writes the same JSON Lines. Slower than 0.8 kn for 20 s outside a landing place is a capsize.

use std::{
    collections::BTreeMap,
    fs,
    io::{BufRead, BufReader, Write},
    path::PathBuf,
};

use anyhow::Context;
use dunlin_sim::rfc3339;

/// Runs the naive rule over a log, for comparison with `dunlin replay`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The site file.
    #[arg(long)]
    pub site: PathBuf,
    /// The fleet file.
    #[arg(long)]
    pub fleet: PathBuf,
    /// The log.
    pub log: PathBuf,
}

/// Runs the command.
///
/// # Errors
/// A file that cannot be read.
pub fn run(args: Args) -> anyhow::Result<()> {
    let read =
        |path: &PathBuf| fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()));
    let mut rule = Naive::new(&read(&args.site)?, &read(&args.fleet)?)?;
    let file = fs::File::open(&args.log).with_context(|| format!("cannot read {}", args.log.display()))?;
    let mut out = std::io::stdout().lock();
    for line in BufReader::new(file).lines() {
        let line = line.with_context(|| format!("cannot read {}", args.log.display()))?;
        for said in rule.hear(&line) {
            writeln!(out, "{said}")?;
        }
    }
    Ok(())
}

const SLOW_KN: f64 = 0.8;
const SLOW_FOR_MS: i64 = 20_000;
const SILENT_FOR_MS: i64 = 30_000;
/// Within this of a mark, and an angle swept of at least this much, is a rounding.
const MARK_M: f64 = 25.0;
const SWEEP_DEG: f64 = 60.0;

/// A ring as (lon, lat) corners.
type Ring = Vec<(f64, f64)>;

#[derive(Debug, Default)]
struct Boat {
    slow_since: Option<i64>,
    heard: i64,
    capsize: bool,
    outside: bool,
    no_go: bool,
    lost: bool,
    side: Option<bool>,
    marks: BTreeMap<usize, (f64, f64)>,
}

/// The naive rule and what it remembers.
#[derive(Debug)]
pub struct Naive {
    sources: BTreeMap<String, String>,
    boats: BTreeMap<String, Boat>,
    area: Vec<Ring>,
    no_go: Vec<Ring>,
    landing: Vec<Ring>,
    marks: Vec<(String, (f64, f64))>,
    wind_from: Option<f64>,
    now: i64,
}

impl Naive {
    /// Reads the set-up.
    ///
    /// # Errors
    /// Text that is not JSON or TOML.
    pub fn new(site: &str, fleet: &str) -> anyhow::Result<Naive> {
        let site: serde_json::Value = serde_json::from_str(site).context("the site file is not JSON")?;
        let fleet: toml::Table = fleet.parse().context("the fleet file is not TOML")?;
        let mut rule = Naive {
            sources: BTreeMap::new(),
            boats: BTreeMap::new(),
            area: Vec::new(),
            no_go: Vec::new(),
            landing: Vec::new(),
            marks: Vec::new(),
            wind_from: None,
            now: 0,
        };
        for feature in site["features"].as_array().into_iter().flatten() {
            let kind = feature["properties"]["kind"].as_str().unwrap_or("");
            let coordinates = &feature["geometry"]["coordinates"];
            let pair = |value: &serde_json::Value| Some((value[0].as_f64()?, value[1].as_f64()?));
            if kind == "mark" {
                let name = feature["properties"]["name"].as_str().unwrap_or("").to_owned();
                rule.marks.extend(pair(coordinates).map(|at| (name, at)));
                continue;
            }
            let ring: Ring = coordinates[0].as_array().into_iter().flatten().filter_map(pair).collect();
            match kind {
                "sailing-area" => rule.area.push(ring),
                "no-go" => rule.no_go.push(ring),
                "landing" => rule.landing.push(ring),
                _ => {}
            }
        }
        for boat in fleet.get("boat").and_then(toml::Value::as_array).into_iter().flatten() {
            let text = |key: &str| boat.get(key).and_then(toml::Value::as_str);
            if let (Some(id), Some(source), Some("dinghy")) = (text("id"), text("source"), text("role")) {
                rule.sources.insert(source.to_owned(), id.to_owned());
            }
        }
        Ok(rule)
    }

    /// Takes one line with its TAG block; returns what there is to say.
    pub fn hear(&mut self, line: &str) -> Vec<String> {
        let mut said = Vec::new();
        let Some((source, arrival, sentence)) = split(line) else { return said };
        self.now = self.now.max(arrival);
        self.silences(&mut said);
        let fields: Vec<&str> = sentence.split(['*']).next().unwrap_or("").split(',').collect();
        match fields.first().map(|first| first.get(3..).unwrap_or("")) {
            Some("MWD") => self.wind_from = fields.get(1).and_then(|text| text.parse().ok()),
            Some("RMC") => {
                if let Some(id) = self.sources.get(source).cloned() {
                    self.fix(&id, &fields, &mut said);
                }
            }
            _ => {}
        }
        said
    }

    fn alert(&self, said: &mut Vec<String>, boat: &str, kind: &str, level: &str, on: bool) {
        let phase = if on { "raised" } else { "cleared" };
        let line = serde_json::json!({ "type": "alert", "t": rfc3339(self.now), "boat": boat, "kind": kind, "level": level, "phase": phase, "evidence": [] });
        said.push(line.to_string());
    }

    fn silences(&mut self, said: &mut Vec<String>) {
        let now = self.now;
        let lost: Vec<String> = self
            .boats
            .iter_mut()
            .filter(|(_, boat)| !boat.lost && now - boat.heard > SILENT_FOR_MS)
            .map(|(id, boat)| {
                boat.lost = true;
                id.clone()
            })
            .collect();
        for id in lost {
            self.alert(said, &id, "lost-contact", "warning", true);
        }
    }

    fn fix(&mut self, id: &str, fields: &[&str], said: &mut Vec<String>) {
        let Some((lat, lon, speed, course)) = rmc(fields) else { return };
        let at = (lon, lat);
        let within = |rings: &[Ring]| rings.iter().any(|ring| holds(ring, at));
        let (landed, inside, forbidden) = (within(&self.landing), within(&self.area), within(&self.no_go));
        let now = self.now;
        let mut boat = self.boats.remove(id).unwrap_or_default();
        boat.heard = now;
        if boat.lost {
            boat.lost = false;
            self.alert(said, id, "lost-contact", "warning", false);
        }
        boat.slow_since = if speed < SLOW_KN && !landed { boat.slow_since.or(Some(now)) } else { None };
        let capsize = boat.slow_since.is_some_and(|since| now - since >= SLOW_FOR_MS);
        for (state, is, kind, level) in [
            (&mut boat.capsize, capsize, "capsize", "alarm"),
            (&mut boat.outside, !inside && !landed, "outside-area", "warning"),
            (&mut boat.no_go, forbidden, "no-go", "alarm"),
        ] {
            if *state != is {
                *state = is;
                self.alert(said, id, kind, level, is);
            }
        }
        if let (Some(course), Some(wind), true) = (course, self.wind_from, speed > 1.0) {
            self.turn(id, &mut boat, course, wind, speed, said);
        }
        self.roundings(id, &mut boat, at, said);
        self.boats.insert(id.to_owned(), boat);
    }

    fn turn(&self, id: &str, boat: &mut Boat, course: f64, wind: f64, speed: f64, said: &mut Vec<String>) {
        let twa = fold(wind - course);
        if twa.abs() < 20.0 {
            return;
        }
        let side = twa > 0.0;
        if boat.side.replace(side).is_some_and(|was| was != side) {
            let kind = if twa.abs() < 90.0 { "tack" } else { "gybe" };
            let line = serde_json::json!({ "type": "manoeuvre", "t": rfc3339(self.now), "boat": id, "kind": kind, "turn_deg": 0.0, "speed_before_kn": speed, "speed_after_kn": speed });
            said.push(line.to_string());
        }
    }

    fn roundings(&self, id: &str, boat: &mut Boat, at: (f64, f64), said: &mut Vec<String>) {
        for (i, (name, mark)) in self.marks.iter().enumerate() {
            let north = (at.1 - mark.1) * 111_200.0;
            let east = (at.0 - mark.0) * 111_200.0 * mark.1.to_radians().cos();
            let bearing = east.atan2(north).to_degrees();
            if east.hypot(north) < MARK_M {
                let (last, sweep) = boat.marks.get(&i).copied().unwrap_or((bearing, 0.0));
                boat.marks.insert(i, (bearing, sweep + fold(bearing - last)));
            } else if let Some((_, sweep)) = boat.marks.remove(&i)
                && sweep.abs() >= SWEEP_DEG
            {
                let hand = if sweep < 0.0 { "port" } else { "starboard" };
                said.push(serde_json::json!({ "type": "rounding", "t": rfc3339(self.now), "boat": id, "mark": name, "hand": hand }).to_string());
            }
        }
    }
}

/// Source, arrival in ms, and sentence of a line `\s:..,c:..*hh\$...`.
fn split(line: &str) -> Option<(&str, i64, &str)> {
    let (tag, sentence) = line.strip_prefix('\\')?.split_once('\\')?;
    let tag = tag.split('*').next()?;
    let field = |key: &str| tag.split(',').find_map(|part| part.strip_prefix(key)?.strip_prefix(':'));
    Some((field("s")?, field("c")?.parse().ok()?, sentence.trim_end()))
}

/// Latitude, longitude, speed in knots and course of an RMC's fields.
fn rmc(fields: &[&str]) -> Option<(f64, f64, f64, Option<f64>)> {
    if *fields.get(2)? != "A" {
        return None;
    }
    let degrees = |text: &str, wide: usize| {
        Some(text.get(..wide)?.parse::<f64>().ok()? + text.get(wide..)?.parse::<f64>().ok()? / 60.0)
    };
    let lat = degrees(fields.get(3)?, 2)? * if *fields.get(4)? == "S" { -1.0 } else { 1.0 };
    let lon = degrees(fields.get(5)?, 3)? * if *fields.get(6)? == "W" { -1.0 } else { 1.0 };
    Some((lat, lon, fields.get(7)?.parse().ok()?, fields.get(8)?.parse().ok()))
}

fn fold(angle: f64) -> f64 {
    (angle + 180.0).rem_euclid(360.0) - 180.0
}

fn holds(ring: &Ring, at: (f64, f64)) -> bool {
    let n = ring.len();
    let mut inside = false;
    for i in 0..n {
        let (a, b) = (ring[i], ring[(i + 1) % n]);
        if (a.1 > at.1) != (b.1 > at.1) && at.0 < a.0 + (at.1 - a.1) / (b.1 - a.1) * (b.0 - a.0) {
            inside = !inside;
        }
    }
    inside
}
