//! From a line written to a socket to the alert's message on every tablet, while a large fleet sails.

use std::{
    net::SocketAddr,
    sync::{Arc, Mutex},
    time::{Duration, Instant},
};

use dunlin::clock::wall_ms;
use dunlin_engine::moment::Moment;
use futures_util::StreamExt as _;
use tokio::{io::AsyncWriteExt as _, net::TcpStream};

use super::{
    fleet::{self, Fleet, beacon},
    program::{Program, Tablet, free_port},
    relay,
};

const BOATS: usize = 100;
const HZ: u32 = 5;
const TABLETS: usize = 20;
/// Beacons heard, one alert each; the watch remembers 64 at once.
const BEACONS: u32 = 60;
/// Between two of them: no multiple of anything else that goes on.
const EVERY: Duration = Duration::from_millis(507);
/// Before the first: the tablets have their snapshots by then, and the fleet sails.
const SETTLED: Duration = Duration::from_secs(3);

/// When each beacon's line was written, and how long it took to each tablet, ms.
#[derive(Default)]
struct Times {
    written: Vec<(u32, Instant)>,
    took_ms: Vec<f64>,
}

/// Measures the program and the peer, and prints both.
pub async fn measure() {
    let folder = tempfile::tempdir().expect("a folder");
    let (pages, feed) = (free_port(), free_port());
    fleet::write_set_up(folder.path(), BOATS, pages, feed);
    let program = Program::start(&folder.path().join("dunlin.toml"), pages);
    let cookie = program.join();
    let mut tablets = Vec::new();
    for _ in 0..TABLETS {
        tablets.push(program.tablet(&cookie).await);
    }
    let ours = loaded(feed, tablets).await;
    drop(program);
    let relay = relay::start().await;
    let mut tablets = Vec::new();
    for _ in 0..TABLETS {
        tablets.push(relay.tablet().await);
    }
    let peer = loaded(relay.feed, tablets).await;
    println!(
        "| line in to alert on a tablet, {BOATS} boats at {HZ} Hz, {TABLETS} tablets: p50, p99, max of {} | \
         p99 10 ms | {} |",
        ours.len(),
        told(&ours)
    );
    println!(
        "| the same through a simple relay of general crates, which judges nothing | | {} |",
        told(&peer)
    );
    println!(
        "| of the relay, p50 and p99 | | {:.1}, {:.1} |",
        share(&ours, 50) / share(&peer, 50),
        share(&ours, 99) / share(&peer, 99)
    );
}

/// The times to every tablet of every beacon, ascending, ms.
async fn loaded(feed: SocketAddr, tablets: Vec<Tablet>) -> Vec<f64> {
    let times = Arc::new(Mutex::new(Times::default()));
    let looking: Vec<_> =
        tablets.into_iter().map(|tablet| tokio::spawn(look(tablet, Arc::clone(&times)))).collect();
    let sailing = tokio::spawn(sail(feed));
    tokio::time::sleep(SETTLED).await;
    let mut receiver = TcpStream::connect(feed).await.expect("listening");
    receiver.set_nodelay(true).expect("set");
    for number in 0..BEACONS {
        let (mmsi, line) = beacon(number);
        times.lock().expect("no panic").written.push((mmsi, Instant::now()));
        receiver.write_all(line.as_bytes()).await.expect("taken");
        tokio::time::sleep(EVERY).await;
    }
    sailing.abort();
    looking.iter().for_each(tokio::task::JoinHandle::abort);
    let mut took_ms = std::mem::take(&mut times.lock().expect("no panic").took_ms);
    assert_eq!(took_ms.len(), BEACONS as usize * TABLETS, "an alert did not arrive everywhere");
    took_ms.sort_by(f64::total_cmp);
    took_ms
}

/// The fleet's lines, spread evenly over time.
async fn sail(feed: SocketAddr) {
    let mut lines = TcpStream::connect(feed).await.expect("listening");
    lines.set_nodelay(true).expect("set");
    let mut fleet = Fleet::of(BOATS);
    let mut next = tokio::time::interval(Duration::from_secs(1) / (BOATS as u32 * HZ));
    for boat in (0..BOATS).cycle() {
        next.tick().await;
        let now = Moment(wall_ms());
        fleet.sail(boat, now, 1.0 / f64::from(HZ));
        lines.write_all(fleet.line(boat, now).as_bytes()).await.expect("taken");
    }
}

/// One tablet: notes when each beacon's alert comes first.
async fn look(mut tablet: Tablet, times: Arc<Mutex<Times>>) {
    let mut seen = Vec::new();
    while let Some(Ok(message)) = tablet.next().await {
        let now = Instant::now();
        let text = message.to_text().unwrap_or_default();
        if !text.contains("\"kind\":\"alert\"") {
            continue;
        }
        let mut times = times.lock().expect("no panic");
        let written = times.written.clone();
        for (mmsi, at) in written {
            if !seen.contains(&mmsi) && text.contains(&mmsi.to_string()) {
                seen.push(mmsi);
                times.took_ms.push(now.duration_since(at).as_secs_f64() * 1e3);
            }
        }
    }
}

fn share(sorted: &[f64], percent: usize) -> f64 {
    sorted[(sorted.len() * percent / 100).min(sorted.len() - 1)]
}

fn told(sorted: &[f64]) -> String {
    format!("{:.2}, {:.2}, {:.2} ms", share(sorted, 50), share(sorted, 99), share(sorted, 100))
}
