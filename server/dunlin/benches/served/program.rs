//! The real program as another process, and what a person's browser does with it.

use std::{
    io::{BufRead as _, BufReader, Read as _, Write as _},
    net::{SocketAddr, TcpListener, TcpStream},
    path::Path,
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};

use serde_json::json;
use tokio_tungstenite::{
    MaybeTlsStream, WebSocketStream, connect_async, tungstenite::client::IntoClientRequest as _,
};

/// A tablet's socket.
pub type Tablet = WebSocketStream<MaybeTlsStream<tokio::net::TcpStream>>;

/// Longer than any start takes; beyond it the program is taken to have failed.
const LONG: Duration = Duration::from_secs(120);

/// A port that is free now.
pub fn free_port() -> SocketAddr {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    listener.local_addr().expect("bound")
}

/// A running program.
pub struct Program {
    child: Child,
    pages: SocketAddr,
    /// The code that was printed, if this was a first start.
    code: Option<String>,
    /// From its start to its first answer to a request, ms.
    pub answered_ms: f64,
}

impl Program {
    /// Starts it and asks for its first page until it answers.
    pub fn start(config: &Path, pages: SocketAddr) -> Program {
        let began = Instant::now();
        let mut child = Command::new(env!("CARGO_BIN_EXE_dunlin"))
            .args(["serve", "--config"])
            .arg(config)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("started");
        while !answers(pages) {
            assert!(began.elapsed() < LONG, "the program does not answer");
            std::thread::sleep(Duration::from_micros(300));
        }
        let answered_ms = began.elapsed().as_secs_f64() * 1e3;
        let mut code = None;
        for line in BufReader::new(child.stdout.take().expect("piped")).lines().map_while(Result::ok) {
            if let Some((_, rest)) = line.split_once("joins with the code ") {
                code = rest.split_whitespace().next().map(str::to_owned);
            }
            if line.starts_with("Ctrl-C stops") {
                break;
            }
        }
        Program { child, pages, code, answered_ms }
    }

    /// Joins as the first duty officer and gives the cookie.
    pub fn join(&self) -> String {
        let code = self.code.as_deref().expect("a first start prints a code");
        let body = json!({ "name": "Ann", "code": code }).to_string();
        let (pages, length) = (self.pages, body.len());
        let answer = request(
            pages,
            &format!(
                "POST /api/join HTTP/1.1\r\nHost: {pages}\r\nOrigin: http://{pages}\r\n\
                 Content-Type: application/json\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n{body}"
            ),
        );
        let cookie = answer.lines().find_map(|line| line.strip_prefix("set-cookie: "));
        cookie.and_then(|cookie| cookie.split(';').next()).expect("a cookie").to_owned()
    }

    /// Opens a tablet's socket.
    pub async fn tablet(&self, cookie: &str) -> Tablet {
        let pages = self.pages;
        let mut request = format!("ws://{pages}/live").into_client_request().expect("an address");
        request.headers_mut().insert("cookie", cookie.parse().expect("a header"));
        request.headers_mut().insert("origin", format!("http://{pages}").parse().expect("a header"));
        connect_async(request).await.expect("a socket").0
    }

    /// Its resident memory, MB, where the system tells.
    pub fn resident_mb(&self) -> Option<f64> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
        let kb: f64 = line.split_whitespace().next()?.parse().ok()?;
        Some(kb / 1024.0)
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        self.child.kill().expect("it ran until now");
        self.child.wait().expect("gone");
    }
}

fn answers(pages: SocketAddr) -> bool {
    let Ok(mut stream) = TcpStream::connect(pages) else { return false };
    let asked = stream.write_all(format!("GET / HTTP/1.1\r\nHost: {pages}\r\n\r\n").as_bytes());
    let mut answer = [0; 12];
    asked.is_ok() && stream.read_exact(&mut answer).is_ok() && answer.starts_with(b"HTTP/1.1 ")
}

fn request(pages: SocketAddr, text: &str) -> String {
    let mut stream = TcpStream::connect(pages).expect("listening");
    stream.write_all(text.as_bytes()).expect("sent");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("answered");
    answer
}
