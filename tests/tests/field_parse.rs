//! Recordings of real boats through the listener: everything said in them is counted.

use std::path::PathBuf;

use dunlin_engine::{
    fixes::{Listener, Verdict, What},
    input::FeedName,
    moment::Moment,
};

/// A recording of the folder of field data; `None`, said aloud, where it is not on this machine.
fn field_data(path: &str) -> Option<Vec<u8>> {
    let root = std::env::var_os("DUNLIN_FIELD_DATA").map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../shared/field-data"),
        PathBuf::from,
    );
    let file = root.join(path);
    match std::fs::read(&file) {
        Ok(bytes) => Some(bytes),
        Err(error) => {
            eprintln!("SKIPPED: {} cannot be read: {error}", file.display());
            None
        }
    }
}

#[test]
fn a_morning_under_sail_is_heard_whole() {
    let Some(log) = field_data("helsinki-yacht-wind/morning.nmea") else {
        return;
    };
    let feed = FeedName("yacht".to_owned());
    let mut listener = Listener::new();
    let mut out = Vec::new();
    let mut now = Moment(1_273_907_134_000);
    for line in log.split(|byte| *byte == b'\n') {
        if line.starts_with(b"$GPRMC") {
            now = now.plus_ms(1000);
        }
        listener.hear(now, &feed, line, &mut out);
    }
    let count = |wanted: fn(&What) -> bool| {
        out.iter().filter(|verdict| matches!(verdict, Verdict::Heard(heard) if wanted(&heard.what))).count()
    };
    assert_eq!(count(|what| matches!(what, What::Fix(_))), 10_462);
}
