//! The desk: where the day's papers are kept and written. One change at a time, on disk before it
//! counts.

use rusqlite::params;

use super::{
    book::Book,
    change::{self, Facts},
    record::{Entry, Record},
    retention,
};
use crate::papers::{Papers, PapersError};

/// Why a change was not made.
#[derive(Debug, thiserror::Error)]
pub enum DeskError {
    /// It cannot be done as things stand; the text is for the person who asked.
    #[error("{0}")]
    Refused(String),
    /// It could not be written down.
    #[error("it could not be written down: the disk may be full")]
    Papers(#[from] PapersError),
}

/// The papers of the newest session, and their entries.
#[derive(Debug)]
pub struct Desk {
    papers: Papers,
    entries: Vec<Entry>,
    book: Book,
}

impl Desk {
    /// Reads the newest session and what outlives sessions.
    ///
    /// # Errors
    /// When the papers cannot be read.
    pub async fn load(papers: Papers) -> Result<Desk, PapersError> {
        let entries = papers
            .with(|connection| {
                let newest: u32 =
                    connection
                        .query_row("SELECT coalesce(max(session), 0) FROM entry", [], |row| row.get(0))?;
                entries_of(connection, newest)
            })
            .await?;
        let book = Book::of(&entries);
        Ok(Desk { papers, entries, book })
    }

    /// The papers as they stand.
    pub fn book(&self) -> &Book {
        &self.book
    }

    /// The entries they are the sum of, in order.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Writes records down; they count when this returns `Ok`. Gives the numbers of the entries.
    ///
    /// # Errors
    /// When they cannot be written; nothing has then changed.
    pub async fn write(&mut self, by: &str, at_ms: i64, records: Vec<Record>) -> Result<Vec<i64>, DeskError> {
        let mut entries: Vec<Entry> = Vec::with_capacity(records.len());
        let mut session = self.book.session.as_ref().map_or(0, |session| session.id);
        let mut is_open = self.book.open_session().is_some();
        let mut starts_anew = false;
        for record in records {
            if matches!(record, Record::Session(_)) && !is_open {
                (session, is_open, starts_anew) = (session + 1, true, true);
            }
            let session = if record.is_lasting() { 0 } else { session };
            entries.push(Entry { seq: 0, session, at_ms, by: by.to_owned(), record });
        }
        let rows = entries.clone();
        let numbers = self
            .papers
            .with(move |connection| {
                let mut insert = connection
                    .prepare("INSERT INTO entry (session, at_ms, by, record) VALUES (?1, ?2, ?3, ?4)")?;
                rows.iter()
                    .map(|entry| {
                        insert.insert(params![entry.session, entry.at_ms, entry.by, to_json(&entry.record)?])
                    })
                    .collect::<Result<Vec<i64>, rusqlite::Error>>()
            })
            .await?;
        if starts_anew {
            // Yesterday's people and lists are not today's.
            self.entries.retain(|entry| entry.session == 0);
            self.book = Book::of(&self.entries);
        }
        for (mut entry, seq) in entries.into_iter().zip(&numbers) {
            entry.seq = *seq;
            self.book.add(&entry);
            self.entries.push(entry);
        }
        Ok(numbers)
    }

    /// Takes entries back: the papers are then as if they had never been written.
    ///
    /// # Errors
    /// When a later entry rests on one of them, or the papers cannot be written.
    pub async fn undo(&mut self, numbers: &[i64], at_ms: i64) -> Result<(), DeskError> {
        let (undone, kept): (Vec<Entry>, Vec<Entry>) =
            self.entries.iter().cloned().partition(|entry| numbers.contains(&entry.seq));
        if undone.len() != numbers.len() {
            return Err(DeskError::Refused("it was taken back already".to_owned()));
        }
        for entry in &undone {
            may_undo(entry, &kept).map_err(DeskError::Refused)?;
        }
        let numbers = numbers.to_vec();
        self.papers
            .with(move |connection| {
                let mut update = connection.prepare("UPDATE entry SET undone_ms = ?2 WHERE seq = ?1")?;
                numbers.iter().try_for_each(|seq| update.execute(params![seq, at_ms]).map(drop))
            })
            .await?;
        self.entries = kept;
        self.book = Book::of(&self.entries);
        Ok(())
    }

    /// Removes a person and everything said of them, from all sessions on disk too.
    ///
    /// # Errors
    /// When the papers cannot be written; nothing has then changed.
    pub async fn delete_person(&mut self, person: u32, by: &str, at_ms: i64) -> Result<(), DeskError> {
        let Some(name) = self.book.people.get(&person).map(|person| person.name.clone()) else {
            return Err(DeskError::Refused("this person is not on the list".to_owned()));
        };
        let session = self.book.session.as_ref().map_or(0, |session| session.id);
        self.papers
            .with(move |connection| retention::forget_person(connection, session, person, &name))
            .await?;
        self.papers.settle().await?;
        self.read_again().await?;
        self.write(by, at_ms, vec![Record::Deleted { person }]).await.map(drop)
    }

    /// Deletes what ended before `before_ms`; whether that was anything.
    ///
    /// # Errors
    /// When the papers cannot be written.
    pub async fn forget_older(&mut self, before_ms: i64) -> Result<bool, DeskError> {
        let gone = self.papers.with(move |connection| retention::forget_older(connection, before_ms)).await?;
        if gone > 0 {
            self.papers.settle().await?;
            self.read_again().await?;
        }
        Ok(gone > 0)
    }

    async fn read_again(&mut self) -> Result<(), PapersError> {
        let read = Desk::load(self.papers.clone()).await?;
        (self.entries, self.book) = (read.entries, read.book);
        Ok(())
    }

    /// Checks a change against how things stand.
    ///
    /// # Errors
    /// Why it cannot be done.
    pub fn plan(
        &self,
        facts: Facts<'_>,
        asked: &crate::hub::wire::DayChange,
    ) -> Result<change::Outcome, DeskError> {
        change::plan(&self.book, facts, asked).map_err(DeskError::Refused)
    }
}

/// Entries of one session and those that outlive sessions, in order, without those undone.
///
/// # Errors
/// When the file cannot be read or holds a record this program does not know.
pub fn entries_of(connection: &rusqlite::Connection, session: u32) -> Result<Vec<Entry>, rusqlite::Error> {
    let mut rows = connection.prepare(
        "SELECT seq, session, at_ms, by, record FROM entry
         WHERE (session = 0 OR session = ?1) AND undone_ms IS NULL ORDER BY seq",
    )?;
    rows.query_map([session], entry)?.collect()
}

/// Entries of all sessions, in order, without those undone.
///
/// # Errors
/// As [`entries_of`].
pub fn all_entries(connection: &rusqlite::Connection) -> Result<Vec<Entry>, rusqlite::Error> {
    let mut rows = connection
        .prepare("SELECT seq, session, at_ms, by, record FROM entry WHERE undone_ms IS NULL ORDER BY seq")?;
    rows.query_map([], entry)?.collect()
}

fn entry(row: &rusqlite::Row<'_>) -> Result<Entry, rusqlite::Error> {
    Ok(Entry {
        seq: row.get(0)?,
        session: row.get(1)?,
        at_ms: row.get(2)?,
        by: row.get(3)?,
        record: from_json(&row.get::<_, String>(4)?, 4)?,
    })
}

pub(super) fn to_json(record: &Record) -> Result<String, rusqlite::Error> {
    serde_json::to_string(record).map_err(|error| rusqlite::Error::ToSqlConversionFailure(Box::new(error)))
}

pub(super) fn from_json(text: &str, column: usize) -> Result<Record, rusqlite::Error> {
    serde_json::from_str(text).map_err(|error| {
        rusqlite::Error::FromSqlConversionFailure(column, rusqlite::types::Type::Text, Box::new(error))
    })
}

/// Whether nothing written later rests on this entry.
fn may_undo(entry: &Entry, kept: &[Entry]) -> Result<(), String> {
    let later = || kept.iter().filter(|other| other.seq > entry.seq).map(|other| &other.record);
    match &entry.record {
        Record::Session(_)
        | Record::Closed { .. }
        | Record::Deleted { .. }
        | Record::WentOut { .. }
        | Record::CountedBack { .. }
        | Record::SignalSeen { .. } => Err("this cannot be taken back; write what is so instead".to_owned()),
        Record::Added { person, .. } => {
            let rests_on = |record: &Record| match record {
                Record::Placed { person: other, .. }
                | Record::Stood { person: other, .. }
                | Record::PersonNote { person: other, .. }
                | Record::Buoyancy { person: other, .. } => other == person,
                _ => false,
            };
            if later().any(rests_on) {
                return Err("something was written about this person since; delete them instead".to_owned());
            }
            Ok(())
        }
        Record::Defect { defect, .. } => {
            if later().any(|record| *record == Record::Mended { defect: *defect }) {
                return Err("the defect is mended already".to_owned());
            }
            Ok(())
        }
        Record::Placed { .. }
        | Record::Stood { .. }
        | Record::PersonNote { .. }
        | Record::Buoyancy { .. }
        | Record::Ready { .. }
        | Record::After { .. }
        | Record::Reefed { .. }
        | Record::Override { .. }
        | Record::Mended { .. }
        | Record::Items { .. }
        | Record::Rules(_)
        | Record::Note { .. }
        | Record::Signal { .. } => Ok(()),
    }
}
