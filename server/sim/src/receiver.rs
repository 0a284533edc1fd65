//! What each boat's receiver makes of the truth, and what the radio makes of that.

use crate::{
    dice::{Dice, Wander},
    plane::{Vec2, wrap_360},
    scenario::Radio,
    truth::HeelSensor,
};

/// What is carried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Kit {
    /// A phone in a pouch.
    Phone,
    /// A safety boat's own instruments; with a vane or without.
    Powered { vane: bool },
    /// The mast ashore.
    Mast,
    /// An AIS transponder.
    Ais { mmsi: u32 },
}

/// A boat's true state, for the receiver aboard.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Actual {
    pub(crate) at: Vec2,
    pub(crate) velocity: Vec2,
    pub(crate) heading_deg: f64,
    pub(crate) heel_deg: f64,
    pub(crate) capsized: bool,
}

/// One fix as the receiver believes it, on the plane.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Belief {
    pub(crate) at: Vec2,
    pub(crate) speed_mps: f64,
    pub(crate) course_deg: Option<f64>,
    pub(crate) heading_deg: Option<f64>,
    pub(crate) heel_deg: Option<f64>,
    pub(crate) accuracy_m: f64,
    /// By its own clock, which may be wrong.
    pub(crate) taken_ms: i64,
}

/// What became of a fix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Fate {
    /// Arrives after so many milliseconds.
    Arrives(i64),
    /// Kept aboard until the link is back.
    Held,
    /// Gone.
    Lost,
}

#[derive(Clone, Debug)]
pub(crate) struct Receiver {
    pub(crate) kit: Kit,
    pub(crate) source: String,
    pub(crate) interval_s: f64,
    next_s: f64,
    error: [Wander; 2],
    error_sd_m: f64,
    doppler: [Wander; 2],
    smoothing_s: f64,
    smoothed: Vec2,
    zero_below_mps: f64,
    last_course_deg: f64,
    jump: (Vec2, f64),
    pub(crate) heel: HeelSensor,
    heel_bias_deg: f64,
    heel_noise: Wander,
    heading_noise: Wander,
    heading_bias_deg: f64,
    has_heading: bool,
    says_gga: bool,
    clock_ms: i64,
    radio: Radio,
    delay_ms: f64,
    dead_until_s: f64,
    buffers: bool,
    /// Off, drowned or flat until then.
    pub(crate) silent_until_s: f64,
    /// Under water from .. until, s.
    under: (f64, f64),
    frozen: Option<(Belief, f64)>,
    pub(crate) drowns: bool,
    pub(crate) vane_bias_deg: f64,
    pub(crate) dice: Dice,
}

/// Milliseconds in 1024 weeks: what a receiver with the roll-over fault is off by.
const ROLL_OVER_MS: i64 = 1024 * 7 * 86_400_000;

impl Receiver {
    pub(crate) fn new(kit: Kit, source: String, radio: Radio, faulty: bool, mut dice: Dice) -> Receiver {
        let powered = matches!(kit, Kit::Powered { .. } | Kit::Mast);
        let sd =
            if powered { dice.between(0.8, 1.8) } else { dice.between(radio.error_m.0, radio.error_m.1) };
        // Correlation 1 to 10 min (the reference's reading of Schumayer 2020 and Wilson).
        let tau = dice.between(60.0, 600.0);
        let doppler_sd = if powered { 0.04 } else { dice.between(radio.doppler_mps.0, radio.doppler_mps.1) };
        let has_heel = !powered && dice.chance(radio.with_heel);
        let heel = if !has_heel {
            HeelSensor::None
        } else if dice.chance(radio.bad_heel) {
            match dice.pick(10) {
                0..=5 => HeelSensor::HandHeld,
                6..=7 => HeelSensor::Knocked,
                _ => HeelSensor::Biased,
            }
        } else {
            HeelSensor::Sound
        };
        let wrong_clock = !powered && dice.chance(radio.wrong_clock);
        let clock_ms = if !wrong_clock {
            (dice.normal() * 150.0) as i64
        } else if dice.chance(0.2) {
            -ROLL_OVER_MS
        } else {
            (dice.sign() * dice.log_normal(20_000.0, 1.2)) as i64
        };
        Receiver {
            interval_s: match kit {
                Kit::Phone => radio.interval_s,
                Kit::Powered { .. } => 1.0,
                Kit::Mast => 2.0,
                Kit::Ais { .. } => 10.0,
            },
            next_s: dice.unit(),
            error: [Wander::new(sd, tau, &mut dice), Wander::new(sd, tau, &mut dice)],
            error_sd_m: sd,
            doppler: [Wander::new(doppler_sd, 4.0, &mut dice), Wander::new(doppler_sd, 4.0, &mut dice)],
            smoothing_s: if powered { 0.3 } else { dice.between(radio.smoothing_s.0, radio.smoothing_s.1) },
            smoothed: Vec2::default(),
            zero_below_mps: if !powered && dice.chance(radio.zero_below) {
                dice.between(0.2, 0.55)
            } else {
                0.0
            },
            last_course_deg: 0.0,
            jump: (Vec2::default(), 0.0),
            heel_bias_deg: match heel {
                HeelSensor::Biased => dice.sign() * dice.between(8.0, 30.0),
                HeelSensor::Sound => 3.0 * dice.normal(),
                _ => 0.0,
            },
            heel,
            heel_noise: Wander::new(
                if heel == HeelSensor::HandHeld { 38.0 } else { 2.0 },
                if heel == HeelSensor::HandHeld { 6.0 } else { 1.0 },
                &mut dice,
            ),
            // A phone's compass is off by ten degrees or so beside a metal boom; in a hand it points anywhere.
            heading_noise: Wander::new(
                match (powered, heel) {
                    (true, _) => 2.0,
                    (false, HeelSensor::HandHeld) => 70.0,
                    (false, _) => 8.0,
                },
                30.0,
                &mut dice,
            ),
            heading_bias_deg: dice.normal() * if powered { 2.0 } else { 10.0 },
            has_heading: powered || has_heel,
            says_gga: powered || dice.chance(0.6),
            clock_ms,
            delay_ms: dice.between(60.0, 600.0),
            dead_until_s: 0.0,
            buffers: !powered && dice.chance(0.4),
            silent_until_s: 0.0,
            under: (f64::INFINITY, f64::INFINITY),
            frozen: None,
            drowns: kit == Kit::Phone && dice.chance(radio.drowned),
            // Masthead vane 7 degrees uncalibrated (EP 2354798 in the reference).
            vane_bias_deg: dice.normal() * if faulty { 12.0 } else { 3.5 },
            source,
            kit,
            radio,
            dice,
        }
    }

    /// Whether a fix is due now; if so the next is set.
    pub(crate) fn due(&mut self, t_s: f64) -> bool {
        if t_s < self.next_s {
            return false;
        }
        self.next_s += self.interval_s;
        true
    }

    /// From now on one fix is repeated until `until_s`.
    pub(crate) fn freeze(&mut self, actual: Actual, start_ms: i64, t_s: f64, until_s: f64) {
        let belief = self.believe(actual, start_ms, t_s);
        self.frozen = Some((belief, until_s));
    }

    /// The pouch goes under water and the radio with it.
    pub(crate) fn goes_under(&mut self, from_s: f64, until_s: f64) {
        self.under = (from_s, until_s);
    }

    pub(crate) fn is_frozen(&self) -> bool {
        self.frozen.is_some()
    }

    /// The fix taken now.
    pub(crate) fn believe(&mut self, actual: Actual, start_ms: i64, t_s: f64) -> Belief {
        let taken_ms = start_ms + (t_s * 1000.0) as i64 + self.clock_ms;
        if let Some((belief, until_s)) = self.frozen {
            if t_s < until_s {
                return Belief { taken_ms, ..belief };
            }
            self.frozen = None;
        }
        let dt = self.interval_s;
        let wet = if actual.capsized { 1.8 } else { 1.0 }; // a wet pouch under the hull sees half the sky
        let east = self.error[0].step(dt, &mut self.dice) * wet + 0.3 * self.dice.normal();
        let north = self.error[1].step(dt, &mut self.dice) * wet + 0.3 * self.dice.normal();
        if t_s > self.jump.1 && self.dice.happens(self.radio.jumps_per_hour, dt) && self.kit == Kit::Phone {
            let off = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(12.0, 60.0));
            self.jump = (off, t_s + self.dice.between(2.0, 40.0));
        }
        let jump = if t_s < self.jump.1 { self.jump.0 } else { Vec2::default() };
        let noisy = Vec2::new(
            actual.velocity.east + self.doppler[0].step(dt, &mut self.dice) + 0.05 * self.dice.normal(),
            actual.velocity.north + self.doppler[1].step(dt, &mut self.dice) + 0.05 * self.dice.normal(),
        );
        let share = 1.0 - (-dt / self.smoothing_s).exp();
        self.smoothed = self.smoothed + (noisy - self.smoothed) * share;
        let speed = self.smoothed.length();
        let says_zero = speed < self.zero_below_mps;
        if !says_zero {
            self.last_course_deg = self.smoothed.bearing_deg();
        }
        Belief {
            at: actual.at + Vec2::new(east, north) + jump,
            speed_mps: if says_zero { 0.0 } else { speed },
            course_deg: if says_zero { None } else { Some(self.last_course_deg) },
            heading_deg: self.has_heading.then(|| {
                wrap_360(
                    actual.heading_deg + self.heading_bias_deg + self.heading_noise.step(dt, &mut self.dice),
                )
            }),
            heel_deg: self.sense_heel(actual, t_s),
            accuracy_m: (self.error_sd_m * wet * 1.5 * self.dice.between(0.8, 1.3)).max(1.5),
            taken_ms,
        }
    }

    fn sense_heel(&mut self, actual: Actual, t_s: f64) -> Option<f64> {
        let noise = self.heel_noise.step(self.interval_s, &mut self.dice);
        let sensed = match self.heel {
            HeelSensor::None => return None,
            HeelSensor::HandHeld => {
                noise * 1.2 + if self.dice.chance(0.02) { 80.0 * self.dice.sign() } else { 0.0 }
            }
            // Lies on the floor boards on its edge from a quarter of an hour on.
            HeelSensor::Knocked if t_s > 900.0 => 88.0 + actual.heel_deg * 0.3 + noise,
            HeelSensor::Sound | HeelSensor::Biased | HeelSensor::Knocked => {
                actual.heel_deg + self.heel_bias_deg + noise
            }
        };
        let folded = crate::plane::fold_180(sensed);
        Some(folded)
    }

    /// What the radio does with a fix taken now.
    pub(crate) fn send(&mut self, capsized: bool, t_s: f64) -> Fate {
        if t_s < self.silent_until_s || (self.under.0 <= t_s && t_s < self.under.1) {
            return Fate::Lost;
        }
        if t_s >= self.dead_until_s
            && self.kit == Kit::Phone
            && self.dice.happens(self.radio.dead_spots_per_hour, self.interval_s)
        {
            self.dead_until_s = t_s + self.dice.between(4.0, 25.0);
        }
        if t_s < self.dead_until_s {
            return if self.buffers { Fate::Held } else { Fate::Lost };
        }
        let loss = if capsized && self.kit == Kit::Phone {
            self.radio.loss + self.radio.wet_loss
        } else {
            self.radio.loss
        };
        if self.dice.chance(loss) {
            return Fate::Lost;
        }
        Fate::Arrives((self.delay_ms + self.dice.log_normal(60.0, 1.0).min(4000.0)) as i64)
    }

    pub(crate) fn doubles(&mut self) -> bool {
        self.dice.chance(0.003)
    }

    pub(crate) fn says_gga(&self) -> bool {
        self.says_gga
    }
}
