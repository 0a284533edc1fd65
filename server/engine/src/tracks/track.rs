//! A boat's filter, and what else she says of herself.

use crate::{
    fixes::{Fix, Heard, Source, What},
    fleet::Role,
    moment::Moment,
    tracks::{
        Motion, Plane,
        bow::Bow,
        choice::{Choice, Pick},
        estimate::{Estimate, Noise, TURN_MPS, WAY_Q, reported},
        frozen::Frozen,
        gate::{Doubt, Gate},
        grain::Grain,
        past::Past,
    },
    units::{Bearing, Local, Velocity, mps_from_kn},
};

/// Accuracy assumed of a receiver that says none, 68 % radius in metres: 4.9 m is what GPS.gov
/// quotes for phones under open sky (van Diggelen and Enge 2015).
const ACCURACY_M: f64 = 5.0;

/// Accuracies are believed within these, metres: no phone is better, and beyond a position says
/// nothing of a boat.
const ACCURACY_MIN_M: f64 = 0.5;
const ACCURACY_MAX_M: f64 = 200.0;

/// A 68 % radius of two equal normal axes is this many standard deviations of one axis
/// (Rayleigh: sqrt(-2 ln 0.32)).
const RADIUS_SDS: f64 = 1.509_6;

/// Correlation time of a receiver's position error, seconds. 1 to 10 min are plausible; one old
/// receiver's autocorrelation bends at about 1 min (Wilson, GPS accuracy pages).
const WANDER_S: f64 = 120.0;

/// A receiver's error changes by its own size in about this time, seconds, which looks like motion
/// to position and Doppler alike: measured on the still receiver of the field data.
const WANDER_RATE_S: f64 = 20.0;

/// Share of a receiver's error that is fresh with every fix.
const WHITE_SHARE: f64 = 0.25;

/// Beyond this gap the old motion says nothing about the new one, seconds.
const RESTART_S: f64 = 30.0;

/// The motion is carried forward at most this long, seconds; then she stays where that led, in
/// growing doubt.
const COAST_S: f64 = 10.0;

/// A velocity that comes with an impossible position counts as this many times less certain.
const DOUBTED_SDS: f64 = 1.5;

/// A jump shorter than this, by a receiver whose velocity went on as before, is its error that came
/// or went, metres; a longer one is another place.
const REFLECTION_M: f64 = 200.0;

/// Heel older than this says nothing of now, ms.
const HEEL_MAX_AGE_MS: i64 = 5_000;

/// What one statement did to a track.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Update {
    /// Became part of the motion; of a fix too far away to be hers, its velocity did.
    Accepted,
    /// A position too far away to be hers, and no velocity with it: held back until others agree.
    Held,
    /// Positions held back agreed: the track begins anew where they are.
    Moved,
    /// The position repeats as only a faulty tracker's does; the motion was left as it was.
    Frozen,
    /// Older than what is known.
    TooOld,
    /// Said nothing about motion; kept where it belongs (battery) or not hers to keep (wind).
    Noted,
}

/// A boat's filter and its recent past.
#[derive(Clone, Debug)]
pub struct Track {
    speed_max_mps: f64,
    choice: Choice,
    /// Who gave the sensed heading in use, and when it last did; so for heel.
    heading_from: Option<(Source, Moment)>,
    heel_from: Option<(Source, Moment)>,
    estimate: Option<Estimate>,
    /// The estimate before the newest fix: a second sentence of the same epoch starts again here.
    before: Option<Estimate>,
    newest: Option<Fix>,
    motion: Option<Motion>,
    past: Past,
    gate: Gate,
    grain: Grain,
    frozen: Frozen,
    bow: Bow,
    heel: Option<(Moment, f64)>,
    last_heard: Option<Moment>,
    battery_pct: Option<f64>,
    battery_volts: Option<f64>,
}

impl Default for Track {
    fn default() -> Track {
        Track::new(Role::Dinghy)
    }
}

impl Track {
    /// A track before its first fix. The role bounds the speed that is believed: 20 kn for a
    /// dinghy, 40 kn for a safety boat (`detection.md` (f)).
    pub fn new(role: Role) -> Track {
        let speed_max_mps = match role {
            Role::Dinghy => mps_from_kn(20.0),
            Role::Safety => mps_from_kn(40.0),
            Role::Station => mps_from_kn(2.0),
        };
        Track {
            speed_max_mps,
            choice: Choice::default(),
            heading_from: None,
            heel_from: None,
            estimate: None,
            before: None,
            newest: None,
            motion: None,
            past: Past::default(),
            gate: Gate::default(),
            grain: Grain::default(),
            frozen: Frozen::default(),
            bow: Bow::default(),
            heel: None,
            last_heard: None,
            battery_pct: None,
            battery_volts: None,
        }
    }

    /// Takes one statement of one of the sources that speak for this boat; `now` is its arrival.
    ///
    /// One source at a time gives the position, one the heading, one the heel: the others are
    /// [`Update::Noted`]. The position is taken from another when the one in use falls silent or
    /// freezes, or when the other has been clearly better for 20 s.
    pub fn hear_from(&mut self, now: Moment, heard: &Heard, plane: &Plane) -> Update {
        let source = &heard.source;
        let follow = match &heard.what {
            What::Fix(fix) => {
                let spoilt = self.frozen.since().is_some();
                match self.choice.fix(now, source, fix, spoilt) {
                    Pick::Follow => true,
                    Pick::Spare => false,
                    Pick::Change => {
                        self.change_receiver(fix);
                        true
                    }
                }
            }
            What::Motion { .. } => self.choice.used() == Some(source),
            What::Heading(_) => keeps(&mut self.heading_from, now, source),
            What::Heel(_) => keeps(&mut self.heel_from, now, source),
            _ => true,
        };
        if !follow {
            self.last_heard = Some(self.last_heard.map_or(now, |before| before.max(now)));
            return Update::Noted;
        }
        self.hear(now, &heard.what, heard.taken, plane)
    }

    /// The source whose positions are followed; `None` before the first, or when statements came
    /// without their source.
    pub fn source(&self) -> Option<&Source> {
        self.choice.used()
    }

    /// Takes one statement of the only source of this boat. `now` is its arrival, `taken` when it
    /// was true.
    pub fn hear(&mut self, now: Moment, what: &What, taken: Moment, plane: &Plane) -> Update {
        self.last_heard = Some(self.last_heard.map_or(now, |before| before.max(now)));
        match what {
            What::Fix(fix) => self.fix(taken, fix, plane),
            What::Motion { speed_mps, course } => self.velocity(taken, *speed_mps, *course),
            What::Heading(heading) => {
                self.bow.sense(taken, *heading);
                Update::Accepted
            }
            What::Heel(deg) => {
                self.heel = Some((taken, *deg));
                if let Some(motion) = &mut self.motion {
                    motion.heel_deg = Some(*deg);
                }
                Update::Accepted
            }
            What::BatteryPct(pct) => {
                self.battery_pct = Some(*pct);
                Update::Noted
            }
            What::BatteryVolts(volts) => {
                self.battery_volts = Some(*volts);
                Update::Noted
            }
            What::MagneticHeading(_)
            | What::ApparentWind { .. }
            | What::TrueWindFromBow { .. }
            | What::GroundWind { .. }
            | What::WaterSpeed(_)
            | What::Depth(_)
            | What::Beacon { .. }
            | What::Aid { .. }
            | What::Name(_)
            | What::Help(_) => Update::Noted,
        }
    }

    /// The motion as of the newest fix; `None` before the first.
    pub fn motion(&self) -> Option<&Motion> {
        self.motion.as_ref()
    }

    /// The motion carried forward to `now`, its doubt grown; `None` before the first fix.
    ///
    /// Carried for ten seconds at most; after that she stays where that led while the doubt goes on
    /// growing. `heel_deg` is the newest heel, `None` once it is five seconds old.
    pub fn at(&self, now: Moment) -> Option<Motion> {
        let motion = self.motion?;
        let age_s = now.s_since(motion.at).max(0.0);
        let coast_s = age_s.min(COAST_S);
        let spread_mps2 = motion.velocity_sd_mps.powi(2) + WAY_Q * age_s;
        Some(Motion {
            at: motion.at.max(now),
            position: motion.position.after(motion.velocity, coast_s),
            position_sd_m: (motion.position_sd_m.powi(2) + spread_mps2 * age_s * age_s).sqrt(),
            velocity_sd_mps: spread_mps2.sqrt(),
            heel_deg: self.heel_at(now),
            ..motion
        })
    }

    /// Motions as they were after each fix, oldest first, at most [`crate::limits::HISTORY_MAX`].
    pub fn history(&self) -> impl DoubleEndedIterator<Item = &Motion> + ExactSizeIterator {
        self.past.motions()
    }

    /// Mean velocity over the last `window_s` seconds of fixes, from a straight line fitted to the
    /// positions; `None` when they do not span at least half of it.
    pub fn drift_over(&self, window_s: f64) -> Option<Velocity> {
        self.past.drift_over(window_s)
    }

    /// The newest position as measured, before the filter; `None` before the first.
    pub(crate) fn newest_fix(&self) -> Option<Local> {
        self.past.newest_fix()
    }

    /// Since when her tracker repeats one position as only a fault does; `None` while it does not.
    pub fn frozen_since(&self) -> Option<Moment> {
        self.frozen.since()
    }

    /// When anything at all was last heard of her, by arrival.
    pub fn last_heard(&self) -> Option<Moment> {
        self.last_heard
    }

    /// When the newest position was taken, on our clock.
    pub fn last_fix(&self) -> Option<Moment> {
        self.estimate.map(|estimate| estimate.taken)
    }

    /// Battery, 0..=100 per cent, as last said.
    pub fn battery_pct(&self) -> Option<f64> {
        self.battery_pct
    }

    /// Battery, volts, as last said.
    pub fn battery_volts(&self) -> Option<f64> {
        self.battery_volts
    }

    /// Whether her heading sensor follows her hull, as far as her courses tell.
    pub fn heading_honest(&self) -> bool {
        self.bow.honest()
    }

    /// Another receiver, another error: its first position may be off by both without her having
    /// moved, and what was learnt of the old one does not hold for it.
    fn change_receiver(&mut self, fix: &Fix) {
        let old_m = self.newest.as_ref().map_or(ACCURACY_M, accuracy_m);
        let var = (accuracy_m(fix).powi(2) + old_m.powi(2)) / RADIUS_SDS.powi(2);
        self.estimate = self.estimate.map(|estimate| estimate.unsettled(var));
        (self.grain, self.frozen, self.gate) = Default::default();
    }

    fn heel_at(&self, now: Moment) -> Option<f64> {
        self.heel.filter(|(then, _)| now.ms_since(*then) <= HEEL_MAX_AGE_MS).map(|(_, deg)| deg)
    }

    fn fix(&mut self, taken: Moment, fix: &Fix, plane: &Plane) -> Update {
        if self.estimate.is_some_and(|old| taken < old.taken) {
            return Update::TooOld;
        }
        let again = self.estimate.is_some_and(|old| old.taken == taken);
        if !again {
            self.frozen.note(taken, fix.position, fix.speed_mps);
            if self.frozen.since().is_some() {
                return Update::Frozen;
            }
            self.before = self.estimate;
        } else {
            self.frozen.told(taken, fix.speed_mps);
        }
        let (at, accuracy_m) = (plane.local(fix.position), accuracy_m(fix));
        let (estimate, update) = match self.before {
            Some(before) if taken.s_since(before.taken) < RESTART_S => {
                match self.updated(before, taken, at, fix) {
                    Some(estimate) => {
                        self.gate.passed();
                        (estimate, Update::Accepted)
                    }
                    None => match self.doubted(before, taken, at, fix) {
                        Some(decided) => decided,
                        None => return Update::Held,
                    },
                }
            }
            _ => (self.begun(taken, at, fix), Update::Accepted),
        };
        let at = if self.gate.holds() { estimate.position() } else { at };
        self.newest = Some(*fix);
        if !again && !self.gate.holds() {
            self.grain.note(taken, at, WHITE_SHARE * accuracy_m / RADIUS_SDS);
        }
        self.settle(estimate, at, accuracy_m);
        update
    }

    /// `before` carried to `taken` and told what `fix` says; `None` when she cannot be there.
    fn updated(&self, before: Estimate, taken: Moment, at: Local, fix: &Fix) -> Option<Estimate> {
        let (dt_s, accuracy_m) = (taken.s_since(before.taken).max(0.0), accuracy_m(fix));
        let noise = self.noise(accuracy_m, dt_s);
        let estimate = before.predicted(taken, noise);
        let spread_m = (2.0 * (estimate.position_var() + noise.white_var)).sqrt();
        let allowed_m = 4.0 * spread_m + 1.5 * accuracy_m + TURN_MPS * dt_s;
        // A receiver that says she is faster than her kind gets the benefit of the doubt.
        let speed_max_mps = self.speed_max_mps.max(1.5 * fix.speed_mps.unwrap_or(0.0));
        let reach_m = speed_max_mps * dt_s + 2.0 * accuracy_m;
        if at.distance_m(estimate.position()) > allowed_m || at.distance_m(before.position()) > reach_m {
            return None;
        }
        let reported = reported(fix.speed_mps, fix.course, accuracy_m);
        let told = reported.map_or(estimate, |(velocity, sd_mps)| estimate.with_velocity(velocity, sd_mps));
        let alone = !self.is_told(reported.is_some());
        Some(told.with_position(at, noise, dt_s, alone).limited(speed_max_mps))
    }

    /// What to make of a position that cannot be hers: nothing for now (`None`), only the velocity
    /// that came with it, or a new beginning there.
    fn doubted(
        &mut self,
        before: Estimate,
        taken: Moment,
        at: Local,
        fix: &Fix,
    ) -> Option<(Estimate, Update)> {
        let accuracy_m = accuracy_m(fix);
        let reported = reported(fix.speed_mps, fix.course, accuracy_m);
        let told = self.is_told(reported.is_some());
        let carried = before.predicted(taken, self.noise(accuracy_m, taken.s_since(before.taken)));
        if self.gate.doubt(taken, at, self.speed_max_mps, accuracy_m, told) == Doubt::Hold {
            let (velocity, sd_mps) = reported?;
            return Some((carried.with_velocity(velocity, DOUBTED_SDS * sd_mps), Update::Accepted));
        }
        self.gate.passed();
        let jump_m = at.distance_m(carried.position());
        if told && jump_m < REFLECTION_M {
            self.past.shift(carried.position(), at);
        } else {
            self.past.clear();
        }
        Some((self.begun(taken, at, fix), Update::Moved))
    }

    /// Whether the receiver tells her velocity: with this fix, or as a rule, so that the sentence
    /// with it is still to come.
    fn is_told(&self, with_this: bool) -> bool {
        with_this || self.newest.is_some_and(|newest| newest.speed_mps.is_some())
    }

    /// The first estimate: where the fix says, at the speed it says.
    fn begun(&self, taken: Moment, at: Local, fix: &Fix) -> Estimate {
        let accuracy_m = accuracy_m(fix);
        let estimate = Estimate::begun(taken, at, self.noise(accuracy_m, 0.0));
        match reported(fix.speed_mps, fix.course, accuracy_m) {
            Some((velocity, sd_mps)) => estimate.with_velocity(velocity, sd_mps),
            None => estimate,
        }
    }

    /// As the stated accuracy implies, or less where the positions themselves turn out to follow
    /// each other more closely.
    fn noise(&self, accuracy_m: f64, dt_s: f64) -> Noise {
        let axis_sd_m = accuracy_m / RADIUS_SDS;
        let wander_q = 2.0 * axis_sd_m * axis_sd_m / WANDER_S;
        match self.grain.sd_m() {
            Some(sd_m) => {
                let white_var = sd_m.min(axis_sd_m).powi(2);
                Noise { white_var, wander_q: wander_q.min(white_var / dt_s.max(0.2)) }
            }
            None => Noise { white_var: (WHITE_SHARE * axis_sd_m).powi(2), wander_q },
        }
    }

    /// Speed and course without a position, of the epoch of the newest fix.
    fn velocity(&mut self, taken: Moment, speed_mps: Option<f64>, course: Option<Bearing>) -> Update {
        let (Some(estimate), Some(fix)) = (self.estimate, self.newest) else {
            return Update::Noted;
        };
        if taken < estimate.taken {
            return Update::TooOld;
        }
        self.frozen.told(taken, speed_mps);
        if fix.speed_mps.is_some() && fix.course.is_some() {
            return Update::Noted; // the fix has said it already
        }
        let accuracy_m = accuracy_m(&fix);
        let Some((velocity, sd_mps)) = reported(speed_mps, course, accuracy_m) else {
            return Update::Noted;
        };
        self.newest = Some(Fix { speed_mps, course, ..fix });
        let at = self.past.newest_fix().unwrap_or(estimate.position());
        self.settle(estimate.with_velocity(velocity, sd_mps), at, accuracy_m);
        Update::Accepted
    }

    /// Makes the motion of a new estimate and remembers it.
    fn settle(&mut self, estimate: Estimate, at: Local, accuracy_m: f64) {
        let taken = estimate.taken;
        let dt_s = self.motion.map_or(0.0, |old| taken.s_since(old.at));
        let velocity = estimate.velocity();
        let axis_sd_m = accuracy_m / RADIUS_SDS;
        let velocity_sd_mps = estimate.velocity_sd_mps().hypot(axis_sd_m / WANDER_RATE_S);
        let pointing = self.bow.step(taken, dt_s, velocity, velocity_sd_mps);
        let speed_mps = velocity.speed_mps();
        let motion = Motion {
            at: taken,
            position: estimate.position(),
            position_sd_m: (estimate.position_var() + axis_sd_m.powi(2)).sqrt(),
            velocity,
            velocity_sd_mps,
            said: self.newest.and_then(|fix| said(&fix)),
            course: velocity.direction().filter(|_| speed_mps > 0.3 && speed_mps > 2.0 * velocity_sd_mps),
            heading: pointing.heading,
            heading_sensed: pointing.sensed,
            turn_rate_dps: pointing.turn_dps,
            heel_deg: self.heel_at(taken),
        };
        self.estimate = Some(estimate);
        self.motion = Some(motion);
        self.past.note(motion, at);
    }
}

/// The accuracy of a fix, metres: as stated, within reason.
fn accuracy_m(fix: &Fix) -> f64 {
    fix.accuracy_m.unwrap_or(ACCURACY_M).clamp(ACCURACY_MIN_M, ACCURACY_MAX_M)
}

/// Whether `source` is the one to be heard: it was last time, or that one has been silent.
fn keeps(from: &mut Option<(Source, Moment)>, now: Moment, source: &Source) -> bool {
    match from {
        Some((used, heard)) if used == source => *heard = now,
        Some((_, heard)) if now.ms_since(*heard) <= HEEL_MAX_AGE_MS => return false,
        _ => *from = Some((source.clone(), now)),
    }
    true
}

/// The velocity in a fix, if it has a whole one.
fn said(fix: &Fix) -> Option<Velocity> {
    match (fix.speed_mps?, fix.course) {
        (0.0, _) => Some(Velocity::default()),
        (speed, Some(course)) => Some(Velocity::towards(course, speed)),
        (_, None) => None,
    }
}
