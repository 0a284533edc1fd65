//! HTTPS with the local authority, trusted and not, on a real socket.

use std::{net::SocketAddr, sync::Arc};

use dunlin::config::HttpsConfig;
use dunlin_tests::hub::{Answer, Bay, exchange};
use rustls::{
    ClientConfig, RootCertStore,
    pki_types::{CertificateDer, ServerName},
};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;

async fn secure_bay(folder: tempfile::TempDir) -> Bay {
    Bay::open_in(folder, false, |config| {
        config.https = Some(HttpsConfig { name: "heron".to_owned(), own: None });
    })
    .await
}

async fn get(
    address: SocketAddr,
    name: &str,
    roots: RootCertStore,
    path: &str,
) -> Result<Answer, std::io::Error> {
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .expect("versions")
        .with_root_certificates(roots)
        .with_no_client_auth();
    let stream = TcpStream::connect(address).await?;
    let server = ServerName::try_from(name.to_owned()).expect("a name");
    let mut stream = TlsConnector::from(Arc::new(config)).connect(server, stream).await?;
    let host = format!("{name}:{}", address.port());
    Ok(exchange(&mut stream, &host, "GET", path, &[], "").await)
}

/// The authority as a device fetches it: before it trusts anything.
async fn authority(bay: &Bay) -> CertificateDer<'static> {
    let mut stream = TcpStream::connect(bay.address).await.expect("reachable");
    let mut bytes = Vec::new();
    let request =
        format!("GET /authority.crt HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", bay.address);
    tokio::io::AsyncWriteExt::write_all(&mut stream, request.as_bytes()).await.expect("sent");
    tokio::io::AsyncReadExt::read_to_end(&mut stream, &mut bytes).await.expect("read");
    let end = bytes.windows(4).position(|four| four == b"\r\n\r\n").expect("a head");
    CertificateDer::from(bytes[end + 4..].to_vec())
}

fn trusting(authority: &CertificateDer<'static>) -> RootCertStore {
    let mut roots = RootCertStore::empty();
    roots.add(authority.clone()).expect("an authority");
    roots
}

#[tokio::test(flavor = "multi_thread")]
async fn whoever_trusts_the_authority_gets_in_and_whoever_does_not_does_not() {
    let bay = secure_bay(tempfile::tempdir().expect("a folder")).await;
    let authority = authority(&bay).await;
    for name in ["localhost", "heron.local", "127.0.0.1"] {
        let answer = get(bay.address, name, trusting(&authority), "/api/me").await.expect(name);
        assert_eq!(answer.status, 200, "{name}: {}", answer.body);
        assert_eq!(answer.header("strict-transport-security"), None);
    }
    let stranger = get(bay.address, "localhost", RootCertStore::empty(), "/api/me").await;
    assert!(stranger.expect_err("not trusted").to_string().contains("UnknownIssuer"));
    let other = get(bay.address, "other.local", trusting(&authority), "/api/me").await;
    assert!(other.is_err(), "a name that is not this server's");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_restart_keeps_the_authority() {
    let bay = secure_bay(tempfile::tempdir().expect("a folder")).await;
    let before = authority(&bay).await;
    let Bay { stopper, serving, folder, .. } = bay;
    stopper.stop();
    serving.ended().await.expect("ended in order");
    let bay = secure_bay(folder).await;
    assert_eq!(authority(&bay).await, before);
}

#[tokio::test(flavor = "multi_thread")]
async fn plain_requests_are_sent_on_but_for_what_is_needed_before() {
    let bay = secure_bay(tempfile::tempdir().expect("a folder")).await;
    let answer = bay.raw("GET", "/api/me?a=b", &[], "").await;
    assert_eq!(answer.status, 307);
    assert_eq!(answer.header("location"), Some(format!("https://{}/api/me?a=b", bay.address).as_str()));
    assert_eq!(bay.raw("POST", "/api/join", &[], "{}").await.status, 403);
    let page = bay.raw("GET", "/trust", &[], "").await;
    assert_eq!(page.status, 200);
    assert!(page.body.contains("iPhone") && page.body.contains("Android"));
    assert!(page.body.contains(bay.serving.fingerprint.as_deref().expect("a fingerprint")));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cookie_over_https_is_bound_to_this_host() {
    let bay = secure_bay(tempfile::tempdir().expect("a folder")).await;
    let authority = authority(&bay).await;
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .expect("versions")
        .with_root_certificates(trusting(&authority))
        .with_no_client_auth();
    let stream = TcpStream::connect(bay.address).await.expect("reachable");
    let server = ServerName::try_from("localhost").expect("a name");
    let mut stream = TlsConnector::from(Arc::new(config)).connect(server, stream).await.expect("trusted");
    let host = format!("localhost:{}", bay.address.port());
    let headers = [("Origin", format!("https://{host}")), ("Content-Type", "application/json".to_owned())];
    let body = format!(r#"{{"name":"Ash","code":"{}"}}"#, bay.code.as_deref().expect("a code"));
    let answer = exchange(&mut stream, &host, "POST", "/api/join", &headers, &body).await;
    let cookie = answer.header("set-cookie").expect("a cookie");
    assert!(cookie.starts_with("__Host-dunlin=") && cookie.contains("Secure"), "{}", &cookie[..14]);
}
