//! The program as people call it: what it prints, and how it ends.

use std::{
    io::Write as _,
    path::Path,
    process::{Command, Output, Stdio},
};

fn dunlin(folder: &Path, arguments: &[&str], input: &[u8]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_dunlin"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("started");
    let mut stdin = child.stdin.take().expect("piped");
    let input = input.to_vec();
    let writing = std::thread::spawn(move || {
        // A program that ends before it has read everything is judged by what it printed.
        drop(stdin.write_all(&input));
    });
    let output = child.wait_with_output().expect("ended");
    writing.join().expect("written");
    output
}

fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn err(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// An invented session in `folder`: `site.geojson`, `fleet.toml`, `log.nmea`.
fn session(folder: &Path) {
    let made = dunlin(folder, &["simulate", "--seed", "11", "--scenario", "squall"], b"");
    assert!(made.status.success(), "{}", err(&made));
    // The first quarter of an hour is enough here, and four times as quick.
    let log = std::fs::read(folder.join("log.nmea")).expect("made");
    let lines: Vec<&[u8]> = log.split_inclusive(|byte| *byte == b'\n').collect();
    std::fs::write(folder.join("log.nmea"), lines[..lines.len() / 4].concat()).expect("written");
}

#[test]
fn an_invented_session_replays() {
    // One session for all three: inventing it takes longer than all else here.
    let folder = tempfile::tempdir().expect("a folder");
    session(folder.path());
    a_log_replays_to_the_same_bytes_however_it_is_given(folder.path());
    what_is_told_comes_in_the_order_of_its_time_and_in_the_form_that_was_agreed(folder.path());
    the_summary_is_for_people(folder.path());
}

fn a_log_replays_to_the_same_bytes_however_it_is_given(folder: &Path) {
    let replay = |logs: &[&str], input: &[u8]| {
        let mut arguments = vec!["replay", "--site", "site.geojson", "--fleet", "fleet.toml"];
        arguments.extend(logs);
        let output = dunlin(folder, &arguments, input);
        assert!(output.status.success(), "{}", err(&output));
        out(&output)
    };
    let log = std::fs::read(folder.join("log.nmea")).expect("made");
    let once = replay(&["log.nmea"], b"");
    assert!(once.lines().count() > 50, "something happened: {once}");
    assert_eq!(replay(&["log.nmea"], b""), once, "the same log twice");
    assert_eq!(replay(&["-"], &log), once, "by standard input");

    // Told apart by sender into two files, the lines come together again by their arrival.
    let of_first = |line: &[u8]| line.starts_with(b"\\s:phone-0");
    let part = |first: bool| -> Vec<u8> {
        let lines = log.split_inclusive(|byte| *byte == b'\n');
        lines.filter(|line| of_first(line) == first).collect::<Vec<_>>().concat()
    };
    std::fs::write(folder.join("first.nmea"), part(true)).expect("written");
    std::fs::write(folder.join("second.nmea"), part(false)).expect("written");
    let merged = replay(&["first.nmea", "second.nmea"], b"");
    assert_eq!(replay(&["first.nmea", "second.nmea"], b""), merged);
    let (merged, once) = (merged.lines().count(), once.lines().count());
    assert!(merged.abs_diff(once) * 20 <= once, "{merged} lines of two files, {once} of one");
}

fn what_is_told_comes_in_the_order_of_its_time_and_in_the_form_that_was_agreed(folder: &Path) {
    let arguments = ["replay", "--site", "site.geojson", "--fleet", "fleet.toml", "log.nmea"];
    let told = out(&dunlin(folder, &arguments, b""));
    let mut before = String::new();
    let mut kinds = std::collections::BTreeSet::new();
    for line in told.lines() {
        let object: serde_json::Value = serde_json::from_str(line).expect("one object a line");
        let t = object["t"].as_str().expect("a time").to_owned();
        assert!(before <= t, "{before} before {line}");
        assert_eq!((t.len(), t.ends_with('Z')), (24, true), "RFC 3339, milliseconds, UTC: {t}");
        before = t;
        let kind = object["type"].as_str().expect("a type").to_owned();
        let keys: &[&str] = match kind.as_str() {
            "alert" => &["boat", "kind", "level", "phase", "evidence", "id"],
            "manoeuvre" => &["boat", "kind", "at", "turn_deg", "speed_before_kn", "speed_after_kn"],
            "wind" => &["from_deg", "speed_kn", "sd_deg", "basis"],
            "rounding" => &["boat", "mark", "hand"],
            "tally" => &["boat", "standing", "persons", "by"],
            other => panic!("unknown type {other}: {line}"),
        };
        for key in keys {
            assert!(object.get(key).is_some(), "no {key}: {line}");
        }
        kinds.insert(kind);
    }
    assert!(kinds.contains("wind") && kinds.contains("manoeuvre"), "{kinds:?}");
}

fn the_summary_is_for_people(folder: &Path) {
    let arguments = ["replay", "--summary", "--site", "site.geojson", "--fleet", "fleet.toml", "log.nmea"];
    let table = out(&dunlin(folder, &arguments, b""));
    for wanted in ["minutes", "wind: from", "tacks", "alerts"] {
        assert!(table.contains(wanted), "no {wanted} in:\n{table}");
    }
}

#[test]
fn a_plain_log_without_tags_replays_under_the_name_of_its_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut log = String::new();
    for second in 0..120 {
        let minutes = 6.0 + f64::from(second) * 0.0015;
        let body = format!(
            "GPRMC,10{:02}{:02}.00,A,50{minutes:07.4},N,00500.0000,W,05.4,000.0,010626,,,A",
            second / 60,
            second % 60
        );
        let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
        log.push_str(&format!("${body}*{sum:02X}\r\n"));
    }
    std::fs::write(folder.path().join("boat7.nmea"), log).expect("written");
    let fleet = "[[boat]]\nid = \"07\"\nsource = \"boat7\"\ncrew = 2\n";
    std::fs::write(folder.path().join("fleet.toml"), fleet).expect("written");
    let told = dunlin(folder.path(), &["replay", "--fleet", "fleet.toml", "boat7.nmea"], b"");
    assert!(told.status.success(), "{}", err(&told));
    let told = out(&told);
    let afloat = told.lines().find(|line| line.contains("\"standing\":\"afloat\""));
    let afloat = afloat.unwrap_or_else(|| panic!("boat 07 went afloat: {told}"));
    assert!(afloat.contains("\"t\":\"2026-06-01T10:0"), "by the log's own clock: {afloat}");
}

#[test]
fn a_log_that_is_not_there_is_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = dunlin(folder.path(), &["replay", "nowhere.nmea"], b"");
    assert_eq!(output.status.code(), Some(1));
    assert!(err(&output).contains("nowhere.nmea"), "{}", err(&output));
}

#[test]
fn check_says_everything_at_once_and_ends_with_1() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("written");
    };
    write("dunlin.toml", "site = \"site.geojson\"\nfleet = \"fleet.toml\"\nbase_map = \"map.pmtiles\"\n");
    write("site.geojson", "{\"type\": \"FeatureCollection\", \"features\": []}");
    write("fleet.toml", "[[boat]]\nid = \"07\"\nsoruce = \"07\"\ncrew = 2\n");
    let output = dunlin(folder.path(), &["check", "--config", "dunlin.toml"], b"");
    assert_eq!(output.status.code(), Some(1));
    let expected = "map.pmtiles: error: is not there
    correct base_map in the configuration, or put the file there
site.geojson: error: holds no area and no mark
    add features with properties.kind sailing-area, no-go, landing, shore or mark
fleet.toml:3: error: boat \"07\" has the unknown key \"soruce\"
    did you mean \"source\"?
3 problems found.
";
    assert_eq!(out(&output), expected);

    write("dunlin.toml", "fleet = \"fleet.toml\"\n");
    write("fleet.toml", "[[boat]]\nid = \"07\"\nsource = \"07\"\ncrew = 2\n");
    let output = dunlin(folder.path(), &["check", "--config", "dunlin.toml"], b"");
    assert_eq!((output.status.code(), out(&output).as_str()), (Some(0), "The set-up is sound.\n"));
}

#[test]
fn check_tells_feeds_that_would_hear_nothing_and_addresses_of_others() {
    let folder = tempfile::tempdir().expect("a folder");
    let config = |device: &str, path: &str, listen: &str| {
        let text = format!(
            "[[feed]]\nname = \"mast\"\nkind = \"serial\"\ndevice = \"{device}\"\n\
             [[feed]]\nname = \"log\"\nkind = \"file\"\npath = \"{path}\"\n\
             [[feed]]\nname = \"boats\"\nkind = \"udp\"\nlisten = \"{listen}\"\n"
        );
        std::fs::write(folder.path().join("dunlin.toml"), text).expect("written");
        let output = dunlin(folder.path(), &["check", "--config", "dunlin.toml"], b"");
        (output.status.code(), out(&output))
    };
    // 192.0.2.0/24 is nobody's (RFC 5737).
    let (code, told) = config("ttyNOWHERE", "nowhere.nmea", "192.0.2.7:10110");
    let expected = "ttyNOWHERE: error: is not there: feed \"mast\" would hear nothing
    plug the adapter in, or correct its device in the configuration
nowhere.nmea: error: is not there: feed \"log\" would hear nothing
    put the file there and let dunlin read it, or correct its path in the configuration
dunlin.toml: error: feed \"boats\" listens at 192.0.2.7:10110, an address that this computer does not have
    give an address of this computer, or 0.0.0.0 for all of them
3 problems found.
";
    assert_eq!((code, told.as_str()), (Some(1), expected));

    std::fs::write(folder.path().join("log.nmea"), "").expect("written");
    let (_, told) = config("log.nmea", ".", "127.0.0.1:0");
    assert!(told.contains("log.nmea: error: is not a serial device: feed \"mast\""), "{told}");
    assert!(told.contains(": error: is a folder: feed \"log\""), "{told}");
    assert!(told.ends_with("2 problems found.\n"), "{told}");

    // A character device stands for the adapter; a port in use is no fault: dunlin may be running.
    if cfg!(unix) {
        let taken = std::net::UdpSocket::bind("127.0.0.1:0").expect("a port");
        let listen = taken.local_addr().expect("bound").to_string();
        let (code, told) = config("/dev/null", "log.nmea", &listen);
        assert_eq!((code, told.as_str()), (Some(0), "The set-up is sound.\n"));
    }
}

#[test]
fn serve_refuses_a_set_up_that_is_wrong_and_says_why() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("dunlin.toml"), "lisen = \"127.0.0.1:1\"\n").expect("written");
    let output = dunlin(folder.path(), &["serve", "--config", "dunlin.toml"], b"");
    assert_eq!(output.status.code(), Some(1));
    assert!(err(&output).contains("did you mean \"listen\"?"), "{}", err(&output));
}
