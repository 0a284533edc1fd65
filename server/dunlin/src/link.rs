//! What passes between the driver, which owns the engine, and everything else in the program.
//!
//! ```text
//! feeds, phones --Arrival--> driver --Publish--> hub --> tablets
//! tablets --> hub --Ask---->   |    --Picture-->
//!                           journal
//! ```
//!
//! A [`Link`] is the hub's end: cheap to clone, one for each connection.

use std::{collections::BTreeMap, net::SocketAddr, path::PathBuf, sync::Arc};

use dunlin_engine::{
    effect::{Alert, Effect, WindNow},
    fixes::SourceHealth,
    input::{Command, Report},
    moment::Moment,
    view::{AssignedView, BoatView, NeedView, StrangerView, StreamView},
};
use tokio::sync::{broadcast, mpsc, oneshot, watch};

pub use dunlin_engine::Setup as SetUp;

use crate::{clock::Clock, config::HubConfig, stop::Stop};

/// Messages of [`Publish`] kept for a hub that is slow to read. Beyond it the oldest are lost to
/// that reader, who sees `Lagged` and must start again from the [`Picture`].
pub const PUBLISH_MAX: usize = 4096;

/// Questions waiting for the driver. When full, [`Link::ask`] waits its turn: people are slow.
pub const ASKS_MAX: usize = 256;

/// Told once, in order, as it happens.
#[derive(Clone, Debug)]
pub enum Publish {
    /// What one turn of the engine had to say. Sent before it is on disk.
    Effects {
        /// The turn's number; grows, never repeats within a run of the program.
        turn: u64,
        /// When, on the engine's scale.
        at: Moment,
        /// In the order in which they happened. Never empty.
        effects: Arc<[Effect]>,
    },
    /// Where a boat was while nobody could hear her: positions that her phone kept and sent late. The
    /// picture shows only the newest of what came at once.
    Late {
        /// Her, as believed at each of them, oldest first. Never empty.
        views: Vec<BoatView>,
    },
    /// Everything up to and including this turn is on disk.
    Recorded {
        /// The newest durable turn.
        turn: u64,
    },
    /// A trouble of the program itself began, changed or ended.
    Notice(Notice),
    /// The watch was built anew, from another set-up or for another session: what was told before
    /// does not hold any more, alerts may have other numbers. Start again from the [`Picture`], which
    /// is already there.
    Renewed {
        /// The turn from which the new watch speaks.
        turn: u64,
    },
}

/// A trouble of the program itself that every tablet shows while it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// Which.
    pub kind: NoticeKind,
    /// When it began; `None`: it is over.
    pub since: Option<Moment>,
    /// In a sentence, for people: what is wrong and what to do.
    pub text: String,
}

/// The troubles a tablet shows.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum NoticeKind {
    /// The journal cannot keep up or cannot write: nothing is confirmed while it lasts.
    NotRecording,
    /// The computer's clock was set while running.
    ClockMoved,
    /// A feed sends more than dunlin takes; lines of it are dropped and counted.
    FeedTooFast(String),
    /// A feed is down.
    FeedDown(String),
    /// A day's file was damaged and set aside.
    JournalDamaged,
    /// The program was down: nobody was watching between the two moments in the text.
    WatchGap,
    /// The day should have ended, and boats that nobody counted back or alerts keep it open.
    DayKeptOpen,
}

impl NoticeKind {
    /// The word for it in every output: `not-recording`, `feed-down`.
    pub fn word(&self) -> &'static str {
        match self {
            NoticeKind::NotRecording => "not-recording",
            NoticeKind::ClockMoved => "clock-moved",
            NoticeKind::FeedTooFast(_) => "feed-too-fast",
            NoticeKind::FeedDown(_) => "feed-down",
            NoticeKind::JournalDamaged => "journal-damaged",
            NoticeKind::WatchGap => "watch-gap",
            NoticeKind::DayKeptOpen => "day-kept-open",
        }
    }

    /// The feed it concerns, if it concerns one.
    pub fn feed(&self) -> Option<&str> {
        match self {
            NoticeKind::FeedTooFast(feed) | NoticeKind::FeedDown(feed) => Some(feed),
            NoticeKind::NotRecording
            | NoticeKind::ClockMoved
            | NoticeKind::JournalDamaged
            | NoticeKind::WatchGap
            | NoticeKind::DayKeptOpen => None,
        }
    }
}

/// All there is to see at one moment: what a tablet that has just joined is given.
///
/// Replaced as a whole at most [`PICTURES_PER_S`] times a second; only the newest one is kept.
#[derive(Clone, Debug)]
pub struct Picture {
    /// When, on the engine's scale.
    pub at: Moment,
    /// The newest turn it contains; [`Publish::Effects`] up to it are already in it.
    pub turn: u64,
    /// The newest turn that is on disk.
    pub recorded: u64,
    /// The set-up in force.
    pub setup: Arc<SetUp>,
    /// Alerts standing and lately cleared.
    pub alerts: Vec<Alert>,
    /// Every boat, in fleet order.
    pub boats: Vec<BoatView>,
    /// Who needs help, first first.
    pub needs: Vec<NeedView>,
    /// Sources that no boat claims.
    pub strangers: Vec<StrangerView>,
    /// Sources that people have given to a boat, or taken from her; refreshed once a second.
    pub assigned: Arc<[AssignedView]>,
    /// The wind; `None`: unknown.
    pub wind: Option<WindNow>,
    /// The tidal stream in force; `None`: unknown.
    pub stream: Option<StreamView>,
    /// The feeds and how they do.
    pub feeds: Vec<FeedHealth>,
    /// The sources heard through them and how they do; refreshed once a second.
    pub sources: Arc<[SourceHealth]>,
    /// Troubles that stand.
    pub notices: Vec<Notice>,
}

/// Pictures a second at most; a turn with an alert in it makes one at once.
pub const PICTURES_PER_S: u32 = 5;

/// How a feed does.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FeedHealth {
    /// As the set-up names it.
    pub name: String,
    /// `tcp-connect`, `tcp-listen`, `udp`, `serial`, `file`, `stdin`, `phone`.
    pub kind: &'static str,
    /// Where it listens, with the port that the system gave when none was asked for.
    pub listens: Option<SocketAddr>,
    /// Whether it is open now (a listening socket counts as open).
    pub up: bool,
    /// Why not, in a sentence; `None` while all is well.
    pub trouble: Option<String>,
    /// Connections to it now (TCP and phones).
    pub connections: u32,
    /// Bytes read since the start.
    pub bytes: u64,
    /// Lines or reports taken since the start.
    pub lines: u64,
    /// Lines refused since the start, by cause (`wrong-checksum`); one that never happened is absent.
    pub refused: BTreeMap<&'static str, u64>,
    /// The newest refusal: when, and in words with the beginning of what was refused.
    pub latest_refusal: Option<(Moment, String)>,
    /// Times it was opened again after a loss.
    pub reconnects: u64,
    /// When its newest byte came; `None`: never.
    pub heard: Option<Moment>,
}

/// A question to the driver.
#[derive(Debug)]
pub enum Ask {
    /// A person decided something. Answered once it is on disk.
    Command {
        /// Who.
        by: String,
        /// What.
        command: Command,
        /// Where the answer goes.
        reply: oneshot::Sender<Result<Done, Refusal>>,
    },
    /// A phone reports, oldest first. Answered once it is on disk.
    Reports {
        /// The source the phone's key stands for.
        source: String,
        /// What it said.
        reports: Vec<Report>,
        /// Where the answer goes.
        reply: oneshot::Sender<Result<Done, Refusal>>,
    },
    /// Another site or fleet from now on. The session's inputs so far are run through it again.
    SetUp {
        /// Who.
        by: String,
        /// The new set-up, checked.
        setup: SetUp,
        /// Where the answer goes.
        reply: oneshot::Sender<Result<Done, Refusal>>,
    },
}

/// Reports that the engine has, and that are on their way to the disk.
#[derive(Debug)]
pub struct Pending(oneshot::Receiver<Result<Done, Refusal>>);

impl Pending {
    /// Waits until they are on disk.
    ///
    /// # Errors
    /// As [`Refusal`] says; the phone should keep the reports and send them again then.
    pub async fn done(self) -> Result<Done, Refusal> {
        self.0.await.map_err(|_| Refusal::Stopping)?
    }
}

/// What was asked is done and on disk.
#[derive(Clone, Debug)]
pub struct Done {
    /// When it took effect.
    pub at: Moment,
    /// The turn it took effect in.
    pub turn: u64,
    /// What the engine had to say to it.
    pub effects: Arc<[Effect]>,
}

/// Why what was asked is not done, or not known to be.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// There is no such alert.
    #[error("this alert does not exist")]
    NoSuchAlert,
    /// The alert is over.
    #[error("this alert is already over")]
    AlertOver,
    /// There is no such boat.
    #[error("this boat does not exist")]
    NoSuchBoat,
    /// It took effect, but the journal could not write it down.
    #[error("it took effect but could not be recorded: the journal is not writing")]
    NotRecorded,
    /// Another set-up could not be put in force: the session so far could not be read back, or a
    /// newer set-up came before it was ready. What was in force stays.
    #[error("the new set-up could not be put in force; the old one stays")]
    NotBuilt,
    /// The program is stopping.
    #[error("dunlin is stopping")]
    Stopping,
}

/// All that the hub is started with.
#[derive(Debug)]
pub struct HubStart {
    /// What concerns the pages.
    pub config: HubConfig,
    /// The folder in which the hub keeps its keys, certificates and papers.
    pub data: PathBuf,
    /// The driver.
    pub link: Link,
    /// The program's clock, by which people are told the time as well.
    pub clock: Clock,
    /// Whether this is the invented demonstration: plain HTTP on loopback, no code asked for.
    pub demo: bool,
    /// When to end.
    pub stop: Stop,
}

/// The hub's end of the driver.
#[derive(Clone, Debug)]
pub struct Link {
    asks: mpsc::Sender<Ask>,
    publish: broadcast::Sender<Publish>,
    picture: watch::Receiver<Arc<Picture>>,
}

impl Link {
    /// Joins the ends; the driver makes one of these.
    pub fn new(
        asks: mpsc::Sender<Ask>,
        publish: broadcast::Sender<Publish>,
        picture: watch::Receiver<Arc<Picture>>,
    ) -> Link {
        Link { asks, publish, picture }
    }

    /// Everything told from now on. Subscribe first, then look at the picture: what is in both is
    /// known by its turn.
    pub fn subscribe(&self) -> broadcast::Receiver<Publish> {
        self.publish.subscribe()
    }

    /// The newest picture.
    pub fn picture(&self) -> Arc<Picture> {
        self.picture.borrow().clone()
    }

    /// A receiver that wakes when the picture was replaced.
    pub fn pictures(&self) -> watch::Receiver<Arc<Picture>> {
        self.picture.clone()
    }

    /// Tells the engine what a person decided; returns once it is on disk.
    ///
    /// # Errors
    /// As [`Refusal`] says; after `NotRecorded` the decision is in force all the same.
    pub async fn command(&self, by: &str, command: Command) -> Result<Done, Refusal> {
        let (reply, answer) = oneshot::channel();
        let by = by.to_owned();
        self.ask(Ask::Command { by, command, reply }, answer).await
    }

    /// Gives the engine a phone's reports, oldest first. Returns as soon as the engine has them in
    /// its queue; the record of them is waited for with [`Pending::done`].
    ///
    /// # Errors
    /// `Stopping`; nothing was taken then.
    pub async fn reports(&self, source: &str, reports: Vec<Report>) -> Result<Pending, Refusal> {
        let (reply, answer) = oneshot::channel();
        let ask = Ask::Reports { source: source.to_owned(), reports, reply };
        self.asks.send(ask).await.map_err(|_| Refusal::Stopping)?;
        Ok(Pending(answer))
    }

    /// Puts another site or fleet in force; returns once it is on disk.
    ///
    /// # Errors
    /// As [`Refusal`] says.
    pub async fn set_up(&self, by: &str, setup: SetUp) -> Result<Done, Refusal> {
        let (reply, answer) = oneshot::channel();
        let by = by.to_owned();
        self.ask(Ask::SetUp { by, setup, reply }, answer).await
    }

    async fn ask(&self, ask: Ask, answer: oneshot::Receiver<Result<Done, Refusal>>) -> Result<Done, Refusal> {
        self.asks.send(ask).await.map_err(|_| Refusal::Stopping)?;
        answer.await.map_err(|_| Refusal::Stopping)?
    }
}
