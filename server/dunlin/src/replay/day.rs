//! A day's own file through the engine again: every input of every session, as it was recorded.

use std::{fs::File, io::Read as _, path::Path};

use dunlin_engine::{Engine, Setup, effect::Effect, moment::Moment};

use crate::journal::{self, Counted, JournalError};

/// How every SQLite file begins (sqlite.org/fileformat.html, 1.3).
const BEGINS: &[u8; 16] = b"SQLite format 3\0";

/// Whether the file is a database rather than a log of lines.
pub fn is_day(path: &Path) -> bool {
    let mut head = [0; BEGINS.len()];
    File::open(path).and_then(|mut file| file.read_exact(&mut head)).is_ok() && head == *BEGINS
}

/// Runs each session of the day through an engine of its own; `each` gets what it said to one input, with
/// the moment of that input.
///
/// # Errors
/// When it is no day's file.
pub fn replay(
    path: &Path,
    setup: &Setup,
    mut each: impl FnMut(Moment, &[Effect]),
) -> Result<Counted, JournalError> {
    let sessions = journal::sessions(path)?;
    let mut all = Counted::default();
    for (number, (first, _)) in sessions.iter().enumerate() {
        let end = sessions.get(number + 1).map_or(u64::MAX, |(next, _)| *next);
        let mut engine = Engine::new(setup.clone());
        let counted = journal::inputs_between(path, *first, end, &setup.fleet, |at, input| {
            each(at, &engine.on(at, input));
        })?;
        all.inputs += counted.inputs;
        all.unread += counted.unread;
        all.damaged |= counted.damaged;
    }
    Ok(all)
}
