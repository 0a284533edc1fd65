//! The live fleet of a demonstration: a world on a given site, moved on in real time, in which what the
//! script says happens when it says so.

use serde_json::Value;

use crate::{
    boats::CLASSES,
    dice::Dice,
    dinghy::Dinghy,
    mode::Mode,
    plane::{Chart, Ring, Vec2, fold_180, mps},
    receiver::{Kit, Receiver},
    scenario::{Instruments, Radio, SessionPlan, WeatherPlan},
    script::{BoatScript, Feed, Hand, Happening, Script, ScriptError, What},
    site::{self, Leg, Mark, Site},
    truth::Truth,
    world::{Doom, Sent, World},
};

/// The physics' step, s.
const STEP_S: f64 = 0.1;
/// A demonstration has no end of its own; boats go home after this, s.
const LASTS_S: f64 = 6.0 * 3600.0;

/// A demonstration's fleet.
#[derive(Clone, Debug)]
pub struct Demo {
    world: World,
    script: Script,
    to_come: Vec<(usize, Happening)>,
    /// Time asked for and not yet stepped, s.
    owed_s: f64,
}

impl Demo {
    /// A fleet on the site of a GeoJSON text, beginning at `start_ms` (Unix).
    ///
    /// # Errors
    /// A site without sailing area or landing place, or a script that names what is not there.
    pub fn new(site_geojson: &str, script: Script, start_ms: i64) -> Result<Demo, ScriptError> {
        let mut dice = Dice::new(script.seed, "demo", 0);
        let site = read_site(site_geojson, &script)?;
        let lap = lap(&site, &script)?;
        let plan = plan(&script, &site);
        let mut world = World::on(site, plan, &[], script.seed, start_ms, dice.clone());
        for (i, boat) in script.boat.iter().enumerate() {
            cast(&mut world, i, boat, &lap, &script, &mut dice)?;
        }
        for (i, boat) in script.safety.iter().enumerate() {
            world.name_safety(i, &boat.source, boat.vane);
        }
        if let Some(mast) = &script.mast {
            world.name_mast(&mast.source);
        }
        let mut to_come = Vec::new();
        for happening in &script.happening {
            let at = script.boat.iter().position(|boat| boat.id == happening.boat);
            let i = at.ok_or_else(|| unknown("boat", &happening.boat))?;
            to_come.push((i, happening.clone()));
        }
        to_come.sort_by(|a, b| b.1.at_s.total_cmp(&a.1.at_s));
        world.scripted = true;
        Ok(Demo { world, script, to_come, owed_s: 0.0 })
    }

    /// How each source's reports travel: phones by their socket, all else as sentences.
    pub fn feed_of(&self, source: &str) -> Feed {
        self.script.boat.iter().find(|boat| boat.source == source).map_or(Feed::Nmea, |boat| boat.feed)
    }

    /// Now, Unix ms.
    pub fn now_ms(&self) -> i64 {
        self.world.now_ms()
    }

    /// Seconds since the start.
    pub fn elapsed_s(&self) -> f64 {
        self.world.t_s
    }

    /// Lets `dt_s` seconds pass and returns what arrived meanwhile, in order of arrival. Whatever the steps
    /// asked for, the same seconds give the same reports: the fleet moves in tenths.
    pub fn step(&mut self, dt_s: f64) -> Vec<Sent> {
        self.owed_s += dt_s.max(0.0);
        let mut sent = Vec::new();
        while self.owed_s >= STEP_S - 1e-9 {
            self.owed_s -= STEP_S;
            self.begin_happenings();
            sent.extend(self.world.step(STEP_S));
        }
        sent
    }

    /// What really happened, for a test to compare with.
    pub fn truth(&self) -> Truth {
        self.world.clone().finish()
    }

    fn begin_happenings(&mut self) {
        let t_s = self.world.t_s;
        if self.script.by_chance_from_s.is_some_and(|from_s| t_s >= from_s) {
            self.world.scripted = false;
        }
        while self.to_come.last().is_some_and(|(_, next)| next.at_s <= t_s) {
            if let Some((i, happening)) = self.to_come.pop() {
                self.begin(i, &happening);
            }
        }
    }

    fn begin(&mut self, i: usize, happening: &Happening) {
        let world = &mut self.world;
        let t_s = world.t_s;
        let for_s = happening.for_s;
        match happening.what {
            What::Capsize => {
                world.sailors[i].doom = Some(Doom {
                    at_s: t_s,
                    cause: "gust",
                    right_after_s: for_s,
                    turtle: Some(happening.inverted),
                });
            }
            What::InIrons => {
                let (air, _, _) = world.air(world.sailors[i].dinghy.at);
                let dinghy = &mut world.sailors[i].dinghy;
                let side = if fold_180(air.from_deg - dinghy.heading_deg) >= 0.0 { 1.0 } else { -1.0 };
                dinghy.turn = None;
                dinghy.mode = Mode::Irons { until_s: t_s + for_s.unwrap_or(40.0), side };
            }
            What::DriftOut => world.drift_out(i),
            What::NoGo => world.stray_into_nearest(i),
            What::Silence => world.sailors[i].receiver.silent_until_s = t_s + for_s.unwrap_or(180.0),
            What::Overboard => {
                world.person_falls(i, false);
                world.begin_recovery(i);
                world.sailors[i].help = Some(true);
            }
        }
    }
}

fn unknown(what: &'static str, name: &str) -> ScriptError {
    ScriptError::Unknown { what, name: name.to_owned() }
}

/// The plan of a scripted session; nothing in it happens by chance until the script says so.
fn plan(script: &Script, site: &Site) -> SessionPlan {
    let usual = SessionPlan::middling("moderate", script.seed)
        .unwrap_or_else(|| unreachable!("\"moderate\" is a scenario"));
    let wind = &script.wind;
    let veer =
        (wind.veer_over_s > 0.0).then(|| vec![(0.0, 1.0, 0.0), (wind.veer_over_s, 1.0, wind.veer_deg)]);
    let stream = script
        .stream
        .as_ref()
        .map_or(Vec2::default(), |stream| Vec2::along(stream.to_deg, mps(stream.speed_kn)));
    SessionPlan {
        dinghies: script.boat.len(),
        safety_boats: script.safety.len(),
        lasts_s: LASTS_S,
        weather: WeatherPlan {
            from_deg: wind.from_deg,
            speed_mps: mps(wind.speed_kn),
            gustiness: wind.gustiness,
            wander_deg: 2.0,
            swing_deg: 3.0,
            swing_period_s: 240.0,
            course: veer.unwrap_or_default(),
            front: None,
            stream,
            stream_phase: 0.0,
            stream_shear: 0.2,
            middle: site.area.centre(),
            offshore: site.offshore,
        },
        radio: Radio { drowned: 0.0, wrong_clock: 0.0, dead_spots_per_hour: 0.0, ..usual.radio },
        instruments: Instruments { mast: script.mast.is_some(), safety_vane: true, mast_fault_deg: 0.0 },
        comfort_mps: mps(wind.speed_kn) * 1.2,
        gun_s: None,
        ..usual
    }
}

/// Gives boat `i` of the world the part that the script has for her.
fn cast(
    world: &mut World,
    i: usize,
    boat: &BoatScript,
    lap: &[Leg],
    script: &Script,
    dice: &mut Dice,
) -> Result<(), ScriptError> {
    let class =
        CLASSES.iter().find(|class| class.name == boat.class).ok_or_else(|| unknown("class", &boat.class))?;
    let radio = Radio { with_heel: f64::from(u8::from(boat.heel)), bad_heel: 0.0, ..world.plan.radio };
    let start = dice.pick(lap.len());
    let launch_s = boat.launch_s.unwrap_or(f64::NEG_INFINITY);
    let sailor = &mut world.sailors[i];
    let at = if boat.launch_s.is_some() {
        sailor.beach
    } else {
        // Somewhere along the lap, spread out.
        let (from, to) = (lap[(start + lap.len() - 1) % lap.len()].to, lap[start].to);
        from + (to - from) * dice.between(0.1, 0.9) + Vec2::new(9.0 * dice.normal(), 9.0 * dice.normal())
    };
    sailor.id.clone_from(&boat.id);
    sailor.crew = class.crew;
    sailor.legs = lap.to_vec();
    sailor.next_leg = start;
    sailor.second = None;
    sailor.home_s = LASTS_S - 900.0;
    sailor.dinghy = Dinghy::new(
        class,
        boat.skill,
        at,
        0.03,
        world.plan.habits,
        launch_s,
        Dice::new(script.seed, "cast", i),
    );
    sailor.receiver = Receiver::new(
        Kit::Phone,
        boat.source.clone(),
        radio,
        false,
        Dice::new(script.seed, "cast receiver", i),
    );
    sailor.rename_record();
    Ok(())
}

/// The lap round the named marks.
fn lap(site: &Site, script: &Script) -> Result<Vec<Leg>, ScriptError> {
    let mut numbers = Vec::new();
    for name in &script.lap {
        let found = site.marks.iter().position(|mark| mark.name == *name);
        numbers.push(found.ok_or_else(|| unknown("mark", name))?);
    }
    if numbers.len() < 2 {
        return Err(ScriptError::Site("lap of two marks or more"));
    }
    let places = numbers.iter().map(|n| site.marks[*n].at).collect();
    Ok(site::ring(places, &numbers, script.leave_to == Hand::Port).lap)
}

/// Reads what the simulation needs of a site file.
fn read_site(text: &str, script: &Script) -> Result<Site, ScriptError> {
    let whole: Value = serde_json::from_str(text).map_err(|_| ScriptError::Site("GeoJSON"))?;
    let features = whole["features"].as_array().ok_or(ScriptError::Site("features"))?;
    let of_kind =
        |kind: &'static str| features.iter().filter(move |feature| feature["properties"]["kind"] == kind);
    let name = |feature: &Value| feature["properties"]["name"].as_str().unwrap_or("").to_owned();
    let landing = of_kind("landing").find_map(corners).ok_or(ScriptError::Site("landing place"))?;
    let area = of_kind("sailing-area").find_map(corners).ok_or(ScriptError::Site("sailing area"))?;
    // First a chart at the landing place, then one at the waterline, from which depths are counted.
    let first = Chart::at(landing[0].1, landing[0].0);
    let middle = |corners: &[(f64, f64)]| {
        Ring(corners.iter().map(|(lon, lat)| first.plane(*lat, *lon)).collect()).centre()
    };
    let offshore = (middle(&area) - middle(&landing)).unit();
    let (lat, lon) = first.lat_lon(middle(&landing) - offshore * 11.5);
    let chart = Chart::at(lat, lon);
    let ring = |corners: Vec<(f64, f64)>| {
        Ring(corners.into_iter().map(|(lon, lat)| chart.plane(lat, lon)).collect())
    };
    let marks = of_kind("mark").filter_map(|feature| {
        let at = &feature["geometry"]["coordinates"];
        Some(Mark { name: name(feature), at: chart.plane(at[1].as_f64()?, at[0].as_f64()?) })
    });
    Ok(Site {
        chart,
        area: ring(area),
        no_go: of_kind("no-go")
            .filter_map(|feature| Some((name(feature), ring(corners(feature)?))))
            .collect(),
        landing: ring(landing),
        shore: ring(of_kind("shore").find_map(corners).unwrap_or_default()),
        marks: marks.collect(),
        offshore,
        mast: script.mast.as_ref().map_or(Vec2::default(), |mast| chart.plane(mast.lat, mast.lon)),
    })
}

/// The outer ring of a polygon as (lon, lat), without the repeated last corner.
fn corners(feature: &Value) -> Option<Vec<(f64, f64)>> {
    let ring = feature["geometry"]["coordinates"][0].as_array()?;
    let mut corners: Vec<(f64, f64)> =
        ring.iter().filter_map(|at| Some((at[0].as_f64()?, at[1].as_f64()?))).collect();
    corners.pop();
    (corners.len() >= 3).then_some(corners)
}
