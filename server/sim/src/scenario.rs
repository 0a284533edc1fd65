//! The kinds of afternoon: what is drawn for each, with the reasoning beside it.
//!
//! Rates are events per boat-hour under sail. Where no source is named a figure is this simulator's own
//! choice from common practice, wide on purpose.

use crate::{
    dice::Dice,
    habits::{self, Habits, MIDDLING},
    plane::Vec2,
};

/// A squall front crossing the site.
#[derive(Clone, Debug)]
pub(crate) struct Front {
    /// When it reaches the middle, s from the start.
    pub(crate) at_s: f64,
    /// How many times the wind grows.
    pub(crate) gain: f64,
    /// How far the wind veers (positive) or backs, degrees.
    pub(crate) turn_deg: f64,
    /// From first puff to full force, s.
    pub(crate) rise_s: f64,
    /// How long full force holds, s.
    pub(crate) lasts_s: f64,
    /// How fast the front itself moves, m/s.
    pub(crate) speed_mps: f64,
}

/// What the wind and the stream will do.
#[derive(Clone, Debug)]
pub(crate) struct WeatherPlan {
    /// Mean direction at the start, degrees true, where it comes from.
    pub(crate) from_deg: f64,
    /// Mean speed at 10 m, m/s.
    pub(crate) speed_mps: f64,
    /// Typical strength of a gust cell as a share of the mean.
    pub(crate) gustiness: f64,
    /// Standard deviation of the slow wander, degrees (reference: 5 to 10 over minutes).
    pub(crate) wander_deg: f64,
    /// Amplitude of the regular oscillation, degrees, and its period, s.
    pub(crate) swing_deg: f64,
    /// See `swing_deg`.
    pub(crate) swing_period_s: f64,
    /// `(t_s, share of the mean speed, turn in degrees)`, joined by straight lines, held at the ends.
    pub(crate) course: Vec<(f64, f64, f64)>,
    /// A squall, if one comes.
    pub(crate) front: Option<Front>,
    /// The stream at the middle at full strength, m/s towards.
    pub(crate) stream: Vec2,
    /// Where in the tide the session starts, radians of a 12.42 h cycle.
    pub(crate) stream_phase: f64,
    /// How much the stream grows 400 m further out, as a share.
    pub(crate) stream_shear: f64,
    /// The middle of the sailing area.
    pub(crate) middle: Vec2,
    /// Unit vector from the shore out.
    pub(crate) offshore: Vec2,
}

impl WeatherPlan {
    /// Share of the mean speed and turn at a moment.
    pub(crate) fn at(&self, t_s: f64) -> (f64, f64) {
        let Some(first) = self.course.first() else { return (1.0, 0.0) };
        let mut before = *first;
        for point in &self.course {
            if point.0 > t_s {
                let span = (point.0 - before.0).max(1e-9);
                let share = ((t_s - before.0) / span).clamp(0.0, 1.0);
                return (before.1 + share * (point.1 - before.1), before.2 + share * (point.2 - before.2));
            }
            before = *point;
        }
        (before.1, before.2)
    }
}

/// How often things happen to one boat under sail, per hour.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rates {
    /// Capsizes, in the mean wind for which crews of this session were sent out.
    pub(crate) capsize: f64,
    /// Chance that a tack ends in irons, for a middling crew.
    pub(crate) irons: f64,
    /// Heaving to on purpose.
    pub(crate) heave_to: f64,
    /// Lying with sails flapping: waiting for a mark, a start, another boat, an instruction.
    pub(crate) wait: f64,
    /// Alongside the safety boat for a talk.
    pub(crate) raft: f64,
    /// Towed by the safety boat.
    pub(crate) tow: f64,
    /// Picking up a dummy.
    pub(crate) drill: f64,
    /// Capsizing on purpose as an exercise, safety boat standing by.
    pub(crate) capsize_drill: f64,
    /// Sailing out of the area.
    pub(crate) stray_out: f64,
    /// Sailing into a no-go zone.
    pub(crate) stray_no_go: f64,
    /// Lying stopped close to the edge so that wind or stream carries her over it.
    pub(crate) drift_out: f64,
    /// A person falls out.
    pub(crate) overboard: f64,
    /// The feed goes silent with the boat well.
    pub(crate) silence: f64,
    /// The tracker repeats one fix while the boat sails on.
    pub(crate) freeze: f64,
}

/// The usual beginners' session.
const USUAL: Rates = Rates {
    capsize: 0.95,
    irons: 0.04,
    heave_to: 0.9,
    wait: 1.0,
    raft: 0.30,
    tow: 0.05,
    drill: 0.6,
    capsize_drill: 0.03,
    stray_out: 0.28,
    stray_no_go: 0.18,
    drift_out: 0.22,
    overboard: 0.06,
    silence: 0.18,
    freeze: 0.05,
};

/// How good the receivers and the radio are.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Radio {
    /// Seconds between fixes.
    pub(crate) interval_s: f64,
    /// Range of the correlated position error's standard deviation per axis, m. A phone is within 4.9 m
    /// under open sky (GPS.gov, in the reference): about 2 m a axis at 68 %, worse in a pouch.
    pub(crate) error_m: (f64, f64),
    /// Position jumps an hour (multipath, reacquisition).
    pub(crate) jumps_per_hour: f64,
    /// Share of fixes lost when the link is well.
    pub(crate) loss: f64,
    /// Share of a phone's fixes lost besides while its boat is capsized: near the water and behind bodies.
    pub(crate) wet_loss: f64,
    /// Dead spots an hour, each of 4 to 25 s.
    pub(crate) dead_spots_per_hour: f64,
    /// Share of boats with a heel sensor and heading.
    pub(crate) with_heel: f64,
    /// Share of heel sensors that a hand holds or that were knocked.
    pub(crate) bad_heel: f64,
    /// Share of boats whose phone dies when she capsizes.
    pub(crate) drowned: f64,
    /// Share of phones that say speed 0 below a threshold.
    pub(crate) zero_below: f64,
    /// Share of sources whose clock is wrong.
    pub(crate) wrong_clock: f64,
    /// Range of the time constant with which receivers smooth their speed, s.
    pub(crate) smoothing_s: (f64, f64),
    /// Range of the standard deviation of their speed per axis, m/s (about 0.1 kn and more in a pouch).
    pub(crate) doppler_mps: (f64, f64),
}

/// Phones at 1 Hz without heel.
const PHONES: Radio = Radio {
    interval_s: 1.0,
    error_m: (1.2, 3.5),
    jumps_per_hour: 0.3,
    loss: 0.01,
    wet_loss: 0.12,
    dead_spots_per_hour: 0.6,
    with_heel: 0.0,
    bad_heel: 0.0,
    drowned: 0.18,
    zero_below: 0.25,
    wrong_clock: 0.12,
    smoothing_s: (0.3, 2.2),
    doppler_mps: (0.05, 0.13),
};

/// What instruments there are.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Instruments {
    /// A mast ashore.
    pub(crate) mast: bool,
    /// Wind instruments on the safety boats.
    pub(crate) safety_vane: bool,
    /// The mast lies by this much from some moment on (degrees); 0 when sound.
    pub(crate) mast_fault_deg: f64,
}

/// One session, drawn.
#[derive(Clone, Debug)]
pub(crate) struct SessionPlan {
    pub(crate) name: &'static str,
    pub(crate) dinghies: usize,
    pub(crate) safety_boats: usize,
    pub(crate) lasts_s: f64,
    /// Where the wind comes from, clockwise from the direction shore-to-sea; 0: straight onto the shore.
    pub(crate) wind_off_shore_deg: f64,
    pub(crate) weather: WeatherPlan,
    pub(crate) rates: Rates,
    pub(crate) radio: Radio,
    pub(crate) instruments: Instruments,
    /// Median skill 0..1 of the crews.
    pub(crate) skill: f64,
    /// Wind at 10 m that these crews and sails (reefed or not) are sent out in, m/s.
    pub(crate) comfort_mps: f64,
    /// Chance that a boat capsizes when a squall front hits her.
    pub(crate) front_capsize: f64,
    /// All boats gather at a start line and sail off together at this moment, s.
    pub(crate) gun_s: Option<f64>,
    /// From this moment boats are towed home in strings, s.
    pub(crate) tow_home_s: Option<f64>,
    /// Faults on trackers: frozen, lying, biased; more than usual.
    pub(crate) faulty: bool,
    /// How boats and people of this water behave.
    pub(crate) habits: Habits,
}

/// Every scenario's name, in the order of the season table.
pub const SCENARIOS: [&str; 18] = [
    "light",
    "moderate",
    "fresh",
    "squall",
    "shifting-wind",
    "strong-stream",
    "stream-against-wind",
    "offshore-wind",
    "no-instrument",
    "sparse-feed",
    "poor-gnss",
    "with-heel",
    "hand-held-sensors",
    "crowded-start",
    "mass-capsize",
    "tow-home",
    "becalmed",
    "faulty-sensors",
];

impl SessionPlan {
    /// Draws a session; `None` for an unknown name.
    pub(crate) fn draw(name: &str, seed: u64) -> Option<SessionPlan> {
        let mut plan = SessionPlan::middling(name, seed)?;
        habits::settle(&mut plan, seed);
        Some(plan)
    }

    /// The same on middling water: nothing of its own in how boats and people behave.
    pub(crate) fn middling(name: &str, seed: u64) -> Option<SessionPlan> {
        let name = SCENARIOS.into_iter().find(|known| *known == name)?;
        let mut dice = Dice::new(seed, "plan", 0);
        let mut plan = usual(name, &mut dice);
        adapt(&mut plan, &mut dice);
        Some(plan)
    }
}

fn usual(name: &'static str, dice: &mut Dice) -> SessionPlan {
    let speed_mps = dice.between(4.2, 7.0); // force 3 to 4: what beginners are sent out in
    SessionPlan {
        name,
        dinghies: 12 + dice.pick(5),
        safety_boats: 2,
        lasts_s: 3600.0,
        wind_off_shore_deg: dice.between(-75.0, 75.0), // onshore or along it: a beach chosen for the day
        weather: WeatherPlan {
            from_deg: 0.0,
            speed_mps,
            gustiness: dice.between(0.15, 0.35),
            wander_deg: dice.between(3.0, 7.0),
            swing_deg: dice.between(2.0, 7.0),
            swing_period_s: dice.between(180.0, 600.0),
            course: Vec::new(),
            front: None,
            stream: Vec2::along(dice.between(0.0, 360.0), dice.between(0.0, 0.15)),
            stream_phase: dice.between(-1.2, 1.2),
            stream_shear: dice.between(0.0, 0.5),
            middle: Vec2::default(),
            offshore: Vec2::new(0.0, 1.0),
        },
        rates: USUAL,
        radio: PHONES,
        instruments: Instruments { mast: true, safety_vane: dice.chance(0.7), mast_fault_deg: 0.0 },
        skill: dice.between(0.35, 0.6),
        comfort_mps: speed_mps * dice.between(1.0, 1.2),
        front_capsize: 0.3,
        gun_s: None,
        tow_home_s: None,
        faulty: false,
        habits: MIDDLING,
    }
}

/// What makes each scenario itself.
fn adapt(plan: &mut SessionPlan, dice: &mut Dice) {
    let weather = &mut plan.weather;
    match plan.name {
        "light" => {
            weather.speed_mps = dice.between(2.2, 3.6);
            weather.wander_deg = dice.between(6.0, 11.0);
            plan.comfort_mps = weather.speed_mps * 1.4;
            plan.rates.capsize = 0.5;
        }
        "fresh" => {
            weather.speed_mps = dice.between(7.5, 9.8);
            weather.gustiness = dice.between(0.2, 0.4);
            plan.comfort_mps = weather.speed_mps;
            plan.rates.capsize = 1.4;
            plan.skill += 0.1;
        }
        "squall" => {
            weather.front = Some(front(dice, 1.9));
            plan.front_capsize = 0.3;
            plan.rates.capsize = 0.7;
        }
        "mass-capsize" => {
            weather.front = Some(front(dice, 2.3));
            plan.front_capsize = 0.75;
            plan.rates.capsize = 0.5;
        }
        "shifting-wind" => {
            let turn = dice.sign() * dice.between(35.0, 70.0);
            let from = dice.between(900.0, 1500.0);
            weather.course =
                vec![(from, 1.0, 0.0), (from + dice.between(240.0, 1500.0), dice.between(0.8, 1.2), turn)];
            weather.swing_deg = dice.between(7.0, 12.0);
        }
        "strong-stream" => {
            weather.stream = Vec2::along(dice.between(0.0, 360.0), dice.between(0.4, 0.75));
            weather.stream_phase = dice.between(-0.5, 0.5);
        }
        "stream-against-wind" => {
            // Towards the wind: the angle is set against `from_deg` 0 and turned with the site.
            weather.stream = Vec2::along(dice.between(-15.0, 15.0), dice.between(0.35, 0.65));
            weather.stream_phase = dice.between(-0.4, 0.4);
        }
        "offshore-wind" => {
            plan.wind_off_shore_deg = 180.0 + dice.between(-40.0, 40.0);
            weather.gustiness = dice.between(0.3, 0.45); // land upwind makes it puffy
            weather.wander_deg = dice.between(6.0, 10.0);
            plan.rates.drift_out = 0.4;
        }
        "no-instrument" => {
            plan.instruments.mast = false;
            plan.instruments.safety_vane = false;
        }
        "sparse-feed" => plan.radio.interval_s = 5.0,
        "poor-gnss" => {
            plan.radio.error_m = (3.5, 6.0);
            plan.radio.jumps_per_hour = 6.0;
            plan.radio.loss = 0.06;
            plan.radio.dead_spots_per_hour = 4.0;
        }
        "with-heel" => {
            plan.radio.with_heel = 1.0;
            plan.radio.bad_heel = 0.05;
        }
        "hand-held-sensors" => {
            plan.radio.with_heel = 1.0;
            plan.radio.bad_heel = 0.6;
        }
        "crowded-start" => {
            plan.gun_s = Some(dice.between(720.0, 960.0));
            plan.rates.wait = 1.8;
            plan.dinghies = 16 + dice.pick(5);
        }
        "tow-home" => {
            let from = dice.between(2100.0, 2500.0);
            weather.course = vec![(from - 500.0, 1.0, 0.0), (from, 0.3, 10.0)];
            plan.tow_home_s = Some(from);
        }
        "becalmed" => {
            let from = dice.between(800.0, 1400.0);
            let until = from + dice.between(900.0, 1500.0);
            weather.speed_mps = dice.between(3.0, 4.5);
            weather.course = vec![
                (from, 1.0, 0.0),
                (from + 240.0, 0.15, 20.0),
                (until, 0.15, -10.0),
                (until + 200.0, 1.0, 0.0),
            ];
            plan.comfort_mps = weather.speed_mps * 1.2;
            plan.rates.capsize = 0.6;
        }
        "faulty-sensors" => {
            plan.faulty = true;
            plan.radio.with_heel = 0.4;
            plan.radio.bad_heel = 0.5;
            plan.radio.wrong_clock = 0.4;
            plan.rates.freeze = 0.45;
            plan.rates.silence = 0.4;
            plan.instruments.mast_fault_deg = dice.sign() * dice.between(35.0, 90.0);
        }
        // "moderate" is the usual session.
        _ => {}
    }
}

/// A squall line: numbers from common experience of convective gust fronts (no single source).
fn front(dice: &mut Dice, gain: f64) -> Front {
    Front {
        at_s: dice.between(1300.0, 2400.0),
        gain: gain * dice.between(0.9, 1.1),
        turn_deg: dice.sign() * dice.between(15.0, 50.0),
        rise_s: dice.between(8.0, 35.0),
        lasts_s: dice.between(180.0, 420.0),
        speed_mps: dice.between(7.0, 13.0),
    }
}
