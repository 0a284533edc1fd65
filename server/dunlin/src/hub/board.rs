//! What every tablet is shown: the hub's own memory of it, so that one that joins sees what the
//! others see.

use std::{
    collections::{BTreeMap, BTreeSet, VecDeque},
    sync::Arc,
};

use dunlin_engine::{
    effect::{AlertChange, Effect, Manoeuvre},
    fleet::Boat,
    view::{BoatView, StreamView},
};

use super::{
    alert_line::alert_line,
    limits::{LOG_LINES_MAX, MANOEUVRES_MAX, TRAIL_POINTS_MAX, TRAIL_STEP_MS, WIND_POINTS_MAX, WIND_STEP_MS},
    view, wire,
};
use crate::{
    day::told,
    link::{Picture, SetUp},
};

/// Alerts remembered, standing or over; the engine's own bound is lower. The oldest goes first.
const ALERTS_MAX: usize = 2_000;

/// One boat as last told, and when that changed.
#[derive(Clone, Debug)]
struct Told {
    now: wire::BoatNow,
    changed_in: u64,
}

/// An alert, and the turn whose record on disk makes this state of it safe.
#[derive(Clone, Debug)]
struct Kept {
    state: wire::AlertState,
    turn: u64,
}

/// All that is shown.
#[derive(Clone, Debug, Default)]
pub struct Board {
    setup: wire::SetupState,
    set_up_from: Option<(Arc<SetUp>, Option<StreamView>)>,
    day: wire::DayState,
    signal: Option<wire::SignalState>,
    tick: u64,
    now_ms: i64,
    boats: Vec<Told>,
    needs: Vec<wire::Need>,
    wind: Option<wire::WindState>,
    winds: VecDeque<wire::WindPoint>,
    strangers: Vec<wire::Stranger>,
    trails: Vec<VecDeque<wire::TrailPoint>>,
    alerts: BTreeMap<u32, Kept>,
    recorded: u64,
    manoeuvres: VecDeque<wire::ManoeuvreState>,
    tally: Option<wire::TallyState>,
    notices: Vec<wire::Notice>,
    /// Codes of those that the driver told.
    from_driver: BTreeSet<String>,
    log: VecDeque<wire::LogLine>,
}

fn push_bounded<T>(queue: &mut VecDeque<T>, value: T, most: usize) {
    if queue.len() >= most {
        queue.pop_front();
    }
    queue.push_back(value);
}

impl Board {
    /// Begins anew from a picture: at the start, after a change of fleet, and when effects were
    /// missed. Trails of a fleet of the same size are kept.
    pub fn restart(&mut self, picture: &Picture) {
        self.boats.clear();
        self.alerts.clear();
        if self.trails.len() != picture.boats.len() {
            self.trails = vec![VecDeque::new(); picture.boats.len()];
        }
        self.recorded = picture.recorded;
        for alert in &picture.alerts {
            let state = view::alert(alert, view::changed_ms(alert), picture.turn <= picture.recorded);
            self.alerts.insert(state.id, Kept { state, turn: picture.turn });
        }
        self.troubles(picture);
        self.see(picture);
    }

    /// Takes a picture in; gives what changed since the last one, and its number.
    pub fn see(&mut self, picture: &Picture) -> (u64, wire::Tick) {
        self.tick += 1;
        self.now_ms = picture.at.0;
        if self.trails.len() != picture.boats.len() {
            self.trails = vec![VecDeque::new(); picture.boats.len()];
            self.boats.clear();
        }
        let mut changed = Vec::new();
        for (ix, boat) in picture.boats.iter().enumerate() {
            let now = view::boat(boat);
            match self.boats.get_mut(ix) {
                Some(told) if told.now == now => continue,
                Some(told) => *told = Told { now: now.clone(), changed_in: self.tick },
                None => self.boats.push(Told { now: now.clone(), changed_in: self.tick }),
            }
            changed.push(now);
            if let (Some(point), Some(trail)) = (view::trail_point(boat), self.trails.get_mut(ix))
                && trail.back().is_none_or(|last| point.0 - last.0 >= TRAIL_STEP_MS)
            {
                push_bounded(trail, point, TRAIL_POINTS_MAX);
            }
        }
        let all = view::tick(picture);
        self.needs = all.needs;
        if let Some(wind) = &all.wind
            && self.winds.back().is_none_or(|last| wind.at_ms - last.0 >= WIND_STEP_MS)
        {
            let point = (wind.at_ms, wind.from_deg, wind.speed_kn, wind.gust_kn);
            push_bounded(&mut self.winds, point, WIND_POINTS_MAX);
        }
        self.wind = all.wind;
        self.strangers = all.strangers;
        (self.tick, self.tick_of(changed))
    }

    /// Puts positions that came late into their boat's trail, by time; gives what is new of them.
    pub fn late(&mut self, views: &[BoatView]) -> Option<wire::ToTablet> {
        let ix = usize::from(views.first()?.boat.0);
        let trail = self.trails.get_mut(ix)?;
        let mut new = Vec::new();
        for point in views.iter().filter_map(view::trail_point) {
            let place = trail.partition_point(|known| known.0 < point.0);
            let is_known = |known: Option<&wire::TrailPoint>| {
                known.is_some_and(|known| (known.0 - point.0).abs() < TRAIL_STEP_MS / 2)
            };
            if !is_known(trail.get(place))
                && !is_known(place.checked_sub(1).and_then(|before| trail.get(before)))
            {
                trail.insert(place, point);
                new.push(point);
            }
        }
        while trail.len() > TRAIL_POINTS_MAX {
            trail.pop_front();
        }
        let ix = u32::try_from(ix).ok()?;
        (!new.is_empty()).then_some(wire::ToTablet::Late(wire::Trail { ix, points: new }))
    }

    /// What changed after the tick `after`, for a tablet that could not keep up.
    pub fn since(&self, after: u64) -> (u64, wire::Tick) {
        let changed = self.boats.iter().filter(|told| told.changed_in > after);
        (self.tick, self.tick_of(changed.map(|told| told.now.clone()).collect()))
    }

    fn tick_of(&self, boats: Vec<wire::BoatNow>) -> wire::Tick {
        wire::Tick {
            now_ms: self.now_ms,
            boats,
            needs: self.needs.clone(),
            wind: self.wind.clone(),
            strangers: self.strangers.clone(),
        }
    }

    /// The number of the newest tick.
    pub fn tick_number(&self) -> u64 {
        self.tick
    }

    /// Takes an effect in; gives the messages that follow at once.
    pub fn tell(&mut self, turn: u64, effect: &Effect, fleet: &[Boat]) -> Vec<wire::ToTablet> {
        match effect {
            Effect::Alert(change) => self.alert(turn, change, fleet),
            Effect::Manoeuvre(done) => vec![self.manoeuvre(done)],
            // Told with the picture of the same turn, or counted by the feeds.
            Effect::Rounding(_) | Effect::Wind(_) | Effect::Tally(_) | Effect::Discard(_) => Vec::new(),
        }
    }

    fn alert(&mut self, turn: u64, change: &AlertChange, fleet: &[Boat]) -> Vec<wire::ToTablet> {
        let state = view::alert(&change.alert, change.at.0, turn <= self.recorded);
        if self.alerts.len() >= ALERTS_MAX {
            let over = self.alerts.iter().find(|(_, kept)| kept.state.cleared.is_some());
            if let Some(oldest) = over.or(self.alerts.iter().next()).map(|(id, _)| *id) {
                self.alerts.remove(&oldest);
            }
        }
        let before = self.alerts.insert(state.id, Kept { state: state.clone(), turn });
        let mut told = vec![wire::ToTablet::Alert(state.clone())];
        let line = alert_line(change, &state, before.map(|kept| kept.state).as_ref(), fleet);
        if let Some(line) = line {
            told.push(self.log(line));
        }
        told
    }

    fn manoeuvre(&mut self, done: &Manoeuvre) -> wire::ToTablet {
        let state = view::manoeuvre(done);
        push_bounded(&mut self.manoeuvres, state.clone(), MANOEUVRES_MAX);
        wire::ToTablet::Manoeuvre(state)
    }

    /// Adds a line to the log.
    pub fn log(&mut self, line: wire::LogLine) -> wire::ToTablet {
        push_bounded(&mut self.log, line.clone(), LOG_LINES_MAX);
        wire::ToTablet::Log(line)
    }

    /// Replaces what the papers say in the log: at the start, and when something was taken back or a
    /// person deleted. What the watch said of its alerts stays: the papers do not know it.
    pub fn replace_log(&mut self, papers: impl IntoIterator<Item = wire::LogLine>) {
        let alerts = std::mem::take(&mut self.log).into_iter().filter(|line| line.alert.is_some());
        self.fill_log(alerts.chain(papers).collect());
    }

    /// Adds what the watch said before a restart, read back from the journal.
    pub fn add_past(&mut self, lines: impl IntoIterator<Item = wire::LogLine>) {
        let known = std::mem::take(&mut self.log);
        let past: Vec<wire::LogLine> = lines.into_iter().filter(|line| !known.contains(line)).collect();
        self.fill_log(past.into_iter().chain(known).collect());
    }

    fn fill_log(&mut self, mut lines: Vec<wire::LogLine>) {
        lines.sort_by_key(|line| line.at_ms);
        for line in lines {
            push_bounded(&mut self.log, line, LOG_LINES_MAX);
        }
    }

    /// Everything up to `turn` is on disk; gives the alerts whose last state has become safe.
    pub fn recorded(&mut self, turn: u64) -> Vec<wire::ToTablet> {
        self.recorded = self.recorded.max(turn);
        let mut safe = Vec::new();
        for kept in self.alerts.values_mut() {
            if !kept.state.recorded && kept.turn <= turn {
                kept.state.recorded = true;
                safe.push(wire::ToTablet::Alert(kept.state.clone()));
            }
        }
        safe
    }

    /// The head count if it changed.
    pub fn count(&mut self, tally: &wire::TallyState) -> Option<wire::ToTablet> {
        if self.tally.as_ref() == Some(tally) {
            return None;
        }
        self.tally = Some(tally.clone());
        Some(wire::ToTablet::Tally(tally.clone()))
    }

    /// A trouble begins, changes or (with no text) ends; the whole list if that changed anything.
    pub fn notice(&mut self, code: &str, standing: Option<wire::Notice>) -> Option<wire::ToTablet> {
        let before = self.notices.clone();
        self.notices.retain(|notice| notice.code != code);
        self.notices.extend(standing);
        self.notices.sort_by(|one, other| one.code.cmp(&other.code));
        (before != self.notices).then(|| wire::ToTablet::Notices { notices: self.notices.clone() })
    }

    /// As [`Board::notice`], for a trouble of the driver.
    pub fn told_by_driver(&mut self, code: &str, standing: Option<wire::Notice>) -> Option<wire::ToTablet> {
        self.from_driver.insert(code.to_owned());
        self.notice(code, standing)
    }

    /// The driver's troubles as a picture has them; the whole list if that changed anything. What the
    /// driver told before the hub listened is known by this alone; the hub's own troubles stay.
    pub fn troubles(&mut self, picture: &Picture) -> Option<wire::ToTablet> {
        let before = self.notices.clone();
        let standing: Vec<wire::Notice> = picture.notices.iter().filter_map(view::notice).collect();
        let codes = standing.iter().map(|notice| notice.code.clone()).collect();
        let gone = std::mem::replace(&mut self.from_driver, codes);
        self.notices
            .retain(|notice| !gone.contains(&notice.code) && !self.from_driver.contains(&notice.code));
        self.notices.extend(standing);
        self.notices.sort_by(|one, other| one.code.cmp(&other.code));
        (before != self.notices).then(|| wire::ToTablet::Notices { notices: self.notices.clone() })
    }

    /// Whether a trouble of this code stands.
    pub fn has_notice(&self, code: &str) -> bool {
        self.notices.iter().any(|notice| notice.code == code)
    }

    /// An alert as last told.
    pub fn alert_state(&self, id: u32) -> Option<&wire::AlertState> {
        self.alerts.get(&id).map(|kept| &kept.state)
    }

    /// Whether the set-up last told was made from this very set-up and stream. Asked at each picture,
    /// since making it anew takes as long as the whole tick.
    pub fn is_set_up_from(&mut self, picture: &Picture) -> bool {
        let same = self
            .set_up_from
            .as_ref()
            .is_some_and(|(setup, stream)| Arc::ptr_eq(setup, &picture.setup) && *stream == picture.stream);
        self.set_up_from = Some((Arc::clone(&picture.setup), picture.stream));
        same
    }

    /// The set-up if it changed.
    pub fn set_up(&mut self, setup: wire::SetupState) -> Option<wire::ToTablet> {
        if self.setup == setup {
            return None;
        }
        self.setup = setup;
        Some(wire::ToTablet::Setup(self.setup.clone()))
    }

    /// The day's papers if they changed.
    pub fn day(&mut self, day: wire::DayState) -> Option<wire::ToTablet> {
        if self.day == day {
            return None;
        }
        self.day = day;
        Some(wire::ToTablet::Day(self.day.clone()))
    }

    /// The signal to everyone afloat if it changed.
    pub fn signal(&mut self, signal: Option<wire::SignalState>) -> Option<wire::ToTablet> {
        if self.signal == signal {
            return None;
        }
        self.signal = signal;
        Some(wire::ToTablet::Signal { signal: self.signal.clone() })
    }

    /// All of it, for one tablet.
    pub fn snapshot(&self, you: wire::You, now_ms: i64, watching_since_ms: i64) -> wire::Snapshot {
        let sees_notes = you.role >= wire::AccessRole::Instructor;
        wire::Snapshot {
            version: wire::WIRE_VERSION,
            now_ms,
            watching_since_ms,
            you,
            setup: self.setup.clone(),
            tick: self.tick_of(self.boats.iter().map(|told| told.now.clone()).collect()),
            trails: self
                .trails
                .iter()
                .enumerate()
                .filter(|(_, points)| !points.is_empty())
                .map(|(ix, points)| wire::Trail {
                    ix: u32::try_from(ix).unwrap_or(u32::MAX),
                    points: points.iter().copied().collect(),
                })
                .collect(),
            winds: self.winds.iter().copied().collect(),
            alerts: self.alerts.values().map(|kept| kept.state.clone()).collect(),
            manoeuvres: self.manoeuvres.iter().cloned().collect(),
            tally: self.tally.clone().unwrap_or_default(),
            day: if sees_notes { self.day.clone() } else { told::for_viewers(&self.day) },
            notices: self.notices.clone(),
            signal: self.signal.clone(),
            log: self.log.iter().cloned().collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::{Notice, NoticeKind};
    use dunlin_engine::{Engine, Setup, effect::Seen, moment::Moment, units::Position};

    #[test]
    fn what_the_driver_told_before_anybody_listened_is_shown_and_the_hubs_own_stays() {
        let notice = |code: &str| wire::Notice { code: code.to_owned(), text: String::new(), since_ms: 0 };
        let picture = |kinds: &[NoticeKind]| {
            let engine = Engine::new(Setup::default());
            let trouble = |kind: &NoticeKind| Notice {
                kind: kind.clone(),
                since: Some(Moment(0)),
                text: String::new(),
            };
            picture_of(&engine, kinds.iter().map(trouble).collect())
        };
        let codes = |board: &Board| -> Vec<String> {
            board.notices.iter().map(|notice| notice.code.clone()).collect()
        };
        let mut board = Board::default();
        board.notice("phone-doubled:07", Some(notice("phone-doubled:07")));
        let down = NoticeKind::FeedDown("mast".to_owned());
        assert!(board.troubles(&picture(std::slice::from_ref(&down))).is_some());
        assert_eq!(codes(&board), ["feed-down:mast", "phone-doubled:07"]);
        assert!(board.troubles(&picture(&[down])).is_none(), "told once");
        // Told by a message and over by the time of the picture.
        board.told_by_driver("clock-moved", Some(notice("clock-moved")));
        assert!(board.troubles(&picture(&[])).is_some());
        assert_eq!(codes(&board), ["phone-doubled:07"]);
    }

    fn picture_of(engine: &Engine, notices: Vec<Notice>) -> Picture {
        Picture {
            at: Moment(0),
            turn: 0,
            recorded: 0,
            setup: Arc::new(engine.setup().clone()),
            alerts: Vec::new(),
            boats: Vec::new(),
            needs: Vec::new(),
            strangers: Vec::new(),
            assigned: Vec::new().into(),
            wind: None,
            stream: None,
            feeds: Vec::new(),
            sources: Arc::from([]),
            notices,
        }
    }

    #[test]
    fn late_positions_stand_in_a_trail_by_their_time_and_once() {
        let (fleet, _) = crate::setup::fleet::parse("fleet.toml", "[[boat]]\nid = \"07\"\ncrew = 2\n");
        let engine = Engine::new(Setup { fleet, ..Setup::default() });
        let at = |s: i64| {
            let position = Position::new(50.0, -5.0).expect("on the earth");
            let seen = Seen { position, taken: Moment(s * 1_000) };
            BoatView { seen: Some(seen), ..engine.boats().remove(0) }
        };
        let mut board = Board { trails: vec![VecDeque::new()], ..Board::default() };
        for s in [0, 5, 60] {
            board.trails[0].extend(view::trail_point(&at(s)));
        }
        let late: Vec<BoatView> = [6, 20, 30, 59].map(at).into();
        let told = board.late(&late);
        let times = |points: &mut dyn Iterator<Item = &wire::TrailPoint>| -> Vec<i64> {
            points.map(|point| point.0 / 1_000).collect()
        };
        assert_eq!(times(&mut board.trails[0].iter()), [0, 5, 20, 30, 60]);
        match told {
            Some(wire::ToTablet::Late(trail)) => assert_eq!(times(&mut trail.points.iter()), [20, 30]),
            other => panic!("{other:?}"),
        }
        assert_eq!(board.late(&late), None, "known by now");
    }
}
