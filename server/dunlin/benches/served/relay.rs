//! The peer: lines by TCP through the `nmea` crate into JSON by `serde_json`, spread to every WebSocket by
//! tokio's broadcast and tokio-tungstenite. It knows no boats, judges nothing and records nothing.

use std::net::SocketAddr;

use futures_util::SinkExt as _;
use tokio::{
    io::{AsyncBufReadExt as _, BufReader},
    net::{TcpListener, TcpStream},
    sync::broadcast,
};
use tokio_tungstenite::{accept_async, connect_async, tungstenite::Message};

use super::program::Tablet;

/// A relay that runs until the process ends.
pub struct Relay {
    pub feed: SocketAddr,
    pages: SocketAddr,
}

impl Relay {
    pub async fn tablet(&self) -> Tablet {
        connect_async(format!("ws://{}/", self.pages)).await.expect("a socket").0
    }
}

pub async fn start() -> Relay {
    let (feeds, pages) = (bound().await, bound().await);
    let relay = Relay { feed: address(&feeds), pages: address(&pages) };
    let (spread, _) = broadcast::channel::<Message>(4096);
    let out = spread.clone();
    tokio::spawn(async move {
        while let Ok((stream, _)) = feeds.accept().await {
            tokio::spawn(read(stream, out.clone()));
        }
    });
    tokio::spawn(async move {
        while let Ok((stream, _)) = pages.accept().await {
            tokio::spawn(write(stream, spread.subscribe()));
        }
    });
    relay
}

async fn bound() -> TcpListener {
    TcpListener::bind("127.0.0.1:0").await.expect("a port")
}

fn address(listener: &TcpListener) -> SocketAddr {
    listener.local_addr().expect("bound")
}

async fn read(stream: TcpStream, spread: broadcast::Sender<Message>) {
    let mut lines = BufReader::new(stream).lines();
    while let Ok(Some(line)) = lines.next_line().await {
        let sentence = line.rsplit('\\').next().unwrap_or_default();
        let said = match nmea::parse_str(sentence) {
            Ok(nmea::ParseResult::RMC(rmc)) => {
                serde_json::json!({"kind": "fix", "lat": rmc.lat, "lon": rmc.lon, "kn": rmc.speed_over_ground})
            }
            _ => serde_json::json!({"kind": "alert", "mmsi": mmsi(sentence)}),
        };
        // Nobody may be looking yet.
        let _heard = spread.send(Message::text(said.to_string()));
    }
}

/// The identity in an AIS sentence: bits 8 to 37 of its payload.
fn mmsi(sentence: &str) -> Option<u32> {
    let payload = sentence.split(',').nth(5)?;
    let six =
        payload.bytes().take(7).map(|armour| u64::from(if armour > 88 { armour - 56 } else { armour - 48 }));
    let bits = six.fold(0_u64, |bits, six| bits << 6 | six);
    u32::try_from(bits >> 4 & 0x3FFF_FFFF).ok()
}

async fn write(stream: TcpStream, mut spread: broadcast::Receiver<Message>) {
    let Ok(mut socket) = accept_async(stream).await else { return };
    while let Ok(message) = spread.recv().await {
        if socket.send(message).await.is_err() {
            return;
        }
    }
}
