//! A list of people, typed, pasted or exported from a spreadsheet.

/// People in one session at most.
pub const PEOPLE_MAX: usize = 500;

/// Letters of a name; longer ones are refused, since a pasted column is then probably not names.
const NAME_MAX: usize = 60;

/// One line of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The name.
    pub name: String,
    /// `learner`, `crew`, `staff`.
    pub part: String,
    /// What is painted on the boat they go in.
    pub boat: Option<String>,
}

/// Reads a pasted list: one person a line, `name`, or `name;part;boat` with `;`, a tab or a comma
/// between. Empty lines, and a heading line that begins with `name`, are passed over.
///
/// # Errors
/// The first line that cannot be used, with its number and what to do; nothing is then taken.
pub fn parse(text: &str, is_boat: impl Fn(&str) -> bool) -> Result<Vec<Line>, String> {
    let mut lines = Vec::new();
    for (number, line) in text.lines().enumerate().map(|(ix, line)| (ix + 1, line.trim())) {
        if line.is_empty() || (lines.is_empty() && is_heading(line)) {
            continue;
        }
        lines.push(parse_line(line, &is_boat).map_err(|wrong| format!("line {number}: {wrong}"))?);
        if lines.len() > PEOPLE_MAX {
            return Err(format!("more than {PEOPLE_MAX} people: paste one session's list only"));
        }
    }
    if lines.is_empty() {
        return Err("no name found: write one person a line".to_owned());
    }
    Ok(lines)
}

fn is_heading(line: &str) -> bool {
    let first = split(line).first().map(|field| field.to_lowercase());
    first.is_some_and(|field| field == "name" || field == "first name")
}

fn split(line: &str) -> Vec<String> {
    let between = [';', '\t', ','].into_iter().find(|letter| line.contains(*letter));
    let fields: Vec<&str> = between.map_or_else(|| vec![line], |letter| line.split(letter).collect());
    fields.into_iter().map(|field| field.trim().trim_matches('"').trim().to_owned()).collect()
}

fn parse_line(line: &str, is_boat: impl Fn(&str) -> bool) -> Result<Line, String> {
    let mut fields = split(line).into_iter();
    let name = fields.next().unwrap_or_default();
    if name.is_empty() {
        return Err("the name is missing".to_owned());
    }
    if name.chars().count() > NAME_MAX || name.chars().any(char::is_control) {
        return Err(format!("a name is at most {NAME_MAX} letters long"));
    }
    let part = match fields.next().unwrap_or_default().to_lowercase().as_str() {
        "" | "learner" | "student" => "learner",
        "crew" => "crew",
        "staff" | "instructor" => "staff",
        other => return Err(format!("\"{other}\" is none of learner, crew, staff")),
    };
    let boat = fields.next().filter(|boat| !boat.is_empty());
    if let Some(boat) = boat.as_deref().filter(|boat| !is_boat(boat)) {
        return Err(format!("there is no boat \"{boat}\" in the fleet"));
    }
    if fields.any(|field| !field.is_empty()) {
        return Err("more than three fields: name;part;boat".to_owned());
    }
    Ok(Line { name, part: part.to_owned(), boat })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(name: &str, part: &str, boat: Option<&str>) -> Line {
        Line { name: name.into(), part: part.into(), boat: boat.map(Into::into) }
    }

    #[test]
    fn lists_are_read_as_people_write_them() {
        for (text, expected) in [
            ("Noa\nKim\n", vec![line("Noa", "learner", None), line("Kim", "learner", None)]),
            ("Name;Part;Boat\r\nNoa;crew;07\r\n", vec![line("Noa", "crew", Some("07"))]),
            ("Noa\tstaff", vec![line("Noa", "staff", None)]),
            ("\"Noa\",learner,", vec![line("Noa", "learner", None)]),
            ("\n\n  Zoë van der Meer  \n", vec![line("Zoë van der Meer", "learner", None)]),
        ] {
            assert_eq!(parse(text, |boat| boat == "07"), Ok(expected), "{text:?}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_pasted_text_is_read_or_refused(text in "(?s).{0,200}") {
            drop(parse(&text, |boat| boat == "07"));
        }
    }

    #[test]
    fn a_wrong_line_is_named_and_nothing_is_taken() {
        for (text, says) in [
            ("Noa\nKim;learner;99", "line 2: there is no boat \"99\""),
            ("Noa;captain", "line 1: \"captain\" is none of"),
            (";learner", "line 1: the name is missing"),
            ("", "no name found"),
            ("a;learner;07;x", "line 1: more than three fields"),
        ] {
            let wrong = parse(text, |boat| boat == "07").expect_err(text);
            assert!(wrong.starts_with(says), "{text:?}: {wrong}");
        }
        let long = "x".repeat(NAME_MAX + 1);
        assert!(parse(&long, |_| true).is_err());
    }
}
