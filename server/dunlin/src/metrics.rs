//! The health of the program as OpenMetrics text (openmetrics.io, specification 1.0).

use std::fmt::{self, Write as _};

use crate::link::{FeedHealth, Picture};

/// The media type of [`text`].
pub const MEDIA_TYPE: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";

/// What `picture` shows of feeds, sources and the journal.
pub fn text(picture: &Picture) -> String {
    let mut out = String::with_capacity(4096);
    // Writing to a String cannot fail.
    let _written = write(&mut out, picture);
    out
}

fn write(out: &mut String, picture: &Picture) -> fmt::Result {
    let feeds = &picture.feeds;
    family(out, "dunlin_feed_up", "gauge", "1 while the feed is open.")?;
    for feed in feeds {
        sample(out, "dunlin_feed_up", feed, &[], if feed.up { "1" } else { "0" })?;
    }
    family(out, "dunlin_feed_connections", "gauge", "Connections to the feed now.")?;
    for feed in feeds {
        sample(out, "dunlin_feed_connections", feed, &[], &feed.connections.to_string())?;
    }
    family(out, "dunlin_feed_bytes", "counter", "Bytes read.")?;
    for feed in feeds {
        sample(out, "dunlin_feed_bytes_total", feed, &[], &feed.bytes.to_string())?;
    }
    family(out, "dunlin_feed_lines", "counter", "Lines or reports taken.")?;
    for feed in feeds {
        sample(out, "dunlin_feed_lines_total", feed, &[], &feed.lines.to_string())?;
    }
    family(out, "dunlin_feed_reconnects", "counter", "Times the feed was opened again.")?;
    for feed in feeds {
        sample(out, "dunlin_feed_reconnects_total", feed, &[], &feed.reconnects.to_string())?;
    }
    family(out, "dunlin_feed_refused", "counter", "Lines refused, by cause.")?;
    for feed in feeds {
        for (cause, count) in &feed.refused {
            sample(out, "dunlin_feed_refused_total", feed, &[("cause", cause)], &count.to_string())?;
        }
    }
    family(
        out,
        "dunlin_feed_age_seconds",
        "gauge",
        "Seconds since the newest byte; absent before the first.",
    )?;
    for feed in feeds {
        if let Some(heard) = feed.heard {
            let age_s = picture.at.s_since(heard).max(0.0);
            sample(out, "dunlin_feed_age_seconds", feed, &[], &format!("{age_s:.3}"))?;
        }
    }
    family(
        out,
        "dunlin_source_clock_offset_seconds",
        "gauge",
        "Our clock minus the source's, at its quickest delivery; absent while it tells no time.",
    )?;
    for source in picture.sources.iter() {
        if let Some(offset_ms) = source.clock_offset_ms {
            let offset_s = offset_ms as f64 / 1000.0;
            let (feed, name) = (escape(&source.feed), escape(&source.source.0));
            writeln!(
                out,
                "dunlin_source_clock_offset_seconds{{feed=\"{feed}\",source=\"{name}\"}} {offset_s:.3}"
            )?;
        }
    }
    plain(out, "dunlin_boats", "gauge", "Boats in the fleet.", picture.setup.fleet.len() as u64)?;
    let standing = picture.alerts.iter().filter(|alert| alert.cleared.is_none()).count();
    plain(out, "dunlin_alerts_standing", "gauge", "Alerts that stand.", standing as u64)?;
    plain(
        out,
        "dunlin_notices",
        "gauge",
        "Troubles of dunlin itself that stand.",
        picture.notices.len() as u64,
    )?;
    plain(out, "dunlin_turn", "counter", "Turns of the watch.", picture.turn)?;
    plain(out, "dunlin_recorded_turn", "counter", "Turns that are on disk.", picture.recorded)?;
    out.push_str("# EOF\n");
    Ok(())
}

fn family(out: &mut String, name: &str, kind: &str, help: &str) -> fmt::Result {
    writeln!(out, "# TYPE {name} {kind}\n# HELP {name} {help}")
}

fn sample(
    out: &mut String,
    name: &str,
    feed: &FeedHealth,
    labels: &[(&str, &str)],
    value: &str,
) -> fmt::Result {
    write!(out, "{name}{{feed=\"{}\",kind=\"{}\"", escape(&feed.name), feed.kind)?;
    for (label, value) in labels {
        write!(out, ",{label}=\"{}\"", escape(value))?;
    }
    writeln!(out, "}} {value}")
}

fn plain(out: &mut String, name: &str, kind: &str, help: &str, value: u64) -> fmt::Result {
    family(out, name, kind, help)?;
    let suffix = if kind == "counter" { "_total" } else { "" };
    writeln!(out, "{name}{suffix} {value}")
}

/// A label's value: backslash, quote and line feed are escaped, other control characters dropped.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' => out.push_str("\\\\"),
            '"' => out.push_str("\\\""),
            '\n' => out.push_str("\\n"),
            c if c.is_control() => (),
            c => out.push(c),
        }
    }
    out
}
