//! The real program, killed without warning and started again.

use std::{
    io::{BufRead as _, BufReader},
    net::{SocketAddr, TcpListener},
    path::Path,
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};

use futures_util::{SinkExt as _, StreamExt as _};
use serde_json::{Value, json};
use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::TcpStream,
};
use tokio_tungstenite::{
    connect_async,
    tungstenite::{Message, client::IntoClientRequest as _},
};

/// Nothing here takes this long; a test that does has failed.
const LONG: Duration = Duration::from_secs(60);

/// A man-overboard device of the identity 972010042, active (case A05 of `tests/reference/ais.csv`).
const BEACON: &str = "!AIVDM,1,1,,A,1>Nvj>fP02wr6rpM2kG6vOvH0000,0*22\r\n";

/// A port that is free now. Another program may take it before ours does; then the test says so.
fn free_port() -> SocketAddr {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    listener.local_addr().expect("bound")
}

struct Server {
    child: Child,
    pages: SocketAddr,
    /// The code that was printed, if this was a first start.
    code: Option<String>,
}

impl Server {
    /// Starts the program and waits until it says where it is.
    fn start(config: &Path) -> Server {
        let mut child = Command::new(env!("CARGO_BIN_EXE_dunlin"))
            .args(["serve", "--config"])
            .arg(config)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("started");
        let mut pages = None;
        let mut code = None;
        let out = BufReader::new(child.stdout.take().expect("piped"));
        for line in out.lines().map_while(Result::ok) {
            if let Some(url) = line.strip_prefix("dunlin watches at http://") {
                pages = url.trim().parse().ok();
            }
            if let Some((_, rest)) = line.split_once("joins with the code ") {
                code = rest.split_whitespace().next().map(str::to_owned);
            }
            if line.starts_with("Ctrl-C stops") {
                break;
            }
        }
        Server { child, pages: pages.expect("it says where"), code }
    }

    /// As a power cut: no signal that it could act on.
    fn kill(mut self) {
        self.child.kill().expect("killed");
        self.child.wait().expect("gone");
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // Of a test that failed half-way; one that was killed already is no error.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

async fn http(server: SocketAddr, method: &str, path: &str, cookie: &str, body: &str) -> String {
    let request = format!(
        "{method} {path} HTTP/1.1\r\nHost: {server}\r\nOrigin: http://{server}\r\nCookie: {cookie}\r\n\
         Content-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
        body.len()
    );
    let mut stream = TcpStream::connect(server).await.expect("listening");
    stream.write_all(request.as_bytes()).await.expect("sent");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).await.expect("answered");
    answer
}

async fn join(server: &Server) -> String {
    let code = server.code.clone().expect("a first start prints a code");
    let body = json!({ "name": "Ann", "code": code }).to_string();
    let answer = http(server.pages, "POST", "/api/join", "", &body).await;
    let cookie = answer.lines().find_map(|line| line.strip_prefix("set-cookie: "));
    let cookie = cookie.and_then(|cookie| cookie.split(';').next());
    cookie.unwrap_or_else(|| panic!("no cookie: {answer}")).to_owned()
}

/// The alerts in the snapshot, once `wanted` likes them.
async fn alerts(server: SocketAddr, cookie: &str, wanted: impl Fn(&[Value]) -> bool) -> Vec<Value> {
    let begun = Instant::now();
    loop {
        let answer = http(server, "GET", "/api/snapshot", cookie, "").await;
        let body = answer.split_once("\r\n\r\n").map_or("", |(_, body)| body);
        let snapshot: Value = serde_json::from_str(body).unwrap_or_default();
        let alerts = snapshot["alerts"].as_array().cloned().unwrap_or_default();
        if wanted(&alerts) {
            return alerts;
        }
        assert!(begun.elapsed() < LONG, "waited in vain: {answer}");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

/// Acknowledges an alert as a tablet does, and waits until it is confirmed.
async fn acknowledge(server: SocketAddr, cookie: &str, alert: &Value) {
    let mut request = format!("ws://{server}/live").into_client_request().expect("an address");
    let headers = request.headers_mut();
    headers.insert("cookie", cookie.parse().expect("a header"));
    headers.insert("origin", format!("http://{server}").parse().expect("a header"));
    let (mut socket, _) = connect_async(request).await.expect("a socket");
    let ask = json!({ "request": 7, "action": { "kind": "acknowledge", "alert": alert["id"] } });
    socket.send(Message::text(ask.to_string())).await.expect("sent");
    let confirmed = tokio::time::timeout(LONG, async {
        while let Some(Ok(message)) = socket.next().await {
            let said: Value = serde_json::from_str(message.to_text().unwrap_or("")).unwrap_or_default();
            if said["kind"] == "outcome" && said["request"] == 7 {
                return said["refused"].clone();
            }
        }
        Value::from("closed")
    });
    assert_eq!(confirmed.await.expect("an answer"), Value::Null);
}

/// What must not change over a restart.
fn lasting(alerts: &[Value]) -> Vec<Value> {
    let keep = |alert: &Value| {
        json!({
            "id": alert["id"], "about": alert["about"], "level": alert["level"],
            "raised_ms": alert["raised_ms"], "acknowledged": alert["acknowledged"],
        })
    };
    alerts.iter().map(keep).collect()
}

#[tokio::test]
async fn what_was_confirmed_outlives_a_kill() {
    let folder = tempfile::tempdir().expect("a folder");
    let (pages, feed) = (free_port(), free_port());
    let config = folder.path().join("dunlin.toml");
    let fleet = "[[boat]]\nid = \"07\"\nsource = \"07\"\ncrew = 2\n";
    std::fs::write(folder.path().join("fleet.toml"), fleet).expect("written");
    let text = format!(
        "fleet = \"fleet.toml\"\nlisten = \"{pages}\"\n\
         [[feed]]\nname = \"ais\"\nkind = \"tcp-listen\"\nlisten = \"{feed}\"\n"
    );
    std::fs::write(&config, text).expect("written");

    let server = Server::start(&config);
    let cookie = join(&server).await;
    let mut receiver = TcpStream::connect(feed).await.expect("listening");
    receiver.write_all(BEACON.as_bytes()).await.expect("sent");
    let raised = alerts(pages, &cookie, |alerts| alerts.iter().any(|a| a["recorded"] == true)).await;
    assert_eq!(raised[0]["about"], "person-overboard", "{raised:?}");
    acknowledge(pages, &cookie, &raised[0]).await;
    let before = alerts(pages, &cookie, |_| true).await;
    assert_eq!(before[0]["acknowledged"]["by"], "Ann");
    server.kill();

    for _ in 0..3 {
        let server = Server::start(&config);
        assert!(server.code.is_none(), "the first duty officer has joined");
        let after = alerts(pages, &cookie, |_| true).await;
        assert_eq!(lasting(&after), lasting(&before));
        server.kill();
    }
}
