//! Tests and screenshots in a real Chromium.

use crate::run::{Step, have, top};

const CHROMIUM: &str = "chromium";
const PACKAGES: [&str; 2] = ["chromium", "libnss3-tools"];

/// Steps that install a browser where that is possible, or say what to install.
fn ready() -> Vec<Step> {
    let certutil = std::path::Path::new("/usr/bin/certutil").exists();
    if have(CHROMIUM, "--version") && certutil {
        return Vec::new();
    }
    let root =
        std::process::Command::new("id").arg("-u").output().is_ok_and(|out| out.stdout.starts_with(b"0\n"));
    if !(root && have("apt-get", "--version")) {
        let remedy = "install Chromium and the NSS tools (Debian: apt-get install chromium libnss3-tools) and run again";
        return vec![Step::missing("run the browser tests", remedy)];
    }
    vec![
        Step::new("fetch the package lists", "apt-get").args(&["update", "-qq"]),
        Step::new("install a browser for the tests", "apt-get")
            .args(&["install", "-y", "-qq", "--no-install-recommends"])
            .args(&PACKAGES),
    ]
}

/// Everything that needs a browser.
pub fn tests() -> Vec<Step> {
    let mut steps = ready();
    steps.push(Step::new("browser tests", "npm").args(&["run", "browser"]).in_folder(top().join("client")));
    steps
}

/// Screenshots of every screen into a folder outside the repository.
pub fn shots(rest: Vec<String>) -> Vec<Step> {
    let mut steps = crate::client::built();
    steps.push(crate::run::cargo("build the server", &["build", "-p", "dunlin"]));
    steps.extend(ready());
    steps.push(
        Step::new("take screenshots", "npm")
            .args(&["run", "shots", "--"])
            .with(rest)
            .in_folder(top().join("client")),
    );
    steps
}
