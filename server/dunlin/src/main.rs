//! The command line: arguments, logging, exit code; nothing else.

use std::process::ExitCode;

use clap::{Parser, Subcommand};
use dunlin::{backup, check, naive, replay, score, season, simulate};

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
    Check(check::Args),
    Replay(replay::command::Args),
    Backup(backup::Args),
    Simulate(simulate::Args),
    Naive(naive::Args),
    Score(score::Args),
    Season(season::Args),
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let done = match arguments.command {
        Command::Check(args) => {
            return if check::execute(args) { ExitCode::SUCCESS } else { ExitCode::FAILURE };
        }
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
