//! Spreads what the driver publishes to all tablets: alerts at once, positions by the tick.

use std::{sync::Arc, time::Duration};

use dunlin_engine::{effect::Effect, units::kn_from_mps};
use tokio::sync::{
    broadcast::{self, error::RecvError},
    watch,
};
use tracing::{info, warn};

use super::{
    Hub, TickText,
    clerk::Work,
    encode,
    limits::STALLED_MS,
    view,
    wire::{self, ToTablet},
};
use crate::{
    link::{Picture, Publish},
    stop::Stop,
};

/// What the driver publishes, from the picture on that the board began with.
#[derive(Debug)]
pub struct Spread {
    hub: Arc<Hub>,
    published: broadcast::Receiver<Publish>,
    pictures: watch::Receiver<Arc<Picture>>,
}

impl Spread {
    /// Puts the picture of now on the board. To be done before a page is served: whoever joined earlier would be
    /// shown a fleet without alerts, and nothing would correct it.
    pub fn begin(hub: Arc<Hub>) -> Spread {
        let published = hub.link.subscribe();
        let mut pictures = hub.link.pictures();
        let first = pictures.borrow_and_update().clone();
        begin(&hub, &first);
        Spread { hub, published, pictures }
    }
}

/// Spreads until told to stop.
pub async fn run(spread: Spread, mut stop: Stop) {
    let Spread { hub, mut published, mut pictures } = spread;
    let mut seen = tokio::time::Instant::now();
    let mut every_second = tokio::time::interval(Duration::from_secs(1));
    every_second.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        tokio::select! {
            biased; // an alert goes before the positions of the same turn
            () = stop.wanted() => return,
            next = published.recv() => match next {
                Ok(next) => publish(&hub, next),
                Err(RecvError::Lagged(missed)) => {
                    warn!(missed, "Tablets begin anew: the hub could not keep up.");
                    begin(&hub, &hub.picture());
                    hub.tell_anew();
                }
                Err(RecvError::Closed) => return,
            },
            changed = pictures.changed() => {
                if changed.is_err() {
                    return;
                }
                seen = tokio::time::Instant::now();
                let picture = pictures.borrow_and_update().clone();
                show(&hub, &picture);
            }
            _ = every_second.tick() => watch_the_watch(&hub, seen),
        }
    }
}

fn begin(hub: &Hub, picture: &Picture) {
    let mut board = hub.board();
    board.restart(picture);
    let setup = setup_state(hub, picture);
    let changed = board.set_up(setup);
    hub.tell(&board, changed);
}

fn publish(hub: &Hub, publish: Publish) {
    match publish {
        Publish::Effects { turn, effects, .. } => {
            let picture = hub.picture();
            let mut board = hub.board();
            for effect in effects.iter() {
                let messages = board.tell(turn, effect, &picture.setup.fleet);
                hub.tell(&board, messages);
                if let Effect::Alert(change) = effect {
                    info!(
                        alert = change.alert.id.0,
                        kind = change.alert.kind.word(),
                        level = view::level_word(change.alert.level),
                        phase = ?change.phase,
                        "Alert."
                    );
                }
            }
            drop(board);
            for effect in effects.iter() {
                if let Effect::Tally(tally) = effect {
                    hub.give_clerk(Work::Tally(tally.clone()));
                }
            }
        }
        Publish::Late { views } => {
            let mut board = hub.board();
            let message = board.late(&views);
            hub.tell(&board, message);
        }
        Publish::Recorded { turn } => {
            let mut board = hub.board();
            let safe = board.recorded(turn);
            hub.tell(&board, safe);
        }
        Publish::Renewed { .. } => {
            begin(hub, &hub.picture());
            hub.phones.forget_assigned();
            hub.give_clerk(Work::Look);
            hub.tell_anew();
        }
        Publish::Notice(notice) => {
            let code = view::notice_code(&notice);
            let mut board = hub.board();
            let messages = board.told_by_driver(&code, view::notice(&notice));
            hub.tell(&board, messages);
        }
    }
}

fn show(hub: &Hub, picture: &Picture) {
    let mut board = hub.board();
    let (number, tick) = board.see(picture);
    let troubles = board.troubles(picture);
    hub.tell(&board, troubles);
    let changed = if board.is_set_up_from(picture) { None } else { board.set_up(setup_state(hub, picture)) };
    if changed.is_some() {
        hub.phones.forget_assigned();
        hub.give_clerk(Work::Look);
    }
    hub.tell(&board, changed);
    let text = encode(&ToTablet::Tick(tick));
    hub.ticks.send_replace(Arc::new(TickText { number, text }));
}

fn setup_state(hub: &Hub, picture: &Picture) -> wire::SetupState {
    let setup = &picture.setup;
    wire::SetupState {
        centre: hub.about.centre.clone(),
        demo: hub.about.demo,
        zones: view::zones(&setup.site),
        marks: view::marks(&setup.site),
        boats: setup.fleet.iter().enumerate().map(view::boat_info).collect(),
        wind_limit_kn: setup.wind_limit_mps.map(|limit| (kn_from_mps(limit) * 10.0).round() / 10.0),
        stream: picture.stream.as_ref().map(view::stream),
        base_map: hub.about.base_map.is_some(),
    }
}

/// Says so on every tablet when the driver has given no picture for too long: positions on the
/// screen are then older than they look, and nothing is being judged.
fn watch_the_watch(hub: &Hub, seen: tokio::time::Instant) {
    let silent_ms = i64::try_from(seen.elapsed().as_millis()).unwrap_or(i64::MAX);
    let stalled = silent_ms > STALLED_MS;
    let notice = stalled.then(|| wire::Notice {
        code: "watch-stalled".to_owned(),
        text: "The watch itself has stopped answering: nothing is being judged. Keep a look-out and restart dunlin."
            .to_owned(),
        since_ms: hub.now_ms() - silent_ms,
    });
    let mut board = hub.board();
    if stalled == board.has_notice("watch-stalled") {
        return;
    }
    let message = board.notice("watch-stalled", notice);
    hub.tell(&board, message);
}
