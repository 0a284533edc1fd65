//! An alert's life against `alert_states.csv` (IMO MSC.302(87), MSC.252(83), IEC 62923), and what the
//! table does not say: one situation one alert, escalation, dismissal, no chattering.

use dunlin_engine::{
    alerts::{AlertState, Alerts, Claim, ESCALATE_MS, SILENCE_MS, Topic},
    effect::{Alert, AlertChange, AlertKind, Effect, Level, Phase},
    fleet::BoatIx,
    input::{AlertId, Command},
    moment::Moment,
};
use proptest::prelude::*;
use serde::Deserialize;

const TOPIC: Topic = Topic { boat: Some(BoatIx(3)), kind: AlertKind::OutsideArea, tag: 0 };

/// Alerts and a clock, driven as the engine drives them.
struct Bench {
    alerts: Alerts,
    now: Moment,
    told: Vec<AlertChange>,
}

impl Bench {
    fn new() -> Bench {
        Bench { alerts: Alerts::new(), now: Moment(1_000_000), told: Vec::new() }
    }

    fn hold(&mut self, level: Level) {
        let claim = Claim { level, began: self.now, confidence: None };
        let said = format!("as of {}", self.now.0);
        self.alerts.hold(self.now, TOPIC, claim, || vec![said]);
        self.take();
    }

    fn release(&mut self) {
        self.alerts.release(self.now, TOPIC, "the rule's own reason");
        self.take();
    }

    fn order(&mut self, command: impl FnOnce(AlertId) -> Command) {
        let id = self.latest().id;
        self.alerts.on_command(self.now, "Ada", &command(id));
        self.take();
    }

    fn wait(&mut self, ms: i64) {
        for _ in 0..ms / 1000 {
            self.now = self.now.plus_ms(1000);
            self.alerts.on_tick(self.now);
            self.take();
        }
    }

    fn take(&mut self) {
        for effect in self.alerts.drain() {
            if let Effect::Alert(change) = effect {
                self.told.push(change);
            }
        }
    }

    fn latest(&self) -> &Alert {
        let standing = self.alerts.about(TOPIC);
        standing.or_else(|| self.alerts.cleared().next_back()).expect("an alert was raised")
    }

    fn state(&self) -> AlertState {
        self.alerts.state(TOPIC)
    }

    /// A bench whose alert has come to `state` by the shortest way.
    fn at(state: &str) -> Bench {
        let mut bench = Bench::new();
        if state != "normal" {
            bench.hold(Level::Warning);
        }
        match state {
            "normal" | "active-unacknowledged" => (),
            "active-silenced" => bench.order(Command::Silence),
            "active-acknowledged" => bench.order(Command::Acknowledge),
            "active-responsibility-transferred" => {
                bench.order(|id| Command::Attend(id, Some(BoatIx(0))));
            }
            "rectified-unacknowledged" => bench.release(),
            unknown => panic!("the table has a state this test does not know: {unknown}"),
        }
        bench
    }
}

fn named(state: AlertState) -> &'static str {
    match state {
        AlertState::Normal => "normal",
        AlertState::Unacknowledged => "active-unacknowledged",
        AlertState::Silenced => "active-silenced",
        AlertState::Acknowledged => "active-acknowledged",
        AlertState::Transferred => "active-responsibility-transferred",
        AlertState::RectifiedUnacknowledged => "rectified-unacknowledged",
    }
}

#[derive(Debug, Deserialize)]
struct StateRow {
    state: String,
    event: String,
    next_state: String,
}

#[test]
fn every_transition_of_the_table_holds() {
    let mut rows = 0;
    for row in dunlin_tests::rows::<StateRow>("alert_states.csv") {
        let mut bench = Bench::at(&row.state);
        assert_eq!(named(bench.state()), row.state, "{row:?}: the way there");
        bench.now = bench.now.plus_ms(1000);
        match row.event.as_str() {
            "condition appears" | "condition appears again" => bench.hold(Level::Warning),
            "acknowledge" => bench.order(Command::Acknowledge),
            "silence" => bench.order(Command::Silence),
            "condition ends" => bench.release(),
            "responsibility taken by another station" => {
                bench.order(|id| Command::Attend(id, Some(BoatIx(0))));
            }
            "30 s pass" => bench.wait(SILENCE_MS),
            unknown => panic!("the table has an event this test does not know: {unknown}"),
        }
        assert_eq!(named(bench.state()), row.next_state, "{row:?}");
        rows += 1;
    }
    assert_eq!(rows, 12);
}

#[test]
fn a_silenced_alert_stays_quiet_no_longer_than_the_standard_allows() {
    let mut bench = Bench::at("active-silenced");
    bench.wait(SILENCE_MS - 1000);
    assert_eq!(bench.state(), AlertState::Silenced);
    bench.wait(1000);
    assert_eq!(bench.state(), AlertState::Unacknowledged);
    assert_eq!(bench.told.last().map(|change| change.phase), Some(Phase::Changed), "tablets must be told");
}

#[test]
fn nobody_heeding_a_warning_makes_it_an_alarm() {
    let mut bench = Bench::at("active-unacknowledged");
    bench.wait(ESCALATE_MS - 1000);
    assert_eq!(bench.latest().level, Level::Warning);
    bench.wait(1000);
    assert_eq!(bench.latest().level, Level::Alarm);
    bench.hold(Level::Warning); // the rule itself has not changed its mind, and need not
    assert_eq!(bench.latest().level, Level::Alarm);

    let mut heeded = Bench::at("active-acknowledged");
    heeded.wait(10 * ESCALATE_MS);
    assert_eq!(heeded.latest().level, Level::Warning, "somebody has it");
}

#[test]
fn a_worse_alert_has_to_be_acknowledged_anew() {
    let mut bench = Bench::at("active-acknowledged");
    bench.hold(Level::Alarm);
    assert_eq!(bench.state(), AlertState::Unacknowledged);
    assert_eq!(bench.told.last().map(|change| change.alert.level), Some(Level::Alarm), "told at once");
    bench.order(Command::Acknowledge);
    bench.wait(20_000);
    bench.hold(Level::Warning);
    assert_eq!(bench.state(), AlertState::Acknowledged, "a milder one need not");
}

#[test]
fn one_situation_is_one_alert() {
    let mut bench = Bench::new();
    for _ in 0..100 {
        bench.hold(Level::Warning);
        bench.wait(1000);
    }
    let raised = bench.told.iter().filter(|change| change.phase == Phase::Raised).count();
    assert_eq!((raised, bench.alerts.standing().count()), (1, 1));
    // Evidence is told every 5 s in the first minute, every 15 s after it.
    assert!((10..=20).contains(&bench.told.len()), "{} changes", bench.told.len());
}

#[test]
fn what_clears_unheeded_and_returns_is_the_same_alert() {
    let mut bench = Bench::at("rectified-unacknowledged");
    let id = bench.latest().id;
    bench.wait(60_000);
    bench.hold(Level::Warning);
    assert_eq!(bench.latest().id, id);
    assert_eq!(bench.alerts.cleared().count(), 0);

    let mut later = Bench::at("rectified-unacknowledged");
    later.wait(600_000);
    later.hold(Level::Warning);
    assert_ne!(later.latest().id, id, "ten minutes on it is another matter");
}

#[test]
fn what_a_person_cleared_returns_only_when_it_came_again_or_grew() {
    let clear = |id| Command::Clear(id, "towed in".to_owned());
    let mut bench = Bench::at("active-unacknowledged");
    let began = bench.now;
    let still = |bench: &mut Bench, level| {
        let claim = Claim { level, began, confidence: None };
        bench.alerts.hold(bench.now, TOPIC, claim, || vec!["still so".to_owned()]);
        bench.take();
    };
    bench.order(clear);
    assert_eq!(bench.told.last().map(|change| change.phase), Some(Phase::Cleared));
    assert_eq!(bench.latest().cleared.as_ref().map(|(_, reason)| reason.as_str()), Some("towed in (Ada)"));
    bench.wait(300_000);
    still(&mut bench, Level::Warning);
    assert_eq!(bench.state(), AlertState::Normal, "it never went away");
    still(&mut bench, Level::Alarm);
    assert_eq!(bench.state(), AlertState::Unacknowledged, "it grew");
    bench.order(clear);
    bench.release();
    bench.wait(1000);
    bench.hold(Level::Warning);
    assert_eq!(bench.state(), AlertState::Unacknowledged, "it went and came again");
}

#[test]
fn a_persons_word_is_not_ended_by_a_rule() {
    let mut bench = Bench::new();
    let claim = Claim { level: Level::Emergency, began: bench.now, confidence: None };
    bench.alerts.declare(bench.now, TOPIC, claim, vec!["Ada says so".to_owned()]);
    bench.take();
    bench.wait(60_000);
    bench.hold(Level::Warning);
    bench.release();
    assert_eq!(bench.latest().level, Level::Emergency);
    assert!(bench.latest().cleared.is_none());
    bench.order(|id| Command::Clear(id, "aboard again".to_owned()));
    assert!(bench.latest().cleared.is_some());
}

#[test]
fn heads_and_attendance_are_told_at_once() {
    let mut bench = Bench::at("active-unacknowledged");
    bench.order(|id| Command::HeadsCounted(id, 1));
    assert_eq!(bench.told.last().and_then(|change| change.alert.heads), Some(1));
    bench.order(|id| Command::Attend(id, Some(BoatIx(0))));
    assert_eq!(bench.state(), AlertState::Transferred, "whoever goes has heard of it");
    bench.order(|id| Command::Attend(id, None));
    assert_eq!(bench.state(), AlertState::Acknowledged);
}

#[test]
fn a_rule_in_doubt_does_not_chatter_under_an_escalated_alarm() {
    let mut bench = Bench::new();
    bench.hold(Level::Warning);
    bench.wait(ESCALATE_MS);
    assert_eq!(bench.latest().level, Level::Alarm);
    let told = bench.told.len();
    for level in [Level::Caution, Level::Warning, Level::Caution] {
        bench.hold(level);
        bench.wait(1_000);
    }
    assert_eq!(bench.told.len(), told, "what is shown has not changed");
    bench.hold(Level::Emergency);
    assert_eq!(bench.latest().level, Level::Emergency, "and worse is told at once");
}

/// What can befall the alerts of one topic.
#[derive(Clone, Copy, Debug)]
enum Op {
    Wait(u8),
    Hold(Level),
    Release,
    Acknowledge,
    Silence,
    Clear,
}

fn any_op() -> impl Strategy<Value = Op> {
    let level = prop::sample::select(vec![Level::Caution, Level::Warning, Level::Alarm]);
    prop_oneof![
        4 => (0..90_u8).prop_map(Op::Wait),
        6 => level.prop_map(Op::Hold),
        2 => Just(Op::Release),
        1 => Just(Op::Acknowledge),
        1 => Just(Op::Silence),
        1 => Just(Op::Clear),
    ]
}

proptest! {
    /// Whatever happens: raised and cleared alternate for each alert, a cleared one is never changed
    /// but by acknowledging it, and changes are no more than what people did, levels, and one in 5 s.
    #[test]
    fn phases_alternate_and_nothing_chatters(ops in prop::collection::vec(any_op(), 0..200)) {
        let mut bench = Bench::new();
        let mut acts = 0;
        for op in ops {
            match op {
                Op::Wait(s) => bench.wait(i64::from(s) * 1000),
                Op::Hold(level) => bench.hold(level),
                Op::Release => bench.release(),
                Op::Acknowledge | Op::Silence | Op::Clear if bench.told.is_empty() => (),
                Op::Acknowledge => { acts += 1; bench.order(Command::Acknowledge); }
                Op::Silence => { acts += 1; bench.order(Command::Silence); }
                Op::Clear => { acts += 1; bench.order(|id| Command::Clear(id, "seen".to_owned())); }
            }
        }
        let mut standing: Option<&AlertChange> = None;
        let mut quick = 0;
        for change in &bench.told {
            match (change.phase, standing) {
                (Phase::Raised, None) => standing = Some(change),
                (Phase::Changed, Some(before)) => {
                    prop_assert_eq!(change.alert.id, before.alert.id);
                    let same = change.alert.level == before.alert.level;
                    quick += usize::from(same && change.at.ms_since(before.at) < 5_000);
                    standing = Some(change);
                }
                (Phase::Cleared, Some(before)) => {
                    prop_assert_eq!(change.alert.id, before.alert.id);
                    standing = None;
                }
                (Phase::Changed, None) => {
                    prop_assert!(change.alert.cleared.is_some() && change.alert.acknowledged.is_some());
                }
                (Phase::Raised, Some(_)) | (Phase::Cleared, None) => {
                    prop_assert!(false, "{:?} out of turn", change.phase);
                }
            }
        }
        // A silence that runs out is told too, so each act may bring two quick changes.
        prop_assert!(quick <= 2 * acts, "{quick} quick changes for {acts} acts");
        prop_assert_eq!(standing.is_some(), bench.alerts.about(TOPIC).is_some());
    }
}
