//! Reading a day: to go on with it, to replay it, to copy it.

use std::path::{Path, PathBuf};

use dunlin_engine::{
    Setup,
    fleet::Boat,
    input::{Command, Input},
    moment::Moment,
};
use rusqlite::{Connection, OpenFlags, OptionalExtension as _};

use super::{
    JournalError, RESUME_MS,
    record::{self, Row},
};

/// A session that can be gone on with.
#[derive(Debug)]
pub struct Resume {
    path: PathBuf,
    first_turn: i64,
    /// When the session began.
    pub began: Moment,
    /// The newest moment in it: nobody was watching from then on.
    pub left: Moment,
}

/// What was read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counted {
    /// Inputs given out.
    pub inputs: u64,
    /// Rows that could not be understood, or that name a boat no longer in the fleet.
    pub unread: u64,
    /// Whether reading stopped before the end because the file is damaged there.
    pub damaged: bool,
}

impl Resume {
    /// The last session of the file, if it was left less than [`RESUME_MS`] before `now`.
    pub(super) fn find(path: &Path, now: Moment) -> Result<Option<Resume>, JournalError> {
        let connection = Connection::open(path)?;
        let session: Option<(i64, i64)> = connection
            .query_row(
                "SELECT first_turn, began_ms FROM session ORDER BY first_turn DESC LIMIT 1",
                [],
                |row| Ok((row.get(0)?, row.get(1)?)),
            )
            .optional()?;
        let Some((first_turn, began)) = session else {
            return Ok(None);
        };
        let newest = |table: &str| -> rusqlite::Result<Option<i64>> {
            let sql = format!("SELECT at_ms FROM {table} WHERE turn >= ?1 ORDER BY turn DESC LIMIT 1");
            connection.query_row(&sql, [first_turn], |row| row.get(0)).optional()
        };
        let left = newest("input")?.max(newest("event")?).unwrap_or(began).max(began);
        let resume = Resume { path: path.to_owned(), first_turn, began: Moment(began), left: Moment(left) };
        Ok((now.ms_since(resume.left) < RESUME_MS).then_some(resume))
    }

    /// The day's file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The session's first turn.
    pub fn first_turn(&self) -> u64 {
        self.first_turn.max(0).unsigned_abs()
    }
}

/// A session of a day's file: its turns are `first..end`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Past {
    /// The day's file.
    pub path: PathBuf,
    first_turn: i64,
    end_turn: i64,
}

impl Past {
    /// The last session of the file; `None` when it has none or cannot be read.
    pub(super) fn last_of(path: &Path) -> Option<Past> {
        let connection = read_only(path).ok()?;
        let first_turn = connection
            .query_row("SELECT first_turn FROM session ORDER BY first_turn DESC LIMIT 1", [], |row| {
                row.get(0)
            })
            .ok()?;
        let end_turn = 1 + last_turn(&connection).ok()?.cast_signed();
        Some(Past { path: path.to_owned(), first_turn, end_turn })
    }

    /// What people decided in it, in order, with `fleet` for the boats that it names.
    ///
    /// # Errors
    /// When the file cannot be opened. Damage further in ends the reading and is counted.
    pub fn commands(&self, fleet: &[Boat]) -> Result<(Vec<Command>, Counted), JournalError> {
        let mut commands = Vec::new();
        let counted = inputs_from(
            &read_only(&self.path)?,
            &format!("AND kind = {}", record::COMMAND),
            (self.first_turn, self.end_turn),
            fleet,
            |_, input| {
                if let Input::Command { command, .. } = input {
                    commands.push(command);
                }
            },
        )?;
        Ok((commands, counted))
    }
}

/// Gives out the inputs of turns `first..end` of a day's file in order, each with its moment.
///
/// # Errors
/// When the file cannot be opened. Damage further in ends the reading and is counted.
pub fn inputs_between(
    path: &Path,
    first: u64,
    end: u64,
    fleet: &[Boat],
    each: impl FnMut(Moment, Input),
) -> Result<Counted, JournalError> {
    let end = i64::try_from(end).unwrap_or(i64::MAX);
    inputs_from(&read_only(path)?, "", (first.cast_signed(), end), fleet, each)
}

fn inputs_from(
    connection: &Connection,
    only: &str,
    turns: (i64, i64),
    fleet: &[Boat],
    mut each: impl FnMut(Moment, Input),
) -> Result<Counted, JournalError> {
    let mut counted = Counted::default();
    let mut statement = connection.prepare(&format!(
        "SELECT at_ms, kind, source, body FROM input WHERE turn >= ?1 AND turn < ?2 {only} ORDER BY turn",
    ))?;
    let mut rows = statement.query(turns)?;
    loop {
        let row = match rows.next() {
            Ok(Some(row)) => row,
            Ok(None) => return Ok(counted),
            Err(_) => {
                counted.damaged = true;
                return Ok(counted);
            }
        };
        let read = || -> rusqlite::Result<(i64, Row)> {
            let at = row.get(0)?;
            Ok((at, Row { kind: row.get(1)?, source: row.get(2)?, body: row.get(3)? }))
        };
        let input = read().ok().and_then(|(at, row)| Some((at, record::input(fleet, row)?)));
        match input {
            Some((at, input)) => {
                counted.inputs += 1;
                each(Moment(at), input);
            }
            None => counted.unread += 1,
        }
    }
}

/// The newest turn in the file, of all its sessions; 0 when it is empty.
pub(super) fn last_turn(connection: &Connection) -> Result<u64, JournalError> {
    let newest: i64 = connection.query_row(
        "SELECT max(coalesce((SELECT max(turn) FROM input), 0),
                    coalesce((SELECT max(turn) FROM event), 0),
                    coalesce((SELECT max(turn) FROM setup), 0),
                    coalesce((SELECT max(first_turn) FROM session), 0))",
        [],
        |row| row.get(0),
    )?;
    Ok(newest.max(0).unsigned_abs())
}

fn read_only(path: &Path) -> Result<Connection, JournalError> {
    Ok(Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?)
}

/// The first turn and the beginning of every session in a day's file.
///
/// # Errors
/// When it is no day's file.
pub fn sessions(path: &Path) -> Result<Vec<(u64, Moment)>, JournalError> {
    let connection = read_only(path)?;
    let mut statement = connection.prepare("SELECT first_turn, began_ms FROM session ORDER BY first_turn")?;
    let rows = statement.query_map([], |row| {
        let first: i64 = row.get(0)?;
        Ok((first.max(0).unsigned_abs(), Moment(row.get(1)?)))
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// The newest set-up in a day's file; `None` when it holds none that can be read.
///
/// # Errors
/// When it is no day's file.
pub fn setup_of(path: &Path) -> Result<Option<Setup>, JournalError> {
    let body: Option<String> = read_only(path)?
        .query_row("SELECT body FROM setup ORDER BY turn DESC LIMIT 1", [], |row| row.get(0))
        .optional()?;
    Ok(body.and_then(|body| record::setup(body.as_bytes())))
}

/// Copies a day's file, whole and consistent, while it is being written.
///
/// # Errors
/// When it is no day's file, or `to` exists or cannot be written.
pub fn copy_into(from: &Path, to: &Path) -> Result<(), JournalError> {
    let connection = read_only(from)?;
    connection.query_row("SELECT count(*) FROM session", [], |row| row.get::<_, i64>(0))?;
    connection.execute("VACUUM INTO ?1", [to.to_string_lossy()])?;
    Ok(())
}
