//! The phones on board: which are connected, and how far each has been heard.

use std::{
    collections::{BTreeMap, BTreeSet, VecDeque},
    sync::{Arc, Mutex, PoisonError},
};

use tokio::sync::Notify;

/// Runs remembered for one boat; the oldest is forgotten, and its fixes may then be heard twice,
/// which the engine notices.
const RUNS_MAX: usize = 8;

/// Times within [`DOUBLED_MS`] that a boat's socket is replaced before two phones with one key are
/// suspected.
const REPLACED_MAX: usize = 5;

/// The span for [`REPLACED_MAX`], ms.
const DOUBLED_MS: i64 = 60_000;

#[derive(Debug, Default)]
struct Phone {
    connection: u64,
    end: Option<Arc<Notify>>,
    acked: VecDeque<(String, u32)>,
    replaced_ms: VecDeque<i64>,
}

#[derive(Debug, Default)]
struct All {
    connections: u64,
    by_boat: BTreeMap<String, Phone>,
    assigned: BTreeSet<String>,
}

/// All phones.
#[derive(Debug, Default)]
pub struct Phones(Mutex<All>);

/// A connection's place as the one that speaks for its boat.
#[derive(Debug)]
pub struct Turn {
    /// Names the connection.
    pub connection: u64,
    /// Told when another connection takes over.
    pub end: Arc<Notify>,
    /// Whether so many took over lately that two phones must be using one key.
    pub doubled: bool,
}

impl Phones {
    /// This connection speaks for the boat from now on; one before it is told to end, since a phone
    /// that returns after a dead spot may find its old, half-open connection still there.
    pub fn take_over(&self, boat: &str, now_ms: i64) -> Turn {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.connections += 1;
        let connection = all.connections;
        let phone = all.by_boat.entry(boat.to_owned()).or_default();
        let end = Arc::new(Notify::new());
        if let Some(before) = phone.end.replace(Arc::clone(&end)) {
            before.notify_one();
            phone.replaced_ms.push_back(now_ms);
        }
        while phone.replaced_ms.front().is_some_and(|at| now_ms - at > DOUBLED_MS)
            || phone.replaced_ms.len() > 2 * REPLACED_MAX
        {
            phone.replaced_ms.pop_front();
        }
        phone.connection = connection;
        Turn { connection, end, doubled: phone.replaced_ms.len() > REPLACED_MAX }
    }

    /// The connection ended; the boat is reachable no more unless another took over.
    pub fn leave(&self, boat: &str, connection: u64) {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(phone) = all.by_boat.get_mut(boat)
            && phone.connection == connection
        {
            phone.end = None;
        }
    }

    /// Boats whose phone is connected now.
    pub fn connected(&self) -> Vec<String> {
        let all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.by_boat.iter().filter(|(_, phone)| phone.end.is_some()).map(|(boat, _)| boat.clone()).collect()
    }

    /// How far this run of the boat's phone is on disk.
    pub fn acked(&self, boat: &str, run: &str) -> Option<u32> {
        let all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let known = all.by_boat.get(boat)?.acked.iter().find(|(other, _)| other == run);
        known.map(|(_, seq)| *seq)
    }

    /// The run is on disk up to `seq`.
    pub fn ack(&self, boat: &str, run: &str, seq: u32) {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let phone = all.by_boat.entry(boat.to_owned()).or_default();
        let before = phone.acked.iter().position(|(other, _)| other == run);
        let known = before.and_then(|ix| phone.acked.remove(ix)).map_or(0, |(_, seq)| seq);
        if phone.acked.len() >= RUNS_MAX {
            phone.acked.pop_front();
        }
        phone.acked.push_back((run.to_owned(), known.max(seq)));
    }

    /// Whether the engine must still be told that this boat's phone speaks for her.
    pub fn must_assign(&self, boat: &str) -> bool {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).assigned.insert(boat.to_owned())
    }

    /// The fleet changed: all phones are to be assigned anew.
    pub fn forget_assigned(&self) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).assigned.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn the_newest_connection_speaks_and_the_old_one_is_told() {
        let phones = Phones::default();
        let old = phones.take_over("07", 0);
        let new = phones.take_over("07", 1);
        old.end.notified().await;
        phones.leave("07", old.connection);
        assert_eq!(phones.connected(), ["07"]);
        phones.leave("07", new.connection);
        assert!(phones.connected().is_empty());
    }

    #[test]
    fn two_phones_that_push_each_other_out_are_noticed() {
        let phones = Phones::default();
        let doubled: Vec<bool> = (0..8).map(|n| phones.take_over("07", n * 1_000).doubled).collect();
        assert_eq!(doubled, [false, false, false, false, false, false, true, true]);
        assert!(!phones.take_over("07", 500_000).doubled);
    }

    #[test]
    fn an_ack_never_goes_back() {
        let phones = Phones::default();
        phones.ack("07", "a", 5);
        phones.ack("07", "a", 3);
        assert_eq!(phones.acked("07", "a"), Some(5));
        assert_eq!(phones.acked("07", "b"), None);
    }
}
