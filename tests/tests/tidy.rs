//! What lints cannot say about this tree.
#![allow(clippy::unwrap_used, reason = "a tree that cannot be read fails the test")]

use std::{
    fs,
    path::{Path, PathBuf},
};

const SKIPPED: [&str; 6] = ["target", "node_modules", "dist", ".git", "season-out", "dunlin-data"];
const CODE: [&str; 6] = ["rs", "ts", "svelte", "mjs", "css", "py"];

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() && !SKIPPED.contains(&name.as_str()) {
            files(&path, found);
        } else if path.is_file() {
            found.push(path);
        }
    }
}

fn code() -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    files(&top(), &mut found);
    found
        .into_iter()
        .filter(|path| path.extension().is_some_and(|ending| CODE.iter().any(|code| ending == *code)))
        .map(|path| (path.clone(), fs::read_to_string(&path).unwrap()))
        .collect()
}

#[test]
fn no_source_file_is_too_long_to_read() {
    let long: Vec<_> = code()
        .into_iter()
        .map(|(path, text)| (path, text.lines().count()))
        .filter(|(_, lines)| *lines > 600)
        .collect();
    assert!(long.is_empty(), "split by idea: {long:?}");
}

#[test]
fn nothing_unfinished_is_left_in_the_code() {
    // Put together here, so that this file does not find itself.
    let marks =
        [["TO", "DO"], ["FIX", "ME"], ["XX", "X"], ["to", "do!("], ["unimple", "mented!("], ["#[ign", "ore"]];
    let marks = marks.map(|parts| parts.concat());
    for (path, text) in code() {
        for mark in &marks {
            assert!(!text.contains(mark.as_str()), "{} has {mark}", path.display());
        }
    }
}

#[test]
fn the_engine_depends_on_parsers_and_errors_only() {
    let manifest = fs::read_to_string(top().join("server/engine/Cargo.toml")).unwrap();
    let (_, from) = manifest.split_once("[dependencies]").unwrap();
    let (own, _) = from.split_once("[dev-dependencies]").unwrap();
    let mut names: Vec<_> = own.lines().filter_map(|line| line.split(['.', ' ', '=']).next()).collect();
    names.retain(|name| !name.is_empty());
    assert_eq!(names, ["nmea", "nmea-0183-rs", "thiserror"]);
}

#[test]
fn the_simulator_does_not_know_the_engine() {
    let manifest = fs::read_to_string(top().join("server/sim/Cargo.toml")).unwrap();
    assert!(!manifest.contains("dunlin-engine"), "what judges must not share a constant with what is judged");
}

#[test]
fn the_gate_sails_every_water() {
    let gate = fs::read_to_string(top().join("xtask/src/main.rs")).unwrap();
    let missing: Vec<&str> = dunlin_sim::OTHER_WATERS
        .iter()
        .map(|water| water.name)
        .filter(|name| !gate.contains(&format!("\"{name}\"")))
        .collect();
    assert!(missing.is_empty(), "no short season of {missing:?} in `cargo xtask test`");
}

#[test]
fn every_reference_table_says_where_it_comes_from() {
    let folder = top().join("tests/reference");
    let note = fs::read_to_string(folder.join("README.md")).unwrap();
    for entry in fs::read_dir(&folder).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        assert!(
            name == "README.md" || note.contains(&name),
            "tests/reference/README.md does not name {name}"
        );
    }
}

#[test]
fn every_invariant_names_a_test_that_exists() {
    let guide = fs::read_to_string(top().join("DEVELOPERS.md")).unwrap();
    let (_, from) = guide.split_once("## Invariants").unwrap();
    let list = from.split("\n## ").next().unwrap();
    let all: String = code().into_iter().map(|(_, text)| text).collect();
    let mut named = 0;
    for line in list.lines().filter(|line| line.contains("Guard:")) {
        let (_, guards) = line.split_once("Guard:").unwrap();
        for test in guards.split('`').skip(1).step_by(2) {
            assert!(all.contains(test), "DEVELOPERS.md names a test {test} that is nowhere");
            named += 1;
        }
    }
    assert!(named >= 10, "only {named} guards are named");
}
