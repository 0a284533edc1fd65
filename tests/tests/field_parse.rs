//! Recordings of real boats through the listener: everything said in them is counted.

use dunlin_engine::{
    fixes::{Listener, Verdict, What},
    input::FeedName,
    moment::Moment,
};
use dunlin_tests::field::recording;

#[test]
fn a_morning_under_sail_is_heard_whole() {
    let Some(log) = recording("helsinki-yacht-wind/morning.nmea") else {
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
