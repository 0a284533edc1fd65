//! A day and the papers copied while they are written, and a day's file told again.

use std::{
    path::Path,
    process::{Command, Output},
    time::{Duration, Instant},
};

use dunlin::{
    journal::{self, Journal, record},
    output,
    papers::{self, Papers},
};
use dunlin_engine::{
    Engine, Setup,
    effect::Effect,
    fleet::{Boat, Class, Role},
    input::{FeedName, Input},
    moment::Moment,
};

/// 2026-06-01T10:00:00Z.
const START: Moment = Moment(1_780_308_000_000);

fn dunlin(arguments: &[&Path]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_dunlin")).args(arguments).output().expect("started")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// One boat that sails north for two minutes.
fn session() -> (Setup, Vec<(Moment, Input)>) {
    let boat = Boat {
        id: "07".to_owned(),
        name: None,
        role: Role::Dinghy,
        sources: vec!["boat7".to_owned()],
        mmsi: None,
        crew: 2,
        class: Class::default(),
    };
    let setup = Setup { fleet: vec![boat], ..Setup::default() };
    let lines = (0..120).map(|second| {
        let minutes = 6.0 + f64::from(second) * 0.0015;
        let (m, s) = (second / 60, second % 60);
        let body = format!("GPRMC,10{m:02}{s:02}.00,A,50{minutes:07.4},N,00500.0000,W,05.4,000.0,010626,,,A");
        let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
        let line = format!("${body}*{sum:02X}").into_bytes();
        (START.plus_ms(i64::from(second) * 1_000), Input::Line { feed: FeedName("boat7".to_owned()), line })
    });
    (setup, lines.collect())
}

#[test]
fn a_backup_holds_the_day_and_the_papers_and_the_day_tells_the_same_again() {
    let data = tempfile::tempdir().expect("a folder");
    let (setup, inputs) = session();
    let opened = Journal::open(&data.path().join("days"), START, "2026-06-01", 1_000_000_000).expect("new");
    opened.journal.note_setup(opened.turn, START, &setup);
    for (turn, (at, input)) in (opened.turn + 1..).zip(&inputs) {
        opened.journal.note(turn, *at, record::row(&setup.fleet, input), &[], true);
    }
    let last = opened.turn + inputs.len() as u64;
    let begun = Instant::now();
    while opened.journal.progress().borrow().recorded < last {
        assert!(begun.elapsed() < Duration::from_secs(20), "the journal does not write");
        std::thread::sleep(Duration::from_millis(2));
    }
    let runtime = tokio::runtime::Builder::new_current_thread().build().expect("a runtime");
    let papers = Papers::open(&data.path().join(papers::FILE)).expect("new");
    let write = |connection: &rusqlite::Connection| {
        connection.execute("INSERT INTO setting VALUES ('centre', 'Test Water')", [])
    };
    runtime.block_on(papers.with(write)).expect("written");

    // Both files are open and being written while they are copied.
    let copy = data.path().join("kept.sqlite");
    let backup = || dunlin(&[Path::new("backup"), &opened.path, &copy]);
    let said = backup();
    assert!(said.status.success(), "{}", text(&said.stderr));
    assert_eq!(text(&said.stdout).lines().count(), 2, "{}", text(&said.stdout));
    assert_eq!(journal::setup_of(&copy).expect("readable"), Some(setup.clone()));
    let kept = rusqlite::Connection::open(data.path().join("kept-papers.sqlite")).expect("a copy");
    let centre: String = kept
        .query_row("SELECT value FROM setting WHERE name = 'centre'", [], |row| row.get(0))
        .expect("there");
    assert_eq!(centre, "Test Water");
    let again = backup();
    assert!(!again.status.success() && text(&again.stderr).contains("exists already"));

    let mut engine = Engine::new(setup.clone());
    let mut expected = String::new();
    for (at, input) in inputs {
        for effect in engine.on(at, input) {
            if !matches!(effect, Effect::Discard(_)) {
                expected.push_str(&output::line(&setup.fleet, at, &effect));
                expected.push('\n');
            }
        }
    }
    assert!(expected.contains("\"standing\":\"afloat\""), "{expected}");
    let told = dunlin(&[Path::new("replay"), &copy]);
    assert!(told.status.success(), "{}", text(&told.stderr));
    assert_eq!(text(&told.stdout), expected);
    let both = dunlin(&[Path::new("replay"), &copy, &copy]);
    assert!(text(&both.stderr).contains("by itself"), "{}", text(&both.stderr));
    let none = dunlin(&[Path::new("replay"), &data.path().join("kept-papers.sqlite")]);
    assert!(text(&none.stderr).contains("is it a day's file"), "{}", text(&none.stderr));
}
