//! `dunlin backup`: a day and the papers copied while they are being written.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};

use crate::{journal, papers};

/// Copies a day's file and the papers (people, set-up, defects, keys), whole and consistent, while dunlin
/// is running.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The day's file: DATA/days/2026-06-01.sqlite.
    day: PathBuf,
    /// The copy; must not exist yet. The papers are copied beside it, to NAME-papers.sqlite.
    to: PathBuf,
}

/// Does it.
///
/// # Errors
/// When the day is no day's file, or a copy exists or cannot be written.
pub fn execute(args: Args) -> anyhow::Result<()> {
    let papers_to = beside(&args.to);
    for to in [&args.to, &papers_to] {
        if to.exists() {
            bail!("{} exists already: name a new file", to.display());
        }
    }
    let failed = |from: &Path, to: &Path| format!("cannot copy {} to {}", from.display(), to.display());
    journal::copy_into(&args.day, &args.to).with_context(|| failed(&args.day, &args.to))?;
    println!("{} copied to {}", args.day.display(), args.to.display());
    // DATA/days/2026-06-01.sqlite stands beside DATA/papers.sqlite.
    let data = std::path::absolute(&args.day).context("no current folder")?;
    let papers = data.parent().and_then(Path::parent).map(|data| data.join(papers::FILE));
    match papers.filter(|papers| papers.exists()) {
        Some(papers) => {
            papers::copy_into(&papers, &papers_to).with_context(|| failed(&papers, &papers_to))?;
            println!("{} copied to {}", papers.display(), papers_to.display());
        }
        None => eprintln!("warning: no {} above the day's folder: only the day was copied", papers::FILE),
    }
    Ok(())
}

/// Where the papers go: `day.sqlite` has `day-papers.sqlite` beside it.
fn beside(day: &Path) -> PathBuf {
    let mut name = day.file_stem().unwrap_or(day.as_os_str()).to_owned();
    name.push("-papers.sqlite");
    day.with_file_name(name)
}
