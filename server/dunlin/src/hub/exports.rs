//! The day as files, and one incident with all that belongs to it.

use std::{path::PathBuf, sync::Arc};

use axum::{
    Json,
    extract::{Path, State},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use dunlin_engine::input::AlertId;
use tracing::warn;

use super::{Hub, api::Incident, view, wire::LogLine};
use crate::{
    clock,
    day::{
        book::Book,
        desk,
        files::{self, FileError},
        past::{self, Past},
        record::Entry,
        told,
    },
    journal::{self, JournalError},
    papers::PapersError,
};

/// Time before an incident that its report shows, ms.
const BEFORE_MS: i64 = 10 * 60_000;

/// Days read back at once: each takes memory and a core for seconds. A further one waits.
static READING: tokio::sync::Semaphore = tokio::sync::Semaphore::const_new(1);

/// Why there is no file.
#[derive(Debug, thiserror::Error)]
enum ExportError {
    #[error("there is no such day")]
    NoDay,
    #[error("there is no such file: tracks.gpx, tracks.geojson, tracks.csv, alerts.csv, log.csv")]
    NoFile,
    #[error("there is no such alert today")]
    NoAlert,
    #[error("the day cannot be read")]
    Journal(#[from] JournalError),
    #[error("the papers cannot be read")]
    Papers(#[from] PapersError),
    #[error(transparent)]
    File(#[from] FileError),
    #[error("reading the day failed")]
    Failed(#[from] tokio::task::JoinError),
}

impl IntoResponse for ExportError {
    fn into_response(self) -> Response {
        let status = match self {
            ExportError::NoDay | ExportError::NoFile | ExportError::NoAlert => StatusCode::NOT_FOUND,
            ExportError::Journal(_)
            | ExportError::Papers(_)
            | ExportError::File(_)
            | ExportError::Failed(_) => {
                warn!(error = &self as &dyn std::error::Error, "An export failed.");
                StatusCode::INTERNAL_SERVER_ERROR
            }
        };
        (status, self.to_string()).into_response()
    }
}

/// `GET /api/days`: dates of the days that are kept, newest first.
pub async fn days(State(hub): State<Arc<Hub>>) -> Json<Vec<String>> {
    let days = past::days(&hub.about.days);
    Json(days.iter().filter_map(|path| journal::day_of(path).map(str::to_owned)).collect())
}

/// `GET /api/export/{day}/{file}`: `day` is a date or `today`.
pub async fn export(State(hub): State<Arc<Hub>>, Path((day, file)): Path<(String, String)>) -> Response {
    match make(&hub, &day, &file).await {
        Ok((kind, text)) => {
            let name = format!("attachment; filename=\"dunlin-{day}-{file}\"");
            let headers = [
                (header::CONTENT_TYPE, kind.to_owned()),
                (header::CONTENT_DISPOSITION, name),
                (header::CACHE_CONTROL, "no-store".to_owned()),
            ];
            (headers, text).into_response()
        }
        Err(error) => error.into_response(),
    }
}

/// The file of a day. The name is looked for among those that are there, never made into a path.
fn day_file(hub: &Hub, day: &str) -> Result<PathBuf, ExportError> {
    let mut days = past::days(&hub.about.days).into_iter();
    let found =
        if day == "today" { days.next() } else { days.find(|path| journal::day_of(path) == Some(day)) };
    found.ok_or(ExportError::NoDay)
}

async fn read(hub: &Hub, day: &str) -> Result<Past, ExportError> {
    let path = day_file(hub, day)?;
    let _permit = READING.acquire().await.map_err(|_| ExportError::NoDay)?;
    let read = tokio::task::spawn_blocking(move || past::read(&path)).await??;
    read.ok_or(ExportError::NoDay)
}

async fn make(hub: &Hub, day: &str, file: &str) -> Result<(&'static str, String), ExportError> {
    let csv = "text/csv; charset=utf-8";
    Ok(match file {
        "tracks.gpx" => ("application/gpx+xml", files::gpx(&read(hub, day).await?)?),
        "tracks.geojson" => ("application/geo+json", files::geojson(&read(hub, day).await?)),
        "tracks.csv" => (csv, files::tracks_csv(&read(hub, day).await?)?),
        "alerts.csv" => (csv, files::alerts_csv(&read(hub, day).await?)?),
        "log.csv" => {
            let lines = log_of(hub, day).await?;
            (csv, files::log_csv(&lines, &hub.picture().setup.fleet)?)
        }
        _ => return Err(ExportError::NoFile),
    })
}

/// The time that a day's file is about, ms UTC: from where it begins to where the next one does. An
/// evening that runs over midnight is in one file, and so are its papers.
fn span(hub: &Hub, day: &str) -> Result<std::ops::Range<i64>, ExportError> {
    let path = day_file(hub, day)?;
    let began = |path: &std::path::Path| -> Result<i64, JournalError> {
        Ok(journal::sessions(path)?.first().map_or(i64::MAX, |(_, began)| began.0))
    };
    let days = past::days(&hub.about.days);
    let next = days.iter().rev().find(|next| **next > path);
    Ok(began(&path)?..next.map_or(Ok(i64::MAX), |next| began(next))?)
}

/// All lines that people wrote on a day, oldest first.
async fn log_of(hub: &Hub, day: &str) -> Result<Vec<LogLine>, ExportError> {
    let span = span(hub, day)?;
    let entries: Vec<Entry> = hub.papers.with(desk::all_entries).await?;
    let fleet = &hub.picture().setup.fleet;
    let (mut book, mut session, mut lines) = (Book::default(), 0, Vec::new());
    for entry in &entries {
        if entry.session > session {
            // Numbers of people begin anew with each session.
            session = entry.session;
            book.people.clear();
        }
        book.add(entry);
        if span.contains(&entry.at_ms) {
            lines.extend(told::log_line(&book, entry, fleet));
        }
    }
    Ok(lines)
}

/// `GET /api/incident/{alert}`: one alert of today with its boat's track, the wind and the log from
/// ten minutes before it until it was over.
pub async fn incident(State(hub): State<Arc<Hub>>, Path(alert): Path<u32>) -> Response {
    match report(&hub, AlertId(alert)).await {
        Ok(incident) => Json(incident).into_response(),
        Err(error) => error.into_response(),
    }
}

async fn report(hub: &Hub, id: AlertId) -> Result<Incident, ExportError> {
    let standing = hub.board().alert_state(id.0).cloned();
    let past = read(hub, "today").await?;
    // Numbers begin anew with each session: the newest one is today's.
    let found = past.alerts.iter().rev().find(|((_, number), _)| *number == id);
    let ((session, _), alert) = found.ok_or(ExportError::NoAlert)?;
    let from_ms = alert.began.0 - BEFORE_MS;
    let until_ms = alert.cleared.as_ref().map_or_else(|| hub.now_ms().max(clock::wall_ms()), |(at, _)| at.0);
    let within = |at_ms: i64| (from_ms..=until_ms).contains(&at_ms);
    let ix = alert.boat.map(|boat| u32::from(boat.0));
    let track = alert.boat.and_then(|boat| past.tracks.get(usize::from(boat.0)));
    let mut log = log_of(hub, "today").await?;
    log.retain(|line| within(line.at_ms) && (line.boat.is_none() || line.boat == ix));
    // What was done about her: other alerts of the same boat belong to it too.
    log.extend(
        past.lines
            .iter()
            .filter(|(of, _)| of == session)
            .map(|(_, line)| line)
            .filter(|line| {
                line.alert == Some(id.0) || (ix.is_some() && line.boat == ix && within(line.at_ms))
            })
            .cloned(),
    );
    log.sort_by_key(|line| line.at_ms);
    Ok(Incident {
        alert: standing.unwrap_or_else(|| view::alert(alert, view::changed_ms(alert), true)),
        track: track
            .into_iter()
            .flatten()
            .filter(|point| within(point.seen.taken.0))
            .map(view::past_point)
            .collect(),
        wind: past.wind.iter().filter(|wind| within(wind.at.0)).map(view::wind).collect(),
        log,
        from_ms,
        until_ms,
    })
}
