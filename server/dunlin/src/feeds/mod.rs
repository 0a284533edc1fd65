//! Bytes from the world to stamped lines in the driver's inbox.
//!
//! Each feed is a task of its own. Its lines share one inbox, in which no feed can hold more than
//! [`QUEUE_MAX`] and none can bring more than [`LINES_PER_S`]: one that floods waits (TCP, serial,
//! file) or loses its newest lines, counted (UDP), and the others do not feel it.

mod file;
pub mod framing;
mod serial;
mod tcp;
mod udp;

use std::{
    sync::{Arc, Mutex, MutexGuard, PoisonError},
    time::Duration,
};

use dunlin_engine::{input::FeedName, moment::Moment};
use tokio::{
    io::{AsyncRead, AsyncReadExt as _},
    sync::{OwnedSemaphorePermit, Semaphore, mpsc},
    time::Instant,
};

use self::framing::{Framer, Piece, tag_fields};
use crate::{
    clock::Clock,
    config::{FeedConfig, FeedKind},
    link::FeedHealth,
    stop::Stop,
};

/// Lines of one feed in the inbox at most.
pub const QUEUE_MAX: usize = 256;

/// Lines a second of one feed at most, sustained: 1,000 boats of four sentences through one port.
pub const LINES_PER_S: u32 = 5_000;

/// The first and the longest wait before a feed is opened again.
const BACK_OFF: (Duration, Duration) = (Duration::from_millis(500), Duration::from_secs(10));

/// A connection that says nothing for this long is taken for dead: a cable pulled at the far end
/// gives no sign. We connect again; a peer of ours has to.
const SILENT: Duration = Duration::from_secs(120);

/// Bytes read at a time.
const READ: usize = 8 * 1024;

/// One line on its way to the engine.
#[derive(Debug)]
pub struct Arrival {
    /// When the socket gave it.
    pub at: Moment,
    /// Which feed, by its place in the set-up.
    pub feed: usize,
    /// What its untagged lines go by.
    pub name: FeedName,
    /// Its bytes; only the first ones when `too_long`.
    pub line: Vec<u8>,
    /// It was longer than the engine takes.
    pub too_long: bool,
    /// Its place in the inbox, given back when it is dropped.
    _place: OwnedSemaphorePermit,
}

/// What the rest of the program sees of a feed.
#[derive(Clone, Debug)]
pub struct Watched(Arc<Mutex<State>>);

#[derive(Debug, Default)]
struct State {
    health: FeedHealth,
    slowed: Option<Moment>,
}

impl Watched {
    fn new(config: &FeedConfig) -> Watched {
        let health = FeedHealth {
            name: config.name.clone(),
            kind: config.kind.word(),
            trouble: Some("not open yet".to_owned()),
            ..FeedHealth::default()
        };
        Watched(Arc::new(Mutex::new(State { health, slowed: None })))
    }

    fn lock(&self) -> MutexGuard<'_, State> {
        // Counters hold no invariant that a panic half-way could break.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// How it does now.
    pub fn health(&self) -> FeedHealth {
        self.lock().health.clone()
    }

    /// When it last brought more than is taken; `None`: never.
    pub fn slowed(&self) -> Option<Moment> {
        self.lock().slowed
    }

    /// Counts a line that the engine is given now: counted where refusals are, the two always add up.
    pub fn take(&self) {
        self.lock().health.lines += 1;
    }

    /// Counts a refusal of one of its lines.
    pub fn refuse(&self, at: Moment, cause: &'static str, words: String) {
        let mut state = self.lock();
        *state.health.refused.entry(cause).or_default() += 1;
        state.health.latest_refusal = Some((at, words));
    }

    fn up(&self) {
        let mut state = self.lock();
        state.health.up = true;
        state.health.trouble = None;
    }

    fn down(&self, trouble: String) {
        let mut state = self.lock();
        state.health.up = false;
        state.health.trouble = Some(trouble);
    }
}

/// Starts the feed at place `feed` of the set-up; it runs until `stop`.
pub fn start(
    feed: usize,
    config: FeedConfig,
    clock: Clock,
    inbox: mpsc::UnboundedSender<Arrival>,
    stop: Stop,
) -> Watched {
    let watched = Watched::new(&config);
    let intake = Intake {
        feed,
        clock,
        inbox,
        watched: watched.clone(),
        room: Arc::new(Semaphore::new(QUEUE_MAX)),
        allowance: Arc::new(Mutex::new(Allowance::full())),
        config: Arc::new(config),
    };
    tokio::spawn(run(intake, stop));
    watched
}

async fn run(intake: Intake, mut stop: Stop) {
    let config = Arc::clone(&intake.config);
    let work = async {
        match &config.kind {
            FeedKind::TcpConnect { address } => tcp::connect(&intake, address).await,
            FeedKind::TcpListen { listen, allow } => tcp::listen(&intake, *listen, allow).await,
            FeedKind::Udp { listen, allow } => udp::listen(&intake, *listen, allow).await,
            FeedKind::Serial { device, baud } => serial::read(&intake, device, *baud).await,
            FeedKind::File { path } => file::follow(&intake, path).await,
            FeedKind::Stdin => file::stdin(&intake).await,
        }
    };
    tokio::select! {
        () = work => (),
        () = stop.wanted() => (),
    }
    intake.watched.down("stopped".to_owned());
}

/// The way of one feed's lines into the inbox. Clones share its place and its allowance.
#[derive(Clone, Debug)]
struct Intake {
    feed: usize,
    clock: Clock,
    inbox: mpsc::UnboundedSender<Arrival>,
    watched: Watched,
    room: Arc<Semaphore>,
    allowance: Arc<Mutex<Allowance>>,
    config: Arc<FeedConfig>,
}

impl Intake {
    /// What untagged lines go by.
    fn name(&self, peer: Option<std::net::IpAddr>) -> FeedName {
        match peer.filter(|_| self.config.source_by_address) {
            Some(peer) => FeedName(format!("{}/{}", self.config.name, peer.to_canonical())),
            None => FeedName(self.config.name.clone()),
        }
    }

    /// Reads to the end of the stream. A line that cannot be taken now waits, and with it the
    /// stream: whoever sends is held up, not the other feeds.
    async fn pump(&self, mut stream: impl AsyncRead + Unpin, name: FeedName) -> std::io::Result<()> {
        let mut framer = Framer::default();
        let mut buffer = vec![0; READ];
        let mut lines = Vec::new();
        loop {
            let read = tokio::time::timeout(SILENT, stream.read(&mut buffer)).await;
            let count = match read {
                Ok(count) => count?,
                Err(_) => {
                    let silent = format!("nothing heard for {} s", SILENT.as_secs());
                    return Err(std::io::Error::new(std::io::ErrorKind::TimedOut, silent));
                }
            };
            let at = self.clock.now();
            self.count(at, count);
            if count == 0 {
                framer.end(|piece| lines.push(owned(piece)));
            } else {
                framer.push(&buffer[..count], |piece| lines.push(owned(piece)));
            }
            for (line, too_long) in lines.drain(..) {
                self.give(at, &name, line, too_long).await;
            }
            if count == 0 {
                return Ok(());
            }
        }
    }

    fn count(&self, at: Moment, bytes: usize) {
        let mut state = self.watched.lock();
        state.health.bytes += bytes as u64;
        if bytes > 0 {
            state.health.heard = Some(at);
        }
    }

    /// Puts a line into the inbox, waiting for room and for the allowance.
    async fn give(&self, at: Moment, name: &FeedName, line: Vec<u8>, too_long: bool) {
        if !self.may_speak(at, &line) {
            return;
        }
        while let Err(wait) = self.spend() {
            self.watched.lock().slowed = Some(self.clock.now());
            tokio::time::sleep(wait).await;
        }
        // The semaphore is never closed.
        let Ok(place) = Arc::clone(&self.room).acquire_owned().await else { return };
        // What waited is stamped when it is taken: the engine's time does not go back.
        self.put(at, name, line, too_long, place);
    }

    /// Puts a line into the inbox if there is room now; otherwise it is lost and counted.
    fn give_now(&self, at: Moment, name: &FeedName, line: Vec<u8>, too_long: bool) {
        if !self.may_speak(at, &line) {
            return;
        }
        let place = Arc::clone(&self.room).try_acquire_owned().ok();
        match place.filter(|_| self.spend().is_ok()) {
            Some(place) => self.put(at, name, line, too_long, place),
            None => {
                self.watched.lock().slowed = Some(at);
                self.watched.refuse(at, "too-fast", "more lines than are taken".to_owned());
            }
        }
    }

    fn put(&self, at: Moment, name: &FeedName, line: Vec<u8>, too_long: bool, place: OwnedSemaphorePermit) {
        let name = name.clone();
        let arrival = Arrival { at, feed: self.feed, name, line, too_long, _place: place };
        // The driver is gone only when the program ends.
        let _gone = self.inbox.send(arrival);
    }

    /// Whether the feed may speak for the source that the line names.
    fn may_speak(&self, at: Moment, line: &[u8]) -> bool {
        if self.config.sources.is_empty() {
            return true;
        }
        let Some((_, source)) = tag_fields(line).find(|(letter, _)| *letter == b's') else {
            return true;
        };
        let may = self.config.sources.iter().any(|known| known.as_bytes() == source);
        if !may {
            let source = source.escape_ascii().to_string();
            let words = format!("may not speak for \"{source}\"");
            self.watched.refuse(at, "source-not-allowed", words);
        }
        may
    }

    fn spend(&self) -> Result<(), Duration> {
        let mut allowance = self.allowance.lock().unwrap_or_else(PoisonError::into_inner);
        allowance.spend(Instant::now())
    }
}

fn owned(piece: Piece) -> (Vec<u8>, bool) {
    match piece {
        Piece::Line(line) => (line.to_vec(), false),
        Piece::TooLong { start, .. } => (start.to_vec(), true),
    }
}

/// Lines that a feed may bring now; grows with time up to one second's worth.
#[derive(Debug)]
struct Allowance {
    lines: f64,
    as_of: Instant,
}

impl Allowance {
    fn full() -> Allowance {
        Allowance { lines: f64::from(LINES_PER_S), as_of: Instant::now() }
    }

    /// Takes one, or says how long to wait for it.
    fn spend(&mut self, now: Instant) -> Result<(), Duration> {
        let per_s = f64::from(LINES_PER_S);
        let since = now.saturating_duration_since(self.as_of).as_secs_f64();
        self.lines = (self.lines + since * per_s).min(per_s);
        self.as_of = now;
        if self.lines >= 1.0 {
            self.lines -= 1.0;
            return Ok(());
        }
        Err(Duration::from_millis(10))
    }
}

/// Waits that double from the first to the longest, and begin again after a success.
#[derive(Debug)]
struct BackOff(Duration);

impl BackOff {
    fn new() -> BackOff {
        BackOff(BACK_OFF.0)
    }

    async fn wait(&mut self) {
        tokio::time::sleep(self.0).await;
        self.0 = (self.0 * 2).min(BACK_OFF.1);
    }

    fn reset(&mut self) {
        self.0 = BACK_OFF.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_allowance_is_a_seconds_worth_and_grows_back() {
        let mut allowance = Allowance::full();
        let start = allowance.as_of;
        let taken = (0..2 * LINES_PER_S).filter(|_| allowance.spend(start).is_ok()).count();
        assert_eq!(taken, LINES_PER_S as usize);
        let later = start + Duration::from_millis(100);
        let taken = (0..2 * LINES_PER_S).filter(|_| allowance.spend(later).is_ok()).count();
        assert_eq!(taken, LINES_PER_S as usize / 10);
    }
}
