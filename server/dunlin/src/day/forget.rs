//! Deleting people: from the list, from notes, from every entry that speaks of them.

use super::record::Record;

/// What stands where a name stood.
pub const GONE: &str = "(deleted)";

/// The record without this person; `None` when it does not speak of them.
pub fn scrub(record: &Record, person: u32, name: &str) -> Option<Record> {
    match record {
        Record::Added { person: other, part, boat, .. } if *other == person => {
            Some(Record::Added { person, name: String::new(), part: part.clone(), boat: boat.clone() })
        }
        Record::PersonNote { person: other, .. } if *other == person => {
            Some(Record::PersonNote { person, note: None })
        }
        Record::PersonNote { person: other, note: Some(note) } => {
            let note = Some(without(note, name)?);
            Some(Record::PersonNote { person: *other, note })
        }
        Record::Note { boat, text } => Some(Record::Note { boat: boat.clone(), text: without(text, name)? }),
        Record::Closed { reason: Some(reason) } => {
            Some(Record::Closed { reason: Some(without(reason, name)?) })
        }
        Record::Override { boat, reason } => {
            Some(Record::Override { boat: boat.clone(), reason: without(reason, name)? })
        }
        Record::Defect { defect, boat, text, safety } => Some(Record::Defect {
            defect: *defect,
            boat: boat.clone(),
            text: without(text, name)?,
            safety: *safety,
        }),
        Record::Signal { signal, words } => {
            Some(Record::Signal { signal: signal.clone(), words: without(words, name)? })
        }
        Record::Session(plan) if plan.staff.iter().any(|staff| staff == name) => {
            let mut plan = plan.clone();
            plan.staff.retain(|staff| staff != name);
            Some(Record::Session(plan))
        }
        Record::Session(_)
        | Record::Closed { reason: None }
        | Record::Added { .. }
        | Record::Deleted { .. }
        | Record::Placed { .. }
        | Record::Stood { .. }
        | Record::WentOut { .. }
        | Record::CountedBack { .. }
        | Record::PersonNote { note: None, .. }
        | Record::Buoyancy { .. }
        | Record::Ready { .. }
        | Record::After { .. }
        | Record::Reefed { .. }
        | Record::Mended { .. }
        | Record::Items { .. }
        | Record::Rules(_)
        | Record::SignalSeen { .. } => None,
    }
}

/// The text with every whole-word occurrence of `name` replaced, in whatever case it is written;
/// `None` when there is none.
fn without(text: &str, name: &str) -> Option<String> {
    let name: Vec<char> = name.trim().chars().flat_map(char::to_lowercase).collect();
    if name.is_empty() {
        return None;
    }
    let letters: Vec<char> = text.chars().collect();
    let is_letter =
        |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(|letter| letter.is_alphanumeric());
    let (mut kept, mut at, mut found) = (String::with_capacity(text.len()), 0, false);
    while let Some(letter) = letters.get(at) {
        let end =
            end_of(&letters, at, &name).filter(|end| !is_letter(at.checked_sub(1)) && !is_letter(Some(*end)));
        match end {
            Some(end) => {
                kept.push_str(GONE);
                (at, found) = (end, true);
            }
            None => {
                kept.push(*letter);
                at += 1;
            }
        }
    }
    found.then_some(kept)
}

/// Where `name` (in small letters) ends when it begins at `at`; `None` when it does not.
fn end_of(letters: &[char], at: usize, name: &[char]) -> Option<usize> {
    let mut left = name;
    let mut end = at;
    while !left.is_empty() {
        // One letter may be several in small ones.
        for small in letters.get(end)?.to_lowercase() {
            let (first, rest) = left.split_first()?;
            if *first != small {
                return None;
            }
            left = rest;
        }
        end += 1;
    }
    Some(end)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_names_go_and_parts_of_words_stay() {
        for (text, expected) in [
            ("Kim swapped with noa", Some("Kim swapped with (deleted)")),
            ("NOA.", Some("(deleted).")),
            ("Noah is another", None),
            ("", None),
            ("İİ noa İ", Some("İİ (deleted) İ")),
        ] {
            assert_eq!(without(text, "Noa").as_deref(), expected, "{text}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_and_name_can_be_looked_through(text in "\\PC{0,60}", name in "\\PC{0,4}") {
            let left = without(&text, &name);
            proptest::prop_assert!(left.is_none_or(|left| left.contains(GONE)));
        }
    }
}
