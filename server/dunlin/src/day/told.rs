//! The day's papers as tablets are told them, and each entry as a line of the log.

use dunlin_engine::{fleet::Boat, moment::Moment, venue::Site};

use super::{
    book::{Book, Said},
    record::{Entry, Record},
    sun,
};
use crate::{hub::wire, new_day};

/// The place of a painted number in the fleet; `None` when she is no longer in it.
pub fn ix_of(fleet: &[Boat], painted: &str) -> Option<u32> {
    fleet.iter().position(|boat| boat.id == painted).and_then(|ix| u32::try_from(ix).ok())
}

fn said(said: &Said) -> wire::Said {
    wire::Said { by: said.by.clone(), at_ms: said.at_ms }
}

/// The papers. `now_ms` picks the day for the sun and the defects mended today.
pub fn day(
    book: &Book,
    fleet: &[Boat],
    site: &Site,
    cover: Option<wire::Cover>,
    now_ms: i64,
) -> wire::DayState {
    let sun = new_day::middle(site)
        .map(|at| sun::on_day(new_day::number(Moment(now_ms), site), at.lat_deg(), at.lon_deg()))
        .unwrap_or_default();
    wire::DayState {
        session: book.session.as_ref().map(session),
        people: book.people.iter().map(|(id, person)| person_state(*id, person, fleet)).collect(),
        checks: book
            .checks
            .iter()
            .filter_map(|(boat, checks)| {
                Some(wire::BoatCheck {
                    boat: ix_of(fleet, boat)?,
                    ready: checks.ready.iter().cloned().collect(),
                    after: checks.after.iter().cloned().collect(),
                    reefed: checks.reefed,
                    override_by: checks.overridden.as_ref().map(|(said, _)| said.by.clone()),
                    override_reason: checks.overridden.as_ref().map(|(_, reason)| reason.clone()),
                })
            })
            .collect(),
        defects: book
            .defects
            .iter()
            .filter(|(_, defect)| defect.mended.as_ref().is_none_or(|by| now_ms - by.at_ms < 86_400_000))
            .filter_map(|(id, defect)| {
                Some(wire::Defect {
                    id: *id,
                    boat: ix_of(fleet, &defect.boat)?,
                    text: defect.text.clone(),
                    safety: defect.safety,
                    by: defect.said.by.clone(),
                    at_ms: defect.said.at_ms,
                    mended: defect.mended.as_ref().map(said),
                })
            })
            .collect(),
        check_items: book.check_items.clone(),
        after_items: book.after_items.clone(),
        sunset_ms: sun.set_ms,
        dusk_ms: sun.dusk_ms,
        cover,
        rules: wire::CentreRules {
            dinghies_per_safety_boat: book.rules.dinghies_per_safety_boat,
            reach_within_s: book.rules.reach_within_s,
            keep_days: book.rules.keep_days,
        },
    }
}

fn session(session: &super::book::Session) -> wire::SessionState {
    wire::SessionState {
        id: session.id,
        title: session.plan.title.clone(),
        staff: session.plan.staff.clone(),
        opened_ms: session.opened_ms,
        back_by_ms: session.plan.back_by_ms,
        water_c: session.plan.water_c,
        wind_limit_kn: session.plan.wind_limit_kn,
        tides: session
            .plan
            .tides
            .iter()
            .map(|row| wire::TideRow {
                at_ms: row.at_ms,
                height_m: row.height_m,
                towards_deg: row.towards_deg,
                speed_kn: row.speed_kn,
            })
            .collect(),
        closed: session.closed.as_ref().map(|(said, reason)| wire::Closed {
            by: said.by.clone(),
            at_ms: said.at_ms,
            override_reason: reason.clone(),
        }),
    }
}

fn person_state(id: u32, person: &super::book::Person, fleet: &[Boat]) -> wire::Person {
    wire::Person {
        id,
        name: person.name.clone(),
        part: person.part.clone(),
        boat: person.boat.as_deref().and_then(|boat| ix_of(fleet, boat)),
        standing: person.standing.clone(),
        since_ms: person.said.at_ms,
        by: Some(person.said.by.clone()),
        buoyancy_checked: person.buoyancy_checked,
        note: person.note.clone(),
    }
}

/// The papers for viewers: without what only staff must know.
pub fn for_viewers(day: &wire::DayState) -> wire::DayState {
    let mut day = day.clone();
    for person in &mut day.people {
        person.note = None;
    }
    day
}

/// The line an entry leaves in the log; `None` for what the papers themselves show (ticks) or
/// other lines say already. Names are looked up now, so a deleted person has none.
pub fn log_line(book: &Book, entry: &Entry, fleet: &[Boat]) -> Option<wire::LogLine> {
    let name = |person: &u32| {
        let known = book.people.get(person).map(|person| person.name.clone());
        known.filter(|name| !name.is_empty()).unwrap_or_else(|| "a deleted person".to_owned())
    };
    let (boat, text) = match &entry.record {
        Record::Session(plan) => (None, format!("session: {}", plan.title)),
        Record::Closed { reason: None } => (None, "session closed, everyone counted back".to_owned()),
        Record::Closed { reason: Some(reason) } => {
            (None, format!("session closed with people not counted back: {reason}"))
        }
        Record::Added { person, boat, .. } => (boat.clone(), format!("{} is on the list", name(person))),
        Record::Deleted { .. } => (None, "a person was deleted".to_owned()),
        Record::Placed { person, boat: Some(boat), .. } => {
            (Some(boat.clone()), format!("{} is in {boat}", name(person)))
        }
        Record::Placed { person, boat: None, standing } => (None, format!("{} is {standing}", name(person))),
        Record::Stood { person, standing } => (None, format!("{} is {standing}", name(person))),
        Record::WentOut { boat } => (Some(boat.clone()), format!("{boat} is afloat")),
        Record::CountedBack { boat } => (Some(boat.clone()), format!("{boat} is back, people counted")),
        Record::Reefed { boat, reefed } => {
            (Some(boat.clone()), format!("{boat}: {}", if *reefed { "reefed" } else { "full sail" }))
        }
        Record::Override { boat, reason } => {
            (Some(boat.clone()), format!("{boat} may go out in spite of a safety defect: {reason}"))
        }
        Record::Defect { boat, text, safety, .. } => {
            let safety = if *safety { "safety defect" } else { "defect" };
            (Some(boat.clone()), format!("{boat}: {safety}: {text}"))
        }
        Record::Mended { defect } => {
            let defect = book.defects.get(defect)?;
            (Some(defect.boat.clone()), format!("{}: mended: {}", defect.boat, defect.text))
        }
        Record::Note { boat, text } => (boat.clone(), text.clone()),
        Record::Signal { signal: Some(signal), words } => {
            (None, format!("signal to all: {} {words}", signal.replace('-', " ")).trim_end().to_owned())
        }
        Record::Signal { signal: None, .. } => (None, "signal taken down".to_owned()),
        Record::SignalSeen { boat } => (Some(boat.clone()), format!("{boat}'s phone showed the signal")),
        Record::PersonNote { .. }
        | Record::Buoyancy { .. }
        | Record::Ready { .. }
        | Record::After { .. }
        | Record::Items { .. }
        | Record::Rules(_) => return None,
    };
    let boat = boat.and_then(|boat| ix_of(fleet, &boat));
    Some(wire::LogLine { at_ms: entry.at_ms, by: entry.by.clone(), boat, alert: None, text })
}
