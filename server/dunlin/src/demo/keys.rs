//! A boat's key, asked of the server as a duty officer's tablet asks for it.

use std::{net::SocketAddr, time::Duration};

use anyhow::{Context as _, bail};
use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::TcpStream,
    time::timeout,
};

/// Bytes of an answer that are read; a link with its QR code takes some 10 kB.
const ANSWER_MAX: u64 = 256 * 1024;

/// How long the server may take.
const LONG: Duration = Duration::from_secs(10);

/// A new key for the boat.
///
/// # Errors
/// When the server cannot be reached or does not give one.
pub(super) async fn boat_key(server: SocketAddr, boat: &str) -> anyhow::Result<String> {
    let body = serde_json::json!({ "boat": boat }).to_string();
    let request = format!(
        "POST /api/boat-keys HTTP/1.1\r\nHost: {server}\r\nOrigin: http://{server}\r\n\
         Content-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
        body.len()
    );
    let answer = timeout(LONG, ask(server, &request)).await.context("no answer")??;
    let Some((head, body)) = answer.split_once("\r\n\r\n") else { bail!("no answer") };
    if !head.starts_with("HTTP/1.1 200") {
        bail!("no key for boat {boat}: {}", head.lines().next().unwrap_or_default());
    }
    let link: serde_json::Value = serde_json::from_str(body).context("the answer is not JSON")?;
    match link.get("code").and_then(serde_json::Value::as_str) {
        Some(code) => Ok(code.to_owned()),
        None => bail!("the answer holds no key"),
    }
}

async fn ask(server: SocketAddr, request: &str) -> anyhow::Result<String> {
    let mut stream = TcpStream::connect(server).await?;
    stream.write_all(request.as_bytes()).await?;
    let mut answer = String::new();
    stream.take(ANSWER_MAX).read_to_string(&mut answer).await?;
    Ok(answer)
}
