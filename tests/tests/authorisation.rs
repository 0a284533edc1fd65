//! Who may do what, found by asking: every route and every action, by everyone.
//!
//! What was found must be what `docs/authorisation.md` says. `DUNLIN_BLESS=1` rewrites that file; the
//! difference is to be reviewed like code.

use std::{collections::BTreeMap, fs, path::PathBuf, time::Duration};

use dunlin::{access::role::Needs, hub::routes::routes};
use dunlin_tests::hub::Bay;
use futures_util::{SinkExt, StreamExt};
use serde_json::{Value, json};
use tokio_tungstenite::{
    connect_async,
    tungstenite::{Message, client::IntoClientRequest},
};

const WHO: [&str; 5] = ["nobody", "boat", "viewer", "instructor", "duty officer"];
const PATIENCE: Duration = Duration::from_secs(20);

/// A row of the table: what is asked, and the answer for each of [`WHO`].
type Row = (String, [bool; 5]);

struct Keys {
    boat: String,
    cookies: BTreeMap<&'static str, String>,
}

impl Keys {
    async fn make(bay: &Bay, code: &str) -> Keys {
        let officer = bay.join("Ash", "code", code).await;
        let mut cookies = BTreeMap::new();
        for (who, role) in [("viewer", "viewer"), ("instructor", "instructor")] {
            let body = json!({"role": role, "once": true, "hours": 1}).to_string();
            let link = bay.ask("POST", "/api/invitations", Some(&officer), &body).await.json();
            let cookie = bay.join(who, "code", link["code"].as_str().expect("a code")).await;
            cookies.insert(who, cookie);
        }
        let link = bay.ask("POST", "/api/boat-keys", Some(&officer), r#"{"boat":"07"}"#).await.json();
        cookies.insert("duty officer", officer);
        Keys { boat: link["code"].as_str().expect("a key").to_owned(), cookies }
    }

    fn headers(&self, bay: &Bay, who: &str) -> Vec<(&'static str, String)> {
        let mut headers = vec![("Origin", format!("http://{}", bay.address))];
        match who {
            "nobody" => (),
            "boat" => headers.push(("Authorization", format!("Bearer {}", self.boat))),
            person => headers.push(("Cookie", self.cookies[person].clone())),
        }
        headers
    }
}

type Socket = tokio_tungstenite::WebSocketStream<tokio_tungstenite::MaybeTlsStream<tokio::net::TcpStream>>;

async fn open(bay: &Bay, path: &str, headers: &[(&'static str, String)]) -> Option<Socket> {
    let mut request = format!("ws://{}{path}", bay.address).into_client_request().expect("a request");
    for (name, value) in headers {
        request.headers_mut().insert(*name, value.parse().expect("a header"));
    }
    connect_async(request).await.ok().map(|(socket, _)| socket)
}

/// The next text; `None` when the socket is closed instead.
async fn text(socket: &mut Socket) -> Option<Value> {
    loop {
        match tokio::time::timeout(PATIENCE, socket.next()).await.expect("in time") {
            Some(Ok(Message::Text(text))) => return serde_json::from_str(&text).ok(),
            Some(Ok(Message::Close(_)) | Err(_)) | None => return None,
            Some(Ok(_)) => (),
        }
    }
}

/// Whether a socket is open for somebody: a tablet's is when a snapshot comes, a phone's when it is
/// welcomed for what it gives as its key.
async fn socket_allows(bay: &Bay, keys: &Keys, path: &str, who: &str) -> bool {
    let Some(mut socket) = open(bay, path, &keys.headers(bay, who)).await else { return false };
    if path == "/feed" {
        let key = match who {
            "nobody" => "",
            "boat" => &keys.boat,
            person => keys.cookies[person].split_once('=').map_or("", |(_, key)| key),
        };
        let hello = json!({"kind": "hello", "v": 1, "key": key, "run": "r"}).to_string();
        socket.send(Message::text(hello)).await.expect("sent");
        return text(&mut socket).await.is_some_and(|first| first["kind"] == "welcome");
    }
    text(&mut socket).await.is_some_and(|first| first["kind"] == "snapshot")
}

async fn route_rows(bay: &Bay, keys: &Keys) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut routes = routes();
    // Leaving ends the key it is asked with, so it comes last.
    routes.sort_by_key(|route| route.path == "/api/leave");
    for route in routes {
        let path =
            route.path.replace("{kind}", "site").replace("{id}", "999999").replace("{alert}", "999999");
        let path = path.replace("{day}", "2000-01-01").replace("{file}", "log.csv");
        let mut allowed = [false; 5];
        for (who, allowed) in WHO.iter().zip(&mut allowed) {
            *allowed = if matches!(route.needs, Needs::BoatKey | Needs::Socket(_)) {
                socket_allows(bay, keys, route.path, who).await
            } else {
                // A body that is no good: whoever may ask is told so, and nothing is changed.
                let answer = bay.raw(route.method, &path, &keys.headers(bay, who), "").await;
                !matches!(answer.status, 401 | 403)
            };
        }
        rows.push((format!("{} {}", route.method, route.path), allowed));
    }
    rows
}

async fn action_rows(bay: &Bay, keys: &Keys) -> Vec<Row> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("wire");
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).expect("the golden files").flatten().map(|entry| entry.path()).collect();
    files.sort();
    files.retain(|path| path.to_string_lossy().contains("from_tablet."));
    assert!(files.len() >= 30, "every action has a golden file");
    let mut allowed: BTreeMap<String, [bool; 5]> = BTreeMap::new();
    for (place, who) in WHO.iter().enumerate().skip(2) {
        let mut socket = open(bay, "/live", &keys.headers(bay, who)).await.expect("a socket");
        for (request, file) in files.iter().enumerate() {
            let golden = fs::read_to_string(file).expect("readable");
            let mut message: Value = serde_json::from_str(&golden).expect("JSON");
            message["request"] = json!(request);
            socket.send(Message::text(message.to_string())).await.expect("sent");
            let outcome = loop {
                let message = text(&mut socket).await.expect("open");
                if message["kind"] == "outcome" && message["request"] == request {
                    break message;
                }
            };
            let refused = outcome["refused"].as_str().unwrap_or_default();
            let name = file.file_stem().expect("a name").to_string_lossy().replace("from_tablet.", "");
            allowed.entry(name).or_default()[place] = !refused.starts_with("only a ");
        }
    }
    allowed.into_iter().collect()
}

fn table(head: &str, rows: &[Row]) -> String {
    let mut text = format!("| {head} | {} |\n| --- |{}\n", WHO.join(" | "), " --- |".repeat(WHO.len()));
    for (what, allowed) in rows {
        let marks: Vec<&str> = allowed.iter().map(|may| if *may { "yes" } else { "-" }).collect();
        text.push_str(&format!("| `{what}` | {} |\n", marks.join(" | ")));
    }
    text
}

#[tokio::test(flavor = "multi_thread")]
async fn everyone_may_do_what_the_document_says_and_nothing_else() {
    let bay = Bay::open(false).await;
    let keys = Keys::make(&bay, bay.code.as_deref().expect("a first code")).await;
    let actions = action_rows(&bay, &keys).await;
    let routes = route_rows(&bay, &keys).await;

    // What must hold whatever the document says.
    for (what, allowed) in routes.iter().chain(&actions) {
        assert!(allowed[4] || what.contains("/feed"), "{what}: the duty officer may");
        assert!(!allowed[2] || allowed[3], "{what}: an instructor may what a viewer may");
        assert!(!allowed[3] || allowed[4], "{what}: a duty officer may what an instructor may");
        if !["/api/me", "/api/join", "/trust", "/authority.crt"].iter().any(|open| what.ends_with(open)) {
            assert!(!allowed[0], "{what}: a stranger may not");
            assert!(!allowed[1] || what.contains("/feed"), "{what}: a boat may only send");
        }
    }

    let text = format!(
        "# Who may do what\n\n\
         Found by asking a running server as everyone, and kept up to date by the test\n\
         `tests/tests/authorisation.rs`, which fails when this file says something else.\n\n\
         A boat's key is good for its own boat's feed only. The demonstration on loopback makes everyone\n\
         duty officer, and says so on the screen.\n\n## Routes\n\n{}\n## Actions of a tablet\n\n\
         Sent on `/live`, which strangers and boats cannot open.\n\n{}",
        table("route", &routes),
        table("action", &actions)
    );
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../docs/authorisation.md");
    if std::env::var_os("DUNLIN_BLESS").is_some() {
        fs::create_dir_all(path.parent().expect("a folder")).expect("the folder can be made");
        fs::write(&path, &text).expect("the document can be written");
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(kept, text, "docs/authorisation.md is stale; DUNLIN_BLESS=1 rewrites it");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_write_counts_only_from_our_own_page_and_name() {
    let bay = Bay::open(true).await;
    let own = format!("http://{}", bay.address);
    let json = ("Content-Type", "application/json".to_owned());
    let body = r#"{"boat":"07"}"#;
    for (headers, status) in [
        (vec![("Origin", own.clone()), json.clone()], 200),
        (vec![json.clone()], 403),
        (vec![("Origin", "null".to_owned()), json.clone()], 403),
        (vec![("Origin", "https://evil.example".to_owned()), json.clone()], 403),
        (vec![("Origin", own.replace("http:", "https:").replace("127.0.0.1", "127.0.0.2")), json], 403),
    ] {
        let answer = bay.raw("POST", "/api/boat-keys", &headers, body).await;
        assert_eq!(answer.status, status, "{headers:?}: {}", answer.body);
    }
    // A name that somebody made to point here is not ours, even for reading.
    let mut stream = tokio::net::TcpStream::connect(bay.address).await.expect("reachable");
    let answer =
        dunlin_tests::hub::exchange(&mut stream, "evil.example", "GET", "/api/snapshot", &[], "").await;
    assert_eq!(answer.status, 421);
}

#[tokio::test(flavor = "multi_thread")]
async fn wrong_pins_lock_an_address_out_and_a_code_works_once() {
    let bay = Bay::open(false).await;
    let code = bay.code.clone().expect("a first code");
    let officer = bay.join("Ash", "code", &code).await;
    let again = json!({"name": "Eve", "code": code}).to_string();
    assert_eq!(bay.ask("POST", "/api/join", None, &again).await.status, 401);
    let pin = r#"{"role":"instructor","pin":"294715"}"#;
    assert_eq!(bay.ask("PUT", "/api/pins", Some(&officer), pin).await.status, 204);
    let robin = bay.join("Robin", "pin", "294715").await;
    assert_eq!(bay.ask("GET", "/api/snapshot", Some(&robin), "").await.json()["you"]["role"], "instructor");
    let mut last = 0;
    for _ in 0..6 {
        last = bay.ask("POST", "/api/join", None, r#"{"name":"Eve","pin":"000001"}"#).await.status;
    }
    assert_eq!(last, 429);
    // Locked out also with the right one.
    let right = bay.ask("POST", "/api/join", None, r#"{"name":"Robin","pin":"294715"}"#).await;
    assert_eq!(right.status, 429);
    assert!(right.header("retry-after").is_some());
    // Whoever has joined goes on.
    assert_eq!(bay.ask("GET", "/api/snapshot", Some(&robin), "").await.status, 200);
}

#[tokio::test(flavor = "multi_thread")]
async fn answers_carry_the_headers_that_keep_other_code_out() {
    let bay = Bay::open(true).await;
    for path in ["/", "/api/me", "/nowhere", "/api/nowhere"] {
        let answer = bay.ask("GET", path, None, "").await;
        let csp = answer.header("content-security-policy").unwrap_or_default();
        assert!(
            csp.contains("script-src 'self'") && !csp.contains("script-src 'self' 'unsafe"),
            "{path}: {csp}"
        );
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"), "{path}");
        assert_eq!(answer.header("x-frame-options"), Some("DENY"), "{path}");
        assert_eq!(answer.header("strict-transport-security"), None, "{path}");
    }
    let cookie = {
        let bay = Bay::open(false).await;
        let body = json!({"name": "Ash", "code": bay.code.clone().expect("a code")}).to_string();
        let answer = bay.ask("POST", "/api/join", None, &body).await;
        answer.header("set-cookie").expect("a cookie").to_owned()
    };
    for part in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn paths_lead_nowhere_outside() {
    let bay = Bay::open(true).await;
    for path in [
        "/../Cargo.toml",
        "/..%2f..%2fCargo.toml",
        "/assets/../../Cargo.toml",
        "/%2e%2e/%2e%2e/etc/passwd",
        "//etc/passwd",
        "/api/export/..%2f..%2f/log.csv",
        "/api/export/today/..%2f..%2fpapers.sqlite",
    ] {
        let answer = bay.ask("GET", path, None, "").await;
        let leaks = ["[workspace]", "root:", "SQLite format"].iter().any(|text| answer.body.contains(text));
        assert!(!leaks, "{path}: {}", answer.status);
    }
}
