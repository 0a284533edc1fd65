//! The day's file: gone on with, copied, aged, damaged.

use std::{
    fs,
    path::Path,
    time::{Duration, Instant},
};

use dunlin::{
    journal::{self, Journal, JournalError, Opened, record},
    new_day,
};
use dunlin_engine::{
    Setup,
    input::{FeedName, Input},
    moment::Moment,
    venue::Site,
};

const BIG: u64 = 1_000_000_000;

/// 2026-06-01T10:02:13Z.
const NOW: Moment = Moment(1_780_308_133_000);

fn line(text: &str) -> Input {
    Input::Line { feed: FeedName("mast".to_owned()), line: text.as_bytes().to_vec() }
}

fn note(journal: &Journal, turn: u64, at: Moment, text: &str) {
    journal.note(turn, at, record::row(&[], &line(text)), &[], true);
}

fn open(folder: &Path, now: Moment) -> Result<Opened, JournalError> {
    Journal::open(folder, now, &new_day::date(now, &Site::default()), BIG)
}

fn wait_until_recorded(journal: &Journal, turn: u64) {
    let begun = Instant::now();
    while journal.progress().borrow().recorded < turn {
        assert!(begun.elapsed() < Duration::from_secs(20), "the journal does not write");
        std::thread::sleep(Duration::from_millis(2));
    }
}

fn read(path: &Path, first: u64) -> Vec<(Moment, Input)> {
    let mut inputs = Vec::new();
    journal::inputs_between(path, first, u64::MAX, &[], |at, input| inputs.push((at, input)))
        .expect("readable");
    inputs
}

#[test]
fn a_session_left_lately_is_gone_on_with_and_an_old_one_is_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let opened = open(folder.path(), NOW).expect("new");
    assert!(opened.resume.is_none());
    assert_eq!(journal::day_of(&opened.path), Some("2026-06-01"));
    note(&opened.journal, opened.turn, NOW, "a");
    note(&opened.journal, opened.turn + 1, NOW.plus_ms(5_000), "b");
    drop(opened);

    let soon = NOW.plus_ms(60_000);
    let again = open(folder.path(), soon).expect("there");
    let resume = again.resume.as_ref().expect("left a minute ago");
    assert_eq!((resume.began, resume.left), (NOW, NOW.plus_ms(5_000)));
    let expected = vec![(NOW, line("a")), (NOW.plus_ms(5_000), line("b"))];
    assert_eq!(read(&again.path, again.first_turn), expected);
    note(&again.journal, again.turn, soon, "c");
    let first = (again.path.clone(), again.first_turn);
    drop(again);
    assert_eq!(read(&first.0, first.1).len(), 3);

    // The wall clock set back does not lose the session either.
    let back = open(folder.path(), NOW.plus_ms(-3_600_000)).expect("there");
    assert!(back.resume.is_some());
    drop(back);

    let next = NOW.plus_ms(30 * 3_600_000);
    let fresh = open(folder.path(), next).expect("there");
    assert!(fresh.resume.is_none());
    assert_eq!(journal::day_of(&fresh.path), Some("2026-06-02"));
}

#[test]
fn what_was_recorded_is_there_although_nothing_was_closed() {
    let folder = tempfile::tempdir().expect("a folder");
    let opened = open(folder.path(), NOW).expect("new");
    note(&opened.journal, opened.turn, NOW, "a");
    wait_until_recorded(&opened.journal, opened.turn);
    // The file as a power cut leaves it: copied with its write-ahead log while it is open.
    let cut = folder.path().join("cut");
    fs::create_dir(&cut).expect("a folder");
    for entry in fs::read_dir(folder.path()).expect("readable").flatten() {
        if entry.path().is_file() {
            fs::copy(entry.path(), cut.join(entry.file_name())).expect("copied");
        }
    }
    let again = open(&cut, NOW.plus_ms(1_000)).expect("there");
    assert!(again.resume.is_some());
    assert_eq!(read(&again.path, again.first_turn), vec![(NOW, line("a"))]);
}

#[test]
fn a_day_is_copied_while_it_is_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let opened = open(folder.path(), NOW).expect("new");
    opened.journal.note_setup(opened.turn, NOW, &Setup::default());
    note(&opened.journal, opened.turn + 1, NOW, "a");
    wait_until_recorded(&opened.journal, opened.turn + 1);
    let copy = folder.path().join("copy.sqlite");
    journal::copy_into(&opened.path, &copy).expect("copied");
    note(&opened.journal, opened.turn + 2, NOW, "b");
    assert_eq!(read(&copy, 0), vec![(NOW, line("a"))]);
    assert_eq!(journal::setup_of(&copy).expect("readable"), Some(Setup::default()));
    assert!(journal::copy_into(&opened.path, &copy).is_err(), "a copy is not written over");
}

#[test]
fn a_damaged_day_is_set_aside_and_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let day = folder.path().join("2026-06-01.sqlite");
    fs::write(&day, b"this was never a database, whatever its name says").expect("written");
    let opened = open(folder.path(), NOW).expect("a new one");
    assert!(opened.resume.is_none());
    assert_eq!(opened.warnings.len(), 1, "{:?}", opened.warnings);
    assert!(folder.path().join("2026-06-01.sqlite.damaged").exists(), "nothing is thrown away");
}

#[test]
fn a_day_of_a_newer_dunlin_is_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let opened = open(folder.path(), NOW).expect("new");
    let path = opened.path.clone();
    drop(opened);
    let newer = rusqlite::Connection::open(&path).expect("ours");
    newer.pragma_update(None, "user_version", 99).expect("set");
    drop(newer);
    let error = open(folder.path(), NOW).expect_err("too new");
    assert!(matches!(error, JournalError::Newer { found: 99, .. }), "{error}");
}

#[test]
fn old_days_are_deleted_with_everything_that_lies_beside_them() {
    let folder = tempfile::tempdir().expect("a folder");
    for name in [
        "2026-05-20.sqlite",
        "2026-05-20.sqlite-wal",
        "2026-05-22.sqlite",
        "2026-06-01.sqlite",
        "2026-05-01.sqlite.damaged",
        "notes.txt",
    ] {
        fs::write(folder.path().join(name), b"").expect("written");
    }
    let in_use = folder.path().join("2026-05-20.sqlite");
    let deleted = journal::delete_older(folder.path(), NOW, 10, Some(&in_use)).expect("deleted");
    assert_eq!(deleted.len(), 1, "a file that is being written stays: {deleted:?}");
    let deleted = journal::delete_older(folder.path(), NOW, 10, None).expect("deleted");
    assert_eq!(deleted.len(), 2, "{deleted:?}");
    let mut left: Vec<String> = fs::read_dir(folder.path())
        .expect("readable")
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    left.sort();
    assert_eq!(left, ["2026-05-22.sqlite", "2026-06-01.sqlite", "notes.txt"]);
}
