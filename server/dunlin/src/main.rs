//! The command line: arguments, logging, exit code; nothing else.

use std::{io::IsTerminal as _, process::ExitCode};

use clap::{Parser, Subcommand};
use dunlin::{backup, check, demo, naive, replay, score, season, serve, simulate};
use tracing_subscriber::EnvFilter;

/// Watches a fleet of small sailing boats and says who needs help, and why. An aid to a good
/// lookout, never a replacement.
#[derive(Parser)]
#[command(version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    Serve(serve::Args),
    Check(check::Args),
    Demo(demo::Args),
    Replay(replay::command::Args),
    Backup(backup::Args),
    Simulate(simulate::Args),
    Naive(naive::Args),
    Score(score::Args),
    Season(season::Args),
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    log(&arguments.command);
    let done = match arguments.command {
        Command::Check(args) => {
            return if check::execute(args) { ExitCode::SUCCESS } else { ExitCode::FAILURE };
        }
        Command::Serve(args) => serve::execute(args),
        Command::Demo(args) => demo::execute(args),
        Command::Backup(args) => backup::execute(args),
        Command::Replay(args) => replay::command::execute(args),
        Command::Simulate(args) => simulate::run(args),
        Command::Naive(args) => naive::run(args),
        Command::Score(args) => score::run(args),
        Command::Season(args) => season::run(args),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("dunlin: {error:#}");
            ExitCode::FAILURE
        }
    }
}

/// Logs to standard error: what needs someone, and changes of feeds and alerts while serving.
/// `DUNLIN_LOG` asks for more or less (`debug`, `dunlin::feeds=trace`).
fn log(command: &Command) {
    let usual = match command {
        Command::Serve(_) => "info",
        _ => "warn",
    };
    let filter = EnvFilter::try_from_env("DUNLIN_LOG").unwrap_or_else(|_| EnvFilter::new(usual));
    // Colours are for eyes; in a file they are rubbish.
    let colours = std::io::stderr().is_terminal();
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).with_ansi(colours).init();
}
