//! Two places at once claim to be one boat: a key used twice, a number set wrong, a forger.

use super::latch::{Holds, Latch, Says};
use crate::{moment::Moment, units::Local};

/// Places further apart than this cannot both be right, metres: ten times the error of a poor phone.
const APART_M: f64 = 150.0;

/// How fast a place may move and still be the same craft, m/s: a safety boat at 40 kn. Common practice,
/// no source.
const MOVES_MPS: f64 = 20.0;

/// Error a single report may have on top, metres.
const ERROR_M: f64 = 40.0;

/// A place not claimed for this long is claimed no more, ms: three reports of a 5 s feed and some.
const STALE_MS: i64 = 20_000;

/// Reports from the second place that are not one stray position.
const REPORTS: u32 = 3;

/// Raised as soon as the reports are there; gone when one place has been silent for a minute.
const HOLDS: Holds = Holds { raise_ms: 0, clear_ms: 60_000 };

#[derive(Clone, Copy, Debug)]
struct Claimed {
    at: Local,
    when: Moment,
    reports: u32,
}

impl Claimed {
    fn takes(&self, at: Local, when: Moment) -> bool {
        let reach_m = ERROR_M + MOVES_MPS * when.s_since(self.when).abs();
        when.ms_since(self.when) <= STALE_MS && self.at.distance_m(at) <= reach_m
    }

    fn renewed(self, at: Local, when: Moment) -> Claimed {
        Claimed { at, when, reports: self.reports.saturating_add(1) }
    }
}

/// The places that claim to be one boat.
#[derive(Clone, Copy, Debug, Default)]
pub struct Doubled {
    places: [Option<Claimed>; 2],
    latch: Latch,
}

impl Doubled {
    /// A position came in her name, before any judgement of it.
    pub fn on_claim(&mut self, when: Moment, at: Local) {
        let [one, other] = &mut self.places;
        match (*one, *other) {
            (Some(place), _) if place.takes(at, when) => *one = Some(place.renewed(at, when)),
            (_, Some(place)) if place.takes(at, when) => *other = Some(place.renewed(at, when)),
            (None, _) => *one = Some(Claimed { at, when, reports: 1 }),
            (Some(_), None) => *other = Some(Claimed { at, when, reports: 1 }),
            (Some(first), Some(second)) => {
                let oldest = if first.when <= second.when { one } else { other };
                *oldest = Some(Claimed { at, when, reports: 1 });
            }
        }
    }

    /// A second passed; gives the distance between the two places while both stand, metres.
    pub fn on_tick(&mut self, now: Moment) -> Option<f64> {
        for place in &mut self.places {
            *place = place.filter(|place| now.ms_since(place.when) <= STALE_MS);
        }
        let apart_m = match self.places {
            [Some(one), Some(other)] if one.reports.min(other.reports) >= REPORTS => {
                Some(one.at.distance_m(other.at)).filter(|apart_m| *apart_m > APART_M)
            }
            [Some(_) | None, Some(_) | None] => None,
        };
        let says = if apart_m.is_some() { Says::Yes } else { Says::No };
        self.latch = self.latch.after(now, says, HOLDS);
        apart_m
    }

    /// Since when two places stand against each other; `None` while they do not.
    pub fn since(&self) -> Option<Moment> {
        self.latch.on_since()
    }
}
