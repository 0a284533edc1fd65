//! The hub: what tablets, phones and people's browsers talk to.

pub mod act;
pub mod alert_line;
pub mod answers;
pub mod api;
pub mod assets;
pub mod board;
pub mod clerk;
pub mod exports;
pub mod feed;
pub mod health;
pub mod json;
pub mod limits;
pub mod live;
pub mod overdue;
pub mod phone_wire;
pub mod phones;
pub mod routes;
pub mod serve;
pub mod setup;
pub mod sockets;
pub mod spread;
pub mod undo;
pub mod view;
pub mod wire;

pub use serve::serve;

use std::{
    path::PathBuf,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use axum::extract::ws::Utf8Bytes;
use tokio::sync::{broadcast, mpsc, watch};

use crate::{
    access::{keys::Keys, lockout::Lockout, pins::Ways},
    clock::Clock,
    day::desk::Desk,
    link::Link,
    papers::{Papers, PapersError},
};
use board::Board;

/// A message for all tablets, encoded once.
#[derive(Clone, Debug)]
pub enum Urgent {
    /// To be passed on as it is.
    Text {
        /// For instructors and duty officers.
        staff: Utf8Bytes,
        /// For viewers, where that differs.
        viewers: Option<Utf8Bytes>,
    },
    /// Something was missed: every tablet is to be given a snapshot.
    Anew,
}

/// The newest tick, encoded once for all tablets that kept up.
#[derive(Clone, Debug, Default)]
pub struct TickText {
    /// Its number; ticks are numbered without gaps.
    pub number: u64,
    /// What changed since the tick before.
    pub text: Utf8Bytes,
}

/// What the hub knows of itself besides its parts.
#[derive(Clone, Debug, Default)]
pub struct About {
    /// The centre's name; empty when not given.
    pub centre: String,
    /// Whether this is the invented demonstration: everyone on loopback is duty officer.
    pub demo: bool,
    /// Host names that are ours besides addresses, `localhost` and `.local` names.
    pub names: Vec<String>,
    /// Whether pages are served by HTTPS, so that cookies may ask for it.
    pub secure: bool,
    /// The authority that devices are to trust; `None`: plain HTTP, or a certificate of the
    /// centre's own.
    pub authority: Option<TrustMe>,
    /// A local base map.
    pub base_map: Option<PathBuf>,
    /// The folder of the days' files.
    pub days: PathBuf,
    /// When the program began watching, ms UTC.
    pub watching_since_ms: i64,
}

/// The local authority's certificate, for devices that are to trust it.
#[derive(Clone, Debug)]
pub struct TrustMe {
    /// In DER.
    pub der: Vec<u8>,
    /// SHA-256, as devices show it.
    pub fingerprint: String,
}

/// The hub. Shared by every connection.
#[derive(Debug)]
pub struct Hub {
    /// The way to the driver.
    pub link: Link,
    /// The program's clock.
    pub clock: Clock,
    /// Who holds which key.
    pub keys: Keys,
    /// PINs and invitations.
    pub ways: Ways,
    /// How often secrets may be tried.
    pub lockout: Lockout,
    /// Keys, set-up versions, the day.
    pub papers: Papers,
    /// The day's papers. Held while a change is written, so that changes come one at a time.
    pub desk: tokio::sync::Mutex<Desk>,
    /// What tablets were answered.
    pub answers: answers::Answers,
    /// What can be taken back.
    pub undo: undo::Undos,
    /// The phones on board.
    pub phones: phones::Phones,
    /// Sockets that are open.
    pub sockets: sockets::Sockets,
    /// How often each address asks.
    pub requests: sockets::Requests,
    /// The rest.
    pub about: About,
    board: Mutex<Board>,
    urgent: broadcast::Sender<Urgent>,
    ticks: watch::Sender<Arc<TickText>>,
    signal: watch::Sender<Option<phone_wire::PhoneSignal>>,
    clerk: mpsc::Sender<clerk::Work>,
}

impl Hub {
    /// Opens the hub; [`spread::run`] and [`clerk::run`] must then be started.
    ///
    /// # Errors
    /// When the papers cannot be read.
    pub async fn open(
        link: Link,
        clock: Clock,
        papers: Papers,
        about: About,
    ) -> Result<(Arc<Hub>, mpsc::Receiver<clerk::Work>), PapersError> {
        let (urgent, _) = broadcast::channel(limits::URGENT_MAX);
        let (ticks, _) = watch::channel(Arc::default());
        let (clerk, work) = mpsc::channel(clerk::WORK_MAX);
        let hub = Hub {
            keys: Keys::load(papers.clone()).await?,
            desk: tokio::sync::Mutex::new(Desk::load(papers.clone()).await?),
            ways: Ways::load(papers.clone()).await?,
            lockout: Lockout::default(),
            phones: phones::Phones::default(),
            answers: answers::Answers::default(),
            undo: undo::Undos::default(),
            sockets: sockets::Sockets::default(),
            requests: sockets::Requests::default(),
            board: Mutex::default(),
            link,
            clock,
            papers,
            about,
            urgent,
            ticks,
            signal: watch::Sender::new(None),
            clerk,
        };
        Ok((Arc::new(hub), work))
    }

    /// The time for people and papers, ms UTC: the same scale as the watch's own.
    pub fn now_ms(&self) -> i64 {
        self.clock.now().0
    }

    /// The board. Held for moments only, never over an await.
    pub fn board(&self) -> MutexGuard<'_, Board> {
        self.board.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Tells all tablets. The board is passed to show that it is held: a tablet that joins then
    /// gets each message either in its snapshot or after it, never twice and never not at all.
    pub fn tell(&self, _board: &Board, messages: impl IntoIterator<Item = wire::ToTablet>) {
        for message in messages {
            let viewers = match &message {
                wire::ToTablet::Day(day) => {
                    Some(encode(&wire::ToTablet::Day(crate::day::told::for_viewers(day))))
                }
                _ => None,
            };
            // An error only says that no tablet is connected.
            drop(self.urgent.send(Urgent::Text { staff: encode(&message), viewers }));
        }
    }

    /// Asks every tablet to begin anew.
    pub fn tell_anew(&self) {
        drop(self.urgent.send(Urgent::Anew));
    }

    /// A snapshot for one tablet, everything urgent from then on, and the number of its tick.
    pub fn join(&self, you: wire::You) -> (wire::Snapshot, broadcast::Receiver<Urgent>, u64) {
        let now_ms = self.now_ms();
        let board = self.board();
        let snapshot = board.snapshot(you, now_ms, self.about.watching_since_ms);
        (snapshot, self.urgent.subscribe(), board.tick_number())
    }

    /// The newest tick, and when there is a newer one.
    pub fn ticks(&self) -> watch::Receiver<Arc<TickText>> {
        self.ticks.subscribe()
    }

    /// The signal that stands, and when that changes.
    pub fn signals(&self) -> watch::Receiver<Option<phone_wire::PhoneSignal>> {
        self.signal.subscribe()
    }

    /// What the driver last published of the whole picture.
    pub fn picture(&self) -> Arc<crate::link::Picture> {
        self.link.picture()
    }
}

/// A message as text. It cannot fail: every message is plain data with text keys.
pub fn encode(message: &wire::ToTablet) -> Utf8Bytes {
    serde_json::to_string(message).unwrap_or_default().into()
}
