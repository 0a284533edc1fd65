//! The stages in flow order. Read this first.

use crate::{
    alerts::{Alerts, Claim, Topic},
    claims::Claims,
    conditions::{CAUTION, Fleet as FleetState, SafetyBoat, Stream, Surroundings, WaterWind, told_more},
    craft::Craft,
    drift::Push,
    effect::{AlertKind, Effect, Level, Turn, WindNow},
    fixes::{Heard, Listener, SourceHealth, Verdict, What},
    fleet::{Boat, BoatIx, Role},
    input::Input,
    limits::{CATCH_UP_TICKS_MAX, TICK_MS},
    moment::Moment,
    sailing::{Customs, MarkAt},
    tally::Tally,
    tracks::{Motion, Plane, Update},
    units::{Local, Position},
    venue::{Site, Venue},
    watch::{
        declared::{self, BeaconWord, Beacons},
        heel_alone::{Lying, ON_HER_SIDE_DEG},
        session::SessionRules,
    },
    wind::{Carrier, Wind},
};

/// A safety boat whose newest fix is older than this is not counted on, ms.
const SAFETY_FRESH_MS: i64 = 15_000;

/// This near a landing place a stop is as likely to be a coming ashore as anything else, metres: the
/// beach and the error of a phone (our choice).
const LANDING_REACH_M: f64 = 25.0;

/// And she is at it until she is so far off, metres: a phone's error at the edge would take her in and out.
const LANDING_LEFT_M: f64 = 30.0;

/// What a stop there says for a capsize against the same stop elsewhere, as a ln likelihood ratio: of those that
/// the motion alone called 0.55 one in eleven was one (tuning seeds, before there were nets; with them 0.43 is stated
/// where 0.10 is true, so it is too mild).
const LANDING_LN: f64 = -2.3;

/// Nearer than this to a landing place nothing is learnt of the stream, metres: the water is shallow
/// and slack there (our choice).
const INSHORE_M: f64 = 40.0;

/// How often the wind is told while known, ms.
const WIND_EVERY_MS: i64 = 10_000;

/// What a session is about, checked by the shell.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Setup {
    /// The water.
    pub site: Site,
    /// The boats; [`crate::fleet::BoatIx`] is the place in this list.
    pub fleet: Vec<Boat>,
    /// The wind above which the session should not be afloat, m/s; `None`: no limit.
    pub wind_limit_mps: Option<f64>,
}

/// The watch over one session.
#[derive(Clone, Debug)]
pub struct Engine {
    pub(crate) setup: Setup,
    pub(crate) now: Moment,
    next_tick: Option<Moment>,
    /// Laid at the middle of the site, or at the first position heard when there is none.
    pub(crate) plane: Option<Plane>,
    pub(crate) venue: Venue,
    marks: Vec<MarkAt>,
    customs: Customs,
    listener: Listener,
    pub(crate) claims: Claims,
    pub(crate) crafts: Vec<Craft>,
    /// Where in `crafts` the safety boats are: every fix of a dinghy asks for the nearest.
    safety: Vec<usize>,
    pub(crate) wind: Wind,
    wind_told: Option<Moment>,
    fleet_state: FleetState,
    pub(crate) alerts: Alerts,
    pub(crate) tally: Tally,
    pub(crate) back_by: Option<Moment>,
    pub(crate) beacons: Beacons,
    session: SessionRules,
    heard: Vec<Verdict>,
}

impl Engine {
    /// A watch that has heard nothing yet.
    pub fn new(setup: Setup) -> Engine {
        let crafts = setup.fleet.iter().zip(0..).map(|(boat, ix)| Craft::new(BoatIx(ix), boat.clone()));
        let safety = setup.fleet.iter().enumerate().filter(|(_, boat)| boat.role == Role::Safety);
        let mut engine = Engine {
            now: Moment(i64::MIN),
            next_tick: None,
            plane: None,
            venue: Venue::default(),
            marks: Vec::new(),
            customs: Customs::default(),
            listener: Listener::new(),
            claims: Claims::of(&setup.fleet),
            crafts: crafts.collect(),
            safety: safety.map(|(place, _)| place).collect(),
            wind: Wind::new(),
            wind_told: None,
            fleet_state: FleetState::default(),
            alerts: Alerts::new(),
            tally: Tally::new(&setup.fleet),
            back_by: None,
            beacons: Beacons::default(),
            session: SessionRules::default(),
            heard: Vec::new(),
            setup,
        };
        if let Some(origin) = middle(&engine.setup.site) {
            engine.lay_plane(origin);
        }
        engine
    }

    /// Takes one event in and gives what follows from it, after whatever the passing of time
    /// until `now` brought about by itself. A late `now` counts as the latest known: time here
    /// never goes back.
    #[must_use = "effects are the only way anything leaves the engine"]
    pub fn on(&mut self, now: Moment, input: Input) -> Vec<Effect> {
        let mut effects = Vec::new();
        self.pass_time(now, &mut effects);
        let mut verdicts = std::mem::take(&mut self.heard);
        match input {
            Input::Line { feed, line } => self.listener.hear(self.now, &feed, &line, &mut verdicts),
            Input::Report { source, report } => {
                self.listener.report(self.now, &source, &report, &mut verdicts)
            }
            Input::Command { by, command } => self.command(&by, command, &mut effects),
            Input::Wake => (),
        }
        for verdict in verdicts.drain(..) {
            match verdict {
                Verdict::Heard(heard) => self.take(&heard, &mut effects),
                Verdict::Discard(discard) => effects.push(Effect::Discard(discard)),
            }
        }
        self.heard = verdicts;
        effects.extend(self.alerts.drain());
        effects
    }

    /// When the engine wants to be woken if nothing arrives before; `None` before the first event.
    pub fn next_wake(&self) -> Option<Moment> {
        self.next_tick
    }

    /// Runs the second-by-second rules that are due. They run at their own moments, whether the
    /// engine is woken for each of them or only by the next line: so a replay without wakes gives
    /// the same effects.
    fn pass_time(&mut self, now: Moment, effects: &mut Vec<Effect>) {
        let whole_second_after = |at: Moment| Moment((at.0.div_euclid(TICK_MS) + 1) * TICK_MS);
        let first = *self.next_tick.get_or_insert(whole_second_after(now));
        let mut due = first;
        let is_hole = now.ms_since(first) > CATCH_UP_TICKS_MAX * TICK_MS;
        while due <= now {
            self.now = self.now.max(due);
            self.tick(effects);
            due = due.plus_ms(TICK_MS);
            if is_hole && due.ms_since(first) >= CATCH_UP_TICKS_MAX * TICK_MS {
                due = whole_second_after(now);
            }
        }
        self.next_tick = Some(due);
        self.now = self.now.max(now);
    }

    /// One believed statement, to whoever it concerns.
    fn take(&mut self, heard: &Heard, effects: &mut Vec<Effect>) {
        if let What::Fix(fix) = &heard.what
            && self.plane.is_none()
        {
            self.lay_plane(fix.position);
        }
        let claimed = self.claims.boat(&heard.source.0);
        self.take_signals(heard, claimed);
        self.take_heel(heard, claimed);
        let Some(plane) = self.plane else { return };
        let Some(ix) = claimed else {
            return self.claims.stranger(self.now, heard);
        };
        let Some(craft) = self.crafts.get_mut(usize::from(ix.0)) else { return };
        if let What::Fix(fix) = &heard.what {
            craft.rules.on_claim(heard.taken, plane.local(fix.position));
        }
        let update = craft.track.hear_from(self.now, heard, &plane);
        craft.transponder = heard.source.0.starts_with("mmsi:");
        let carrier = match (craft.boat.role, craft.track.motion()) {
            (Role::Station, motion) => {
                Some(Carrier::Mast { heading: motion.and_then(|motion| motion.heading) })
            }
            (Role::Dinghy | Role::Safety, motion) => motion.map(Carrier::Afloat),
        };
        if let Some(carrier) = carrier {
            self.wind.instrument(self.now, &heard.source.0, carrier, &heard.what);
        }
        if let Some(at) = craft.track.motion().map(|motion| motion.at)
            && craft.epoch.after(update, at)
        {
            self.look(ix, effects);
        } else if matches!(update, Update::Held | Update::Frozen) {
            craft.rules.on_heard(self.now, craft.transponder);
        }
    }

    /// Calls for help go their own way: they need no position and no boat.
    fn take_signals(&mut self, heard: &Heard, claimed: Option<BoatIx>) {
        match &heard.what {
            What::Beacon { mmsi, test, text } => {
                let word = BeaconWord { mmsi: *mmsi, boat: claimed, test: *test, text: text.as_deref() };
                self.beacons.on_beacon(self.now, word, &mut self.alerts);
            }
            What::Help(wanted) => {
                if let Some(boat) = claimed {
                    declared::on_help(self.now, boat, *wanted, &mut self.alerts);
                }
            }
            What::Fix(fix) => {
                let mmsi = heard.source.0.strip_prefix("mmsi:").and_then(|figures| figures.parse().ok());
                if let (Some(mmsi), Some(plane)) = (mmsi, self.plane) {
                    self.beacons.on_place(mmsi, plane.local(fix.position));
                }
            }
            What::Motion { .. }
            | What::Heading(_)
            | What::MagneticHeading(_)
            | What::Heel(_)
            | What::BatteryVolts(_)
            | What::BatteryPct(_)
            | What::ApparentWind { .. }
            | What::TrueWindFromBow { .. }
            | What::GroundWind { .. }
            | What::WaterSpeed(_)
            | What::Depth(_)
            | What::Aid { .. }
            | What::Name(_) => (),
        }
    }

    /// Heel counts without a position, and before there is any.
    fn take_heel(&mut self, heard: &Heard, claimed: Option<BoatIx>) {
        let What::Heel(heel_deg) = &heard.what else { return };
        if let Some(craft) = claimed.and_then(|ix| self.crafts.get_mut(usize::from(ix.0))) {
            craft.heel_alone.on_heel(self.now, *heel_deg, craft.track.motion());
        }
    }

    /// A boat's newest fix is complete: every stage looks at it.
    fn look(&mut self, ix: BoatIx, effects: &mut Vec<Effect>) {
        let around = self.surroundings(ix);
        let push = self.push();
        // What lies there is aground or held by somebody as often as adrift.
        let inshore = around.landing_m.is_some_and(|landing_m| landing_m < INSHORE_M);
        let Some(craft) = self.crafts.get_mut(usize::from(ix.0)) else { return };
        let Some(motion) = craft.track.motion().copied() else { return };
        if craft.boat.role != Role::Station {
            effects.extend(self.tally.on_fix(self.now, ix, &motion, &self.venue).map(Effect::Tally));
        }
        if craft.boat.role == Role::Dinghy {
            let out = out(&self.tally, &self.venue, ix, Some(motion.position));
            let under_sail = craft.may_sail();
            for manoeuvre in craft.sailing.see(&motion, self.wind.water_wind(), under_sail) {
                if manoeuvre.turn == Turn::Gybe {
                    craft.gybed = Some(manoeuvre.at);
                }
                effects.push(Effect::Manoeuvre(manoeuvre));
            }
            if under_sail {
                let rounded = craft.roundings.see(&motion, &self.marks, &mut self.customs);
                effects.extend(rounded.into_iter().map(Effect::Rounding));
                self.wind.sailed(self.now, ix, &motion);
                if out == Out::Yes && !inshore {
                    self.wind.carried(self.now, ix, &motion);
                }
            }
            craft.conditions.on_fix(self.now, &craft.track, &around);
            let reach_m = if craft.at_landing { LANDING_LEFT_M } else { LANDING_REACH_M };
            craft.at_landing = around.landing_m.is_some_and(|landing_m| landing_m < reach_m);
            claim_capsize(self.now, craft, out, &mut self.alerts);
        }
        if let (Role::Safety, Some(source), false) = (craft.boat.role, craft.track.source(), inshore) {
            self.wind.patrolled(self.now, &source.0, &motion);
        }
        let (rules, ctx) = craft.rules(&self.venue, &self.tally, push, self.back_by);
        rules.on_fix(self.now, &ctx, &mut self.alerts);
    }

    /// A second passed: what silence, the wind and time itself bring about.
    fn tick(&mut self, effects: &mut Vec<Effect>) {
        let push = self.push();
        for at in 0..self.crafts.len() {
            let ix = self.crafts[at].ix;
            if self.crafts[at].epoch.give_up() {
                self.look(ix, effects);
            }
            let is_silent = self.crafts[at].conditions.is_silent(self.now);
            let around = is_silent.then(|| self.surroundings(ix));
            let craft = &mut self.crafts[at];
            if craft.boat.role == Role::Dinghy {
                craft.conditions.on_tick(self.now, &craft.track, around.as_ref());
                let position = craft.track.motion().map(|motion| motion.position);
                let out = out(&self.tally, &self.venue, ix, position);
                claim_capsize(self.now, craft, out, &mut self.alerts);
            }
            let (rules, ctx) = craft.rules(&self.venue, &self.tally, push, self.back_by);
            rules.on_tick(self.now, &ctx, &mut self.alerts);
        }
        self.count_fleet();
        self.wind.tick(self.now);
        self.tell_wind(effects);
        self.beacons.on_tick(self.now, &mut self.alerts);
        let furthest = self.wind.disagreements().max_by(|a, b| a.off_deg.abs().total_cmp(&b.off_deg.abs()));
        let limit_mps = self.setup.wind_limit_mps;
        self.session.on_tick(self.now, self.wind.now(), limit_mps, furthest, &mut self.alerts);
        self.alerts.on_tick(self.now);
        effects.extend(self.alerts.drain());
    }

    fn tell_wind(&mut self, effects: &mut Vec<Effect>) {
        let due = self.wind_told.is_none_or(|told| self.now.ms_since(told) >= WIND_EVERY_MS);
        match self.wind.now() {
            Some(wind) if due => {
                self.wind_told = Some(self.now);
                effects.push(Effect::Wind(wind.clone()));
            }
            Some(_) => (),
            None => self.wind_told = None,
        }
    }

    fn count_fleet(&mut self) {
        let mut state = FleetState::default();
        let mut moving = 0_u16;
        for craft in &self.crafts {
            let watched = craft.boat.role == Role::Dinghy && self.tally.standing(craft.ix).is_afloat();
            let Some(motion) = craft.track.motion() else { continue };
            if watched && self.now.ms_since(motion.at) < SAFETY_FRESH_MS {
                state.boats += 1;
                moving += u16::from(craft.makes_way());
            }
        }
        if state.boats > 0 {
            state.moving_share = f64::from(moving) / f64::from(state.boats);
        }
        self.fleet_state = state;
    }

    /// What the belief about one boat may know of what is around her.
    fn surroundings(&self, ix: BoatIx) -> Surroundings {
        let craft = self.crafts.get(usize::from(ix.0));
        let Some((craft, motion)) = craft.and_then(|craft| Some((craft, craft.track.motion()?))) else {
            return Surroundings::default();
        };
        let stream = self.wind.stream();
        Surroundings {
            wind: self.wind.water_wind().map(|wind| WaterWind {
                from: wind.from,
                sd_deg: wind.sd_deg,
                speed_mps: wind.speed_mps,
                now_mps: wind.now_mps,
            }),
            stream: stream.map(|stream| Stream { velocity: stream.velocity, sd_mps: stream.sd_mps }),
            landing_m: self.venue.landing_distance_m(motion.position),
            shore_m: self.venue.shore_distance_m(motion.position),
            mark_m: self.marks.iter().map(|mark| mark.at.distance_m(motion.position)).min_by(f64::total_cmp),
            safety: self.nearest_safety(motion),
            fleet: self.fleet_state,
            since_gybe_s: craft.gybed.map(|gybed| self.now.s_since(gybed)),
            drill: craft.drill,
        }
    }

    fn nearest_safety(&self, motion: &Motion) -> Option<SafetyBoat> {
        self.safety
            .iter()
            .filter_map(|place| self.crafts.get(*place)?.track.at(self.now))
            .filter(|other| self.now.ms_since(other.at) < SAFETY_FRESH_MS)
            .map(|other| SafetyBoat {
                distance_m: other.position.distance_m(motion.position),
                velocity: other.velocity,
            })
            .min_by(|a, b| a.distance_m.total_cmp(&b.distance_m))
    }

    /// What moves a boat that does not sail.
    pub(crate) fn push(&self) -> Push {
        Push {
            wind: self.wind.water_wind().and_then(|wind| Some((wind.from, wind.speed_mps?))),
            stream: self.wind.stream().map(|stream| stream.velocity),
        }
    }

    fn lay_plane(&mut self, origin: Position) {
        let plane = Plane::at(origin);
        self.venue = Venue::lay_out(&self.setup.site, |position| plane.local(position));
        self.marks =
            self.venue.marks().iter().map(|(name, at)| MarkAt { name: name.clone(), at: *at }).collect();
        self.plane = Some(plane);
    }

    /// What the session is about.
    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    /// Every source ever heard, and how it does.
    pub fn sources(&self) -> Vec<SourceHealth> {
        self.listener.health()
    }

    /// The wind; `None`: unknown.
    pub fn wind(&self) -> Option<&WindNow> {
        self.wind.now()
    }
}

/// Whether a boat is out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Out {
    /// She is.
    Yes,
    /// She counts as ashore, is away from where she lay since then, and is not on land.
    Leaving(Moment),
    /// She is ashore.
    No,
}

fn out(tally: &Tally, venue: &Venue, boat: BoatIx, position: Option<Local>) -> Out {
    if tally.standing(boat).is_afloat() {
        return Out::Yes;
    }
    let off_land = position.is_some_and(|at| !venue.on_shore(at));
    tally.stirring_since(boat).filter(|_| off_land).map_or(Out::No, Out::Leaving)
}

/// Hands the belief's wish to the alerts, and what her heel says by itself where that is more.
fn claim_capsize(now: Moment, craft: &Craft, out: Out, alerts: &mut Alerts) {
    let topic = Topic::of(craft.ix, AlertKind::Capsize);
    let motion = craft.track.motion();
    if let Some(lying) = craft.heel_alone.lying(now, motion).filter(|_| out == Out::Yes)
        && craft.conditions.wanted().is_none_or(|wanted| wanted.level < Level::Warning)
    {
        // How probable is not said: that she was not carried about is not known without positions.
        let claim = Claim { level: Level::Warning, began: lying.since, confidence: None };
        return alerts.hold(now, topic, claim, || lying.words(now, motion));
    }
    // A phone that lay on its side before she left says nothing: it may be in a pocket yet.
    let went_over_since = |lying: &Lying| matches!(out, Out::Leaving(left) if lying.since >= left);
    if let Some(lying) = craft.heel_alone.over(now).filter(went_over_since) {
        let claim = Claim { level: lying.level_off_the_beach(), began: lying.since, confidence: None };
        return alerts.hold(now, topic, claim, || lying.words_off_the_beach());
    }
    match craft.conditions.wanted() {
        Some(wanted) if out == Out::Yes => {
            // Boats stop, swing and are walked about where they come ashore: there, motion alone is
            // worth a look and no more, and that only when its confidence is worth one or nothing has
            // explained it for a while. A heel that was felt is still believed.
            let heeled = craft.track.motion().and_then(|motion| motion.heel_deg);
            let over = heeled.is_some_and(|heel_deg| heel_deg.abs() > ON_HER_SIDE_DEG);
            let (level, confidence) = match craft.at_landing && !over {
                true => (Level::Caution, told_more(wanted.confidence, LANDING_LN)),
                false => (wanted.level, wanted.confidence),
            };
            // What stands is kept for less, or a heel that swings would raise it again and again.
            let is_worth_a_look = match alerts.about(topic) {
                Some(_) => wanted.level >= Level::Warning,
                None => wanted.level == Level::Alarm || confidence >= CAUTION,
            };
            if craft.at_landing && !over && !is_worth_a_look {
                return alerts.release(now, topic, craft.conditions.belief().most_likely().word());
            }
            let claim = Claim { level, began: wanted.began, confidence: Some(confidence) };
            alerts.hold(now, topic, claim, || craft.conditions.evidence());
        }
        Some(_) => alerts.release(now, topic, "not afloat"),
        None => alerts.release(now, topic, craft.conditions.belief().most_likely().word()),
    }
}

/// The middle of the sailing areas, or of all zones when there is none.
fn middle(site: &Site) -> Option<Position> {
    let corners: Vec<Position> =
        site.zones.iter().flat_map(|zone| zone.polygons.iter().flatten().flatten().copied()).collect();
    let marks: Vec<Position> = site.marks.iter().map(|mark| mark.position).collect();
    let points = if corners.is_empty() { marks } else { corners };
    let first = points.first()?;
    let bounds = points.iter().fold(
        (first.lat_deg(), first.lat_deg(), first.lon_deg(), first.lon_deg()),
        |(south, north, west, east), at| {
            (south.min(at.lat_deg()), north.max(at.lat_deg()), west.min(at.lon_deg()), east.max(at.lon_deg()))
        },
    );
    Position::new((bounds.0 + bounds.1) / 2.0, (bounds.2 + bounds.3) / 2.0)
}
