//! Tacks, gybes and roundings of the training exercises in `reference/exercises.csv`.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;

use dunlin_engine::{
    effect::{Side, Turn},
    fleet::BoatIx,
    moment::Moment,
    sailing::{Customs, MarkAt, Roundings, Sailing},
    tracks::Motion,
    units::{Bearing, KNOT_MPS, Local, Velocity, fold},
    wind::WaterWind,
};

type Row = BTreeMap<String, String>;

fn rows(file: &str) -> Vec<Row> {
    csv::Reader::from_path(format!("reference/{file}")).unwrap().deserialize().map(Result::unwrap).collect()
}

/// The motions of one exercise, with errors of position and course that wander (in metres and
/// degrees), at `step_s` between fixes.
fn sailed(exercise: &str, noise: f64, step_s: f64) -> Vec<Motion> {
    let columns = ["t_s", "x_m", "y_m", "heading_deg", "speed_kn"];
    let points: Vec<[f64; 5]> = rows("exercise_tracks.csv")
        .iter()
        .filter(|row| row["exercise"] == exercise)
        .map(|row| columns.map(|column| row[column].parse().unwrap()))
        .collect();
    let end = points.last().unwrap()[0];
    let mut motions = Vec::new();
    let mut t = 0.0;
    while t <= end {
        let next = points.iter().position(|p| p[0] >= t).unwrap().max(1);
        let (a, b) = (points[next - 1], points[next]);
        let share = (t - a[0]) / (b[0] - a[0]);
        let between = |k: usize| a[k] + share * (b[k] - a[k]);
        let heading = a[3] + share * fold(b[3] - a[3]);
        // Slow waves of incommensurate periods stand for the wandering of a phone and of a helm.
        let wave = |period: f64, phase: f64| (t / period + phase).sin() * 1.4;
        let course =
            Bearing::from_degrees_true(heading + 4.0 * noise * wave(3.1, 0.4) + 2.0 * noise * wave(1.3, 2.0))
                .unwrap();
        let speed = (between(4) * KNOT_MPS + 0.05 * noise * wave(5.0, 1.0)).max(0.0);
        motions.push(Motion {
            at: Moment((t * 1000.0) as i64),
            position: Local {
                east_m: between(1) + noise * wave(37.0, 0.0),
                north_m: between(2) + noise * wave(53.0, 1.0),
            },
            position_sd_m: 3.0,
            velocity: Velocity::towards(course, speed),
            velocity_sd_mps: 0.15,
            said: Some(Velocity::towards(course, speed)),
            course: Some(course),
            heading: Some(course),
            heading_sensed: false,
            turn_rate_dps: None,
            heel_deg: None,
        });
        t += step_s;
    }
    motions
}

fn wind(from_deg: f64) -> WaterWind {
    WaterWind {
        from: Bearing::from_degrees_true(from_deg).unwrap(),
        sd_deg: 5.0,
        speed_mps: Some(4.0),
        now_mps: None,
        stream: Velocity::default(),
    }
}

fn manoeuvres(motions: &[Motion], wind_from: f64) -> Vec<(Turn, f64, f64)> {
    let wind = wind(wind_from);
    let mut sailing = Sailing::new(BoatIx(0));
    motions
        .iter()
        .flat_map(|motion| sailing.see(motion, Some(&wind), true))
        .map(|done| (done.turn, done.at.0 as f64 / 1000.0, done.turn_deg))
        .collect()
}

fn expected(row: &Row) -> Vec<(Turn, f64)> {
    row["manoeuvres_time_when_new_tack_is_settled_s"]
        .split_whitespace()
        .map(|word| {
            let (kind, at) = word.split_once('@').unwrap();
            let turn = if kind == "tack" { Turn::Tack } else { Turn::Gybe };
            (turn, at.parse().unwrap())
        })
        .collect()
}

#[test]
fn each_exercise_shows_its_tacks_and_gybes_and_no_others() {
    let exercises = rows("exercises.csv");
    assert_eq!(exercises.len(), 13);
    for row in exercises {
        let name = &row["exercise"];
        for (noise, step_s) in [(0.0, 2.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.5), (0.0, 5.0)] {
            // A dead run with the wind ten degrees wrong cannot be told from one by the lee.
            let doubt = if name == "TRI-REVERSED" { 6.0 } else { 10.0 };
            for wind_off in [0.0, -doubt, doubt] {
                let found = manoeuvres(&sailed(name, noise, step_s), wind_off);
                let kinds: Vec<Turn> = found.iter().map(|f| f.0).collect();
                let wanted = expected(&row);
                let what = format!("{name}, noise {noise}, {step_s} s, wind {wind_off}: {found:?}");
                assert_eq!(kinds, wanted.iter().map(|w| w.0).collect::<Vec<_>>(), "{what}");
                for (found, wanted) in found.iter().zip(&wanted) {
                    let late = found.1 - wanted.1;
                    // A wind wrong by ten degrees moves the moment of being settled on a new side.
                    assert!((-6.0..=8.0).contains(&late), "{late} s late: {what}");
                }
            }
        }
    }
}

/// The wind comes to be known only as the exercise ends: what was sailed before is told then, at its own times.
#[test]
fn turns_sailed_before_the_wind_is_known_are_told_once_it_is() {
    for row in rows("exercises.csv") {
        let name = &row["exercise"];
        let motions = sailed(name, 1.0, 1.0);
        let from_the_start = manoeuvres(&motions, 0.0);
        let (mut sailing, mut told) = (Sailing::new(BoatIx(0)), Vec::new());
        for (n, motion) in motions.iter().enumerate() {
            let wind = (n + 1 == motions.len()).then(|| wind(0.0));
            let done = sailing.see(motion, wind.as_ref(), true);
            assert!(wind.is_some() || done.is_empty(), "{name}: told without a wind: {done:?}");
            told.extend(done);
        }
        let kinds = |turns: &[(Turn, f64, f64)]| turns.iter().map(|turn| turn.0).collect::<Vec<_>>();
        let told: Vec<_> =
            told.into_iter().map(|done| (done.turn, done.at.0 as f64 / 1000.0, done.turn_deg)).collect();
        assert_eq!(kinds(&told), kinds(&from_the_start), "{name}");
        for (late, live) in told.iter().zip(&from_the_start) {
            assert!((late.1 - live.1).abs() <= 2.0, "{name}: {late:?}, with a wind {live:?}");
        }
    }
}

#[test]
fn wearing_round_turns_the_long_way() {
    let found = manoeuvres(&sailed("WEAR", 0.0, 1.0), 0.0);
    let [(Turn::Gybe, _, turn_deg)] = found[..] else { panic!("{found:?}") };
    assert!((turn_deg + 270.0).abs() < 15.0, "{turn_deg}");
}

#[test]
fn marks_are_left_on_the_side_they_were_sailed() {
    let mut checked = 0;
    for row in rows("exercises.csv") {
        let name = &row["exercise"];
        let turns: Vec<(f64, f64, Side, f64)> = row["turn_centres_x_y_side_angle"]
            .split_whitespace()
            .map(|turn| {
                let parts: Vec<&str> = turn.trim_matches(['(', ')']).split(';').collect();
                let side = if parts[2] == "to_port" { Side::Port } else { Side::Starboard };
                let [x, y, angle] = [0, 1, 3].map(|k| parts[k].parse().unwrap());
                (x, y, side, angle)
            })
            .collect();
        // A mark stands in the middle of each turn of a right angle or more; the two turns of a
        // luff or a failed tack undo each other and belong to no mark.
        if turns.iter().any(|turn| turn.3 < 90.0) {
            continue;
        }
        for noise in [0.0, 1.0] {
            let motions = sailed(name, noise, 1.0);
            let mut marks: Vec<MarkAt> = Vec::new();
            for (x, y, _, _) in &turns {
                let at = Local { east_m: *x, north_m: *y };
                if marks.iter().all(|mark| mark.at.distance_m(at) > 1.0) {
                    let name = marks.len().to_string();
                    marks.push(MarkAt { name, at });
                }
            }
            let mut roundings = Roundings::new(BoatIx(0));
            let mut customs = Customs::default();
            let found: Vec<Side> = motions
                .iter()
                .flat_map(|motion| roundings.see(motion, &marks, &mut customs))
                .map(|rounding| rounding.hand)
                .collect();
            let wanted: Vec<Side> = turns.iter().map(|turn| turn.2).collect();
            assert_eq!(found, wanted, "{name}, noise {noise}");
            checked += found.len();
        }
    }
    assert!(checked >= 30, "{checked}");
}

/// A boat that falls silent beside a mark may have gone either way about it.
#[test]
fn a_mark_left_in_silence_is_rounded_only_if_she_is_heard_again_near_it() {
    let motions = sailed("TRI-PORT", 0.0, 1.0);
    // The windward mark of `exercises.csv`.
    let marks = [MarkAt { name: "windward".into(), at: Local { east_m: -4.3, north_m: 404.2 } }];
    let off = |motion: &Motion| marks[0].at.distance_m(motion.position);
    let nearest = (0..motions.len()).min_by(|&a, &b| off(&motions[a]).total_cmp(&off(&motions[b]))).unwrap();
    // Past the mark by enough to have swept it, then silent until this far away.
    let rounded = |heard_again_m: f64| {
        let mut roundings = Roundings::new(BoatIx(0));
        let mut customs = Customs::default();
        let silent_from = nearest + 8;
        let heard =
            motions.iter().enumerate().filter(|&(n, motion)| n < silent_from || off(motion) >= heard_again_m);
        heard
            .flat_map(|(_, motion)| roundings.see(motion, &marks, &mut customs))
            .map(|rounding| rounding.hand)
            .collect::<Vec<_>>()
    };
    assert_eq!(rounded(0.0), [Side::Port]);
    assert_eq!(rounded(40.0), [Side::Port]);
    assert_eq!(rounded(60.0), []);
}
