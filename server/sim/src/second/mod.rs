//! A second water: other physics, other people and other numbers than the first, for one question: does what was
//! learnt on the first hold elsewhere?
//!
//! Boats have one speed and one heading, and a time in which each kind of stop takes her way; a session draws its
//! own times (`habits.rs`). Nothing here comes from the first water or from the watch. It asks about capsizes and
//! stops only: there are no marks, no zones and no landing place on its site, and all sail from the first second.

mod boat;
mod habits;
mod notes;
mod phone;

use crate::{
    dice::{Dice, Wander},
    fleet_file,
    plane::{Chart, Vec2, wrap_360},
    sentence,
    session::Line,
    truth::{BoatTruth, HeelSensor, Spell, Truth, WindTruth},
    under_way::UnderWay,
    wide_area,
};
use boat::{Air, Boat, Doing};
use habits::Habits;
use notes::{Noted, note_capsize, note_silence, note_turn};

/// The scenarios of the second water. Weights are fitted on all but the last, which draws its habits outside the
/// ranges of the others: nothing is ever fitted on it.
pub const SECOND_WATER: [&str; 5] =
    ["second-still", "second-stream", "second-no-vane", "second-phones", "second-strange"];
/// Length of a session, s.
const LASTS_S: f64 = 3_600.0;
const STEP_S: f64 = 0.5;
const BOATS: usize = 12;
/// How often each thing happens to a boat under sail, per hour.
const HEAVE_TO: f64 = 1.0;
const WAIT: f64 = 1.0;
const RAFT: f64 = 0.5;
const PICK_UP: f64 = 0.4;
/// Capsizes, in the mean wind; they follow its square.
const CAPSIZE: f64 = 0.9;
/// A phone under water is silent after so many seconds at most; this share of those that go over.
const DROWNS_S: f64 = 25.0;
const DROWNS: f64 = 0.12;

#[derive(Clone, Debug)]
struct Safety {
    at: Vec2,
    velocity: Vec2,
    heading_deg: f64,
    error: [Wander; 2],
    /// The boat it goes to.
    busy: Option<usize>,
    next_s: f64,
}

/// What all boats share at one moment.
struct Conditions<'a> {
    t_s: f64,
    mean_mps: f64,
    habits: &'a Habits,
    stream: Vec2,
    safety_is_free: bool,
}

#[derive(Clone, Debug)]
pub(crate) struct SecondWater {
    habits: Habits,
    chart: Chart,
    start_ms: i64,
    t_s: f64,
    from_deg: f64,
    wind_mps: f64,
    swing: Wander,
    gust: Wander,
    stream: Vec2,
    vane: bool,
    marks: [Vec2; 4],
    boats: Vec<Boat>,
    noted: Vec<Noted>,
    safety: Safety,
    dice: Dice,
    /// Lines on their way, by arrival.
    under_way: UnderWay,
    truth: Truth,
}

impl SecondWater {
    pub(crate) fn new(scenario: &'static str, seed: u64, mixed: u64, start_ms: i64) -> SecondWater {
        let mut dice = Dice::new(mixed, "second water", 0);
        let habits = Habits::draw(scenario == "second-strange", &mut dice);
        let from_deg = dice.between(0.0, 360.0);
        let wind_kn = dice.between(6.0, 17.0);
        let stream_mps = match scenario {
            "second-stream" => dice.between(0.2, 0.5),
            _ => dice.between(0.0, 0.1),
        };
        let stream = Vec2::along(dice.between(0.0, 360.0), stream_mps);
        // Upwind, to the left, downwind, to the right.
        let marks = [(0.0, 260.0), (-230.0, 0.0), (0.0, -240.0), (220.0, 20.0)]
            .map(|(east, north)| Vec2::new(east, north).turned(from_deg));
        let odd_phones = scenario == "second-phones";
        let names = (0..BOATS).map(|ix| format!("{:02}", ix + 1));
        let boats: Vec<Boat> = names
            .enumerate()
            .map(|(ix, id)| Boat::new(id, &habits, odd_phones, Dice::new(mixed, "second boat", ix)))
            .collect();
        let truth = Truth::begun(scenario, seed, start_ms);
        SecondWater {
            chart: Chart::at(dice.between(30.0, 55.0), dice.between(-20.0, 20.0)),
            start_ms,
            t_s: 0.0,
            from_deg,
            wind_mps: crate::plane::mps(wind_kn),
            swing: Wander::new(dice.between(3.0, 8.0), 60.0, &mut dice),
            gust: Wander::new(dice.between(0.08, 0.18), 25.0, &mut dice),
            stream,
            vane: scenario != "second-no-vane",
            marks,
            noted: vec![Noted::default(); boats.len()],
            boats,
            safety: Safety {
                at: Vec2::default(),
                velocity: Vec2::default(),
                heading_deg: from_deg,
                error: [Wander::new(1.2, 120.0, &mut dice), Wander::new(1.2, 120.0, &mut dice)],
                busy: None,
                next_s: 0.3,
            },
            habits,
            dice,
            under_way: UnderWay::default(),
            truth,
        }
    }

    pub(crate) fn is_over(&self) -> bool {
        self.t_s >= LASTS_S && self.under_way.is_empty()
    }

    /// Half a second; gives the lines that arrived in it.
    pub(crate) fn step(&mut self) -> Vec<Line> {
        if self.t_s < LASTS_S {
            let air = self.air();
            for ix in 0..self.boats.len() {
                self.sail(ix, air);
            }
            self.patrol();
            self.speak(air);
        }
        self.t_s += STEP_S;
        let now_ms = self.ms(self.t_s);
        self.under_way.arrived(now_ms)
    }

    fn ms(&self, t_s: f64) -> i64 {
        self.start_ms + (t_s * 1000.0).round() as i64
    }

    fn air(&mut self) -> Air {
        let swing = self.swing.step(STEP_S, &mut self.dice);
        let gust = self.gust.step(STEP_S, &mut self.dice);
        let air =
            Air { from_deg: wrap_360(self.from_deg + swing), mps: (self.wind_mps * (1.0 + gust)).max(0.3) };
        if self.t_s % 10.0 < STEP_S {
            self.truth.wind.push(WindTruth::of(self.ms(self.t_s), air.from_deg, air.mps, self.stream));
        }
        air
    }

    fn sail(&mut self, ix: usize, air: Air) {
        let (t_s, now_ms) = (self.t_s, self.ms(self.t_s));
        let Some(boat) = self.boats.get_mut(ix) else { return };
        let before = (boat.doing.reason(), boat.since_s);
        let ended = before.0.is_some() && t_s >= boat.until_s;
        if ended {
            match boat.doing {
                Doing::Over { .. } => {
                    boat.phone.drowned_s = None;
                    let lasts_s = boat.dice.between(8.0, 60.0);
                    boat.go(Doing::Bailing, t_s, lasts_s);
                }
                _ => {
                    if self.safety.busy == Some(ix) {
                        self.safety.busy = None;
                    }
                    if matches!(boat.doing, Doing::Irons) {
                        boat.heading_deg = wrap_360(air.from_deg - boat.tack * 60.0);
                    }
                    boat.go(Doing::Sailing, t_s, 0.0);
                }
            }
        } else if let (Doing::Waiting { for_safety: true, .. }, true) =
            (&boat.doing, (boat.at - self.safety.at).length() < 5.0)
        {
            let lasts_s = boat.dice.between(40.0, 180.0);
            boat.go(Doing::Rafted, t_s, lasts_s);
        } else if before.0.is_none() {
            let water = Conditions {
                t_s,
                mean_mps: self.wind_mps,
                habits: &self.habits,
                stream: self.stream,
                safety_is_free: self.safety.busy.is_none(),
            };
            if happens(boat, air, &water) {
                self.safety.busy = Some(ix);
            }
        }
        boat.step(t_s, STEP_S, air, self.stream, &self.marks, &self.habits);
        let after = boat.doing.reason();
        let noted = &mut self.noted[ix];
        if (after, boat.since_s) != before {
            if let Some(reason) = before.0 {
                let start_ms = self.start_ms + (before.1 * 1000.0).round() as i64;
                self.truth.spells.push(Spell { boat: boat.id.clone(), reason, start_ms, end_ms: now_ms });
            }
            note_capsize(&mut self.truth, noted, boat, before.0, now_ms);
        }
        note_turn(&mut self.truth, noted, boat, air, now_ms);
    }

    fn patrol(&mut self) {
        let round = Vec2::along(self.t_s / 300.0 * 57.3, 150.0);
        let goal = match self.safety.busy.and_then(|ix| self.boats.get(ix)) {
            Some(boat) => boat.at + Vec2::new(2.0, 1.0),
            None => round,
        };
        let way = goal - self.safety.at;
        let safety = &mut self.safety;
        safety.velocity = way.unit() * (way.length() / 2.0).min(6.0);
        if safety.velocity.length() > 0.3 {
            safety.heading_deg = way.bearing_deg();
        }
        safety.at += safety.velocity * STEP_S;
    }

    fn speak(&mut self, air: Air) {
        let (t_s, now_ms) = (self.t_s, self.ms(self.t_s));
        for ix in 0..self.boats.len() {
            let (boat, noted) = (&mut self.boats[ix], &mut self.noted[ix]);
            if t_s < boat.phone.next_s {
                continue;
            }
            boat.phone.next_s += boat.phone.every_s;
            let told = boat.phone.fix(boat.at, boat.velocity, t_s, &mut boat.dice);
            noted.due += 1;
            let Some(told) = told else { continue };
            noted.came += 1;
            let since_ms = noted.heard_ms.replace(now_ms);
            note_silence(&mut self.truth, boat, since_ms, now_ms, false);
            let (lat, lon) = self.chart.lat_lon(told.at);
            let source = format!("phone-{}", boat.id);
            let line = match told.speed_mps {
                Some(speed_mps) => sentence::rmc(now_ms, lat, lon, speed_mps, told.course_deg),
                None => sentence::gga(now_ms, lat, lon, 9, 1.0),
            };
            self.under_way.send(&source, now_ms + told.late_ms, &line);
        }
        if t_s >= self.safety.next_s {
            self.safety.next_s += 1.0;
            self.speak_safety(air, now_ms);
        }
    }

    fn speak_safety(&mut self, air: Air, now_ms: i64) {
        let safety = &mut self.safety;
        let error = safety.error.each_mut().map(|axis| axis.step(1.0, &mut self.dice));
        let (lat, lon) = self.chart.lat_lon(safety.at + Vec2::new(error[0], error[1]));
        let speed_mps = safety.velocity.length();
        let course_deg = (speed_mps > 0.1).then(|| safety.velocity.bearing_deg());
        let mut lines = vec![sentence::rmc(now_ms, lat, lon, speed_mps, course_deg)];
        if self.vane {
            let felt = Vec2::along(air.from_deg + 180.0, air.mps) - safety.velocity;
            let from_deg = wrap_360(felt.bearing_deg() + 180.0) + 5.0 * self.dice.normal();
            lines.push(sentence::hdt(safety.heading_deg));
            lines.push(sentence::mwv_relative(wrap_360(from_deg - safety.heading_deg), felt.length()));
        }
        for line in lines {
            self.under_way.send("safety", now_ms + 200, &line);
        }
    }

    /// `site.geojson`: a round sailing area far wider than anyone sails.
    pub(crate) fn site_geojson(&self) -> String {
        let bearings_deg = (0..=24).map(|n| -15.0 * f64::from(n % 24));
        wide_area::site_geojson(&self.chart, "second water", bearings_deg, 2_500.0)
    }

    /// `fleet.toml`.
    pub(crate) fn fleet_toml(&self) -> String {
        let dinghies = self.boats.iter().map(|boat| fleet_file::dinghy(&boat.id, 2, "pram", 3.9));
        dinghies.chain([fleet_file::safety("S1", "safety", 2)]).collect()
    }

    /// What really happened.
    pub(crate) fn finish(mut self) -> Truth {
        let end_ms = self.ms(LASTS_S.min(self.t_s));
        for (boat, noted) in self.boats.iter().zip(&self.noted) {
            if let Some(reason) = boat.doing.reason() {
                let start_ms = self.start_ms + (boat.since_s * 1000.0).round() as i64;
                self.truth.spells.push(Spell { boat: boat.id.clone(), reason, start_ms, end_ms });
            }
            note_silence(&mut self.truth, boat, noted.heard_ms, end_ms, true);
            let open = noted.capsize.and_then(|ix| self.truth.capsizes.get_mut(ix));
            if let Some(capsize) = open.filter(|capsize| capsize.righted_ms.is_none()) {
                capsize.feed_alive = noted.share_that_came();
            }
        }
        let craft = |id: &str, role: &str, interval_s: f64| BoatTruth {
            id: id.to_owned(),
            role: role.to_owned(),
            crew: 2,
            afloat_from_ms: Some(self.start_ms),
            afloat_to_ms: None,
            heel: HeelSensor::None,
            interval_s,
        };
        self.truth.boats =
            self.boats.iter().map(|boat| craft(&boat.id, "dinghy", boat.phone.every_s)).collect();
        self.truth.boats.push(craft("S1", "safety", 1.0));
        self.truth.end_ms = end_ms;
        self.truth
    }
}

/// What may befall a boat under sail. True when she waits for the safety boat from now on, which must be free.
fn happens(boat: &mut Boat, air: Air, water: &Conditions<'_>) -> bool {
    let t_s = water.t_s;
    let off_deg = boat.off_wind_deg(air);
    let tack = if off_deg > 0.0 { 1.0 } else { -1.0 };
    let pressure = (air.mps / water.mean_mps).powi(2);
    let dice = &mut boat.dice;
    if dice.happens(HEAVE_TO, STEP_S) {
        let (ahead_mps, lasts_s) = (dice.between(0.15, 0.45), dice.between(40.0, 240.0));
        boat.tack = tack;
        boat.go(Doing::HoveTo { ahead_mps }, t_s, lasts_s);
    } else if dice.happens(WAIT, STEP_S) {
        let (off_deg, lasts_s) = (dice.between(50.0, 95.0), dice.between(20.0, 200.0));
        let ahead_mps = dice.between(0.0, water.habits.wait_mps);
        boat.tack = tack;
        boat.go(Doing::Waiting { off_deg, ahead_mps, for_safety: false }, t_s, lasts_s);
    } else if dice.happens(PICK_UP, STEP_S) {
        let lasts_s = dice.between(12.0, 45.0);
        boat.tack = tack;
        boat.go(Doing::PickUp, t_s, lasts_s);
    } else if water.safety_is_free && dice.happens(RAFT, STEP_S) {
        boat.tack = tack;
        boat.go(Doing::Waiting { off_deg: 80.0, ahead_mps: 0.1, for_safety: true }, t_s, 60.0);
        return true;
    } else if dice.happens(CAPSIZE * pressure, STEP_S) {
        let lasts_s = dice.log_normal(85.0, 0.9).max(12.0);
        let stops_s = dice.between(water.habits.over_s.0, water.habits.over_s.1);
        let share = (water.habits.over_drift + 0.005 * dice.normal()).max(0.006);
        let off_deg = dice.sign() * (water.habits.over_off_deg * dice.normal()).abs();
        // The mast-high wind drives her, a fifth stronger than at the safety boat's vane.
        let drift = Vec2::along(air.from_deg + 180.0 + off_deg, share * 1.2 * air.mps);
        if dice.chance(DROWNS) {
            boat.phone.drowned_s = Some(t_s + dice.between(4.0, DROWNS_S));
        }
        let through = boat.velocity - water.stream;
        boat.go(Doing::Over { stops_s, drift, through }, t_s, lasts_s);
    }
    false
}
