//! The two README commands and the other chores.
//!
//! `cargo xtask demo` sets up and runs the demonstration; `cargo xtask test` sets up and runs every
//! test. Standard library only, so that it builds in two seconds on a fresh machine.

mod browser;
mod client;
mod run;

use run::{Step, cargo};
use std::process::ExitCode;

const HELP: &str = "\
cargo xtask COMMAND

  demo [ARGS]     set up, build, and run the invented centre with its live fleet
                  (ARGS go to `dunlin demo`; see `dunlin demo --help`)
  test            set up and run every test, browser tests included
  lint            format, clippy, client checks, licences: what must be clean before a commit
  season [ARGS]   score the watch on simulated sessions (--short, --tune, --judge)
  bench           the measured figures of DEVELOPERS.md, in a release build
  shots [DIR]     screenshots of every screen in every size, for looking at
";

fn main() -> ExitCode {
    let mut args = std::env::args().skip(1);
    let command = args.next().unwrap_or_default();
    let rest: Vec<String> = args.collect();
    let steps = match command.as_str() {
        "demo" => demo(rest),
        "test" => test(),
        "lint" => lint(),
        "season" => vec![
            cargo(
                "score the season",
                &["run", "--release", "-p", "dunlin", "--bin", "dunlin", "--", "season"],
            )
            .with(rest),
        ],
        // One call, so that all are built with the same features of what they share.
        "bench" => vec![cargo(
            "measure the watch, its parts and the running program",
            &[
                "bench",
                "--package=dunlin-tests",
                "--package=dunlin",
                "--package=dunlin-engine",
                "--bench=engine",
                "--bench=served",
                "--bench=hear",
            ],
        )],
        "shots" => browser::shots(rest),
        _ => {
            print!("{HELP}");
            return if command.is_empty() || command == "help" || command == "--help" {
                ExitCode::SUCCESS
            } else {
                eprintln!("xtask: there is no command '{command}'");
                ExitCode::from(2)
            };
        }
    };
    run::all(steps)
}

fn demo(rest: Vec<String>) -> Vec<Step> {
    let mut steps = client::built();
    steps.push(cargo("build the server (a first build takes a minute or two)", &["build", "-p", "dunlin"]));
    let demo = Step::new("run the demonstration; Ctrl-C stops it", run::binary()).args(&["demo"]);
    steps.push(demo.with(rest).taking_over());
    steps
}

fn lint() -> Vec<Step> {
    let mut steps = vec![
        cargo("format", &["fmt", "--all", "--check"]),
        cargo("clippy", &["clippy", "--workspace", "--all-targets", "--", "-D", "warnings"]),
    ];
    steps.extend(client::installed());
    steps.push(client::npm("client types", &["run", "check"]));
    steps.push(client::npm("client lint", &["run", "lint"]));
    steps.extend(run::deny());
    steps
}

/// The waters besides the first.
const WATERS: [&str; 12] = [
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
];

fn test() -> Vec<Step> {
    let mut steps = client::built();
    steps.push(client::npm("client unit tests", &["run", "test"]));
    steps.push(cargo("build the server", &["build", "-p", "dunlin"]));
    steps.push(run::workspace_tests());
    steps.push(cargo("documentation examples", &["test", "--workspace", "--doc"]));
    steps.push(run::nothing_generated_changed());
    steps.push(Step::new("a short season against its floors", run::binary()).args(&["season", "--short"]));
    for water in WATERS {
        let season = ["season", "--short", "--water", water];
        steps.push(Step::new(&format!("a short season on the {water} water"), run::binary()).args(&season));
    }
    steps.extend(browser::tests());
    steps
}
