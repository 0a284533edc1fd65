//! Tablets and phones on real sockets.

use std::{collections::BTreeMap, time::Duration};

use dunlin_engine::{input::Report, moment::FixTime};
use dunlin_tests::hub::{BEGIN, Bay};
use futures_util::{SinkExt, StreamExt};
use serde_json::{Value, json};
use socket2::SockRef;
use tokio::net::{TcpSocket, TcpStream};
use tokio_tungstenite::{
    MaybeTlsStream, WebSocketStream, client_async, connect_async,
    tungstenite::{Message, client::IntoClientRequest, handshake::client::Request},
};

type Socket = WebSocketStream<MaybeTlsStream<TcpStream>>;

/// Far longer than anything here takes; a test that needs it has failed.
const PATIENCE: Duration = Duration::from_secs(20);

/// What a page of ours asks for a socket with.
fn page(bay: &Bay, path: &str) -> Request {
    let mut request = format!("ws://{}{path}", bay.address).into_client_request().expect("a request");
    let origin = format!("http://{}", bay.address).parse().expect("a header");
    request.headers_mut().insert("Origin", origin);
    request
}

async fn open(bay: &Bay, path: &str, cookie: Option<&str>) -> Socket {
    let mut request = page(bay, path);
    if let Some(cookie) = cookie {
        request.headers_mut().insert("Cookie", cookie.parse().expect("a header"));
    }
    connect_async(request).await.expect("opened").0
}

/// A tablet at the end of a narrow link: small segments and a small buffer, so that both ends' sockets hold
/// some dozens of messages rather than thousands.
async fn open_narrow(bay: &Bay) -> Socket {
    let socket = TcpSocket::new_v4().expect("a socket");
    socket.set_recv_buffer_size(4_096).expect("a small buffer");
    SockRef::from(&socket).set_tcp_mss(536).expect("small segments");
    let stream = socket.connect(bay.address).await.expect("connected");
    client_async(page(bay, "/live"), MaybeTlsStream::Plain(stream)).await.expect("opened").0
}

async fn next(socket: &mut Socket) -> Message {
    tokio::time::timeout(PATIENCE, socket.next()).await.expect("in time").expect("open").expect("sound")
}

/// The next message that `wanted` accepts; others are passed over.
async fn until(socket: &mut Socket, wanted: impl Fn(&Value) -> bool) -> Value {
    let found = async {
        loop {
            if let Message::Text(text) = next(socket).await {
                let value: Value = serde_json::from_str(&text).expect("JSON");
                if wanted(&value) {
                    return value;
                }
            }
        }
    };
    // Ticks go on for ever, so the wait for one message is bounded as a whole.
    tokio::time::timeout(PATIENCE, found).await.expect("in time")
}

async fn kind(socket: &mut Socket, kind: &str) -> Value {
    until(socket, |message| message["kind"] == kind).await
}

async fn say(socket: &mut Socket, message: &Value) {
    socket.send(Message::text(message.to_string())).await.expect("sent");
}

async fn act(socket: &mut Socket, request: u32, action: Value) -> Value {
    say(socket, &json!({"request": request, "action": action})).await;
    until(socket, |message| message["kind"] == "outcome" && message["request"] == request).await
}

async fn close_code(socket: &mut Socket) -> u16 {
    loop {
        if let Message::Close(frame) = next(socket).await {
            return frame.expect("a reason").code.into();
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_tablet_is_given_a_snapshot_and_then_what_happens_and_two_tablets_agree() {
    let bay = Bay::open(true).await;
    let mut one = open(&bay, "/live", None).await;
    let mut other = open(&bay, "/live", None).await;
    let snapshot = kind(&mut one, "snapshot").await;
    assert_eq!(snapshot["setup"]["centre"], "Heron Water");
    assert_eq!(snapshot["setup"]["boats"].as_array().map(Vec::len), Some(3));
    assert_eq!(snapshot["you"]["role"], "duty_officer");
    kind(&mut other, "snapshot").await;

    let outcome = act(&mut one, 1, json!({"kind": "mark", "boat": 0, "mark": "person_overboard"})).await;
    assert_eq!(outcome["refused"], Value::Null);
    let raised = kind(&mut other, "alert").await;
    assert_eq!(raised["about"], "person-overboard");
    assert_eq!(raised["level"], "emergency");
    let safe = until(&mut other, |message| message["kind"] == "alert" && message["recorded"] == true).await;
    assert_eq!(safe["id"], raised["id"]);

    let alert = raised["id"].clone();
    act(&mut other, 1, json!({"kind": "acknowledge", "alert": alert})).await;
    let seen =
        until(&mut one, |message| message["kind"] == "alert" && !message["acknowledged"].is_null()).await;
    assert_eq!(seen["acknowledged"]["by"], "Demo");

    let undo = outcome["undo"].clone();
    let outcome = act(&mut one, 2, json!({"kind": "undo", "undo": undo})).await;
    assert_eq!(outcome["refused"], Value::Null);
    let over = until(&mut other, |message| message["kind"] == "alert" && !message["cleared"].is_null()).await;
    assert_eq!(over["cleared"]["reason"], "taken back (Demo)");

    let mut late = open(&bay, "/live", None).await;
    let snapshot = kind(&mut late, "snapshot").await;
    assert_eq!(snapshot["alerts"][0]["id"], alert);
    assert!(snapshot["log"].as_array().is_some_and(|lines| lines.len() >= 3), "{}", snapshot["log"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_request_sent_again_is_answered_again_and_done_once() {
    let bay = Bay::open(true).await;
    let note = json!({"kind": "note", "boat": null, "text": "briefed on the fairway"});
    let mut socket = open(&bay, "/live?tablet=a", None).await;
    let first = act(&mut socket, 7, note.clone()).await;
    let again = act(&mut socket, 7, note.clone()).await;
    assert_eq!(first, again);
    drop(socket);
    let mut socket = open(&bay, "/live?tablet=a", None).await;
    assert_eq!(act(&mut socket, 7, note).await, first);
    let mut late = open(&bay, "/live", None).await;
    let snapshot = kind(&mut late, "snapshot").await;
    let lines = snapshot["log"].as_array().expect("lines");
    let notes = lines.iter().filter(|line| line["text"] == "briefed on the fairway");
    assert_eq!(notes.count(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn rubbish_is_answered_with_what_is_wrong_and_the_socket_goes_on() {
    let bay = Bay::open(true).await;
    let mut socket = open(&bay, "/live", None).await;
    kind(&mut socket, "snapshot").await;
    let deep = format!("{}{}", "[".repeat(5_000), "]".repeat(5_000));
    for (text, says) in [
        ("rubbish", "not understood"),
        (deep.as_str(), "nested deeper"),
        (r#"{"request":3,"action":{"kind":"fly"}}"#, "unknown variant `fly`"),
        (r#"{"request":3,"action":{"kind":"acknowledge","alert":1,"extra":2}}"#, "extra"),
        (r#"{"request":3,"action":{"kind":"acknowledge","alert":-1}}"#, "invalid value"),
        (r#"{"request":3,"action":{"kind":"acknowledge","alert":99}}"#, "does not exist"),
        (r#"{"request":4,"action":{"kind":"mark","boat":999999,"mark":"fine"}}"#, "not in the fleet"),
        (r#"{"request":5,"action":{"kind":"mark","boat":0,"mark":"lost"}}"#, "not a mark"),
        (r#"{"request":6,"action":{"kind":"set_wind","from_deg":1e300,"speed_kn":null}}"#, "from 0 to 360"),
        (r#"{"request":8,"action":{"kind":"attend","alert":1,"boat":0}}"#, "only a safety boat"),
    ] {
        socket.send(Message::text(text)).await.expect("sent");
        let outcome = kind(&mut socket, "outcome").await;
        let refused = outcome["refused"].as_str().unwrap_or_default().to_owned();
        assert!(refused.contains(says), "{text:.80}: {refused}");
    }
    let outcome = act(&mut socket, 9, json!({"kind": "mark", "boat": 0, "mark": "afloat"})).await;
    assert_eq!(outcome["refused"], Value::Null);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_browser_that_has_not_joined_is_told_so_by_a_close_code_and_foreign_pages_get_nothing() {
    let bay = Bay::open(false).await;
    let mut socket = open(&bay, "/live", None).await;
    assert_eq!(close_code(&mut socket).await, 4401);

    let cookie = bay.join("Ash", "code", bay.code.as_deref().expect("a first code")).await;
    let mut request = format!("ws://{}/live", bay.address).into_client_request().expect("a request");
    request.headers_mut().insert("Cookie", cookie.parse().expect("a header"));
    request.headers_mut().insert("Origin", "https://evil.example".parse().expect("a header"));
    let refused = connect_async(request).await.expect_err("a foreign page");
    assert!(refused.to_string().contains("403"), "{refused}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_revoked_tablet_is_cut_off_and_can_do_nothing_more() {
    let bay = Bay::open(false).await;
    let officer = bay.join("Ash", "code", bay.code.as_deref().expect("a first code")).await;
    let invitation = r#"{"role":"instructor","once":true,"hours":1}"#;
    let link = bay.ask("POST", "/api/invitations", Some(&officer), invitation).await.json();
    let cookie = bay.join("Robin", "code", link["code"].as_str().expect("a code")).await;
    let mut socket = open(&bay, "/live", Some(&cookie)).await;
    kind(&mut socket, "snapshot").await;
    let keys = bay.ask("GET", "/api/keys", Some(&officer), "").await.json();
    let robin =
        keys.as_array().expect("keys").iter().find(|key| key["name"] == "Robin").expect("Robin's key");
    let path = format!("/api/keys/{}", robin["id"]);
    assert_eq!(bay.ask("DELETE", &path, Some(&officer), "").await.status, 204);
    let outcome = act(&mut socket, 1, json!({"kind": "note", "boat": null, "text": "still here"})).await;
    assert!(outcome["refused"].as_str().is_some_and(|why| why.contains("revoked")), "{outcome}");
    assert_eq!(close_code(&mut socket).await, 4401);
    assert_eq!(bay.ask("GET", "/api/snapshot", Some(&cookie), "").await.status, 401);
}

async fn boat_key(bay: &Bay) -> String {
    let link = bay.ask("POST", "/api/boat-keys", None, r#"{"boat":"08"}"#).await.json();
    assert!(link["qr_svg"].as_str().is_some_and(|svg| svg.starts_with("<svg")), "{link}");
    link["code"].as_str().expect("a key").to_owned()
}

fn hello(key: &str) -> Value {
    json!({"kind": "hello", "v": 1, "key": key, "run": "r1"})
}

fn fix(seq: u32, t: i64) -> Value {
    json!({"seq": seq, "t": t, "lat": 52.01, "lon": 5.01, "acc": 4.0, "sog": 1.2, "cog": 90.0, "bat": 80.0})
}

#[tokio::test(flavor = "multi_thread")]
async fn a_phone_feeds_its_boat_late_fixes_too_and_is_confirmed_once() {
    let bay = Bay::open(true).await;
    let key = boat_key(&bay).await;
    let mut phone = open(&bay, "/feed", None).await;
    say(&mut phone, &hello(&key)).await;
    let welcome = kind(&mut phone, "welcome").await;
    assert_eq!(welcome["boat"], "08");
    assert_eq!(welcome["acked"], Value::Null);

    let fixes: Vec<Value> = (1..=5).map(|n| fix(n, BEGIN.0 - 6_000 + i64::from(n) * 1_000)).collect();
    say(&mut phone, &json!({"kind": "fixes", "fixes": fixes})).await;
    let ack = kind(&mut phone, "ack").await;
    assert_eq!(ack, json!({"kind": "ack", "seq": 5, "refused": []}));

    let mut tablet = open(&bay, "/live", None).await;
    let snapshot = kind(&mut tablet, "snapshot").await;
    let seen = |message: &Value| {
        let boats =
            message["tick"]["boats"].as_array().or(message["boats"].as_array()).cloned().unwrap_or_default();
        boats.iter().any(|boat| boat[0] == 1 && boat[1]["at"].is_array())
    };
    if !seen(&snapshot) {
        until(&mut tablet, seen).await;
    }

    // Sent again after the link broke, with one more: acknowledged up to the new one.
    drop(phone);
    let mut phone = open(&bay, "/feed", None).await;
    say(&mut phone, &hello(&key)).await;
    assert_eq!(kind(&mut phone, "welcome").await["acked"], 5);
    let mut again = fixes;
    again.push(json!({"seq": 6, "t": BEGIN.0, "lat": 91.0, "lon": 5.0}));
    again.push(json!({"seq": 7, "t": BEGIN.0, "help": true}));
    say(&mut phone, &json!({"kind": "fixes", "fixes": again})).await;
    let ack = kind(&mut phone, "ack").await;
    assert_eq!(ack["seq"], 7);
    assert_eq!(ack["refused"][0]["seq"], 6);
    let alert = until(&mut tablet, |message| message["kind"] == "alert").await;
    assert_eq!((alert["about"].as_str(), &alert["boat"]), (Some("needs-help"), &json!(1)));
    let raised = until(&mut phone, |message| message["kind"] == "heard" && message["help"] == "raised").await;
    assert!(raised["age_s"].is_number(), "{raised}");
    act(&mut tablet, 1, json!({"kind": "acknowledge", "alert": alert["id"]})).await;
    until(&mut phone, |message| message["kind"] == "heard" && message["help"] == "seen").await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_signal_reaches_the_phones_and_the_tablets_see_who_has_seen_it() {
    let bay = Bay::open(true).await;
    let key = boat_key(&bay).await;
    let mut phone = open(&bay, "/feed", None).await;
    say(&mut phone, &hello(&key)).await;
    assert_eq!(kind(&mut phone, "signal").await["signal"], Value::Null);
    let mut tablet = open(&bay, "/live", None).await;
    kind(&mut tablet, "snapshot").await;
    act(&mut tablet, 1, json!({"kind": "signal", "signal": "all-in", "words": "to the slip"})).await;
    let told = until(&mut phone, |message| message["kind"] == "signal" && !message["signal"].is_null()).await;
    assert_eq!(told["signal"]["words"], "to the slip");
    say(&mut phone, &json!({"kind": "seen", "at_ms": told["signal"]["at_ms"]})).await;
    let seen =
        until(&mut tablet, |message| message["kind"] == "signal" && message["signal"]["seen"] == json!([1]))
            .await;
    assert_eq!(seen["signal"]["reachable"], json!([1]));
    act(&mut tablet, 2, json!({"kind": "signal", "signal": null, "words": ""})).await;
    until(&mut phone, |message| message["kind"] == "signal" && message["signal"].is_null()).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_phone_with_a_wrong_key_version_or_message_is_told_which() {
    let bay = Bay::open(true).await;
    let key = boat_key(&bay).await;
    for (first, code, says) in [
        (hello("0123456789"), 4003, "not known"),
        (json!({"kind": "hello", "v": 2, "key": key, "run": "r"}), 4004, "version 2"),
        (json!({"kind": "hello", "key": key, "run": "r"}), 4004, "no version"),
        (json!({"kind": "fixes", "v": 1, "fixes": []}), 4003, "v"),
    ] {
        let mut phone = open(&bay, "/feed", None).await;
        say(&mut phone, &first).await;
        let error = kind(&mut phone, "error").await;
        assert!(error["text"].as_str().is_some_and(|text| text.contains(says)), "{first}: {error}");
        assert_eq!(close_code(&mut phone).await, code, "{first}");
    }
    let mut phone = open(&bay, "/feed", None).await;
    say(&mut phone, &hello(&key)).await;
    kind(&mut phone, "welcome").await;
    for (message, says) in [
        (json!({"kind": "fixes", "fixes": []}), "no fixes"),
        (json!({"kind": "fixes", "fixes": [fix(2, 0), fix(1, 0)]}), "order"),
        (json!({"kind": "fixes", "fixes": [{"seq": 1, "t": 0, "altitude": 3}]}), "altitude"),
        (json!({"kind": "dance"}), "dance"),
    ] {
        say(&mut phone, &message).await;
        let error = kind(&mut phone, "error").await;
        assert!(error["text"].as_str().is_some_and(|text| text.contains(says)), "{message}: {error}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_phone_whose_key_was_revoked_is_cut_off_and_cannot_come_back() {
    let bay = Bay::open(true).await;
    let key = boat_key(&bay).await;
    let mut phone = open(&bay, "/feed", None).await;
    say(&mut phone, &hello(&key)).await;
    kind(&mut phone, "welcome").await;
    let keys = bay.ask("GET", "/api/keys", None, "").await.json();
    let of_08 = keys
        .as_array()
        .expect("keys")
        .iter()
        .find(|key| key["role"] == "boat" && key["name"] == "08")
        .expect("her key");
    assert_eq!(bay.ask("DELETE", &format!("/api/keys/{}", of_08["id"]), None, "").await.status, 204);
    assert_eq!(close_code(&mut phone).await, 4003);
    let mut again = open(&bay, "/feed", None).await;
    say(&mut again, &hello(&key)).await;
    assert_eq!(close_code(&mut again).await, 4003);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_second_phone_of_a_boat_takes_over_and_the_first_is_told() {
    let bay = Bay::open(true).await;
    let key = boat_key(&bay).await;
    let mut first = open(&bay, "/feed", None).await;
    say(&mut first, &hello(&key)).await;
    kind(&mut first, "welcome").await;
    let mut second = open(&bay, "/feed", None).await;
    say(&mut second, &hello(&key)).await;
    kind(&mut second, "welcome").await;
    assert_eq!(close_code(&mut first).await, 4002);
}

/// Tablets that write notes, and notes of each: no more at once than a tablet may (`limits::BURST`).
const WRITERS: u32 = 40;
/// See [`WRITERS`].
const NOTES: u32 = 20;

#[tokio::test(flavor = "multi_thread")]
async fn a_tablet_that_does_not_read_delays_nobody_and_ends_where_the_others_are() {
    let bay = Bay::open(true).await;
    let mut slow = open_narrow(&bay).await;
    // More than a narrow link and the queue of one tablet hold: counted, so that no speed matters.
    let text = "bear away before the gust, not in it ".repeat(40);
    for _ in 0..WRITERS {
        let mut writer = open(&bay, "/live", None).await;
        for request in 1..=NOTES {
            act(&mut writer, request, json!({"kind": "note", "boat": null, "text": text})).await;
        }
    }
    let mut quick = open(&bay, "/live", None).await;
    let report = Report {
        taken: FixTime(BEGIN.0),
        position: None,
        accuracy_m: None,
        speed_mps: None,
        course: None,
        heading: None,
        heel_deg: None,
        battery_pct: None,
        help: Some(true),
    };
    bay.bench.link.reports("07", vec![report]).await.expect("taken");
    until(&mut quick, |message| message["kind"] == "alert" && message["boat"] == 0).await;
    let last = act(&mut quick, 1, json!({"kind": "mark", "boat": 1, "mark": "person_overboard"})).await;
    assert_eq!(last["refused"], Value::Null);

    // Once it reads again it knows what the others know: told anew, or cut off for its silence, as it is where
    // this took long, and come again.
    let mut known = BTreeMap::new();
    let mut told_anew = 0;
    loop {
        let heard = tokio::time::timeout(PATIENCE, slow.next()).await.expect("in time");
        let Some(Ok(heard)) = heard else {
            slow = open(&bay, "/live", None).await;
            continue;
        };
        let Message::Text(text) = heard else { continue };
        let message: Value = serde_json::from_str(&text).expect("JSON");
        if message["kind"] == "tick" {
            continue;
        }
        match message["kind"].as_str() {
            Some("snapshot") => {
                told_anew += 1;
                known = message["alerts"].as_array().expect("alerts").iter().map(by_number).collect();
            }
            Some("alert") => drop(known.insert(message["id"].as_u64(), told(&message))),
            _ => (),
        }
        let snapshot = bay.ask("GET", "/api/snapshot", None, "").await.json();
        let others: BTreeMap<Option<u64>, Value> =
            snapshot["alerts"].as_array().expect("alerts").iter().map(by_number).collect();
        if known == others {
            break;
        }
    }
    assert!(told_anew > 1, "the notes must be more than its queue and its link hold");
}

fn by_number(alert: &Value) -> (Option<u64>, Value) {
    (alert["id"].as_u64(), told(alert))
}

/// An alert without the tag that a message of its own carries.
fn told(alert: &Value) -> Value {
    let mut alert = alert.clone();
    if let Some(fields) = alert.as_object_mut() {
        fields.remove("kind");
    }
    alert
}
