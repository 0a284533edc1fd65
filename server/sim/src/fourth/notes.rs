//! What the notes of the truth see of a dinghy of the fourth water.

use super::{boat::Boat, passage::Kind};
use crate::notes::{Seen, SeenOver};

impl Boat {
    pub(super) fn seen(&self, t_s: f64) -> Seen<'_> {
        let over = match self.kind() {
            Some(Kind::Over(over)) => {
                Some(SeenOver { cause: over.cause.name(), quick: over.quick, inverted: over.inverted })
            }
            _ => None,
        };
        Seen {
            id: &self.id,
            reason: self.reason(t_s),
            began: self.passage.is_some() && self.since_s == t_s,
            over,
            before_mps: self.speeds.front().copied().unwrap_or_default(),
            off_deg: self.wind_deg(),
            heading_deg: self.heading_deg,
            way_mps: self.way_mps,
        }
    }
}
