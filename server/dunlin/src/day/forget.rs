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

/// The text with every whole-word occurrence of `name` replaced; `None` when there is none.
fn without(text: &str, name: &str) -> Option<String> {
    if name.is_empty() {
        return None;
    }
    let (lower_text, lower_name) = (text.to_lowercase(), name.to_lowercase());
    if lower_text.len() != text.len() {
        // Lower-casing moved the letters; the plain spelling is all that can be looked for.
        return text.contains(name).then(|| text.replace(name, GONE));
    }
    let mut kept = String::new();
    let mut from = 0;
    while let Some(at) = lower_text[from..].find(&lower_name).map(|at| at + from) {
        let end = at + lower_name.len();
        let is_letter = |letter: Option<char>| letter.is_some_and(char::is_alphanumeric);
        let is_part =
            is_letter(lower_text[..at].chars().next_back()) || is_letter(lower_text[end..].chars().next());
        kept.push_str(&text[from..at]);
        kept.push_str(if is_part { &text[at..end] } else { GONE });
        from = end;
    }
    kept.push_str(&text[from..]);
    (kept != text).then_some(kept)
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
        ] {
            assert_eq!(without(text, "Noa").as_deref(), expected, "{text}");
        }
    }
}
