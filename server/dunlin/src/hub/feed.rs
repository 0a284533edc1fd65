//! A phone's socket: one a boat, with the boat's own key in the first message.

use std::{net::SocketAddr, sync::Arc, time::Duration};

use axum::{
    extract::{
        ConnectInfo, State,
        ws::{CloseFrame, Message, Utf8Bytes, WebSocket, WebSocketUpgrade},
    },
    http::StatusCode,
    response::{IntoResponse, Response},
};
use dunlin_engine::{
    effect::AlertKind,
    fleet::BoatIx,
    input::{Command, Report},
    moment::FixTime,
    units::{Bearing, Position},
};
use futures_util::{StreamExt, stream::FuturesOrdered};
use tokio::{task::JoinHandle, time::timeout};
use tracing::{debug, warn};

use super::{
    Hub,
    clerk::Work,
    json,
    limits::{
        BURST, PHONE_BYTES_MAX, PHONE_FIXES_MAX, PHONE_MESSAGES_PER_S, PHONE_PENDING_MAX, SEND_TIMEOUT,
        SILENCE_MAX,
    },
    phone_wire::{FEED_VERSION, FromPhone, PhoneFix, PhoneSignal, RefusedFix, ToPhone},
    phones::Turn,
    sockets::{Allowance, Kind, Place},
    wire,
};
use crate::{
    access::{code::Secret, role::Principal},
    day::record::Record,
    link::Picture,
};

/// How long a new connection may take to say hello.
const HELLO_TIMEOUT: Duration = Duration::from_secs(10);

/// How often a phone is told that it is heard.
const HEARD_EVERY: Duration = Duration::from_secs(2);

/// Close codes that a phone can tell apart (4000 and up are for applications, RFC 6455 7.4.2).
const CLOSE_KEY: u16 = 4003;
const CLOSE_REPLACED: u16 = 4002;
const CLOSE_VERSION: u16 = 4004;

/// `GET /feed`.
pub async fn feed(
    State(hub): State<Arc<Hub>>,
    ConnectInfo(address): ConnectInfo<SocketAddr>,
    upgrade: WebSocketUpgrade,
) -> Response {
    let place = match hub.sockets.take(Kind::Phone, address.ip()) {
        Ok(place) => place,
        Err(why) => return (StatusCode::SERVICE_UNAVAILABLE, why).into_response(),
    };
    upgrade
        .max_message_size(PHONE_BYTES_MAX)
        .max_frame_size(PHONE_BYTES_MAX)
        .on_upgrade(move |socket| run(hub, address, place, socket))
}

async fn run(hub: Arc<Hub>, address: SocketAddr, _place: Place, mut socket: WebSocket) {
    let (key, boat, run) = match hello(&hub, address, &mut socket).await {
        Ok(known) => known,
        Err(close) => {
            if let Some((code, why)) = close {
                say(&mut socket, &ToPhone::Error { text: why.clone() }).await.ok();
                let close = Message::Close(Some(CloseFrame { code, reason: why.into() }));
                drop(timeout(SEND_TIMEOUT, socket.send(close)).await);
            }
            return;
        }
    };
    let turn = hub.phones.take_over(&boat, hub.now_ms());
    note_doubled(&hub, &boat, turn.doubled);
    assign(&hub, &boat).await;
    hub.give_clerk(Work::Look); // the boat can be reached by signals now
    let session = Session { hub: Arc::clone(&hub), key, boat: boat.clone(), run };
    let connection = turn.connection;
    let ended = session.run(&mut socket, turn).await;
    debug!(boat, reason = ended.as_ref().map_or("gone", |(_, why)| why), "A phone's socket ended.");
    if let Some((code, why)) = ended {
        let close = Message::Close(Some(CloseFrame { code, reason: why.into() }));
        drop(timeout(SEND_TIMEOUT, socket.send(close)).await);
    }
    hub.phones.leave(&boat, connection);
    hub.give_clerk(Work::Look);
}

/// Waits for the first message; gives key, boat and run, or the reason to close.
async fn hello(
    hub: &Hub,
    address: SocketAddr,
    socket: &mut WebSocket,
) -> Result<(i64, String, String), Option<(u16, String)>> {
    let Ok(Some(Ok(Message::Text(text)))) = timeout(HELLO_TIMEOUT, socket.next()).await else {
        return Err(Some((CLOSE_KEY, "the first message must be a hello with the boat's key".to_owned())));
    };
    // The version is looked at before the rest, whose fields may differ in another version.
    match json::number(&text, "v") {
        Some(FEED_VERSION) => (),
        Some(other) => {
            return Err(Some((
                CLOSE_VERSION,
                format!("version {other} is not known; this server speaks version {FEED_VERSION}"),
            )));
        }
        None => {
            return Err(Some((CLOSE_VERSION, "the hello names no version: \"v\":1".to_owned())));
        }
    }
    let (key, run) = match json::read(&text) {
        Ok(FromPhone::Hello { key, run, .. }) => (key, run.chars().take(64).collect()),
        Ok(FromPhone::Fixes { .. } | FromPhone::Seen { .. }) => {
            return Err(Some((CLOSE_KEY, "the first message must be a hello".to_owned())));
        }
        Err(wrong) => return Err(Some((CLOSE_KEY, format!("not understood: {wrong}")))),
    };
    let now_ms = hub.now_ms();
    if hub.lockout.try_from(address.ip(), now_ms).is_err() {
        return Err(Some((
            CLOSE_KEY,
            "too many wrong keys from this address; wait a quarter of an hour".to_owned(),
        )));
    }
    match hub.keys.who(&Secret::given(&key), now_ms) {
        Principal::Boat { key, boat } => {
            hub.lockout.right(address.ip());
            Ok((key, boat, run))
        }
        Principal::Nobody | Principal::Person { .. } => {
            Err(Some((CLOSE_KEY, "this boat's key is not known any more; scan her code again".to_owned())))
        }
    }
}

/// The name under which the engine knows a boat's phone.
pub fn source(boat: &str) -> String {
    format!("phone:{boat}")
}

/// Whether a source is a phone that has a boat's key.
pub fn is_phone(source: &str) -> bool {
    source.starts_with("phone:")
}

fn boat_ix(picture: &Picture, painted: &str) -> Option<BoatIx> {
    let ix = picture.setup.fleet.iter().position(|boat| boat.id == painted)?;
    u16::try_from(ix).ok().map(BoatIx)
}

/// Tells the engine that this boat's phone speaks for her, once while the fleet is the same.
async fn assign(hub: &Hub, boat: &str) {
    let Some(ix) = boat_ix(&hub.picture(), boat) else { return };
    if hub.phones.must_assign(boat)
        && let Err(refused) = hub.link.command("dunlin", Command::Assign(source(boat), Some(ix))).await
    {
        warn!(boat, reason = %refused, "A phone could not be assigned to its boat.");
    }
}

fn note_doubled(hub: &Hub, boat: &str, doubled: bool) {
    let code = format!("phone-doubled:{boat}");
    let notice = doubled.then(|| wire::Notice {
        code: code.clone(),
        text: format!(
            "Two phones seem to use the key of {boat} by turns. Make a new key for her and scan it once."
        ),
        since_ms: hub.now_ms(),
    });
    let mut board = hub.board();
    let message = board.notice(&code, notice);
    hub.tell(&board, message);
}

async fn say(socket: &mut WebSocket, message: &ToPhone) -> Result<(), ()> {
    let text: Utf8Bytes = serde_json::to_string(message).unwrap_or_default().into();
    match timeout(SEND_TIMEOUT, socket.send(Message::Text(text))).await {
        Ok(Ok(())) => Ok(()),
        Ok(Err(_)) | Err(_) => Err(()),
    }
}

struct Session {
    hub: Arc<Hub>,
    key: i64,
    boat: String,
    run: String,
}

type Close = Option<(u16, &'static str)>;

/// What a message is answered with.
enum Answer {
    /// Nothing.
    None,
    /// This.
    Now(ToPhone),
    /// What the task comes to, once the message's fixes are on disk.
    Later(JoinHandle<ToPhone>),
}

impl Session {
    /// Runs until the phone is gone (`None`) or must go (code and reason).
    async fn run(&self, socket: &mut WebSocket, turn: Turn) -> Close {
        let mut signals = self.hub.signals();
        signals.mark_changed(); // the one that stands is told at the start
        let welcome = ToPhone::Welcome {
            v: FEED_VERSION,
            boat: self.boat.clone(),
            centre: self.hub.about.centre.clone(),
            now_ms: self.hub.now_ms(),
            acked: self.hub.phones.acked(&self.boat, &self.run),
        };
        say(socket, &welcome).await.ok()?;
        let mut allowance = Allowance::new(PHONE_MESSAGES_PER_S, BURST);
        let mut heard = tokio::time::interval(HEARD_EVERY);
        let mut last = tokio::time::Instant::now();
        // Fixes go to the watch as they come; what is on disk is told as it gets there. A disk that
        // stalls must not hold up the fixes behind it.
        let mut pending: FuturesOrdered<JoinHandle<ToPhone>> = FuturesOrdered::new();
        loop {
            let message = tokio::select! {
                Some(answer) = pending.next(), if !pending.is_empty() => {
                    // A task of ours that panicked has said so in the log; the phone sends again.
                    let failed = || ToPhone::Error { text: "dunlin failed at this; send it again".to_owned() };
                    say(socket, &answer.unwrap_or_else(|_| failed())).await.ok()?;
                    continue;
                }
                () = turn.end.notified() => return Some((CLOSE_REPLACED, "another phone speaks for this boat now")),
                changed = signals.changed() => {
                    changed.ok()?;
                    let signal = signals.borrow_and_update().clone();
                    say(socket, &ToPhone::Signal { signal }).await.ok()?;
                    continue;
                }
                _ = heard.tick() => {
                    if !self.hub.keys.in_force(self.key) {
                        return Some((CLOSE_KEY, "this boat's key was revoked"));
                    }
                    if last.elapsed() > SILENCE_MAX {
                        return None;
                    }
                    say(socket, &self.heard()).await.ok()?;
                    // An answer to this shows that the link carries both ways.
                    timeout(SEND_TIMEOUT, socket.send(Message::Ping(Vec::new().into()))).await.ok()?.ok()?;
                    continue;
                }
                message = socket.next(), if pending.len() < PHONE_PENDING_MAX => message?.ok()?,
            };
            last = tokio::time::Instant::now();
            let text = match message {
                Message::Text(text) => text,
                Message::Ping(_) | Message::Pong(_) => continue,
                Message::Binary(_) => {
                    let text = "messages are JSON text".to_owned();
                    say(socket, &ToPhone::Error { text }).await.ok()?;
                    continue;
                }
                Message::Close(_) => return None,
            };
            allowance.take().await;
            match self.answer(&text).await {
                Answer::None => (),
                Answer::Now(answer) => say(socket, &answer).await.ok()?,
                Answer::Later(task) => pending.push_back(task),
            }
        }
    }

    fn heard(&self) -> ToPhone {
        let picture = self.hub.picture();
        let ix = boat_ix(&picture, &self.boat);
        let taken = ix
            .and_then(|ix| picture.boats.iter().find(|view| view.boat == ix))
            .and_then(|view| view.seen)
            .map(|seen| seen.taken);
        let age_s = taken.map(|taken| (picture.at.s_since(taken) * 10.0).round() / 10.0);
        let calls = picture.alerts.iter().filter(|alert| {
            let is_call = matches!(alert.kind, AlertKind::NeedsHelp | AlertKind::PersonOverboard);
            is_call && alert.boat == ix && ix.is_some() && alert.cleared.is_none()
        });
        let help = calls.fold("none", |state, alert| match (&alert.attended, &alert.acknowledged) {
            (Some(_), _) => "coming",
            (None, Some(_)) if state != "coming" => "seen",
            (None, None) if state == "none" => "raised",
            (None, Some(_) | None) => state,
        });
        ToPhone::Heard { now_ms: self.hub.now_ms(), age_s, help: help.to_owned() }
    }

    async fn answer(&self, text: &str) -> Answer {
        let error = |text: String| Answer::Now(ToPhone::Error { text });
        match json::read(text) {
            Ok(FromPhone::Fixes { fixes }) => self.fixes(fixes).await,
            Ok(FromPhone::Seen { at_ms }) => {
                self.seen(at_ms).await;
                Answer::None
            }
            Ok(FromPhone::Hello { .. }) => error("hello was said already".to_owned()),
            Err(wrong) => error(format!("not understood: {wrong}")),
        }
    }

    async fn fixes(&self, fixes: Vec<PhoneFix>) -> Answer {
        let error = |text: &str| Answer::Now(ToPhone::Error { text: text.to_owned() });
        if fixes.len() > PHONE_FIXES_MAX {
            return error("more than 600 fixes in one message; send them in several");
        }
        let Some(newest) = fixes.last().map(|fix| fix.seq) else {
            return error("the message holds no fixes");
        };
        if fixes.windows(2).any(|pair| pair[0].seq >= pair[1].seq) {
            return error("fixes must be in the order of their sequence numbers, each once");
        }
        let known = self.hub.phones.acked(&self.boat, &self.run).unwrap_or(0);
        let (mut reports, mut refused) = (Vec::new(), Vec::new());
        for fix in fixes.iter().filter(|fix| fix.seq > known) {
            match report(fix) {
                Ok(report) => reports.push(report),
                Err(why) => refused.push(RefusedFix { seq: fix.seq, why: why.to_owned() }),
            }
        }
        let ack = ToPhone::Ack { seq: newest.max(known), refused };
        if reports.is_empty() {
            return Answer::Now(ack);
        }
        let given = match self.hub.link.reports(&source(&self.boat), reports).await {
            Ok(given) => given,
            Err(why) => return error(&why.to_string()),
        };
        // Its own task: the record of what is on disk is kept even if the phone goes away.
        let (hub, boat, run) = (Arc::clone(&self.hub), self.boat.clone(), self.run.clone());
        Answer::Later(tokio::spawn(async move {
            match given.done().await {
                Ok(_) => {
                    hub.phones.ack(&boat, &run, newest);
                    ack
                }
                Err(why) => ToPhone::Error { text: why.to_string() },
            }
        }))
    }

    async fn seen(&self, at_ms: i64) {
        let mut desk = self.hub.desk.lock().await;
        let stands = desk.book().signal.as_ref();
        if !stands.is_some_and(|signal| signal.said.at_ms == at_ms && !signal.seen.contains(&self.boat)) {
            return;
        }
        let record = Record::SignalSeen { boat: self.boat.clone() };
        if let Err(error) = self.hub.write(&mut desk, &self.boat, vec![record]).await {
            warn!(boat = self.boat, reason = %error, "A signal seen was not written down.");
        }
    }
}

/// A fix as the engine takes it.
fn report(fix: &PhoneFix) -> Result<Report, &'static str> {
    let within = |value: Option<f64>, least: f64, most: f64, why: &'static str| match value {
        Some(value) if !(least..=most).contains(&value) => Err(why),
        sound => Ok(sound),
    };
    let position = match (fix.lat, fix.lon) {
        (Some(lat), Some(lon)) => {
            Some(Position::new(lat, lon).ok_or("lat must be from -90 to 90, lon from -180 to 180")?)
        }
        (None, None) => None,
        (Some(_), None) | (None, Some(_)) => return Err("lat and lon belong together"),
    };
    let direction = |value: Option<f64>, why: &'static str| {
        within(value, 0.0, 360.0, why).map(|value| value.and_then(Bearing::from_degrees_true))
    };
    Ok(Report {
        taken: FixTime(fix.t),
        position,
        accuracy_m: within(fix.acc, 0.0, 100_000.0, "acc must be from 0 to 100000 m")?,
        speed_mps: within(fix.sog, 0.0, 100.0, "sog must be from 0 to 100 m/s")?,
        course: direction(fix.cog, "cog must be from 0 to 360")?,
        heading: direction(fix.hdg, "hdg must be from 0 to 360")?,
        heel_deg: within(fix.heel, -180.0, 180.0, "heel must be from -180 to 180")?,
        battery_pct: within(fix.bat, 0.0, 100.0, "bat must be from 0 to 100")?,
        help: fix.help,
    })
}

/// A signal as phones are told it.
pub fn phone_signal(signal: &wire::SignalState) -> PhoneSignal {
    PhoneSignal { signal: signal.signal.clone(), words: signal.words.clone(), at_ms: signal.at_ms }
}
