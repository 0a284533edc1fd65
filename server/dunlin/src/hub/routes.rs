//! Every route, what it asks for, and what goes around all of them.

use std::{convert::Infallible, sync::Arc};

use axum::{
    BoxError, Json, Router,
    error_handling::HandleErrorLayer,
    extract::{DefaultBodyLimit, Extension, State},
    http::{HeaderName, HeaderValue, StatusCode, header},
    middleware,
    response::{IntoResponse, Response},
    routing::{MethodRouter, delete, get, post, put},
};
use tower::{ServiceBuilder, timeout::TimeoutLayer};
use tower_http::{compression::CompressionLayer, set_header::SetResponseHeaderLayer};

use super::{
    Hub, assets, exports, feed, health,
    limits::{BODY_MAX, REQUEST_TIMEOUT, SETUP_BODY_MAX},
    live, setup,
    wire::{AccessRole, Snapshot, You},
};
use crate::access::{
    gate::gate,
    join,
    role::{Needs, Principal},
    tls, trust,
};

/// One route.
pub struct Route {
    /// `GET`, `POST`, `PUT`, `DELETE`.
    pub method: &'static str,
    /// As axum writes it.
    pub path: &'static str,
    /// Who may.
    pub needs: Needs,
    /// Bytes of the body it takes.
    body_max: usize,
    serve: MethodRouter<Arc<Hub>>,
}

const ANYONE: Needs = Needs::Nothing;
const VIEWER: Needs = Needs::Role(AccessRole::Viewer);
const INSTRUCTOR: Needs = Needs::Role(AccessRole::Instructor);
const OFFICER: Needs = Needs::Role(AccessRole::DutyOfficer);

/// All of them. There is no other: the router is built from this list, and so is the table of who
/// may do what in `docs/authorisation.md`.
pub fn routes() -> Vec<Route> {
    let route = |method, path, needs, serve| Route { method, path, needs, body_max: BODY_MAX, serve };
    let large = |route: Route| Route { body_max: SETUP_BODY_MAX, ..route };
    vec![
        route("GET", "/live", Needs::Socket(AccessRole::Viewer), get(live::live)),
        route("GET", "/feed", Needs::BoatKey, get(feed::feed)),
        route("GET", "/api/snapshot", VIEWER, get(snapshot)),
        route("GET", "/api/me", ANYONE, get(join::me)),
        route("POST", "/api/join", ANYONE, post(join::join)),
        route("POST", "/api/leave", VIEWER, post(join::leave)),
        route("GET", "/api/keys", OFFICER, get(join::keys)),
        route("DELETE", "/api/keys/{id}", OFFICER, delete(join::revoke)),
        route("PUT", "/api/pins", OFFICER, put(join::set_pin)),
        route("POST", "/api/invitations", OFFICER, post(join::invite)),
        route("POST", "/api/boat-keys", OFFICER, post(join::boat_key)),
        route("GET", "/api/site", VIEWER, get(setup::get_site)),
        large(route("PUT", "/api/site", OFFICER, put(setup::put_site))),
        route("GET", "/api/fleet", OFFICER, get(setup::get_fleet)),
        large(route("PUT", "/api/fleet", OFFICER, put(setup::put_fleet))),
        route("GET", "/api/versions/{kind}", OFFICER, get(setup::versions)),
        route("POST", "/api/versions/{kind}/{id}", OFFICER, post(setup::restore)),
        route("GET", "/api/health", VIEWER, get(health::health)),
        route("GET", "/api/days", INSTRUCTOR, get(exports::days)),
        route("GET", "/api/export/{day}/{file}", INSTRUCTOR, get(exports::export)),
        route("GET", "/api/incident/{alert}", INSTRUCTOR, get(exports::incident)),
        route("GET", "/metrics", VIEWER, get(health::metrics)),
        route("GET", "/trust", ANYONE, get(trust::page)),
        route("GET", "/authority.crt", ANYONE, get(trust::certificate)),
        route("GET", "/basemap.pmtiles", VIEWER, get(assets::base_map)),
    ]
}

/// The whole service.
pub fn router(hub: &Arc<Hub>) -> Router {
    let mut router = Router::new();
    for route in routes() {
        let through = middleware::from_fn_with_state((Arc::clone(hub), route.needs), gate);
        let serve = route.serve.layer(DefaultBodyLimit::max(route.body_max)).layer(through);
        // Only what is asked for and told as a whole is packed: never ranges of the base map.
        let serve =
            if route.path.starts_with("/api/") { serve.layer(CompressionLayer::new()) } else { serve };
        router = router.route(route.path, serve);
    }
    let pages: MethodRouter = get(assets::page)
        .layer::<_, Infallible>(middleware::from_fn_with_state((Arc::clone(hub), ANYONE), gate))
        .layer::<_, Infallible>(CompressionLayer::new());
    let limits = ServiceBuilder::new()
        .layer(HandleErrorLayer::new(too_slow))
        .layer(TimeoutLayer::new(REQUEST_TIMEOUT));
    router
        .fallback_service(pages)
        .layer(limits)
        .layer(ServiceBuilder::new().layer(set(header::CONTENT_SECURITY_POLICY, CSP)))
        .layer(set(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(set(header::REFERRER_POLICY, "no-referrer"))
        .layer(set(header::X_FRAME_OPTIONS, "DENY"))
        .layer(set(HeaderName::from_static("cross-origin-opener-policy"), "same-origin"))
        .layer(set(HeaderName::from_static("cross-origin-resource-policy"), "same-origin"))
        .layer(set(HeaderName::from_static("permissions-policy"), PERMISSIONS))
        .layer(middleware::from_fn(tls::send_on))
        .with_state(Arc::clone(hub))
}

/// No code and no style but our own files; images may also be drawn in the page itself. Style
/// attributes are left open, since the chart library sets them.
const CSP: &str = "default-src 'self'; script-src 'self'; style-src 'self'; style-src-attr 'unsafe-inline'; \
    img-src 'self' data: blob:; connect-src 'self'; worker-src 'self'; manifest-src 'self'; \
    object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/// What our pages use of the device: a phone's position and motion, and a screen that stays on.
const PERMISSIONS: &str = "geolocation=(self), accelerometer=(self), gyroscope=(self), magnetometer=(self), \
    screen-wake-lock=(self), microphone=(), camera=(), payment=(), usb=()";

fn set(name: HeaderName, value: &'static str) -> SetResponseHeaderLayer<HeaderValue> {
    SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value))
}

async fn too_slow(_: BoxError) -> Response {
    (StatusCode::REQUEST_TIMEOUT, "the request took too long").into_response()
}

/// `GET /api/snapshot`: what the live socket begins with, packed.
async fn snapshot(
    State(hub): State<Arc<Hub>>,
    Extension(who): Extension<Principal>,
) -> Result<Json<Snapshot>, StatusCode> {
    let Principal::Person { name, role, .. } = who else { return Err(StatusCode::UNAUTHORIZED) };
    let (snapshot, _, _) = hub.join(You { name, role });
    Ok(Json(snapshot))
}
