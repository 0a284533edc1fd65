//! Building the watch anew from the journal: after a restart, and for another set-up.
//!
//! A new set-up is built beside the running watch, which goes on; what arrives meanwhile is
//! remembered and given to the new one before it takes over.

use std::{path::PathBuf, time::Duration};

use dunlin_engine::{Engine, Setup, moment::Moment};
use tokio::sync::{oneshot, watch};

use crate::{
    journal::{Counted, JournalError, Progress, inputs_between, record},
    link::{Done, Refusal},
};

/// Inputs remembered while a new watch is built. Beyond it the new set-up is refused.
const REMEMBERED_MAX: usize = 500_000;

/// How long the journal may take to write what the new watch is built from.
const FLUSH: Duration = Duration::from_secs(10);

/// Where the inputs of the running session are.
#[derive(Clone, Debug)]
pub struct Day {
    /// The day's file.
    pub path: PathBuf,
    /// The session's first turn.
    pub first_turn: u64,
}

/// A watch that is being built.
#[derive(Debug)]
pub struct Rebuild {
    ready: oneshot::Receiver<Result<Engine, JournalError>>,
    /// Inputs since it began, as they are stored: boats go by their number, not by their place in a
    /// fleet that is about to change.
    since: Vec<(Moment, record::Row)>,
    reply: oneshot::Sender<Result<Done, Refusal>>,
}

/// A watch that is ready to take over.
#[derive(Debug)]
pub struct Built {
    /// It.
    pub engine: Engine,
    /// Who waits for it.
    pub reply: oneshot::Sender<Result<Done, Refusal>>,
}

impl Rebuild {
    /// Begins to build a watch over `setup` from the session's inputs before `turn`.
    pub fn begin(
        day: Day,
        progress: watch::Receiver<Progress>,
        turn: u64,
        setup: Setup,
        reply: oneshot::Sender<Result<Done, Refusal>>,
    ) -> Rebuild {
        let (ready_in, ready) = oneshot::channel();
        tokio::spawn(async move {
            let built = build(day, progress, turn, setup).await;
            // The driver may have given it up for a newer one.
            drop(ready_in.send(built));
        });
        Rebuild { ready, since: Vec::new(), reply }
    }

    /// Remembers an input for the new watch.
    pub fn remember(&mut self, at: Moment, row: &record::Row) {
        // One more than allowed is kept, as the sign that there were too many.
        if self.since.len() <= REMEMBERED_MAX {
            self.since.push((at, row.clone()));
        }
    }

    /// Gives it up and says so to whoever waits.
    pub fn refuse(self) {
        drop(self.reply.send(Err(Refusal::NotBuilt)));
    }

    /// Waits for the watch in `slot` and takes it out; for ever while there is none. `None` when it
    /// could not be built, of which whoever waits was told.
    pub async fn done(slot: &mut Option<Rebuild>) -> Option<Built> {
        let ready = match slot.as_mut() {
            Some(rebuild) => (&mut rebuild.ready).await,
            None => std::future::pending().await,
        };
        let Rebuild { since, reply, .. } = slot.take()?;
        let built = match ready {
            Ok(Ok(engine)) if since.len() <= REMEMBERED_MAX => Some(engine),
            Ok(Ok(_)) | Err(_) => None,
            Ok(Err(error)) => {
                tracing::warn!(error = &error as &dyn std::error::Error, "Watch not built anew.");
                None
            }
        };
        let Some(mut engine) = built else {
            drop(reply.send(Err(Refusal::NotBuilt)));
            return None;
        };
        let fleet = engine.setup().fleet.clone();
        for (at, row) in since {
            if let Some(input) = record::input(&fleet, row) {
                drop(engine.on(at, input)); // told already, by the watch that ran meanwhile
            }
        }
        Some(Built { engine, reply })
    }
}

async fn build(
    day: Day,
    mut progress: watch::Receiver<Progress>,
    turn: u64,
    setup: Setup,
) -> Result<Engine, JournalError> {
    // A journal that does not get there leaves the newest inputs out; the watch is built all the
    // same, since the set-up is what people asked for.
    let written = async {
        // An error means that the journal is closed, which ends the program as well.
        progress.wait_for(|progress| turn <= progress.recorded + 1).await.is_ok()
    };
    let _late = tokio::time::timeout(FLUSH, written).await;
    let build = move || {
        let mut engine = Engine::new(setup);
        let counted = warm(&mut engine, &day, turn)?;
        tracing::info!(inputs = counted.inputs, unread = counted.unread, "Watch built anew.");
        Ok(engine)
    };
    match tokio::task::spawn_blocking(build).await {
        Ok(built) => built,
        Err(error) => Err(JournalError::Thread(std::io::Error::other(error))),
    }
}

/// Inputs handed over at a time, and such portions that wait.
const PORTION: usize = 512;
const PORTIONS_MAX: usize = 8;

/// Gives `engine` the session's inputs before turn `end`; what it says to them was told then. A
/// thread reads ahead, since people wait for this after a restart.
///
/// # Errors
/// When the day's file cannot be opened.
pub fn warm(engine: &mut Engine, day: &Day, end: u64) -> Result<Counted, JournalError> {
    let fleet = engine.setup().fleet.clone();
    std::thread::scope(|scope| {
        let (portions_in, portions) = std::sync::mpsc::sync_channel(PORTIONS_MAX);
        let reading = scope.spawn(move || {
            let mut portion = Vec::with_capacity(PORTION);
            let counted = inputs_between(&day.path, day.first_turn, end, &fleet, |at, input| {
                portion.push((at, input));
                if portion.len() == PORTION {
                    let full = std::mem::replace(&mut portion, Vec::with_capacity(PORTION));
                    // The receiver is there until this thread has ended.
                    drop(portions_in.send(full));
                }
            });
            drop(portions_in.send(portion));
            counted
        });
        for portion in portions {
            for (at, input) in portion {
                drop(engine.on(at, input));
            }
        }
        match reading.join() {
            Ok(counted) => counted,
            Err(_) => Err(JournalError::Thread(std::io::Error::other("the reader failed"))),
        }
    })
}
