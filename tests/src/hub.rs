//! A hub on loopback over a bench driver, and plain HTTP requests to it.

use std::net::SocketAddr;

use dunlin::{
    clock::Clock,
    config::{Config, HubConfig},
    hub::serve::{self, Serving},
    link::{HubStart, SetUp},
    setup,
    stop::{self, Stopper},
};
use dunlin_engine::moment::Moment;
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::TcpStream,
};

use crate::driver::Bench;

/// Where the tests' time begins: 2026-06-01T10:02:13Z.
pub const BEGIN: Moment = Moment(1_780_308_133_000);

/// An invented bay: an area of about 1.4 by 2.2 km with a landing in its south-west corner.
pub const SITE: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"kind":"sailing-area","name":"North bay"},"geometry":{"type":"Polygon",
"coordinates":[[[5.00,52.00],[5.02,52.00],[5.02,52.02],[5.00,52.02],[5.00,52.00]]]}},
{"type":"Feature","properties":{"kind":"landing","name":"Slip"},"geometry":{"type":"Polygon",
"coordinates":[[[5.000,52.000],[5.001,52.000],[5.001,52.001],[5.000,52.001],[5.000,52.000]]]}},
{"type":"Feature","properties":{"kind":"mark","name":"Yellow"},"geometry":{"type":"Point","coordinates":[5.01,52.01]}}]}"#;

/// Two dinghies and a safety boat.
pub const FLEET: &str = r#"
[[boat]]
id = "07"
source = "07"
crew = 3
role = "dinghy"
[[boat]]
id = "08"
crew = 2
role = "dinghy"
[[boat]]
id = "S1"
source = "S1"
crew = 2
role = "safety"
"#;

/// A hub that is being served.
#[derive(Debug)]
pub struct Bay {
    /// The driver under it.
    pub bench: Bench,
    /// Where it is served.
    pub address: SocketAddr,
    /// The code of the first duty officer.
    pub code: Option<String>,
    /// Its data folder.
    pub folder: tempfile::TempDir,
    /// Ends it when dropped.
    pub stopper: Stopper,
    /// What [`serve::start`] gave.
    pub serving: Serving,
}

/// The set-up of [`SITE`] and [`FLEET`].
///
/// # Panics
/// When they have errors.
pub fn bay_setup() -> SetUp {
    let (site, problems) = setup::site::parse("site", SITE);
    assert!(!setup::any_error(&problems), "{problems:?}");
    let (fleet, problems) = setup::fleet::parse("fleet", FLEET);
    assert!(!setup::any_error(&problems), "{problems:?}");
    SetUp { site, fleet, wind_limit_mps: None }
}

impl Bay {
    /// Serves the bay on loopback; `demo`: everyone is duty officer.
    ///
    /// # Panics
    /// When it cannot be served.
    pub async fn open(demo: bool) -> Bay {
        let folder = tempfile::tempdir().expect("a folder");
        Bay::open_in(folder, demo, |_| ()).await
    }

    /// As [`Bay::open`], in a folder that was used before, with another configuration.
    ///
    /// # Panics
    /// When it cannot be served.
    pub async fn open_in(folder: tempfile::TempDir, demo: bool, change: impl FnOnce(&mut HubConfig)) -> Bay {
        let bench = Bench::start(bay_setup(), BEGIN);
        let mut config = Config::fresh().hub;
        config.listen = SocketAddr::from(([127, 0, 0, 1], 0));
        config.centre = "Heron Water".to_owned();
        change(&mut config);
        let (stopper, stop) = stop::pair();
        let data = folder.path().to_owned();
        let start =
            HubStart { config, data, link: bench.link.clone(), clock: Clock::start(BEGIN, 1.0), demo, stop };
        let serving = serve::start(start).await.expect("served");
        Bay { bench, address: serving.address, code: serving.first_code.clone(), folder, stopper, serving }
    }

    /// A request as a browser on our own page would make it, with a cookie if one is given.
    pub async fn ask(&self, method: &str, path: &str, cookie: Option<&str>, body: &str) -> Answer {
        let mut headers = vec![("Origin", format!("http://{}", self.address))];
        headers.extend(cookie.map(|cookie| ("Cookie", cookie.to_owned())));
        if body.starts_with('{') || body.starts_with('[') {
            headers.push(("Content-Type", "application/json".to_owned()));
        }
        self.raw(method, path, &headers, body).await
    }

    /// A request with just these headers besides `Host`.
    ///
    /// # Panics
    /// When the server cannot be reached or does not answer in HTTP.
    pub async fn raw(&self, method: &str, path: &str, headers: &[(&str, String)], body: &str) -> Answer {
        let mut stream = TcpStream::connect(self.address).await.expect("reachable");
        exchange(&mut stream, &self.address.to_string(), method, path, headers, body).await
    }

    /// Joins by code or PIN; gives the cookie.
    ///
    /// # Panics
    /// When that is refused.
    pub async fn join(&self, name: &str, field: &str, secret: &str) -> String {
        let body = serde_json::json!({"name": name, field: secret}).to_string();
        let answer = self.ask("POST", "/api/join", None, &body).await;
        assert_eq!(answer.status, 200, "{}", answer.body);
        let cookie = answer.header("set-cookie").expect("a cookie");
        cookie.split(';').next().expect("a pair").to_owned()
    }
}

/// An answer, read to its end.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The status.
    pub status: u16,
    /// Head lines, in order, names in small letters.
    pub headers: Vec<(String, String)>,
    /// The body.
    pub body: String,
}

impl Answer {
    /// The first header of this name.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    /// The body as JSON.
    ///
    /// # Panics
    /// When it is none.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error}: {}", self.body))
    }
}

/// One request and its answer over any stream; the connection is then closed.
///
/// # Panics
/// When the answer is not HTTP.
pub async fn exchange<S: AsyncReadExt + AsyncWriteExt + Unpin>(
    stream: &mut S,
    host: &str,
    method: &str,
    path: &str,
    headers: &[(&str, String)],
    body: &str,
) -> Answer {
    let mut request = format!("{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n");
    for (name, value) in headers {
        request.push_str(&format!("{name}: {value}\r\n"));
    }
    request.push_str(&format!("Content-Length: {}\r\n\r\n{body}", body.len()));
    // A server that refuses early may close before it has read all.
    drop(stream.write_all(request.as_bytes()).await);
    let mut bytes = Vec::new();
    drop(stream.read_to_end(&mut bytes).await);
    let end = bytes.windows(4).position(|four| four == b"\r\n\r\n");
    let end = end.unwrap_or_else(|| panic!("no answer: {:?}", String::from_utf8_lossy(&bytes)));
    let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
    let mut lines = head.lines();
    let status = lines.next().and_then(|line| line.split(' ').nth(1)).expect("a status line");
    let headers: Vec<(String, String)> = lines
        .filter_map(|line| line.split_once(':'))
        .map(|(name, value)| (name.to_lowercase(), value.trim().to_owned()))
        .collect();
    let is_chunked = headers.iter().any(|(name, value)| name == "transfer-encoding" && value == "chunked");
    let body = if is_chunked { unchunk(&bytes[end + 4..]) } else { bytes[end + 4..].to_vec() };
    Answer {
        status: status.parse().expect("a status"),
        headers,
        body: String::from_utf8_lossy(&body).into_owned(),
    }
}

fn unchunk(mut bytes: &[u8]) -> Vec<u8> {
    let mut whole = Vec::new();
    while let Some(at) = bytes.windows(2).position(|two| two == b"\r\n") {
        let size = String::from_utf8_lossy(&bytes[..at]).into_owned();
        let size = usize::from_str_radix(size.trim(), 16).unwrap_or(0);
        if size == 0 {
            break;
        }
        whole.extend_from_slice(&bytes[at + 2..(at + 2 + size).min(bytes.len())]);
        bytes = &bytes[(at + 4 + size).min(bytes.len())..];
    }
    whole
}
