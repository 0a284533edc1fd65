//! The filter against a truth that is known: an invented boat, heard through an invented receiver.

use dunlin_engine::{
    fixes::{Fix, Heard, Source, What},
    fleet::Role,
    moment::Moment,
    tracks::{Plane, Track, Update},
    units::{Bearing, Local, Position, Velocity},
};

/// Normal deviates from a fixed seed (a linear congruential generator and the sum of twelve).
struct Noise(u64);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// A receiver: `wander_m` comes and goes over two minutes, `white_m` is fresh with each fix.
#[derive(Clone, Copy, Debug)]
struct Receiver {
    every_ms: i64,
    wander_m: f64,
    white_m: f64,
    /// Noise of the reported velocity along each axis; `None`: reports none.
    doppler_mps: Option<f64>,
    /// Reported speeds below this read as exactly 0.
    threshold_mps: f64,
}

const PHONE: Receiver =
    Receiver { every_ms: 1000, wander_m: 2.5, white_m: 0.5, doppler_mps: Some(0.15), threshold_mps: 0.0 };

fn plane() -> Plane {
    Plane::at(Position::new(50.8, -1.3).expect("a place at sea"))
}

/// Runs `truth` (velocity at a time in seconds) for `span_s` and calls `see` after each fix with
/// the time, the true position and velocity, and the track.
fn sail(
    receiver: Receiver,
    seed: u64,
    span_s: f64,
    truth: impl Fn(f64) -> Velocity,
    mut see: impl FnMut(f64, Local, Velocity, &Track),
) {
    let (mut noise, plane) = (Noise(seed), plane());
    let mut track = Track::new(Role::Dinghy);
    let mut at = Local::default();
    let mut wander = [receiver.wander_m * noise.normal(), receiver.wander_m * noise.normal()];
    let dt_s = receiver.every_ms as f64 / 1000.0;
    let keep = (-dt_s / 120.0).exp();
    let mut ms = 0;
    while (ms as f64) / 1000.0 < span_s {
        let t = ms as f64 / 1000.0;
        let velocity = truth(t);
        for step in 0..100 {
            at = at.after(truth(t - dt_s + dt_s * (f64::from(step) + 0.5) / 100.0), dt_s / 100.0);
        }
        for axis in &mut wander {
            *axis = *axis * keep + receiver.wander_m * (1.0 - keep * keep).sqrt() * noise.normal();
        }
        let heard = Local {
            east_m: at.east_m + wander[0] + receiver.white_m * noise.normal(),
            north_m: at.north_m + wander[1] + receiver.white_m * noise.normal(),
        };
        let reported = receiver.doppler_mps.map(|sd| Velocity {
            east_mps: velocity.east_mps + sd * noise.normal(),
            north_mps: velocity.north_mps + sd * noise.normal(),
        });
        let reported =
            reported.map(|v| if v.speed_mps() < receiver.threshold_mps { Velocity::default() } else { v });
        let fix = Fix {
            position: plane.position(heard).expect("near the origin"),
            accuracy_m: Some(1.5 * receiver.wander_m.hypot(receiver.white_m)),
            speed_mps: reported.map(Velocity::speed_mps),
            course: reported.and_then(Velocity::direction),
        };
        let now = Moment(1_780_000_000_000 + ms);
        track.hear(now, &What::Fix(fix), now, &plane);
        see(t, at, velocity, &track);
        ms += receiver.every_ms;
    }
}

/// 2.2 m/s towards the north-east, stopping in about 2 s at 60 s, then drifting.
fn capsize(t: f64) -> Velocity {
    let way = if t < 60.0 { 1.0 } else { (-(t - 60.0) / 0.8).exp() };
    Velocity { east_mps: 1.55 * way + 0.1, north_mps: 1.55 * way - 0.1 }
}

/// A tack at 60 s: 2 m/s on 045, through the wind in 5 s, 2 m/s on 315.
fn tack(t: f64) -> Velocity {
    let turn = ((t - 60.0) / 5.0).clamp(0.0, 1.0);
    let course = 45.0 - 90.0 * turn;
    let speed = 2.0 - 1.2 * (1.0 - (2.0 * turn - 1.0).abs());
    let (sin, cos) = f64::to_radians(course).sin_cos();
    Velocity { east_mps: speed * sin, north_mps: speed * cos }
}

fn quantile(values: &mut [f64], q: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values[((values.len() as f64 - 1.0) * q).round() as usize]
}

/// What a receiver's noise makes of the filter, over forty boats each.
#[derive(Debug)]
struct Figures {
    /// Root mean square error of the velocity under way, at rest and in a tack, m/s.
    way_mps: f64,
    rest_mps: f64,
    tack_mps: f64,
    /// From the moment the true speed has halved to the fix at which the filter's has, s: median
    /// and worst.
    stop_s: (f64, f64),
    /// Root mean square of (error / stated standard deviation) of velocity and position: honest
    /// is about 1, careful is less.
    velocity_sds: f64,
    position_sds: f64,
    /// Root mean square error of the drift over 60 s, m/s.
    drift_mps: f64,
}

fn figures(receiver: Receiver) -> Figures {
    let rms = |values: &[f64]| (values.iter().map(|x| x * x).sum::<f64>() / values.len() as f64).sqrt();
    let (mut way, mut rest, mut tacking) = (vec![], vec![], vec![]);
    let (mut stops, mut velocity, mut position, mut drift) = (vec![], vec![], vec![], vec![]);
    for seed in 1..=40 {
        let mut stopped = None;
        sail(receiver, seed, 150.0, capsize, |t, at, true_velocity, track| {
            let Some(motion) = track.motion() else { return };
            let error = motion.velocity.minus(true_velocity);
            if (20.0..59.0).contains(&t) {
                way.push(error.speed_mps());
            }
            if t > 70.0 {
                rest.push(error.speed_mps());
            }
            if t > 20.0 {
                velocity.push(error.east_mps / motion.velocity_sd_mps);
                position.push((motion.position.east_m - at.east_m) / motion.position_sd_m);
            }
            if t > 130.0 {
                drift.extend(track.drift_over(60.0).map(|d| d.minus(true_velocity).speed_mps()));
            }
            if t >= 60.0 && stopped.is_none() && motion.speed_mps() < 1.1 {
                stopped = Some(t);
            }
        });
        // The true speed is 1.1 m/s at 60.55 s.
        stops.push(stopped.expect("the stop is seen") - 60.55);
        sail(receiver, seed, 75.0, tack, |t, _, true_velocity, track| {
            if let Some(motion) = track.motion()
                && (60.0..70.0).contains(&t)
            {
                tacking.push(motion.velocity.minus(true_velocity).speed_mps());
            }
        });
    }
    Figures {
        way_mps: rms(&way),
        rest_mps: rms(&rest),
        tack_mps: rms(&tacking),
        stop_s: (quantile(&mut stops, 0.5), quantile(&mut stops, 1.0)),
        velocity_sds: rms(&velocity),
        position_sds: rms(&position),
        drift_mps: rms(&drift),
    }
}

#[test]
fn stops_and_turns_are_followed_and_noise_is_not() {
    let speechless = Receiver { doppler_mps: None, ..PHONE };
    let poor = Receiver { wander_m: 8.0, white_m: 2.0, doppler_mps: Some(0.3), ..PHONE };
    // Limits: velocity error under way, at rest, in a tack; delay of a stop, median and worst.
    for (name, receiver, way, rest, tack, stop, stop_worst) in [
        ("phone", PHONE, 0.20, 0.15, 0.40, 1.0, 2.0),
        ("phone at 5 Hz", Receiver { every_ms: 200, ..PHONE }, 0.15, 0.12, 0.30, 0.8, 1.5),
        ("phone every 5 s", Receiver { every_ms: 5000, ..PHONE }, 0.25, 0.20, 0.30, 5.0, 5.0),
        (
            "phone that zeroes low speeds",
            Receiver { threshold_mps: 0.5, ..PHONE },
            0.20,
            0.18,
            0.40,
            1.0,
            2.0,
        ),
        ("no speed", speechless, 0.40, 0.30, 1.0, 3.0, 6.0),
        ("no speed at 5 Hz", Receiver { every_ms: 200, ..speechless }, 0.50, 0.40, 1.0, 2.5, 4.0),
        ("no speed every 5 s", Receiver { every_ms: 5000, ..speechless }, 0.35, 0.30, 1.4, 5.0, 10.0),
        ("few satellites", poor, 0.30, 0.25, 0.70, 2.5, 4.0),
    ] {
        let figures = figures(receiver);
        eprintln!("{name}: {figures:.2?}");
        assert!(figures.way_mps < way && figures.rest_mps < rest && figures.tack_mps < tack, "{name}");
        assert!(figures.stop_s.0 <= stop && figures.stop_s.1 <= stop_worst, "{name}");
        assert!((0.2..1.1).contains(&figures.velocity_sds), "{name}: the stated doubt is not honest");
        assert!((0.5..1.2).contains(&figures.position_sds), "{name}: the stated doubt is not honest");
        // The wander alone makes 0.05 m/s of a minute for a phone, and 0.18 with few satellites.
        assert!(figures.drift_mps < 0.08 * receiver.wander_m / 2.5, "{name}: drift");
    }
}

/// A track with its plane and a clock, fed by hand.
struct Hand {
    track: Track,
    now: Moment,
}

impl Hand {
    fn new() -> Hand {
        Hand { track: Track::new(Role::Dinghy), now: Moment(1_780_000_000_000) }
    }

    /// A second on, a fix at (east, north) with a speed towards north.
    fn fix(&mut self, east_m: f64, north_m: f64, speed_mps: Option<f64>) -> Update {
        self.now = self.now.plus_ms(1000);
        let place = plane().position(Local { east_m, north_m }).expect("near the origin");
        let fix = Fix {
            position: place,
            accuracy_m: Some(4.0),
            speed_mps,
            course: speed_mps.map(|_| Bearing::NORTH),
        };
        self.track.hear(self.now, &What::Fix(fix), self.now, &plane())
    }
}

#[test]
fn one_wild_position_is_held_and_three_are_believed() {
    let mut hand = Hand::new();
    for s in 0..20 {
        assert_eq!(hand.fix(0.0, 2.0 * f64::from(s), None), Update::Accepted);
    }
    assert_eq!(hand.fix(80.0, 40.0, None), Update::Held, "a reflection");
    assert_eq!(hand.track.motion().expect("a motion").position.east_m.round(), 0.0);
    assert_eq!(hand.fix(0.0, 42.0, None), Update::Accepted, "and back");
    let moved: Vec<Update> = (0..4).map(|s| hand.fix(300.0, 2.0 * f64::from(s), None)).collect();
    assert_eq!(moved, [Update::Held, Update::Held, Update::Moved, Update::Accepted]);
    assert_eq!(hand.track.history().len(), 2, "what was before is another place");
}

#[test]
fn a_told_velocity_carries_her_through_a_reflection() {
    let mut hand = Hand::new();
    for s in 0..30 {
        hand.fix(0.0, 2.0 * f64::from(s), Some(2.0));
    }
    // For eight seconds the receiver puts her 60 m to the east, and in the middle of it she stops.
    for s in 0..8 {
        let speed_mps = if s < 4 { 2.0 } else { 0.0 };
        assert_eq!(hand.fix(60.0, 60.0 + speed_mps * f64::from(s), Some(speed_mps)), Update::Accepted);
        let motion = hand.track.motion().expect("a motion");
        assert_eq!(motion.at, hand.now, "she is not lost for it");
        assert!(motion.position.east_m.abs() < 1.0, "second {s}: {motion:?}");
        assert!((motion.velocity.north_mps - speed_mps).abs() < 0.7, "second {s}: {motion:?}");
        assert!(motion.velocity.east_mps.abs() < 0.2, "second {s}: {motion:?}");
    }
    assert_eq!(hand.fix(0.0, 66.0, Some(0.0)), Update::Accepted, "and back");
    assert!(hand.track.motion().expect("a motion").speed_mps() < 0.3);
    // One that lasts is where she is, as far as anyone knows.
    let updates: Vec<Update> = (0..14).map(|_| hand.fix(60.0, 66.0, Some(0.0))).collect();
    assert_eq!(updates.iter().filter(|update| **update == Update::Moved).count(), 1, "{updates:?}");
    assert!((hand.track.motion().expect("a motion").position.east_m - 60.0).abs() < 1.0);
    let drift = hand.track.drift_over(20.0).expect("her past is not lost");
    assert!(drift.speed_mps() < 0.5, "no drift is read from the step: {drift:?}");
}

#[test]
fn a_small_step_of_the_error_moves_her_but_not_her_velocity() {
    let (mut hand, mut noise) = (Hand::new(), Noise(11));
    let mut white = || 0.3 * noise.normal();
    for s in 0..60 {
        let step_m = if s < 40 { 0.0 } else { 12.0 };
        let (east_m, north_m) = (step_m + white(), 1.5 * f64::from(s) + white());
        assert_eq!(hand.fix(east_m, north_m, Some(1.5)), Update::Accepted);
        let motion = hand.track.motion().expect("a motion");
        assert!(s < 5 || motion.velocity.east_mps.abs() < 0.3, "second {s}: {motion:?}");
        assert!(s != 42 || motion.position.east_m > 9.0, "the new place is taken: {motion:?}");
    }
}

#[test]
fn wild_positions_that_disagree_are_not_believed() {
    let mut hand = Hand::new();
    for s in 0..20 {
        hand.fix(0.0, 2.0 * f64::from(s), None);
    }
    // Later she could have got there: the longer nothing fits, the wider the gate.
    for s in 0..10 {
        let side = if s % 2 == 0 { 150.0 } else { -150.0 };
        assert_eq!(hand.fix(side, 40.0, None), Update::Held, "second {s}");
    }
}

#[test]
fn a_second_sentence_of_one_fix_completes_it() {
    let (mut twice, mut once) = (Hand::new(), Hand::new());
    for s in 0..30 {
        let north_m = 2.0 * f64::from(s);
        twice.fix(0.0, north_m, None);
        twice.now = twice.now.plus_ms(-1000);
        twice.fix(0.0, north_m, Some(2.0));
        once.fix(0.0, north_m, Some(2.0));
    }
    let (twice_motion, once_motion) = (twice.track.motion(), once.track.motion());
    let (twice_motion, once_motion) = (twice_motion.expect("a motion"), once_motion.expect("a motion"));
    assert!(twice_motion.position.distance_m(once_motion.position) < 1e-6);
    assert!(twice_motion.velocity.minus(once_motion.velocity).speed_mps() < 1e-6);
    assert!((twice_motion.velocity_sd_mps - once_motion.velocity_sd_mps).abs() < 0.01);
    assert_eq!(twice.track.history().len(), once.track.history().len());
}

#[test]
fn older_fixes_change_nothing() {
    let mut hand = Hand::new();
    hand.fix(0.0, 0.0, Some(1.0));
    let before = hand.track.motion().copied();
    hand.now = hand.now.plus_ms(-3000);
    assert_eq!(hand.fix(5.0, 5.0, Some(1.0)), Update::TooOld);
    assert_eq!(hand.track.motion().copied(), before);
}

#[test]
fn doubt_grows_with_silence_and_motion_ends() {
    let mut hand = Hand::new();
    for s in 0..20 {
        hand.fix(0.0, 2.0 * f64::from(s), Some(2.0));
    }
    let mut before = hand.track.at(hand.now).expect("a motion");
    for s in 1..120 {
        let motion = hand.track.at(hand.now.plus_ms(s * 1000)).expect("a motion");
        assert!(motion.position_sd_m > before.position_sd_m, "second {s}");
        assert!(motion.velocity_sd_mps > before.velocity_sd_mps, "second {s}");
        assert!(motion.position.north_m < 65.0, "nobody measured her beyond");
        before = motion;
    }
}

#[test]
fn history_is_thinned_and_bounded() {
    for (every_ms, kept) in [(100, 2.0), (200, 2.5), (500, 2.0), (1000, 1.0), (5000, 0.2)] {
        let mut track = Track::default();
        let place = Fix {
            position: Position::new(50.8, -1.3).expect("a place"),
            accuracy_m: None,
            speed_mps: Some(0.1),
            course: None,
        };
        let mut now = Moment(0);
        let fixes = 700_000 / every_ms;
        for n in 0..fixes {
            let there = Position::new(50.8 + (n % 7) as f64 * 1e-6, -1.3).expect("a place");
            track.hear(now, &What::Fix(Fix { position: there, ..place }), now, &plane());
            now = now.plus_ms(every_ms);
        }
        let length = track.history().len();
        assert!(length <= 1200, "{every_ms} ms: {length}");
        let expected = (700.0_f64 * kept).min(1200.0);
        assert!((length as f64 - expected).abs() < 5.0, "{every_ms} ms: {length}, not {expected}");
        let newest = track.history().next_back().map(|motion| motion.at);
        assert_eq!(newest, track.motion().map(|motion| motion.at), "the newest is always there");
    }
}

#[test]
fn drift_is_said_when_half_the_window_is_there() {
    let mut hand = Hand::new();
    for s in 0..=60 {
        hand.fix(0.3 * f64::from(s), -0.4 * f64::from(s), Some(0.5));
        for window_s in [10.0, 20.0, 60.0] {
            let said = hand.track.drift_over(window_s);
            assert_eq!(said.is_some(), f64::from(s) >= window_s / 2.0, "{window_s} s window after {s} s");
            if let Some(drift) = said {
                assert!((drift.east_mps - 0.3).abs() < 1e-6 && (drift.north_mps + 0.4).abs() < 1e-6);
            }
        }
    }
}

#[test]
fn a_repeated_position_with_way_on_is_frozen_and_a_resting_boat_is_not() {
    let mut hand = Hand::new();
    for s in 0..60 {
        hand.fix(0.0, 2.0 * f64::from(s), Some(2.0));
    }
    let stuck_at = hand.now;
    let updates: Vec<Update> = (0..20).map(|_| hand.fix(0.0, 118.0, Some(2.0))).collect();
    let thawed = updates.iter().take_while(|update| **update == Update::Accepted).count();
    assert!((5..=9).contains(&thawed), "{updates:?}");
    assert_eq!(hand.track.frozen_since(), Some(stuck_at));
    let last_believed = hand.track.motion().map(|motion| motion.at);
    assert!(last_believed < Some(hand.now), "the motion grows old while frozen");
    assert_ne!(hand.fix(0.0, 160.0, Some(2.0)), Update::Frozen, "and thaws with the first new place");
    assert_eq!(hand.track.frozen_since(), None);
}

#[test]
fn a_phone_that_zeroes_its_speed_is_not_frozen_while_its_position_jitters() {
    let (mut hand, mut noise) = (Hand::new(), Noise(7));
    for s in 0..600 {
        let speed = if s < 60 { 1.5 } else { 0.0 };
        let update =
            hand.fix(0.4 * noise.normal(), 1.5 * f64::from(s.min(60)) + 0.4 * noise.normal(), Some(speed));
        assert_eq!(update, Update::Accepted, "second {s}");
    }
}

#[test]
fn a_source_that_jittered_and_repeats_one_place_at_rest_is_frozen_unless_that_is_its_habit() {
    let mut hand = Hand::new();
    let mut noise = Noise(3);
    // Three rests of 40 s each: the first two are taken for a fault, then for its way of resting.
    let mut frozen = Vec::new();
    for leg in 0..4 {
        for s in 0..60 {
            let north_m = f64::from(leg) * 90.0 + 1.5 * f64::from(s) + 0.2 * noise.normal();
            hand.fix(0.2 * noise.normal(), north_m, Some(1.5));
        }
        for _ in 0..40 {
            hand.fix(0.0, f64::from(leg + 1) * 90.0, Some(0.0));
        }
        frozen.push(hand.track.frozen_since().is_some());
    }
    assert_eq!(frozen, [true, true, false, false]);
}

/// Heard from one of two receivers aboard, 8 m apart.
fn two(track: &mut Track, now: Moment, name: &str, north_m: f64, accuracy_m: f64) -> Update {
    let east_m = if name == "a" { 4.0 } else { -4.0 };
    let place = plane().position(Local { east_m, north_m }).expect("near the origin");
    let fix = Fix {
        position: place,
        accuracy_m: Some(accuracy_m),
        speed_mps: Some(2.0),
        course: Some(Bearing::NORTH),
    };
    let heard = Heard { source: Source(name.into()), taken: now, what: What::Fix(fix) };
    track.hear_from(now, &heard, &plane())
}

#[test]
fn two_receivers_aboard_do_not_make_her_zigzag() {
    let mut track = Track::new(Role::Dinghy);
    let mut now = Moment(0);
    let mut used = Vec::new();
    let mut note = |track: &Track, now: Moment| {
        let name = track.source().map(|source| source.0.to_string());
        if used.last().map(|(_, last)| last) != name.as_ref() {
            used.extend(name.map(|name| (now.0 / 1000, name)));
        }
    };
    for s in 0..300 {
        let north_m = 2.0 * f64::from(s);
        // "a" is silent for a minute, then back; "b" is poor after 200 s.
        if !(60..120).contains(&s) {
            two(&mut track, now, "a", north_m, 5.0);
        }
        note(&track, now);
        let accuracy_m = if s < 200 { 5.0 } else { 30.0 };
        two(&mut track, now.plus_ms(400), "b", north_m + 0.8, accuracy_m);
        note(&track, now.plus_ms(400));
        if let Some(motion) = track.motion() {
            assert!(motion.velocity.east_mps.abs() < 1.0, "second {s}: {motion:?}");
        }
        now = now.plus_ms(1000);
    }
    let names: Vec<&str> = used.iter().map(|(_, name)| name.as_str()).collect();
    assert_eq!(names, ["a", "b", "a"], "{used:?}");
    assert!((62..=64).contains(&used[1].0), "left when silent: {used:?}");
    assert!((215..=240).contains(&used[2].0), "not back before it was better for a while: {used:?}");
}

/// Sails a square of 60 s a side with a heading sensor and gives the track at the end.
fn with_heading(sensor: impl Fn(f64, f64) -> f64) -> Track {
    let mut track = Track::new(Role::Dinghy);
    let mut at = Local::default();
    for s in 0..480 {
        let now = Moment(i64::from(s) * 1000);
        let course = Bearing::from_degrees_true(f64::from(s / 60 % 4) * 90.0 + 20.0).expect("finite");
        let velocity = Velocity::towards(course, 1.8);
        at = at.after(velocity, 1.0);
        let heading = Bearing::from_degrees_true(sensor(f64::from(s), course.deg())).expect("finite");
        track.hear(now, &What::Heading(heading), now, &plane());
        let fix = Fix {
            position: plane().position(at).expect("near the origin"),
            accuracy_m: Some(4.0),
            speed_mps: Some(1.8),
            course: Some(course),
        };
        track.hear(now, &What::Fix(fix), now, &plane());
    }
    track
}

#[test]
fn a_heading_that_does_not_follow_the_hull_is_not_believed() {
    let honest = with_heading(|_, course| course - 8.0);
    assert!(honest.heading_honest());
    let motion = honest.motion().expect("a motion");
    assert!(motion.heading_sensed && (motion.heading.expect("a heading").deg() - 282.0).abs() < 1.0);
    for (name, track) in [
        ("in a pocket", with_heading(|s, _| 140.0 * (s * 0.7).sin() + 3.0 * s)),
        ("lying loose", with_heading(|_, _| 75.0)),
        ("mounted crosswise", with_heading(|_, course| course + 90.0)),
    ] {
        assert!(!track.heading_honest(), "{name}");
        let motion = track.motion().expect("a motion");
        let heading = motion.heading.expect("from the course").deg();
        assert!(!motion.heading_sensed && (heading - 290.0).abs() < 5.0, "{name}: {heading}");
    }
}
