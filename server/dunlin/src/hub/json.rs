//! JSON from outside, with bounds on its shape before anything is built from it.

use serde::de::DeserializeOwned;

use super::limits::JSON_DEPTH_MAX;

/// Reads a message.
///
/// # Errors
/// Why it cannot be used, in words that name the place.
pub fn read<T: DeserializeOwned>(text: &str) -> Result<T, String> {
    if depth(text) > JSON_DEPTH_MAX {
        return Err(format!("nested deeper than {JSON_DEPTH_MAX} levels"));
    }
    serde_json::from_str(text).map_err(|error| error.to_string())
}

/// The number in the field `name` of a message that could not be used otherwise, so that its
/// sender can be told which one was refused.
pub fn number(text: &str, name: &str) -> Option<u32> {
    if depth(text) > JSON_DEPTH_MAX {
        return None;
    }
    let value: serde_json::Value = serde_json::from_str(text).ok()?;
    value.get(name)?.as_u64()?.try_into().ok()
}

/// The deepest nesting of brackets outside strings.
fn depth(text: &str) -> usize {
    let (mut deepest, mut now) = (0_usize, 0_usize);
    let (mut in_string, mut escaped) = (false, false);
    for byte in text.bytes() {
        match (in_string, byte) {
            (true, _) if escaped => escaped = false,
            (true, b'\\') => escaped = true,
            (_, b'"') => in_string = !in_string,
            (false, b'[' | b'{') => {
                now += 1;
                deepest = deepest.max(now);
            }
            (false, b']' | b'}') => now = now.saturating_sub(1),
            _ => (),
        }
    }
    deepest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn depth_counts_brackets_outside_strings_only() {
        for (text, deep) in [("1", 0), ("[{}]", 2), (r#"{"a":"[[[[\"[["}"#, 1), ("]]]][", 1)] {
            assert_eq!(depth(text), deep, "{text}");
        }
        let deep = "[".repeat(100_000);
        assert!(read::<serde_json::Value>(&deep).is_err());
    }

    #[test]
    fn the_number_of_a_refused_message_is_found() {
        assert_eq!(number(r#"{"request":7,"action":{"kind":"nonsense"}}"#, "request"), Some(7));
        assert_eq!(number(r#"{"request":-7}"#, "request"), None);
        assert_eq!(number("rubbish", "request"), None);
    }
}
