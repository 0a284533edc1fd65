//! The layout of a day's file, and the steps from older ones to it.

use std::path::Path;

use rusqlite::Connection;

use super::JournalError;

/// The newest layout and the steps that lead to it, oldest first. A step, once released, is never
/// changed.
const STEPS: &[&str] = &[include_str!("schema/0001_day.sql")];

/// Bytes of a page, SQLite's default.
const PAGE: u64 = 4096;

/// Opens a day's file for writing, creating it or bringing it up to the newest layout. It will not
/// grow beyond `max_bytes`.
///
/// # Errors
/// When it is of a newer dunlin, is no journal, or cannot be written.
pub fn open(path: &Path, max_bytes: u64) -> Result<Connection, JournalError> {
    let mut connection = Connection::open(path)?;
    connection.pragma_update(None, "journal_mode", "WAL")?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "secure_delete", "ON")?;
    connection.pragma_update(None, "max_page_count", max_pages(max_bytes))?;
    let found: i64 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    let known = STEPS.len() as i64;
    if found > known {
        return Err(JournalError::Newer { found, known });
    }
    for (number, step) in (1_i64..).zip(STEPS).skip(found.unsigned_abs() as usize) {
        let transaction = connection.transaction()?;
        transaction.execute_batch(step)?;
        transaction.pragma_update(None, "user_version", number)?;
        transaction.commit()?;
    }
    Ok(connection)
}

/// At least enough for the empty tables.
fn max_pages(max_bytes: u64) -> i64 {
    i64::try_from(max_bytes / PAGE).unwrap_or(i64::MAX).max(32)
}
