//! The pages, embedded in the program, and the base map from disk.

use std::{borrow::Cow, sync::Arc};

use axum::{
    body::Body,
    extract::{Request, State},
    http::{HeaderMap, HeaderValue, StatusCode, Uri, header},
    response::{Html, IntoResponse, Response},
};
use rust_embed::{Embed, EmbeddedFile};
use tower::ServiceExt;
use tower_http::services::ServeFile;

use super::Hub;

/// The client as built by Vite, with a `.br` and a `.gz` beside each file that shrinks. Built in
/// when the program is; read from disk in debug builds, so that a rebuilt client needs no new server.
#[derive(Embed)]
#[folder = "../../client/dist"]
#[allow_missing = true]
struct Client;

const NOT_BUILT: &str = "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>dunlin</title>
<h1>The pages are not built</h1>
<p>The server runs and watches, but its pages were not built into it. Run <code>cargo xtask demo</code>,
or in the folder <code>client</code>: <code>npm ci</code> and <code>npm run build</code>, and start dunlin again.</p>
</html>";

/// Files whose name carries a hash of their content never change.
const FOR_EVER: &str = "public, max-age=31536000, immutable";

/// All others are asked for again each time; an unchanged one is answered without its content.
const ASK_AGAIN: &str = "no-cache";

/// Any path that is no route: a file of the client, or the client itself for its own pages.
pub async fn page(uri: Uri, headers: HeaderMap) -> Response {
    let path = uri.path().trim_start_matches('/');
    let page = match path {
        "" => "index.html",
        "phone" => "phone.html",
        other => other,
    };
    if let Some(answer) = file(page, &headers) {
        return answer;
    }
    // A path with a dot names a file that is not there; one without is a page of the client.
    if path.contains('.') || path.starts_with("api/") {
        return (StatusCode::NOT_FOUND, "there is no such page").into_response();
    }
    file("index.html", &headers).unwrap_or_else(|| Html(NOT_BUILT).into_response())
}

fn file(path: &str, headers: &HeaderMap) -> Option<Response> {
    let plain = Client::get(path)?;
    let (found, encoding) = packed(path, headers).unwrap_or((plain, None));
    let etag = etag(&found, encoding);
    let mut answer = if headers.get(header::IF_NONE_MATCH).is_some_and(|known| *known == etag) {
        StatusCode::NOT_MODIFIED.into_response()
    } else {
        match found.data {
            Cow::Borrowed(bytes) => Body::from(bytes).into_response(),
            Cow::Owned(bytes) => Body::from(bytes).into_response(),
        }
    };
    let cache = if path.starts_with("assets/") { FOR_EVER } else { ASK_AGAIN };
    let set = answer.headers_mut();
    set.insert(header::CONTENT_TYPE, HeaderValue::from_static(mime(path)));
    set.insert(header::CACHE_CONTROL, HeaderValue::from_static(cache));
    set.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
    set.insert(header::ETAG, etag);
    if let Some(encoding) = encoding {
        set.insert(header::CONTENT_ENCODING, HeaderValue::from_static(encoding));
    }
    Some(answer)
}

/// The file as packed at build time, if the browser takes it so.
fn packed(path: &str, headers: &HeaderMap) -> Option<(EmbeddedFile, Option<&'static str>)> {
    let accepted = headers.get(header::ACCEPT_ENCODING)?.to_str().ok()?;
    let takes = |encoding: &str| {
        accepted.split(',').any(|one| {
            let mut parts = one.trim().split(';');
            parts.next() == Some(encoding) && parts.next().map(str::trim) != Some("q=0")
        })
    };
    [("br", "br"), ("gzip", "gz")]
        .into_iter()
        .filter(|(encoding, _)| takes(encoding))
        .find_map(|(encoding, ending)| Some((Client::get(&format!("{path}.{ending}"))?, Some(encoding))))
}

fn etag(file: &EmbeddedFile, encoding: Option<&str>) -> HeaderValue {
    let hash = file.metadata.sha256_hash();
    let hex: String = hash.iter().take(12).map(|byte| format!("{byte:02x}")).collect();
    HeaderValue::from_str(&format!("\"{hex}{}\"", encoding.unwrap_or_default()))
        .unwrap_or(HeaderValue::from_static("\"\""))
}

fn mime(path: &str) -> &'static str {
    match path.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("json") => "application/json",
        Some("webmanifest") => "application/manifest+json",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("ico") => "image/x-icon",
        Some("woff2") => "font/woff2",
        Some("txt") => "text/plain; charset=utf-8",
        Some("mp3") => "audio/mpeg",
        _ => "application/octet-stream",
    }
}

/// `GET /basemap.pmtiles`: the local base map, in the ranges that the client asks for.
pub async fn base_map(State(hub): State<Arc<Hub>>, request: Request) -> Response {
    let Some(path) = &hub.about.base_map else {
        return (StatusCode::NOT_FOUND, "no base map is set up").into_response();
    };
    match ServeFile::new(path).oneshot(request).await {
        Ok(answer) => answer.map(Body::new),
        Err(never) => match never {},
    }
}
