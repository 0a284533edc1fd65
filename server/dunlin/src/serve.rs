//! `dunlin serve`: the parts put together, and taken down in order.

use std::{
    net::SocketAddr,
    path::{Path, PathBuf},
    time::Instant,
};

use anyhow::{Context as _, bail};
use dunlin_engine::{
    Engine, Setup,
    input::{Command, Input},
    moment::Moment,
    units::mps_from_kn,
};
use tokio::task::JoinHandle;

use crate::{
    clock::{Clock, wall_ms},
    config::Config,
    driver::{self, Driver},
    feeds, hub,
    journal::{self, Journal, Opened, Past, record},
    link::{HubStart, Link, Notice, NoticeKind},
    new_day,
    rebuild::{Day, warm},
    setup::{self, Problem},
    stop::{self, Stop},
};

/// Starts the server: feeds, watch, journal, and the pages for tablets and phones.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The configuration; without it dunlin starts with nothing set up and says what to do next.
    #[arg(long, env = "DUNLIN_CONFIG")]
    config: Option<PathBuf>,
    /// Address of the pages, instead of the configuration's.
    #[arg(long, value_name = "ADDRESS:PORT")]
    listen: Option<SocketAddr>,
    /// Folder for the days, keys and certificates, instead of the configuration's.
    #[arg(long)]
    data: Option<PathBuf>,
}

/// Does it, until Ctrl-C or a request to end.
///
/// # Errors
/// When the set-up has errors (all are printed first), or the pages cannot be served.
pub fn execute(args: Args) -> anyhow::Result<()> {
    let (mut config, problems) = match &args.config {
        Some(path) => Config::load(path),
        None => (Config::fresh(), Vec::new()),
    };
    let (setup, more) = load_setup(&config);
    let problems: Vec<Problem> = problems.into_iter().chain(more).collect();
    for problem in &problems {
        eprintln!("{problem}");
    }
    if setup::any_error(&problems) {
        bail!("the set-up has errors; `dunlin check` lists them again");
    }
    if let Some(listen) = args.listen {
        config.hub.listen = listen;
    }
    if let Some(data) = args.data {
        config.data = data;
    }
    let runtime = tokio::runtime::Runtime::new().context("no runtime")?;
    runtime.block_on(async {
        let (stopper, stop) = stop::pair();
        tokio::spawn(async move {
            signalled().await;
            stopper.stop();
        });
        let served = start(Running { config, setup, demo: false, speed: 1.0 }, stop).await?;
        served.say_where();
        served.ended().await
    })
}

/// The set-up that the configuration names, and what is wrong with it.
pub fn load_setup(config: &Config) -> (Setup, Vec<Problem>) {
    let (mut setup, problems) = setup::load(config.site.as_deref(), config.fleet.as_deref());
    setup.wind_limit_mps = config.wind_limit_kn.map(mps_from_kn);
    (setup, problems)
}

/// What is to be run.
#[derive(Debug)]
pub struct Running {
    /// How.
    pub config: Config,
    /// Over what.
    pub setup: Setup,
    /// Whether it is the invented demonstration.
    pub demo: bool,
    /// How fast time runs: 1, except in a demonstration that shows hours in minutes.
    pub speed: f64,
}

/// Everything that was started.
#[derive(Debug)]
pub struct Served {
    clock: Clock,
    link: Link,
    hub: hub::serve::Serving,
    driver: JoinHandle<()>,
}

/// Starts everything; it runs until `stop`.
///
/// # Errors
/// When the data folder cannot be used or the pages cannot be served.
pub async fn start(running: Running, stop: Stop) -> anyhow::Result<Served> {
    let Running { config, setup, demo, speed } = running;
    std::fs::create_dir_all(&config.data).with_context(|| {
        format!("cannot make the data folder {}: choose another with data = \"...\"", config.data.display())
    })?;
    let days = config.data.join("days");
    let prepared = prepare(setup, &days, config.journal_max_bytes, speed);
    // After what is set up in the last of them was read, however long ago that was.
    delete_old_days(&config, &days, prepared.day.as_ref().map(|day| day.path.as_path()));
    let clock = prepared.clock;
    let (mut driver, link, inbox) = Driver::new(prepared);
    for (place, feed) in config.feeds.iter().enumerate() {
        let watched = feeds::start(place, feed.clone(), clock, inbox.clone(), stop.clone());
        driver.watch_feed(watched);
    }
    let driver = tokio::spawn(driver.run(stop.clone()));
    let start = HubStart { config: config.hub, data: config.data, link: link.clone(), clock, demo, stop };
    let hub = hub::serve::start(start).await?;
    Ok(Served { clock, link, hub, driver })
}

impl Served {
    /// The clock of everything.
    pub fn clock(&self) -> Clock {
        self.clock
    }

    /// The driver's other end.
    pub fn link(&self) -> Link {
        self.link.clone()
    }

    /// Where the pages are.
    pub fn address(&self) -> SocketAddr {
        self.hub.address
    }

    /// The address to open.
    pub fn url(&self) -> &str {
        &self.hub.url
    }

    /// Tells people on standard output where the pages are and how to join.
    pub fn say_where(&self) {
        hub::serve::say_where(&self.hub);
    }

    /// Waits until everything has ended: after the wish to stop, or because a part failed.
    ///
    /// # Errors
    /// When a part failed.
    pub async fn ended(self) -> anyhow::Result<()> {
        let Served { hub, driver, .. } = self;
        let mut driver = std::pin::pin!(driver);
        let mut hub = std::pin::pin!(hub.ended());
        // Whichever ends first: without the other it is of no use, unless both were told to stop.
        tokio::select! {
            ended = &mut driver => {
                ended.context("the watch failed")?;
                hub.await.context("the pages failed")
            }
            ended = &mut hub => {
                ended.context("the pages failed")?;
                driver.await.context("the watch failed")
            }
        }
    }
}

fn delete_old_days(config: &Config, days: &Path, in_use: Option<&Path>) {
    let Some(keep) = config.retention_days.filter(|_| days.exists()) else { return };
    match journal::delete_older(days, Moment(wall_ms()), keep, in_use) {
        Ok(deleted) => {
            for day in deleted {
                tracing::info!(day = %day.display(), "Old day deleted.");
            }
        }
        Err(error) => tracing::warn!(error = &error as &dyn std::error::Error, "Old days not deleted."),
    }
}

/// Opens the journal and builds the watch, going on with the session that was left. Never fails: a
/// watch that cannot record is better than none, and says so.
fn prepare(setup: Setup, days: &Path, max_bytes: u64, speed: f64) -> driver::Start {
    let begun = Instant::now();
    let wall = Moment(wall_ms());
    let opened = match Journal::open(days, wall, &new_day::date(wall, &setup.site), max_bytes) {
        Ok(opened) => opened,
        Err(error) => {
            tracing::error!(error = &error as &dyn std::error::Error, "Journal not opened.");
            return driver::Start {
                engine: Engine::new(setup),
                clock: Clock::start(Moment(0), speed),
                journal: None,
                turn: 1,
                notices: Vec::new(),
                day: None,
                orders: Vec::new(),
                journal_max_bytes: max_bytes,
            };
        }
    };
    let Opened { journal, resume, before, path, first_turn, turn, warnings } = opened;
    let day = Day { path, first_turn };
    let left = resume.as_ref().map(|resume| resume.left);
    let clock = Clock::start(left.map_or(Moment(0), |left| left.plus_ms(1)), speed);
    let orders = before.map_or_else(Vec::new, |before| assigned_in(&before, &setup));
    let mut engine = Engine::new(setup);
    let mut notices = Vec::new();
    for warning in warnings {
        tracing::warn!(%warning, "Journal set aside.");
        notices.push(Notice { kind: NoticeKind::JournalDamaged, since: Some(clock.now()), text: warning });
    }
    if let Some(left) = left {
        match warm(&mut engine, &day, u64::MAX) {
            Ok(counted) => {
                // What the engine said last may have come from time passing, not from an input.
                drop(engine.on(left, Input::Wake));
                let took_ms = begun.elapsed().as_millis();
                tracing::info!(
                    inputs = counted.inputs,
                    unread = counted.unread,
                    damaged = counted.damaged,
                    took_ms,
                    "Session gone on with."
                );
            }
            Err(error) => {
                tracing::error!(error = &error as &dyn std::error::Error, "Session not read back.");
            }
        }
        notices.push(Notice {
            kind: NoticeKind::WatchGap,
            since: Some(clock.now()),
            text: format!(
                "dunlin was not running from {} to {} UTC: nobody was watched. Count heads.",
                &left.to_string()[11..19],
                &clock.now().to_string()[11..19]
            ),
        });
    }
    driver::Start {
        engine,
        clock,
        journal: Some(journal),
        turn,
        notices,
        day: Some(day),
        orders,
        journal_max_bytes: max_bytes,
    }
}

/// The assignments of sources that stood when a session ended. They are set-up, as the fleet is, and
/// hold until somebody takes them back. Stream and wind limit belong to the day that is over.
fn assigned_in(before: &Past, setup: &Setup) -> Vec<record::Row> {
    // The boats are those of that session: a fleet made on a tablet is not in force yet.
    let theirs = journal::setup_of(&before.path).ok().flatten();
    let setup = theirs.unwrap_or_else(|| setup.clone());
    let mut scratch = Engine::new(setup.clone());
    match before.commands(&setup.fleet) {
        Ok((commands, counted)) => {
            for command in commands.into_iter().filter(|command| matches!(command, Command::Assign(..))) {
                drop(scratch.on(Moment(0), Input::Command { by: "dunlin".to_owned(), command }));
            }
            let assigned = scratch.assigned().into_iter();
            let inputs = assigned.map(|given| Input::Command {
                by: "dunlin".to_owned(),
                command: Command::Assign(given.source, given.boat),
            });
            let orders: Vec<record::Row> =
                inputs.filter_map(|input| record::row(&setup.fleet, &input)).collect();
            let damaged = counted.damaged;
            tracing::info!(day = %before.path.display(), assigned = orders.len(), damaged, "Assignments kept.");
            orders
        }
        Err(error) => {
            tracing::warn!(
                error = &error as &dyn std::error::Error,
                "Assignments of the session before not read."
            );
            Vec::new()
        }
    }
}

/// Waits for Ctrl-C or the system's request to end.
pub async fn signalled() {
    let interrupt = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let Ok(mut terminate) = signal(SignalKind::terminate()) else {
            // Only Ctrl-C can be heard then.
            let _heard = interrupt.await;
            return;
        };
        tokio::select! {
            _ = interrupt => (),
            _ = terminate.recv() => (),
        }
    }
    #[cfg(not(unix))]
    {
        let _heard = interrupt.await;
    }
}
