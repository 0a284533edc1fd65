//! The belief about what each boat is doing, from which capsize alerts come.
//!
//! A Bayesian filter over [`Condition`]s with durations: a bank of motion models ([`filter`]), each
//! foretelling the next velocity over the water as its condition would have it ([`model`]); heel
//! ([`heel`]), heading and silence weigh in beside. Belief becomes an alert in [`decide`].
//! `docs/belief.md` explains it with its likelihoods, and how to add a condition.

mod around;
mod belief;
mod decay;
mod decide;
mod density;
mod filter;
mod gaps;
mod heel;
mod late;
mod model;
mod pace;
mod receiver;
mod seconds;
mod signs;
mod stopping;
mod way_lost;
mod weigh;
mod weights;
mod words;

#[cfg(test)]
mod trials;

pub use around::{Fleet, SafetyBoat, Stream, Surroundings, WaterWind};
pub use belief::Belief;
pub(crate) use decide::CAUTION;
pub use model::Condition;
pub use seconds::{INPUTS, Second};
pub use signs::{NAMES as SIGN_NAMES, SIGNS, Sense, StopSeen};
pub(crate) use weigh::told_more;
pub use weigh::weighed;

use crate::{
    effect::Level,
    fleet::Class,
    moment::Moment,
    tracks::{Motion, Track},
    units::{Bearing, Local, Velocity},
};
use filter::{Bank, MODELS, Step};
use model::{Lie, RAFTED_M, SHAPES, Shape, TOWED_M, lie, onsets};

/// Fixes closer together than this are taken as one, s: a receiver at 5 Hz repeats its errors.
const STEP_MIN_S: f64 = 0.75;
/// Where the stream is not known, tidal water moves by this on each axis, m/s (reasoned: most
/// training waters are slack to half a knot).
const STREAM_UNKNOWN_SD_MPS: f64 = 0.1;
/// Further than this from where she was first heard she has sailed, metres: a receiver's error wanders
/// by some five (`detection.md` (c)).
const SAILED_M: f64 = 50.0;
/// Or when she has made at least this over the ground, m/s, ...
const SAILED_MPS: f64 = 0.6;
/// ... for this long without a pause, s: who beats to and fro off the slipway is soon near it again, and a
/// receiver that leaps at its berth has settled within seconds (reasoned).
const SAILED_S: f64 = 20.0;
/// A course tells the side she sails to once it is this fast, m/s.
const SIDE_SURE_MPS: f64 = 0.4;
/// Receivers' position errors, and with them distances, are correlated over this time at least, s
/// (`detection.md` (c): a minute and more; boats move meanwhile).
const COMPANY_CORRELATION_S: f64 = 10.0;
/// No distance speaks against being alongside by more than this, as ln likelihood.
const COMPANY_FLOOR: f64 = -6.0;
/// Heading evidence is correlated over this time, s.
const HEADING_CORRELATION_S: f64 = 8.0;

/// The alert that the belief asks for; [`Conditions::evidence`] says why.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WantedAlert {
    /// How urgent.
    pub level: Level,
    /// When the stop began.
    pub began: Moment,
    /// The probability that she is capsized, 0..=1.
    pub confidence: f64,
}

/// The belief about one boat, kept from fix to fix.
#[derive(Clone, Debug)]
pub struct Conditions {
    pace: pace::Pace,
    has_keel: bool,
    held_told: bool,
    bank: Bank,
    heel: heel::Heel,
    receiver: receiver::Receiver,
    last: Option<Motion>,
    /// Sum and count of velocities said since the last step.
    gathered: (Velocity, f64),
    wind_from: Option<Bearing>,
    /// Where she was first heard, and whether she has left it.
    first: Option<Local>,
    has_sailed: bool,
    /// For how long she has made way without a pause, s.
    way_s: f64,
    /// The probability of each condition, as last weighed: many rules ask between two fixes.
    shares: [f64; Condition::COUNT],
    /// That of a capsize, smoothed.
    smoothed: decide::Smoothed,
    /// Usual time between fixes, s.
    rhythm_s: f64,
    /// Seconds of hearing her, and silences among them: how talkative her feed is.
    heard_s: f64,
    silences: f64,
    silence_counted: bool,
    silent_s: Option<f64>,
    /// What this silence says for a capsize, as a ln likelihood ratio.
    silence_ln: f64,
    standing: Option<decide::Standing>,
    stop_gust: f64,
    stop_gybe_s: Option<f64>,
    stop_words: Option<String>,
    around: Surroundings,
    now: Moment,
    signs: signs::Signs,
    /// What was seen of her last, while she has lost her way.
    seen: Option<StopSeen>,
    /// What the seconds of her stop say in their order.
    remembered: seconds::Remembered,
}

impl Conditions {
    /// Before anything is heard of a boat of `class`.
    pub fn new(class: Class) -> Conditions {
        let bank = Bank::new();
        Conditions {
            has_keel: class.waterline_m > DINGHY_MAX_M,
            held_told: false,
            pace: pace::Pace::new(class),
            shares: Condition::ALL.map(|condition| bank.share(condition)),
            bank,
            heel: heel::Heel::new(),
            receiver: receiver::Receiver::new(),
            last: None,
            gathered: (Velocity::default(), 0.0),
            wind_from: None,
            first: None,
            has_sailed: false,
            way_s: 0.0,
            smoothed: decide::Smoothed::default(),
            rhythm_s: 1.0,
            heard_s: 0.0,
            silences: 0.0,
            silence_counted: false,
            silent_s: None,
            silence_ln: 0.0,
            standing: None,
            stop_gust: 1.0,
            stop_gybe_s: None,
            stop_words: None,
            around: Surroundings::default(),
            now: Moment(0),
            signs: signs::Signs::default(),
            seen: None,
            remembered: seconds::Remembered::default(),
        }
    }

    /// What is seen of her and when, while she has lost her way: what the probability of a capsize is
    /// weighed from; `None` while she makes way.
    pub fn signs(&self) -> Option<(Moment, &StopSeen)> {
        Some((self.last?.at, self.seen.as_ref()?))
    }

    /// Her newest second as the nets over seconds are told of it.
    pub fn second(&self) -> Option<&Second> {
        self.remembered.newest()
    }

    /// The belief now.
    pub fn belief(&self) -> Belief {
        Belief { at: self.now, shares: self.shares, silent_s: self.silent_s }
    }

    /// A fix was taken into `track`.
    pub fn on_fix(&mut self, now: Moment, track: &Track, around: &Surroundings) {
        let Some(motion) = track.motion() else { return };
        let drift = motion.said.is_some_and(|said| said == Velocity::default());
        let drift = drift.then(|| track.drift_over(receiver::DRIFT_WINDOW_S)).flatten();
        if let Some(place) = track.newest_fix() {
            self.receiver.placed(motion.at, place, motion.said.unwrap_or(motion.velocity));
        }
        self.hear(now, motion, drift, around);
        self.decide(now, track.history());
    }

    /// Time passed. `around` is wanted while she is silent.
    pub fn on_tick(&mut self, now: Moment, track: &Track, around: Option<&Surroundings>) {
        if let Some(around) = around {
            self.wait(now, around);
        }
        self.now = now;
        self.decide(now, track.history());
    }

    /// Whether nothing was heard of her for longer than her feed's rhythm explains.
    pub fn is_silent(&self, now: Moment) -> bool {
        let usual_s = SILENCE_RHYTHMS * self.rhythm_s + SILENCE_MIN_S;
        self.last.is_some_and(|last| now.s_since(last.at) >= usual_s)
    }

    /// The alert that this belief asks for; `None` when it asks for none.
    pub fn wanted(&self) -> Option<WantedAlert> {
        let standing = self.standing?;
        Some(WantedAlert { level: standing.level, began: standing.began, confidence: self.smoothed.value() })
    }

    /// Takes one motion in. Apart from [`Conditions::on_fix`] so that it can be tried on its own.
    /// `drift` is the velocity by positions, wanted where the receiver says that it does not move.
    pub(crate) fn hear(
        &mut self,
        now: Moment,
        motion: &Motion,
        drift: Option<Velocity>,
        around: &Surroundings,
    ) {
        self.now = now;
        self.around = *around;
        let Some(last) = self.last else {
            self.last = Some(*motion);
            return;
        };
        let dt_s = motion.at.s_since(last.at);
        if dt_s < 0.0 {
            return;
        }
        let said = motion.said.unwrap_or(motion.velocity);
        self.gathered = (self.gathered.0.plus(said), self.gathered.1 + 1.0);
        if dt_s < STEP_MIN_S {
            return;
        }
        self.silent_s = None;
        self.silence_counted = false;
        if dt_s < 30.0 {
            self.rhythm_s += (dt_s - self.rhythm_s) * 0.05;
            self.heard_s += dt_s;
        }
        self.step(dt_s, motion, drift);
        self.weigh_capsized();
        self.last = Some(*motion);
        self.gathered = (Velocity::default(), 0.0);
    }

    fn step(&mut self, dt_s: f64, motion: &Motion, drift: Option<Velocity>) {
        let around = self.around;
        let first = *self.first.get_or_insert(motion.position);
        let is_away = motion.position.distance_m(first) > SAILED_M.max(5.0 * motion.position_sd_m);
        let (sum, count) = self.gathered;
        let mean = Velocity { east_mps: sum.east_mps / count, north_mps: sum.north_mps / count };
        let (ground, sd) = self.receiver.believed(motion, mean, drift, dt_s);
        self.way_s = if ground.speed_mps() > SAILED_MPS { self.way_s + dt_s } else { 0.0 };
        self.has_sailed |= is_away || self.way_s > SAILED_S;
        let stream = around.stream.map_or(Velocity::default(), |stream| stream.velocity);
        let water = ground.minus(stream);
        self.follow_wind();
        let seen = self.in_wind(water);
        let speed = water.speed_mps();
        let wind_known = around.wind.is_some();
        let twa = (wind_known && speed > SIDE_SURE_MPS).then(|| seen.1.atan2(-seen.0).to_degrees().abs());
        let wind_mps = around.wind.and_then(|wind| wind.speed_mps);
        let expected_mps = self.pace.expected_mps(wind_mps, twa);
        let side = if wind_known { seen.1 / (seen.1.abs() + SIDE_SURE_MPS) } else { 0.0 };
        let lies = self.lies(side, stream);
        let begins = onsets(&around, twa, self.has_sailed);
        let mut other = self.heel.told(motion.heel_deg, dt_s, |condition| self.bank.share(condition));
        self.heading(&mut other, motion, dt_s);
        self.company(&mut other, dt_s);
        let before = self.bank.share(Condition::Capsized);
        self.bank.step(&Step {
            dt_s,
            seen,
            var: sd * sd,
            wind_known,
            expected_mps,
            lies: &lies,
            onsets: &begins,
            other: &other,
        });
        self.seen = self.signs.see(&signs::Look {
            dt_s,
            velocity: seen,
            expected_mps,
            heel_deg: motion.heel_deg,
            off_wind_deg: self.bow_off_wind(motion),
            capsized: self.bank.share(Condition::Capsized),
            through: self.receiver.through(),
            around: &around,
        });
        let told = [
            seen.0,
            seen.1,
            expected_mps,
            wind_mps.unwrap_or(f64::NAN),
            around.gust_ratio(),
            around.fleet.moving_share,
            f64::from(u8::from(wind_known)),
        ];
        let shares = seconds::MOTIONS.map(|condition| self.bank.share(condition));
        let second = Second::new(motion.at, told, shares, self.seen.as_ref());
        self.remembered.see(&weights::SECONDS, second);
        if before < 0.05 {
            self.stop_gust = around.gust_ratio();
            self.stop_gybe_s = around.since_gybe_s;
        }
        let sailing = self.bank.share(Condition::Sailing);
        self.pace.learn(dt_s, speed, wind_mps, twa, sailing * sailing);
    }

    /// The wind's frame turns with the wind's estimate; what is kept in it turns back.
    fn follow_wind(&mut self) {
        let from = self.around.wind.map_or(self.wind_from, |wind| Some(wind.from));
        if let (Some(old), Some(new)) = (self.wind_from, from) {
            self.bank.turn_frame(-old.turn_to(new).to_radians());
        }
        self.wind_from = from;
    }

    /// A velocity as its parts down the wind and across it (to the right looking downwind).
    fn in_wind(&self, velocity: Velocity) -> (f64, f64) {
        let down = self.wind_from.unwrap_or(Bearing::NORTH).reversed();
        (velocity.along(down), velocity.along(down.turned(90.0)))
    }

    /// Where each condition would have her go, with the doubts of wind and stream in it.
    fn lies(&self, side: f64, stream: Velocity) -> [Lie; MODELS] {
        let around = &self.around;
        let wind_mps = around.wind_mps();
        let stream_sd = around.stream.map_or(STREAM_UNKNOWN_SD_MPS, |stream| stream.sd_mps);
        let wind_sd_rad = around.wind.map_or(std::f64::consts::PI, |wind| wind.sd_deg.to_radians());
        let ground = self.in_wind(Velocity { east_mps: -stream.east_mps, north_mps: -stream.north_mps });
        let safety = around.safety.map(|safety| self.in_wind(safety.velocity.minus(stream)));
        let kept = (-wind_sd_rad * wind_sd_rad / 2.0).exp();
        let blurred_by_stream = |sd: f64| (sd * sd + stream_sd * stream_sd).sqrt();
        let of = |shape: &Shape| {
            let mut lie = lie(shape, wind_mps, side);
            let fixed = matches!(shape.condition, Condition::Ashore | Condition::Aground | Condition::Moored);
            match shape.condition {
                Condition::Rafted | Condition::Towed => {
                    (lie.down_mps, lie.across_mps) = safety.unwrap_or((0.0, 0.0));
                }
                _ if fixed => (lie.down_mps, lie.across_mps) = ground,
                _ => lie = blurred(lie, kept),
            }
            if !fixed || around.stream.is_some() {
                lie.down_sd = blurred_by_stream(lie.down_sd);
                lie.across_sd = blurred_by_stream(lie.across_sd);
                lie.across_max += 2.0 * stream_sd;
            }
            lie
        };
        let mut lies = [Lie::default(); MODELS];
        for (ix, shape) in SHAPES.iter().enumerate() {
            // Shapes of one condition differ in how they stop, and most lie alike.
            lies[ix] = match ix.checked_sub(1).map(|last| (&SHAPES[last], lies[last])) {
                Some((last, lie)) if last.lies_as(shape) => lie,
                Some(_) | None => of(shape),
            };
        }
        lies
    }

    /// The bow's angle off the wind, degrees, where a compass tells it.
    fn bow_off_wind(&self, motion: &Motion) -> Option<f64> {
        let (heading, wind) = motion.heading.filter(|_| motion.heading_sensed).zip(self.around.wind)?;
        Some(wind.from.turn_to(heading))
    }

    /// The bow's angle off the wind, as evidence for the conditions.
    fn heading(&self, ln: &mut [f64; Condition::COUNT], motion: &Motion, dt_s: f64) {
        let (Some(off), Some(wind)) = (self.bow_off_wind(motion).map(f64::abs), self.around.wind) else {
            return;
        };
        let weight = (dt_s / HEADING_CORRELATION_S).min(1.0);
        for (condition, mean, sd) in [
            (Condition::InIrons, 0.0, 28.0),
            (Condition::HoveTo, 55.0, 25.0),
            (Condition::Waiting, 45.0, 40.0),
            (Condition::PickingUp, 55.0, 35.0),
        ] {
            let var = f64::powi(sd, 2) + wind.sd_deg * wind.sd_deg;
            let normal = density::ln_normal(off, mean, var).exp() + density::ln_normal(-off, mean, var).exp();
            // A compass in a pocket points anywhere: three in ten (reasoned).
            let density = 0.7 * normal + 0.3 / 180.0;
            ln[condition.ix()] += weight * (density * 180.0).ln();
        }
    }

    /// Boats alongside stay alongside: the distance to the safety boat, against boats strewn about. Who stops beside one
    /// has come alongside as a rule, which is told once.
    fn company(&mut self, ln: &mut [f64; Condition::COUNT], dt_s: f64) {
        let Some(safety) = self.around.safety else { return };
        let off = safety.distance_m / RAFTED_M;
        let far = safety.distance_m / TOWED_M;
        let weight = (dt_s / COMPANY_CORRELATION_S).min(1.0);
        ln[Condition::Rafted.ix()] += weight * (1.0 - off * off).max(COMPANY_FLOOR);
        ln[Condition::Towed.ix()] += weight * (1.0 - far * far).max(COMPANY_FLOOR);
        if self.signs.is_held() && !self.held_told {
            ln[Condition::Rafted.ix()] -= signs::ALONGSIDE_LN;
        }
        self.held_told = self.signs.is_held();
    }

    /// Silence: a phone under water says nothing (`detection.md` (b): must not clear a suspicion).
    pub(crate) fn wait(&mut self, now: Moment, around: &Surroundings) {
        self.now = now;
        let Some(last) = self.last.filter(|_| self.is_silent(now)) else { return };
        self.around = *around;
        self.silent_s = Some(now.s_since(last.at));
        if self.silence_counted {
            return; // nothing that the belief rests on has changed
        }
        self.silence_counted = true;
        self.silences += 1.0;
        // Hazard of falling silent while upright, learned; and just after going over.
        let upright = (self.silences + SILENCE_PRIOR) / (self.heard_s + SILENCE_PRIOR / UPRIGHT_SILENT_PER_S);
        let age = self.bank.age_s(Condition::Capsized);
        let capsized = upright + CAPSIZED_SILENT_PER_S * (-age / CAPSIZED_SILENT_WITHIN_S).exp();
        // She may have gone over after the last fix, and her phone under at once.
        let rate = onsets(around, None, self.has_sailed).sailing_per_h[Condition::Capsized.ix()] / 3600.0;
        let at_once = rate * CAPSIZED_SILENT_PER_S * CAPSIZED_SILENT_WITHIN_S / capsized;
        self.bank.move_over(Condition::Sailing, Condition::Capsized, at_once);
        let mut ln = [0.0; Condition::COUNT];
        self.silence_ln = (capsized / upright).ln();
        ln[Condition::Capsized.ix()] = self.silence_ln;
        self.bank.weigh(&ln);
        self.weigh_capsized();
    }

    /// The probability that she is capsized is weighed from the signs while she has lost her way; while
    /// she makes it she is not; while nothing is heard it is as the models have it. The others share the
    /// rest as the models have it.
    fn weigh_capsized(&mut self) {
        let models = self.bank.share(Condition::Capsized);
        let capsized = match (&self.seen, self.silent_s) {
            (Some(seen), None) => {
                let berth_ln = match (self.has_sailed, seen.sense) {
                    (true, _) => 0.0,
                    (false, Sense::Felt) => BERTH_FELT_LN,
                    (false, Sense::Blind | Sense::Sparse) => BERTH_LN,
                };
                let keel_ln = match (self.has_keel, seen.sense) {
                    (true, Sense::Blind | Sense::Sparse) => KEEL_LN,
                    _ => 0.0,
                };
                let weighed = weigh::probability(seen, self.remembered.says());
                let stop = match self.signs.is_held() && seen.sense != Sense::Felt {
                    true => weighed.min(HELD_MOST),
                    false => weighed,
                };
                told_more(stop, self.signs.beside_ln() + berth_ln + keel_ln)
            }
            (Some(seen), Some(_)) => {
                told_more(weigh::probability(seen, self.remembered.says()), self.silence_ln)
            }
            (None, Some(_)) => models,
            (None, None) => models.min(MAKING_WAY_MOST),
        };
        let others = if models < 1.0 { (1.0 - capsized) / (1.0 - models) } else { 0.0 };
        self.shares = Condition::ALL.map(|condition| match condition {
            Condition::Capsized => capsized,
            other => self.bank.share(other) * others,
        });
    }

    fn decide<'a>(&mut self, now: Moment, history: impl DoubleEndedIterator<Item = &'a Motion>) {
        let silent = self.silent_s.unwrap_or(0.0);
        let stopped_s = self.bank.age_s(Condition::Capsized) + silent;
        let had = self.standing.is_some();
        let probability = self.smoothed.take(now, self.shares[Condition::Capsized.ix()]);
        self.standing = decide::step(self.standing, now, probability, stopped_s);
        if let Some(standing) = self.standing
            && (!had || self.stop_words.is_none())
        {
            self.stop_words = words::stop(history, standing.began);
        }
        if self.standing.is_none() {
            self.stop_words = None;
        }
    }

    /// What the belief rests on in words and numbers, most telling first.
    pub fn evidence(&self) -> Vec<String> {
        let mut evidence = Vec::new();
        let heel_deg = self.last.and_then(|last| last.heel_deg).map(f64::abs);
        let is_felt = self.seen.is_some_and(|seen| seen.sense == Sense::Felt);
        if let Some(heel_deg) = heel_deg.filter(|heel_deg| is_felt && *heel_deg > signs::HEEL_LOOK_DEG) {
            let lasts = words::lasts(self.signs.over_s());
            evidence.push(format!("heel {heel_deg:.0} deg{lasts}"));
        }
        evidence.extend(self.stop_words.clone());
        let (down, across) = self.bank.lie(Condition::Capsized);
        let age_s = self.bank.age_s(Condition::Capsized);
        let downwind = self.wind_from.unwrap_or(Bearing::NORTH).reversed();
        let drift = Velocity::towards(downwind, down).plus(Velocity::towards(downwind.turned(90.0), across));
        if age_s >= 8.0
            && let Some(toward) = drift.direction()
        {
            let wind = self.around.wind.map(|wind| wind.from);
            evidence.extend(words::drift(toward, drift.speed_mps(), wind, age_s));
        }
        if let Some(silent_s) = self.silent_s {
            evidence.push(format!("no fix for {silent_s:.0} s since"));
        }
        evidence.extend(words::context(&self.around, self.stop_gybe_s, self.stop_gust));
        let belief = self.belief();
        if belief.capsized() < 0.6 {
            evidence.push(belief.words());
        }
        evidence
    }

    /// Seconds of sailing seen: how well her pace is known.
    pub fn pace_known_s(&self) -> f64 {
        self.pace.known_s()
    }
}

/// A boat that never left where she was first heard lies at her berth or on the beach, and her receiver wanders:
/// what that says for a capsize, as a ln likelihood ratio (reasoned).
const BERTH_LN: f64 = -4.0;
/// The same where heel is felt: boats are laid over ashore too, but many go over as they put off (reasoned).
const BERTH_FELT_LN: f64 = -1.5;
/// No unballasted training dinghy is longer than this on the waterline, metres (common practice, no source) ...
const DINGHY_MAX_M: f64 = 6.5;
/// ... and a keelboat rights herself: what that says for a capsize where no heel tells otherwise, as a ln likelihood
/// ratio (reasoned: one in twenty as likely, for she may still sink or be knocked flat).
const KEEL_LN: f64 = -3.0;
/// Beside a safety boat that she stopped at, motion alone is believed no more than this, before all else is told: worth a
/// caution to whoever is not there, and those aboard see her.
const HELD_MOST: f64 = 0.9;
/// A boat that makes way is not capsized: no more than this of the models' share is believed.
const MAKING_WAY_MOST: f64 = 0.02;
/// Silence is more than so many of the feed's own intervals and ...
const SILENCE_RHYTHMS: f64 = 3.0;
/// ... so many seconds.
const SILENCE_MIN_S: f64 = 2.0;
/// An upright boat's feed falls silent about once an hour until hers is known better.
const UPRIGHT_SILENT_PER_S: f64 = 1.0 / 3600.0;
/// Weight of that, in silences.
const SILENCE_PRIOR: f64 = 1.0;
/// In the first seconds after going over a phone goes under with this hazard: about a quarter of
/// them within half a minute (reasoned: pouches at waist height).
const CAPSIZED_SILENT_PER_S: f64 = 0.015;
/// See [`CAPSIZED_SILENT_PER_S`].
const CAPSIZED_SILENT_WITHIN_S: f64 = 20.0;

/// A prior spread over the wind's doubt: what was one direction becomes a sector. For a direction that
/// errs by a normal angle the mean shrinks by `kept`, exp(-sd^2/2).
fn blurred(lie: Lie, kept: f64) -> Lie {
    let lost = 1.0 - kept * kept;
    let (down, across) = (lie.down_mps, lie.across_mps);
    let square = (down * down + across * across) * lost / 2.0;
    let (down_var, across_var) = (lie.down_sd.powi(2), lie.across_sd.powi(2));
    let even = (down_var + across_var) / 2.0;
    Lie {
        across_max: lie.across_max,
        down_mps: down * kept,
        down_sd: (kept * down_var + (1.0 - kept) * even + square).sqrt(),
        across_mps: across * kept,
        across_sd: (kept * across_var + (1.0 - kept) * even + square).sqrt(),
    }
}
