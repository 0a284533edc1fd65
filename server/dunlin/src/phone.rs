//! A phone's side of the `/feed` socket, as `docs/feed.md` describes it: the example for whoever
//! writes one, and what the demonstration's fleet speaks through.
//!
//! Fixes are numbered and kept until the server says that they are on disk; after a lost connection
//! those it does not have are sent again, oldest first.

use std::{collections::VecDeque, time::Duration};

use futures_util::{SinkExt as _, StreamExt as _};
use tokio::{net::TcpStream, sync::mpsc, time::timeout};
use tokio_tungstenite::{
    MaybeTlsStream, WebSocketStream, connect_async,
    tungstenite::{Error as SocketError, Message},
};

use crate::{
    hub::phone_wire::{FEED_VERSION, FromPhone, PhoneFix, ToPhone},
    stop::Stop,
};

/// Fixes kept while the server is not reached: two hours at one a second. The oldest go first.
const KEPT_MAX: usize = 7_200;

/// Fixes in one message.
const BATCH_MAX: usize = 600;

/// The first and the longest wait before connecting again.
const BACK_OFF: (Duration, Duration) = (Duration::from_millis(250), Duration::from_secs(10));

/// How long the server may take to answer a hello, or be silent: it speaks every two seconds.
const SILENT: Duration = Duration::from_secs(15);

type Socket = WebSocketStream<MaybeTlsStream<TcpStream>>;

/// Why a connection ended. Whatever it is, the phone connects again, except after `Refused`.
#[derive(Debug, thiserror::Error)]
pub enum PhoneError {
    /// The server cannot be reached, or the connection was lost.
    #[error("connection lost")]
    Socket(#[source] Box<SocketError>),
    /// The server said nothing for too long.
    #[error("the server is silent")]
    Silent,
    /// The server will not have this phone: its key is not known, or its version.
    #[error("refused: {0}")]
    Refused(String),
}

impl From<SocketError> for PhoneError {
    fn from(error: SocketError) -> PhoneError {
        PhoneError::Socket(Box::new(error))
    }
}

/// A phone on board.
#[derive(Debug)]
pub struct Phone {
    url: String,
    key: String,
    run: String,
    next: u32,
    /// Not known to be on the server's disk yet, oldest first.
    kept: VecDeque<PhoneFix>,
    /// The newest number sent on this connection.
    sent: u32,
}

impl Phone {
    /// A phone that speaks to `url` (`ws://host:port/feed`) for the boat of `key`. `run` names this
    /// run of numbers: a phone that restarts and begins again at 1 takes another name.
    pub fn new(url: String, key: String, run: String) -> Phone {
        Phone { url, key, run, next: 1, kept: VecDeque::new(), sent: 0 }
    }

    /// Sends whatever comes through `fixes` (their numbers are given here) until it is closed and
    /// everything is on the server's disk, or until `stop`.
    ///
    /// # Errors
    /// When the server refuses this phone. Lost connections are not errors: it connects again.
    pub async fn run(
        mut self,
        mut fixes: mpsc::Receiver<PhoneFix>,
        mut stop: Stop,
    ) -> Result<(), PhoneError> {
        let mut wait = BACK_OFF.0;
        loop {
            let ended = tokio::select! {
                ended = self.connection(&mut fixes, &mut wait) => ended,
                () = stop.wanted() => return Ok(()),
            };
            match ended {
                Ok(()) => return Ok(()),
                Err(refused @ PhoneError::Refused(_)) => return Err(refused),
                Err(error) => tracing::debug!(reason = %error, "Phone connects again."),
            }
            tokio::select! {
                () = tokio::time::sleep(wait) => (),
                () = stop.wanted() => return Ok(()),
            }
            wait = (wait * 2).min(BACK_OFF.1);
        }
    }

    /// One connection, until it is lost or there is nothing more to send.
    async fn connection(
        &mut self,
        fixes: &mut mpsc::Receiver<PhoneFix>,
        wait: &mut Duration,
    ) -> Result<(), PhoneError> {
        let (mut socket, _) = connect_async(&self.url).await?;
        self.hello(&mut socket).await?;
        *wait = BACK_OFF.0;
        let mut open = true;
        loop {
            self.send(&mut socket).await?;
            if !open && self.kept.is_empty() {
                socket.close(None).await?;
                return Ok(());
            }
            tokio::select! {
                fix = fixes.recv(), if open => match fix {
                    Some(fix) => self.keep(fix),
                    None => open = false,
                },
                message = timeout(SILENT, socket.next()) => self.hear(message)?,
            }
        }
    }

    /// Says who this is and learns what the server has of this run.
    async fn hello(&mut self, socket: &mut Socket) -> Result<(), PhoneError> {
        let hello = FromPhone::Hello { v: FEED_VERSION, key: self.key.clone(), run: self.run.clone() };
        say(socket, &hello).await?;
        self.sent = 0;
        let answer = timeout(SILENT, socket.next()).await.map_err(|_| PhoneError::Silent)?;
        match read(answer)? {
            Some(ToPhone::Welcome { acked, .. }) => self.forget(acked.unwrap_or(0)),
            Some(ToPhone::Error { text }) => return Err(PhoneError::Refused(text)),
            _ => return Err(PhoneError::Silent),
        }
        Ok(())
    }

    fn keep(&mut self, mut fix: PhoneFix) {
        fix.seq = self.next;
        self.next += 1;
        self.kept.push_back(fix);
        if self.kept.len() > KEPT_MAX {
            self.kept.pop_front();
        }
    }

    fn forget(&mut self, acked: u32) {
        while self.kept.front().is_some_and(|fix| fix.seq <= acked) {
            self.kept.pop_front();
        }
        self.sent = self.sent.max(acked);
    }

    /// Sends what was not sent on this connection yet.
    async fn send(&mut self, socket: &mut Socket) -> Result<(), PhoneError> {
        loop {
            let unsent = self.kept.iter().filter(|fix| fix.seq > self.sent);
            let fixes: Vec<PhoneFix> = unsent.take(BATCH_MAX).cloned().collect();
            let Some(last) = fixes.last() else { return Ok(()) };
            self.sent = last.seq;
            say(socket, &FromPhone::Fixes { fixes }).await?;
        }
    }

    fn hear(
        &mut self,
        message: Result<Option<Result<Message, SocketError>>, tokio::time::error::Elapsed>,
    ) -> Result<(), PhoneError> {
        match read(message.map_err(|_| PhoneError::Silent)?)? {
            Some(ToPhone::Ack { seq, refused }) => {
                for fix in refused {
                    tracing::debug!(seq = fix.seq, why = fix.why, "Fix refused.");
                }
                self.forget(seq);
            }
            Some(ToPhone::Error { text }) => tracing::debug!(text, "Server complains."),
            // A page would show that it is heard, and signals; this phone has nobody to show to.
            Some(ToPhone::Welcome { .. } | ToPhone::Heard { .. } | ToPhone::Signal { .. }) | None => (),
        }
        Ok(())
    }
}

async fn say(socket: &mut Socket, message: &FromPhone) -> Result<(), PhoneError> {
    // These messages hold text, numbers and lists only, which JSON can always carry.
    let text = serde_json::to_string(message).unwrap_or_default();
    Ok(socket.send(Message::text(text)).await?)
}

/// The message, or `None` for one that carries none: a ping, or a kind that a newer server knows.
fn read(message: Option<Result<Message, SocketError>>) -> Result<Option<ToPhone>, PhoneError> {
    match message {
        Some(Ok(Message::Text(text))) => Ok(serde_json::from_str(&text).ok()),
        Some(Ok(Message::Close(Some(frame)))) if u16::from(frame.code) >= 4003 => {
            Err(PhoneError::Refused(frame.reason.to_string()))
        }
        Some(Ok(Message::Close(_))) | None => Err(SocketError::ConnectionClosed.into()),
        Some(Ok(_)) => Ok(None),
        Some(Err(error)) => Err(error.into()),
    }
}
