//! The gate every request passes: whose it is, whether our own page made it, whether they may.

use std::{net::SocketAddr, sync::Arc};

use axum::{
    extract::{ConnectInfo, Request, State},
    http::{HeaderMap, Method, StatusCode, header},
    middleware::Next,
    response::{IntoResponse, Response},
};
use axum_extra::extract::cookie::{Cookie, CookieJar, SameSite};

use super::{
    code::Secret,
    origin,
    role::{Needs, Principal},
};
use crate::hub::{Hub, wire::AccessRole};

/// The name of the cookie that holds a person's key. Over HTTPS it carries the prefix by which a
/// browser refuses it from anywhere but this very host.
const COOKIE: &str = "dunlin";

fn cookie_name(secure: bool) -> String {
    if secure { format!("__Host-{COOKIE}") } else { COOKIE.to_owned() }
}

/// The cookie that gives a browser its key.
pub fn cookie(secret: &Secret, secure: bool, max_age_s: i64) -> Cookie<'static> {
    Cookie::build((cookie_name(secure), secret.reveal().to_owned()))
        .path("/")
        .http_only(true)
        .secure(secure)
        .same_site(SameSite::Strict)
        .max_age(time::Duration::seconds(max_age_s))
        .build()
}

/// Whose a request is by its cookie.
pub fn who(hub: &Hub, headers: &HeaderMap, address: SocketAddr) -> Principal {
    if hub.about.demo && address.ip().to_canonical().is_loopback() {
        return Principal::Person { key: 0, name: "Demo".to_owned(), role: AccessRole::DutyOfficer };
    }
    let jar = CookieJar::from_headers(headers);
    let cookie = jar.get(&cookie_name(hub.about.secure)).map(Cookie::value);
    let Some(secret) = bearer(headers).or(cookie) else { return Principal::Nobody };
    match hub.keys.who(&Secret::given(secret), hub.now_ms()) {
        person @ Principal::Person { .. } => person,
        // A boat's key is for its socket's first message only.
        Principal::Boat { .. } | Principal::Nobody => Principal::Nobody,
    }
}

/// A key given outright, by a program: it collects metrics or fetches an export.
fn bearer(headers: &HeaderMap) -> Option<&str> {
    headers.get(header::AUTHORIZATION)?.to_str().ok()?.strip_prefix("Bearer ")
}

/// Lets a request through, or says why not. `needs` belongs to the route.
///
/// A refusal is a status and a sentence: 400 for a foreign host name, 401 for nobody, 403 for a
/// role that is too small or a request that our own page did not make.
pub async fn gate(
    State((hub, needs)): State<(Arc<Hub>, Needs)>,
    ConnectInfo(address): ConnectInfo<SocketAddr>,
    mut request: Request,
    next: Next,
) -> Response {
    if !hub.requests.may(address.ip()) {
        let retry = [(header::RETRY_AFTER, "5")];
        return (StatusCode::TOO_MANY_REQUESTS, retry, "too many requests from this address").into_response();
    }
    let Some(host) = origin::host(request.headers(), request.uri()) else {
        return (StatusCode::BAD_REQUEST, "the request names no host").into_response();
    };
    if !origin::is_ours(&host, &hub.about.names) {
        let why = "this host name is not dunlin's; use its address, its .local name, or one from the set-up";
        return (StatusCode::MISDIRECTED_REQUEST, why).into_response();
    }
    let is_socket = request.headers().contains_key(header::SEC_WEBSOCKET_KEY);
    let writes = !matches!(*request.method(), Method::GET | Method::HEAD);
    let same = origin::same_origin(request.headers(), &host);
    // A browser sends the origin with every write and every socket. Whatever sends none is either
    // no browser, and then gives its key outright, or a very old one, and then cannot write: a
    // cookie counts only with an origin.
    let forged = match same {
        Some(true) => false,
        Some(false) => writes || is_socket,
        None => (writes || is_socket) && needs != Needs::BoatKey && bearer(request.headers()).is_none(),
    };
    if forged {
        return (StatusCode::FORBIDDEN, "this request did not come from dunlin's own page").into_response();
    }
    let who = who(&hub, request.headers(), address);
    // A boat's socket says whose it is in its first message; a tablet's is told once it is open.
    let later = matches!(needs, Needs::BoatKey | Needs::Socket(_));
    if !later && !needs.met_by(&who) {
        return match who {
            Principal::Nobody => (StatusCode::UNAUTHORIZED, "join first").into_response(),
            Principal::Person { .. } | Principal::Boat { .. } => {
                (StatusCode::FORBIDDEN, "your role may not do this").into_response()
            }
        };
    }
    request.extensions_mut().insert(who);
    next.run(request).await
}
