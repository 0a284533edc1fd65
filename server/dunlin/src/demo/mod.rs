//! `dunlin demo`: the server on an invented centre, with a live simulated fleet that speaks to it
//! through real sockets, as boats would.

mod fleet;
mod keys;

use std::{net::SocketAddr, path::PathBuf};

use anyhow::{Context as _, bail};
use dunlin_engine::Setup;
use dunlin_sim::{Demo, Script};
use fast_qr::QRBuilder;

use crate::{
    clock::wall_ms,
    config::{Config, FeedConfig, FeedKind},
    serve::{self, Running, signalled},
    setup, stop,
};

const SITE: &str = include_str!("../../../../demo-scenario/site.geojson");
const FLEET: &str = include_str!("../../../../demo-scenario/fleet.toml");
const SCRIPT: &str = include_str!("../../../../demo-scenario/scenario.toml");

/// Runs the server on an invented centre with a live simulated fleet.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Port of the pages, on this computer only.
    #[arg(long, default_value_t = 8080)]
    port: u16,
    /// How fast time runs in the demonstration: 1 is real time.
    #[arg(long, default_value_t = 1.0, value_parser = speed)]
    speed: f64,
    /// Folder for the demonstration's data, kept afterwards; without it a new one is made and removed.
    #[arg(long)]
    data: Option<PathBuf>,
}

fn speed(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(speed) if (0.1..=60.0).contains(&speed) => Ok(speed),
        _ => Err("a number from 0.1 to 60".to_owned()),
    }
}

/// Does it, until Ctrl-C or a request to end.
///
/// # Errors
/// When the port is taken or the data folder cannot be made.
pub fn execute(args: Args) -> anyhow::Result<()> {
    let kept = args.data.is_some();
    let data = args.data.clone().unwrap_or_else(|| {
        std::env::temp_dir().join(format!("dunlin-demo-{}-{}", std::process::id(), wall_ms()))
    });
    let runtime = tokio::runtime::Runtime::new().context("no runtime")?;
    let ran = runtime.block_on(run(&args, data.clone()));
    drop(runtime);
    if !kept && let Err(error) = std::fs::remove_dir_all(&data) {
        tracing::debug!(%error, folder = %data.display(), "Demonstration's data not removed.");
    }
    ran
}

async fn run(args: &Args, data: PathBuf) -> anyhow::Result<()> {
    let (stopper, stop) = stop::pair();
    let script: Script = toml::from_str(SCRIPT).context("the demonstration's script")?;
    let mut config = Config::fresh();
    config.data = data;
    config.hub.centre = "Merrow Reach (invented)".to_owned();
    config.hub.listen = SocketAddr::from(([127, 0, 0, 1], args.port));
    config.feeds = feeds();
    let running = Running { config, setup: scenario()?, demo: true, speed: args.speed };
    let served = serve::start(running, stop.clone()).await?;
    println!("\nThe demonstration is at {}", served.url());
    if let Ok(qr) = QRBuilder::new(served.url()).build() {
        println!("\n{}", qr.to_str());
    }
    println!("Everything in it is invented. Ctrl-C stops it.\n");
    let clock = served.clock();
    let demo = Demo::new(SITE, script, clock.now().0).context("the demonstration's script")?;
    let sailing = fleet::sail(demo, clock, served.link(), served.address(), stop);
    let mut ending = std::pin::pin!(served.ended());
    let ended = tokio::select! {
        sailed = sailing => sailed,
        ended = &mut ending => return ended,
        () = signalled() => Ok(()),
    };
    println!("\nStopping.");
    stopper.stop();
    ending.await?;
    ended
}

/// The safety boats and the mast come by TCP, the trackers by UDP; the phones by their own socket.
fn feeds() -> Vec<FeedConfig> {
    let listen = SocketAddr::from(([127, 0, 0, 1], 0));
    let feed = |name: &str, kind| FeedConfig {
        name: name.to_owned(),
        kind,
        sources: Vec::new(),
        source_by_address: false,
    };
    vec![
        feed(fleet::TCP, FeedKind::TcpListen { listen, allow: Vec::new() }),
        feed(fleet::UDP, FeedKind::Udp { listen, allow: Vec::new() }),
    ]
}

fn scenario() -> anyhow::Result<Setup> {
    let (site, mut problems) = setup::site::parse("demo-scenario/site.geojson", SITE);
    let (fleet, more) = setup::fleet::parse("demo-scenario/fleet.toml", FLEET);
    problems.extend(more);
    if let Some(problem) = problems.first() {
        bail!("{problem}");
    }
    Ok(Setup { site, fleet, wind_limit_mps: None })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scenario_is_sound() {
        let setup = scenario().expect("sound");
        let script: Script = toml::from_str(SCRIPT).expect("sound");
        assert!(Demo::new(SITE, script.clone(), 0).is_ok());
        for boat in &script.boat {
            let known = setup.fleet.iter().find(|known| known.id == boat.id);
            let sources = known.map(|known| known.sources.clone()).unwrap_or_default();
            assert!(sources.contains(&boat.source), "{} has {sources:?}", boat.id);
        }
    }
}
