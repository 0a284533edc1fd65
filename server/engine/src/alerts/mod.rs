//! An alert's life: raised, silenced, acknowledged, attended, escalated, cleared; with its evidence.
//!
//! A rule says what holds ([`Alerts::hold`]) and what is over ([`Alerts::release`]), as often as it
//! likes. What people are told of it is decided here: one situation is one alert, a changed sentence
//! is told a few times a minute and not with every fix, and only the rule or a person ends it.

mod life;

pub use life::AlertState;

use std::collections::{BTreeMap, VecDeque};

use crate::{
    effect::{Alert, AlertChange, AlertKind, Effect, Level, Phase},
    fleet::BoatIx,
    input::{AlertId, Command, PersonId},
    limits::CLEARED_ALERTS_MAX,
    moment::Moment,
};

/// How long a silenced alert stays quiet, ms: IMO MSC.252(83) 20.2.5 (30 s).
pub const SILENCE_MS: i64 = 30_000;

/// After how long a warning that nobody acknowledged becomes an alarm, ms. MSC.302(87) 6.2.2 makes
/// an alarm of an escalated warning; makers of ship's equipment set the time between 0 and 300 s.
/// Two minutes are common practice, no source: time to finish what one is at, not to forget it.
pub const ESCALATE_MS: i64 = 120_000;

/// An alert that comes back this soon after it cleared by itself, unacknowledged, is the same
/// situation and the same alert, ms. Common practice, no source.
const SAME_SITUATION_MS: i64 = 120_000;

/// Least time between two changes that only tell newer evidence, ms, in an alert's first minute.
const REFRESH_YOUNG_MS: i64 = 5_000;

/// The same later on.
const REFRESH_OLD_MS: i64 = 15_000;

/// How long an alert counts as young, ms.
const YOUNG_MS: i64 = 60_000;

/// What one alert is about. Two beacons are two situations; a boat's two stops are one at a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Topic {
    /// Whose; `None` for the session's own and for beacons no boat claims.
    pub boat: Option<BoatIx>,
    /// What about.
    pub kind: AlertKind,
    /// What tells several of one kind apart: a beacon's identity, a person's session and number; else 0.
    pub tag: u64,
}

impl Topic {
    /// A boat's alert of one kind.
    pub fn of(boat: BoatIx, kind: AlertKind) -> Topic {
        Topic { boat: Some(boat), kind, tag: 0 }
    }

    /// The session's own alert of one kind.
    pub fn session(kind: AlertKind) -> Topic {
        Topic { boat: None, kind, tag: 0 }
    }

    /// A person of the list who is overdue in no boat that is out.
    pub fn overdue(person: PersonId) -> Topic {
        let tag = u64::from(person.session) << 32 | u64::from(person.number);
        Topic { boat: None, kind: AlertKind::PersonOverdue, tag }
    }

    /// The person of the list it is about; `None`: it is about none.
    pub fn person(self) -> Option<PersonId> {
        let halves = (u32::try_from(self.tag >> 32), u32::try_from(self.tag & u64::from(u32::MAX)));
        match (self.kind, halves) {
            (AlertKind::PersonOverdue, (Ok(session), Ok(number))) => Some(PersonId { session, number }),
            _ => None,
        }
    }
}

/// What a rule claims of a topic at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Claim {
    /// How urgent by the rule itself.
    pub level: Level,
    /// When the situation began as far as can be told.
    pub began: Moment,
    /// Probability that it is what it says, 0..=1; `None` for facts.
    pub confidence: Option<f64>,
}

/// A standing alert with what only its own bookkeeping needs.
#[derive(Clone, Debug)]
struct Open {
    alert: Alert,
    /// What its rule says, before escalation.
    claimed: Level,
    /// Since when it has stood at this level without anyone acknowledging.
    unheeded_since: Moment,
    escalated: bool,
    /// Said by a person or a beacon: no rule ends it.
    declared: bool,
    told: Moment,
}

/// Ended by a person while the rule still held: quiet until it ends and returns, or worsens.
#[derive(Clone, Copy, Debug)]
struct Dismissed {
    at: Moment,
    level: Level,
}

/// All alerts of a session.
#[derive(Clone, Debug, Default)]
pub struct Alerts {
    last_id: u32,
    open: BTreeMap<Topic, Open>,
    dismissed: BTreeMap<Topic, Dismissed>,
    /// Newest last, at most [`CLEARED_ALERTS_MAX`].
    cleared: VecDeque<(Topic, Alert)>,
    untold: Vec<AlertChange>,
}

impl Alerts {
    /// None yet.
    pub fn new() -> Alerts {
        Alerts::default()
    }

    /// A rule's condition holds. Raises, changes or merely refreshes; `evidence` is asked for only
    /// when it will be told, most telling sentence first.
    pub fn hold(&mut self, now: Moment, topic: Topic, claim: Claim, evidence: impl FnOnce() -> Vec<String>) {
        if let Some(open) = self.open.get_mut(&topic) {
            let change = open.renew(now, claim, evidence);
            self.untold.extend(change);
        } else if !self.is_dismissed(topic, claim) {
            self.raise(now, topic, claim, evidence(), false);
        }
    }

    /// A person or a beacon says so: as [`Alerts::hold`], and no rule can end it. What a person has
    /// dismissed is quiet until a word that began later.
    pub fn declare(&mut self, now: Moment, topic: Topic, claim: Claim, evidence: Vec<String>) {
        if let Some(open) = self.open.get_mut(&topic) {
            let change = open.declare(now, claim, evidence);
            self.untold.extend(change);
        } else if !self.is_dismissed(topic, claim) {
            self.raise(now, topic, claim, evidence, true);
        }
    }

    /// The rule's clear condition is met, or the matter has passed to another rule. Nothing happens
    /// to an alert that a person declared; a dismissal ends, so that a return is told.
    pub fn release(&mut self, now: Moment, topic: Topic, reason: &str) {
        self.dismissed.remove(&topic);
        if self.open.get(&topic).is_some_and(|open| !open.declared) {
            self.close(now, topic, reason.to_owned());
        }
    }

    /// Ends an alert whoever raised it: the crew said they are fine, or a person marked the boat.
    pub fn withdraw(&mut self, now: Moment, topic: Topic, reason: &str) {
        self.close(now, topic, reason.to_owned());
    }

    /// Ends an alert by a person's word, who thereby has acknowledged it. Should its rule still hold,
    /// it is quiet until that ends and returns, or worsens.
    pub fn dismiss(&mut self, now: Moment, by: &str, topic: Topic, reason: &str) {
        let Some(open) = self.open.get_mut(&topic) else { return };
        open.alert.acknowledged.get_or_insert_with(|| (by.to_owned(), now));
        let level = open.claimed;
        self.close(now, topic, format!("{reason} ({by})"));
        self.dismissed.insert(topic, Dismissed { at: now, level });
    }

    /// Escalates what nobody heeds and lets silenced alerts sound again. To be called every tick.
    pub fn on_tick(&mut self, now: Moment) {
        for open in self.open.values_mut() {
            let resounds = open.alert.silenced.take_if(|(_, until)| *until <= now);
            let escalates = open.alert.acknowledged.is_none()
                && open.alert.level == Level::Warning
                && ESCALATE_MS <= now.ms_since(open.unheeded_since);
            if escalates {
                open.escalated = true;
                open.alert.level = Level::Alarm;
                open.unheeded_since = now;
                open.alert.silenced = None;
            }
            if resounds.is_some() || escalates {
                let change = open.tell(now, Phase::Changed);
                self.untold.push(change);
            }
        }
    }

    /// Carries out what a person decided about an alert; other commands and unknown names of alerts
    /// (cleared long ago) change nothing.
    pub fn on_command(&mut self, now: Moment, by: &str, command: &Command) {
        match command {
            Command::Acknowledge(id) => self.acknowledge(now, by, *id),
            Command::Silence(id) => {
                if self.is_unheeded(*id) {
                    self.change(now, *id, |open| {
                        open.alert.silenced = Some((by.to_owned(), now.plus_ms(SILENCE_MS)));
                    });
                }
            }
            Command::Attend(id, boat) => self.change(now, *id, |open| {
                open.alert.attended = boat.map(|boat| (boat, by.to_owned(), now));
                if boat.is_some() && open.alert.acknowledged.is_none() {
                    open.alert.acknowledged = Some((by.to_owned(), now));
                    open.alert.silenced = None;
                }
            }),
            Command::HeadsCounted(id, heads) => {
                self.change(now, *id, |open| {
                    open.alert.heads = Some(*heads);
                    open.alert.heads_by = Some(by.to_owned());
                });
            }
            Command::Clear(id, reason) => {
                if let Some(topic) = self.find(*id).map(|(topic, _)| *topic) {
                    self.dismiss(now, by, topic, reason);
                }
            }
            Command::Mark(..)
            | Command::Aboard(..)
            | Command::SetWind(_)
            | Command::SetStream(_)
            | Command::SetBackBy(_)
            | Command::SetWindLimit(_)
            | Command::Assign(..)
            | Command::PersonOverdue(..)
            | Command::PersonAccounted(..)
            | Command::Drill(..) => (),
        }
    }

    /// All that changed since the last call, in order.
    pub fn drain(&mut self) -> impl Iterator<Item = Effect> {
        self.untold.drain(..).map(Effect::Alert)
    }

    /// Alerts that stand, in a fixed order.
    pub fn standing(&self) -> impl Iterator<Item = &Alert> {
        self.open.values().map(|open| &open.alert)
    }

    /// Alerts that stand, each with its topic, in a fixed order.
    pub fn topics(&self) -> impl Iterator<Item = (&Topic, &Alert)> {
        self.open.iter().map(|(topic, open)| (topic, &open.alert))
    }

    /// The standing alert of a topic.
    pub fn about(&self, topic: Topic) -> Option<&Alert> {
        self.open.get(&topic).map(|open| &open.alert)
    }

    /// Alerts that are over, oldest first; at most [`CLEARED_ALERTS_MAX`].
    pub fn cleared(&self) -> impl DoubleEndedIterator<Item = &Alert> {
        self.cleared.iter().map(|(_, alert)| alert)
    }

    /// Where a topic stands in the standard's scheme.
    pub fn state(&self, topic: Topic) -> AlertState {
        let latest = self.cleared.iter().rev().find(|(of, _)| *of == topic);
        match (self.open.get(&topic), latest) {
            (Some(open), _) => AlertState::of(&open.alert),
            (None, Some((_, alert))) => AlertState::of(alert),
            (None, None) => AlertState::Normal,
        }
    }

    fn is_dismissed(&mut self, topic: Topic, claim: Claim) -> bool {
        let Some(dismissed) = self.dismissed.get(&topic) else {
            return false;
        };
        let again = claim.level > dismissed.level || claim.began > dismissed.at;
        if again {
            self.dismissed.remove(&topic);
        }
        !again
    }

    fn raise(&mut self, now: Moment, topic: Topic, claim: Claim, evidence: Vec<String>, declared: bool) {
        self.dismissed.remove(&topic);
        let before = self.take_rectified(now, topic);
        let id = before.map_or_else(|| self.next_id(), |alert| alert.id);
        let alert = Alert {
            id,
            boat: topic.boat,
            person: topic.person(),
            kind: topic.kind,
            level: claim.level,
            raised: now,
            began: claim.began.min(now),
            confidence: claim.confidence,
            evidence,
            acknowledged: None,
            silenced: None,
            attended: None,
            heads: None,
            heads_by: None,
            cleared: None,
        };
        let mut open =
            Open { alert, claimed: claim.level, unheeded_since: now, escalated: false, declared, told: now };
        let change = open.tell(now, Phase::Raised);
        self.untold.push(change);
        self.open.insert(topic, open);
    }

    fn next_id(&mut self) -> AlertId {
        self.last_id += 1;
        AlertId(self.last_id)
    }

    /// The topic's last alert, if it ended by itself so lately, unheeded, that it is the same matter.
    fn take_rectified(&mut self, now: Moment, topic: Topic) -> Option<Alert> {
        let ix = self.cleared.iter().rposition(|(of, alert)| {
            let lately = |(at, _): &(Moment, String)| now.ms_since(*at) <= SAME_SITUATION_MS;
            *of == topic && alert.acknowledged.is_none() && alert.cleared.as_ref().is_some_and(lately)
        })?;
        self.cleared.remove(ix).map(|(_, alert)| alert)
    }

    fn acknowledge(&mut self, now: Moment, by: &str, id: AlertId) {
        let past = self.cleared.iter_mut().find(|(_, alert)| alert.id == id);
        if let Some((_, alert)) = past.filter(|(_, alert)| alert.acknowledged.is_none()) {
            alert.acknowledged = Some((by.to_owned(), now));
            self.untold.push(AlertChange { at: now, phase: Phase::Changed, alert: alert.clone() });
        }
        if self.is_unheeded(id) {
            self.change(now, id, |open| {
                open.alert.acknowledged = Some((by.to_owned(), now));
                open.alert.silenced = None;
            });
        }
    }

    fn close(&mut self, now: Moment, topic: Topic, reason: String) {
        let Some(mut open) = self.open.remove(&topic) else {
            return;
        };
        open.alert.cleared = Some((now, reason));
        open.alert.silenced = None;
        self.untold.push(open.tell(now, Phase::Cleared));
        self.cleared.push_back((topic, open.alert));
        while self.cleared.len() > CLEARED_ALERTS_MAX {
            self.cleared.pop_front();
        }
    }

    fn is_unheeded(&self, id: AlertId) -> bool {
        let found = self.find(id);
        found.is_some_and(|(_, open)| open.alert.acknowledged.is_none())
    }

    fn find(&self, id: AlertId) -> Option<(&Topic, &Open)> {
        self.open.iter().find(|(_, open)| open.alert.id == id)
    }

    fn change_quietly(&mut self, id: AlertId, change: impl FnOnce(&mut Open)) {
        if let Some(open) = self.open.values_mut().find(|open| open.alert.id == id) {
            change(open);
        }
    }

    fn change(&mut self, now: Moment, id: AlertId, change: impl FnOnce(&mut Open)) {
        let mut told = None;
        self.change_quietly(id, |open| {
            change(open);
            told = Some(open.tell(now, Phase::Changed));
        });
        self.untold.extend(told);
    }
}

impl Open {
    /// Takes what the rule says now; gives what has to be told of it, if anything.
    fn renew(
        &mut self,
        now: Moment,
        claim: Claim,
        evidence: impl FnOnce() -> Vec<String>,
    ) -> Option<AlertChange> {
        if self.declared && claim.level < self.claimed {
            return None; // the rule's doubt is no answer to a person's word
        }
        let young = now.ms_since(self.alert.raised) < YOUNG_MS;
        let refresh_ms = if young { REFRESH_YOUNG_MS } else { REFRESH_OLD_MS };
        if self.shown(claim.level) == self.alert.level && now.ms_since(self.told) < refresh_ms {
            self.claimed = claim.level;
            return None;
        }
        Some(self.renew_now(now, claim, evidence()))
    }

    /// The same from a person or a beacon; the same word again only refreshes.
    fn declare(&mut self, now: Moment, claim: Claim, evidence: Vec<String>) -> Option<AlertChange> {
        let repeated = self.declared && claim.level <= self.claimed;
        if repeated && now.ms_since(self.told) < REFRESH_OLD_MS {
            return None;
        }
        let level = claim.level.max(self.claimed);
        self.declared = false; // so that the new word replaces the one before
        let change = self.renew_now(now, Claim { level, ..claim }, evidence);
        self.declared = true;
        Some(change)
    }

    fn renew_now(&mut self, now: Moment, claim: Claim, evidence: Vec<String>) -> AlertChange {
        let before = self.alert.level;
        self.claimed = claim.level;
        self.alert.level = self.shown(claim.level);
        if before < self.alert.level {
            self.alert.acknowledged = None;
            self.alert.silenced = None;
            self.unheeded_since = now;
        }
        self.alert.began = self.alert.began.min(claim.began);
        self.alert.confidence = claim.confidence.filter(|_| !self.declared);
        self.alert.evidence.truncate(usize::from(self.declared)); // a person's word stays in front
        self.alert.evidence.extend(evidence);
        self.tell(now, Phase::Changed)
    }

    /// The level shown while its rule claims this one: an escalated alert stays an alarm at least.
    fn shown(&self, claimed: Level) -> Level {
        if self.escalated { claimed.max(Level::Alarm) } else { claimed }
    }

    fn tell(&mut self, now: Moment, phase: Phase) -> AlertChange {
        self.told = now;
        AlertChange { at: now, phase, alert: self.alert.clone() }
    }
}
