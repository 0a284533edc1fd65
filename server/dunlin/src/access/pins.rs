//! Ways in: PINs for each role, and codes that are given out as a link or a QR code.

use std::sync::{PoisonError, RwLock};

use argon2::{Argon2, PasswordHasher, PasswordVerifier, password_hash::phc::PasswordHash};
use rusqlite::{OptionalExtension, params};

use super::{
    code::Secret,
    role::{role_from_word, role_word},
};
use crate::{
    hub::wire::AccessRole,
    papers::{Papers, PapersError},
};

/// Digits or letters of a PIN at least.
pub const PIN_MIN: usize = 6;

/// Digits or letters of a PIN at most.
pub const PIN_MAX: usize = 64;

/// Checks of a PIN at once: each takes 19 MiB and tens of milliseconds.
const CHECKS_AT_ONCE: usize = 2;

/// Why a PIN could not be set or checked.
#[derive(Debug, thiserror::Error)]
pub enum PinError {
    /// Too short, too long, or too easy.
    #[error("{0}")]
    Unfit(&'static str),
    /// The hash could not be made.
    #[error("the PIN could not be hashed")]
    Hash,
    /// The papers cannot be read or written.
    #[error("the PIN could not be written down")]
    Papers(#[from] PapersError),
    /// The system has no randomness.
    #[error("the system gave no random numbers")]
    Random(#[from] getrandom::Error),
}

/// PINs and invitations.
#[derive(Debug)]
pub struct Ways {
    papers: Papers,
    pins: RwLock<Vec<(AccessRole, String)>>,
    checks: tokio::sync::Semaphore,
}

impl Ways {
    /// Reads the PINs in force.
    ///
    /// # Errors
    /// When the papers cannot be read.
    pub async fn load(papers: Papers) -> Result<Ways, PapersError> {
        let pins: Vec<(String, String)> = papers
            .with(|connection| {
                let mut rows = connection.prepare("SELECT role, hash FROM pin")?;
                rows.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect()
            })
            .await?;
        let pins = pins.into_iter().filter_map(|(role, hash)| Some((role_from_word(&role)?, hash)));
        let checks = tokio::sync::Semaphore::new(CHECKS_AT_ONCE);
        Ok(Ways { papers, pins: RwLock::new(pins.collect()), checks })
    }

    /// Roles that can be joined by PIN.
    pub fn roles_with_pin(&self) -> Vec<AccessRole> {
        self.pins.read().unwrap_or_else(PoisonError::into_inner).iter().map(|(role, _)| *role).collect()
    }

    /// Sets a role's PIN, or with `None` takes it away.
    ///
    /// # Errors
    /// As [`PinError`] says; the PIN before is then still in force.
    pub async fn set_pin(&self, role: AccessRole, pin: Option<String>) -> Result<(), PinError> {
        let hash = match pin {
            None => None,
            Some(pin) => {
                fit(&pin).map_err(PinError::Unfit)?;
                let made = tokio::task::spawn_blocking(move || {
                    Argon2::default().hash_password(pin.as_bytes()).map(|hash| hash.to_string())
                });
                Some(made.await.map_err(|_| PinError::Hash)?.map_err(|_| PinError::Hash)?)
            }
        };
        let (word, row) = (role_word(role), hash.clone());
        self.papers
            .with(move |connection| match row {
                Some(hash) => {
                    connection.execute("INSERT OR REPLACE INTO pin VALUES (?1, ?2)", params![word, hash])
                }
                None => connection.execute("DELETE FROM pin WHERE role = ?1", [word]),
            })
            .await?;
        let mut pins = self.pins.write().unwrap_or_else(PoisonError::into_inner);
        pins.retain(|(other, _)| *other != role);
        pins.extend(hash.map(|hash| (role, hash)));
        Ok(())
    }

    /// The role this PIN joins; `None`: it is nobody's. The caller has asked the lock-out first.
    pub async fn by_pin(&self, pin: String) -> Option<AccessRole> {
        let pins = self.pins.read().unwrap_or_else(PoisonError::into_inner).clone();
        if pin.len() > PIN_MAX {
            return None;
        }
        let _permit = self.checks.acquire().await.ok()?;
        let checked = tokio::task::spawn_blocking(move || {
            pins.into_iter().find_map(|(role, hash)| {
                let hash = PasswordHash::new(&hash).ok()?;
                Argon2::default().verify_password(pin.as_bytes(), &hash).is_ok().then_some(role)
            })
        });
        checked.await.ok().flatten()
    }

    /// Makes a code that joins as `role` until `ends_ms`; `once`: used up by the first.
    ///
    /// # Errors
    /// As [`PinError`] says; no code was then made.
    pub async fn invite(
        &self,
        role: AccessRole,
        once: bool,
        by: &str,
        now_ms: i64,
        ends_ms: Option<i64>,
    ) -> Result<Secret, PinError> {
        let secret = Secret::code()?;
        let (hash, by) = (secret.hash(), by.to_owned());
        self.papers
            .with(move |connection| {
                connection.execute("DELETE FROM invitation WHERE ends_ms <= ?1", [now_ms])?;
                connection.execute(
                    "INSERT INTO invitation (hash, role, once, made_ms, made_by, ends_ms)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                    params![hash, role_word(role), once, now_ms, by, ends_ms],
                )
            })
            .await?;
        Ok(secret)
    }

    /// The role this code joins, using it up if it is for once; `None`: it is not, or no longer, one.
    ///
    /// # Errors
    /// When the papers cannot be read or written.
    pub async fn by_code(&self, code: &Secret, now_ms: i64) -> Result<Option<AccessRole>, PapersError> {
        let hash = code.hash();
        let word: Option<String> = self
            .papers
            .with(move |connection| {
                let found: Option<(i64, String, bool)> = connection
                    .query_row(
                        "SELECT id, role, once FROM invitation
                         WHERE hash = ?1 AND (ends_ms IS NULL OR ends_ms > ?2)",
                        params![hash, now_ms],
                        |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
                    )
                    .optional()?;
                if let Some((id, _, true)) = found {
                    connection.execute("DELETE FROM invitation WHERE id = ?1", [id])?;
                }
                Ok(found.map(|(_, role, _)| role))
            })
            .await?;
        Ok(word.as_deref().and_then(role_from_word))
    }
}

/// Whether a PIN is fit to be one.
fn fit(pin: &str) -> Result<(), &'static str> {
    if pin.chars().count() < PIN_MIN {
        return Err("a PIN has at least 6 digits or letters");
    }
    if pin.len() > PIN_MAX {
        return Err("a PIN has at most 64 digits or letters");
    }
    let bytes = pin.as_bytes();
    let steps: Vec<i16> = bytes.windows(2).map(|pair| i16::from(pair[1]) - i16::from(pair[0])).collect();
    if steps.iter().all(|step| *step == 0) || steps.iter().all(|step| step.abs() == 1 && *step == steps[0]) {
        return Err(
            "this PIN is guessed first: choose one that is not a row of the same or following digits",
        );
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_pin_joins_its_role_and_no_other_does() {
        let papers = Papers::in_memory().expect("memory");
        let ways = Ways::load(papers.clone()).await.expect("readable");
        ways.set_pin(AccessRole::Instructor, Some("294715".into())).await.expect("set");
        let ways = Ways::load(papers).await.expect("readable");
        assert_eq!(ways.by_pin("294715".into()).await, Some(AccessRole::Instructor));
        assert_eq!(ways.by_pin("294716".into()).await, None);
        ways.set_pin(AccessRole::Instructor, None).await.expect("taken away");
        assert_eq!(ways.by_pin("294715".into()).await, None);
    }

    #[tokio::test]
    async fn a_code_for_once_is_used_up() {
        let ways = Ways::load(Papers::in_memory().expect("memory")).await.expect("readable");
        let once = ways.invite(AccessRole::DutyOfficer, true, "dunlin", 0, None).await.expect("made");
        let many = ways.invite(AccessRole::Viewer, false, "Ash", 0, Some(100)).await.expect("made");
        for (code, now_ms, role) in [
            (&once, 1, Some(AccessRole::DutyOfficer)),
            (&once, 2, None),
            (&many, 3, Some(AccessRole::Viewer)),
            (&many, 99, Some(AccessRole::Viewer)),
            (&many, 100, None),
        ] {
            assert_eq!(ways.by_code(code, now_ms).await.expect("readable"), role, "at {now_ms}");
        }
    }

    #[test]
    fn pins_that_are_guessed_first_are_refused() {
        for (pin, is_fit) in [
            ("123456", false),
            ("987654", false),
            ("000000", false),
            ("29471", false),
            ("294715", true),
            ("112233", true),
        ] {
            assert_eq!(fit(pin).is_ok(), is_fit, "{pin}");
        }
    }
}
