//! The day as the sum of its entries.

use std::collections::{BTreeMap, BTreeSet};

use super::record::{Entry, Plan, Record, Rules};

/// A person and a time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// Who.
    pub by: String,
    /// When, ms UTC.
    pub at_ms: i64,
}

/// The open session, or the one just closed.
#[derive(Clone, Debug, PartialEq)]
pub struct Session {
    /// Its number.
    pub id: u32,
    /// When it was opened, ms UTC.
    pub opened_ms: i64,
    /// What it is about.
    pub plan: Plan,
    /// Who closed it, and why in spite of somebody being out.
    pub closed: Option<(Said, Option<String>)>,
}

/// One person of the session.
#[derive(Clone, Debug, PartialEq)]
pub struct Person {
    /// As the centre lists them.
    pub name: String,
    /// `learner`, `crew`, `staff`.
    pub part: String,
    /// Boat they are in, or were in last.
    pub boat: Option<String>,
    /// `ashore`, `afloat`, `back`, `unaccounted`.
    pub standing: String,
    /// Who said so, and when.
    pub said: Said,
    /// Buoyancy aid seen.
    pub buoyancy_checked: bool,
    /// What staff must know.
    pub note: Option<String>,
}

impl Person {
    /// Whether they are not known to be on land.
    pub fn is_out(&self) -> bool {
        self.standing == "afloat" || self.standing == "unaccounted"
    }
}

/// One boat's lists.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Checks {
    /// Ticked before launching.
    pub ready: BTreeSet<String>,
    /// Ticked after sailing.
    pub after: BTreeSet<String>,
    /// Sails reefed; `None`: nobody said.
    pub reefed: Option<bool>,
    /// Who let her out with an open safety defect, and why.
    pub overridden: Option<(Said, String)>,
}

/// Something broken.
#[derive(Clone, Debug, PartialEq)]
pub struct Defect {
    /// Which boat.
    pub boat: String,
    /// What.
    pub text: String,
    /// She must not go out with it.
    pub safety: bool,
    /// Who wrote it down.
    pub said: Said,
    /// Who mended it.
    pub mended: Option<Said>,
}

/// A signal to everyone afloat.
#[derive(Clone, Debug, PartialEq)]
pub struct Signal {
    /// `all-in`, `stop`, `move`.
    pub signal: String,
    /// A few words.
    pub words: String,
    /// Who gave it.
    pub said: Said,
    /// Boats whose phones showed it.
    pub seen: BTreeSet<String>,
}

/// The day's papers as they stand.
#[derive(Clone, Debug, PartialEq)]
pub struct Book {
    /// The newest session; `None` before the first.
    pub session: Option<Session>,
    /// By number.
    pub people: BTreeMap<u32, Person>,
    /// By what is painted on the boat.
    pub checks: BTreeMap<String, Checks>,
    /// By number.
    pub defects: BTreeMap<u32, Defect>,
    /// The centre's list before launching.
    pub check_items: Vec<String>,
    /// The centre's list after sailing.
    pub after_items: Vec<String>,
    /// The centre's rules.
    pub rules: Rules,
    /// The signal that stands.
    pub signal: Option<Signal>,
    next_person: u32,
    next_defect: u32,
}

impl Default for Book {
    /// An empty day with lists to begin from. The items are common practice, no source; the centre
    /// edits them.
    fn default() -> Book {
        let list = |items: &[&str]| items.iter().map(|item| (*item).to_owned()).collect();
        Book {
            session: None,
            people: BTreeMap::new(),
            checks: BTreeMap::new(),
            defects: BTreeMap::new(),
            check_items: list(&[
                "buoyancy bags or tanks sound",
                "bungs and hatches shut",
                "rigging and shackles",
                "rudder and tiller",
                "bailer, paddle, painter",
            ]),
            after_items: list(&[
                "boat rinsed with fresh water",
                "drained, bungs out",
                "sails rinsed and dried",
                "gear back in its place",
            ]),
            rules: Rules {
                // 1 safety boat for up to 6 dinghies: UK training practice as given in
                // `reference/safety.md`, from memory there. Local rules decide; the centre edits it.
                dinghies_per_safety_boat: Some(6.0),
                reach_within_s: None,
                keep_days: Some(30),
            },
            signal: None,
            next_person: 1,
            next_defect: 1,
        }
    }
}

impl Book {
    /// The sum of these entries.
    pub fn of<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Book {
        let mut book = Book::default();
        for entry in entries {
            book.add(entry);
        }
        book
    }

    /// The number the next person gets.
    pub fn next_person(&self) -> u32 {
        self.next_person
    }

    /// The number the next defect gets.
    pub fn next_defect(&self) -> u32 {
        self.next_defect
    }

    /// The open session.
    pub fn open_session(&self) -> Option<&Session> {
        self.session.as_ref().filter(|session| session.closed.is_none())
    }

    /// Open safety defects of a boat, oldest first.
    pub fn safety_defects<'a>(&'a self, boat: &'a str) -> impl Iterator<Item = &'a Defect> {
        self.defects
            .values()
            .filter(move |defect| defect.boat == boat && defect.safety && defect.mended.is_none())
    }

    /// Whether a boat may be launched: no open safety defect, or an override.
    pub fn may_launch(&self, boat: &str) -> bool {
        self.safety_defects(boat).next().is_none()
            || self.checks.get(boat).is_some_and(|checks| checks.overridden.is_some())
    }

    /// Numbers of those listed in a boat.
    pub fn listed_in(&self, boat: &str) -> Vec<u32> {
        let aboard = self.people.iter().filter(|(_, person)| person.boat.as_deref() == Some(boat));
        aboard.map(|(id, _)| *id).collect()
    }

    /// Takes one more entry in. One that speaks of a person or a defect that is not there, because
    /// the entry that brought it was undone, changes nothing.
    pub fn add(&mut self, entry: &Entry) {
        let said = Said { by: entry.by.clone(), at_ms: entry.at_ms };
        match &entry.record {
            Record::Session(plan) => self.set_session(entry, plan),
            Record::Closed { reason } => {
                if let Some(session) = &mut self.session {
                    session.closed = Some((said, reason.clone()));
                }
                self.signal = None;
            }
            Record::Added { person, name, part, boat } => {
                self.next_person = self.next_person.max(person.saturating_add(1));
                self.people.insert(
                    *person,
                    Person {
                        name: name.clone(),
                        part: part.clone(),
                        boat: boat.clone(),
                        standing: "ashore".to_owned(),
                        said,
                        buoyancy_checked: false,
                        note: None,
                    },
                );
            }
            Record::Deleted { person } => drop(self.people.remove(person)),
            Record::Placed { person, boat, standing } => {
                if let Some(person) = self.people.get_mut(person) {
                    person.boat.clone_from(boat);
                    stand(person, standing, said);
                }
            }
            Record::Stood { person, standing } => {
                if let Some(person) = self.people.get_mut(person) {
                    stand(person, standing, said);
                }
            }
            Record::WentOut { boat } => self.stand_all(boat, "afloat", &said),
            Record::CountedBack { boat } => self.stand_all(boat, "back", &said),
            Record::PersonNote { person, note } => {
                if let Some(person) = self.people.get_mut(person) {
                    person.note.clone_from(note);
                }
            }
            Record::Buoyancy { person, checked } => {
                if let Some(person) = self.people.get_mut(person) {
                    person.buoyancy_checked = *checked;
                }
            }
            Record::Ready { boat, item, done } => tick(&mut self.checks_of(boat).ready, item, *done),
            Record::After { boat, item, done } => tick(&mut self.checks_of(boat).after, item, *done),
            Record::Reefed { boat, reefed } => self.checks_of(boat).reefed = Some(*reefed),
            Record::Override { boat, reason } => {
                self.checks_of(boat).overridden = Some((said, reason.clone()));
            }
            Record::Defect { defect, boat, text, safety } => {
                self.next_defect = self.next_defect.max(defect.saturating_add(1));
                // An override given before does not cover what broke since.
                if *safety && let Some(checks) = self.checks.get_mut(boat) {
                    checks.overridden = None;
                }
                self.defects.insert(
                    *defect,
                    Defect { boat: boat.clone(), text: text.clone(), safety: *safety, said, mended: None },
                );
            }
            Record::Mended { defect } => {
                if let Some(defect) = self.defects.get_mut(defect) {
                    defect.mended = Some(said);
                }
            }
            Record::Items { check_items, after_items } => {
                self.check_items.clone_from(check_items);
                self.after_items.clone_from(after_items);
            }
            Record::Rules(rules) => self.rules = rules.clone(),
            Record::Note { .. } => (),
            Record::Signal { signal, words } => {
                self.signal = signal.as_ref().map(|signal| Signal {
                    signal: signal.clone(),
                    words: words.clone(),
                    said,
                    seen: BTreeSet::new(),
                });
            }
            Record::SignalSeen { boat } => {
                if let Some(signal) = &mut self.signal {
                    signal.seen.insert(boat.clone());
                }
            }
        }
    }

    fn set_session(&mut self, entry: &Entry, plan: &Plan) {
        match &mut self.session {
            Some(session) if session.id == entry.session => session.plan = plan.clone(),
            Some(_) | None => {
                self.session = Some(Session {
                    id: entry.session,
                    opened_ms: entry.at_ms,
                    plan: plan.clone(),
                    closed: None,
                });
            }
        }
    }

    fn checks_of(&mut self, boat: &str) -> &mut Checks {
        self.checks.entry(boat.to_owned()).or_default()
    }

    fn stand_all(&mut self, boat: &str, standing: &str, said: &Said) {
        for person in self.people.values_mut() {
            if person.boat.as_deref() == Some(boat) {
                stand(person, standing, said.clone());
            }
        }
    }
}

fn stand(person: &mut Person, standing: &str, said: Said) {
    if person.standing != standing {
        person.standing = standing.to_owned();
        person.said = said;
    }
}

fn tick(items: &mut BTreeSet<String>, item: &str, done: bool) {
    if done {
        items.insert(item.to_owned());
    } else {
        items.remove(item);
    }
}
