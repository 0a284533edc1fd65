//! One tablet's live socket: a snapshot, then everything urgent at once and positions by the tick.
//!
//! A tablet that reads slowly is given the newest positions only; urgent messages wait for it up to
//! a bound, beyond which it is given a snapshot; one that does not read at all is cut off.

use std::{
    net::SocketAddr,
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
};

use axum::{
    extract::{
        ConnectInfo, Extension, Query, State,
        ws::{CloseFrame, Message, Utf8Bytes, WebSocket, WebSocketUpgrade},
    },
    http::StatusCode,
    response::{IntoResponse, Response},
};
use futures_util::{
    SinkExt, StreamExt,
    stream::{SplitSink, SplitStream},
};
use serde::Deserialize;
use tokio::{
    sync::{broadcast::error::RecvError, mpsc},
    time::{interval, timeout},
};
use tracing::debug;

use super::{
    Hub, Urgent,
    act::{Actor, act},
    encode, json,
    limits::{ACTION_BYTES_MAX, ACTIONS_PER_S, BURST, PING_EVERY, SEND_TIMEOUT, SILENCE_MAX},
    sockets::{Allowance, Kind, Place},
    wire::{AccessRole, FromTablet, Outcome, ToTablet, You},
};
use crate::access::role::Principal;

/// Answers waiting to be sent to one tablet. When full, its next action waits.
const ANSWERS_WAITING_MAX: usize = 8;

/// The close code for a tablet that has to join, or to join again (4000 and up are for applications,
/// RFC 6455 7.4.2).
const CLOSE_STRANGER: u16 = 4401;

/// Connections of tablets without a name, each of which is a tablet of its own.
static CONNECTIONS: AtomicU64 = AtomicU64::new(0);

/// What a tablet says of itself when it connects.
#[derive(Debug, Default, Deserialize)]
pub struct Tablet {
    /// A name it made up and keeps, so that a request sent again on a new connection is known.
    #[serde(default)]
    tablet: String,
}

/// `GET /live`.
pub async fn live(
    State(hub): State<Arc<Hub>>,
    Extension(who): Extension<Principal>,
    ConnectInfo(address): ConnectInfo<SocketAddr>,
    Query(tablet): Query<Tablet>,
    upgrade: WebSocketUpgrade,
) -> Response {
    let upgrade = upgrade.max_message_size(ACTION_BYTES_MAX).max_frame_size(ACTION_BYTES_MAX);
    let Principal::Person { key, name, role } = who else {
        return upgrade.on_upgrade(turn_away);
    };
    let place = match hub.sockets.take(Kind::Tablet, address.ip()) {
        Ok(place) => place,
        Err(why) => return (StatusCode::SERVICE_UNAVAILABLE, why).into_response(),
    };
    let session = Session {
        hub,
        who: Actor { name, role },
        key,
        tablet: match tablet.tablet.chars().take(64).collect::<String>() {
            unnamed if unnamed.is_empty() => format!("#{}", CONNECTIONS.fetch_add(1, Ordering::Relaxed)),
            named => named,
        },
        _place: place,
    };
    upgrade.on_upgrade(move |socket| session.run(socket))
}

async fn turn_away(mut socket: WebSocket) {
    let close = CloseFrame { code: CLOSE_STRANGER, reason: "join first".into() };
    drop(timeout(SEND_TIMEOUT, socket.send(Message::Close(Some(close)))).await);
}

struct Session {
    hub: Arc<Hub>,
    who: Actor,
    key: i64,
    tablet: String,
    _place: Place,
}

type Sink = SplitSink<WebSocket, Message>;

/// Why a session ended. Always the session's own matter: the tablet returns for a snapshot.
#[derive(Debug)]
enum Ended {
    /// The link is gone, or the tablet does not read.
    Gone,
    /// The key was revoked.
    Revoked,
}

impl Session {
    async fn run(self, socket: WebSocket) {
        let (mut sink, stream) = socket.split();
        let (answers, waiting) = mpsc::channel(ANSWERS_WAITING_MAX);
        let ended = tokio::select! {
            ended = self.write(&mut sink, waiting) => ended,
            () = self.read(stream, answers) => Ended::Gone,
        };
        debug!(key = self.key, reason = ?ended, "A tablet's socket ended.");
        let reason = match ended {
            Ended::Gone => return,
            Ended::Revoked => "this tablet's key was revoked; join again",
        };
        let close = Message::Close(Some(CloseFrame { code: CLOSE_STRANGER, reason: reason.into() }));
        drop(timeout(SEND_TIMEOUT, sink.send(close)).await);
    }

    fn is_welcome(&self) -> bool {
        self.hub.about.demo || self.hub.keys.in_force(self.key)
    }

    /// Sends until the tablet cannot be sent to.
    async fn write(&self, sink: &mut Sink, mut answers: mpsc::Receiver<Utf8Bytes>) -> Ended {
        let mut ticks = self.hub.ticks();
        let mut ping = interval(PING_EVERY);
        'anew: loop {
            let you = You { name: self.who.name.clone(), role: self.who.role };
            let (snapshot, mut urgent, mut at_tick) = self.hub.join(you);
            let first = encode(&ToTablet::Snapshot(Box::new(snapshot)));
            if send(sink, Message::Text(first)).await.is_err() {
                return Ended::Gone;
            }
            loop {
                let text = tokio::select! {
                    biased;
                    message = urgent.recv() => match message {
                        Ok(Urgent::Text { staff, viewers }) => match viewers {
                            Some(viewers) if self.who.role < AccessRole::Instructor => viewers,
                            Some(_) | None => staff,
                        },
                        Ok(Urgent::Anew) | Err(RecvError::Lagged(_)) => continue 'anew,
                        Err(RecvError::Closed) => return Ended::Gone,
                    },
                    Some(answer) = answers.recv() => answer,
                    changed = ticks.changed() => {
                        if changed.is_err() {
                            return Ended::Gone;
                        }
                        let newest = ticks.borrow_and_update().clone();
                        if newest.number <= at_tick {
                            continue; // it was in the snapshot
                        }
                        let (number, text) = if newest.number == at_tick + 1 {
                            (newest.number, newest.text.clone())
                        } else {
                            let (number, tick) = self.hub.board().since(at_tick);
                            (number, encode(&ToTablet::Tick(tick)))
                        };
                        at_tick = number;
                        text
                    }
                    _ = ping.tick() => {
                        if !self.is_welcome() {
                            return Ended::Revoked;
                        }
                        if send(sink, Message::Ping(Vec::new().into())).await.is_err() {
                            return Ended::Gone;
                        }
                        continue;
                    }
                };
                if send(sink, Message::Text(text)).await.is_err() {
                    return Ended::Gone;
                }
            }
        }
    }

    /// Reads and carries out, one action after the other, until the tablet is gone.
    async fn read(&self, mut stream: SplitStream<WebSocket>, answers: mpsc::Sender<Utf8Bytes>) {
        let mut allowance = Allowance::new(ACTIONS_PER_S, BURST);
        // Pongs to our pings keep a quiet tablet from counting as silent.
        while let Ok(Some(Ok(message))) = timeout(SILENCE_MAX, stream.next()).await {
            let text = match message {
                Message::Text(text) => text,
                Message::Ping(_) | Message::Pong(_) => continue,
                Message::Binary(_) => {
                    let outcome = refuse(0, "messages are JSON text");
                    if answers.send(encode(&ToTablet::Outcome(outcome))).await.is_err() {
                        return;
                    }
                    continue;
                }
                Message::Close(_) => return,
            };
            allowance.take().await;
            let outcome = self.carry_out(&text).await;
            if answers.send(encode(&ToTablet::Outcome(outcome))).await.is_err() {
                return;
            }
        }
    }

    async fn carry_out(&self, text: &str) -> Outcome {
        let asked: FromTablet = match json::read(text) {
            Ok(asked) => asked,
            Err(wrong) => {
                let request = json::number(text, "request").unwrap_or(0);
                return refuse(request, &format!("not understood: {wrong}"));
            }
        };
        if !self.is_welcome() {
            return refuse(asked.request, "this tablet's key was revoked; join again");
        }
        let (hub, who) = (Arc::clone(&self.hub), self.who.clone());
        let given = self.hub.answers.of(self.key, &self.tablet);
        // Its own task: once begun, it is finished even if the tablet goes away meanwhile.
        let done = tokio::spawn(async move {
            let mut given = given.lock().await;
            if let Some(outcome) = given.to(asked.request) {
                return outcome.clone();
            }
            let outcome = match act(&hub, &who, asked.action).await {
                Ok(undo) => Outcome { request: asked.request, refused: None, undo },
                Err(why) => refuse(asked.request, &why),
            };
            given.remember(outcome.clone());
            outcome
        });
        done.await.unwrap_or_else(|_| refuse(asked.request, "dunlin failed at this; see its log"))
    }
}

fn refuse(request: u32, why: &str) -> Outcome {
    Outcome { request, refused: Some(why.to_owned()), undo: None }
}

async fn send(sink: &mut Sink, message: Message) -> Result<(), ()> {
    match timeout(SEND_TIMEOUT, sink.send(message)).await {
        Ok(Ok(())) => Ok(()),
        Ok(Err(_)) | Err(_) => Err(()),
    }
}
