//! Reading TOML by hand, so that every wrong value is reported with its line, all in one go.

use std::ops::RangeInclusive;

use toml::de::{DeTable, DeValue};

use super::{Findings, Severity};

/// Parses a file; syntax errors become findings. What could be parsed is returned all the same, so
/// that the rest can be checked too.
pub fn document<'d>(findings: &mut Findings, text: &'d str) -> DeTable<'d> {
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in errors {
        findings.error(
            error.span().map(|span| span.start),
            format!("is not TOML: {}", error.message()),
            "correct the line; text goes in quotes, tables begin with [[name]]",
        );
    }
    table.into_inner()
}

/// One table of a TOML file, read key by key; the keys nobody asked for are reported at the end.
pub struct Section<'d> {
    table: &'d DeTable<'d>,
    /// Byte offset of the table.
    pub at: usize,
    /// What it describes, for messages: `boat "07"`.
    pub what: String,
    known: Vec<&'static str>,
}

impl<'d> Section<'d> {
    /// A table that begins at the byte offset `at`.
    pub fn new(table: &'d DeTable<'d>, at: usize, what: impl Into<String>) -> Section<'d> {
        Section { table, at, what: what.into(), known: Vec::new() }
    }

    /// The value of `key` and its byte offset.
    pub fn value(&mut self, key: &'static str) -> Option<(&'d DeValue<'d>, usize)> {
        self.known.push(key);
        let value = self.table.get(key)?;
        Some((value.get_ref(), value.span().start))
    }

    /// Text; an integer is taken as its digits. Empty text counts as absent and is reported.
    pub fn text(&mut self, findings: &mut Findings, key: &'static str) -> Option<String> {
        let (value, at) = self.value(key)?;
        self.as_text(findings, key, value, at)
    }

    fn as_text(&self, findings: &mut Findings, key: &str, value: &DeValue, at: usize) -> Option<String> {
        let text = match value {
            DeValue::String(text) => text.trim().to_owned(),
            DeValue::Integer(number) if number.radix() == 10 => number.as_str().to_owned(),
            _ => {
                self.wrong(findings, key, at, "text in quotes");
                return None;
            }
        };
        if text.is_empty() {
            self.wrong(findings, key, at, "text that is not empty");
            return None;
        }
        Some(text)
    }

    /// Text, or a list of texts; empty when absent.
    pub fn texts(&mut self, findings: &mut Findings, key: &'static str) -> Vec<(String, usize)> {
        let Some((value, at)) = self.value(key) else {
            return Vec::new();
        };
        match value.as_array() {
            Some(list) => list
                .iter()
                .filter_map(|item| {
                    let at = item.span().start;
                    let text = self.as_text(findings, key, item.get_ref(), at)?;
                    Some((text, at))
                })
                .collect(),
            None => self.as_text(findings, key, value, at).map(|text| vec![(text, at)]).unwrap_or_default(),
        }
    }

    /// A number within `range`, whole or not.
    pub fn number(
        &mut self,
        findings: &mut Findings,
        key: &'static str,
        range: RangeInclusive<f64>,
    ) -> Option<f64> {
        let (value, at) = self.value(key)?;
        let number = as_number(value).filter(|number| range.contains(number));
        if number.is_none() {
            let expected = format!("a number from {} to {}", range.start(), range.end());
            self.wrong(findings, key, at, &expected);
        }
        number
    }

    /// A whole number within `range`.
    pub fn whole(
        &mut self,
        findings: &mut Findings,
        key: &'static str,
        range: RangeInclusive<i64>,
    ) -> Option<i64> {
        let (value, at) = self.value(key)?;
        let number = value
            .as_integer()
            .and_then(|number| i64::from_str_radix(number.as_str(), number.radix()).ok())
            .filter(|number| range.contains(number));
        if number.is_none() {
            let expected = format!("a whole number from {} to {}", range.start(), range.end());
            self.wrong(findings, key, at, &expected);
        }
        number
    }

    /// `true` or `false`.
    pub fn flag(&mut self, findings: &mut Findings, key: &'static str) -> Option<bool> {
        let (value, at) = self.value(key)?;
        let flag = value.as_bool();
        if flag.is_none() {
            self.wrong(findings, key, at, "true or false");
        }
        flag
    }

    /// A table within this one.
    pub fn section(&mut self, findings: &mut Findings, key: &'static str) -> Option<Section<'d>> {
        let (value, at) = self.value(key)?;
        match value.as_table() {
            Some(table) => Some(Section::new(table, at, key)),
            None => {
                self.wrong(findings, key, at, "a table");
                None
            }
        }
    }

    /// The tables of a `[[key]]` list; a single `[key]` counts as a list of one.
    pub fn sections(&mut self, findings: &mut Findings, key: &'static str) -> Vec<Section<'d>> {
        let Some((value, at)) = self.value(key) else {
            return Vec::new();
        };
        if let Some(table) = value.as_table() {
            return vec![Section::new(table, at, key)];
        }
        let items = value.as_array().map(|list| list.iter()).into_iter().flatten();
        let sections: Vec<_> = items
            .filter_map(|item| {
                let table = item.get_ref().as_table()?;
                Some(Section::new(table, item.span().start, key))
            })
            .collect();
        if sections.is_empty() {
            self.wrong(findings, key, at, "a list of tables, each begun by [[...]]");
        }
        sections
    }

    /// All entries, for tables whose keys are names.
    pub fn entries(&self) -> impl Iterator<Item = (&'d str, &'d DeValue<'d>, usize)> {
        self.table.iter().map(|(key, value)| (key.get_ref().as_ref(), value.get_ref(), key.span().start))
    }

    /// Reports the value at `at` as not being `expected`.
    pub fn wrong(&self, findings: &mut Findings, key: &str, at: usize, expected: &str) {
        findings.error(
            Some(at),
            format!("{key} of {} is not {expected}", self.what),
            format!("write {key} as {expected}, or leave it out"),
        );
    }

    /// Reports the keys nobody asked for.
    pub fn finish(self, findings: &mut Findings, severity: Severity) {
        for (key, _, at) in self.entries() {
            if self.known.contains(&key) {
                continue;
            }
            let near = self.known.iter().find(|known| alike(known, key));
            let remedy = match near {
                Some(known) => format!("did you mean \"{known}\"?"),
                None => format!("known here: {}", self.known.join(", ")),
            };
            let what = format!("{} has the unknown key \"{key}\"", self.what);
            match severity {
                Severity::Warning => findings.warn(Some(at), what, remedy),
                Severity::Error => findings.error(Some(at), what, remedy),
            }
        }
    }
}

/// A whole or broken number; `None` for anything else and for infinities and NaN.
pub fn as_number(value: &DeValue) -> Option<f64> {
    let number: f64 = match value {
        DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix()).ok()? as f64,
        DeValue::Float(number) => number.as_str().parse().ok()?,
        _ => return None,
    };
    number.is_finite().then_some(number)
}

/// Whether two keys differ by one slip: a letter too many, too few, changed, or two swapped.
fn alike(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let same_start = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let (ra, rb) = (&a[same_start..], &b[same_start..]);
    let tail = |x: &[char], skip: usize| x.get(skip..).unwrap_or_default().to_vec();
    tail(ra, 1) == tail(rb, 1)
        || tail(ra, 1) == rb
        || ra == tail(rb, 1)
        || (ra.len() >= 2 && rb.len() >= 2 && ra[0] == rb[1] && ra[1] == rb[0] && ra[2..] == rb[2..])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_slip_of_the_pen_is_recognised() {
        for (a, b, expected) in [
            ("source", "sources", true),
            ("source", "soruce", true),
            ("role", "rolf", true),
            ("mmsi", "msi", true),
            ("crew", "colour", false),
        ] {
            assert_eq!(alike(a, b), expected, "{a} and {b}");
        }
    }
}
