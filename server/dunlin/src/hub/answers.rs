//! What each tablet was answered, so that a request sent again after a broken link is answered
//! again and done once.

use std::{
    collections::{HashMap, VecDeque},
    sync::{Arc, Mutex, PoisonError},
};

use super::{
    limits::{ANSWERED_TABLETS_MAX, ANSWERS_PER_TABLET},
    wire::Outcome,
};

/// One tablet's answers, newest last.
#[derive(Debug, Default)]
pub struct Given(VecDeque<Outcome>);

impl Given {
    /// What this request was answered; `None`: it is new, or too old to be known.
    pub fn to(&self, request: u32) -> Option<&Outcome> {
        self.0.iter().find(|outcome| outcome.request == request)
    }

    /// Remembers an answer; the oldest is forgotten.
    pub fn remember(&mut self, outcome: Outcome) {
        if self.0.len() >= ANSWERS_PER_TABLET {
            self.0.pop_front();
        }
        self.0.push_back(outcome);
    }
}

#[derive(Debug, Default)]
struct Tablets {
    used: u64,
    by_name: HashMap<String, (u64, Arc<tokio::sync::Mutex<Given>>)>,
}

/// All tablets' answers.
#[derive(Debug, Default)]
pub struct Answers(Mutex<Tablets>);

impl Answers {
    /// One tablet's answers, by the name it gave itself and the key it holds. Its lock is held while
    /// an action is carried out, so that the same request on a new connection waits for the first.
    pub fn of(&self, key: i64, tablet: &str) -> Arc<tokio::sync::Mutex<Given>> {
        let mut tablets = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        tablets.used += 1;
        let used = tablets.used;
        let name = format!("{key}/{tablet}");
        if !tablets.by_name.contains_key(&name) && tablets.by_name.len() >= ANSWERED_TABLETS_MAX {
            let longest_away = tablets.by_name.iter().min_by_key(|(_, (used, _))| *used);
            if let Some(name) = longest_away.map(|(name, _)| name.clone()) {
                tablets.by_name.remove(&name);
            }
        }
        let (last, given) = tablets.by_name.entry(name).or_default();
        *last = used;
        Arc::clone(given)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn an_answer_outlives_the_connection_but_not_for_ever() {
        let answers = Answers::default();
        for request in 0..100 {
            let outcome = Outcome { request, refused: None, undo: None };
            answers.of(1, "a").lock().await.remember(outcome);
        }
        assert!(answers.of(1, "a").lock().await.to(99).is_some());
        assert!(answers.of(1, "a").lock().await.to(0).is_none());
        assert!(answers.of(2, "a").lock().await.to(99).is_none());
        for tablet in 0..ANSWERED_TABLETS_MAX {
            drop(answers.of(3, &tablet.to_string()));
        }
        assert!(answers.of(1, "a").lock().await.to(99).is_none());
    }
}
