//! What a restart costs: the day's inputs read back and given to a fresh watch, 3 hours of 40 boats
//! at 1 Hz. `cargo bench -p dunlin-tests --bench restart`.

use std::time::{Duration, Instant};

use dunlin::{
    journal::{Journal, record},
    rebuild::{Day, warm},
};
use dunlin_engine::{
    Engine, Setup,
    fleet::{Boat, Class, Role},
    input::{Input, Report},
    moment::{FixTime, Moment},
    units::{Bearing, Position},
};

const BOATS: usize = 40;
const HOURS: i64 = 3;
/// 2026-06-01T10:00:00Z.
const BEGAN: Moment = Moment(1_780_308_000_000);

fn fleet() -> Vec<Boat> {
    let boat = |number: usize| Boat {
        id: format!("{number:02}"),
        name: None,
        role: if number < 2 { Role::Safety } else { Role::Dinghy },
        sources: vec![format!("{number:02}")],
        mmsi: None,
        crew: 2,
        class: Class::default(),
    };
    (0..BOATS).map(boat).collect()
}

/// A boat that beats and runs: a new course every 40 s, 1.5 m/s.
fn report(boat: usize, second: i64, at: &mut [(f64, f64)]) -> Report {
    let leg = (second + 7 * boat as i64) / 40 % 4;
    let course = [315.0, 45.0, 200.0, 160.0][leg as usize] + (boat % 5) as f64;
    let (sin, cos) = f64::to_radians(course).sin_cos();
    at[boat].0 += 1.5 * cos / 111_200.0;
    at[boat].1 += 1.5 * sin / 71_000.0;
    Report {
        taken: FixTime(BEGAN.0 + second * 1000),
        position: Position::new(at[boat].0, at[boat].1),
        accuracy_m: Some(4.0),
        speed_mps: Some(1.5),
        course: Bearing::from_degrees_true(course),
        heading: None,
        heel_deg: None,
        battery_pct: Some(80.0),
        help: None,
    }
}

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let opened = Journal::open(folder.path(), BEGAN, "2026-06-01", 10_000_000_000).expect("a journal");
    let day = Day { path: opened.path.clone(), first_turn: opened.first_turn };
    let fleet = fleet();
    let mut at: Vec<(f64, f64)> = (0..BOATS).map(|boat| (50.0, -5.0 + boat as f64 * 0.0005)).collect();
    let mut turn = opened.turn;
    let progress = opened.journal.progress();
    let begun = Instant::now();
    for second in 0..HOURS * 3600 {
        for boat in 0..BOATS {
            let report = report(boat, second, &mut at);
            let input = Input::Report { source: fleet[boat].id.clone(), report };
            let moment = BEGAN.plus_ms(second * 1000 + 20 * boat as i64);
            opened.journal.note(turn, moment, record::row(&fleet, &input), &[], false);
            turn += 1;
        }
        // A queue that is never full: this measures the disk, not the bound.
        while turn - progress.borrow().recorded > 20_000 {
            std::thread::sleep(Duration::from_millis(1));
        }
    }
    drop(opened.journal);
    let written = begun.elapsed();
    let bytes = std::fs::metadata(&day.path).expect("the day").len();

    let begun = Instant::now();
    let mut inputs = 0;
    dunlin::journal::inputs_between(&day.path, 0, u64::MAX, &fleet, |_, _| inputs += 1).expect("readable");
    let read = begun.elapsed();
    let begun = Instant::now();
    let mut engine = Engine::new(Setup { fleet, ..Setup::default() });
    let counted = warm(&mut engine, &day, u64::MAX).expect("readable");
    let warmed = begun.elapsed();
    println!("inputs                     {inputs}");
    println!("day's file                 {:.1} MB, {} B a fix", bytes as f64 / 1e6, bytes / counted.inputs);
    println!("written as fast as it can  {:.2} s", written.as_secs_f64());
    println!("read and understood        {:.2} s", read.as_secs_f64());
    println!("read into a warm watch     {:.2} s", warmed.as_secs_f64());
}
