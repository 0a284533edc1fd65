//! The one thread that writes: batches, retries, and says how far it is.

use std::{
    sync::{Arc, PoisonError},
    time::{Duration, Instant},
};

use rusqlite::{Connection, ErrorCode};
use tokio::sync::watch;

use super::{BATCH_MS, Note, Progress, Shared};

/// How long it waits before it tries again to write what could not be written.
const RETRY: Duration = Duration::from_millis(500);

pub(super) struct Writer {
    connection: Connection,
    shared: Arc<Shared>,
    progress: watch::Sender<Progress>,
}

/// What was taken out of the queue and is being written.
struct Batch {
    notes: Vec<Note>,
    turn: u64,
    lost: u64,
    closing: bool,
}

impl Writer {
    pub(super) fn new(
        connection: Connection,
        shared: Arc<Shared>,
        progress: watch::Sender<Progress>,
    ) -> Writer {
        Writer { connection, shared, progress }
    }

    pub(super) fn run(&mut self) {
        let mut lost_written = 0;
        loop {
            let batch = self.take();
            loop {
                match self.write(&batch, lost_written) {
                    Ok(()) => {
                        lost_written = batch.lost;
                        self.progress.send_modify(|progress| {
                            progress.recorded = progress.recorded.max(batch.turn);
                            progress.trouble = None;
                            progress.lost = batch.lost;
                        });
                        break;
                    }
                    Err(error) => {
                        self.complain(&error);
                        if self.wait_to_retry() {
                            return;
                        }
                    }
                }
            }
            if batch.closing {
                self.close();
                return;
            }
        }
    }

    /// Waits until there is something to write and it is time to.
    fn take(&self) -> Batch {
        let mut queue = self.shared.lock();
        let mut since = None;
        loop {
            let waiting = !queue.notes.is_empty() || queue.turn > self.progress.borrow().recorded;
            if queue.closing || (waiting && queue.urgent) {
                break;
            }
            let left = match (waiting, since) {
                (false, _) => Duration::from_secs(3600),
                (true, None) => Duration::from_millis(BATCH_MS),
                (true, Some(since)) => {
                    Duration::from_millis(BATCH_MS).saturating_sub(Instant::elapsed(&since))
                }
            };
            if left.is_zero() {
                break;
            }
            if waiting && since.is_none() {
                since = Some(Instant::now());
            }
            let waited = self.shared.wake.wait_timeout(queue, left);
            queue = waited.unwrap_or_else(PoisonError::into_inner).0;
        }
        queue.urgent = false;
        queue.bytes = 0;
        Batch {
            notes: std::mem::take(&mut queue.notes),
            turn: queue.turn,
            lost: queue.lost,
            closing: queue.closing,
        }
    }

    fn write(&mut self, batch: &Batch, lost_written: u64) -> rusqlite::Result<()> {
        if batch.notes.is_empty() && batch.lost == lost_written {
            return Ok(());
        }
        let transaction = self.connection.transaction()?;
        for note in &batch.notes {
            match note {
                Note::Input { turn, at, row } => transaction
                    .prepare_cached(
                        "INSERT INTO input (turn, at_ms, kind, source, body) VALUES (?1, ?2, ?3, ?4, ?5)",
                    )?
                    .execute((turn.cast_signed(), at.0, row.kind, &row.source, &row.body))?,
                Note::Event { turn, place, at, said } => transaction
                    .prepare_cached(
                        "INSERT INTO event (turn, place, at_ms, kind, body) VALUES (?1, ?2, ?3, ?4, ?5)",
                    )?
                    .execute((turn.cast_signed(), *place as i64, at.0, said.kind, &said.body))?,
                Note::Setup { turn, at, body } => transaction
                    .prepare_cached("INSERT OR REPLACE INTO setup (turn, at_ms, body) VALUES (?1, ?2, ?3)")?
                    .execute((turn.cast_signed(), at.0, String::from_utf8_lossy(body)))?,
            };
        }
        if batch.lost > lost_written {
            transaction
                .prepare_cached("INSERT OR REPLACE INTO gap (turn, lost) VALUES (?1, ?2)")?
                .execute((batch.turn.cast_signed(), (batch.lost - lost_written).cast_signed()))?;
        }
        transaction.commit()
    }

    fn complain(&self, error: &rusqlite::Error) {
        let code = error.sqlite_error_code();
        let text = match code {
            Some(ErrorCode::DiskFull) => {
                "The disk is full, or the day's file has reached its limit: make room.".to_owned()
            }
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => {
                "The data folder cannot be written: check its permissions.".to_owned()
            }
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
                "Another program holds the day's file: close it.".to_owned()
            }
            _ => format!("The disk cannot be written: {error}"),
        };
        let lost = self.shared.lock().lost;
        self.progress.send_if_modified(|progress| {
            let new = progress.trouble.as_ref() != Some(&text) || progress.lost != lost;
            progress.trouble = Some(text);
            progress.lost = lost;
            new
        });
    }

    /// Waits before the next try; `true` when the program stops meanwhile, and there is no next try.
    fn wait_to_retry(&self) -> bool {
        let queue = self.shared.lock();
        if queue.closing {
            return true;
        }
        let waited = self.shared.wake.wait_timeout_while(queue, RETRY, |queue| !queue.closing);
        waited.unwrap_or_else(PoisonError::into_inner).0.closing
    }

    /// Leaves the day as one file, without a write-ahead log beside it.
    fn close(&mut self) {
        if let Err(error) = self.connection.pragma_update(None, "wal_checkpoint", "TRUNCATE") {
            tracing::debug!(%error, "Journal closed with its write-ahead log.");
        }
    }
}
