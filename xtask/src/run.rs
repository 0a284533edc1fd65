//! Running programs one after another, saying which, and stopping at the first that fails.

use std::{
    path::{Path, PathBuf},
    process::{Command, ExitCode},
    time::Instant,
};

/// One program to run.
pub struct Step {
    what: String,
    program: PathBuf,
    args: Vec<String>,
    folder: PathBuf,
    /// Shown instead of running, when it cannot be run here.
    missing: Option<String>,
    /// Whether it is the last thing to do and takes this program's place.
    takes_over: bool,
}

impl Step {
    /// A program run in the repository's top folder.
    pub fn new(what: &str, program: impl Into<PathBuf>) -> Step {
        Step {
            what: what.into(),
            program: program.into(),
            args: Vec::new(),
            folder: top(),
            missing: None,
            takes_over: false,
        }
    }

    /// A step that only says what is missing, and fails.
    pub fn missing(what: &str, remedy: &str) -> Step {
        Step { missing: Some(remedy.into()), ..Step::new(what, "") }
    }

    /// Adds arguments.
    pub fn args(mut self, args: &[&str]) -> Step {
        self.args.extend(args.iter().map(|&arg| arg.to_owned()));
        self
    }

    /// Lets it take the place of this program, where the system can: Ctrl-C then stops it alone, and the
    /// shell waits until it has ended in order.
    pub fn taking_over(mut self) -> Step {
        self.takes_over = true;
        self
    }

    /// Adds arguments given on the command line.
    pub fn with(mut self, args: Vec<String>) -> Step {
        self.args.extend(args);
        self
    }

    /// Runs it elsewhere.
    pub fn in_folder(mut self, folder: PathBuf) -> Step {
        self.folder = folder;
        self
    }
}

/// The repository's top folder.
pub fn top() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_owned()
}

/// Where cargo puts what it builds.
pub fn target() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| top().join("target"), PathBuf::from)
}

/// The program as the dev profile builds it.
pub fn binary() -> PathBuf {
    target().join("debug").join("dunlin")
}

/// A cargo call.
pub fn cargo(what: &str, args: &[&str]) -> Step {
    let program = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    Step::new(what, program).args(args)
}

/// Whether a program can be started at all.
pub fn have(program: &str, version_flag: &str) -> bool {
    Command::new(program).arg(version_flag).output().is_ok_and(|out| out.status.success())
}

/// All Rust tests: by cargo-nextest where present, else by cargo itself.
pub fn workspace_tests() -> Step {
    if have("cargo-nextest", "--version") {
        cargo("all Rust tests", &["nextest", "run", "--workspace", "--no-fail-fast"])
    } else {
        cargo("all Rust tests", &["test", "--workspace", "--lib", "--bins", "--tests", "--no-fail-fast"])
    }
}

/// Licences and sources; installs cargo-deny the first time, which takes some minutes.
pub fn deny() -> Vec<Step> {
    let mut steps = Vec::new();
    if !have("cargo-deny", "--version") {
        steps.push(cargo("install cargo-deny (once, some minutes)", &["install", "--locked", "cargo-deny"]));
    }
    // The lock file names crates of other systems too, which no build here has brought.
    steps.push(cargo("crates of every system in the lock file", &["fetch", "--locked"]));
    // Advisories need a database from the internet; a boat has none, so they are a release chore.
    steps.push(cargo(
        "licences, bans, sources",
        &["deny", "--offline", "check", "licenses", "bans", "sources"],
    ));
    steps
}

/// The TypeScript and documents that tests generate must be those that are committed.
pub fn nothing_generated_changed() -> Step {
    Step::new("generated files are the committed ones", "git").args(&[
        "diff",
        "--exit-code",
        "--stat",
        "--",
        "client/src/wire",
        "docs",
        "tests/wire",
    ])
}

/// Runs the steps in turn; the first failure ends the run with what failed and how to repeat it.
pub fn all(steps: Vec<Step>) -> ExitCode {
    let count = steps.len();
    for (n, step) in steps.into_iter().enumerate() {
        eprintln!("\n[{}/{count}] {}", n + 1, step.what);
        if let Some(remedy) = step.missing {
            eprintln!("xtask: cannot {}: {remedy}", step.what);
            return ExitCode::FAILURE;
        }
        let began = Instant::now();
        let mut command = Command::new(&step.program);
        command.args(&step.args).current_dir(&step.folder);
        let status = if step.takes_over { replaced(&mut command) } else { command.status() };
        let again = || {
            format!("(cd {} && {} {})", step.folder.display(), step.program.display(), step.args.join(" "))
        };
        match status {
            Ok(status) if status.success() => {
                eprintln!("      done in {:.1} s", began.elapsed().as_secs_f64())
            }
            Ok(status) => {
                eprintln!("xtask: '{}' failed ({status}); again with: {}", step.what, again());
                return ExitCode::FAILURE;
            }
            Err(error) => {
                eprintln!("xtask: cannot start {}: {error}; is it installed?", step.program.display());
                return ExitCode::FAILURE;
            }
        }
    }
    ExitCode::SUCCESS
}

/// Becomes the program; comes back only when that fails.
#[cfg(unix)]
fn replaced(command: &mut Command) -> std::io::Result<std::process::ExitStatus> {
    Err(std::os::unix::process::CommandExt::exec(command))
}

#[cfg(not(unix))]
fn replaced(command: &mut Command) -> std::io::Result<std::process::ExitStatus> {
    command.status()
}
