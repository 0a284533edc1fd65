//! The client's side: npm, and when it must run again.

use crate::run::{Step, have, top};
use std::{
    fs,
    path::{Path, PathBuf},
    time::SystemTime,
};

fn folder() -> PathBuf {
    top().join("client")
}

/// An npm call in the client's folder.
pub fn npm(what: &str, args: &[&str]) -> Step {
    Step::new(what, "npm").args(args).in_folder(folder())
}

/// Steps that install the client's libraries, unless the lock file is older than what is installed.
pub fn installed() -> Vec<Step> {
    if !have("npm", "--version") {
        return vec![Step::missing("install the client's libraries", "install Node.js 20 or newer with npm")];
    }
    let installed = changed(&folder().join("node_modules/.package-lock.json"));
    let wanted = changed(&folder().join("package-lock.json"));
    if installed.is_some() && installed >= wanted {
        return Vec::new();
    }
    vec![npm("install the client's libraries", &["ci", "--no-audit", "--no-fund"])]
}

/// Steps that leave a fresh client build.
pub fn built() -> Vec<Step> {
    let mut steps = installed();
    let built = changed(&folder().join("dist/index.html"));
    if built.is_none() || built < newest(&folder()) || !steps.is_empty() {
        steps.push(npm("build the client", &["run", "build"]));
    }
    steps
}

fn changed(path: &Path) -> Option<SystemTime> {
    fs::metadata(path).and_then(|found| found.modified()).ok()
}

/// The newest change below a folder, what npm and the build write left out.
fn newest(folder: &Path) -> Option<SystemTime> {
    let entries = fs::read_dir(folder).ok()?;
    entries
        .flatten()
        .filter(|entry| !["node_modules", "dist"].iter().any(|name| entry.file_name() == *name))
        .filter_map(|entry| {
            let path = entry.path();
            if path.is_dir() { newest(&path) } else { changed(&path) }
        })
        .max()
}
