//! `dunlin.toml`, checked once into a type that cannot be wrong.
//!
//! ```toml
//! centre = "Withy Reach Sailing"      # shown on the tablets
//! site = "site.geojson"
//! fleet = "fleet.toml"
//! data = "data"                       # folder for the days, keys and certificates
//! listen = "127.0.0.1:8080"           # address of the pages
//! names = ["watch.example.org"]       # host names of the pages besides addresses and .local names
//! wind_limit_kn = 18
//! base_map = "bay.pmtiles"
//! journal_max_mb = 4000               # a day's file grows no larger
//! retention_days = 30                 # older days are deleted at the start, besides the rule on the tablet
//!
//! [https]                             # without it: plain HTTP, which only loopback should use
//! name = "dunlin"                     # the pages are at https://dunlin.local
//! certificate = "cert.pem"            # one of your own; without it a local authority is made
//! key = "key.pem"
//!
//! [[feed]]
//! name = "mast"                       # names the source of lines that do not name one
//! kind = "tcp-connect"                # tcp-connect, tcp-listen, udp, serial, file, stdin
//! address = "192.168.1.20:10110"
//! ```
//!
//! Paths are taken from the folder of the file. Unknown keys are errors.

mod network;

use std::{
    net::SocketAddr,
    path::{Path, PathBuf},
};

pub use self::network::{Network, allowed};
use crate::setup::{
    self, Findings, Problem, Severity,
    toml_walk::{Section, document},
};

/// Feeds that a set-up may have.
pub const FEEDS_MAX: usize = 200;

/// Addresses or sources that one feed may list.
const ALLOWED_MAX: usize = 1000;

/// What the program runs with.
#[derive(Clone, Debug, PartialEq)]
pub struct Config {
    /// The site file, if any.
    pub site: Option<PathBuf>,
    /// The fleet file, if any.
    pub fleet: Option<PathBuf>,
    /// The folder for the days, keys and certificates.
    pub data: PathBuf,
    /// The session's wind limit, knots; `None`: no limit.
    pub wind_limit_kn: Option<f64>,
    /// Bytes that a day's file may grow to.
    pub journal_max_bytes: u64,
    /// Days after which a day's file is deleted; `None`: never.
    pub retention_days: Option<u32>,
    /// What concerns the pages.
    pub hub: HubConfig,
    /// The feeds.
    pub feeds: Vec<FeedConfig>,
}

/// What concerns the pages and who may see them.
#[derive(Clone, Debug, PartialEq)]
pub struct HubConfig {
    /// The centre's name; empty when not given.
    pub centre: String,
    /// Where the pages are served.
    pub listen: SocketAddr,
    /// Host names of the pages besides addresses, `localhost` and `.local` names: a request to any
    /// other is refused, since a page from elsewhere can make its own name point here.
    pub names: Vec<String>,
    /// A local base map (PMTiles), if any.
    pub base_map: Option<PathBuf>,
    /// HTTPS; `None`: plain HTTP.
    pub https: Option<HttpsConfig>,
}

/// How HTTPS is done.
#[derive(Clone, Debug, PartialEq)]
pub struct HttpsConfig {
    /// The name without `.local` that is announced by mDNS and stands in the certificate.
    pub name: String,
    /// A certificate and its key (PEM) of the centre's own; `None`: a local authority makes one.
    pub own: Option<(PathBuf, PathBuf)>,
}

/// One feed.
#[derive(Clone, Debug, PartialEq)]
pub struct FeedConfig {
    /// Names the source of lines that do not name one.
    pub name: String,
    /// How its bytes come.
    pub kind: FeedKind,
    /// TAG-block sources that it may speak for; empty: any.
    pub sources: Vec<String>,
    /// Whether untagged lines go by the sender's address (`name/192.168.1.7`) rather than by the
    /// feed's name: for many phones or trackers that send plain NMEA to one port.
    pub source_by_address: bool,
}

/// How a feed's bytes come.
#[derive(Clone, Debug, PartialEq)]
pub enum FeedKind {
    /// We connect to `host:port` and read.
    TcpConnect {
        /// As written; the name is looked up anew at each attempt.
        address: String,
    },
    /// We listen and others connect.
    TcpListen {
        /// Where.
        listen: SocketAddr,
        /// Who may.
        allow: Vec<Network>,
    },
    /// Datagrams.
    Udp {
        /// Where.
        listen: SocketAddr,
        /// Who may.
        allow: Vec<Network>,
    },
    /// A serial line.
    Serial {
        /// The device.
        device: PathBuf,
        /// Bits a second.
        baud: u32,
    },
    /// A file that is read to its end and then followed as it grows.
    File {
        /// Which.
        path: PathBuf,
    },
    /// Standard input.
    Stdin,
}

impl FeedKind {
    /// The word for it in the set-up and in every output.
    pub fn word(&self) -> &'static str {
        match self {
            FeedKind::TcpConnect { .. } => "tcp-connect",
            FeedKind::TcpListen { .. } => "tcp-listen",
            FeedKind::Udp { .. } => "udp",
            FeedKind::Serial { .. } => "serial",
            FeedKind::File { .. } => "file",
            FeedKind::Stdin => "stdin",
        }
    }
}

impl Config {
    /// What `dunlin serve` runs with when no file is given: a data folder, no site, no feeds, pages
    /// on loopback.
    pub fn fresh() -> Config {
        Config {
            site: None,
            fleet: None,
            data: PathBuf::from("dunlin-data"),
            wind_limit_kn: None,
            journal_max_bytes: 4_000_000_000,
            retention_days: None,
            hub: HubConfig {
                centre: String::new(),
                listen: SocketAddr::from(([127, 0, 0, 1], 8080)),
                names: Vec::new(),
                base_map: None,
                https: None,
            },
            feeds: Vec::new(),
        }
    }

    /// Reads a file; its problems are all returned. The configuration is usable only while none of
    /// them is an error.
    pub fn load(path: &Path) -> (Config, Vec<Problem>) {
        match setup::read_text(path) {
            Ok(text) => {
                let folder = path.parent().unwrap_or(Path::new(""));
                parse(&path.display().to_string(), folder, &text)
            }
            Err(problem) => (Config::fresh(), vec![problem]),
        }
    }
}

/// The configuration in `text`; `folder` is what its paths are taken from.
pub fn parse(file: &str, folder: &Path, text: &str) -> (Config, Vec<Problem>) {
    let mut findings = Findings::new(file, text);
    let table = document(&mut findings, text);
    let mut root = Section::new(&table, 0, "the configuration");
    let mut config = Config::fresh();
    let path = |root: &mut Section, findings: &mut Findings, key| {
        root.text(findings, key).map(|path| folder.join(path))
    };
    config.site = path(&mut root, &mut findings, "site");
    config.fleet = path(&mut root, &mut findings, "fleet");
    config.data = path(&mut root, &mut findings, "data").unwrap_or_else(|| folder.join("data"));
    config.hub.base_map = path(&mut root, &mut findings, "base_map");
    config.hub.centre = root.text(&mut findings, "centre").unwrap_or_default();
    config.wind_limit_kn = root.number(&mut findings, "wind_limit_kn", 1.0..=60.0);
    if let Some(mb) = root.whole(&mut findings, "journal_max_mb", 1..=1_000_000) {
        config.journal_max_bytes = mb.unsigned_abs() * 1_000_000;
    }
    config.retention_days =
        root.whole(&mut findings, "retention_days", 1..=36_500).and_then(|days| u32::try_from(days).ok());
    if let Some(listen) = address(&mut root, &mut findings, "listen") {
        config.hub.listen = listen;
    }
    config.hub.names = root.texts(&mut findings, "names").into_iter().map(|(name, _)| name).collect();
    if let Some(mut section) = root.section(&mut findings, "https") {
        section.what = "[https]".to_owned();
        config.hub.https = Some(https(section, folder, &mut findings));
    }
    if config.hub.https.is_none() && !config.hub.listen.ip().is_loopback() {
        findings.warn(
            root.value("listen").map(|(_, at)| at),
            format!("the pages are served without https at {}", config.hub.listen),
            "add [https]: phones give their position to secure pages only, and codes could be read on the way",
        );
    }
    config.feeds = feeds(&mut root, folder, config.hub.listen, &mut findings);
    root.finish(&mut findings, Severity::Error);
    (config, findings.finish())
}

fn https(mut section: Section, folder: &Path, findings: &mut Findings) -> HttpsConfig {
    let at = section.at;
    let name = section.text(findings, "name").unwrap_or_else(|| "dunlin".to_owned());
    let fits = |c: char| c.is_ascii_alphanumeric() || c == '-';
    if name.len() > 63 || !name.chars().all(fits) {
        let name_at = section.value("name").map(|(_, at)| at);
        findings.error(
            name_at,
            format!("the name \"{name}\" cannot be announced"),
            "use letters, digits and hyphens, without \".local\"",
        );
    }
    let certificate = section.text(findings, "certificate").map(|path| folder.join(path));
    let key = section.text(findings, "key").map(|path| folder.join(path));
    if certificate.is_some() != key.is_some() {
        findings.error(
            Some(at),
            "[https] has only one of certificate and key",
            "give both (PEM files), or neither: then a local authority makes them",
        );
    }
    section.finish(findings, Severity::Error);
    HttpsConfig { name, own: certificate.zip(key) }
}

fn feeds(root: &mut Section, folder: &Path, pages: SocketAddr, findings: &mut Findings) -> Vec<FeedConfig> {
    let sections = root.sections(findings, "feed");
    if sections.len() > FEEDS_MAX {
        findings.error(
            None,
            format!("has {} feeds", sections.len()),
            format!("at most {FEEDS_MAX} are opened"),
        );
        return Vec::new();
    }
    let mut feeds: Vec<FeedConfig> = Vec::new();
    for section in sections {
        let at = section.at;
        let Some(feed) = feed(section, folder, findings) else { continue };
        if feeds.iter().any(|other| other.name == feed.name) {
            findings.error(
                Some(at),
                format!("two feeds are called \"{}\"", feed.name),
                "give each feed a name of its own",
            );
        }
        let stdin = |feed: &FeedConfig| feed.kind == FeedKind::Stdin;
        if stdin(&feed) && feeds.iter().any(stdin) {
            findings.error(
                Some(at),
                "standard input feeds twice",
                "only one feed can have the kind \"stdin\"",
            );
        }
        let taken =
            feeds.iter().filter_map(|other| Some((format!("feed \"{}\"", other.name), listens(other)?)));
        let mut taken = taken.chain([("the page server".to_owned(), (true, pages))]);
        if let Some((tcp, listen)) = listens(&feed)
            && let Some((other, _)) = taken.find(|(_, other)| is_taken((tcp, listen), *other))
        {
            findings.error(
                Some(at),
                format!("feed \"{}\" listens at {listen}, which {other} uses already", feed.name),
                "give each a port of its own",
            );
        }
        feeds.push(feed);
    }
    feeds
}

/// Where a feed listens, and whether by TCP; `None` for one that does not.
fn listens(feed: &FeedConfig) -> Option<(bool, SocketAddr)> {
    match feed.kind {
        FeedKind::TcpListen { listen, .. } => Some((true, listen)),
        FeedKind::Udp { listen, .. } => Some((false, listen)),
        FeedKind::TcpConnect { .. } | FeedKind::Serial { .. } | FeedKind::File { .. } | FeedKind::Stdin => {
            None
        }
    }
}

/// Whether the system would refuse the second of two listeners. Port 0 is any free one.
fn is_taken(one: (bool, SocketAddr), other: (bool, SocketAddr)) -> bool {
    let same_address =
        one.1.ip() == other.1.ip() || one.1.ip().is_unspecified() || other.1.ip().is_unspecified();
    one.0 == other.0 && one.1.port() == other.1.port() && one.1.port() != 0 && same_address
}

fn feed(mut section: Section, folder: &Path, findings: &mut Findings) -> Option<FeedConfig> {
    let at = section.at;
    section.what = "a feed".to_owned();
    let name = section.text(findings, "name");
    match &name {
        Some(name) => section.what = format!("feed \"{name}\""),
        None => findings.error(
            Some(at),
            "a feed has no name",
            "give it name = \"...\"; lines that do not name their source go by it",
        ),
    }
    let kind = section.text(findings, "kind");
    let kind = match kind.as_deref() {
        Some("tcp-connect") => required(&mut section, findings, "address", "\"host:port\"", |text| {
            let (host, port) = text.rsplit_once(':')?;
            let sound = !host.is_empty() && port.parse::<u16>().is_ok();
            sound.then(|| FeedKind::TcpConnect { address: text.to_owned() })
        }),
        Some("tcp-listen") => {
            listen(&mut section, findings).map(|(listen, allow)| FeedKind::TcpListen { listen, allow })
        }
        Some("udp") => listen(&mut section, findings).map(|(listen, allow)| FeedKind::Udp { listen, allow }),
        Some("serial") => {
            let baud = section.whole(findings, "baud", 300..=4_000_000).unwrap_or(4800);
            let baud = u32::try_from(baud).unwrap_or(4800);
            required(&mut section, findings, "device", "a path such as \"/dev/ttyUSB0\"", |text| {
                Some(FeedKind::Serial { device: folder.join(text), baud })
            })
        }
        Some("file") => required(&mut section, findings, "path", "a path", |text| {
            Some(FeedKind::File { path: folder.join(text) })
        }),
        Some("stdin") => Some(FeedKind::Stdin),
        other => {
            let kind_at = section.value("kind").map_or(at, |(_, at)| at);
            findings.error(
                Some(kind_at),
                match other {
                    Some(other) => format!("{} has the unknown kind \"{other}\"", section.what),
                    None => format!("{} has no kind", section.what),
                },
                "kind is tcp-connect, tcp-listen, udp, serial, file or stdin",
            );
            // Its other keys cannot be judged without knowing the kind.
            return None;
        }
    };
    let sources: Vec<String> =
        section.texts(findings, "sources").into_iter().map(|(source, _)| source).collect();
    if sources.len() > ALLOWED_MAX {
        findings.error(
            Some(at),
            format!("{} lists {} sources", section.what, sources.len()),
            format!("list at most {ALLOWED_MAX}"),
        );
    }
    let source_by_address = section.flag(findings, "source_by_address").unwrap_or(false);
    section.finish(findings, Severity::Error);
    Some(FeedConfig { name: name?, kind: kind?, sources, source_by_address })
}

/// The text of `key`, which must be there and be accepted by `read`.
fn required<T>(
    section: &mut Section,
    findings: &mut Findings,
    key: &'static str,
    expected: &str,
    read: impl FnOnce(&str) -> Option<T>,
) -> Option<T> {
    if section.value(key).is_none() {
        findings.error(
            Some(section.at),
            format!("{} has no {key}", section.what),
            format!("give it {key} = {expected}"),
        );
        return None;
    }
    let text = section.text(findings, key)?;
    let value = read(&text);
    if value.is_none() {
        let at = section.value(key).map_or(section.at, |(_, at)| at);
        section.wrong(findings, key, at, expected);
    }
    value
}

fn listen(section: &mut Section, findings: &mut Findings) -> Option<(SocketAddr, Vec<Network>)> {
    let mut allow = Vec::new();
    for (text, at) in section.texts(findings, "allow") {
        match Network::parse(&text) {
            Some(network) => allow.push(network),
            None => section.wrong(findings, "allow", at, "addresses such as 192.168.1.0/24"),
        }
    }
    if allow.len() > ALLOWED_MAX {
        findings.error(
            Some(section.at),
            format!("{} allows {} addresses", section.what, allow.len()),
            format!("list at most {ALLOWED_MAX}, or whole networks"),
        );
    }
    let expected = "\"address:port\", for instance \"0.0.0.0:10110\"";
    let listen = required(section, findings, "listen", expected, |text| text.parse().ok())?;
    Some((listen, allow))
}

fn address(section: &mut Section, findings: &mut Findings, key: &'static str) -> Option<SocketAddr> {
    let text = section.text(findings, key)?;
    let parsed = text.parse().ok();
    if parsed.is_none() {
        let at = section.value(key).map_or(section.at, |(_, at)| at);
        section.wrong(findings, key, at, "\"address:port\", for instance \"0.0.0.0:8080\"");
    }
    parsed
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> (Config, Vec<String>) {
        let (config, problems) = parse("dunlin.toml", Path::new("/srv"), text);
        let told = problems.iter().map(|p| p.to_string().replace("\n    ", " -> ")).collect();
        (config, told)
    }

    #[test]
    fn a_whole_configuration_is_read() {
        let (config, problems) = told(
            r#"
centre = "Withy Reach"
site = "site.geojson"
listen = "0.0.0.0:8443"
journal_max_mb = 10
[https]
name = "reach"
[[feed]]
name = "mast"
kind = "tcp-connect"
address = "mast.local:10110"
[[feed]]
name = "boats"
kind = "udp"
listen = "0.0.0.0:10110"
allow = ["192.168.1.0/24", "10.0.0.7"]
sources = ["07", "08"]
source_by_address = true
[[feed]]
name = "own"
kind = "serial"
device = "/dev/ttyUSB0"
baud = 38400
"#,
        );
        assert_eq!(problems, Vec::<String>::new());
        assert_eq!(config.site, Some(PathBuf::from("/srv/site.geojson")));
        assert_eq!(config.data, PathBuf::from("/srv/data"));
        assert_eq!(config.journal_max_bytes, 10_000_000);
        let words: Vec<&str> = config.feeds.iter().map(|feed| feed.kind.word()).collect();
        assert_eq!(words, ["tcp-connect", "udp", "serial"]);
        assert_eq!(config.feeds[1].sources, ["07", "08"]);
    }

    #[test]
    fn wrong_keys_and_values_are_named_with_line_and_remedy() {
        let (_, problems) = told(
            r#"lisen = "0.0.0.0:80"
listen = "everywhere"
[https]
certificate = "a.pem"
[[feed]]
name = "mast"
kind = "tcp"
[[feed]]
name = "boats"
kind = "udp"
allow = "home"
[[feed]]
kind = "stdin"
"#,
        );
        assert_eq!(
            problems,
            [
                "dunlin.toml:1: error: the configuration has the unknown key \"lisen\" -> did you mean \"listen\"?",
                "dunlin.toml:2: error: listen of the configuration is not \"address:port\", for instance \"0.0.0.0:8080\" -> write listen as \"address:port\", for instance \"0.0.0.0:8080\", or leave it out",
                "dunlin.toml:3: error: [https] has only one of certificate and key -> give both (PEM files), or neither: then a local authority makes them",
                "dunlin.toml:7: error: feed \"mast\" has the unknown kind \"tcp\" -> kind is tcp-connect, tcp-listen, udp, serial, file or stdin",
                "dunlin.toml:8: error: feed \"boats\" has no listen -> give it listen = \"address:port\", for instance \"0.0.0.0:10110\"",
                "dunlin.toml:11: error: allow of feed \"boats\" is not addresses such as 192.168.1.0/24 -> write allow as addresses such as 192.168.1.0/24, or leave it out",
                "dunlin.toml:12: error: a feed has no name -> give it name = \"...\"; lines that do not name their source go by it",
            ]
        );
    }

    #[test]
    fn two_that_listen_in_one_place_and_pages_in_the_clear_are_told() {
        let (_, problems) = told(
            r#"listen = "0.0.0.0:8080"
[[feed]]
name = "a"
kind = "tcp-listen"
listen = "192.168.1.2:8080"
[[feed]]
name = "b"
kind = "udp"
listen = "0.0.0.0:8080"
[[feed]]
name = "c"
kind = "udp"
listen = "127.0.0.1:8080"
[[feed]]
name = "d"
kind = "tcp-listen"
listen = "127.0.0.1:0"
[[feed]]
name = "e"
kind = "tcp-listen"
listen = "127.0.0.1:0"
"#,
        );
        assert_eq!(
            problems,
            [
                "dunlin.toml:1: warning: the pages are served without https at 0.0.0.0:8080 -> add [https]: phones give their position to secure pages only, and codes could be read on the way",
                "dunlin.toml:2: error: feed \"a\" listens at 192.168.1.2:8080, which the page server uses already -> give each a port of its own",
                "dunlin.toml:10: error: feed \"c\" listens at 127.0.0.1:8080, which feed \"b\" uses already -> give each a port of its own",
            ]
        );
    }
}
