//! How the server does: as JSON for its page, and as OpenMetrics text for collectors.

use std::{fmt::Write as _, sync::Arc};

use axum::{Json, extract::State, http::header, response::IntoResponse};

use super::{Hub, api};

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
    Json(api::Health {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        now_ms: hub.now_ms(),
        watching_since_ms: hub.about.watching_since_ms,
        pictured_ms: picture.at.0,
        unrecorded_turns: picture.turn.saturating_sub(picture.recorded) as f64,
        tablets: u32::try_from(tablets).unwrap_or(u32::MAX),
        phones: u32::try_from(phones).unwrap_or(u32::MAX),
        feeds: feeds.collect(),
    })
}

/// `GET /metrics`, in the OpenMetrics text format 1.0: no boat, no person, only counts.
pub async fn metrics(State(hub): State<Arc<Hub>>) -> impl IntoResponse {
    let kind = "application/openmetrics-text; version=1.0.0; charset=utf-8";
    ([(header::CONTENT_TYPE, kind)], text(&hub))
}

/// One family of metrics: its head, then a line a feed.
struct Page(String);

impl Page {
    fn family(&mut self, name: &str, kind: &str, unit: &str, help: &str) {
        // Writing to a string cannot fail.
        let page = &mut self.0;
        let unit = if unit.is_empty() { String::new() } else { format!("# UNIT {name} {unit}\n") };
        let _infallible = write!(page, "# TYPE {name} {kind}\n{unit}# HELP {name} {help}\n");
    }

    fn sample(&mut self, name: &str, labels: &[(&str, &str)], value: f64) {
        let labels: Vec<String> =
            labels.iter().map(|(key, value)| format!("{key}=\"{}\"", escape(value))).collect();
        let labels = if labels.is_empty() { String::new() } else { format!("{{{}}}", labels.join(",")) };
        let _infallible = writeln!(self.0, "{name}{labels} {value}");
    }
}

/// A label's value: backslash, quote and line feed are escaped (OpenMetrics 1.0, "escaped string").
fn escape(value: &str) -> String {
    value.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n")
}

fn text(hub: &Hub) -> String {
    let picture = hub.picture();
    let (tablets, phones) = hub.sockets.count();
    let mut page = Page(String::new());
    let standing = picture.alerts.iter().filter(|alert| alert.cleared.is_none()).count();
    let seconds = |ms: i64| ms as f64 / 1000.0;
    for (name, unit, help, value) in [
        ("dunlin_tablets", "", "Tablets connected.", tablets as f64),
        ("dunlin_phones", "", "Phones connected.", phones as f64),
        ("dunlin_alerts_standing", "", "Alerts that stand.", standing as f64),
        ("dunlin_notices", "", "Troubles of the program itself that stand.", picture.notices.len() as f64),
        (
            "dunlin_unrecorded_turns",
            "",
            "Turns of the watch that are not on disk yet.",
            picture.turn.saturating_sub(picture.recorded) as f64,
        ),
        (
            "dunlin_picture_age_seconds",
            "seconds",
            "Age of the newest picture.",
            seconds(hub.now_ms() - picture.at.0),
        ),
        (
            "dunlin_watching_since_timestamp_seconds",
            "seconds",
            "When the watch began.",
            seconds(hub.about.watching_since_ms),
        ),
    ] {
        page.family(name, "gauge", unit, help);
        page.sample(name, &[], value);
    }
    page.family("dunlin_feed_up", "gauge", "", "Whether the feed is open.");
    for feed in &picture.feeds {
        page.sample(
            "dunlin_feed_up",
            &[("feed", &feed.name), ("kind", feed.kind)],
            f64::from(u8::from(feed.up)),
        );
    }
    page.family("dunlin_feed_age_seconds", "gauge", "seconds", "Time since the feed's newest byte.");
    for feed in &picture.feeds {
        if let Some(heard) = feed.heard {
            page.sample("dunlin_feed_age_seconds", &[("feed", &feed.name)], picture.at.s_since(heard));
        }
    }
    for (name, unit, help, value) in [
        (
            "dunlin_feed_bytes",
            "bytes",
            "Bytes read.",
            (|feed| feed.bytes) as fn(&crate::link::FeedHealth) -> u64,
        ),
        ("dunlin_feed_lines", "", "Lines or reports taken.", |feed| feed.lines),
        ("dunlin_feed_reconnects", "", "Times the feed was opened again.", |feed| feed.reconnects),
    ] {
        page.family(name, "counter", unit, help);
        for feed in &picture.feeds {
            page.sample(&format!("{name}_total"), &[("feed", &feed.name)], value(feed) as f64);
        }
    }
    page.family("dunlin_feed_refused", "counter", "", "Lines refused, by cause.");
    for feed in &picture.feeds {
        for (cause, count) in &feed.refused {
            let labels = [("feed", feed.name.as_str()), ("cause", *cause)];
            page.sample("dunlin_feed_refused_total", &labels, *count as f64);
        }
    }
    page.0.push_str("# EOF\n");
    page.0
}
