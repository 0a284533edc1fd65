//! Which source speaks for which boat, and the strangers for whom nobody answers.

use crate::{
    effect::Seen,
    fixes::{Heard, What},
    fleet::{Boat, BoatIx},
    moment::Moment,
    view::{AssignedView, StrangerView},
};
use std::collections::BTreeMap;

/// Strangers kept. When full, the one not heard for longest goes: the list is for people to read.
const STRANGERS_MAX: usize = 200;

#[derive(Clone, Debug)]
struct Stranger {
    name: Option<String>,
    seen: Option<Seen>,
    heard: Moment,
}

/// Sources and the boats they speak for.
#[derive(Clone, Debug, Default)]
pub(crate) struct Claims {
    boats: BTreeMap<String, BoatIx>,
    strangers: BTreeMap<String, Stranger>,
}

impl Claims {
    /// As the fleet file says.
    pub(crate) fn of(fleet: &[Boat]) -> Claims {
        let mut boats = BTreeMap::new();
        for (boat, ix) in fleet.iter().zip(0..) {
            for source in &boat.sources {
                boats.insert(source.clone(), BoatIx(ix));
            }
            if let Some(mmsi) = boat.mmsi {
                boats.insert(format!("mmsi:{mmsi:09}"), BoatIx(ix));
            }
        }
        Claims { boats, strangers: BTreeMap::new() }
    }

    /// Whom a source speaks for.
    pub(crate) fn boat(&self, source: &str) -> Option<BoatIx> {
        self.boats.get(source).copied()
    }

    /// Whether any source speaks for a boat.
    pub(crate) fn is_claimed(&self, boat: BoatIx) -> bool {
        self.boats.values().any(|of| *of == boat)
    }

    /// A person gives a source to a boat, or takes it from whoever had it.
    pub(crate) fn assign(&mut self, source: &str, boat: Option<BoatIx>) {
        match boat {
            Some(boat) => {
                self.boats.insert(source.to_owned(), boat);
                self.strangers.remove(source);
            }
            None => {
                self.boats.remove(source);
            }
        }
    }

    /// Where a hand has made the claims others than the fleet file's, those given first, each in the
    /// order of the sources.
    pub(crate) fn by_hand(&self, fleet: &[Boat]) -> Vec<AssignedView> {
        let file = Claims::of(fleet).boats;
        let given = self.boats.iter().map(|(source, boat)| (source, Some(*boat)));
        let taken = file.keys().filter(|source| !self.boats.contains_key(*source));
        let now = given.chain(taken.map(|source| (source, None)));
        let views = now.map(|(source, boat)| {
            let by_file = file.get(source).copied();
            AssignedView { source: source.clone(), boat, by_file }
        });
        views.filter(|view| view.boat != view.by_file).collect()
    }

    /// Notes what a source said that no boat claims.
    pub(crate) fn stranger(&mut self, now: Moment, heard: &Heard) {
        let source: &str = &heard.source.0;
        if !self.strangers.contains_key(source) {
            if self.strangers.len() >= STRANGERS_MAX {
                let oldest = self.strangers.iter().min_by_key(|(_, known)| known.heard);
                if let Some(name) = oldest.map(|(name, _)| name.clone()) {
                    self.strangers.remove(&name);
                }
            }
            self.strangers.insert(source.to_owned(), Stranger { name: None, seen: None, heard: now });
        }
        let Some(known) = self.strangers.get_mut(source) else { return };
        known.heard = now;
        match &heard.what {
            What::Fix(fix) => known.seen = Some(Seen { position: fix.position, taken: heard.taken }),
            What::Name(name) => known.name = Some(name.clone()),
            _ => (),
        }
    }

    /// Everyone nobody claims, by name of source.
    pub(crate) fn strangers(&self) -> Vec<StrangerView> {
        let view = |(source, known): (&String, &Stranger)| StrangerView {
            source: source.clone(),
            name: known.name.clone(),
            seen: known.seen,
            heard: known.heard,
        };
        self.strangers.iter().map(view).collect()
    }
}
