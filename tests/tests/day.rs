//! A whole day over real sockets and a real journal: set up, launched, swapped, overridden, brought
//! home, closed, exported, and forgotten.

use std::{collections::BTreeMap, net::SocketAddr, path::Path, time::Duration};

use dunlin::{
    config::Config,
    hub::phone_wire::PhoneFix,
    serve::{self, Running, Served},
    stop::{self, Stopper},
};
use dunlin_tests::hub::{Answer, bay_setup, exchange};
use futures_util::{SinkExt, StreamExt};
use serde_json::{Value, json};
use tokio::net::TcpStream;
use tokio_tungstenite::{
    MaybeTlsStream, WebSocketStream, connect_async,
    tungstenite::{Message, client::IntoClientRequest},
};

type Socket = WebSocketStream<MaybeTlsStream<TcpStream>>;
const PATIENCE: Duration = Duration::from_secs(30);

struct Program {
    served: Served,
    stopper: Stopper,
}

impl Program {
    async fn start(folder: &Path) -> Program {
        let mut config = Config::fresh();
        config.data = folder.to_owned();
        config.hub.listen = SocketAddr::from(([127, 0, 0, 1], 0));
        let (stopper, stop) = stop::pair();
        let running = Running { config, setup: bay_setup(), demo: true, speed: 1.0 };
        let served = serve::start(running, stop).await.expect("started");
        Program { served, stopper }
    }

    async fn stop(self) {
        self.stopper.stop();
        self.served.ended().await.expect("ended in order");
    }

    async fn ask(&self, method: &str, path: &str, body: &str) -> Answer {
        let address = self.served.address();
        let mut stream = TcpStream::connect(address).await.expect("reachable");
        let mut headers = vec![("Origin", format!("http://{address}"))];
        if body.starts_with('{') {
            headers.push(("Content-Type", "application/json".to_owned()));
        }
        exchange(&mut stream, &address.to_string(), method, path, &headers, body).await
    }

    async fn open(&self, path: &str) -> Socket {
        let address = self.served.address();
        let mut request = format!("ws://{address}{path}").into_client_request().expect("a request");
        request.headers_mut().insert("Origin", format!("http://{address}").parse().expect("a header"));
        connect_async(request).await.expect("opened").0
    }

    async fn tablet(&self) -> Tablet {
        let mut socket = self.open("/live").await;
        let first = until(&mut socket, |message| message["kind"] == "snapshot").await;
        Tablet { socket, request: 0, day: first["day"].clone(), tally: first["tally"].clone() }
    }
}

async fn until(socket: &mut Socket, wanted: impl Fn(&Value) -> bool) -> Value {
    let found = async {
        loop {
            match socket.next().await.expect("open").expect("sound") {
                Message::Text(text) => {
                    let value: Value = serde_json::from_str(&text).expect("JSON");
                    if wanted(&value) {
                        return value;
                    }
                }
                _ => continue,
            }
        }
    };
    tokio::time::timeout(PATIENCE, found).await.expect("in time")
}

struct Tablet {
    socket: Socket,
    request: u32,
    day: Value,
    tally: Value,
}

impl Tablet {
    fn hear(&mut self, message: &Value) {
        match message["kind"].as_str() {
            Some("snapshot") => {
                self.day = message["day"].clone();
                self.tally = message["tally"].clone();
            }
            Some("day") => self.day = message.clone(),
            Some("tally") => self.tally = message.clone(),
            _ => (),
        }
    }

    async fn next(&mut self) -> Value {
        let message = until(&mut self.socket, |_| true).await;
        self.hear(&message);
        message
    }

    async fn act(&mut self, action: Value) -> Value {
        self.request += 1;
        let text = json!({"request": self.request, "action": action}).to_string();
        self.socket.send(Message::text(text)).await.expect("sent");
        loop {
            let message = self.next().await;
            if message["kind"] == "outcome" && message["request"] == self.request {
                return message;
            }
        }
    }

    async fn done(&mut self, action: Value) -> Value {
        let outcome = self.act(action.clone()).await;
        assert_eq!(outcome["refused"], Value::Null, "{action}");
        outcome["undo"].clone()
    }

    async fn change(&mut self, change: Value) -> Value {
        self.done(json!({"kind": "day", "change": change})).await
    }

    async fn refused(&mut self, change: Value) -> String {
        let outcome = self.act(json!({"kind": "day", "change": change})).await;
        outcome["refused"].as_str().unwrap_or_default().to_owned()
    }

    async fn wait(&mut self, what: &str, holds: impl Fn(&Tablet) -> bool) {
        let wait = async {
            while !holds(self) {
                self.next().await;
            }
        };
        tokio::time::timeout(PATIENCE, wait).await.unwrap_or_else(|_| panic!("{what}"));
    }

    fn standing(&self, name: &str) -> String {
        let people = self.day["people"].as_array().cloned().unwrap_or_default();
        let person = people.iter().find(|person| person["name"] == name);
        person.and_then(|person| person["standing"].as_str()).unwrap_or_default().to_owned()
    }

    fn number(&self, name: &str) -> Value {
        let people = self.day["people"].as_array().cloned().unwrap_or_default();
        people.iter().find(|person| person["name"] == name).map_or(Value::Null, |person| person["id"].clone())
    }

    fn aboard(&self, ix: usize) -> u64 {
        self.tally["entries"][ix]["persons"].as_u64().unwrap_or_default()
    }
}

fn list(boats: &[(&str, &[&str])]) -> String {
    let lines =
        boats.iter().flat_map(|(boat, names)| names.iter().map(move |name| format!("{name};learner;{boat}")));
    lines.collect::<Vec<String>>().join("\n")
}

#[tokio::test(flavor = "multi_thread")]
async fn a_day_from_the_list_to_the_closed_book_and_through_a_restart() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = Program::start(folder.path()).await;
    let mut tablet = program.tablet().await;
    let session = json!({"what": "session", "title": "Tuesday beginners", "staff": ["Robin"], "back_by_ms": null,
        "water_c": 14.5, "wind_limit_kn": 16.0, "tides": []});
    tablet.change(session).await;
    let wrong = tablet.refused(json!({"what": "add_people", "text": "Noa\nKim;learner;99"})).await;
    assert!(wrong.starts_with("line 2"), "{wrong}");
    let people = list(&[("07", &["Noa", "Kim", "Ash"]), ("08", &["Sam", "Lee"]), ("S1", &["Robin"])]);
    tablet.change(json!({"what": "add_people", "text": people})).await;
    tablet.wait("the lists give the crews", |tablet| (tablet.aboard(0), tablet.aboard(1)) == (3, 2)).await;
    tablet.change(json!({"what": "buoyancy", "person": tablet.number("Noa"), "checked": true})).await;

    // A boat with a safety defect stays ashore until an override with a reason.
    tablet.change(json!({"what": "defect", "boat": 1, "text": "rudder pintle bent", "safety": true})).await;
    let afloat = |boat: u32| json!({"kind": "mark", "boat": boat, "mark": "afloat"});
    let outcome = tablet.act(afloat(1)).await;
    assert!(outcome["refused"].as_str().is_some_and(|why| why.contains("rudder pintle bent")), "{outcome}");
    tablet.change(json!({"what": "override", "boat": 1, "reason": "spare rudder fitted"})).await;
    for boat in 0..3 {
        tablet.done(afloat(boat)).await;
    }
    tablet
        .wait("all are afloat", |tablet| {
            tablet.standing("Sam") == "afloat" && tablet.standing("Robin") == "afloat"
        })
        .await;

    // A swap afloat: the person is followed and both boats' numbers are right; then taken back.
    let kim = tablet.number("Kim");
    let undo = tablet.change(json!({"what": "place", "person": kim, "boat": 2})).await;
    tablet.wait("she is in the safety boat", |tablet| (tablet.aboard(0), tablet.aboard(2)) == (2, 2)).await;
    assert_eq!(tablet.standing("Kim"), "afloat");
    tablet.done(json!({"kind": "undo", "undo": undo})).await;
    tablet.wait("she is back in her boat", |tablet| (tablet.aboard(0), tablet.aboard(2)) == (3, 1)).await;

    let out = tablet.refused(json!({"what": "close", "override_reason": null})).await;
    assert!(out.contains("07") && out.contains("Kim"), "{out}");
    let ashore = |boat: u32| json!({"kind": "mark", "boat": boat, "mark": "ashore"});
    tablet.done(ashore(0)).await;
    tablet.wait("counted people are back", |tablet| tablet.standing("Kim") == "back").await;

    // Everything said is there after a restart.
    program.stop().await;
    let program = Program::start(folder.path()).await;
    let mut tablet = program.tablet().await;
    assert_eq!(tablet.day["session"]["title"], "Tuesday beginners");
    assert_eq!(tablet.standing("Kim"), "back");
    assert_eq!(tablet.standing("Sam"), "afloat");
    assert_eq!(tablet.day["checks"][0]["override_reason"], "spare rudder fitted");
    tablet.wait("the watch remembers too", |tablet| tablet.tally["boats_out"] == 2).await;

    tablet.done(ashore(1)).await;
    tablet.done(ashore(2)).await;
    tablet
        .wait("all are back", |tablet| tablet.tally["boats_out"] == 0 && tablet.standing("Robin") == "back")
        .await;
    tablet.change(json!({"what": "close", "override_reason": null})).await;
    tablet.wait("it is closed", |tablet| tablet.day["session"]["closed"]["by"] == "Demo").await;

    let log = program.ask("GET", "/api/export/today/log.csv", "").await;
    assert_eq!(log.status, 200, "{}", log.body);
    for text in [
        "Noa is on the list",
        "spare rudder fitted",
        "took back",
        "07 is back, people counted",
        "session closed",
    ] {
        assert!(log.body.contains(text), "{text}: {}", log.body);
    }
    program.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn an_override_of_the_closing_is_named_and_the_overdue_stay_overdue() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = Program::start(folder.path()).await;
    let mut tablet = program.tablet().await;
    let past = program.served.clock().now().0 - 60_000;
    let session = json!({"what": "session", "title": "Late", "staff": [], "back_by_ms": past, "water_c": null,
        "wind_limit_kn": null, "tides": []});
    tablet.change(session).await;
    tablet.done(json!({"kind": "mark", "boat": 0, "mark": "afloat"})).await;
    let overdue = async {
        loop {
            let snapshot = program.ask("GET", "/api/snapshot", "").await.json();
            let alerts = snapshot["alerts"].as_array().expect("alerts").clone();
            if let Some(alert) = alerts.into_iter().find(|alert| alert["about"] == "overdue") {
                return alert;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
    };
    let overdue = tokio::time::timeout(PATIENCE, overdue).await.expect("in time");
    assert_eq!(overdue["boat"], 0);

    // A boat's own alert tells of those in her; whoever is in none has one of their own.
    tablet.change(json!({"what": "add_people", "text": "Ada;learner;07\nBo"})).await;
    tablet.change(json!({"what": "stand", "person": 1, "standing": "afloat"})).await;
    tablet.change(json!({"what": "stand", "person": 2, "standing": "unaccounted"})).await;
    let late = async {
        loop {
            let snapshot = program.ask("GET", "/api/snapshot", "").await.json();
            let alerts = snapshot["alerts"].as_array().expect("alerts").clone();
            let of_people: Vec<Value> =
                alerts.into_iter().filter(|alert| alert["about"] == "person-overdue").collect();
            if !of_people.is_empty() {
                return of_people;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
    };
    let late = tokio::time::timeout(PATIENCE, late).await.expect("in time");
    assert_eq!(late.len(), 1, "{late:?}");
    assert_eq!(late[0]["person"]["id"], 2, "{late:?}");
    assert_eq!((&late[0]["level"], &late[0]["began_ms"]), (&json!("warning"), &json!(past)));
    tablet.change(json!({"what": "close", "override_reason": "07 was met by road"})).await;
    tablet
        .wait("it is closed", |tablet| {
            tablet.day["session"]["closed"]["override_reason"] == "07 was met by road"
        })
        .await;
    let snapshot = program.ask("GET", "/api/snapshot", "").await.json();
    let stands = |alert: &Value| alert["about"] == "overdue" && alert["cleared"].is_null();
    assert!(snapshot["alerts"].as_array().is_some_and(|alerts| alerts.iter().any(stands)), "{snapshot}");
    program.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn tracks_and_alerts_come_out_as_they_went_in() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = Program::start(folder.path()).await;
    let key = program.ask("POST", "/api/boat-keys", r#"{"boat":"08"}"#).await.json();
    let mut phone = program.open("/feed").await;
    let hello = json!({"kind": "hello", "v": 1, "key": key["code"], "run": "r"});
    phone.send(Message::text(hello.to_string())).await.expect("sent");
    let begin = program.served.clock().now().0 - 60_000;
    let fixes: Vec<PhoneFix> = (0..60)
        .map(|n| PhoneFix {
            seq: n + 1,
            t: begin + i64::from(n) * 1_000,
            lat: Some(52.005 + f64::from(n) * 1e-5),
            lon: Some(5.01),
            acc: Some(3.0),
            ..PhoneFix::default()
        })
        .collect();
    for chunk in fixes.chunks(5) {
        phone.send(Message::text(json!({"kind": "fixes", "fixes": chunk}).to_string())).await.expect("sent");
        let newest = chunk.last().expect("fixes").seq;
        until(&mut phone, |message| message["kind"] == "ack" && message["seq"] == newest).await;
    }
    let mut tablet = program.tablet().await;
    tablet.done(json!({"kind": "mark", "boat": 1, "mark": "needs_help"})).await;
    let snapshot = program.ask("GET", "/api/snapshot", "").await.json();
    let alerts = snapshot["alerts"].as_array().expect("alerts");
    let alert = alerts.iter().find(|alert| alert["about"] == "needs-help").expect("the call").clone();

    let days = program.ask("GET", "/api/days", "").await.json();
    assert_eq!(days.as_array().map(Vec::len), Some(1));
    let files: BTreeMap<&str, Answer> = {
        let mut files = BTreeMap::new();
        for file in ["tracks.gpx", "tracks.geojson", "tracks.csv", "alerts.csv"] {
            files.insert(file, program.ask("GET", &format!("/api/export/today/{file}"), "").await);
        }
        files
    };
    assert!(files["tracks.gpx"].body.contains("<name>08</name>"), "{}", files["tracks.gpx"].body);
    assert!(files["tracks.csv"].body.lines().count() > 1, "{}", files["tracks.csv"].body);
    let geo = files["tracks.geojson"].json();
    assert!(
        geo["features"]
            .as_array()
            .is_some_and(|features| features.iter().any(|one| one["properties"]["boat"] == "08"))
    );
    assert!(files["alerts.csv"].body.contains("needs-help"), "{}", files["alerts.csv"].body);
    let incident = program.ask("GET", &format!("/api/incident/{}", alert["id"]), "").await.json();
    assert_eq!(incident["alert"]["about"], "needs-help");
    assert!(incident["track"].as_array().is_some_and(|track| !track.is_empty()), "{incident}");
    program.stop().await;
}

/// What was said and done about an alert: in its report, and in the log again after something was taken
/// back and after a restart.
#[tokio::test(flavor = "multi_thread")]
async fn what_was_done_about_an_alert_is_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = Program::start(folder.path()).await;
    let mut tablet = program.tablet().await;
    tablet.done(json!({"kind": "mark", "boat": 1, "mark": "needs_help"})).await;
    let snapshot = program.ask("GET", "/api/snapshot", "").await.json();
    let alert = snapshot["alerts"][0]["id"].clone();
    tablet.done(json!({"kind": "attend", "alert": alert, "boat": 2})).await;
    tablet.done(json!({"kind": "heads", "alert": alert, "counted": 2})).await;
    tablet.done(json!({"kind": "note", "boat": 1, "text": "boat righted"})).await;
    let undo = tablet.done(json!({"kind": "note", "boat": null, "text": "written in error"})).await;
    tablet.done(json!({"kind": "undo", "undo": undo})).await;
    tablet.done(json!({"kind": "clear", "alert": alert, "reason": "all aboard"})).await;

    let told = |lines: &Value, text: &str| {
        let lines = lines.as_array().expect("lines");
        lines.iter().any(|line| line["text"].as_str().is_some_and(|words| words.contains(text)))
    };
    let done = ["08: needs help, ", "S1 is going", "2 heads counted", "needs help over: all aboard"];
    let log = program.ask("GET", "/api/snapshot", "").await.json()["log"].clone();
    for text in done {
        assert!(told(&log, text), "{text} after something was taken back: {log}");
    }
    assert!(!told(&log, "written in error"), "{log}");
    let counted = log.as_array().and_then(|lines| {
        lines.iter().find(|line| line["text"].as_str().is_some_and(|text| text.contains("2 heads counted")))
    });
    assert_eq!(counted.map(|line| &line["by"]), Some(&snapshot["you"]["name"]), "by whoever counted them");

    // The journal is written a moment later; the report is read from it.
    let report = async {
        loop {
            let incident = program.ask("GET", &format!("/api/incident/{alert}"), "").await.json();
            if done.iter().all(|text| told(&incident["log"], text)) {
                return incident;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
    };
    let incident = tokio::time::timeout(PATIENCE, report).await.expect("all is in the report");
    assert!(told(&incident["log"], "boat righted"), "{incident}");
    let times: Vec<_> =
        incident["log"].as_array().expect("lines").iter().map(|line| line["at_ms"].as_i64()).collect();
    assert!(times.is_sorted(), "{times:?}");

    program.stop().await;
    let program = Program::start(folder.path()).await;
    let again = async {
        loop {
            let log = program.ask("GET", "/api/snapshot", "").await.json()["log"].clone();
            if done.iter().all(|text| told(&log, text)) {
                return log;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
    };
    let log = tokio::time::timeout(PATIENCE, again).await.expect("all is in the log after a restart");
    assert!(told(&log, "boat righted"), "{log}");
    program.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_deleted_person_is_nowhere_on_the_disk() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = Program::start(folder.path()).await;
    let mut tablet = program.tablet().await;
    let session = json!({"what": "session", "title": "Day", "staff": ["Xenophonia"], "back_by_ms": null, "water_c": null,
        "wind_limit_kn": null, "tides": []});
    tablet.change(session).await;
    tablet.change(json!({"what": "add_people", "text": "Xenophonia;learner;07\nKim"})).await;
    let person = tablet.number("Xenophonia");
    tablet.change(json!({"what": "person_note", "person": person, "note": "Xenophonia has asthma"})).await;
    let undo = tablet.done(json!({"kind": "note", "boat": null, "text": "xenophonia swapped twice"})).await;
    tablet.done(json!({"kind": "undo", "undo": undo})).await;
    tablet.done(json!({"kind": "note", "boat": null, "text": "Kim helped Xenophonia."})).await;
    tablet.change(json!({"what": "delete_person", "person": person})).await;
    tablet
        .wait("she is gone", |tablet| {
            tablet.number("Xenophonia").is_null() && !tablet.number("Kim").is_null()
        })
        .await;
    program.stop().await;
    let (mut looked, mut kim) = (0, false);
    let mut folders = vec![folder.path().to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("readable").flatten() {
            if entry.path().is_dir() {
                folders.push(entry.path());
                continue;
            }
            let bytes = std::fs::read(entry.path()).expect("readable");
            let text = String::from_utf8_lossy(&bytes).to_lowercase();
            kim |= text.contains("kim helped");
            assert!(!text.contains("xenophonia"), "{}", entry.path().display());
            looked += 1;
        }
    }
    assert!(looked >= 2, "{looked} files looked at");
    assert!(kim, "what was not to be deleted is there, so the search sees what there is");
}
