//! How the server does: as JSON for its page, and as OpenMetrics text for collectors.

use std::sync::Arc;

use axum::{Json, extract::State, http::header, response::IntoResponse};

use dunlin_engine::view::AssignedView;

use super::{Hub, api, feed};
use crate::metrics;

/// `GET /api/health`.
pub async fn health(State(hub): State<Arc<Hub>>) -> Json<api::Health> {
    let picture = hub.picture();
    let (tablets, phones) = hub.sockets.count();
    let feeds = picture.feeds.iter().map(|feed| api::FeedState {
        name: feed.name.clone(),
        kind: feed.kind.to_owned(),
        up: feed.up,
        trouble: feed.trouble.clone(),
        connections: feed.connections,
        bytes: feed.bytes as f64,
        lines: feed.lines as f64,
        refused: feed
            .refused
            .iter()
            .map(|(cause, count)| api::Refused { cause: (*cause).to_owned(), count: *count as f64 })
            .collect(),
        latest_refusal: feed.latest_refusal.as_ref().map(|(_, text)| text.clone()),
        reconnects: feed.reconnects as f64,
        heard_ms: feed.heard.map(|at| at.0),
    });
    let of_people = |given: &&AssignedView| !feed::is_phone(&given.source);
    let assigned = picture.assigned.iter().filter(of_people).map(|given| api::Assigned {
        source: given.source.clone(),
        boat: given.boat.map(|boat| u32::from(boat.0)),
        by_file: given.by_file.map(|boat| u32::from(boat.0)),
    });
    Json(api::Health {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        now_ms: hub.now_ms(),
        watching_since_ms: hub.about.watching_since_ms,
        pictured_ms: picture.at.0,
        unrecorded_turns: picture.turn.saturating_sub(picture.recorded) as f64,
        tablets: u32::try_from(tablets).unwrap_or(u32::MAX),
        phones: u32::try_from(phones).unwrap_or(u32::MAX),
        feeds: feeds.collect(),
        assigned: assigned.collect(),
    })
}

/// `GET /metrics`, in the OpenMetrics text format 1.0: no person, only counts.
pub async fn metrics(State(hub): State<Arc<Hub>>) -> impl IntoResponse {
    let (tablets, phones) = hub.sockets.count();
    let picture = hub.picture();
    let age_s = (hub.now_ms() - picture.at.0) as f64 / 1000.0;
    let own = format!(
        "# TYPE dunlin_tablets gauge\n# HELP dunlin_tablets Tablets connected.\ndunlin_tablets {tablets}\n\
         # TYPE dunlin_phones gauge\n# HELP dunlin_phones Phones connected.\ndunlin_phones {phones}\n\
         # TYPE dunlin_picture_age_seconds gauge\n# UNIT dunlin_picture_age_seconds seconds\n\
         # HELP dunlin_picture_age_seconds Age of what the watch last showed.\n\
         dunlin_picture_age_seconds {age_s}\n"
    );
    ([(header::CONTENT_TYPE, metrics::MEDIA_TYPE)], own + &metrics::text(&picture))
}
