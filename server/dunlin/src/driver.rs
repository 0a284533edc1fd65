//! The only loop: wait, call the engine, carry out effects. Everything it talks to is at the far end
//! of a queue that it never waits for.

mod late;
mod night;

use std::{
    collections::{BTreeMap, VecDeque},
    sync::Arc,
    time::Duration,
};

use dunlin_engine::{
    Engine, Setup,
    effect::{Discard, Effect},
    fixes::SourceHealth,
    fleet::BoatIx,
    input::{Command, Input, Report},
    moment::Moment,
    view::AssignedView,
};
use tokio::{
    sync::{broadcast, mpsc, oneshot, watch},
    time::Instant,
};

use self::late::Late;
use crate::{
    clock::Clock,
    feeds::{Arrival, Watched},
    journal::{Journal, Progress, Said, record},
    link::{
        ASKS_MAX, Ask, Done, FeedHealth, Link, Notice, NoticeKind, PICTURES_PER_S, PUBLISH_MAX, Picture,
        Publish, Refusal,
    },
    notices::Notices,
    rebuild::{Built, Day, Rebuild},
    replay::{excerpt, too_long_discard},
    stop::Stop,
};

/// Arrivals worked through before anything else gets its turn.
const CHUNK: usize = 64;

/// Phones whose health is kept. The one silent for longest goes first.
const PHONES_MAX: usize = 2_000;

/// A person waits this long for the journal before being told that it does not write.
const CONFIRM: Duration = Duration::from_secs(3);

/// How often the second-by-second chores of the shell run.
const CHORES: Duration = Duration::from_secs(1);

type Reply = oneshot::Sender<Result<Done, Refusal>>;

/// What a driver is started with.
#[derive(Debug)]
pub struct Start {
    /// The engine, fresh or rebuilt from the journal.
    pub engine: Engine,
    /// The program's clock.
    pub clock: Clock,
    /// The journal; `None`: it could not be opened, and nothing is ever confirmed.
    pub journal: Option<Journal>,
    /// The first turn that is free.
    pub turn: u64,
    /// Troubles known from the start.
    pub notices: Vec<Notice>,
    /// The day's file, for building the watch anew; `None` without a journal.
    pub day: Option<Day>,
    /// What people set in the session before that still holds, as it is stored: the fleet that knows
    /// its boats may come from a tablet, after the start.
    pub orders: Vec<record::Row>,
    /// Bytes that the next day's file may grow to.
    pub journal_max_bytes: u64,
}

/// Owns the engine and runs the loop.
#[derive(Debug)]
pub struct Driver {
    engine: Engine,
    clock: Clock,
    journal: Option<Journal>,
    progress: watch::Receiver<Progress>,
    /// Keeps `progress` alive when there is no journal.
    _no_progress: Option<watch::Sender<Progress>>,
    day: Option<Day>,
    journal_max_bytes: u64,
    rebuild: Option<Rebuild>,
    turn: u64,
    recorded: u64,
    waiting: VecDeque<Waiting>,
    setup: Arc<Setup>,
    publish: broadcast::Sender<Publish>,
    picture: watch::Sender<Arc<Picture>>,
    asks: mpsc::Receiver<Ask>,
    inbox: mpsc::UnboundedReceiver<Arrival>,
    /// Keeps the inbox open when there is no feed.
    _inbox: Inbox,
    feeds: Vec<Watched>,
    phones: BTreeMap<String, FeedHealth>,
    sources: Arc<[SourceHealth]>,
    assigned: Arc<[AssignedView]>,
    notices: Notices,
    picture_due: Instant,
    changed: bool,
}

/// Somebody who waits for the disk.
#[derive(Debug)]
struct Waiting {
    turn: u64,
    since: Instant,
    done: Done,
    reply: Reply,
}

/// What one turn of the engine said, before it is told and noted.
struct Turn {
    at: Moment,
    row: Option<record::Row>,
    effects: Vec<Effect>,
    urgent: bool,
}

/// Where the feeds put what they hear.
pub type Inbox = mpsc::UnboundedSender<Arrival>;

impl Driver {
    /// A driver, the hub's end of it, and the inbox for feeds. Feeds are told to it before it runs.
    pub fn new(start: Start) -> (Driver, Link, Inbox) {
        let Start { engine, clock, journal, turn, notices, day, orders, journal_max_bytes } = start;
        let setup = Arc::new(engine.setup().clone());
        let (asks_in, asks) = mpsc::channel(ASKS_MAX);
        let (inbox_in, inbox) = mpsc::unbounded_channel();
        let (publish, _) = broadcast::channel(PUBLISH_MAX);
        let (no_progress, progress) = match &journal {
            Some(journal) => (None, journal.progress()),
            None => {
                let trouble = Some("The journal could not be opened; see the log.".to_owned());
                let (sender, receiver) = watch::channel(Progress { recorded: 0, trouble, lost: 0 });
                (Some(sender), receiver)
            }
        };
        let recorded = progress.borrow().recorded;
        let empty = Arc::new(empty_picture(clock.now(), &setup));
        let (picture, pictures) = watch::channel(empty);
        let link = Link::new(asks_in, publish.clone(), pictures);
        let mut driver = Driver {
            engine,
            clock,
            journal,
            progress,
            _no_progress: no_progress,
            day,
            journal_max_bytes,
            rebuild: None,
            turn,
            recorded,
            waiting: VecDeque::new(),
            setup,
            publish,
            picture,
            asks,
            inbox,
            _inbox: inbox_in.clone(),
            feeds: Vec::new(),
            phones: BTreeMap::new(),
            sources: Arc::from([]),
            assigned: Arc::from([]),
            notices: Notices::new(notices),
            picture_due: Instant::now(),
            changed: true,
        };
        if let Some(journal) = &driver.journal {
            journal.note_setup(driver.turn, driver.clock.now(), &driver.setup);
            driver.turn += 1;
        }
        driver.take_up(orders);
        driver.paint();
        (driver, link, inbox_in)
    }

    /// Takes a feed's health into every picture. The order of calls is that of the set-up.
    pub fn watch_feed(&mut self, watched: Watched) {
        self.feeds.push(watched);
    }

    /// Runs until `stop`; then everything noted is written.
    pub async fn run(mut self, mut stop: Stop) {
        let mut chores = tokio::time::interval(CHORES);
        let mut arrivals = Vec::with_capacity(CHUNK);
        loop {
            let wake = self.engine.next_wake().map(|moment| self.clock.instant(moment));
            tokio::select! {
                biased;
                () = stop.wanted() => break,
                Some(ask) = self.asks.recv() => self.ask(ask),
                Ok(()) = self.progress.changed() => self.recorded(),
                Some(built) = Rebuild::done(&mut self.rebuild) => self.renew(built),
                _ = chores.tick() => self.chores(),
                // A fix already waiting must cancel the silence that the timer is about to report.
                _ = self.inbox.recv_many(&mut arrivals, CHUNK), if arrivals.is_empty() => (),
                () = sleep_until(wake) => self.wake(),
                () = tokio::time::sleep_until(self.picture_due), if self.changed => (),
            }
            // Questions came first; a flood of them must not keep the fixes out.
            while arrivals.len() < CHUNK {
                match self.inbox.try_recv() {
                    Ok(arrival) => arrivals.push(arrival),
                    Err(_) => break,
                }
            }
            for arrival in arrivals.drain(..) {
                self.arrived(arrival);
            }
            if self.changed && self.picture_due <= Instant::now() {
                self.paint();
            }
        }
        for waiting in self.waiting.drain(..) {
            // Whoever asked may be gone.
            let _gone = waiting.reply.send(Err(Refusal::Stopping));
        }
        // Dropping the journal writes what is waiting; that may take a moment of disk.
        let journal = self.journal.take();
        let closed = tokio::task::spawn_blocking(move || drop(journal)).await;
        if let Err(error) = closed {
            tracing::error!(%error, "Journal not closed in order.");
        }
    }

    fn arrived(&mut self, arrival: Arrival) {
        let Arrival { at, feed, name, line, too_long, .. } = arrival;
        if let Some(watched) = self.feeds.get(feed) {
            watched.take();
        }
        if too_long {
            let discard = too_long_discard(at, name.0, &line);
            self.refused(Some(feed), &discard);
            return;
        }
        let turn = self.turn(at, Input::Line { feed: name, line });
        for effect in &turn.effects {
            if let Effect::Discard(discard) = effect {
                self.refused(Some(feed), discard);
            }
        }
        self.carry_out(turn);
    }

    fn wake(&mut self) {
        let turn = self.turn(self.clock.now(), Input::Wake);
        self.carry_out(turn);
    }

    /// Lets the engine take one event.
    fn turn(&mut self, at: Moment, input: Input) -> Turn {
        let row = record::row(&self.setup.fleet, &input);
        if let (Some(rebuild), Some(row)) = (&mut self.rebuild, &row) {
            rebuild.remember(at, row);
        }
        let effects = self.engine.on(at, input);
        let urgent = effects.iter().any(is_urgent);
        Turn { at, row, effects, urgent }
    }

    /// Tells what a turn said, at once, and notes it. Returns the turn's number.
    fn carry_out(&mut self, turn: Turn) -> u64 {
        let number = self.turn;
        let Turn { at, row, mut effects, urgent } = turn;
        effects.retain(|effect| !matches!(effect, Effect::Discard(_)));
        if row.is_none() && effects.is_empty() {
            // Nothing to note: whoever waits for this waits for what was noted last.
            return number.saturating_sub(1);
        }
        self.turn += 1;
        self.changed = true;
        let effects: Arc<[Effect]> = effects.into();
        if !effects.is_empty() {
            // No hub listening is no error: it starts from a picture.
            let effects = Arc::clone(&effects);
            let _heard = self.publish.send(Publish::Effects { turn: number, at, effects });
        }
        if let Some(journal) = &self.journal {
            let said: Vec<Said> =
                effects.iter().filter_map(|effect| Said::of(&self.setup.fleet, at, effect)).collect();
            journal.note(number, at, row, &said, urgent);
        }
        if urgent {
            self.paint();
        }
        number
    }

    fn ask(&mut self, ask: Ask) {
        match ask {
            Ask::Command { by, command, reply } => match self.sound(&command) {
                Ok(()) => {
                    let mut turn = self.turn(self.clock.now(), Input::Command { by, command });
                    turn.urgent = true;
                    self.answer_when_recorded(turn, reply);
                }
                // Whoever asked may be gone.
                Err(refusal) => drop(reply.send(Err(refusal))),
            },
            Ask::Reports { source, reports, reply } => self.reports(source, reports, reply),
            Ask::SetUp { by, setup, reply } => self.set_up(by, setup, reply),
        }
    }

    fn answer_when_recorded(&mut self, turn: Turn, reply: Reply) {
        let at = turn.at;
        let effects = turn.effects.iter().filter(|e| !matches!(e, Effect::Discard(_)));
        let effects: Arc<[Effect]> = effects.cloned().collect();
        let turn = self.carry_out(turn);
        let done = Done { at, turn, effects };
        self.waiting.push_back(Waiting { turn, since: Instant::now(), done, reply });
        self.answer();
    }

    fn reports(&mut self, source: String, reports: Vec<Report>, reply: Reply) {
        let at = self.clock.now();
        let mut last = Turn { at, row: None, effects: Vec::new(), urgent: false };
        self.phone(&source, at, reports.len());
        let count = reports.len();
        let mut late = Late::default();
        for (place, report) in reports.into_iter().enumerate() {
            let help = report.help.is_some();
            let is_kept = late.wants(&report, at, count);
            let mut turn = self.turn(at, Input::Report { source: source.clone(), report });
            turn.urgent |= help;
            for effect in &turn.effects {
                if let Effect::Discard(discard) = effect {
                    self.refused_phone(&source, discard);
                }
            }
            if is_kept {
                late.note(self.engine.boat_of(&source));
            }
            if place + 1 == count {
                last = turn;
            } else {
                self.carry_out(turn);
            }
        }
        if !late.views.is_empty() {
            let _heard = self.publish.send(Publish::Late { views: late.views });
        }
        self.answer_when_recorded(last, reply);
    }

    fn set_up(&mut self, by: String, setup: Setup, reply: Reply) {
        tracing::info!(%by, boats = setup.fleet.len(), zones = setup.site.zones.len(), "Set-up changed.");
        let (Some(journal), Some(day)) = (&self.journal, &self.day) else {
            // Without a journal there is nothing to build from: the watch begins anew.
            let fresh = Engine::new(setup);
            self.take_over(fresh);
            let done = Done { at: self.clock.now(), turn: self.turn, effects: Arc::from([]) };
            drop(reply.send(Ok(done)));
            return;
        };
        if let Some(rebuild) = self.rebuild.take() {
            // The newer wish replaces the older one, which was not in force yet.
            rebuild.refuse();
        }
        self.rebuild = Some(Rebuild::begin(day.clone(), journal.progress(), self.turn, setup, reply));
    }

    fn renew(&mut self, built: Built) {
        let Built { engine, reply } = built;
        self.take_over(engine);
        let at = self.clock.now();
        let turn = Turn { at, row: None, effects: Vec::new(), urgent: true };
        self.answer_when_recorded(turn, reply);
    }

    fn take_over(&mut self, engine: Engine) {
        self.engine = engine;
        self.setup = Arc::new(self.engine.setup().clone());
        if let Some(journal) = &self.journal {
            journal.note_setup(self.turn, self.clock.now(), &self.setup);
        }
        self.turn += 1;
        self.paint();
        let _heard = self.publish.send(Publish::Renewed { turn: self.turn - 1 });
    }

    /// Whether the command names things that exist.
    fn sound(&self, command: &Command) -> Result<(), Refusal> {
        let boat = |boat: BoatIx| match usize::from(boat.0) < self.setup.fleet.len() {
            true => Ok(()),
            false => Err(Refusal::NoSuchBoat),
        };
        let alert = |id| {
            let alerts = self.engine.alerts();
            match alerts.iter().find(|alert| alert.id == id) {
                None => Err(Refusal::NoSuchAlert),
                Some(alert) if alert.cleared.is_some() => Err(Refusal::AlertOver),
                Some(_) => Ok(()),
            }
        };
        match command {
            Command::Acknowledge(id)
            | Command::Silence(id)
            | Command::Clear(id, _)
            | Command::HeadsCounted(id, _)
            | Command::Attend(id, None) => alert(*id),
            Command::Attend(id, Some(ix)) => alert(*id).and(boat(*ix)),
            Command::Mark(ix, _) | Command::Aboard(ix, _) | Command::Drill(ix, _) => boat(*ix),
            Command::Assign(_, Some(ix)) => boat(*ix),
            Command::Assign(_, None)
            | Command::SetWind(_)
            | Command::SetStream(_)
            | Command::SetWindLimit(_)
            | Command::SetBackBy(_)
            | Command::PersonOverdue(..)
            | Command::PersonAccounted(..) => Ok(()),
        }
    }

    /// The journal moved on, or said what is wrong.
    fn recorded(&mut self) {
        let progress = self.progress.borrow_and_update().clone();
        if progress.recorded > self.recorded {
            self.recorded = progress.recorded;
            let _heard = self.publish.send(Publish::Recorded { turn: self.recorded });
        }
        let text = match (&progress.trouble, progress.lost) {
            (None, _) => None,
            (Some(trouble), 0) => Some(format!("Not recording. {trouble}")),
            (Some(trouble), lost) => Some(format!("Not recording, {lost} entries lost. {trouble}")),
        };
        self.notice(NoticeKind::NotRecording, text);
        self.answer();
    }

    /// Answers those whose turn is on disk, and those who have waited long enough.
    fn answer(&mut self) {
        let trouble = self.progress.borrow().trouble.is_some();
        while let Some(first) = self.waiting.front() {
            let recorded = first.turn <= self.recorded;
            let given_up = trouble && first.since.elapsed() >= CONFIRM || self.journal.is_none();
            if !recorded && !given_up {
                return;
            }
            if let Some(waiting) = self.waiting.pop_front() {
                let answer = if recorded { Ok(waiting.done) } else { Err(Refusal::NotRecorded) };
                // Whoever asked may be gone.
                let _gone = waiting.reply.send(answer);
            }
        }
    }

    fn chores(&mut self) {
        self.sources = self.engine.sources().into();
        self.list_assigned();
        self.recorded();
        self.notices.pass_time(self.clock.now(), self.clock.wall_ahead_ms());
        let now = self.clock.now();
        for place in 0..self.feeds.len() {
            let (health, slowed) = (self.feeds[place].health(), self.feeds[place].slowed());
            let down = health.trouble.map(|trouble| format!("Feed \"{}\": {trouble}.", health.name));
            self.notice(NoticeKind::FeedDown(health.name.clone()), down);
            let fast = slowed.is_some_and(|slowed| now.ms_since(slowed) < 5_000).then(|| {
                format!(
                    "Feed \"{}\" sends more than is taken: look for a device that floods or a doubled source.",
                    health.name
                )
            });
            self.notice(NoticeKind::FeedTooFast(health.name), fast);
        }
        self.tell_notices();
        self.begin_day();
        self.changed = true;
    }

    /// Once a second, as the list is made from the whole fleet.
    fn list_assigned(&mut self) {
        self.assigned = self.engine.assigned().into();
    }

    fn notice(&mut self, kind: NoticeKind, text: Option<String>) {
        self.notices.set(self.clock.now(), kind, text);
        self.tell_notices();
    }

    fn tell_notices(&mut self) {
        for notice in self.notices.changes() {
            match notice.since {
                Some(_) => tracing::warn!(notice = notice.kind.word(), text = %notice.text, "Trouble."),
                None => tracing::info!(notice = notice.kind.word(), "Trouble over."),
            }
            let _heard = self.publish.send(Publish::Notice(notice));
            self.changed = true;
        }
    }

    fn refused(&mut self, feed: Option<usize>, discard: &Discard) {
        if let Some(watched) = feed.and_then(|feed| self.feeds.get(feed)) {
            watched.refuse(discard.at, discard.reason.word(), words(discard));
        }
    }

    fn phone(&mut self, source: &str, at: Moment, reports: usize) {
        if !self.phones.contains_key(source) && self.phones.len() >= PHONES_MAX {
            let oldest = self.phones.iter().min_by_key(|(_, health)| health.heard);
            if let Some(oldest) = oldest.map(|(source, _)| source.clone()) {
                self.phones.remove(&oldest);
            }
        }
        let health = self.phones.entry(source.to_owned()).or_insert_with(|| FeedHealth {
            name: source.to_owned(),
            kind: "phone",
            up: true,
            ..FeedHealth::default()
        });
        health.lines += reports as u64;
        health.heard = Some(at);
    }

    fn refused_phone(&mut self, source: &str, discard: &Discard) {
        if let Some(health) = self.phones.get_mut(source) {
            *health.refused.entry(discard.reason.word()).or_default() += 1;
            health.latest_refusal = Some((discard.at, words(discard)));
        }
    }

    /// Makes a picture of everything and hands it out.
    fn paint(&mut self) {
        self.changed = false;
        self.picture_due = Instant::now() + Duration::from_secs(1) / PICTURES_PER_S;
        let phones = self.phones.values().cloned();
        let picture = Picture {
            at: self.clock.now(),
            turn: self.turn.saturating_sub(1),
            recorded: self.recorded,
            setup: Arc::clone(&self.setup),
            alerts: self.engine.alerts(),
            boats: self.engine.boats(),
            needs: self.engine.needs(),
            strangers: self.engine.strangers(),
            assigned: Arc::clone(&self.assigned),
            wind: self.engine.wind().cloned(),
            stream: self.engine.stream(),
            feeds: self.feeds.iter().map(Watched::health).chain(phones).collect(),
            sources: Arc::clone(&self.sources),
            notices: self.notices.standing(),
        };
        self.picture.send_replace(Arc::new(picture));
    }
}

fn words(discard: &Discard) -> String {
    format!("{}: {}", discard.reason, excerpt(discard.excerpt.as_bytes()))
}

/// Whether people wait for the record of it.
fn is_urgent(effect: &Effect) -> bool {
    match effect {
        Effect::Alert(_) | Effect::Tally(_) => true,
        Effect::Manoeuvre(_) | Effect::Rounding(_) | Effect::Wind(_) | Effect::Discard(_) => false,
    }
}

/// Waits until the instant; for ever when there is none.
async fn sleep_until(instant: Option<Instant>) {
    match instant {
        Some(instant) => tokio::time::sleep_until(instant).await,
        None => std::future::pending().await,
    }
}

fn empty_picture(at: Moment, setup: &Arc<Setup>) -> Picture {
    Picture {
        at,
        turn: 0,
        recorded: 0,
        setup: Arc::clone(setup),
        alerts: Vec::new(),
        boats: Vec::new(),
        needs: Vec::new(),
        strangers: Vec::new(),
        assigned: Arc::from([]),
        wind: None,
        stream: None,
        feeds: Vec::new(),
        sources: Arc::from([]),
        notices: Vec::new(),
    }
}
