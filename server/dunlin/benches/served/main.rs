//! What the running program costs, from outside: start, restart, memory, bytes to a tablet, and how long
//! a line takes to become an alert on twenty tablets. `cargo xtask bench` runs it.
//!
//! The program is the real one, on loopback with its journal on disk; tablets are sockets of this process,
//! which shares the machine with it.

mod day;
mod fleet;
mod latency;
mod program;
mod relay;

use std::{
    process::{Command, Stdio},
    time::{Duration, Instant},
};

use dunlin::clock::wall_ms;
use dunlin_engine::moment::Moment;
use futures_util::StreamExt as _;
use tokio::{io::AsyncWriteExt as _, net::TcpStream};

use fleet::Fleet;
use program::{Program, Tablet, free_port};

/// Runs and starts that the median is taken of.
const RUNS: usize = 5;
/// Boats of the day that is gone on with, and of the memory.
const BOATS: usize = 40;
/// How long a tablet's bytes are counted.
const COUNTED: Duration = Duration::from_secs(20);

fn main() {
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    println!("| what | goal | measured |");
    println!("| --- | --- | --- |");
    replay();
    starts();
    a_day_gone_on_with(&runtime);
    runtime.block_on(latency::measure());
}

/// An invented hour of a fleet through `dunlin replay`, what it says thrown away.
fn replay() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = |args: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dunlin"));
        let ran = command.args(args).current_dir(folder.path()).stdout(Stdio::null()).stderr(Stdio::null());
        assert!(ran.status().expect("started").success(), "{args:?}");
    };
    run(&["simulate", "--scenario", "moderate", "--seed", "11"]);
    let count = |file: &str, sign: &str| {
        std::fs::read_to_string(folder.path().join(file)).expect("written").matches(sign).count()
    };
    let mut took_s: Vec<f64> = (0..RUNS)
        .map(|_| {
            let began = Instant::now();
            run(&["replay", "--site", "site.geojson", "--fleet", "fleet.toml", "log.nmea"]);
            began.elapsed().as_secs_f64()
        })
        .collect();
    println!(
        "| replay of an hour of {} boats, {} lines, {} of them RMC (median of {RUNS}) | 1 s | {:.2} s |",
        count("fleet.toml", "[[boat]]"),
        count("log.nmea", "\n"),
        count("log.nmea", "RMC,"),
        median(&mut took_s)
    );
}

/// Starts on nothing and on what was left, without a session to go on with.
fn starts() {
    let mut first = Vec::new();
    let mut again = Vec::new();
    for _ in 0..RUNS {
        let folder = tempfile::tempdir().expect("a folder");
        let pages = free_port();
        fleet::write_set_up(folder.path(), BOATS, pages, free_port());
        let config = folder.path().join("dunlin.toml");
        first.push(Program::start(&config, pages).answered_ms);
        again.push(Program::start(&config, pages).answered_ms);
    }
    println!(
        "| start to first answered request: first, again (median of {RUNS}) | 100 ms | {:.0}, {:.0} ms |",
        median(&mut first),
        median(&mut again)
    );
}

/// Three hours of a fleet read back, then the fleet goes on and a tablet looks at it.
fn a_day_gone_on_with(runtime: &tokio::runtime::Runtime) {
    let folder = tempfile::tempdir().expect("a folder");
    let (pages, feed) = (free_port(), free_port());
    fleet::write_set_up(folder.path(), BOATS, pages, feed);
    let config = folder.path().join("dunlin.toml");
    let written = day::write(folder.path(), BOATS);
    println!(
        "| journal: inputs written as fast as it can | | {} in {:.1} s |",
        written.inputs, written.took_s
    );
    let cookie = Program::start(&config, pages).join();
    let program = Program::start(&config, pages);
    println!(
        "| warm restart to first answered request, 3 h of {BOATS} boats at 1 Hz | 3 s | {:.2} s |",
        program.answered_ms / 1e3
    );
    let bytes = runtime.block_on(watched(&program, &cookie, feed));
    println!("| bytes to a tablet a second, {BOATS} boats at 1 Hz | | {bytes:.0} |");
    if let Some(resident_mb) = program.resident_mb() {
        println!("| resident memory with {BOATS} boats after that day | 40 MB | {resident_mb:.1} MB |");
    }
}

/// Bytes a second to one tablet while the fleet sails at 1 Hz.
async fn watched(program: &Program, cookie: &str, feed: std::net::SocketAddr) -> f64 {
    let mut lines = TcpStream::connect(feed).await.expect("listening");
    let mut tablet = program.tablet(cookie).await;
    let mut fleet = Fleet::of(BOATS);
    let sailing = async {
        let mut next = tokio::time::interval(Duration::from_secs(1) / BOATS as u32);
        for boat in (0..BOATS).cycle() {
            next.tick().await;
            let now = Moment(wall_ms());
            fleet.sail(boat, now, 1.0);
            lines.write_all(fleet.line(boat, now).as_bytes()).await.expect("taken");
        }
    };
    let counting = async {
        // The snapshot and the first fixes are not what a second costs.
        received(&mut tablet, Duration::from_secs(5)).await;
        let began = Instant::now();
        let bytes = received(&mut tablet, COUNTED).await;
        bytes as f64 / began.elapsed().as_secs_f64()
    };
    tokio::select! {
        () = sailing => unreachable!("it sails for ever"),
        bytes = counting => bytes,
    }
}

/// Bytes of messages received within `time`.
async fn received(tablet: &mut Tablet, time: Duration) -> usize {
    let until = tokio::time::Instant::now() + time;
    let mut bytes = 0;
    while let Ok(Some(Ok(message))) = tokio::time::timeout_at(until, tablet.next()).await {
        bytes += message.len();
    }
    bytes
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}
