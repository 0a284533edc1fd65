//! The night: one day's file ends and the next begins, while the program runs on.

use dunlin_engine::{
    Engine, Setup,
    input::{Command, Input},
};

use super::Driver;
use crate::{
    journal::{self, Journal, record},
    link::NoticeKind,
    new_day::{self, KeptOpen},
    rebuild::Day,
};

impl Driver {
    /// Goes on in the file of a new day, with a watch that knows nothing of the old one but what people
    /// have set, once the old one is over and all is quiet and on disk.
    pub(super) fn begin_day(&mut self) {
        let (now, Some(day)) = (self.clock.now(), &self.day) else { return };
        let (Some(folder), Some(old)) = (day.path.parent(), journal::day_of(&day.path)) else { return };
        let date = new_day::date(now, &self.setup.site);
        let kept = if *date > *old { KeptOpen::by(&self.engine) } else { KeptOpen::default() };
        let words = (!kept.is_quiet()).then(|| kept.words(old));
        let is_written = self.waiting.is_empty() && self.recorded + 1 >= self.turn && self.rebuild.is_none();
        let may_begin = *date > *old && kept.is_quiet() && is_written;
        if !may_begin {
            return self.notice(NoticeKind::DayKeptOpen, words);
        }
        // Opening a file waits for the disk: nobody is out, and nothing else may wait meanwhile.
        let begun = Journal::begin(folder, now, &date, self.journal_max_bytes, self.turn);
        let (journal, path, turn) = match begun {
            Ok(begun) => begun,
            Err(error) => {
                // The old file goes on; the next second tries again.
                tracing::warn!(error = &error as &dyn std::error::Error, "New day's file not begun.");
                return;
            }
        };
        tracing::info!(day = %date, "A new day.");
        self.progress = journal.progress();
        self.journal = Some(journal);
        self.day = Some(Day { path, first_turn: turn });
        (self.turn, self.recorded) = (turn, turn - 1);
        let orders = self.engine.standing_orders();
        self.take_over(Engine::new(Setup::clone(&self.setup)));
        self.carry_on(orders);
        self.notice(NoticeKind::DayKeptOpen, None);
        self.paint();
    }

    /// The same for orders of an earlier run. One that names a boat that this fleet does not have is noted
    /// all the same: the fleet that has her is put in force next, and the watch built anew from the notes.
    pub(super) fn take_up(&mut self, orders: Vec<record::Row>) {
        let now = self.clock.now();
        for row in orders {
            match (record::input(&self.setup.fleet, row.clone()), &self.journal) {
                (Some(input), _) => {
                    let turn = self.turn(now, input);
                    self.carry_out(turn);
                }
                (None, Some(journal)) => {
                    journal.note(self.turn, now, Some(row), &[], false);
                    self.turn += 1;
                }
                (None, None) => (),
            }
        }
        self.list_assigned();
    }

    /// Gives a fresh watch what people have set that outlasts a day, and notes it in the new session.
    fn carry_on(&mut self, orders: Vec<Command>) {
        let now = self.clock.now();
        for command in orders {
            let turn = self.turn(now, Input::Command { by: "dunlin".to_owned(), command });
            self.carry_out(turn);
        }
        self.list_assigned();
    }
}
