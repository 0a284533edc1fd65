//! The driver with real sockets on loopback and a real journal.

use std::{net::SocketAddr, path::Path, sync::Arc, time::Duration};

use dunlin::{
    clock::Clock,
    config::{FeedConfig, FeedKind},
    driver::{Driver, Start},
    feeds,
    journal::Journal,
    link::{Link, NoticeKind, Picture, Publish, Refusal},
    new_day,
    rebuild::{Day, warm},
    setup,
    stop::{self, Stopper},
};
use dunlin_engine::{
    Engine, Setup,
    effect::Effect,
    fleet::BoatIx,
    input::{AlertId, Command, HandMark, Input, Report},
    moment::{FixTime, Moment},
    units::{Bearing, Position},
    view::BoatView,
};
use tokio::{
    io::AsyncWriteExt as _,
    net::{TcpListener, TcpStream, UdpSocket},
    task::JoinHandle,
};

/// Nothing here takes this long; a test that does has failed.
const LONG: Duration = Duration::from_secs(20);

fn fleet() -> Setup {
    let text = r#"
[[boat]]
id = "07"
source = "07"
crew = 2
[[boat]]
id = "08"
source = "08"
crew = 3
[[boat]]
id = "S1"
source = "S1"
role = "safety"
"#;
    let (boats, problems) = setup::fleet::parse("fleet.toml", text);
    assert!(problems.is_empty(), "{problems:?}");
    Setup { fleet: boats, ..Setup::default() }
}

/// A running driver, and what is needed to stop it and start it again.
struct Running {
    link: Link,
    stopper: Stopper,
    driver: JoinHandle<()>,
}

impl Running {
    /// Starts on the journal in `folder`, going on with what is there.
    fn start(folder: &Path, feeds_wanted: &[FeedConfig], max_bytes: u64) -> Running {
        let wall = Moment(dunlin::clock::wall_ms());
        let opened =
            Journal::open(folder, wall, &new_day::date(wall, &fleet().site), max_bytes).expect("a journal");
        let day = Day { path: opened.path.clone(), first_turn: opened.first_turn };
        let mut engine = Engine::new(fleet());
        let mut earliest = Moment(0);
        if let Some(resume) = &opened.resume {
            warm(&mut engine, &day, u64::MAX).expect("readable");
            drop(engine.on(resume.left, Input::Wake));
            earliest = resume.left;
        }
        let clock = Clock::start(earliest, 1.0);
        let (mut driver, link, inbox) = Driver::new(Start {
            engine,
            clock,
            journal: Some(opened.journal),
            turn: opened.turn,
            notices: Vec::new(),
            day: Some(day),
            orders: Vec::new(),
            journal_max_bytes: max_bytes,
        });
        let (stopper, stop) = stop::pair();
        for (place, feed) in feeds_wanted.iter().enumerate() {
            driver.watch_feed(feeds::start(place, feed.clone(), clock, inbox.clone(), stop.clone()));
        }
        let driver = tokio::spawn(driver.run(stop));
        Running { link, stopper, driver }
    }

    /// Waits for a picture that `wanted` likes.
    async fn until(&self, what: &str, mut wanted: impl FnMut(&Picture) -> bool) -> Arc<Picture> {
        let mut pictures = self.link.pictures();
        let waited = tokio::time::timeout(LONG, async {
            loop {
                let picture = Arc::clone(&pictures.borrow_and_update());
                if wanted(&picture) {
                    return picture;
                }
                pictures.changed().await.expect("the driver runs");
            }
        });
        match waited.await {
            Ok(picture) => picture,
            Err(_) => panic!("waited in vain for {what}: {:#?}", self.link.picture().feeds),
        }
    }

    /// The address on which the first feed listens.
    async fn address(&self) -> SocketAddr {
        let listening = |picture: &Picture| picture.feeds.first().is_some_and(|f| f.listens.is_some());
        let picture = self.until("a listening feed", listening).await;
        picture.feeds[0].listens.expect("just seen")
    }

    async fn stop(self) {
        self.stopper.stop();
        self.driver.await.expect("the driver ends in order");
    }
}

fn feed(kind: FeedKind) -> FeedConfig {
    FeedConfig { name: "boats".to_owned(), kind, sources: Vec::new(), source_by_address: false }
}

fn loopback() -> SocketAddr {
    SocketAddr::from(([127, 0, 0, 1], 0))
}

fn tcp_listen() -> FeedConfig {
    feed(FeedKind::TcpListen { listen: loopback(), allow: Vec::new() })
}

/// A position of boat 07, `second` seconds after the fixes began, ten metres east a second.
fn fix(second: u32) -> String {
    let body = format!(
        "GPRMC,1200{second:02}.00,A,5006.0000,N,00500.{:04}0,W,05.0,090.0,010626,,,A",
        9000 - 14 * second
    );
    let sum = |text: &str| text.bytes().fold(0, |sum, byte| sum ^ byte);
    let tag = "s:07";
    format!("\\{tag}*{:02X}\\${body}*{:02X}\r\n", sum(tag), sum(&body))
}

const BIG: u64 = 1_000_000_000;

#[tokio::test]
async fn torn_writes_rubbish_and_endless_lines_cost_only_themselves() {
    let folder = tempfile::tempdir().expect("a folder");
    let running = Running::start(folder.path(), &[tcp_listen()], BIG);
    let mut peer = TcpStream::connect(running.address().await).await.expect("listening");
    for byte in fix(0).as_bytes() {
        peer.write_all(&[*byte]).await.expect("open");
        peer.flush().await.expect("open");
    }
    peer.write_all(&vec![b'x'; 1_000_000]).await.expect("open");
    peer.write_all(b"\r\n\x00\xff\xfe\x80\r\n$GPRMC,1200").await.expect("open");
    peer.write_all(fix(1).as_bytes()).await.expect("open");
    let picture = running
        .until("the second fix", |picture| picture.feeds[0].lines >= 5 && picture.boats[0].heard.is_some())
        .await;
    let feed = &picture.feeds[0];
    assert_eq!(feed.refused.get("too-long"), Some(&1), "{feed:?}");
    let refused: u64 = feed.refused.values().sum();
    assert_eq!((feed.lines, refused), (5, 3), "two fixes of five lines were taken: {feed:?}");
    assert_eq!(feed.connections, 1);
    running.stop().await;
}

#[tokio::test]
async fn datagrams_from_strangers_and_for_others_are_refused_by_name() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut udp = feed(FeedKind::Udp { listen: loopback(), allow: Vec::new() });
    udp.sources = vec!["08".to_owned()];
    let running = Running::start(folder.path(), &[udp], BIG);
    let address = running.address().await;
    let socket = UdpSocket::bind(loopback()).await.expect("a socket");
    socket.send_to(fix(0).as_bytes(), address).await.expect("sent");
    socket.send_to(fix(1).replace("s:07*", "s:08*").as_bytes(), address).await.expect("sent");
    let picture = running
        .until("two datagrams", |picture| {
            let feed = &picture.feeds[0];
            feed.lines + feed.refused.get("source-not-allowed").copied().unwrap_or(0) >= 2
        })
        .await;
    let feed = &picture.feeds[0];
    assert_eq!(feed.refused.get("source-not-allowed"), Some(&1), "{feed:?}");
    assert!(picture.boats[0].heard.is_none(), "boat 07 was not fed");
    running.stop().await;
}

#[tokio::test]
async fn an_instrument_that_goes_away_is_shown_down_and_found_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let instrument = TcpListener::bind(loopback()).await.expect("a port");
    let address = instrument.local_addr().expect("bound");
    let connect = feed(FeedKind::TcpConnect { address: address.to_string() });
    let running = Running::start(folder.path(), &[connect], BIG);
    let (mut first, _) = instrument.accept().await.expect("connected");
    first.write_all(fix(0).as_bytes()).await.expect("open");
    running.until("the first fix", |picture| picture.boats[0].heard.is_some()).await;
    drop((first, instrument));
    running
        .until("the notice", |picture| {
            picture.notices.iter().any(|n| n.kind == NoticeKind::FeedDown("boats".to_owned()))
        })
        .await;
    let instrument = TcpListener::bind(address).await.expect("the port again");
    let (mut again, _) = instrument.accept().await.expect("connected again");
    again.write_all(fix(1).as_bytes()).await.expect("open");
    let picture = running
        .until("the second fix", |picture| picture.feeds[0].lines == 2 && picture.notices.is_empty())
        .await;
    assert_eq!(picture.feeds[0].reconnects, 1);
    running.stop().await;
}

#[tokio::test]
async fn a_decision_is_answered_when_it_is_on_disk_and_outlives_a_restart() {
    let folder = tempfile::tempdir().expect("a folder");
    let running = Running::start(folder.path(), &[tcp_listen()], BIG);
    let mut heard = running.link.subscribe();
    let mark = Command::Mark(BoatIx(1), HandMark::Capsized);
    let done = running.link.command("Ann", mark).await.expect("recorded");
    assert!(running.link.picture().recorded <= done.turn);
    let alert = done.effects.iter().find_map(|effect| match effect {
        Effect::Alert(change) => Some(change.alert.clone()),
        _ => None,
    });
    let alert = alert.expect("a capsize by hand is an alert");
    let acknowledged = running.link.command("Ben", Command::Acknowledge(alert.id)).await;
    assert!(acknowledged.is_ok(), "{acknowledged:?}");
    let refused = running.link.command("Ben", Command::Acknowledge(AlertId(999))).await;
    assert_eq!(refused.err(), Some(Refusal::NoSuchAlert));
    let refused = running.link.command("Ben", Command::Aboard(BoatIx(9), 1)).await;
    assert_eq!(refused.err(), Some(Refusal::NoSuchBoat));
    // The alert was told before its record was: people must not wait for a disk.
    let mut order = Vec::new();
    while let Ok(message) = heard.try_recv() {
        match message {
            Publish::Effects { turn, .. } if turn == done.turn => order.push("told"),
            Publish::Recorded { turn } if turn >= done.turn => order.push("recorded"),
            _ => (),
        }
    }
    assert_eq!(order.first(), Some(&"told"), "{order:?}");
    let before = running.link.picture().alerts.clone();
    // No order to stop: the driver is cut off as by a power cut, and so is its journal's queue.
    running.driver.abort();
    let _cut = running.driver.await;

    let again = Running::start(folder.path(), &[tcp_listen()], BIG);
    let after = again.link.picture().alerts.clone();
    assert_eq!(before, after);
    assert_eq!(after[0].acknowledged.as_ref().map(|(by, _)| by.as_str()), Some("Ben"));
    again.stop().await;
}

#[tokio::test]
async fn a_full_journal_is_said_and_alerts_go_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let running = Running::start(folder.path(), &[], 0);
    let mut heard = running.link.subscribe();
    let mut refused = None;
    // The file may grow to its smallest limit, 128 kB; each of these takes about 4 kB of it.
    for round in 0..200 {
        let by = format!("{round:04000}");
        let command = Command::SetWindLimit(Some(f64::from(round)));
        if let Err(refusal) = running.link.command(&by, command).await {
            refused = Some(refusal);
            break;
        }
    }
    assert_eq!(refused, Some(Refusal::NotRecorded));
    running
        .until("the notice", |picture| {
            picture.notices.iter().any(|notice| notice.kind == NoticeKind::NotRecording)
        })
        .await;
    // An alert is told all the same.
    let link = running.link.clone();
    let asked = tokio::spawn(async move {
        link.command("Ann", Command::Mark(BoatIx(0), HandMark::PersonOverboard)).await
    });
    let told = tokio::time::timeout(LONG, async {
        loop {
            if let Ok(Publish::Effects { effects, .. }) = heard.recv().await
                && effects.iter().any(|effect| matches!(effect, Effect::Alert(_)))
            {
                return;
            }
        }
    });
    assert!(told.await.is_ok(), "the alert was told");
    assert_eq!(asked.await.expect("asked").err(), Some(Refusal::NotRecorded));
    running.stop().await;
}

#[tokio::test]
async fn another_set_up_keeps_what_was_decided() {
    let folder = tempfile::tempdir().expect("a folder");
    let running = Running::start(folder.path(), &[], BIG);
    let counted = running.link.command("Ann", Command::Aboard(BoatIx(1), 5)).await;
    assert!(counted.is_ok(), "{counted:?}");
    let mut setup = fleet();
    setup.fleet.remove(0);
    let done = running.link.set_up("Ann", setup).await;
    assert!(done.is_ok(), "{done:?}");
    let picture = running.until("the new fleet", |picture| picture.setup.fleet.len() == 2).await;
    assert_eq!(picture.boats[0].persons, 5, "boat 08 is first now, with her five");
    running.stop().await;
}

#[tokio::test]
async fn a_feed_that_floods_waits_and_another_feeds_alert_does_not() {
    const FLOOD: u64 = 60_000;
    let folder = tempfile::tempdir().expect("a folder");
    let mut second = tcp_listen();
    second.name = "ais".to_owned();
    let running = Running::start(folder.path(), &[tcp_listen(), second], BIG);
    let flooded = running.address().await;
    let picture = running.until("both feeds", |picture| picture.feeds[1].listens.is_some()).await;
    let calm = picture.feeds[1].listens.expect("just seen");
    let flooding = tokio::spawn(async move {
        let mut peer = TcpStream::connect(flooded).await.expect("listening");
        for _ in 0..FLOOD / 1000 {
            peer.write_all("$RUBBISH*00\r\n".repeat(1000).as_bytes()).await.expect("open");
        }
    });
    let too_fast = NoticeKind::FeedTooFast("boats".to_owned());
    running.until("the notice", |picture| picture.notices.iter().any(|notice| notice.kind == too_fast)).await;
    // A man-overboard device (case A05 of tests/reference/ais.csv).
    let mut receiver = TcpStream::connect(calm).await.expect("listening");
    let beacon = b"!AIVDM,1,1,,A,1>Nvj>fP02wr6rpM2kG6vOvH0000,0*22\r\n";
    receiver.write_all(beacon).await.expect("open");
    let picture = running.until("the alert", |picture| !picture.alerts.is_empty()).await;
    assert!(picture.feeds[0].lines < FLOOD, "the flood was still on: {:?}", picture.feeds[0]);
    // Nothing of the flood is lost: it waited in the sender's socket.
    let picture = running.until("all of it", |picture| picture.feeds[0].lines == FLOOD).await;
    let refused: u64 = picture.feeds[0].refused.values().sum();
    assert_eq!(refused, FLOOD, "every line of it was refused and counted");
    flooding.await.expect("sent");
    running.stop().await;
}

#[tokio::test]
async fn what_a_phone_kept_and_sent_at_once_is_told_position_by_position() {
    let folder = tempfile::tempdir().expect("a folder");
    let running = Running::start(folder.path(), &[], BIG);
    let mut published = running.link.subscribe();
    running.link.command("Robin", Command::Assign("phone".to_owned(), Some(BoatIx(0)))).await.expect("there");
    let now = running.link.picture().at;
    let report = |before_s: i64| Report {
        taken: FixTime(now.0 - before_s * 1_000),
        position: Position::new(50.0 - before_s as f64 * 2e-5, -5.0),
        accuracy_m: Some(4.0),
        speed_mps: Some(2.2),
        course: Some(Bearing::NORTH),
        heading: None,
        heel_deg: None,
        battery_pct: None,
        help: None,
    };
    let kept: Vec<Report> = (0..=90).rev().map(report).collect();
    running.link.reports("phone", kept).await.expect("taken").done().await.expect("recorded");
    let views = loop {
        match published.recv().await.expect("told") {
            Publish::Late { views } => break views,
            _ => continue,
        }
    };
    // Every five seconds of the 80 that are too old to be seen in a picture.
    assert!((15..=17).contains(&views.len()), "{} positions", views.len());
    assert!(views.iter().all(|view| view.boat == BoatIx(0)));
    let north = |view: &BoatView| view.seen.map(|seen| seen.position.lat_deg());
    assert!(views.windows(2).all(|pair| north(&pair[0]) < north(&pair[1])), "each where she was then");
    running.stop().await;
}
