//! NMEA 0183 by TCP, either side connecting.

use std::{net::SocketAddr, sync::Arc, time::Duration};

use tokio::{
    net::{TcpListener, TcpStream},
    sync::Semaphore,
    task::JoinSet,
    time::timeout,
};

use super::{BackOff, Intake};
use crate::config::{Network, allowed};

/// Connections of one listening feed at most; a further one is closed at once and counted.
const PEERS_MAX: usize = 256;

/// How long a connection attempt may take.
const CONNECT: Duration = Duration::from_secs(5);

/// Connects to `address` and reads, again and again.
pub(super) async fn connect(intake: &Intake, address: &str) {
    let mut back_off = BackOff::new();
    let mut before = false;
    loop {
        match timeout(CONNECT, TcpStream::connect(address)).await {
            Ok(Ok(stream)) => {
                back_off.reset();
                intake.watched.up();
                {
                    let mut state = intake.watched.lock();
                    state.health.connections = 1;
                    state.health.reconnects += u64::from(before);
                }
                before = true;
                let ended = intake.pump(stream, intake.name(None)).await;
                intake.watched.lock().health.connections = 0;
                intake.watched.down(match ended {
                    Ok(()) => format!("{address} closed the connection; trying again"),
                    Err(error) => format!("connection to {address} lost ({error}); trying again"),
                });
            }
            Ok(Err(error)) => {
                intake.watched.down(format!(
                    "cannot connect to {address} ({error}): check that the instrument is on and in this network"
                ));
            }
            Err(_) => intake.watched.down(format!(
                "no answer from {address}: check that the instrument is on and in this network"
            )),
        }
        back_off.wait().await;
    }
}

/// Listens and reads from everyone who connects.
pub(super) async fn listen(intake: &Intake, listen: SocketAddr, allow: &[Network]) {
    let mut back_off = BackOff::new();
    let room = Arc::new(Semaphore::new(PEERS_MAX));
    loop {
        let listener = match TcpListener::bind(listen).await {
            Ok(listener) => listener,
            Err(error) => {
                intake
                    .watched
                    .down(format!("cannot listen on {listen} ({error}): is another program using the port?"));
                back_off.wait().await;
                continue;
            }
        };
        intake.watched.lock().health.listens = listener.local_addr().ok();
        intake.watched.up();
        // Dropped with this task, and every connection with it.
        let mut peers = JoinSet::new();
        loop {
            while peers.try_join_next().is_some() {}
            let (stream, peer) = match listener.accept().await {
                Ok(accepted) => accepted,
                Err(error) => {
                    // Out of file handles, mostly: the connection is lost, the listener is not.
                    tracing::warn!(feed = %intake.config.name, %error, "Connection not accepted.");
                    tokio::time::sleep(Duration::from_millis(100)).await;
                    continue;
                }
            };
            let at = intake.clock.now();
            if !allowed(allow, peer.ip()) {
                let words = format!("{} may not feed", peer.ip());
                intake.watched.refuse(at, "address-not-allowed", words);
                continue;
            }
            let Ok(place) = Arc::clone(&room).try_acquire_owned() else {
                let words = format!("{} came when {PEERS_MAX} were connected", peer.ip());
                intake.watched.refuse(at, "too-many-connections", words);
                continue;
            };
            let intake = intake.clone();
            peers.spawn(async move {
                intake.watched.lock().health.connections += 1;
                let ended = intake.pump(stream, intake.name(Some(peer.ip()))).await;
                intake.watched.lock().health.connections -= 1;
                if let Err(error) = ended {
                    tracing::info!(feed = %intake.config.name, %peer, %error, "Connection lost.");
                }
                drop(place);
            });
        }
    }
}
