//! `dunlin check`: all that is wrong with the set-up files, at once.

use std::{
    fs::File,
    io,
    net::{SocketAddr, UdpSocket},
    path::{Path, PathBuf},
};

use crate::{
    config::{Config, FeedConfig, FeedKind},
    setup::{self, Problem, Severity},
};

/// Says all that is wrong with the set-up files: file, line and remedy.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The configuration; the site and the fleet that it names are checked with it.
    #[arg(long, required_unless_present_any = ["site", "fleet"])]
    config: Option<PathBuf>,
    /// A site file to check by itself.
    #[arg(long)]
    site: Option<PathBuf>,
    /// A fleet file to check by itself.
    #[arg(long)]
    fleet: Option<PathBuf>,
}

/// Checks and prints; `false` when anything was found. Here a warning is an error too: whoever asks
/// wants to know that a key was misspelt.
pub fn execute(args: Args) -> bool {
    let problems = problems(&args);
    for problem in &problems {
        println!("{problem}");
    }
    match problems.len() {
        0 => println!("The set-up is sound."),
        1 => println!("1 problem found."),
        count => println!("{count} problems found."),
    }
    problems.is_empty()
}

fn problems(args: &Args) -> Vec<Problem> {
    let mut problems = Vec::new();
    let mut site = args.site.clone();
    let mut fleet = args.fleet.clone();
    if let Some(path) = &args.config {
        let (config, found) = Config::load(path);
        problems.extend(found);
        problems.extend(missing_files(&config));
        problems.extend(config.feeds.iter().filter_map(missing_feed));
        problems.extend(strange_addresses(&path.display().to_string(), &config));
        site = site.or(config.site);
        fleet = fleet.or(config.fleet);
    }
    let (_, found) = setup::load(site.as_deref(), fleet.as_deref());
    problems.extend(found);
    for problem in &mut problems {
        problem.severity = Severity::Error;
    }
    problems
}

/// Files that only the running server would open.
fn missing_files(config: &Config) -> Vec<Problem> {
    let own = config.hub.https.iter().filter_map(|https| https.own.as_ref());
    let own = own.flat_map(|(certificate, key)| [("certificate", certificate), ("key", key)]);
    let map = config.hub.base_map.iter().map(|path| ("base_map", path));
    own.chain(map)
        .filter(|(_, path)| !path.is_file())
        .map(|(key, path)| Problem {
            severity: Severity::Error,
            file: path.display().to_string(),
            line: None,
            what: "is not there".to_owned(),
            remedy: format!("correct {key} in the configuration, or put the file there"),
        })
        .collect()
}

/// The device or the file of a feed that the running server would wait for in vain.
fn missing_feed(feed: &FeedConfig) -> Option<Problem> {
    let (path, what, remedy) = match &feed.kind {
        FeedKind::Serial { device, .. } => {
            (device, wrong_with_device(device)?, "plug the adapter in, or correct its device")
        }
        FeedKind::File { path } => {
            (path, wrong_with_file(path)?, "put the file there and let dunlin read it, or correct its path")
        }
        FeedKind::TcpConnect { .. } | FeedKind::TcpListen { .. } | FeedKind::Udp { .. } | FeedKind::Stdin => {
            return None;
        }
    };
    Some(Problem {
        severity: Severity::Error,
        file: path.display().to_string(),
        line: None,
        what: format!("{what}: feed \"{}\" would hear nothing", feed.name),
        remedy: format!("{remedy} in the configuration"),
    })
}

/// Only looked at: to open a line that is in use would change its speed and its control lines.
fn wrong_with_device(device: &Path) -> Option<String> {
    match device.metadata() {
        Err(error) => Some(absence(&error)),
        Ok(found) if found.is_dir() || found.is_file() => Some("is not a serial device".to_owned()),
        Ok(_) => None,
    }
}

fn wrong_with_file(path: &Path) -> Option<String> {
    match path.metadata() {
        Err(error) => Some(absence(&error)),
        Ok(found) if found.is_dir() => Some("is a folder".to_owned()),
        // To open a pipe would wait for whoever writes to it.
        Ok(found) if !found.is_file() => None,
        Ok(_) => File::open(path).err().map(|error| absence(&error)),
    }
}

fn absence(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "is not there".to_owned(),
        _ => format!("cannot be read ({error})"),
    }
}

/// Listeners at an address that is none of this computer's. Whether the port is free is not asked: a
/// dunlin that runs with this very configuration has it.
fn strange_addresses(file: &str, config: &Config) -> Vec<Problem> {
    let pages = ("the pages are served".to_owned(), config.hub.listen);
    let feeds = config.feeds.iter().filter_map(|feed| match feed.kind {
        FeedKind::TcpListen { listen, .. } | FeedKind::Udp { listen, .. } => {
            Some((format!("feed \"{}\" listens", feed.name), listen))
        }
        FeedKind::TcpConnect { .. } | FeedKind::Serial { .. } | FeedKind::File { .. } | FeedKind::Stdin => {
            None
        }
    });
    let strange = std::iter::once(pages).chain(feeds).filter(|(_, listen)| !is_ours(*listen));
    strange
        .map(|(who, listen)| Problem {
            severity: Severity::Error,
            file: file.to_owned(),
            line: None,
            what: format!("{who} at {listen}, an address that this computer does not have"),
            remedy: "give an address of this computer, or 0.0.0.0 for all of them".to_owned(),
        })
        .collect()
}

/// A port that the system chooses shows whether the address is ours and disturbs nobody.
fn is_ours(listen: SocketAddr) -> bool {
    let bound = UdpSocket::bind((listen.ip(), 0));
    !bound.is_err_and(|error| error.kind() == io::ErrorKind::AddrNotAvailable)
}
