//! TLS for the pages, and the plain port beside it: one listener answers both, so that a device
//! that does not trust the authority yet can fetch it, and an address typed without `https` leads
//! somewhere.

use std::{
    collections::BTreeSet,
    future::Future,
    io,
    net::IpAddr,
    pin::Pin,
    sync::Arc,
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
use crate::stop::Stop;

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

/// Takes connections of both kinds.
#[derive(Clone, Debug)]
pub struct Both {
    tls: RustlsAcceptor,
}

impl Both {
    /// TLS with a configuration that may be replaced while it is in use.
    pub fn new(config: RustlsConfig) -> Both {
        Both { tls: RustlsAcceptor::new(config).handshake_timeout(HANDSHAKE_WITHIN) }
    }
}

type TlsStream = <RustlsAcceptor as Accept<TcpStream, ()>>::Stream;
type Accepted<S> = (Either<TlsStream, TcpStream>, Marked<S>);

impl<S: Send + 'static> Accept<TcpStream, S> for Both {
    type Stream = Either<TlsStream, TcpStream>;
    type Service = Marked<S>;
    type Future = Pin<Box<dyn Future<Output = io::Result<Accepted<S>>> + Send>>;

    fn accept(&self, stream: TcpStream, service: S) -> Self::Future {
        let tls = self.tls.clone();
        Box::pin(async move {
            let mut first = [0_u8; 1];
            let read = tokio::time::timeout(HANDSHAKE_WITHIN, stream.peek(&mut first)).await;
            if read.map_err(|_| io::ErrorKind::TimedOut)?? == 0 {
                return Err(io::ErrorKind::UnexpectedEof.into());
            }
            if first[0] != TLS_HANDSHAKE {
                return Ok((Either::Right(stream), Marked { inner: service, is_plain: true }));
            }
            let (stream, ()) = {
                let (stream, _) = tls.accept(stream, ()).await?;
                (stream, ())
            };
            Ok((Either::Left(stream), Marked { inner: service, is_plain: false }))
        })
    }
}

/// Told with each request that came without TLS.
#[derive(Clone, Copy, Debug)]
pub struct Plain;

/// A service that marks requests of plain connections.
#[derive(Clone, Debug)]
pub struct Marked<S> {
    inner: S,
    is_plain: bool,
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
