//! A driver that runs through the night: whose day is what happens then.

use std::{path::Path, sync::Arc, time::Duration};

use dunlin::{
    clock::Clock,
    driver::{Driver, Start},
    journal::{self, Journal},
    link::{Link, Picture},
    rebuild::Day,
    setup, stop,
};
use dunlin_engine::{
    Engine, Setup,
    effect::Standing,
    fleet::BoatIx,
    input::{Command, HandMark, Input},
    moment::Moment,
};

const MAX_BYTES: u64 = 1_000_000_000;

/// Nothing here takes this long; a test that does has failed.
const LONG: Duration = Duration::from_secs(20);

const SEVEN: BoatIx = BoatIx(0);

fn utc(text: &str) -> Moment {
    let at: jiff::Timestamp = text.parse().expect("a time");
    Moment(at.as_millisecond())
}

async fn until(link: &Link, what: &str, mut wanted: impl FnMut(&Picture) -> bool) -> Arc<Picture> {
    let mut pictures = link.pictures();
    let waited = tokio::time::timeout(LONG, async {
        loop {
            let picture = Arc::clone(&pictures.borrow_and_update());
            if wanted(&picture) {
                return picture;
            }
            pictures.changed().await.expect("the driver runs");
        }
    });
    waited.await.unwrap_or_else(|_| panic!("waited in vain for {what}"))
}

fn commands(path: &Path, setup: &Setup) -> Vec<(String, Command)> {
    let mut commands = Vec::new();
    journal::inputs_between(path, 0, u64::MAX, &setup.fleet, |_, input| {
        if let Input::Command { by, command } = input {
            commands.push((by, command));
        }
    })
    .expect("readable");
    commands
}

#[tokio::test]
async fn a_new_day_begins_in_the_night_once_nobody_is_out() {
    let folder = tempfile::tempdir().expect("a folder");
    let (fleet, problems) = setup::fleet::parse("fleet.toml", "[[boat]]\nid = \"07\"\ncrew = 2\n");
    assert!(problems.is_empty(), "{problems:?}");
    let setup = Setup { fleet, ..Setup::default() };

    // Out since before midnight; the program runs on, and looks at the clock after three.
    let evening = utc("2040-01-01T23:50:00Z");
    let opened = Journal::open(folder.path(), evening, "2040-01-01", MAX_BYTES).expect("a journal");
    let mut engine = Engine::new(setup.clone());
    let afloat = Command::Mark(SEVEN, HandMark::Afloat);
    drop(engine.on(evening, Input::Command { by: "Robin".to_owned(), command: afloat }));
    let late = utc("2040-01-02T03:00:00Z");
    let (driver, link, _inbox) = Driver::new(Start {
        engine,
        clock: Clock::start(late, 1.0),
        journal: Some(opened.journal),
        turn: opened.turn,
        notices: Vec::new(),
        day: Some(Day { path: opened.path.clone(), first_turn: opened.first_turn }),
        journal_max_bytes: MAX_BYTES,
    });
    let (stopper, stop) = stop::pair();
    let driver = tokio::spawn(driver.run(stop));

    let give = Command::Assign("tracker 3".to_owned(), Some(SEVEN));
    link.command("Robin", give.clone()).await.expect("recorded");
    let picture = until(&link, "two seconds after three", |picture| picture.at >= late.plus_ms(2_000)).await;
    assert_eq!(picture.boats[0].standing, Standing::Afloat);
    let next = folder.path().join("2040-01-02.sqlite");
    assert!(!next.exists(), "somebody is out: the evening goes on");

    link.command("Robin", Command::Mark(SEVEN, HandMark::Ashore)).await.expect("recorded");
    let counted = until(&link, "the count", |picture| picture.boats[0].standing == Standing::Ashore).await;
    assert!(next.exists());
    assert_eq!(counted.boats[0].standing, Standing::Ashore, "returned yesterday, ashore today");
    link.command("Robin", Command::Mark(SEVEN, HandMark::Afloat)).await.expect("recorded in the new file");
    stopper.stop();
    driver.await.expect("the driver ends in order");

    let evening: Vec<Command> = commands(&opened.path, &setup).into_iter().map(|(_, what)| what).collect();
    assert_eq!(evening, [give.clone(), Command::Mark(SEVEN, HandMark::Ashore)]);
    let expected =
        [("dunlin".to_owned(), give), ("Robin".to_owned(), Command::Mark(SEVEN, HandMark::Afloat))];
    assert_eq!(commands(&next, &setup), expected);
    assert_eq!(journal::setup_of(&next).expect("readable"), Some(setup));
    assert_eq!(journal::sessions(&next).expect("readable").len(), 1);
}
