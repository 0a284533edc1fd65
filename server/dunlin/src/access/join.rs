//! Joining and leaving, keys, PINs and invitations: the routes.

use std::{net::SocketAddr, sync::Arc};

use axum::{
    Json,
    extract::{ConnectInfo, Extension, Path, State},
    http::{HeaderMap, StatusCode, Uri, header},
    response::{IntoResponse, Response},
};
use axum_extra::extract::cookie::{Cookie, CookieJar};
use fast_qr::{QRBuilder, convert::svg::SvgBuilder};
use tracing::{info, warn};

use super::{
    code::Secret,
    gate::cookie,
    keys::PERSON_KEY_MS,
    origin,
    role::{Principal, role_word},
};
use crate::{
    day::change::text,
    hub::{
        Hub,
        api::{BoatKey, Invite, Join, KeyInfo, Link, Me, SetPin},
        wire::{AccessRole, You},
    },
};

/// Letters of the name that actions are signed with.
const NAME_MAX: usize = 40;

fn refused(status: StatusCode, why: impl Into<String>) -> Response {
    (status, why.into()).into_response()
}

fn failed(error: impl std::error::Error) -> Response {
    warn!(%error, "A request about keys failed.");
    refused(StatusCode::INTERNAL_SERVER_ERROR, error.to_string())
}

fn signed(who: &Principal) -> String {
    match who {
        Principal::Person { name, .. } => name.clone(),
        Principal::Boat { .. } | Principal::Nobody => String::new(),
    }
}

/// `GET /api/me`.
pub async fn me(State(hub): State<Arc<Hub>>, Extension(who): Extension<Principal>) -> Json<Me> {
    let you = match who {
        Principal::Person { name, role, .. } => Some(You { name, role }),
        Principal::Boat { .. } | Principal::Nobody => None,
    };
    let officer = role_word(AccessRole::DutyOfficer);
    Json(Me {
        you,
        centre: hub.about.centre.clone(),
        first_start: !hub.about.demo && !hub.keys.list().iter().any(|key| key.role == officer),
        demo: hub.about.demo,
        pins: hub.ways.roles_with_pin(),
    })
}

/// `POST /api/join`.
pub async fn join(
    State(hub): State<Arc<Hub>>,
    ConnectInfo(address): ConnectInfo<SocketAddr>,
    jar: CookieJar,
    Json(asked): Json<Join>,
) -> Response {
    let name = match text(&asked.name, "your name") {
        Ok(name) if name.chars().count() <= NAME_MAX && !name.contains('\n') => name,
        Ok(_) => return refused(StatusCode::UNPROCESSABLE_ENTITY, "a name is at most 40 letters"),
        Err(why) => return refused(StatusCode::UNPROCESSABLE_ENTITY, why),
    };
    let now_ms = hub.now_ms();
    if let Err(seconds) = hub.lockout.try_from(address.ip(), now_ms) {
        warn!(address = %address.ip(), "Too many wrong codes or PINs; locked out.");
        let why = format!("too many wrong tries; wait {} minutes", seconds / 60 + 1);
        let retry = [(header::RETRY_AFTER, seconds.to_string())];
        return (StatusCode::TOO_MANY_REQUESTS, retry, why).into_response();
    }
    let role = match (asked.code, asked.pin) {
        (Some(code), None) => match hub.ways.by_code(&Secret::given(&code), now_ms).await {
            Ok(role) => role,
            Err(error) => return failed(error),
        },
        (None, Some(pin)) => hub.ways.by_pin(pin).await,
        (Some(_), Some(_)) | (None, None) => {
            return refused(StatusCode::UNPROCESSABLE_ENTITY, "give a code or a PIN");
        }
    };
    let Some(role) = role else {
        return refused(StatusCode::UNAUTHORIZED, "this code or PIN is not known, or was used up");
    };
    hub.lockout.right(address.ip());
    match hub.keys.make_person(role, &name, &name, now_ms).await {
        Ok((secret, key)) => {
            info!(key = key.id, role = role_word(role), "Somebody joined.");
            let jar = jar.add(cookie(&secret, hub.about.secure, PERSON_KEY_MS / 1000));
            (jar, Json(You { name, role })).into_response()
        }
        Err(error) => failed(error),
    }
}

/// `POST /api/leave`: this browser's key ends.
pub async fn leave(
    State(hub): State<Arc<Hub>>,
    Extension(who): Extension<Principal>,
    jar: CookieJar,
) -> Response {
    if let Principal::Person { key, .. } = who
        && let Err(error) = hub.keys.revoke(key, hub.now_ms()).await
    {
        return failed(error);
    }
    let gone: Cookie = cookie(&Secret::given(""), hub.about.secure, 0);
    (jar.add(gone), StatusCode::NO_CONTENT).into_response()
}

/// `GET /api/keys`.
pub async fn keys(State(hub): State<Arc<Hub>>, Extension(who): Extension<Principal>) -> Json<Vec<KeyInfo>> {
    let own = match who {
        Principal::Person { key, .. } => Some(key),
        Principal::Boat { .. } | Principal::Nobody => None,
    };
    let keys = hub.keys.list().into_iter().map(|key| KeyInfo {
        id: key.id,
        role: key.role,
        name: key.name,
        made_ms: key.made_ms,
        made_by: key.made_by,
        ends_ms: key.ends_ms,
        yours: own == Some(key.id),
    });
    Json(keys.collect())
}

/// `DELETE /api/keys/{id}`.
pub async fn revoke(State(hub): State<Arc<Hub>>, Path(id): Path<i64>) -> Response {
    match hub.keys.revoke(id, hub.now_ms()).await {
        Ok(true) => {
            info!(key = id, "A key was revoked.");
            StatusCode::NO_CONTENT.into_response()
        }
        Ok(false) => refused(StatusCode::NOT_FOUND, "there is no such key"),
        Err(error) => failed(error),
    }
}

/// `PUT /api/pins`.
pub async fn set_pin(State(hub): State<Arc<Hub>>, Json(asked): Json<SetPin>) -> Response {
    match hub.ways.set_pin(asked.role, asked.pin).await {
        Ok(()) => StatusCode::NO_CONTENT.into_response(),
        Err(super::pins::PinError::Unfit(why)) => refused(StatusCode::UNPROCESSABLE_ENTITY, why),
        Err(error) => failed(error),
    }
}

/// `POST /api/invitations`.
pub async fn invite(
    State(hub): State<Arc<Hub>>,
    Extension(who): Extension<Principal>,
    headers: HeaderMap,
    uri: Uri,
    Json(asked): Json<Invite>,
) -> Response {
    if !(1..=720).contains(&asked.hours) {
        return refused(StatusCode::UNPROCESSABLE_ENTITY, "hours must be from 1 to 720");
    }
    let now_ms = hub.now_ms();
    let ends_ms = now_ms + i64::from(asked.hours) * 3_600_000;
    match hub.ways.invite(asked.role, asked.once, &signed(&who), now_ms, Some(ends_ms)).await {
        Ok(secret) => link(&hub, &headers, &uri, "/#join=", &secret),
        Err(error) => failed(error),
    }
}

/// `POST /api/boat-keys`: a new key for a boat, as a link for the phone on board.
pub async fn boat_key(
    State(hub): State<Arc<Hub>>,
    Extension(who): Extension<Principal>,
    headers: HeaderMap,
    uri: Uri,
    Json(asked): Json<BoatKey>,
) -> Response {
    if !hub.picture().setup.fleet.iter().any(|boat| boat.id == asked.boat) {
        return refused(StatusCode::UNPROCESSABLE_ENTITY, "this boat is not in the fleet");
    }
    match hub.keys.make_boat(&asked.boat, &signed(&who), hub.now_ms()).await {
        Ok((secret, key)) => {
            info!(key = key.id, boat = asked.boat, "A boat's key was made.");
            link(&hub, &headers, &uri, "/phone.html#key=", &secret)
        }
        Err(error) => failed(error),
    }
}

/// A link to a page of this server with the secret behind `#`, which a browser keeps to itself, and
/// the same as a QR code.
fn link(hub: &Hub, headers: &HeaderMap, uri: &Uri, page: &str, secret: &Secret) -> Response {
    let host = origin::host(headers, uri).unwrap_or_else(|| "dunlin.local".to_owned());
    let scheme = if hub.about.secure { "https" } else { "http" };
    let url = format!("{scheme}://{host}{page}{}", secret.reveal());
    let qr_svg = match QRBuilder::new(url.as_str()).build() {
        Ok(qr) => SvgBuilder::default().to_str(&qr),
        Err(_) => return refused(StatusCode::INTERNAL_SERVER_ERROR, "the address is too long for a QR code"),
    };
    let answer = Link { url, qr_svg, code: secret.reveal().to_owned() };
    ([(header::CACHE_CONTROL, "no-store")], Json(answer)).into_response()
}
