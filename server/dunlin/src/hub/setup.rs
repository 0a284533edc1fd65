//! Site and fleet from a tablet: checked, kept as a version, put in force.

use std::sync::Arc;

use axum::{
    Json,
    extract::{Extension, Path, State},
    http::{HeaderMap, StatusCode, header},
    response::{IntoResponse, Response},
};
use rusqlite::{OptionalExtension, params};
use tracing::warn;

use super::{
    Hub,
    api::{Checked, Problem, Version},
};
use crate::{
    access::role::Principal,
    link::SetUp,
    papers::PapersError,
    setup::{self, Severity},
};

/// Versions of each kind kept; the oldest goes first.
const VERSIONS_MAX: i64 = 200;

/// What has versions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The water.
    Site,
    /// The boats.
    Fleet,
}

impl Part {
    fn word(self) -> &'static str {
        match self {
            Part::Site => "site",
            Part::Fleet => "fleet",
        }
    }

    fn from_word(word: &str) -> Option<Part> {
        [Part::Site, Part::Fleet].into_iter().find(|part| part.word() == word)
    }
}

fn failed(error: &PapersError) -> Response {
    warn!(%error, "A version of the set-up could not be read or written.");
    (StatusCode::INTERNAL_SERVER_ERROR, "the set-up could not be read or written: the disk may be full")
        .into_response()
}

fn problem(problem: &setup::Problem) -> Problem {
    Problem {
        is_warning: problem.severity == Severity::Warning,
        line: problem.line.and_then(|line| u32::try_from(line).ok()),
        what: problem.what.clone(),
        remedy: problem.remedy.clone(),
    }
}

/// The newest version of a part; `None`: none was ever sent from a tablet.
///
/// # Errors
/// When the papers cannot be read.
pub async fn newest(hub: &Hub, part: Part) -> Result<Option<String>, PapersError> {
    let word = part.word();
    hub.papers
        .with(move |connection| {
            connection
                .query_row(
                    "SELECT text FROM version WHERE kind = ?1 ORDER BY id DESC LIMIT 1",
                    [word],
                    |row| row.get(0),
                )
                .optional()
        })
        .await
}

/// Puts a part in force and keeps it as the newest version.
async fn put(hub: &Hub, who: &Principal, part: Part, note: &str, body: String) -> Response {
    let mut setup = SetUp::clone(&hub.picture().setup);
    let problems = match part {
        Part::Site => {
            let (site, problems) = setup::site::parse("the site", &body);
            setup.site = site;
            problems
        }
        Part::Fleet => {
            let (fleet, problems) = setup::fleet::parse("the fleet", &body);
            setup.fleet = fleet;
            problems
        }
    };
    let told: Vec<Problem> = problems.iter().map(problem).collect();
    if setup::any_error(&problems) {
        let answer = Checked { in_force: false, version: None, problems: told };
        return (StatusCode::UNPROCESSABLE_ENTITY, Json(answer)).into_response();
    }
    let by = match who {
        Principal::Person { name, .. } => name.clone(),
        Principal::Boat { .. } | Principal::Nobody => String::new(),
    };
    let (word, note, now_ms, signed) = (part.word(), note.to_owned(), hub.now_ms(), by.clone());
    let kept = hub
        .papers
        .with(move |connection| {
            connection.execute(
                "INSERT INTO version (kind, at_ms, by, note, text) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![word, now_ms, signed, note, body],
            )?;
            let id = connection.last_insert_rowid();
            connection.execute(
                "DELETE FROM version WHERE kind = ?1 AND id NOT IN
                 (SELECT id FROM version WHERE kind = ?1 ORDER BY id DESC LIMIT ?2)",
                params![word, VERSIONS_MAX],
            )?;
            Ok(id)
        })
        .await;
    let version = match kept {
        Ok(version) => version,
        Err(error) => return failed(&error),
    };
    if let Err(refused) = hub.link.set_up(&by, setup).await {
        return (StatusCode::SERVICE_UNAVAILABLE, refused.to_string()).into_response();
    }
    Json(Checked { in_force: true, version: Some(version), problems: told }).into_response()
}

/// The note a tablet gives with what it sends: where it comes from.
fn note_of(headers: &HeaderMap) -> String {
    let given = headers.get("x-note").and_then(|note| note.to_str().ok()).unwrap_or("sent from a tablet");
    given.chars().filter(|letter| !letter.is_control()).take(200).collect()
}

/// `PUT /api/site`.
pub async fn put_site(
    State(hub): State<Arc<Hub>>,
    Extension(who): Extension<Principal>,
    headers: HeaderMap,
    body: String,
) -> Response {
    put(&hub, &who, Part::Site, &note_of(&headers), body).await
}

/// `PUT /api/fleet`.
pub async fn put_fleet(
    State(hub): State<Arc<Hub>>,
    Extension(who): Extension<Principal>,
    headers: HeaderMap,
    body: String,
) -> Response {
    put(&hub, &who, Part::Fleet, &note_of(&headers), body).await
}

/// `GET /api/site`: what is in force, as GeoJSON.
pub async fn get_site(State(hub): State<Arc<Hub>>) -> Response {
    let text = crate::day::export::site_geojson(&hub.picture().setup.site);
    ([(header::CONTENT_TYPE, "application/geo+json")], text).into_response()
}

/// `GET /api/fleet`: what is in force, as TOML.
pub async fn get_fleet(State(hub): State<Arc<Hub>>) -> Response {
    let text = match newest(&hub, Part::Fleet).await {
        Ok(Some(text)) => text,
        Ok(None) => crate::day::export::fleet_toml(&hub.picture().setup.fleet),
        Err(error) => return failed(&error),
    };
    ([(header::CONTENT_TYPE, "application/toml")], text).into_response()
}

/// `GET /api/versions/{kind}`, newest first.
pub async fn versions(State(hub): State<Arc<Hub>>, Path(kind): Path<String>) -> Response {
    let Some(part) = Part::from_word(&kind) else { return StatusCode::NOT_FOUND.into_response() };
    let listed = hub
        .papers
        .with(move |connection| {
            let mut rows = connection
                .prepare("SELECT id, at_ms, by, note FROM version WHERE kind = ?1 ORDER BY id DESC")?;
            rows.query_map([part.word()], |row| {
                Ok(Version { id: row.get(0)?, at_ms: row.get(1)?, by: row.get(2)?, note: row.get(3)? })
            })?
            .collect::<Result<Vec<Version>, _>>()
        })
        .await;
    match listed {
        Ok(listed) => Json(listed).into_response(),
        Err(error) => failed(&error),
    }
}

/// `POST /api/versions/{kind}/{id}`: puts an older version in force again, as the newest one.
pub async fn restore(
    State(hub): State<Arc<Hub>>,
    Extension(who): Extension<Principal>,
    Path((kind, id)): Path<(String, i64)>,
) -> Response {
    let Some(part) = Part::from_word(&kind) else { return StatusCode::NOT_FOUND.into_response() };
    let found: Result<Option<String>, PapersError> = hub
        .papers
        .with(move |connection| {
            connection
                .query_row(
                    "SELECT text FROM version WHERE kind = ?1 AND id = ?2",
                    params![part.word(), id],
                    |row| row.get(0),
                )
                .optional()
        })
        .await;
    match found {
        Ok(Some(text)) => put(&hub, &who, part, &format!("version {id} again"), text).await,
        Ok(None) => (StatusCode::NOT_FOUND, "there is no such version").into_response(),
        Err(error) => failed(&error),
    }
}
