//! The simulated fleet in real time, each boat through a connection of her own.

use std::{collections::BTreeMap, net::SocketAddr, time::Duration};

use anyhow::{Context as _, bail};
use dunlin_engine::moment::Moment;
use dunlin_sim::{Demo, Feed, Fix, Sent, tagged};
use tokio::{
    io::AsyncWriteExt as _,
    net::{TcpStream, UdpSocket},
    sync::mpsc,
    task::JoinSet,
};

use super::keys::boat_key;
use crate::{
    clock::Clock,
    hub::phone_wire::PhoneFix,
    link::{Link, Picture},
    phone::Phone,
    stop::Stop,
};

/// The feed to which safety boats and the mast connect.
pub(super) const TCP: &str = "safety and mast";

/// The feed to which trackers send.
pub(super) const UDP: &str = "trackers";

/// How often the fleet moves on; it moves in tenths of a second.
const STEP_MS: i64 = 100;

/// Fixes that wait in a phone's own queue.
const WAITING_MAX: usize = 120;

/// Where a source's reports go.
enum Way {
    Phone(mpsc::Sender<PhoneFix>),
    Tcp(TcpStream),
    Udp(UdpSocket),
}

/// Sails until `stop`.
pub(super) async fn sail(
    mut demo: Demo,
    clock: Clock,
    link: Link,
    server: SocketAddr,
    stop: Stop,
) -> anyhow::Result<()> {
    let (tcp, udp) = listening(&link).await?;
    let mut ways: BTreeMap<String, Way> = BTreeMap::new();
    // Dropped with this future, and every phone with it.
    let mut phones = JoinSet::new();
    for boat in &link.picture().setup.fleet {
        for source in &boat.sources {
            let way = match (demo.feed_of(source), boat.role) {
                (Feed::Phone, _) => {
                    let key = boat_key(server, &boat.id).await?;
                    let (fixes_in, fixes) = mpsc::channel(WAITING_MAX);
                    let run = format!("demo-{}", demo.now_ms());
                    let phone = Phone::new(format!("ws://{server}/feed"), key, run);
                    phones.spawn(phone.run(fixes, stop.clone()));
                    Way::Phone(fixes_in)
                }
                (Feed::Nmea, dunlin_engine::fleet::Role::Dinghy) => {
                    let socket = UdpSocket::bind("127.0.0.1:0").await.context("no socket")?;
                    socket.connect(udp).await.context("no socket")?;
                    Way::Udp(socket)
                }
                (Feed::Nmea, _) => Way::Tcp(TcpStream::connect(tcp).await.context("no connection")?),
            };
            ways.insert(source.clone(), way);
        }
    }
    loop {
        let next = Moment(demo.now_ms() + STEP_MS);
        tokio::time::sleep_until(clock.instant(next)).await;
        // After a pause (a laptop asleep) the fleet catches up in one go.
        let behind_ms = clock.now().0 - demo.now_ms();
        for sent in demo.step(behind_ms as f64 / 1000.0) {
            if let Some(way) = ways.get_mut(&sent.source) {
                send(way, &sent).await?;
            }
        }
        while let Some(ended) = phones.try_join_next() {
            ended.context("a phone failed")?.context("a phone was refused")?;
        }
    }
}

async fn send(way: &mut Way, sent: &Sent) -> anyhow::Result<()> {
    match way {
        Way::Phone(fixes) => {
            if let Some(fix) = &sent.fix {
                // A phone that cannot send keeps its own; one whose queue is full loses its newest.
                drop(fixes.try_send(phone_fix(fix)));
            }
        }
        Way::Tcp(stream) => {
            let lines = sent.lines.iter();
            let text: String =
                lines.map(|line| tagged(&sent.source, sent.arrival_ms, line) + "\r\n").collect();
            stream.write_all(text.as_bytes()).await.context("the server closed a connection")?;
        }
        Way::Udp(socket) => {
            for line in &sent.lines {
                let text = tagged(&sent.source, sent.arrival_ms, line) + "\r\n";
                socket.send(text.as_bytes()).await.context("a datagram was not sent")?;
            }
        }
    }
    Ok(())
}

fn phone_fix(fix: &Fix) -> PhoneFix {
    PhoneFix {
        seq: 0, // given by the phone
        t: fix.taken_ms,
        lat: Some(fix.lat_deg),
        lon: Some(fix.lon_deg),
        acc: Some(fix.accuracy_m),
        sog: Some(fix.speed_mps),
        cog: fix.course_deg,
        hdg: fix.heading_deg,
        heel: fix.heel_deg,
        bat: None,
        help: fix.help,
    }
}

/// The ports that the system gave to the two feeds.
async fn listening(link: &Link) -> anyhow::Result<(SocketAddr, SocketAddr)> {
    let address = |picture: &Picture, name: &str| {
        picture.feeds.iter().find(|feed| feed.name == name).and_then(|feed| feed.listens)
    };
    let mut pictures = link.pictures();
    let waited = tokio::time::timeout(Duration::from_secs(10), async {
        loop {
            let picture = pictures.borrow_and_update().clone();
            if let (Some(tcp), Some(udp)) = (address(&picture, TCP), address(&picture, UDP)) {
                return Some((tcp, udp));
            }
            pictures.changed().await.ok()?;
        }
    });
    match waited.await {
        Ok(Some(both)) => Ok(both),
        Ok(None) | Err(_) => bail!("the feeds of the demonstration do not open"),
    }
}
