//! A day's file as three hours of a fleet leave it.

use std::{
    path::Path,
    time::{Duration, Instant},
};

use dunlin::{
    clock::wall_ms,
    journal::{Journal, record},
    setup,
};
use dunlin_engine::{input::Input, moment::Moment};

use super::fleet::Fleet;

const HOURS: i64 = 3;
/// Inputs that may wait for the disk: less than the journal's bound, so that none is dropped.
const WAITING_MAX: u64 = 20_000;

/// What was written.
pub struct Written {
    pub inputs: u64,
    pub took_s: f64,
}

/// Writes the three hours up to now of `boats` boats at 1 Hz into `folder`, which holds their set-up.
pub fn write(folder: &Path, boats: usize) -> Written {
    let began = Moment(wall_ms() - HOURS * 3_600_000);
    let (setup, _) = setup::load(Some(&folder.join("site.geojson")), Some(&folder.join("fleet.toml")));
    let days = folder.join("data").join("days");
    std::fs::create_dir_all(&days).expect("made");
    let opened = Journal::open(&days, began, &began.to_string()[..10], 10_000_000_000).expect("a journal");
    let progress = opened.journal.progress();
    opened.journal.note_setup(opened.turn, began, &setup);
    let first = opened.turn + 1;
    let mut turn = first;
    let mut fleet = Fleet::of(boats);
    let begun = Instant::now();
    for second in 0..HOURS * 3600 {
        for boat in 0..boats {
            let at = began.plus_ms(second * 1000 + 20 * boat as i64);
            fleet.sail(boat, at, 1.0);
            let input = Input::Report { source: Fleet::name(boat), report: fleet.report(boat, at) };
            opened.journal.note(turn, at, record::row(&setup.fleet, &input), &[], false);
            turn += 1;
        }
        while turn - progress.borrow().recorded > WAITING_MAX {
            std::thread::sleep(Duration::from_millis(1));
        }
    }
    drop(opened.journal); // waits until all is written
    Written { inputs: turn - first, took_s: begun.elapsed().as_secs_f64() }
}
