//! A change to the day's papers: what is asked, checked against how things stand, as records.

use dunlin_engine::{
    effect::Standing,
    fleet::{Boat, Role},
    input::Command,
    moment::Moment,
    units::mps_from_kn,
    view::BoatView,
};

use super::{
    book::Book,
    people,
    record::{Plan, Record, Rules, Tide},
};
use crate::hub::{
    limits::TEXT_MAX,
    view::is_out,
    wire::{CentreRules, DayChange, TideRow},
};

/// Items of a check list at most.
const ITEMS_MAX: usize = 40;

/// Rows of a tide table at most: four tides a day and the stream by the hour.
const TIDES_MAX: usize = 200;

/// Open and mended defects kept; the centre has as many boats.
const DEFECTS_MAX: u32 = 1_000_000;

/// How things stand while a change is checked.
#[derive(Clone, Copy, Debug)]
pub struct Facts<'a> {
    /// The fleet.
    pub fleet: &'a [Boat],
    /// Every boat as the engine sees her; empty before the first picture.
    pub boats: &'a [BoatView],
    /// Now.
    pub now: Moment,
}

impl Facts<'_> {
    /// What is painted on the boat at this place in the fleet.
    ///
    /// # Errors
    /// When there is no such boat, in words.
    pub fn painted(&self, ix: u32) -> Result<String, String> {
        let boat = usize::try_from(ix).ok().and_then(|ix| self.fleet.get(ix));
        boat.map(|boat| boat.id.clone()).ok_or_else(|| "this boat is not in the fleet".to_owned())
    }

    fn view(&self, painted: &str) -> Option<&BoatView> {
        let ix = self.fleet.iter().position(|boat| boat.id == painted)?;
        self.boats.get(ix)
    }

    fn is_out(&self, painted: &str) -> bool {
        self.view(painted).is_some_and(|view| is_out(view.standing))
    }

    /// What is painted on the boats that are out, masts apart.
    pub fn boats_out(&self) -> Vec<&str> {
        self.boats
            .iter()
            .filter(|view| is_out(view.standing))
            .filter_map(|view| self.fleet.get(usize::from(view.boat.0)))
            .filter(|boat| boat.role != Role::Station)
            .map(|boat| boat.id.as_str())
            .collect()
    }
}

/// What a change comes to: records to be written, and what the engine must then be told.
#[derive(Debug, Default, PartialEq)]
pub struct Outcome {
    /// In order.
    pub records: Vec<Record>,
    /// In order.
    pub commands: Vec<Command>,
}

impl From<Record> for Outcome {
    fn from(record: Record) -> Outcome {
        Outcome { records: vec![record], commands: Vec::new() }
    }
}

/// Text a person typed, trimmed.
///
/// # Errors
/// When it is empty or too long; `what` names it.
pub fn text(given: &str, what: &str) -> Result<String, String> {
    let trimmed = given.trim();
    if trimmed.is_empty() {
        return Err(format!("{what} is missing"));
    }
    if trimmed.chars().count() > TEXT_MAX {
        return Err(format!("{what} is longer than {TEXT_MAX} letters"));
    }
    Ok(trimmed.replace(|letter: char| letter.is_control() && letter != '\n', " "))
}

/// Checks a change and says what it comes to.
///
/// # Errors
/// Why it cannot be done, in words for the person who asked; nothing has then happened.
pub fn plan(book: &Book, facts: Facts<'_>, change: &DayChange) -> Result<Outcome, String> {
    match change {
        DayChange::Session { title, staff, back_by_ms, water_c, wind_limit_kn, tides } => {
            let plan = Plan {
                title: text(title, "the title")?,
                staff: names(staff)?,
                back_by_ms: *back_by_ms,
                water_c: within(*water_c, -2.0..=40.0, "the water temperature")?,
                wind_limit_kn: within(*wind_limit_kn, 1.0..=80.0, "the wind limit")?,
                tides: tide_rows(tides)?,
            };
            Ok(open_session(plan, facts))
        }
        DayChange::Close { override_reason } => close(book, facts, override_reason.as_deref()),
        DayChange::AddPeople { text } => add_people(book, facts, text),
        DayChange::DeletePerson { person } => {
            let listed = known(book, *person)?;
            if listed.is_out() {
                return Err(format!("{} is still out and cannot be deleted", listed.name));
            }
            Ok(Record::Deleted { person: *person }.into())
        }
        DayChange::Place { person, boat } => place(book, facts, *person, *boat),
        DayChange::Stand { person, standing } => {
            known(book, *person)?;
            one_of(standing, &["ashore", "afloat", "back", "unaccounted"], "the standing")?;
            Ok(Record::Stood { person: *person, standing: standing.clone() }.into())
        }
        DayChange::PersonNote { person, note } => {
            known(book, *person)?;
            let note = note.as_deref().map(|note| text(note, "the note")).transpose()?;
            Ok(Record::PersonNote { person: *person, note }.into())
        }
        DayChange::Buoyancy { person, checked } => {
            known(book, *person)?;
            Ok(Record::Buoyancy { person: *person, checked: *checked }.into())
        }
        DayChange::Ready { boat, item, done } => {
            let item = on_list(&book.check_items, item)?;
            Ok(Record::Ready { boat: facts.painted(*boat)?, item, done: *done }.into())
        }
        DayChange::After { boat, item, done } => {
            let item = on_list(&book.after_items, item)?;
            Ok(Record::After { boat: facts.painted(*boat)?, item, done: *done }.into())
        }
        DayChange::Reefed { boat, reefed } => {
            Ok(Record::Reefed { boat: facts.painted(*boat)?, reefed: *reefed }.into())
        }
        DayChange::Override { boat, reason } => {
            let boat = facts.painted(*boat)?;
            if book.safety_defects(&boat).next().is_none() {
                return Err(format!("{boat} has no open safety defect"));
            }
            Ok(Record::Override { boat, reason: text(reason, "the reason")? }.into())
        }
        DayChange::Defect { boat, text: what, safety } => {
            let defect = book.next_defect();
            if defect > DEFECTS_MAX {
                return Err("there are too many defects".to_owned());
            }
            let (boat, text) = (facts.painted(*boat)?, text(what, "the defect")?);
            Ok(Record::Defect { defect, boat, text, safety: *safety }.into())
        }
        DayChange::Mended { defect } => match book.defects.get(defect) {
            None => Err("there is no such defect".to_owned()),
            Some(known) if known.mended.is_some() => Err("it is mended already".to_owned()),
            Some(_) => Ok(Record::Mended { defect: *defect }.into()),
        },
        DayChange::Items { check_items, after_items } => {
            Ok(Record::Items { check_items: items(check_items)?, after_items: items(after_items)? }.into())
        }
        DayChange::Rules { rules } => Ok(Record::Rules(rules_of(rules)?).into()),
    }
}

fn open_session(plan: Plan, facts: Facts<'_>) -> Outcome {
    let mut commands = vec![
        Command::SetWindLimit(plan.wind_limit_kn.map(mps_from_kn)),
        Command::SetBackBy(plan.back_by_ms.map(Moment)),
    ];
    // The row of the tide table in force gives the stream, where it says one.
    let row = plan.tides.iter().rev().find(|row| row.at_ms <= facts.now.0);
    if let Some((towards, speed)) = row.and_then(|row| row.towards_deg.zip(row.speed_kn))
        && let Some(towards) = dunlin_engine::units::Bearing::from_degrees_true(towards)
    {
        commands.push(Command::SetStream(Some((towards, mps_from_kn(speed)))));
    }
    Outcome { records: vec![Record::Session(plan)], commands }
}

fn close(book: &Book, facts: Facts<'_>, reason: Option<&str>) -> Result<Outcome, String> {
    if book.open_session().is_none() {
        return Err("no session is open".to_owned());
    }
    let boats = facts.boats_out();
    let people: Vec<&str> =
        book.people.values().filter(|person| person.is_out()).map(|person| person.name.as_str()).collect();
    if boats.is_empty() && people.is_empty() {
        let commands = vec![Command::SetBackBy(None)];
        return Ok(Outcome { records: vec![Record::Closed { reason: None }], commands });
    }
    let Some(reason) = reason else {
        let mut out = Vec::new();
        if !boats.is_empty() {
            out.push(format!("boats {}", boats.join(", ")));
        }
        if !people.is_empty() {
            out.push(people.join(", "));
        }
        return Err(format!(
            "still out or not counted: {}. Count them back, or close with a reason.",
            out.join("; ")
        ));
    };
    let reason = Some(text(reason, "the reason")?);
    // The expected time stays in force: whoever is out stays overdue after the papers are closed.
    Ok(Record::Closed { reason }.into())
}

fn add_people(book: &Book, facts: Facts<'_>, pasted: &str) -> Result<Outcome, String> {
    let is_boat = |id: &str| facts.fleet.iter().any(|boat| boat.id == id);
    let lines = people::parse(pasted, is_boat)?;
    if book.people.len() + lines.len() > people::PEOPLE_MAX {
        return Err(format!("the list would grow beyond {} people", people::PEOPLE_MAX));
    }
    let mut outcome = Outcome::default();
    for (person, line) in (book.next_person()..).zip(lines) {
        let people::Line { name, part, boat } = line;
        outcome.records.push(Record::Added { person, name, part, boat });
    }
    outcome.commands = crews_after(book, facts, &outcome.records);
    Ok(outcome)
}

fn place(book: &Book, facts: Facts<'_>, person: u32, boat: Option<u32>) -> Result<Outcome, String> {
    let listed = known(book, person)?;
    let boat = boat.map(|ix| facts.painted(ix)).transpose()?;
    let was_out = listed.is_out();
    let standing = match &boat {
        Some(boat) if facts.is_out(boat) => "afloat",
        // Moved into a boat that is ashore, or put ashore, by a person who sees them there.
        Some(_) | None if was_out || listed.standing == "back" => "back",
        Some(_) | None => "ashore",
    };
    let record = Record::Placed { person, boat, standing: standing.to_owned() };
    let commands = crews_after(book, facts, std::slice::from_ref(&record));
    Ok(Outcome { records: vec![record], commands })
}

/// Tells the engine how many are aboard each boat whose list these records change.
fn crews_after(book: &Book, facts: Facts<'_>, records: &[Record]) -> Vec<Command> {
    let mut after = book.clone();
    let mut touched = std::collections::BTreeSet::new();
    for record in records {
        match record {
            Record::Added { boat, .. } => touched.extend(boat.clone()),
            Record::Placed { person, boat, .. } => {
                touched.extend(boat.clone());
                touched.extend(book.people.get(person).and_then(|person| person.boat.clone()));
            }
            _ => (),
        }
        after.add(&super::record::Entry {
            seq: 0,
            session: 0,
            at_ms: facts.now.0,
            by: String::new(),
            record: record.clone(),
        });
    }
    touched.iter().filter_map(|painted| crew_command(&after, facts, painted)).collect()
}

/// How many are listed in a boat, as the engine is told.
pub fn crew_command(book: &Book, facts: Facts<'_>, painted: &str) -> Option<Command> {
    let ix = facts.fleet.iter().position(|boat| boat.id == painted)?;
    let persons = u8::try_from(book.listed_in(painted).len()).unwrap_or(u8::MAX);
    Some(Command::Aboard(dunlin_engine::fleet::BoatIx(u16::try_from(ix).ok()?), persons))
}

/// The engine's word for a standing that a person gave by hand on a tablet, as a record.
pub fn on_tally(standing: Standing, by: Option<&str>, painted: &str) -> Option<Record> {
    match (standing, by) {
        (Standing::Afloat, _) => Some(Record::WentOut { boat: painted.to_owned() }),
        (Standing::Returned | Standing::Ashore, Some(_)) => {
            Some(Record::CountedBack { boat: painted.to_owned() })
        }
        // Nobody is back by inference: a landing seen by the track only asks for a count.
        (Standing::Returned | Standing::Ashore, None) | (Standing::Landed | Standing::StoodDown, _) => None,
    }
}

fn known(book: &Book, person: u32) -> Result<&super::book::Person, String> {
    book.people.get(&person).ok_or_else(|| "this person is not on the list".to_owned())
}

fn on_list(list: &[String], item: &str) -> Result<String, String> {
    let known = list.iter().find(|known| known.as_str() == item);
    known.cloned().ok_or_else(|| format!("\"{item}\" is not on the list"))
}

fn one_of(given: &str, words: &[&str], what: &str) -> Result<(), String> {
    if words.contains(&given) { Ok(()) } else { Err(format!("{what} is one of {}", words.join(", "))) }
}

fn within(
    value: Option<f64>,
    range: std::ops::RangeInclusive<f64>,
    what: &str,
) -> Result<Option<f64>, String> {
    match value {
        Some(value) if !range.contains(&value) => {
            Err(format!("{what} must be from {} to {}", range.start(), range.end()))
        }
        within => Ok(within),
    }
}

fn names(given: &[String]) -> Result<Vec<String>, String> {
    if given.len() > ITEMS_MAX {
        return Err(format!("more than {ITEMS_MAX} names"));
    }
    given.iter().map(|name| text(name, "a name")).collect()
}

fn items(given: &[String]) -> Result<Vec<String>, String> {
    if given.len() > ITEMS_MAX {
        return Err(format!("a list has at most {ITEMS_MAX} items"));
    }
    let mut list: Vec<String> = Vec::new();
    for item in given {
        let item = text(item, "an item")?;
        if !list.contains(&item) {
            list.push(item);
        }
    }
    Ok(list)
}

fn tide_rows(rows: &[TideRow]) -> Result<Vec<Tide>, String> {
    if rows.len() > TIDES_MAX {
        return Err(format!("a tide table has at most {TIDES_MAX} rows"));
    }
    let mut tides = Vec::with_capacity(rows.len());
    for row in rows {
        tides.push(Tide {
            at_ms: row.at_ms,
            height_m: within(row.height_m, -20.0..=20.0, "the height of tide")?,
            towards_deg: within(row.towards_deg, 0.0..=360.0, "the stream's direction")?,
            speed_kn: within(row.speed_kn, 0.0..=15.0, "the stream")?,
        });
    }
    tides.sort_by_key(|row| row.at_ms);
    Ok(tides)
}

fn rules_of(rules: &CentreRules) -> Result<Rules, String> {
    Ok(Rules {
        dinghies_per_safety_boat: within(
            rules.dinghies_per_safety_boat,
            1.0..=50.0,
            "dinghies per safety boat",
        )?,
        reach_within_s: within(rules.reach_within_s, 10.0..=3_600.0, "the time to reach a dinghy")?,
        keep_days: match rules.keep_days {
            Some(days) if !(1..=3_650).contains(&days) => {
                return Err("days to keep must be from 1 to 3650".to_owned());
            }
            days => days,
        },
    })
}
