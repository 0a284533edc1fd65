//! People who should be back and are not, of whom no boat's own alert tells: in no boat, or in one that
//! was counted back without them. The papers know them, the watch raises the alerts.

use std::collections::BTreeMap;

use dunlin_engine::{
    effect::Alert,
    fleet::Boat,
    input::{Command, PersonId},
    moment::Moment,
    view::BoatView,
};
use tracing::warn;

use super::{Hub, view};
use crate::{
    day::{
        book::{Book, Person},
        told,
    },
    link::Refusal,
};

/// A boat is counted back a moment before the papers have it of her people: whoever is found overdue has
/// to be so for this long, ms.
const SETTLE_MS: i64 = 1_500;

/// Who says it, in the journal.
const HEAD_COUNT: &str = "head count";

/// What the watch was told.
#[derive(Clone, Debug, Default)]
pub struct Overdue {
    told: BTreeMap<PersonId, Moment>,
    /// Found overdue and not told yet, and when they were found.
    found: BTreeMap<PersonId, Moment>,
}

/// Where a person stands to being overdue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stand {
    /// Should have been back since then, and no boat tells of them.
    Late(Moment),
    /// Not out, or counted back.
    Back,
    /// In a boat that is out: her own alert tells of them.
    WithBoat,
    /// Out, and not expected yet.
    ExpectedLater,
}

/// Where everybody stands. At most as many as a list may hold.
#[derive(Clone, Debug, Default)]
pub struct HeadCount(BTreeMap<PersonId, Stand>);

impl HeadCount {
    /// As the papers and the tally have it at `now`.
    pub fn of(book: &Book, fleet: &[Boat], boats: &[BoatView], now: Moment) -> HeadCount {
        let Some(session) = &book.session else { return HeadCount::default() };
        let told_by_boat = |person: &Person| {
            let ix = person.boat.as_deref().and_then(|boat| told::ix_of(fleet, boat));
            let view = ix.and_then(|ix| boats.get(usize::try_from(ix).ok()?));
            view.is_some_and(|view| view::is_out(view.standing))
        };
        let back_by = session.plan.back_by_ms.map(Moment).filter(|back_by| *back_by < now);
        let stand = |person: &Person| match back_by {
            _ if !person.is_out() => Stand::Back,
            _ if told_by_boat(person) => Stand::WithBoat,
            Some(back_by) => Stand::Late(back_by),
            None => Stand::ExpectedLater,
        };
        let id = |number: u32| PersonId { session: session.id, number };
        HeadCount(book.people.iter().map(|(number, person)| (id(*number), stand(person))).collect())
    }

    fn late_since(&self, person: PersonId) -> Option<Moment> {
        match self.0.get(&person)? {
            Stand::Late(since) => Some(*since),
            Stand::Back | Stand::WithBoat | Stand::ExpectedLater => None,
        }
    }

    /// Why a person who was overdue no longer is.
    fn reason(&self, person: PersonId) -> &'static str {
        match self.0.get(&person) {
            Some(Stand::WithBoat) => "in a boat that is out",
            Some(Stand::ExpectedLater) => "expected back later",
            Some(Stand::Back | Stand::Late(_)) => "counted back",
            None => "no longer on the list",
        }
    }
}

impl Overdue {
    /// What the watch holds already: after a restart.
    pub fn standing(alerts: &[Alert]) -> Overdue {
        let standing = alerts.iter().filter(|alert| alert.cleared.is_none());
        let told = standing.filter_map(|alert| Some((alert.person?, alert.began))).collect();
        Overdue { told, found: BTreeMap::new() }
    }

    /// What the watch has to be told at `now`.
    fn news(&mut self, count: &HeadCount, now: Moment) -> Vec<Command> {
        let over = self.told.keys().filter(|person| count.late_since(**person).is_none());
        let mut news: Vec<Command> =
            over.map(|person| Command::PersonAccounted(*person, count.reason(*person).to_owned())).collect();
        self.found.retain(|person, _| count.late_since(*person).is_some());
        for person in count.0.keys() {
            let Some(since) = count.late_since(*person) else { continue };
            let found = *self.found.entry(*person).or_insert(now);
            if self.told.get(person) != Some(&since) && now.ms_since(found) >= SETTLE_MS {
                news.push(Command::PersonOverdue(*person, since));
            }
        }
        news
    }

    fn note(&mut self, told: &Command) {
        match told {
            Command::PersonOverdue(person, since) => drop(self.told.insert(*person, *since)),
            Command::PersonAccounted(person, _) => drop(self.told.remove(person)),
            _ => (),
        }
    }

    /// Tells the watch what changed. What could not be told is tried again at the next look.
    pub async fn follow(&mut self, hub: &Hub, count: &HeadCount, now: Moment) {
        for command in self.news(count, now) {
            match hub.link.command(HEAD_COUNT, command.clone()).await {
                // In force all the same when it is not on disk; the journal's own notice says that.
                Ok(_) | Err(Refusal::NotRecorded) => self.note(&command),
                Err(refused) => {
                    warn!(reason = %refused, "The watch was not told who is overdue.");
                    return;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BO: PersonId = PersonId { session: 3, number: 2 };
    const BACK_BY: Moment = Moment(1_000);

    fn count(stand: Stand) -> HeadCount {
        HeadCount(BTreeMap::from([(BO, stand)]))
    }

    /// What is told at each look, all of it taken.
    fn looks(looks: &[(i64, Option<Stand>)]) -> Vec<Command> {
        let mut overdue = Overdue::default();
        let mut all = Vec::new();
        for (ms, stand) in looks {
            let news = overdue.news(&stand.map_or_else(HeadCount::default, count), Moment(*ms));
            news.iter().for_each(|command| overdue.note(command));
            all.extend(news);
        }
        all
    }

    #[test]
    fn a_person_is_told_once_and_taken_back_with_the_reason() {
        let late = Some(Stand::Late(BACK_BY));
        let raised = Command::PersonOverdue(BO, BACK_BY);
        for (end, reason) in [
            (Some(Stand::Back), "counted back"),
            (Some(Stand::WithBoat), "in a boat that is out"),
            (Some(Stand::ExpectedLater), "expected back later"),
            (None, "no longer on the list"),
        ] {
            let told = looks(&[(2_000, late), (4_000, late), (6_000, late), (8_000, end), (10_000, end)]);
            let over = Command::PersonAccounted(BO, reason.to_owned());
            assert_eq!(told, [raised.clone(), over], "{reason}");
        }
    }

    #[test]
    fn who_is_late_for_the_moment_between_two_papers_is_not_told() {
        let late = Some(Stand::Late(BACK_BY));
        let back = Some(Stand::Back);
        assert_eq!(looks(&[(2_000, late), (2_400, back), (4_000, late), (4_400, late)]), []);
    }

    #[test]
    fn another_time_to_be_back_is_told() {
        let later = Stand::Late(Moment(5_000));
        let late = Some(Stand::Late(BACK_BY));
        let told = looks(&[(2_000, late), (4_000, late), (6_000, Some(later))]);
        assert_eq!(told.last(), Some(&Command::PersonOverdue(BO, Moment(5_000))));
        assert_eq!(told.len(), 2);
    }
}
