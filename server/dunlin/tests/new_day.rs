//! A driver that runs through the night: whose day is what happens then.

use std::{path::Path, sync::Arc, time::Duration};

use dunlin::{
    clock::{Clock, wall_ms},
    config::Config,
    driver::{Driver, Start},
    journal::{self, Journal, record},
    link::{Link, NoticeKind, Picture},
    rebuild::Day,
    serve::{self, Running},
    setup, stop,
};
use dunlin_engine::{
    Engine, Setup,
    effect::Standing,
    fleet::BoatIx,
    input::{Command, HandMark, Input},
    moment::Moment,
    view::AssignedView,
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
    let late = utc("2040-01-02T02:59:58Z");
    let (driver, link, _inbox) = Driver::new(Start {
        engine,
        clock: Clock::start(late, 1.0),
        journal: Some(opened.journal),
        turn: opened.turn,
        notices: Vec::new(),
        day: Some(Day { path: opened.path.clone(), first_turn: opened.first_turn }),
        orders: Vec::new(),
        journal_max_bytes: MAX_BYTES,
    });
    let (stopper, stop) = stop::pair();
    let driver = tokio::spawn(driver.run(stop));

    let give = Command::Assign("tracker 3".to_owned(), Some(SEVEN));
    link.command("Robin", give.clone()).await.expect("recorded");
    let told = |picture: &Picture| -> Vec<String> {
        let kept = picture.notices.iter().filter(|notice| notice.kind == NoticeKind::DayKeptOpen);
        kept.map(|notice| notice.text.clone()).collect()
    };
    let three = utc("2040-01-02T03:00:00Z");
    let picture = until(&link, "two seconds after three", |picture| {
        // Boats that are out in the evening are no trouble.
        assert!(picture.at >= three || told(picture).is_empty(), "too early: {:?}", picture.notices);
        picture.at >= three.plus_ms(2_000)
    })
    .await;
    assert_eq!(picture.boats[0].standing, Standing::Afloat);
    let next = folder.path().join("2040-01-02.sqlite");
    assert!(!next.exists(), "somebody is out: the evening goes on");
    assert_eq!(
        told(&picture),
        ["The day of 2040-01-01 stays open: nobody has counted back 07. \
          Count them, then mark each boat ashore by hand."]
    );

    link.command("Robin", Command::Mark(SEVEN, HandMark::Ashore)).await.expect("recorded");
    let counted = until(&link, "the count", |picture| {
        picture.boats[0].standing == Standing::Ashore && told(picture).is_empty()
    })
    .await;
    assert!(next.exists());
    assert_eq!(told(&counted), Vec::<String>::new(), "nothing keeps the new day open");
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

/// Runs the server over `data` until what it shows of the assigned sources is as `wanted`; tells it
/// `say` then.
async fn run_over(data: &Path, setup: &Setup, wanted: &[AssignedView], say: Option<Command>) {
    let mut config = Config::fresh();
    config.data = data.to_owned();
    config.hub.listen = ([127, 0, 0, 1], 0).into();
    config.retention_days = Some(3);
    let (stopper, stop) = stop::pair();
    let running = Running { config, setup: setup.clone(), demo: false, speed: 1.0 };
    let served = serve::start(running, stop).await.expect("started");
    let link = served.link();
    let picture = until(&link, "what is assigned", |picture| *picture.assigned == *wanted).await;
    assert!(picture.at > Moment(0));
    if let Some(command) = say {
        link.command("Robin", command).await.expect("recorded");
    }
    stopper.stop();
    served.ended().await.expect("ended in order");
}

#[tokio::test]
async fn a_source_given_to_a_boat_stays_hers_however_long_the_server_was_stopped() {
    let folder = tempfile::tempdir().expect("a folder");
    let days = folder.path().join("days");
    let fleet = "[[boat]]\nid = \"07\"\nsource = \"old\"\ncrew = 2\n[[boat]]\nid = \"08\"\ncrew = 2\n";
    let (fleet, problems) = setup::fleet::parse("fleet.toml", fleet);
    assert!(problems.is_empty(), "{problems:?}");
    let setup = Setup { fleet, ..Setup::default() };
    let eight = BoatIx(1);

    // A session of five days ago, of which the retention leaves nothing.
    let then = Moment(wall_ms()).plus_ms(-5 * 86_400_000);
    let opened = Journal::open(&days, then, &then.to_string()[..10], MAX_BYTES).expect("a journal");
    let of_that_day = [
        Command::Assign("lent".to_owned(), Some(SEVEN)),
        Command::Assign("tracker 3".to_owned(), Some(SEVEN)),
        Command::SetWindLimit(Some(9.0)),
        Command::Assign("tracker 3".to_owned(), Some(eight)),
        Command::Assign("old".to_owned(), None),
        Command::Assign("lent".to_owned(), None),
    ];
    opened.journal.note_setup(opened.turn, then, &setup);
    for (turn, command) in (opened.turn + 1..).zip(of_that_day) {
        let row = record::row(&setup.fleet, &Input::Command { by: "Robin".to_owned(), command });
        opened.journal.note(turn, then, row, &[], true);
    }
    drop(opened.journal);

    let given = AssignedView { source: "tracker 3".to_owned(), boat: Some(eight), by_file: None };
    let taken = AssignedView { source: "old".to_owned(), boat: None, by_file: Some(SEVEN) };
    let back = Command::Assign("tracker 3".to_owned(), None);
    // The fleet of a tablet is in force only after the start; till then nobody knows boat 08.
    let known = Setup { fleet: setup.fleet[..1].to_vec(), ..setup.clone() };
    run_over(folder.path(), &known, std::slice::from_ref(&taken), None).await;
    // Taken back in the new session, it is gone for good.
    run_over(folder.path(), &setup, &[given, taken.clone()], Some(back.clone())).await;
    run_over(folder.path(), &setup, std::slice::from_ref(&taken), None).await;

    assert!(!opened.path.exists(), "old positions are deleted all the same");
    let mut files: Vec<_> = std::fs::read_dir(&days).expect("there").filter_map(Result::ok).collect();
    files.retain(|file| journal::day_of(&file.path()).is_some());
    assert_eq!(files.len(), 1);
    let expected = [
        ("dunlin".to_owned(), Command::Assign("tracker 3".to_owned(), Some(eight))),
        ("dunlin".to_owned(), Command::Assign("old".to_owned(), None)),
        ("Robin".to_owned(), back),
    ];
    assert_eq!(commands(&files[0].path(), &setup), expected, "noted anew: the next night finds them here");
}
