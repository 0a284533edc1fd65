//! The clerk: writes to the day's papers what follows from the watch, and tells tablets of all
//! that changed in them. Apart from the spreading of alerts, which never waits for a disk.

use std::{sync::Arc, time::Duration};

use dunlin_engine::{
    effect::{Standing, TallyChange},
    input::Command,
    moment::Moment,
    units::{Bearing, mps_from_kn},
};
use tokio::sync::mpsc;
use tracing::{info, warn};

use super::{
    Hub,
    overdue::{HeadCount, Overdue},
    view, wire,
};
use crate::{
    day::{
        book::Book,
        change::{self, Facts},
        cover,
        desk::{Desk, DeskError},
        past,
        record::Record,
        told,
    },
    journal,
    stop::Stop,
};

/// Work waiting for the clerk. When full, the newest is dropped and logged: the engine's own tally
/// is right all the same, and the papers are put right by the next count.
pub const WORK_MAX: usize = 4_096;

/// How often cover, sun and what else changes by itself are looked at.
const LOOK_EVERY: Duration = Duration::from_secs(2);

/// How often it is looked whether anything is old enough to be deleted.
const FORGET_EVERY: Duration = Duration::from_secs(3_600);

/// What the clerk is given to do.
#[derive(Clone, Debug)]
pub enum Work {
    /// A boat's place in the head count changed.
    Tally(TallyChange),
    /// Something was changed that the papers show.
    Look,
    /// Delete what is older than the centre keeps.
    Forget,
}

impl Hub {
    /// Gives the clerk work.
    pub fn give_clerk(&self, work: Work) {
        match self.clerk.try_send(work) {
            // The clerk ends before the last phone when the program stops.
            Ok(()) | Err(mpsc::error::TrySendError::Closed(_)) => (),
            Err(mpsc::error::TrySendError::Full(work)) => {
                warn!(?work, "The day's papers cannot keep up.");
            }
        }
    }

    /// How things stand, for checking a change.
    pub fn facts<'a>(&self, picture: &'a crate::link::Picture) -> Facts<'a> {
        Facts { fleet: &picture.setup.fleet, boats: &picture.boats, now: picture.at }
    }

    /// Writes records to the papers and tells everyone. Gives the numbers of the entries.
    ///
    /// # Errors
    /// When they cannot be written; nothing has then changed.
    pub async fn write(
        &self,
        desk: &mut Desk,
        by: &str,
        records: Vec<Record>,
    ) -> Result<Vec<i64>, DeskError> {
        let numbers = desk.write(by, self.now_ms(), records).await?;
        self.tell_lines(desk, &numbers);
        self.tell_day(desk);
        Ok(numbers)
    }

    fn tell_lines(&self, desk: &Desk, numbers: &[i64]) {
        let picture = self.picture();
        let new = desk.entries().iter().rev().take_while(|entry| numbers.contains(&entry.seq));
        let mut lines: Vec<wire::LogLine> =
            new.filter_map(|entry| told::log_line(desk.book(), entry, &picture.setup.fleet)).collect();
        lines.reverse();
        let mut board = self.board();
        let messages: Vec<wire::ToTablet> = lines.into_iter().map(|line| board.log(line)).collect();
        self.tell(&board, messages);
    }

    /// Tells everyone how the papers stand, if that changed.
    pub fn tell_day(&self, desk: &Desk) {
        let picture = self.picture();
        let (fleet, book, now_ms) = (&picture.setup.fleet, desk.book(), self.now_ms());
        let cover = cover::judge(fleet, &picture.boats, &book.rules, picture.at.0);
        let day = told::day(book, fleet, &picture.setup.site, cover, now_ms);
        let signal = book.signal.as_ref().map(|signal| wire::SignalState {
            signal: signal.signal.clone(),
            words: signal.words.clone(),
            by: signal.said.by.clone(),
            at_ms: signal.said.at_ms,
            seen: signal.seen.iter().filter_map(|boat| told::ix_of(fleet, boat)).collect(),
            reachable: self.phones.connected().iter().filter_map(|boat| told::ix_of(fleet, boat)).collect(),
        });
        let for_phones = signal.as_ref().map(super::feed::phone_signal);
        self.signal.send_if_modified(|stands| {
            let differs = *stands != for_phones;
            *stands = for_phones;
            differs
        });
        let mut board = self.board();
        let messages: Vec<wire::ToTablet> =
            [board.day(day), board.signal(signal)].into_iter().flatten().collect();
        self.tell(&board, messages);
        drop(board);
        self.tell_tally(desk, &picture);
        self.tell_defects_afloat(desk, &picture);
    }

    /// The head count, with those known to be missing.
    fn tell_tally(&self, desk: &Desk, picture: &crate::link::Picture) {
        let book = desk.book();
        let missing = book.people.values().filter(|person| person.standing == "unaccounted").count();
        let tally = view::tally(
            &picture.setup.fleet,
            &picture.boats,
            |boat| view::short_of(boat, &picture.alerts),
            u32::try_from(missing).unwrap_or(u32::MAX),
        );
        let mut board = self.board();
        let message = board.count(&tally);
        self.tell(&board, message);
    }

    /// A boat seen afloat with an open safety defect is a trouble that every tablet shows.
    fn tell_defects_afloat(&self, desk: &Desk, picture: &crate::link::Picture) {
        let mut board = self.board();
        let mut messages = Vec::new();
        for boat in &picture.boats {
            let Some(painted) = picture.setup.fleet.get(usize::from(boat.boat.0)).map(|boat| &boat.id) else {
                continue;
            };
            let is_wrong = boat.standing == Standing::Afloat && !desk.book().may_launch(painted);
            let notice = is_wrong.then(|| {
                let what = desk.book().safety_defects(painted).next();
                wire::Notice {
                    code: format!("defect-afloat:{painted}"),
                    text: format!(
                        "{painted} is afloat with an open safety defect: {}. Call her in, or have a duty officer override it.",
                        what.map_or("", |defect| defect.text.as_str())
                    ),
                    since_ms: boat.standing_since.0,
                }
            });
            messages.extend(board.notice(&format!("defect-afloat:{painted}"), notice));
        }
        self.tell(&board, messages);
    }

    /// All lines of the papers' log again: at the start, and after a person was deleted from it.
    pub fn retell_log(&self, desk: &Desk) {
        let picture = self.picture();
        let lines = desk
            .entries()
            .iter()
            .filter(|entry| {
                desk.book().session.as_ref().is_none_or(|session| entry.at_ms >= session.opened_ms)
            })
            .filter_map(|entry| told::log_line(desk.book(), entry, &picture.setup.fleet));
        self.board().replace_log(lines);
    }
}

/// Works until told to stop.
pub async fn run(hub: Arc<Hub>, mut work: mpsc::Receiver<Work>, mut stop: Stop) {
    {
        let desk = hub.desk.lock().await;
        hub.retell_log(&desk);
        hub.tell_day(&desk);
    }
    tokio::spawn(tell_past(Arc::clone(&hub)));
    let mut look = tokio::time::interval(LOOK_EVERY);
    look.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    // The row in force when the session was opened, or before a restart, was told then.
    let mut tide = row_now(hub.desk.lock().await.book(), hub.now_ms()).map(|(at_ms, _)| at_ms);
    let mut overdue = Overdue::standing(&hub.picture().alerts);
    let mut forget = tokio::time::interval(FORGET_EVERY);
    loop {
        let next = tokio::select! {
            () = stop.wanted() => return,
            _ = forget.tick() => Work::Forget,
            next = work.recv() => match next { Some(next) => next, None => return },
            _ = look.tick() => Work::Look,
        };
        let mut desk = hub.desk.lock().await;
        follow_tide_table(&hub, &desk, &mut tide).await;
        match next {
            Work::Look => hub.tell_day(&desk),
            Work::Forget => forget_older(&hub, &mut desk).await,
            Work::Tally(tally) => note_tally(&hub, &mut desk, &tally).await,
        }
        let picture = hub.picture();
        let count = HeadCount::of(desk.book(), &picture.setup.fleet, &picture.boats, picture.at);
        drop(desk); // nobody waits for the papers while the watch is told
        overdue.follow(&hub, &count, picture.at).await;
    }
}

/// Puts what the watch said of its alerts before a restart into the log again. The papers do not hold
/// it, and reading it back takes seconds: nobody waits for it.
async fn tell_past(hub: Arc<Hub>) {
    let folder = hub.about.days.clone();
    let read = move || past::days(&folder).first().map_or(Ok(None), |newest| past::read(newest));
    match tokio::task::spawn_blocking(read).await {
        Ok(Ok(Some(day))) => {
            let Some(session) = day.lines.last().map(|(session, _)| *session) else { return };
            if session != day.newest_session {
                return;
            }
            let lines = day.lines.into_iter().filter(|(of, _)| *of == session).map(|(_, line)| line);
            hub.board().add_past(lines);
            hub.tell_anew();
        }
        Ok(Ok(None)) => (),
        Ok(Err(error)) => warn!(reason = %error, "What was said of alerts before was not read back."),
        Err(error) => warn!(reason = %error, "What was said of alerts before was not read back."),
    }
}

/// The row of the open session's tide table that is in force and tells a stream: when it began, and
/// the stream.
fn row_now(book: &Book, now_ms: i64) -> Option<(i64, (Bearing, f64))> {
    let tides = &book.open_session()?.plan.tides;
    let row = tides.iter().rev().find(|row| row.at_ms <= now_ms)?;
    let towards = Bearing::from_degrees_true(row.towards_deg?)?;
    Some((row.at_ms, (towards, mps_from_kn(row.speed_kn?))))
}

/// Tells the engine the stream of the tide table when the next row comes into force.
async fn follow_tide_table(hub: &Hub, desk: &Desk, told: &mut Option<i64>) {
    let Some((at_ms, stream)) = row_now(desk.book(), hub.now_ms()) else { return };
    if *told == Some(at_ms) {
        return;
    }
    match hub.link.command("tide table", Command::SetStream(Some(stream))).await {
        Ok(_) => *told = Some(at_ms),
        Err(refused) => warn!(reason = %refused, "The stream of the tide table could not be told."),
    }
}

/// Deletes the days and the papers that are older than the centre's rule says.
async fn forget_older(hub: &Hub, desk: &mut Desk) {
    let Some(days) = desk.book().rules.keep_days else { return };
    let now_ms = hub.now_ms();
    match desk.forget_older(now_ms - i64::from(days) * 86_400_000).await {
        Ok(true) => {
            info!(days, "Papers older than the centre keeps them were deleted.");
            hub.retell_log(desk);
            hub.tell_day(desk);
            hub.tell_anew();
        }
        Ok(false) => (),
        Err(error) => warn!(reason = %error, "Old papers were not deleted."),
    }
    let folder = hub.about.days.clone();
    if !folder.exists() {
        return;
    }
    // The newest is the one being written; it may be as old as a boat has been out.
    let delete = move || {
        let in_use = past::days(&folder).into_iter().next();
        journal::delete_older(&folder, Moment(now_ms), days, in_use.as_deref())
    };
    match tokio::task::spawn_blocking(delete).await {
        Ok(Ok(gone)) if !gone.is_empty() => {
            info!(days = gone.len(), "Days older than the centre keeps them were deleted.")
        }
        Ok(Ok(_)) => (),
        Ok(Err(error)) => warn!(reason = %error, "Old days were not deleted."),
        Err(error) => warn!(reason = %error, "Old days were not deleted."),
    }
}

async fn note_tally(hub: &Hub, desk: &mut Desk, tally: &TallyChange) {
    let picture = hub.picture();
    let Some(boat) = picture.setup.fleet.get(usize::from(tally.boat.0)) else { return };
    let Some(record) = change::on_tally(tally.standing, tally.by.as_deref(), &boat.id) else {
        hub.tell_day(desk);
        return;
    };
    let by = tally.by.as_deref().unwrap_or("dunlin");
    if let Err(error) = hub.write(desk, by, vec![record]).await {
        warn!(boat = boat.id, reason = %error, "The head count was not written to the papers.");
    }
}
