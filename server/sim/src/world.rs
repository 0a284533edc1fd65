//! Everything on the water at one moment, moved on by [`World::step`].

use std::{cmp::Reverse, collections::BinaryHeap};

use crate::{
    boats::CLASSES,
    dice::Dice,
    dinghy::{Air, Dinghy, Mode},
    plane::{Vec2, fold_180, kn, wrap_360},
    receiver::{Actual, Belief, Fate, Kit, Receiver},
    record::{Finished, Record, Seen},
    safety::SafetyBoat,
    scenario::SessionPlan,
    sentence,
    site::{self, Exercise, Leg, Mark, Site},
    truth::{BoatTruth, CapsizeTruth, Frozen, HeelSensor, Overboard, Silence, Truth, WindTruth},
    weather::{Weather, at_height},
};

/// Height of a dinghy's sail centre, of a safety boat's vane and of the mast ashore, m.
const SAIL_HEIGHT_M: f64 = 2.8;
const VANE_HEIGHT_M: f64 = 2.5;
const MAST_HEIGHT_M: f64 = 8.0;
/// A boat's feed counts as silent after this many of its intervals without a line, at least 15 s.
const SILENT_INTERVALS: f64 = 4.0;

/// What one transmission says, as a phone's socket would carry it.
#[derive(Clone, Debug, PartialEq)]
pub struct Fix {
    /// When the receiver says it took it, Unix ms; its clock may be wrong.
    pub taken_ms: i64,
    /// Degrees.
    pub lat_deg: f64,
    /// Degrees.
    pub lon_deg: f64,
    /// 68 % radius, m.
    pub accuracy_m: f64,
    /// Over the ground, m/s.
    pub speed_mps: f64,
    /// Degrees true; `None` when stopped.
    pub course_deg: Option<f64>,
    /// Degrees true; `None` without a compass.
    pub heading_deg: Option<f64>,
    /// Positive to starboard; `None` without a sensor.
    pub heel_deg: Option<f64>,
    /// Help button: `Some(true)` pressed with this report.
    pub help: Option<bool>,
}

/// Something that arrived.
#[derive(Clone, Debug, PartialEq)]
pub struct Sent {
    /// When it arrived, Unix ms on a true clock.
    pub arrival_ms: i64,
    /// The source's name as the fleet file has it.
    pub source: String,
    /// The sentences, without TAG block and line end.
    pub lines: Vec<String>,
    /// The same as numbers; `None` for the mast and for AIS.
    pub fix: Option<Fix>,
}

/// A transmission on its way: ordered by arrival, then by the order it was made in.
#[derive(Clone, Debug)]
struct OnAir {
    order: (i64, u64),
    craft: usize,
    sent: Sent,
}
impl PartialEq for OnAir {
    fn eq(&self, other: &OnAir) -> bool {
        self.order == other.order
    }
}
impl Eq for OnAir {}
impl PartialOrd for OnAir {
    fn partial_cmp(&self, other: &OnAir) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for OnAir {
    fn cmp(&self, other: &OnAir) -> std::cmp::Ordering {
        self.order.cmp(&other.order)
    }
}

/// A capsize to come.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Doom {
    pub(crate) at_s: f64,
    pub(crate) cause: &'static str,
    /// `None`: drawn from the crew's skill.
    pub(crate) right_after_s: Option<f64>,
    /// `None`: by chance.
    pub(crate) turtle: Option<bool>,
}

impl Doom {
    pub(crate) fn at(at_s: f64, cause: &'static str) -> Doom {
        Doom { at_s, cause, right_after_s: None, turtle: None }
    }
}

/// Where a crew is sent next outside their exercise.
#[derive(Clone, Debug)]
pub(crate) struct Errand {
    pub(crate) to: Vec2,
    pub(crate) near_m: f64,
    pub(crate) since_s: f64,
    /// Edges do not matter on this one.
    pub(crate) blind: bool,
    pub(crate) then: Then,
}

/// What follows when an errand's point is reached.
#[derive(Clone, Debug)]
pub(crate) enum Then {
    Nothing,
    /// Lies stopped: hove to, or sails flapping.
    Lie {
        hove_to: bool,
        for_s: f64,
    },
    /// Waits for the gun, sheeting in now and then to keep her place.
    Start {
        gun_s: f64,
    },
    /// Turns back to a dummy or a person.
    BackTo {
        to: Vec2,
        person: bool,
    },
    /// Stops beside it.
    PickUp {
        for_s: f64,
        person: bool,
    },
}

/// One dinghy with all that belongs to her.
#[derive(Clone, Debug)]
pub(crate) struct Sailor {
    pub(crate) id: String,
    pub(crate) dinghy: Dinghy,
    pub(crate) receiver: Receiver,
    pub(crate) record: Record,
    pub(crate) legs: Vec<Leg>,
    pub(crate) next_leg: usize,
    pub(crate) second: Option<(f64, Vec<Leg>)>,
    pub(crate) errand: Option<Errand>,
    avoid: Option<(Vec2, f64)>,
    pub(crate) home_s: f64,
    pub(crate) beach: Vec2,
    /// Where she stays within her lane so that boats do not sail one line, m.
    offset: Vec2,
    /// Will go over at this moment (squall, second capsize, script).
    pub(crate) doom: Option<Doom>,
    /// When a safety boat notices her.
    pub(crate) noticed_s: Option<f64>,
    pub(crate) capsize: Option<CapsizeTruth>,
    fixes_due: (u32, u32),
    pub(crate) was_in_front: bool,
    pub(crate) speeds: [f64; 8],
    held: Vec<Belief>,
    last_arrival_ms: Option<i64>,
    frozen: Option<(i64, Vec2, f64)>,
    ever_capsized_until_ms: i64,
    pub(crate) afloat: (Option<i64>, Option<i64>),
    pub(crate) crew: u32,
    /// Says so by the phone's button with the next fix.
    pub(crate) help: Option<bool>,
}

impl Sailor {
    /// The record goes by the boat's present id.
    pub(crate) fn rename_record(&mut self) {
        self.record.rename(&self.id);
    }
}

/// A person in the water.
#[derive(Clone, Debug)]
pub(crate) struct Person {
    pub(crate) at: Vec2,
    pub(crate) boat: usize,
    pub(crate) truth: Overboard,
    beacon: Option<(u32, f64)>,
}

/// The whole of it.
#[derive(Clone, Debug)]
pub struct World {
    pub(crate) plan: SessionPlan,
    pub(crate) start_ms: i64,
    pub(crate) t_s: f64,
    pub(crate) site: Site,
    pub(crate) weather: Weather,
    pub(crate) sailors: Vec<Sailor>,
    pub(crate) safety: Vec<SafetyBoat>,
    safety_receivers: Vec<Receiver>,
    mast: Option<Receiver>,
    pub(crate) people: Vec<Person>,
    pub(crate) dice: Dice,
    on_air: BinaryHeap<Reverse<OnAir>>,
    made: u64,
    pub(crate) truth: Truth,
    pub(crate) finished: Finished,
    next_wind_s: f64,
    /// Nothing happens by chance: only what a script says.
    pub(crate) scripted: bool,
}

impl World {
    pub(crate) fn new(mut plan: SessionPlan, seed: u64, start_ms: i64) -> World {
        let mut dice = Dice::new(seed, "world", 0);
        let (site, turn) = Site::draw(&mut dice);
        let middle = site.area.centre();
        plan.weather.from_deg = wrap_360(turn + plan.wind_off_shore_deg);
        plan.weather.middle = middle;
        plan.weather.offshore = site.offshore;
        // Streams were drawn for a wind from north.
        plan.weather.stream = plan.weather.stream.turned(plan.weather.from_deg);
        let mut site = site;
        let courses = lay_courses(&mut site, &plan, middle, &mut dice);
        World::on(site, plan, &courses, seed, start_ms, dice)
    }

    /// A world on a given site; the plan's weather is already set against it.
    pub(crate) fn on(
        site: Site,
        plan: SessionPlan,
        courses: &[Vec<Leg>],
        seed: u64,
        start_ms: i64,
        dice: Dice,
    ) -> World {
        let mut weather = Weather::new(plan.weather.clone(), seed);
        weather.step(0.1);
        let mut sailors = Vec::new();
        for i in 0..plan.dinghies {
            sailors.push(new_sailor(&plan, &site, courses, i, seed));
        }
        let mut safety = Vec::new();
        let mut safety_receivers = Vec::new();
        for i in 0..plan.safety_boats {
            let across = Vec2::along(site.offshore.bearing_deg() + 90.0, 40.0 * (i as f64 - 0.5));
            let place = site.landing.centre() + site.offshore * 60.0 + across;
            safety.push(SafetyBoat::new(place, Dice::new(seed, "safety", i)));
            let kit = Kit::Powered { vane: plan.instruments.safety_vane };
            safety_receivers.push(Receiver::new(
                kit,
                format!("safety-{}", i + 1),
                plan.radio,
                plan.faulty,
                Dice::new(seed, "safety receiver", i),
            ));
        }
        let mast = plan
            .instruments
            .mast
            .then(|| Receiver::new(Kit::Mast, "mast".into(), plan.radio, false, Dice::new(seed, "mast", 0)));
        let truth = Truth {
            version: crate::truth::TRUTH_VERSION,
            scenario: plan.name.to_owned(),
            seed,
            start_ms,
            ..Truth::default()
        };
        World {
            plan,
            start_ms,
            t_s: 0.0,
            site,
            weather,
            sailors,
            safety,
            safety_receivers,
            mast,
            people: Vec::new(),
            dice,
            on_air: BinaryHeap::new(),
            made: 0,
            truth,
            finished: Finished::default(),
            next_wind_s: 0.0,
            scripted: false,
        }
    }

    /// Gives safety boat `i` her name on the air.
    pub(crate) fn name_safety(&mut self, i: usize, source: &str, vane: bool) {
        if let Some(receiver) = self.safety_receivers.get_mut(i) {
            source.clone_into(&mut receiver.source);
            receiver.kit = Kit::Powered { vane };
        }
    }

    /// Gives the mast its name.
    pub(crate) fn name_mast(&mut self, source: &str) {
        if let Some(mast) = &mut self.mast {
            source.clone_into(&mut mast.source);
        }
    }

    /// Now, Unix ms on a true clock.
    pub fn now_ms(&self) -> i64 {
        self.start_ms + (self.t_s * 1000.0).round() as i64
    }

    /// Lets `dt_s` seconds pass (at most a quarter of a second at a time is exact enough) and returns what
    /// arrived meanwhile, in order of arrival.
    pub fn step(&mut self, dt_s: f64) -> Vec<Sent> {
        self.t_s += dt_s;
        self.weather.step(dt_s);
        for i in 0..self.sailors.len() {
            self.move_sailor(i, dt_s);
        }
        self.move_safety(dt_s);
        self.move_people(dt_s);
        if self.t_s >= self.next_wind_s {
            self.next_wind_s += 10.0;
            self.note_wind();
        }
        self.receive();
        self.arrivals()
    }

    /// The wind over the water at sail height.
    pub(crate) fn air(&self, at: Vec2) -> (Air, f64, Vec2) {
        let (from, wind10) = self.weather.wind10(at);
        let stream = self.weather.stream(at);
        let over_ground = Vec2::along(from + 180.0, wind10 * at_height(SAIL_HEIGHT_M));
        let over_water = over_ground - stream;
        let air =
            Air { from_deg: wrap_360(over_water.bearing_deg() + 180.0), speed_mps: over_water.length() };
        (air, wind10, stream)
    }

    fn move_sailor(&mut self, i: usize, dt_s: f64) {
        let t_s = self.t_s;
        let (air, wind10, stream) = self.air(self.sailors[i].dinghy.at);
        self.happen(i, air, wind10, dt_s);
        self.act(i, air, dt_s);
        let t_ms = self.now_ms();
        let sailor = &mut self.sailors[i];
        sailor.dinghy.carry(air, wind10, stream, dt_s);
        if (t_s * 5.0) as u64 % 5 == 0 {
            sailor.speeds.rotate_right(1);
            sailor.speeds[0] = sailor.dinghy.way_mps;
        }
        // Nothing drifts over the beach: she lies at the waterline.
        let inland = 1.0 - sailor.dinghy.at.dot(self.site.offshore);
        if inland > 0.0 && !matches!(sailor.dinghy.mode, Mode::Ashore { .. } | Mode::Beached) {
            sailor.dinghy.at += self.site.offshore * inland;
            let inshore = sailor.dinghy.velocity.dot(self.site.offshore).min(0.0);
            sailor.dinghy.velocity += self.site.offshore * -inshore;
        }
        let seen = Seen { t_ms, dinghy: &sailor.dinghy, air, site: &self.site };
        sailor.record.see(&seen, &mut self.finished);
    }

    /// Where she is headed now, and how hard the crew sails.
    pub(crate) fn destination(&mut self, i: usize) -> Vec2 {
        let t_s = self.t_s;
        let middle = self.site.area.centre();
        let sailor = &mut self.sailors[i];
        if let Some((to, until_s)) = sailor.avoid {
            if t_s < until_s {
                return to;
            }
            sailor.avoid = None;
        }
        let blind = sailor.errand.as_ref().is_some_and(|errand| errand.blind) || t_s > sailor.home_s;
        if !blind && self.ahead_is_bad(i) {
            let sailor = &mut self.sailors[i];
            let to = middle + sailor.offset * 3.0;
            sailor.avoid = Some((to, t_s + 14.0));
            sailor.dinghy.new_leg(t_s);
            return to;
        }
        let sailor = &mut self.sailors[i];
        if let Some(errand) = &sailor.errand {
            return errand.to;
        }
        if t_s > sailor.home_s {
            return sailor.beach;
        }
        if let Some((from_s, _)) = &sailor.second {
            if t_s > *from_s {
                if let Some((_, legs)) = sailor.second.take() {
                    sailor.legs = legs;
                    sailor.next_leg = 0;
                    sailor.dinghy.new_leg(t_s);
                }
            }
        }
        if sailor.legs.is_empty() {
            sailor.legs = free_legs(&self.site, &mut sailor.dinghy.dice);
            sailor.next_leg = 0;
        }
        let leg = sailor.legs[sailor.next_leg];
        if sailor.dinghy.leg_done(&leg, t_s) {
            if let Some(mark) = leg.mark {
                sailor.record.meant(mark);
            }
            sailor.next_leg = (sailor.next_leg + 1) % sailor.legs.len();
            if sailor.next_leg == 0 && leg.mark.is_none() {
                sailor.legs.clear();
                return leg.to;
            }
        }
        let leg = sailor.legs[sailor.next_leg];
        // A mark is rounded close; open water is shared.
        leg.to + sailor.offset * if leg.mark.is_some() { 0.25 } else { 2.0 }
    }

    fn ahead_is_bad(&self, i: usize) -> bool {
        let dinghy = &self.sailors[i].dinghy;
        if self.site.landing.holds(dinghy.at) {
            return false;
        }
        let ahead = dinghy.at + dinghy.velocity * 9.0 + dinghy.velocity.unit() * 6.0;
        let out =
            self.site.outside_m(ahead) > 0.0 && self.site.outside_m(ahead) > self.site.outside_m(dinghy.at);
        let forbidden = self.site.no_go.iter().any(|(_, ring)| {
            let (here, there) = (ring.margin(dinghy.at), ring.margin(ahead));
            there > -8.0 && there > here
        });
        out || forbidden
    }

    fn note_wind(&mut self) {
        let (from_deg, speed) = self.weather.venue();
        let stream = self.weather.stream(self.site.area.centre());
        let t_ms = self.now_ms();
        self.truth.wind.push(WindTruth {
            t_ms,
            from_deg,
            speed_kn: kn(speed),
            stream_to_deg: stream.bearing_deg(),
            stream_kn: kn(stream.length()),
        });
    }

    fn actual(&self, i: usize) -> Actual {
        let dinghy = &self.sailors[i].dinghy;
        Actual {
            at: dinghy.at,
            velocity: dinghy.velocity,
            heading_deg: dinghy.heading_deg,
            heel_deg: dinghy.heel_deg,
            capsized: dinghy.is_capsized(),
        }
    }

    fn receive(&mut self) {
        for i in 0..self.sailors.len() {
            if self.sailors[i].receiver.due(self.t_s) {
                self.receive_dinghy(i);
            }
        }
        for i in 0..self.safety.len() {
            if self.safety_receivers[i].due(self.t_s) {
                self.receive_safety(i);
            }
        }
        if let Some(mut mast) = self.mast.take() {
            if mast.due(self.t_s) {
                self.receive_mast(&mut mast);
            }
            self.mast = Some(mast);
        }
    }

    fn receive_dinghy(&mut self, i: usize) {
        let (t_s, start_ms, now) = (self.t_s, self.start_ms, self.now_ms());
        let actual = self.actual(i);
        let sailor = &mut self.sailors[i];
        let belief = sailor.receiver.believe(actual, start_ms, t_s);
        track_freeze(sailor, actual, now, &mut self.truth.frozen);
        let fate = sailor.receiver.send(actual.capsized, t_s);
        let arrives = matches!(fate, Fate::Arrives(_));
        if actual.capsized {
            sailor.fixes_due.0 += 1;
            sailor.fixes_due.1 += u32::from(arrives);
        }
        match fate {
            Fate::Lost => {}
            Fate::Held => {
                if sailor.held.len() < 120 {
                    sailor.held.push(belief);
                }
            }
            Fate::Arrives(after_ms) => {
                let late = std::mem::take(&mut sailor.held);
                let twice = sailor.receiver.doubles();
                let extra = sailor.receiver.dice.between(10.0, 1500.0) as i64;
                for (n, old) in late.iter().enumerate() {
                    self.transmit(i, old, now + after_ms + 5 * n as i64 - 600);
                }
                self.transmit(i, &belief, now + after_ms);
                if twice {
                    self.transmit(i, &belief, now + after_ms + extra);
                }
            }
        }
    }

    /// Puts one fix of a dinghy on the air.
    fn transmit(&mut self, i: usize, belief: &Belief, arrival_ms: i64) {
        let arrival_ms = arrival_ms.max(self.now_ms());
        let sailor = &mut self.sailors[i];
        let (lat, lon) = self.site.chart.lat_lon(belief.at);
        let mut lines = Vec::new();
        if let Kit::Ais { mmsi } = sailor.receiver.kit {
            lines.push(sentence::ais_class_b(&sentence::AisPosition {
                mmsi,
                lat,
                lon,
                speed_mps: belief.speed_mps,
                course_deg: belief.course_deg.unwrap_or(360.0),
                taken_ms: belief.taken_ms,
            }));
        } else {
            if sailor.receiver.says_gga() {
                let hdop = (belief.accuracy_m / 3.0).clamp(0.7, 6.0);
                lines.push(sentence::gga(
                    belief.taken_ms,
                    lat,
                    lon,
                    (14.0 - hdop * 2.0).max(4.0) as u32,
                    hdop,
                ));
            }
            lines.push(sentence::rmc(belief.taken_ms, lat, lon, belief.speed_mps, belief.course_deg));
            lines.extend(belief.heading_deg.map(sentence::hdt));
            lines.extend(belief.heel_deg.map(sentence::heel));
        }
        let fix = Fix {
            taken_ms: belief.taken_ms,
            lat_deg: lat,
            lon_deg: lon,
            accuracy_m: belief.accuracy_m,
            speed_mps: belief.speed_mps,
            course_deg: belief.course_deg,
            heading_deg: belief.heading_deg,
            heel_deg: belief.heel_deg,
            help: sailor.help.take(),
        };
        let source = sailor.receiver.source.clone();
        self.put_on_air(i, Sent { arrival_ms, source, lines, fix: Some(fix) });
    }

    fn put_on_air(&mut self, craft: usize, sent: Sent) {
        self.made += 1;
        self.on_air.push(Reverse(OnAir { order: (sent.arrival_ms, self.made), craft, sent }));
    }

    fn receive_safety(&mut self, i: usize) {
        let boat = &self.safety[i];
        let actual = Actual {
            at: boat.at,
            velocity: boat.velocity,
            heading_deg: boat.heading_deg,
            heel_deg: 0.0,
            capsized: false,
        };
        let (from, wind10) = self.weather.wind10(boat.at);
        let receiver = &mut self.safety_receivers[i];
        let belief = receiver.believe(actual, self.start_ms, self.t_s);
        let Fate::Arrives(after_ms) = receiver.send(false, self.t_s) else { return };
        let (lat, lon) = self.site.chart.lat_lon(belief.at);
        let heading = belief.heading_deg.unwrap_or(0.0);
        let mut lines = vec![
            sentence::gga(belief.taken_ms, lat, lon, 11, 0.9),
            sentence::rmc(belief.taken_ms, lat, lon, belief.speed_mps, belief.course_deg),
            sentence::hdt(heading),
        ];
        if receiver.kit == (Kit::Powered { vane: true }) {
            let wind = Vec2::along(from + 180.0, wind10 * at_height(VANE_HEIGHT_M));
            let apparent = wind - boat.velocity;
            let angle = fold_180(
                apparent.bearing_deg() + 180.0 - boat.heading_deg
                    + receiver.vane_bias_deg
                    + 4.0 * receiver.dice.normal(),
            );
            let speed = (apparent.length() * (1.0 + 0.06 * receiver.dice.normal())).max(0.0);
            lines.push(sentence::mwv_relative(wrap_360(angle), speed));
        }
        let fix = Fix {
            taken_ms: belief.taken_ms,
            lat_deg: lat,
            lon_deg: lon,
            accuracy_m: belief.accuracy_m,
            speed_mps: belief.speed_mps,
            course_deg: belief.course_deg,
            heading_deg: belief.heading_deg,
            heel_deg: None,
            help: None,
        };
        let sent = Sent {
            arrival_ms: self.start_ms + (self.t_s * 1000.0) as i64 + after_ms / 4,
            source: receiver.source.clone(),
            lines,
            fix: Some(fix),
        };
        self.put_on_air(usize::MAX, sent);
    }

    fn receive_mast(&mut self, mast: &mut Receiver) {
        let (from, wind10) = self.weather.wind10(self.site.mast);
        let lies = if self.t_s > 1500.0 { self.plan.instruments.mast_fault_deg } else { 0.0 };
        let from = wrap_360(from + mast.vane_bias_deg * 0.5 + lies + 4.0 * mast.dice.normal());
        let speed = (wind10 * at_height(MAST_HEIGHT_M) * (1.0 + 0.05 * mast.dice.normal())).max(0.0);
        let (lat, lon) = self.site.chart.lat_lon(self.site.mast);
        let now = self.now_ms();
        let mut lines = vec![sentence::mwd(from, speed)];
        if (self.t_s as u64).is_multiple_of(30) {
            lines.insert(0, sentence::rmc(now, lat, lon, 0.0, None));
        }
        let delay = mast.dice.between(50.0, 300.0) as i64;
        self.put_on_air(
            usize::MAX,
            Sent { arrival_ms: now + delay, source: mast.source.clone(), lines, fix: None },
        );
    }

    fn arrivals(&mut self) -> Vec<Sent> {
        let now = self.now_ms();
        let mut arrived = Vec::new();
        while self.on_air.peek().is_some_and(|next| next.0.order.0 <= now) {
            let Some(Reverse(next)) = self.on_air.pop() else { break };
            self.note_arrival(next.craft, next.sent.arrival_ms);
            arrived.push(next.sent);
        }
        arrived
    }

    fn note_arrival(&mut self, craft: usize, arrival_ms: i64) {
        let Some(sailor) = self.sailors.get_mut(craft) else { return };
        let last = sailor.last_arrival_ms.replace(arrival_ms);
        let Some(last) = last else { return };
        if silent(last, arrival_ms, sailor.receiver.interval_s) {
            let capsized = sailor.dinghy.is_capsized() || sailor.ever_capsized_until_ms >= last;
            self.truth.silences.push(Silence {
                boat: sailor.id.clone(),
                start_ms: last,
                end_ms: Some(arrival_ms),
                capsized,
            });
        }
    }

    fn move_people(&mut self, dt_s: f64) {
        for n in 0..self.people.len() {
            let at = self.people[n].at;
            let (_, wind10, stream) = self.air(at);
            let (from, _) = self.weather.wind10(at);
            // A person in a buoyancy aid drifts at about 1 % of the wind (leeway table, PIW-1).
            let velocity = stream + Vec2::along(from + 180.0, 0.01 * wind10);
            let person = &mut self.people[n];
            person.at += velocity * dt_s;
            let Some((mmsi, next_s)) = person.beacon else { continue };
            if self.t_s < next_s || person.truth.end_ms.is_some() {
                continue;
            }
            // Bursts once a minute (from memory in the reference); the first of each is enough here.
            person.beacon = Some((mmsi, next_s + 60.0));
            let (lat, lon) = self.site.chart.lat_lon(person.at);
            let said = sentence::AisPosition {
                mmsi,
                lat,
                lon,
                speed_mps: velocity.length(),
                course_deg: velocity.bearing_deg(),
                taken_ms: 0,
            };
            let line = sentence::ais_beacon(&said);
            let arrival_ms = self.now_ms() + 400;
            self.put_on_air(
                usize::MAX,
                Sent { arrival_ms, source: "ais".into(), lines: vec![line], fix: None },
            );
        }
    }

    /// A person falls out of boat `i`; some wear a beacon.
    pub(crate) fn person_falls(&mut self, i: usize, with_beacon: bool) {
        let now = self.now_ms();
        let beacon_s = self.t_s + self.dice.between(10.0, 30.0);
        let beacon =
            with_beacon.then(|| (972_000_000 + 1000 * (self.people.len() as u32 + 1) + i as u32, beacon_s));
        let truth = Overboard {
            boat: self.sailors[i].id.clone(),
            start_ms: now,
            end_ms: None,
            beacon_ms: beacon.map(|(_, at_s)| self.start_ms + (at_s * 1000.0) as i64),
        };
        let at = self.sailors[i].dinghy.at;
        self.people.push(Person { at, boat: i, truth, beacon });
    }

    /// She is upright again: the capsize's truth is complete but for the sailing off.
    pub(crate) fn righted(&mut self, i: usize) {
        let now = self.now_ms();
        let sailor = &mut self.sailors[i];
        sailor.ever_capsized_until_ms = now;
        sailor.record.unscored_until_ms = now + 75_000;
        let (due, got) = std::mem::take(&mut sailor.fixes_due);
        if let Some(capsize) = &mut sailor.capsize {
            capsize.righted_ms = Some(now);
            capsize.feed_alive = share(got, due);
        }
    }

    /// She is under way again or in a safety boat's hands.
    pub(crate) fn under_way(&mut self, i: usize) {
        let now = self.now_ms();
        if let Some(mut capsize) = self.sailors[i].capsize.take() {
            capsize.sailing_ms = Some(now);
            self.truth.capsizes.push(capsize);
        }
    }

    /// Ends the session and gives its truth.
    pub fn finish(mut self) -> Truth {
        let now = self.now_ms();
        for sailor in &mut self.sailors {
            sailor.record.close(now, &mut self.finished);
            if let Some(mut capsize) = sailor.capsize.take() {
                if capsize.righted_ms.is_none() {
                    capsize.feed_alive = share(sailor.fixes_due.1, sailor.fixes_due.0);
                }
                self.truth.capsizes.push(capsize);
            }
            if let Some(last) = sailor.last_arrival_ms {
                if silent(last, now, sailor.receiver.interval_s) {
                    let capsized = sailor.dinghy.is_capsized() || sailor.ever_capsized_until_ms >= last;
                    self.truth.silences.push(Silence {
                        boat: sailor.id.clone(),
                        start_ms: last,
                        end_ms: None,
                        capsized,
                    });
                }
            }
            if let Some((start_ms, _, moved_m)) = sailor.frozen.take() {
                self.truth.frozen.push(Frozen { boat: sailor.id.clone(), start_ms, end_ms: now, moved_m });
            }
            self.truth.boats.push(BoatTruth {
                id: sailor.id.clone(),
                role: "dinghy".into(),
                crew: sailor.crew,
                afloat_from_ms: sailor.afloat.0,
                afloat_to_ms: sailor.afloat.1,
                heel: sailor.receiver.heel,
                interval_s: sailor.receiver.interval_s,
            });
        }
        for (i, receiver) in self.safety_receivers.iter().enumerate() {
            self.truth.boats.push(BoatTruth {
                id: format!("S{}", i + 1),
                role: "safety".into(),
                crew: 2,
                afloat_from_ms: Some(self.start_ms),
                afloat_to_ms: None,
                heel: HeelSensor::None,
                interval_s: receiver.interval_s,
            });
        }
        self.truth.overboard = self.people.into_iter().map(|person| person.truth).collect();
        self.truth.spells = self.finished.spells;
        self.truth.exits = self.finished.exits;
        self.truth.no_go = self.finished.no_go;
        self.truth.manoeuvres = self.finished.manoeuvres;
        self.truth.roundings = self.finished.roundings;
        self.truth.capsizes.sort_by_key(|capsize| capsize.start_ms);
        self.truth.end_ms = now;
        self.truth
    }
}

fn share(part: u32, whole: u32) -> f64 {
    if whole == 0 { 1.0 } else { f64::from(part) / f64::from(whole) }
}

fn silent(last_ms: i64, next_ms: i64, interval_s: f64) -> bool {
    (next_ms - last_ms) as f64 / 1000.0 >= (SILENT_INTERVALS * interval_s).max(15.0)
}

/// Notes when a tracker begins and ends repeating itself, and how far the boat really went.
fn track_freeze(sailor: &mut Sailor, actual: Actual, now: i64, done: &mut Vec<Frozen>) {
    match (&mut sailor.frozen, sailor.receiver.is_frozen()) {
        (None, true) => sailor.frozen = Some((now, actual.at, 0.0)),
        (Some((_, last, moved_m)), true) => {
            *moved_m += (actual.at - *last).length();
            *last = actual.at;
        }
        (Some((start_ms, _, moved_m)), false) => {
            done.push(Frozen {
                boat: sailor.id.clone(),
                start_ms: *start_ms,
                end_ms: now,
                moved_m: *moved_m,
            });
            sailor.frozen = None;
        }
        (None, false) => {}
    }
}

/// Lays this session's two exercises and drops their marks.
fn lay_courses(site: &mut Site, plan: &SessionPlan, middle: Vec2, dice: &mut Dice) -> Vec<Vec<Leg>> {
    let choices = [
        Exercise::FigureOfEight,
        Exercise::TrianglePort,
        Exercise::TriangleStarboard,
        Exercise::WindwardLeeward,
        Exercise::Free,
    ];
    let first = if plan.gun_s.is_some() { Exercise::WindwardLeeward } else { choices[dice.pick(5)] };
    let second = choices[dice.pick(5)];
    let mut laps = Vec::new();
    for (n, exercise) in [first, second].into_iter().enumerate() {
        let size = dice.between(95.0, 150.0);
        let aside = Vec2::new(dice.between(-30.0, 30.0), dice.between(-30.0, 30.0));
        // Laid for the wind of the hour when the session began; it shifts, the marks do not.
        let course = site::lay(exercise, middle + aside, plan.weather.from_deg, size, site.marks.len());
        for (m, at) in course.marks.iter().enumerate() {
            site.marks.push(Mark { name: format!("{}{}", ["red", "yellow"][n], m + 1), at: *at });
        }
        laps.push(course.lap);
    }
    laps
}

fn new_sailor(plan: &SessionPlan, site: &Site, courses: &[Vec<Leg>], i: usize, seed: u64) -> Sailor {
    let mut dice = Dice::new(seed, "dinghy", i);
    let class = &CLASSES[[0, 0, 0, 1, 1, 2][dice.pick(6)]];
    let skill = (plan.skill + 0.2 * dice.normal()).clamp(0.1, 0.95);
    let along = Vec2::along(site.offshore.bearing_deg() + 90.0, dice.between(-65.0, 65.0));
    let beach = site.landing.centre() - site.offshore * 8.0 + along;
    let launch_s = dice.between(20.0, 420.0);
    let home_s = plan.lasts_s - dice.between(300.0, 800.0);
    let id = format!("{:02}", i + 1);
    let offset = Vec2::new(6.0 * dice.normal(), 6.0 * dice.normal());
    let switch_s = plan.lasts_s * dice.between(0.48, 0.55);
    // Where feeds are sparse one boat carries only an AIS transponder.
    let sparse = plan.radio.interval_s > 2.0 && i == 0;
    let kit = if sparse { Kit::Ais { mmsi: 235_000_700 } } else { Kit::Phone };
    let receiver =
        Receiver::new(kit, format!("phone-{id}"), plan.radio, plan.faulty, Dice::new(seed, "receiver", i));
    let record = Record::new(&id, site.no_go.len(), site.marks.len());
    Sailor {
        dinghy: Dinghy::new(class, skill, beach, plan.rates.irons, launch_s, dice),
        receiver,
        record,
        legs: courses.first().cloned().unwrap_or_default(),
        next_leg: 0,
        second: courses.get(1).map(|laps| (switch_s, laps.clone())),
        errand: None,
        avoid: None,
        home_s,
        beach,
        offset,
        doom: None,
        noticed_s: None,
        capsize: None,
        fixes_due: (0, 0),
        was_in_front: false,
        speeds: [0.0; 8],
        held: Vec::new(),
        last_arrival_ms: None,
        frozen: None,
        ever_capsized_until_ms: i64::MIN,
        afloat: (None, None),
        crew: class.crew,
        help: None,
        id,
    }
}

/// A few points anywhere in the area.
fn free_legs(site: &Site, dice: &mut Dice) -> Vec<Leg> {
    let centre = site.area.centre();
    (0..4)
        .map(|_| {
            let to = centre + Vec2::along(dice.between(0.0, 360.0), dice.between(40.0, 260.0));
            Leg { to, near_m: 12.0, mark: None }
        })
        .collect()
}
