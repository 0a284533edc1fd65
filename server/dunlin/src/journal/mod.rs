//! The journal: every input, then every alert, in SQLite; one file a day, one thread that writes.
//!
//! The driver never waits for it. What it notes goes into a bounded queue; the thread writes what is
//! there at most [`BATCH_MS`] later, and at once when people wait for it. [`Progress`] says how far it
//! is, and what is wrong while something is.

mod read;
pub mod record;
mod schema;
mod writer;

use std::{
    io,
    path::{Path, PathBuf},
    sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError},
    thread::JoinHandle,
};

use dunlin_engine::{Setup, effect::Effect, fleet::Boat, moment::Moment};
use tokio::sync::watch;

pub use self::read::{Counted, Past, Resume, copy_into, inputs_between, sessions, setup_of};
use self::{record::Row, writer::Writer};
use crate::output;

/// The longest that an input waits for its batch, ms: what a crash can lose.
pub const BATCH_MS: u64 = 250;

/// Bytes of inputs waiting for the disk. Beyond it inputs are not written down, and counted.
pub const INPUT_BYTES_MAX: usize = 16 * 1024 * 1024;

/// Bytes of everything waiting for the disk. Beyond it alerts and commands are not written down
/// either, and counted; nobody is told that they were.
pub const ALL_BYTES_MAX: usize = 2 * INPUT_BYTES_MAX;

/// A session that was left this long ago is over: the next start begins a new one.
pub const RESUME_MS: i64 = 8 * 3_600_000;

/// Why the journal cannot be opened or read.
#[derive(Debug, thiserror::Error)]
pub enum JournalError {
    /// The file is of a newer dunlin; nothing was touched.
    #[error("the journal was written by a newer dunlin (layout {found}, this one knows {known})")]
    Newer {
        /// Layout number in the file.
        found: i64,
        /// The newest that this program knows.
        known: i64,
    },
    /// SQLite could not do it.
    #[error("the journal cannot be read or written")]
    Sqlite(#[from] rusqlite::Error),
    /// The folder cannot be made or read.
    #[error("the folder {folder} cannot be used")]
    Folder {
        /// Which.
        folder: PathBuf,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// The thread that writes could not be started.
    #[error("no thread for the journal")]
    Thread(#[source] io::Error),
}

/// How far the journal is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Progress {
    /// Everything up to this turn is on disk.
    pub recorded: u64,
    /// What is wrong now, in a sentence; `None`: nothing.
    pub trouble: Option<String>,
    /// Notes that were never written down, since the start.
    pub lost: u64,
}

/// The journal, open. Dropping it writes what is waiting.
#[derive(Debug)]
pub struct Journal {
    shared: Arc<Shared>,
    progress: watch::Receiver<Progress>,
    thread: Option<JoinHandle<()>>,
}

/// A journal that was opened, and what there is to go on with.
#[derive(Debug)]
pub struct Opened {
    /// Ready to be written.
    pub journal: Journal,
    /// The session that was left lately, if one was.
    pub resume: Option<Resume>,
    /// The session before, when a new one was begun: what people set up in it may still hold.
    pub before: Option<Past>,
    /// The day's file.
    pub path: PathBuf,
    /// The session's first turn.
    pub first_turn: u64,
    /// The first turn that is free.
    pub turn: u64,
    /// What people should know: a damaged file was set aside.
    pub warnings: Vec<String>,
}

impl Journal {
    /// Opens the newest day in `folder` if its session was left less than [`RESUME_MS`] before `now`,
    /// else begins a session in the file of `date`, `2026-06-01`. A file that is damaged is set aside.
    ///
    /// # Errors
    /// When the folder or the file cannot be written, or is of a newer dunlin.
    pub fn open(folder: &Path, now: Moment, date: &str, max_bytes: u64) -> Result<Opened, JournalError> {
        std::fs::create_dir_all(folder)
            .map_err(|source| JournalError::Folder { folder: folder.to_owned(), source })?;
        let mut warnings = Vec::new();
        let resume = newest(folder)?.and_then(|path| match Resume::find(&path, now) {
            Ok(resume) => resume,
            Err(error) => {
                warnings.push(set_aside(&path, &error));
                None
            }
        });
        let before =
            if resume.is_none() { newest(folder)?.and_then(|path| Past::last_of(&path)) } else { None };
        let path = match &resume {
            Some(resume) => resume.path().to_owned(),
            None => folder.join(format!("{date}.sqlite")),
        };
        let connection = match schema::open(&path, max_bytes) {
            Ok(connection) => connection,
            Err(error @ JournalError::Newer { .. }) => return Err(error),
            Err(error) if resume.is_none() && path.exists() => {
                warnings.push(set_aside(&path, &error));
                schema::open(&path, max_bytes)?
            }
            Err(error) => return Err(error),
        };
        let turn = 1 + read::last_turn(&connection)?;
        if resume.is_none() {
            begin_session(&connection, turn, now)?;
        }
        let journal = Journal::start(connection, turn - 1)?;
        let first_turn = resume.as_ref().map_or(turn, Resume::first_turn);
        Ok(Opened { journal, resume, before, path, first_turn, turn, warnings })
    }

    /// Begins a session at `turn` in the file of `date`, while the program runs on: a new day. Gives the
    /// session's first turn, later than `turn` when the file holds later ones already.
    ///
    /// # Errors
    /// When the file cannot be written; the journal in use is not touched.
    pub fn begin(
        folder: &Path,
        now: Moment,
        date: &str,
        max_bytes: u64,
        turn: u64,
    ) -> Result<(Journal, PathBuf, u64), JournalError> {
        let path = folder.join(format!("{date}.sqlite"));
        let connection = schema::open(&path, max_bytes)?;
        let turn = turn.max(1 + read::last_turn(&connection)?);
        begin_session(&connection, turn, now)?;
        Ok((Journal::start(connection, turn - 1)?, path, turn))
    }

    fn start(connection: rusqlite::Connection, recorded: u64) -> Result<Journal, JournalError> {
        let (progress_in, progress) = watch::channel(Progress { recorded, ..Progress::default() });
        let shared = Arc::new(Shared::default());
        let mut writer = Writer::new(connection, Arc::clone(&shared), progress_in);
        let thread = std::thread::Builder::new()
            .name("journal".to_owned())
            .spawn(move || writer.run())
            .map_err(JournalError::Thread)?;
        Ok(Journal { shared, progress, thread: Some(thread) })
    }

    /// How far it is; wakes whoever waits on it at each change.
    pub fn progress(&self) -> watch::Receiver<Progress> {
        self.progress.clone()
    }

    /// Notes the set-up in force from `turn` on.
    pub fn note_setup(&self, turn: u64, at: Moment, setup: &Setup) {
        let body = record::setup_json(setup);
        self.shared.add(vec![Note::Setup { turn, at, body }], turn, true);
    }

    /// Notes one turn: what the engine was told and what it said. `urgent`: people wait for it, so
    /// it is written at once. Never waits.
    pub fn note(&self, turn: u64, at: Moment, row: Option<Row>, said: &[Said], urgent: bool) {
        let mut notes = Vec::with_capacity(1 + said.len());
        if let Some(row) = row {
            notes.push(Note::Input { turn, at, row });
        }
        for (place, said) in said.iter().enumerate() {
            let said = said.clone();
            notes.push(Note::Event { turn, place, at, said });
        }
        self.shared.add(notes, turn, urgent);
    }
}

impl Drop for Journal {
    fn drop(&mut self) {
        self.shared.lock().closing = true;
        self.shared.wake.notify_all();
        if let Some(thread) = self.thread.take() {
            // A writer that panicked has already said so; there is nothing left to write.
            let _ended = thread.join();
        }
    }
}

/// What the engine said, as it is stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    kind: &'static str,
    body: String,
}

impl Said {
    /// The form in which an effect is kept; `None` for refusals, which a replay finds again.
    pub fn of(fleet: &[Boat], at: Moment, effect: &Effect) -> Option<Said> {
        match effect {
            Effect::Discard(_) => None,
            _ => Some(Said { kind: output::kind(effect), body: output::line(fleet, at, effect) }),
        }
    }
}

/// One thing to write.
#[derive(Debug)]
enum Note {
    Input { turn: u64, at: Moment, row: Row },
    Event { turn: u64, place: usize, at: Moment, said: Said },
    Setup { turn: u64, at: Moment, body: Vec<u8> },
}

impl Note {
    fn bytes(&self) -> usize {
        let body = match self {
            Note::Input { row, .. } => row.source.len() + row.body.len(),
            Note::Event { said, .. } => said.body.len(),
            Note::Setup { body, .. } => body.len(),
        };
        64 + body
    }

    /// A fix or a wind more or less can be spared; what a person said or was told cannot.
    fn can_be_spared(&self) -> bool {
        match self {
            Note::Input { row, .. } => row.kind != record::COMMAND,
            Note::Event { .. } | Note::Setup { .. } => false,
        }
    }
}

#[derive(Debug, Default)]
struct Queue {
    notes: Vec<Note>,
    bytes: usize,
    /// The newest turn whose notes were added (or lost).
    turn: u64,
    urgent: bool,
    closing: bool,
    lost: u64,
}

#[derive(Debug, Default)]
struct Shared {
    queue: Mutex<Queue>,
    wake: Condvar,
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, Queue> {
        // The queue holds no invariant that a panic half-way could break.
        self.queue.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn add(&self, notes: Vec<Note>, turn: u64, urgent: bool) {
        let mut queue = self.lock();
        // A writer with nothing to do sleeps; one with something wakes by itself in time.
        let wake = urgent || queue.notes.is_empty();
        for note in notes {
            let limit = if note.can_be_spared() { INPUT_BYTES_MAX } else { ALL_BYTES_MAX };
            let bytes = note.bytes();
            if queue.bytes + bytes > limit {
                queue.lost += 1;
                continue;
            }
            queue.bytes += bytes;
            queue.notes.push(note);
        }
        queue.turn = turn;
        queue.urgent |= urgent;
        drop(queue);
        if wake {
            self.wake.notify_one();
        }
    }
}

fn begin_session(connection: &rusqlite::Connection, turn: u64, now: Moment) -> Result<(), JournalError> {
    connection.execute(
        "INSERT INTO session (first_turn, began_ms, program) VALUES (?1, ?2, ?3)",
        (turn.cast_signed(), now.0, env!("CARGO_PKG_VERSION")),
    )?;
    Ok(())
}

/// The newest day's file in the folder, by its name.
fn newest(folder: &Path) -> Result<Option<PathBuf>, JournalError> {
    let wrap = |source| JournalError::Folder { folder: folder.to_owned(), source };
    let mut newest = None;
    for entry in std::fs::read_dir(folder).map_err(wrap)? {
        let path = entry.map_err(wrap)?.path();
        if day_of(&path).is_some() && newest.as_ref().is_none_or(|known| *known < path) {
            newest = Some(path);
        }
    }
    Ok(newest)
}

/// The date in the name of a day's file, `2026-06-01`; `None` for any other file.
pub fn day_of(path: &Path) -> Option<&str> {
    let day = path.file_name()?.to_str()?.strip_suffix(".sqlite")?;
    let form = |(place, c): (usize, char)| match place {
        4 | 7 => c == '-',
        _ => c.is_ascii_digit(),
    };
    (day.len() == 10 && day.chars().enumerate().all(form)).then_some(day)
}

/// Renames a file that cannot be used, so that nothing of it is lost, and says so.
fn set_aside(path: &Path, error: &JournalError) -> String {
    let mut aside = path.as_os_str().to_owned();
    aside.push(".damaged");
    match std::fs::rename(path, &aside) {
        Ok(()) => format!(
            "{} cannot be read ({error}); it was kept as {} and a new one was begun",
            path.display(),
            Path::new(&aside).display()
        ),
        Err(cause) => {
            format!("{} cannot be read ({error}), nor set aside ({cause})", path.display())
        }
    }
}

/// Deletes the files of days more than `days` before `now`, but not `in_use`, which is being written;
/// returns those deleted.
///
/// # Errors
/// When the folder cannot be read or a file not be deleted.
pub fn delete_older(
    folder: &Path,
    now: Moment,
    days: u32,
    in_use: Option<&Path>,
) -> Result<Vec<PathBuf>, JournalError> {
    let in_use = in_use.and_then(day_of);
    let wrap = |source| JournalError::Folder { folder: folder.to_owned(), source };
    let oldest = now.plus_ms(-i64::from(days) * 86_400_000).to_string();
    let mut deleted = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(wrap)? {
        let path = entry.map_err(wrap)?.path();
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        // The files that SQLite keeps beside a day, and one set aside, go with it.
        let stem = name.split(".sqlite").next().unwrap_or_default();
        let day = Path::new("").join(format!("{stem}.sqlite"));
        if name.contains(".sqlite")
            && day_of(&day).is_some_and(|day| day < &oldest[..10] && Some(day) != in_use)
        {
            std::fs::remove_file(&path).map_err(wrap)?;
            deleted.push(path);
        }
    }
    deleted.sort();
    Ok(deleted)
}
