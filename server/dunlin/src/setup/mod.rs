//! The set-up files, read into types that cannot be wrong; everything wrong is said at once.

pub mod fleet;
mod rings;
pub mod site;
pub(crate) mod toml_walk;

use std::{fmt, fs, path::Path};

use dunlin_engine::Setup;

/// Bytes of one set-up file. A larger one is refused: it is not a site or a fleet.
pub const FILE_MAX: u64 = 16 * 1024 * 1024;

/// How bad a [`Problem`] is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// dunlin goes on without what is named; `dunlin check` counts it as an error.
    Warning,
    /// The file cannot be used.
    Error,
}

/// Something wrong with a set-up file: where, what, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// How bad.
    pub severity: Severity,
    /// The file, as the user named it.
    pub file: String,
    /// Line in it, counted from 1; `None` when it concerns the file as a whole.
    pub line: Option<usize>,
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub remedy: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
        }
        let severity = match self.severity {
            Severity::Warning => "warning",
            Severity::Error => "error",
        };
        write!(f, ": {severity}: {}\n    {}", self.what, self.remedy)
    }
}

/// Problems of one file as they are found.
#[derive(Debug)]
pub struct Findings<'a> {
    file: &'a str,
    text: &'a str,
    found: Vec<Problem>,
}

impl<'a> Findings<'a> {
    /// None yet.
    pub fn new(file: &'a str, text: &'a str) -> Findings<'a> {
        Findings { file, text, found: Vec::new() }
    }

    /// An error at the byte offset `at`; `None`: of the file as a whole.
    pub fn error(&mut self, at: Option<usize>, what: impl Into<String>, remedy: impl Into<String>) {
        self.add(Severity::Error, at, what.into(), remedy.into());
    }

    /// A warning at the byte offset `at`; `None`: of the file as a whole.
    pub fn warn(&mut self, at: Option<usize>, what: impl Into<String>, remedy: impl Into<String>) {
        self.add(Severity::Warning, at, what.into(), remedy.into());
    }

    /// The line number, from 1, of a byte offset.
    pub fn line(&self, at: usize) -> usize {
        let before = &self.text.as_bytes()[..at.min(self.text.len())];
        1 + before.iter().filter(|byte| **byte == b'\n').count()
    }

    /// The byte offset of `part`, which must be a piece of this file's text; `None` if it is not.
    pub fn offset(&self, part: &str) -> Option<usize> {
        let at = (part.as_ptr() as usize).checked_sub(self.text.as_ptr() as usize)?;
        (at <= self.text.len()).then_some(at)
    }

    /// Whether an error was found.
    pub fn any_error(&self) -> bool {
        self.found.iter().any(|p| p.severity == Severity::Error)
    }

    /// Whether nothing was found.
    pub fn none(&self) -> bool {
        self.found.is_empty()
    }

    /// All, in the order of the lines.
    pub fn finish(mut self) -> Vec<Problem> {
        // Those of the file as a whole come last.
        self.found.sort_by_key(|problem| (problem.line.is_none(), problem.line));
        self.found
    }

    fn add(&mut self, severity: Severity, at: Option<usize>, what: String, remedy: String) {
        let problem =
            Problem { severity, file: self.file.to_owned(), line: at.map(|at| self.line(at)), what, remedy };
        self.found.push(problem);
    }
}

/// Reads a set-up file as text; a byte-order mark at its start is dropped.
///
/// # Errors
/// A [`Problem`] when it cannot be opened, is larger than [`FILE_MAX`], or is not UTF-8 (naming the
/// line).
pub fn read_text(path: &Path) -> Result<String, Problem> {
    let problem = |line, what: String, remedy: &str| Problem {
        severity: Severity::Error,
        file: path.display().to_string(),
        line,
        what,
        remedy: remedy.to_owned(),
    };
    let cannot = |error: std::io::Error| {
        problem(None, format!("cannot be read: {error}"), "check the name and that dunlin may read it")
    };
    let size = fs::metadata(path).map_err(cannot)?.len();
    if size > FILE_MAX {
        return Err(problem(
            None,
            format!("is {size} bytes, more than the {FILE_MAX} allowed"),
            "give the set-up file itself, without imagery or tracks in it",
        ));
    }
    let bytes = fs::read(path).map_err(cannot)?;
    let text = String::from_utf8(bytes).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let newlines = error.as_bytes()[..valid].iter().filter(|b| **b == b'\n');
        problem(
            Some(1 + newlines.count()),
            "holds bytes that are not UTF-8 text".to_owned(),
            "save the file as UTF-8",
        )
    })?;
    match text.strip_prefix('\u{feff}') {
        Some(rest) => Ok(rest.to_owned()),
        None => Ok(text),
    }
}

/// Reads the site and the fleet; either may be left out.
///
/// The second value holds all problems of both files. The set-up is usable only while none of them
/// is an error.
pub fn load(site: Option<&Path>, fleet: Option<&Path>) -> (Setup, Vec<Problem>) {
    let mut setup = Setup::default();
    let mut problems = Vec::new();
    if let Some(path) = site {
        match read_text(path) {
            Ok(text) => {
                let (site, found) = site::parse(&path.display().to_string(), &text);
                setup.site = site;
                problems.extend(found);
            }
            Err(problem) => problems.push(problem),
        }
    }
    if let Some(path) = fleet {
        match read_text(path) {
            Ok(text) => {
                let (boats, found) = fleet::parse(&path.display().to_string(), &text);
                setup.fleet = boats;
                problems.extend(found);
            }
            Err(problem) => problems.push(problem),
        }
    }
    (setup, problems)
}

/// Whether any of them is an error.
pub fn any_error(problems: &[Problem]) -> bool {
    problems.iter().any(|p| p.severity == Severity::Error)
}
