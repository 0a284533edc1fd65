//! TLS for the pages, and the plain port beside it: one listener answers both, so that a device
//! that does not trust the authority yet can fetch it, and an address typed without `https` leads
//! somewhere.

use std::{
    collections::{BTreeSet, HashMap},
    future::Future,
    io,
    net::IpAddr,
    pin::Pin,
    sync::{Arc, Mutex, PoisonError},
    task::{Context, Poll},
    time::Duration,
};

use axum::{
    extract::{OriginalUri, Request},
    http::{HeaderMap, StatusCode, header},
    middleware::Next,
    response::{IntoResponse, Response},
};
use axum_server::{
    accept::Accept,
    tls_rustls::{RustlsAcceptor, RustlsConfig},
};
use rustls::ServerConfig;
use tokio::net::TcpStream;
use tokio_util::either::Either;
use tower::Service;
use tracing::warn;

use super::{
    authority::{Authority, AuthorityError, Identity},
    origin,
};
use crate::{
    hub::limits::{CONNECTIONS_MAX, CONNECTIONS_PER_ADDRESS},
    stop::Stop,
};

/// How long a connection may take to show what it is, and to shake hands.
const HANDSHAKE_WITHIN: Duration = Duration::from_secs(10);

/// The first byte of every TLS connection: a handshake record (RFC 8446 5.1).
const TLS_HANDSHAKE: u8 = 0x16;

/// How often this computer's addresses are compared with those in its certificate.
const LOOK_EVERY: Duration = Duration::from_secs(60);

/// How often the certificate is renewed in any case: a third of its life.
const RENEW_EVERY: Duration = Duration::from_secs(30 * 86_400);

/// TLS as configured for an identity: 1.2 and 1.3, by `ring`.
///
/// # Errors
/// When certificate and key do not fit together.
pub fn config(identity: Identity) -> Result<Arc<ServerConfig>, AuthorityError> {
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let mut config = ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()?
        .with_no_client_auth()
        .with_single_cert(identity.chain, identity.key)?;
    config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
    Ok(Arc::new(config))
}

/// This computer's own addresses.
pub fn addresses() -> BTreeSet<IpAddr> {
    let found = if_addrs::get_if_addrs().unwrap_or_default();
    found.into_iter().map(|interface| interface.ip()).collect()
}

/// Keeps the certificate in step with this computer's addresses, and fresh.
pub async fn renew(
    authority: Arc<Authority>,
    names: Vec<String>,
    config_in_use: RustlsConfig,
    mut stop: Stop,
) {
    let mut known = addresses();
    let mut made = tokio::time::Instant::now();
    loop {
        tokio::select! {
            () = stop.wanted() => return,
            () = tokio::time::sleep(LOOK_EVERY) => (),
        }
        let now = addresses();
        if now == known && made.elapsed() < RENEW_EVERY {
            continue;
        }
        match authority.identity(&names, &now).and_then(config) {
            Ok(fresh) => {
                config_in_use.reload_from_config(fresh);
                (known, made) = (now, tokio::time::Instant::now());
            }
            Err(error) => warn!(%error, "The certificate could not be renewed; the old one is in use."),
        }
    }
}

/// The door: counts connections, and takes TLS and plain ones on one port.
#[derive(Clone, Debug)]
pub struct Door {
    /// `None`: plain connections only.
    tls: Option<RustlsAcceptor>,
    inside: Arc<Mutex<HashMap<IpAddr, usize>>>,
}

/// One connection inside; counted out when dropped.
#[derive(Debug)]
pub struct Inside {
    address: IpAddr,
    inside: Arc<Mutex<HashMap<IpAddr, usize>>>,
}

impl Drop for Inside {
    fn drop(&mut self) {
        let mut inside = self.inside.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(from_here) = inside.get_mut(&self.address) {
            *from_here -= 1;
            if *from_here == 0 {
                inside.remove(&self.address);
            }
        }
    }
}

impl Door {
    /// A door; with TLS, its configuration may be replaced while it is in use.
    pub fn new(config: Option<RustlsConfig>) -> Door {
        let tls = config.map(|config| RustlsAcceptor::new(config).handshake_timeout(HANDSHAKE_WITHIN));
        Door { tls, inside: Arc::default() }
    }

    /// Counts a connection in; `None` when there are too many from there, or in all.
    pub fn count_in(&self, address: IpAddr) -> Option<Inside> {
        let address = address.to_canonical();
        let mut inside = self.inside.lock().unwrap_or_else(PoisonError::into_inner);
        if inside.values().sum::<usize>() >= CONNECTIONS_MAX {
            return None;
        }
        let from_here = inside.entry(address).or_default();
        if *from_here >= CONNECTIONS_PER_ADDRESS && !address.is_loopback() {
            return None;
        }
        *from_here += 1;
        Some(Inside { address, inside: Arc::clone(&self.inside) })
    }
}

type TlsStream = <RustlsAcceptor as Accept<TcpStream, ()>>::Stream;
type Accepted<S> = (Either<TlsStream, TcpStream>, Marked<S>);

impl<S: Send + 'static> Accept<TcpStream, S> for Door {
    type Stream = Either<TlsStream, TcpStream>;
    type Service = Marked<S>;
    type Future = Pin<Box<dyn Future<Output = io::Result<Accepted<S>>> + Send>>;

    fn accept(&self, stream: TcpStream, service: S) -> Self::Future {
        let counted = stream.peer_addr().map(|address| self.count_in(address.ip()));
        let tls = self.tls.clone();
        Box::pin(async move {
            let inside = Arc::new(counted?.ok_or(io::ErrorKind::ConnectionRefused)?);
            // Small messages must not wait for each other.
            stream.set_nodelay(true)?;
            let Some(tls) = tls else {
                let marked = Marked { inner: service, is_plain: false, _inside: inside };
                return Ok((Either::Right(stream), marked));
            };
            let mut first = [0_u8; 1];
            let read = tokio::time::timeout(HANDSHAKE_WITHIN, stream.peek(&mut first)).await;
            if read.map_err(|_| io::ErrorKind::TimedOut)?? == 0 {
                return Err(io::ErrorKind::UnexpectedEof.into());
            }
            if first[0] != TLS_HANDSHAKE {
                let marked = Marked { inner: service, is_plain: true, _inside: inside };
                return Ok((Either::Right(stream), marked));
            }
            let (stream, _) = tls.accept(stream, ()).await?;
            Ok((Either::Left(stream), Marked { inner: service, is_plain: false, _inside: inside }))
        })
    }
}

/// Told with each request that came without TLS to a port that has it.
#[derive(Clone, Copy, Debug)]
pub struct Plain;

/// A service that marks requests of plain connections.
#[derive(Clone, Debug)]
pub struct Marked<S> {
    inner: S,
    is_plain: bool,
    _inside: Arc<Inside>,
}

impl<S, B> Service<Request<B>> for Marked<S>
where
    S: Service<Request<B>>,
{
    type Response = S::Response;
    type Error = S::Error;
    type Future = S::Future;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, mut request: Request<B>) -> S::Future {
        if self.is_plain {
            request.extensions_mut().insert(Plain);
        }
        self.inner.call(request)
    }
}

/// Sends plain requests on to HTTPS, but for the page that explains how to trust us and the
/// certificate itself: those must be had before.
pub async fn send_on(
    OriginalUri(uri): OriginalUri,
    headers: HeaderMap,
    request: Request,
    next: Next,
) -> Response {
    if request.extensions().get::<Plain>().is_none() || matches!(uri.path(), "/trust" | "/authority.crt") {
        return next.run(request).await;
    }
    if !request.method().is_safe() {
        return (StatusCode::FORBIDDEN, "use https").into_response();
    }
    let host = origin::host(&headers, &uri).filter(|host| origin::is_ours(host, &[]));
    let Some(host) = host else {
        return (StatusCode::MISDIRECTED_REQUEST, "use https").into_response();
    };
    let path = uri.path_and_query().map_or("/", |path| path.as_str());
    let to = format!("https://{host}{path}");
    // Not permanent: a browser would remember it after the centre has changed its mind.
    (StatusCode::TEMPORARY_REDIRECT, [(header::LOCATION, to)]).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_address_cannot_fill_the_door_and_places_are_given_back() {
        let door = Door::new(None);
        let (one, other) = (IpAddr::from([192, 168, 1, 7]), IpAddr::from([192, 168, 1, 8]));
        let inside: Vec<Inside> =
            (0..CONNECTIONS_PER_ADDRESS).map(|_| door.count_in(one).expect("a place")).collect();
        assert!(door.count_in(one).is_none());
        assert!(door.count_in(other).is_some());
        drop(inside);
        assert!(door.count_in(one).is_some());
    }

    #[test]
    fn there_is_an_end_to_all_connections_together() {
        let door = Door::new(None);
        let loopback = IpAddr::from([127, 0, 0, 1]);
        let inside: Vec<Inside> =
            (0..CONNECTIONS_MAX).map(|_| door.count_in(loopback).expect("a place")).collect();
        assert!(door.count_in(IpAddr::from([192, 168, 1, 7])).is_none());
        drop(inside);
    }
}
