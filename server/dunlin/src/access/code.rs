//! Secrets: made at random, shown once, stored as hashes.

use std::fmt;

use sha2::{Digest, Sha256};

/// Letters of a secret: digits and capitals without I, L, O and U (Crockford's base 32, from
/// memory), so that it can be read out over a radio.
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Letters of a key: 26 of 32 kinds are 130 bits.
const KEY_LEN: usize = 26;

/// Letters of a code to be typed once: 50 bits, guarded by the lock-out.
const CODE_LEN: usize = 10;

/// A secret in the clear: on its way to the person who asked for it. Prints as nothing.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    /// A new key, never guessed.
    ///
    /// # Errors
    /// When the system has no randomness to give.
    pub fn key() -> Result<Secret, getrandom::Error> {
        Secret::of_len(KEY_LEN)
    }

    /// A new short code for joining.
    ///
    /// # Errors
    /// When the system has no randomness to give.
    pub fn code() -> Result<Secret, getrandom::Error> {
        Secret::of_len(CODE_LEN)
    }

    fn of_len(len: usize) -> Result<Secret, getrandom::Error> {
        let mut bytes = vec![0; len];
        getrandom::fill(&mut bytes)?;
        let letters = bytes.iter().map(|byte| char::from(LETTERS[usize::from(byte % 32)]));
        Ok(Secret(letters.collect()))
    }

    /// The secret as somebody gave it: spaces and dashes are dropped, small letters are capitals,
    /// and the letters that are not used are read as the digits they look like.
    pub fn given(text: &str) -> Secret {
        let letters = text.chars().filter(|letter| !letter.is_whitespace() && *letter != '-');
        Secret(
            letters
                .take(4 * KEY_LEN)
                .map(|letter| match letter.to_ascii_uppercase() {
                    'O' => '0',
                    'I' | 'L' => '1',
                    other => other,
                })
                .collect(),
        )
    }

    /// In the clear, for the one answer that carries it.
    pub fn reveal(&self) -> &str {
        &self.0
    }

    /// What is stored. A key has far more than 100 bits, so a plain hash cannot be searched.
    pub fn hash(&self) -> [u8; 32] {
        Sha256::digest(self.0.as_bytes()).into()
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret(..)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_differ_and_never_print() {
        let (one, other) = (Secret::key().expect("random"), Secret::key().expect("random"));
        assert_ne!(one, other);
        assert_eq!(one.reveal().len(), KEY_LEN);
        assert!(!format!("{one:?}").contains(one.reveal()));
    }

    #[test]
    fn a_code_read_out_loud_is_the_same_code() {
        assert_eq!(Secret::given(" a0il-7 q").reveal(), "A0117Q");
    }

    #[test]
    fn every_letter_is_its_own() {
        let mut letters = LETTERS.to_vec();
        letters.sort_unstable();
        letters.dedup();
        assert_eq!(letters.len(), 32);
    }
}
