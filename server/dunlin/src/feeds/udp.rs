//! NMEA 0183 by UDP: each datagram holds whole lines, one or more.

use std::net::SocketAddr;

use tokio::net::UdpSocket;

use super::{BackOff, Framer, Intake, owned};
use crate::config::{Network, allowed};

/// The largest datagram that IPv4 carries.
const DATAGRAM_MAX: usize = 65_536;

/// Listens, again and again.
pub(super) async fn listen(intake: &Intake, listen: SocketAddr, allow: &[Network]) {
    let mut back_off = BackOff::new();
    let mut buffer = vec![0; DATAGRAM_MAX];
    loop {
        let socket = match UdpSocket::bind(listen).await {
            Ok(socket) => socket,
            Err(error) => {
                intake
                    .watched
                    .down(format!("cannot listen on {listen} ({error}): is another program using the port?"));
                back_off.wait().await;
                continue;
            }
        };
        intake.watched.lock().health.listens = socket.local_addr().ok();
        intake.watched.up();
        loop {
            let (count, peer) = match socket.recv_from(&mut buffer).await {
                Ok(received) => received,
                // A datagram that could not be read says nothing about the next one.
                Err(error) => {
                    tracing::debug!(feed = %intake.config.name, %error, "Datagram not read.");
                    tokio::task::yield_now().await;
                    continue;
                }
            };
            let at = intake.clock.now();
            intake.count(at, count);
            if !allowed(allow, peer.ip()) {
                let words = format!("{} may not feed", peer.ip());
                intake.watched.refuse(at, "address-not-allowed", words);
                continue;
            }
            let name = intake.name(Some(peer.ip()));
            let mut framer = Framer::default();
            let mut lines = Vec::new();
            framer.push(&buffer[..count], |piece| lines.push(owned(piece)));
            framer.end(|piece| lines.push(owned(piece)));
            for (line, too_long) in lines {
                intake.give_now(at, &name, line, too_long);
            }
        }
    }
}
