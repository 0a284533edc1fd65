//! All that is drawn once for a session.

use super::{helm::Helm, hull::Hull, over::Capsizing, phone::Phones, stops::Stops};
use crate::dice::Dice;

/// What holds in this session, and in no other.
#[derive(Clone, Debug)]
pub(super) struct Habits {
    pub(super) hull: Hull,
    pub(super) helm: Helm,
    pub(super) stops: Stops,
    pub(super) capsizing: Capsizing,
    pub(super) phones: Phones,
}

impl Habits {
    pub(super) fn draw(mixed: u64, mean_mps: f64) -> Habits {
        let dice = |name: &str| Dice::new(mixed, name, 0);
        Habits {
            hull: Hull::draw(&mut dice("tenth hull")),
            helm: Helm::draw(&mut dice("tenth helm")),
            stops: Stops::draw(&mut dice("tenth stops")),
            capsizing: Capsizing::draw(mean_mps, &mut dice("tenth capsizing")),
            phones: Phones::draw(&mut dice("tenth phones")),
        }
    }
}
