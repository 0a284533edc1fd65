//! A driver for tests of the hub: a real engine without a journal, whose clock the test moves.

use std::{sync::Arc, time::Duration};

use dunlin::link::{ASKS_MAX, Ask, Done, Link, PUBLISH_MAX, Picture, Publish, Refusal, SetUp};
use dunlin_engine::{
    Engine,
    effect::Effect,
    input::{Command, FeedName, Input},
    moment::Moment,
};
use tokio::sync::{broadcast, mpsc, watch};

/// What a test does to the driver.
#[derive(Debug)]
enum Push {
    Line(String),
    Pass(i64),
}

/// The test's end.
#[derive(Clone, Debug)]
pub struct Bench {
    pushes: mpsc::Sender<Push>,
    /// The hub's end.
    pub link: Link,
}

impl Bench {
    /// Starts a driver whose time stands at `begin` until moved.
    pub fn start(setup: SetUp, begin: Moment) -> Bench {
        let (asks, asked) = mpsc::channel(ASKS_MAX);
        let (publish, _) = broadcast::channel(PUBLISH_MAX);
        let mut turn = Turn { engine: Engine::new(setup), now: begin, turn: 0, publish: publish.clone() };
        turn.take(Input::Wake);
        let (pictures, picture) = watch::channel(Arc::new(turn.picture()));
        let (pushes, pushed) = mpsc::channel(1_000);
        tokio::spawn(run(turn, asked, pushed, pictures));
        Bench { pushes, link: Link::new(asks, publish, picture) }
    }

    /// One line through the feed `test`.
    pub async fn line(&self, line: &str) {
        self.pushes.send(Push::Line(line.to_owned())).await.expect("the driver runs");
    }

    /// Lets `ms` pass, second by second.
    pub async fn pass(&self, ms: i64) {
        self.pushes.send(Push::Pass(ms)).await.expect("the driver runs");
    }
}

struct Turn {
    engine: Engine,
    now: Moment,
    turn: u64,
    publish: broadcast::Sender<Publish>,
}

impl Turn {
    fn take(&mut self, input: Input) -> Done {
        self.turn += 1;
        let effects: Arc<[Effect]> = self.engine.on(self.now, input).into();
        if !effects.is_empty() {
            let told = Publish::Effects { turn: self.turn, at: self.now, effects: Arc::clone(&effects) };
            drop(self.publish.send(told));
        }
        drop(self.publish.send(Publish::Recorded { turn: self.turn }));
        Done { at: self.now, turn: self.turn, effects }
    }

    fn command(&mut self, by: String, command: Command) -> Result<Done, Refusal> {
        let named = match &command {
            Command::Acknowledge(alert)
            | Command::Silence(alert)
            | Command::Attend(alert, _)
            | Command::Clear(alert, _)
            | Command::HeadsCounted(alert, _) => Some(*alert),
            _ => None,
        };
        if named.is_some_and(|named| !self.engine.alerts().iter().any(|alert| alert.id == named)) {
            return Err(Refusal::NoSuchAlert);
        }
        Ok(self.take(Input::Command { by, command }))
    }

    fn picture(&self) -> Picture {
        Picture {
            at: self.now,
            turn: self.turn,
            recorded: self.turn,
            setup: Arc::new(self.engine.setup().clone()),
            alerts: self.engine.alerts(),
            boats: self.engine.boats(),
            needs: self.engine.needs(),
            strangers: self.engine.strangers(),
            assigned: self.engine.assigned().into(),
            wind: self.engine.wind().cloned(),
            stream: self.engine.stream(),
            feeds: Vec::new(),
            sources: Arc::default(),
            notices: Vec::new(),
        }
    }
}

async fn run(
    mut turn: Turn,
    mut asked: mpsc::Receiver<Ask>,
    mut pushed: mpsc::Receiver<Push>,
    pictures: watch::Sender<Arc<Picture>>,
) {
    let mut beat = tokio::time::interval(Duration::from_millis(200));
    loop {
        // Nobody waits for an answer whose receiver is gone.
        tokio::select! {
            ask = asked.recv() => match ask {
                Some(Ask::Command { by, command, reply }) => {
                    let done = turn.command(by, command);
                    pictures.send_replace(Arc::new(turn.picture()));
                    drop(reply.send(done));
                }
                Some(Ask::Reports { source, reports, reply }) => {
                    let mut effects = Vec::new();
                    for report in reports {
                        let done = turn.take(Input::Report { source: source.clone(), report });
                        effects.extend(done.effects.iter().cloned());
                    }
                    let (at, number) = (turn.now, turn.turn);
                    drop(reply.send(Ok(Done { at, turn: number, effects: effects.into() })));
                }
                Some(Ask::SetUp { setup, reply, .. }) => {
                    turn.engine = Engine::new(setup);
                    let done = turn.take(Input::Wake);
                    pictures.send_replace(Arc::new(turn.picture()));
                    drop(turn.publish.send(Publish::Renewed { turn: turn.turn }));
                    drop(reply.send(Ok(done)));
                }
                None => return,
            },
            push = pushed.recv() => match push {
                Some(Push::Line(line)) => {
                    let feed = FeedName("test".to_owned());
                    turn.take(Input::Line { feed, line: line.into_bytes() });
                }
                Some(Push::Pass(ms)) => {
                    let end = turn.now.plus_ms(ms);
                    while turn.now < end {
                        turn.now = turn.now.plus_ms(1_000).min(end);
                        turn.take(Input::Wake);
                    }
                }
                None => return,
            },
            _ = beat.tick() => drop(pictures.send_replace(Arc::new(turn.picture()))),
        }
    }
}
