//! What a boat may be doing, in probabilities and in words.

use super::model::Condition;
use crate::moment::Moment;

/// The probability of each condition of one boat at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    /// When.
    pub at: Moment,
    pub(super) shares: [f64; Condition::COUNT],
    /// Seconds without a fix, beyond what this feed's rhythm explains; `None` while it speaks.
    pub silent_s: Option<f64>,
}

impl Belief {
    /// The probability of `condition`, 0..=1; all of them sum to one.
    pub fn of(&self, condition: Condition) -> f64 {
        self.shares[condition.ix()]
    }

    /// The likeliest condition.
    pub fn most_likely(&self) -> Condition {
        let mut best = Condition::Sailing;
        for condition in Condition::ALL {
            if self.of(condition) > self.of(best) {
                best = condition;
            }
        }
        best
    }

    /// The probability that she is on her side or upside down.
    pub fn capsized(&self) -> f64 {
        self.of(Condition::Capsized)
    }

    /// The likeliest condition in words: "in irons", "capsized or waiting, not told apart".
    pub fn words(&self) -> String {
        let best = self.most_likely();
        let second = Condition::ALL
            .into_iter()
            .filter(|&condition| condition != best)
            .max_by(|&a, &b| self.of(a).total_cmp(&self.of(b)));
        let mut words = match second {
            Some(second) if self.of(best) < 0.6 && self.of(second) > 0.6 * self.of(best) => {
                format!("{} or {}, not told apart", best.word(), second.word())
            }
            _ => best.word().to_owned(),
        };
        if let Some(silent_s) = self.silent_s {
            words.push_str(&format!(", silent for {silent_s:.0} s"));
        }
        words
    }
}
