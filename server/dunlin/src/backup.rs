//! `dunlin backup`: a day copied while it is being written.

use std::path::PathBuf;

use anyhow::{Context as _, bail};

use crate::journal;

/// Copies a day's file, whole and consistent, while dunlin is running.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The day's file: DATA/days/2026-06-01.sqlite.
    day: PathBuf,
    /// The copy; must not exist yet.
    to: PathBuf,
}

/// Does it.
///
/// # Errors
/// When the day is no day's file, or the copy exists or cannot be written.
pub fn execute(args: Args) -> anyhow::Result<()> {
    if args.to.exists() {
        bail!("{} exists already: name a new file", args.to.display());
    }
    journal::copy_into(&args.day, &args.to)
        .with_context(|| format!("cannot copy {} to {}", args.day.display(), args.to.display()))?;
    println!("{} copied to {}", args.day.display(), args.to.display());
    Ok(())
}
