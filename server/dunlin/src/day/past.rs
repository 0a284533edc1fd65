//! A day read back from the journal: the same engine over the same inputs gives the tracks, the
//! alerts and the wind of the day once more.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

use dunlin_engine::{
    Engine, Setup,
    effect::{Alert, Effect, Seen, WindNow},
    input::{AlertId, Input},
    moment::Moment,
};

use crate::{
    hub::{alert_line::alert_line, view, wire::LogLine},
    journal::{self, JournalError},
};

/// Time between two looks at the boats, ms: positions of faster feeds are thinned to this.
const LOOK_MS: i64 = 1_000;

/// A position that came longer than this after it was measured is marked late, ms: the link was gone
/// meanwhile, and nobody could see it when it would have helped.
pub const LATE_MS: i64 = 10_000;

/// A hole in a track longer than this begins a new piece of it: nothing is drawn across it.
pub const HOLE_MS: i64 = 60_000;

/// Points of all tracks of a day at most; 300 boats for four hours. Beyond it the rest is left out
/// and said to be.
const POINTS_MAX: usize = 4_500_000;

/// Lines about alerts of a day at most; a flood of one a second for five hours. Later ones are left out.
const LINES_MAX: usize = 20_000;

/// One point of a track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Where, and when that was measured.
    pub seen: Seen,
    /// Speed over the ground, m/s.
    pub speed_mps: Option<f64>,
    /// Course over the ground, degrees true.
    pub course_deg: Option<f64>,
    /// Degrees, positive to starboard.
    pub heel_deg: Option<f64>,
    /// Seconds after it was measured that it came; `None`: in time, within [`LATE_MS`].
    pub late_s: Option<f64>,
}

/// One session of a day.
#[derive(Clone, Debug, Default)]
pub struct Past {
    /// The set-up it is read with: the last one of the day.
    pub setup: Setup,
    /// By place in the fleet, oldest first.
    pub tracks: Vec<Vec<Point>>,
    /// As they ended, by session and number.
    pub alerts: BTreeMap<(usize, AlertId), Alert>,
    /// What the log said of them, by session, oldest first.
    pub lines: Vec<(usize, LogLine)>,
    /// The number of the day's last session.
    pub newest_session: usize,
    /// Each time it was told.
    pub wind: Vec<WindNow>,
    /// Whether tracks were cut at the bound, or the day's file is damaged.
    pub is_cut: bool,
}

/// The files of all days, newest first.
pub fn days(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut days: Vec<PathBuf> =
        entries.map(|entry| entry.path()).filter(|path| journal::day_of(path).is_some()).collect();
    days.sort();
    days.reverse();
    days
}

/// Reads a day. Takes seconds for a long one: to be called where that holds nobody up.
///
/// # Errors
/// When the file cannot be read. `Ok(None)`: it holds no session.
pub fn read(path: &Path) -> Result<Option<Past>, JournalError> {
    let Some(setup) = journal::setup_of(path)? else { return Ok(None) };
    let mut past = Past { tracks: vec![Vec::new(); setup.fleet.len()], setup, ..Past::default() };
    let sessions = journal::sessions(path)?;
    let mut points = 0;
    for (number, (first, _)) in sessions.iter().enumerate() {
        past.newest_session = number;
        let end = sessions.get(number + 1).map_or(u64::MAX, |(next, _)| *next);
        let mut engine = Engine::new(past.setup.clone());
        let fleet = past.setup.fleet.clone();
        let (mut looked, mut last) = (Moment(i64::MIN), Moment(i64::MIN));
        let counted = journal::inputs_between(path, *first, end, &fleet, |at, input| {
            // Reports that a phone kept through a dead spot come many at once.
            let kept = was_kept(at, &input);
            let effects = engine.on(at, input);
            note(&mut past, number, effects);
            if (kept || at.ms_since(looked) >= LOOK_MS) && points < POINTS_MAX {
                looked = at;
                points += look(&mut past.tracks, &engine, at);
            }
            last = at;
        })?;
        look(&mut past.tracks, &engine, last);
        past.is_cut |= counted.damaged || points >= POINTS_MAX;
    }
    Ok(Some(past))
}

fn note(past: &mut Past, session: usize, effects: Vec<Effect>) {
    for effect in effects {
        match effect {
            Effect::Alert(change) => {
                let told = |alert: &Alert| view::alert(alert, change.at.0, true);
                let before = past.alerts.get(&(session, change.alert.id)).map(told);
                let line = alert_line(&change, &told(&change.alert), before.as_ref(), &past.setup.fleet);
                let room = past.lines.len() < LINES_MAX;
                past.lines.extend(line.filter(|_| room).map(|line| (session, line)));
                past.alerts.insert((session, change.alert.id), change.alert);
            }
            Effect::Wind(wind) => past.wind.push(wind),
            Effect::Manoeuvre(_) | Effect::Rounding(_) | Effect::Tally(_) | Effect::Discard(_) => (),
        }
    }
}

/// Whether a phone kept this report for longer than the time between two looks.
fn was_kept(at: Moment, input: &Input) -> bool {
    match input {
        Input::Report { report, .. } => at.0.saturating_sub(report.taken.0) > LOOK_MS,
        Input::Line { .. } | Input::Command { .. } | Input::Wake => false,
    }
}

/// Adds each boat's newest position as known `at` that moment; gives how many were new.
fn look(tracks: &mut [Vec<Point>], engine: &Engine, at: Moment) -> usize {
    let mut new = 0;
    for view in engine.boats() {
        let (Some(seen), Some(track)) = (view.seen, tracks.get_mut(usize::from(view.boat.0))) else {
            continue;
        };
        if track.last().is_some_and(|last| last.seen.taken >= seen.taken) {
            continue;
        }
        new += 1;
        let late_ms = at.ms_since(seen.taken);
        track.push(Point {
            seen,
            speed_mps: view.speed_mps,
            course_deg: view.course.map(|course| course.deg()),
            heel_deg: view.heel_deg,
            late_s: (late_ms > LATE_MS).then_some(late_ms as f64 / 1000.0),
        });
    }
    new
}

/// A track in pieces without holes.
pub fn pieces(track: &[Point]) -> impl Iterator<Item = &[Point]> {
    track.chunk_by(|one, next| next.seen.taken.ms_since(one.seen.taken) <= HOLE_MS)
}
