//! The papers of the centre: keys, set-up versions, and what people wrote down during the day.
//!
//! They live in a file of their own beside the journal. The journal holds what was heard, fills
//! fast and is cut by age; these are few, outlive it, and each write is on disk before its answer.

use std::{
    path::Path,
    sync::mpsc::{SyncSender, sync_channel},
    thread,
};

use rusqlite::{Connection, OpenFlags};
use tokio::sync::oneshot;

/// The papers' file in the data folder.
pub const FILE: &str = "papers.sqlite";

/// Writes and reads waiting for the file. When full, [`Papers::with`] waits its turn.
const JOBS_MAX: usize = 64;

/// The newest layout of the file, and the steps that lead to it.
const STEPS: &[&str] = &[include_str!("schema/0001_papers.sql")];

/// Why the papers could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum PapersError {
    /// The file is from a newer dunlin; nothing was touched.
    #[error("the papers were written by a newer dunlin (layout {found}, this one knows {known})")]
    Newer {
        /// Layout number in the file.
        found: u32,
        /// The newest this program knows.
        known: u32,
    },
    /// SQLite could not do it: the disk is full, the file is damaged or not ours to write.
    #[error("the papers cannot be read or written")]
    Sqlite(#[from] rusqlite::Error),
    /// The thread that owns the file could not be started, or has ended.
    #[error("the papers are closed")]
    Closed,
}

type Job = Box<dyn FnOnce(&mut Connection) + Send>;

/// The papers, open. Cheap to clone; the file is closed when the last clone is gone.
#[derive(Clone, Debug)]
pub struct Papers {
    jobs: SyncSender<Job>,
}

impl Papers {
    /// Opens the file, creating it or bringing it up to the newest layout.
    ///
    /// # Errors
    /// As [`PapersError`] says; the caller names the file.
    pub fn open(path: &Path) -> Result<Papers, PapersError> {
        Papers::start(Connection::open(path)?)
    }

    /// Papers that are gone with the process: for the demo and for tests.
    ///
    /// # Errors
    /// When SQLite cannot even do that.
    pub fn in_memory() -> Result<Papers, PapersError> {
        Papers::start(Connection::open_in_memory()?)
    }

    fn start(mut connection: Connection) -> Result<Papers, PapersError> {
        prepare(&mut connection)?;
        let (jobs, waiting) = sync_channel::<Job>(JOBS_MAX);
        thread::Builder::new()
            .name("papers".to_owned())
            .spawn(move || {
                while let Ok(job) = waiting.recv() {
                    job(&mut connection);
                }
            })
            .map_err(|_| PapersError::Closed)?;
        Ok(Papers { jobs })
    }

    /// Makes what was deleted disappear from the disk as well: it is overwritten in the file, and
    /// the log of changes beside it is emptied.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub async fn settle(&self) -> Result<(), PapersError> {
        let (reply, answer) = oneshot::channel();
        self.give(Box::new(move |connection| {
            let done = connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
            drop(reply.send(done));
        }))
        .await?;
        Ok(answer.await.map_err(|_| PapersError::Closed)??)
    }

    /// Runs `work` on the file, in one transaction that is on disk when this returns `Ok`.
    ///
    /// # Errors
    /// When the file cannot be read or written; nothing of `work` has then happened.
    pub async fn with<T, F>(&self, work: F) -> Result<T, PapersError>
    where
        T: Send + 'static,
        F: FnOnce(&Connection) -> Result<T, rusqlite::Error> + Send + 'static,
    {
        let (reply, answer) = oneshot::channel();
        let job: Job = Box::new(move |connection| {
            let done = connection.transaction().and_then(|transaction| {
                let value = work(&transaction)?;
                transaction.commit()?;
                Ok(value)
            });
            // Nobody waits for the answer any more: the work is done all the same.
            drop(reply.send(done));
        });
        self.give(job).await?;
        Ok(answer.await.map_err(|_| PapersError::Closed)??)
    }

    async fn give(&self, mut job: Job) -> Result<(), PapersError> {
        // The thread's queue is short and its jobs take milliseconds; a full queue is waited for
        // without holding up the runtime.
        while let Err(refused) = self.jobs.try_send(job) {
            match refused {
                std::sync::mpsc::TrySendError::Full(back) => job = back,
                std::sync::mpsc::TrySendError::Disconnected(_) => return Err(PapersError::Closed),
            }
            tokio::time::sleep(std::time::Duration::from_millis(2)).await;
        }
        Ok(())
    }
}

/// Copies the papers, whole and consistent, while they are being written.
///
/// # Errors
/// When they are no papers, or `to` exists or cannot be written.
pub fn copy_into(from: &Path, to: &Path) -> Result<(), PapersError> {
    let connection = Connection::open_with_flags(from, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    connection.query_row("SELECT count(*) FROM entry", [], |row| row.get::<_, i64>(0))?;
    connection.execute("VACUUM INTO ?1", [to.to_string_lossy()])?;
    Ok(())
}

fn prepare(connection: &mut Connection) -> Result<(), PapersError> {
    connection.pragma_update(None, "journal_mode", "WAL")?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "secure_delete", "ON")?;
    let found: u32 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    let known = u32::try_from(STEPS.len()).unwrap_or(u32::MAX);
    if found > known {
        return Err(PapersError::Newer { found, known });
    }
    for (step, sql) in (1..=known).zip(STEPS).filter(|(step, _)| *step > found) {
        let transaction = connection.transaction()?;
        transaction.execute_batch(sql)?;
        transaction.pragma_update(None, "user_version", step)?;
        transaction.commit()?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn what_fails_half_way_leaves_nothing() {
        let papers = Papers::in_memory().expect("memory");
        let failed = papers
            .with(|connection| {
                connection.execute("INSERT INTO setting VALUES ('a', 'b')", [])?;
                connection.execute("INSERT INTO nowhere VALUES (1)", [])
            })
            .await;
        assert!(failed.is_err());
        let kept: i64 = papers
            .with(|connection| connection.query_row("SELECT count(*) FROM setting", [], |row| row.get(0)))
            .await
            .expect("readable");
        assert_eq!(kept, 0);
    }

    #[test]
    fn a_file_of_a_newer_dunlin_is_left_alone() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("papers.sqlite");
        drop(Papers::open(&path).expect("new"));
        let connection = Connection::open(&path).expect("ours");
        connection.pragma_update(None, "user_version", 99).expect("set");
        drop(connection);
        assert!(matches!(Papers::open(&path), Err(PapersError::Newer { found: 99, .. })));
    }
}
