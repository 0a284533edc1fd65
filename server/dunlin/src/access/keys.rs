//! The keys in force: who holds which, made, looked up and revoked.

use std::{collections::HashMap, sync::RwLock};

use rusqlite::{OptionalExtension, params};

use super::{
    code::Secret,
    role::{Principal, role_from_word, role_word},
};
use crate::{
    hub::wire::AccessRole,
    papers::{Papers, PapersError},
};

/// Keys in force at most. Beyond it no new one is made until some are revoked: a beach has tens.
pub const KEYS_MAX: usize = 4000;

/// How long a person's key lasts, ms: a season's tablet joins again about once a quarter.
pub const PERSON_KEY_MS: i64 = 90 * 86_400_000;

/// The word for a boat's key in the table of keys.
const BOAT: &str = "boat";

/// A key as those who manage keys see it; never the key itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Key {
    /// Its number.
    pub id: i64,
    /// `viewer`, `instructor`, `duty-officer` or `boat`.
    pub role: String,
    /// The person's name, or what is painted on the boat.
    pub name: String,
    /// When it was made, ms UTC.
    pub made_ms: i64,
    /// Who made it.
    pub made_by: String,
    /// When it ends, ms UTC; `None`: when it is revoked.
    pub ends_ms: Option<i64>,
}

impl Key {
    fn principal(&self) -> Principal {
        if self.role == BOAT {
            return Principal::Boat { key: self.id, boat: self.name.clone() };
        }
        match role_from_word(&self.role) {
            Some(role) => Principal::Person { key: self.id, name: self.name.clone(), role },
            None => Principal::Nobody,
        }
    }
}

/// Why a key could not be made or used.
#[derive(Debug, thiserror::Error)]
pub enum KeyError {
    /// Too many are in force.
    #[error("there are too many keys; revoke those no longer used")]
    TooMany,
    /// The system has no randomness.
    #[error("the system gave no random numbers")]
    Random(#[from] getrandom::Error),
    /// The papers cannot be written.
    #[error("the key could not be written down")]
    Papers(#[from] PapersError),
}

/// All keys in force, in memory for every request, in the papers for good.
#[derive(Debug)]
pub struct Keys {
    papers: Papers,
    by_hash: RwLock<HashMap<[u8; 32], Key>>,
}

impl Keys {
    /// Reads those in force.
    ///
    /// # Errors
    /// When the papers cannot be read.
    pub async fn load(papers: Papers) -> Result<Keys, PapersError> {
        let by_hash = papers
            .with(|connection| {
                let mut rows = connection.prepare(
                    "SELECT hash, id, role, name, made_ms, made_by, ends_ms FROM key WHERE revoked_ms IS NULL",
                )?;
                rows.query_map([], |row| {
                    let key = Key {
                        id: row.get(1)?,
                        role: row.get(2)?,
                        name: row.get(3)?,
                        made_ms: row.get(4)?,
                        made_by: row.get(5)?,
                        ends_ms: row.get(6)?,
                    };
                    Ok((row.get::<_, [u8; 32]>(0)?, key))
                })?
                .collect()
            })
            .await?;
        Ok(Keys { papers, by_hash: RwLock::new(by_hash) })
    }

    /// Whose this key is at `now_ms`.
    pub fn who(&self, secret: &Secret, now_ms: i64) -> Principal {
        let table = self.by_hash.read().unwrap_or_else(std::sync::PoisonError::into_inner);
        match table.get(&secret.hash()) {
            Some(key) if key.ends_ms.is_none_or(|ends| now_ms < ends) => key.principal(),
            Some(_) | None => Principal::Nobody,
        }
    }

    /// Whether the key of this number is still in force: asked by sockets that stay open.
    pub fn in_force(&self, id: i64) -> bool {
        let table = self.by_hash.read().unwrap_or_else(std::sync::PoisonError::into_inner);
        table.values().any(|key| key.id == id)
    }

    /// All in force, oldest first.
    pub fn list(&self) -> Vec<Key> {
        let table = self.by_hash.read().unwrap_or_else(std::sync::PoisonError::into_inner);
        let mut keys: Vec<Key> = table.values().cloned().collect();
        keys.sort_by_key(|key| key.id);
        keys
    }

    /// Makes a person's key.
    ///
    /// # Errors
    /// As [`KeyError`] says; no key was then made.
    pub async fn make_person(
        &self,
        role: AccessRole,
        name: &str,
        by: &str,
        now_ms: i64,
    ) -> Result<(Secret, Key), KeyError> {
        self.make(role_word(role), name, by, now_ms, Some(now_ms.saturating_add(PERSON_KEY_MS))).await
    }

    /// Makes a key for one boat; it lasts until it is revoked.
    ///
    /// # Errors
    /// As [`KeyError`] says; no key was then made.
    pub async fn make_boat(&self, boat: &str, by: &str, now_ms: i64) -> Result<(Secret, Key), KeyError> {
        self.make(BOAT, boat, by, now_ms, None).await
    }

    async fn make(
        &self,
        role: &str,
        name: &str,
        by: &str,
        now_ms: i64,
        ends_ms: Option<i64>,
    ) -> Result<(Secret, Key), KeyError> {
        self.drop_ended(now_ms);
        if self.list().len() >= KEYS_MAX {
            return Err(KeyError::TooMany);
        }
        let secret = Secret::key()?;
        let hash = secret.hash();
        let mut key = Key {
            id: 0,
            role: role.to_owned(),
            name: name.to_owned(),
            made_ms: now_ms,
            made_by: by.to_owned(),
            ends_ms,
        };
        let row = key.clone();
        key.id = self
            .papers
            .with(move |connection| {
                connection.execute(
                    "INSERT INTO key (hash, role, name, made_ms, made_by, ends_ms) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                    params![hash, row.role, row.name, row.made_ms, row.made_by, row.ends_ms],
                )?;
                Ok(connection.last_insert_rowid())
            })
            .await?;
        let mut table = self.by_hash.write().unwrap_or_else(std::sync::PoisonError::into_inner);
        table.insert(hash, key.clone());
        Ok((secret, key))
    }

    /// Ends a key now. Whether there was one.
    ///
    /// # Errors
    /// When the papers cannot be written; the key is then still in force.
    pub async fn revoke(&self, id: i64, now_ms: i64) -> Result<bool, PapersError> {
        let ended = self
            .papers
            .with(move |connection| {
                let found: Option<i64> = connection
                    .query_row("SELECT id FROM key WHERE id = ?1 AND revoked_ms IS NULL", [id], |row| {
                        row.get(0)
                    })
                    .optional()?;
                connection.execute("UPDATE key SET revoked_ms = ?2 WHERE id = ?1", params![id, now_ms])?;
                Ok(found.is_some())
            })
            .await?;
        let mut table = self.by_hash.write().unwrap_or_else(std::sync::PoisonError::into_inner);
        table.retain(|_, key| key.id != id);
        Ok(ended)
    }

    fn drop_ended(&self, now_ms: i64) {
        let mut table = self.by_hash.write().unwrap_or_else(std::sync::PoisonError::into_inner);
        table.retain(|_, key| key.ends_ms.is_none_or(|ends| now_ms < ends));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_key_works_until_it_ends_or_is_revoked_and_over_a_restart() {
        let papers = Papers::in_memory().expect("memory");
        let keys = Keys::load(papers.clone()).await.expect("readable");
        let (secret, key) =
            keys.make_person(AccessRole::Instructor, "Robin", "Ash", 1_000).await.expect("made");
        let (boat_secret, boat_key) = keys.make_boat("07", "Ash", 1_000).await.expect("made");

        let keys = Keys::load(papers.clone()).await.expect("readable");
        let robin = Principal::Person { key: key.id, name: "Robin".into(), role: AccessRole::Instructor };
        assert_eq!(keys.who(&secret, 2_000), robin);
        assert_eq!(keys.who(&secret, 1_000 + PERSON_KEY_MS), Principal::Nobody);
        let seven = Principal::Boat { key: boat_key.id, boat: "07".into() };
        assert_eq!(keys.who(&boat_secret, i64::MAX), seven);

        assert!(keys.revoke(boat_key.id, 3_000).await.expect("writable"));
        assert_eq!(keys.who(&boat_secret, 3_000), Principal::Nobody);
        assert!(!keys.in_force(boat_key.id));
        let keys = Keys::load(papers).await.expect("readable");
        assert_eq!(keys.who(&boat_secret, 3_000), Principal::Nobody);
    }

    #[tokio::test]
    async fn the_papers_hold_no_key_in_the_clear() {
        let papers = Papers::in_memory().expect("memory");
        let keys = Keys::load(papers.clone()).await.expect("readable");
        let (secret, _) = keys.make_boat("07", "Ash", 1_000).await.expect("made");
        let kept: Vec<u8> = papers
            .with(|connection| connection.query_row("SELECT hash FROM key", [], |row| row.get(0)))
            .await
            .expect("readable");
        assert_ne!(kept, secret.reveal().as_bytes());
    }
}
