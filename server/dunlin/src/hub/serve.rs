//! The hub started: papers opened, tasks running, pages served until told to stop.

use std::{
    io,
    net::{SocketAddr, TcpListener},
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use axum::Router;
use axum_server::{Handle, tls_rustls::RustlsConfig};
use fast_qr::QRBuilder;
use mdns_sd::{ServiceDaemon, ServiceInfo};
use tracing::{info, warn};

use super::{
    About, Hub, TrustMe, clerk, routes, setup,
    spread::{self, Spread},
    wire::AccessRole,
};
use crate::{
    access::{
        authority::{Authority, AuthorityError, own_identity},
        pins::PinError,
        tls,
    },
    config::HttpsConfig,
    link::{HubStart, SetUp},
    papers::{Papers, PapersError},
    setup as files,
    stop::Stop,
};

/// How long open sockets may take to end when the program stops.
const END_WITHIN: Duration = Duration::from_secs(2);

/// How long a new connection may take to send its first request.
const FIRST_REQUEST_WITHIN: Duration = Duration::from_secs(10);

/// Why the hub cannot start. The program says so and ends: without the hub nobody sees the watch.
#[derive(Debug, thiserror::Error)]
pub enum HubError {
    /// The papers cannot be opened.
    #[error("cannot open the papers in {}", path.display())]
    Papers {
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        source: PapersError,
    },
    /// The data folder cannot be made.
    #[error("cannot make the folder {}", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// The address is taken or not ours.
    #[error("cannot listen on {address}: is another dunlin running, or is the address of another computer?")]
    Listen {
        /// The address.
        address: SocketAddr,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// No code for joining could be made.
    #[error("cannot make the code for the first duty officer")]
    FirstCode(#[from] PinError),
    /// There is no usable certificate.
    #[error("no certificate for https")]
    Certificate(#[from] AuthorityError),
    /// Serving ended by itself.
    #[error("the pages can no longer be served")]
    Serve(#[source] io::Error),
}

/// A hub that is being served.
#[derive(Debug)]
pub struct Serving {
    /// Where, with the port that was really given.
    pub address: SocketAddr,
    /// The address for people: `http://127.0.0.1:8080`.
    pub url: String,
    /// The code by which the first duty officer joins; `None` when one has joined before.
    pub first_code: Option<String>,
    /// SHA-256 of the local authority's certificate; `None` without one.
    pub fingerprint: Option<String>,
    server: tokio::task::JoinHandle<io::Result<()>>,
}

impl Serving {
    /// Waits until the pages are no longer served: after the wish to stop, or by a failure.
    ///
    /// # Errors
    /// When serving ended by itself.
    pub async fn ended(self) -> Result<(), HubError> {
        match self.server.await {
            Ok(ended) => ended.map_err(HubError::Serve),
            Err(gone) => Err(HubError::Serve(io::Error::other(gone))),
        }
    }
}

/// Serves until told to stop, after saying on standard output where and how to join.
///
/// # Errors
/// As [`HubError`] says.
pub async fn serve(begin: HubStart) -> Result<(), HubError> {
    let serving = start(begin).await?;
    say_where(&serving);
    serving.ended().await
}

/// The address to open, the same as a QR code for tablets that can reach it, and the first code.
pub fn say_where(serving: &Serving) {
    println!("\ndunlin watches at {}", serving.url);
    if !serving.address.ip().is_loopback()
        && let Ok(qr) = QRBuilder::new(serving.url.as_str()).build()
    {
        println!("\n{}", qr.to_str());
    }
    if let Some(fingerprint) = &serving.fingerprint {
        println!("Devices learn to trust it at {}/trust (http works there too); fingerprint:", serving.url);
        println!("{fingerprint}");
    }
    if let Some(code) = &serving.first_code {
        println!("The first duty officer joins with the code {code} (once, keep it to yourself).");
    }
    println!("Ctrl-C stops. An aid to the look-out, never a replacement.\n");
}

/// Opens the papers, puts the newest set-up from the tablets in force, and serves the pages.
///
/// # Errors
/// As [`HubError`] says; nothing is then left running but what [`HubStart::stop`] ends.
pub async fn start(start: HubStart) -> Result<Serving, HubError> {
    let HubStart { config, data, link, clock, demo, stop } = start;
    std::fs::create_dir_all(&data).map_err(|source| HubError::Folder { path: data.clone(), source })?;
    let path = data.join(crate::papers::FILE);
    let opened = Papers::open(&path);
    let papers = opened.map_err(|source| HubError::Papers { path: path.clone(), source })?;
    let is_demo = demo && config.listen.ip().is_loopback();
    let secure = config.https.as_ref().map(|https| secure(https, &data)).transpose()?;
    let trust_me = secure
        .as_ref()
        .and_then(|secure| secure.authority.as_ref())
        .map(|authority| TrustMe { der: authority.der().to_vec(), fingerprint: authority.fingerprint() });
    let fingerprint = trust_me.as_ref().map(|trust_me| trust_me.fingerprint.clone());
    let about = About {
        centre: config.centre.clone(),
        demo: is_demo,
        names: config.names.clone(),
        secure: secure.is_some(),
        authority: trust_me,
        base_map: config.base_map.clone(),
        days: data.join("days"),
        watching_since_ms: clock.now().0,
    };
    let (hub, work) =
        Hub::open(link, clock, papers, about).await.map_err(|source| HubError::Papers { path, source })?;
    put_in_force(&hub).await;
    tokio::spawn(spread::run(Spread::begin(Arc::clone(&hub)), stop.clone()));
    tokio::spawn(clerk::run(Arc::clone(&hub), work, stop.clone()));
    let first_code = first_code(&hub).await?;

    let address = config.listen;
    let listener = TcpListener::bind(address).map_err(|source| HubError::Listen { address, source })?;
    let address = listener.local_addr().map_err(|source| HubError::Listen { address, source })?;
    let handle = Handle::new();
    tokio::spawn(end_when_wanted(handle.clone(), stop.clone()));
    let router = routes::router(&hub);
    let (url, server) = match secure {
        None => (
            format!("http://{address}"),
            tokio::spawn(serve_pages(listener, router, handle, tls::Door::new(None))),
        ),
        Some(secure) => {
            if !address.ip().is_loopback() {
                announce(&secure.name, address.port(), stop.clone());
            }
            if let Some(authority) = secure.authority {
                tokio::spawn(tls::renew(authority, secure.names, secure.config.clone(), stop));
            }
            let url = format!("https://{}.local:{}", secure.name, address.port());
            let door = tls::Door::new(Some(secure.config));
            (url, tokio::spawn(serve_pages(listener, router, handle, door)))
        }
    };
    info!(url, "Pages are served.");
    Ok(Serving { address, url, first_code, fingerprint, server })
}

/// What HTTPS needs.
struct Secure {
    name: String,
    names: Vec<String>,
    config: RustlsConfig,
    authority: Option<Arc<Authority>>,
}

fn secure(https: &HttpsConfig, data: &Path) -> Result<Secure, HubError> {
    let names = vec![format!("{}.local", https.name), "localhost".to_owned()];
    let (identity, authority) = match &https.own {
        Some((certificate, key)) => (own_identity(certificate, key)?, None),
        None => {
            let authority = Arc::new(Authority::open(&data.join("tls"))?);
            (authority.identity(&names, &tls::addresses())?, Some(authority))
        }
    };
    let config = RustlsConfig::from_config(tls::config(identity)?);
    Ok(Secure { name: https.name.clone(), names, config, authority })
}

/// Announces the name on the local network, so that no address has to be typed. Failing at it is
/// no trouble: the address and the QR code work all the same.
fn announce(name: &str, port: u16, mut stop: Stop) {
    let told = ServiceDaemon::new().and_then(|daemon| {
        daemon.register(service(name, port)?)?;
        Ok(daemon)
    });
    match told {
        Ok(daemon) => drop(tokio::spawn(async move {
            stop.wanted().await;
            drop(daemon.shutdown());
        })),
        Err(error) => warn!(%error, name, "The name is not announced; use the address."),
    }
}

/// What is announced: the name, for whatever addresses this computer has at the time.
fn service(name: &str, port: u16) -> Result<ServiceInfo, mdns_sd::Error> {
    let host = format!("{name}.local.");
    let service = ServiceInfo::new("_https._tcp.local.", name, &host, "", port, None)?;
    Ok(service.enable_addr_auto())
}

async fn end_when_wanted(handle: Handle<SocketAddr>, mut stop: Stop) {
    stop.wanted().await;
    handle.graceful_shutdown(Some(END_WITHIN));
}

async fn serve_pages(
    listener: TcpListener,
    router: Router,
    handle: Handle<SocketAddr>,
    door: tls::Door,
) -> io::Result<()> {
    let mut server = axum_server::from_tcp(listener)?
        .acceptor(door)
        .first_request_timeout(FIRST_REQUEST_WITHIN)
        .handle(handle);
    server.http_builder().http1().header_read_timeout(FIRST_REQUEST_WITHIN);
    server.serve(router.into_make_service_with_connect_info::<SocketAddr>()).await
}

/// A code for the first duty officer, as long as there is none.
async fn first_code(hub: &Hub) -> Result<Option<String>, HubError> {
    let officer = crate::access::role::role_word(AccessRole::DutyOfficer);
    if hub.about.demo || hub.keys.list().iter().any(|key| key.role == officer) {
        return Ok(None);
    }
    let code = hub.ways.invite(AccessRole::DutyOfficer, true, "dunlin", hub.now_ms(), None).await?;
    Ok(Some(code.reveal().to_owned()))
}

/// What was set up on a tablet goes before the files that the program was started with.
async fn put_in_force(hub: &Hub) {
    let (site, fleet) =
        match (setup::newest(hub, setup::Part::Site).await, setup::newest(hub, setup::Part::Fleet).await) {
            (Ok(None), Ok(None)) => return,
            (Ok(site), Ok(fleet)) => (site, fleet),
            (Err(error), _) | (_, Err(error)) => {
                warn!(%error, "The set-up from the tablets could not be read; the files are in force.");
                return;
            }
        };
    let mut changed = SetUp::clone(&hub.picture().setup);
    let mut wrong = Vec::new();
    if let Some(text) = site {
        let (site, problems) = files::site::parse("the site drawn on a tablet", &text);
        changed.site = site;
        wrong.extend(problems);
    }
    if let Some(text) = fleet {
        let (fleet, problems) = files::fleet::parse("the fleet from a tablet", &text);
        changed.fleet = fleet;
        wrong.extend(problems);
    }
    if files::any_error(&wrong) {
        warn!("The set-up from the tablets is not usable by this version; the files are in force.");
    } else if changed != *hub.picture().setup
        && let Err(refused) = hub.link.set_up("dunlin", changed).await
    {
        warn!(reason = %refused, "The set-up from the tablets could not be put in force.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_announced_name_is_the_one_in_the_certificate_and_follows_the_addresses() {
        let folder = tempfile::tempdir().expect("a folder");
        let https = HttpsConfig { name: "heron".to_owned(), own: None };
        let secure = secure(&https, folder.path()).expect("made");
        let service = service(&secure.name, 8443).expect("a name");
        let host = service.get_hostname().strip_suffix('.').expect("a full name");
        assert!(secure.names.iter().any(|name| name == host), "{host} of {:?}", secure.names);
        assert_eq!(service.get_fullname(), "heron._https._tcp.local.");
        assert_eq!(service.get_port(), 8443);
        assert!(service.is_addr_auto(), "a boat's network gives other addresses than the clubhouse's");
    }
}
