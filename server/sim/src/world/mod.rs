//! Everything on the water at one moment, moved on by [`World::step`].

mod cast;
mod ledger;
mod people;
mod radio;

use std::{cmp::Reverse, collections::BinaryHeap};

use crate::{
    dice::Dice,
    dinghy::Dinghy,
    mode::{Air, Mode},
    plane::{Vec2, kn, wrap_360},
    receiver::{Belief, Kit, Receiver},
    record::{Finished, Record, Seen},
    safety::SafetyBoat,
    scenario::SessionPlan,
    site::{Leg, Site},
    truth::{CapsizeTruth, Truth, WindTruth},
    weather::{Weather, at_height},
};
use radio::OnAir;

pub(crate) use people::Person;
pub use radio::{Fix, Sent};

/// Height of a dinghy's sail centre, m.
const SAIL_HEIGHT_M: f64 = 2.8;

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
        let courses = cast::lay_courses(&mut site, &plan, middle, &mut dice);
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
            sailors.push(cast::new_sailor(&plan, &site, courses, i, seed));
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
        if ((t_s * 5.0) as u64).is_multiple_of(5) {
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
        if let Some((_, legs)) = sailor.second.take_if(|(from_s, _)| t_s > *from_s) {
            sailor.legs = legs;
            sailor.next_leg = 0;
            sailor.dinghy.new_leg(t_s);
        }
        if sailor.legs.is_empty() {
            sailor.legs = cast::free_legs(&self.site, &mut sailor.dinghy.dice);
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
}
