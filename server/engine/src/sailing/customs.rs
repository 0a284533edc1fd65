//! On which hand a fleet leaves each mark: an exercise is sailed one way round by everybody.

use std::collections::VecDeque;

use crate::effect::Side;

/// So many roundings of each mark are remembered (our choice: some minutes of ten boats).
const REMEMBERED: usize = 12;
/// Fewer say nothing (our choice).
const ENOUGH: usize = 4;
/// So large a part of them must have been on one hand (our choice).
const MOST: f64 = 0.8;

/// The last roundings of every mark by whoever, as far as the tracks alone were plain.
#[derive(Clone, Debug, Default)]
pub struct Customs {
    marks: Vec<VecDeque<Side>>,
}

impl Customs {
    /// Remembers a rounding of the mark with that number.
    pub fn add(&mut self, mark: usize, hand: Side) {
        if self.marks.len() <= mark {
            self.marks.resize(mark + 1, VecDeque::new());
        }
        let Some(hands) = self.marks.get_mut(mark) else { return };
        if hands.len() == REMEMBERED {
            hands.pop_front();
        }
        hands.push_back(hand);
    }

    /// The hand on which nearly everybody left it lately; `None` while few did, or they differ.
    pub fn hand(&self, mark: usize) -> Option<Side> {
        let hands = self.marks.get(mark).filter(|hands| hands.len() >= ENOUGH)?;
        [Side::Port, Side::Starboard].into_iter().find(|side| {
            hands.iter().filter(|hand| *hand == side).count() as f64 >= MOST * hands.len() as f64
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_custom_needs_several_roundings_and_ends_when_the_exercise_changes() {
        let mut customs = Customs::default();
        for _ in 0..3 {
            customs.add(1, Side::Port);
        }
        assert_eq!(customs.hand(1), None, "three are few");
        customs.add(1, Side::Port);
        assert_eq!((customs.hand(1), customs.hand(0)), (Some(Side::Port), None));
        for _ in 0..5 {
            customs.add(1, Side::Starboard);
        }
        assert_eq!(customs.hand(1), None, "they differ");
        for _ in 0..7 {
            customs.add(1, Side::Starboard);
        }
        assert_eq!(customs.hand(1), Some(Side::Starboard));
    }
}
