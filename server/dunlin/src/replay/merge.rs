//! Several logs, one stream of lines in the order of their arrival, whatever their length.

use std::{
    cmp::Reverse,
    collections::{BinaryHeap, VecDeque},
    io::{self, Read},
};

use dunlin_engine::{input::FeedName, moment::Moment};

use super::arrival::{SentenceClock, tagged};
use crate::feeds::framing::{Framer, Piece};

/// Lines of one log read ahead to judge whether a jump of its clock is the log going on or one bad
/// stamp.
const AHEAD: usize = 48;

/// Lines of one log held to put small disorder right: a log written by several threads has its
/// lines out of order by a few.
const SORTED: usize = 256;

/// A stamp further ahead than this must be borne out by the lines that follow it.
const LEAP_MS: i64 = 3_600_000;

/// Bytes read from a log at a time.
const READ: usize = 64 * 1024;

/// One line with its arrival.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arrived {
    /// When; never earlier than the one before.
    pub at: Moment,
    /// The log it stands in.
    pub feed: FeedName,
    /// Its bytes.
    pub line: Vec<u8>,
    /// Set when the line was longer than the engine takes; `line` is only its beginning.
    pub too_long: bool,
}

/// What was odd about the logs, for people.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Oddities {
    /// Stamps that the lines around them deny; the last good arrival was used instead.
    pub bad_stamps: u64,
    /// Lines stamped earlier than one already given out; they count as arriving with it.
    pub late: u64,
    /// Lines for which no time was known at all when they were given out.
    pub timeless: u64,
}

/// Merges logs by arrival.
pub struct Merge<R> {
    logs: Vec<Log<R>>,
    heads: BinaryHeap<Reverse<(Moment, usize)>>,
    last: Moment,
    oddities: Oddities,
    failed: Option<(String, io::Error)>,
}

impl<R: Read> Merge<R> {
    /// Merges `logs`, each with the name that its untagged lines go by.
    pub fn new(logs: impl IntoIterator<Item = (FeedName, R)>) -> Merge<R> {
        let mut merge = Merge {
            logs: logs.into_iter().map(|(feed, read)| Log::new(feed, read)).collect(),
            heads: BinaryHeap::new(),
            last: Moment(i64::MIN),
            oddities: Oddities::default(),
            failed: None,
        };
        for log in 0..merge.logs.len() {
            merge.show_head(log);
        }
        merge
    }

    /// What was odd so far.
    pub fn oddities(&self) -> Oddities {
        self.oddities
    }

    /// The log that could not be read to its end, and why; the lines before were given out.
    pub fn failed(&mut self) -> Option<(String, io::Error)> {
        self.failed.take()
    }

    fn show_head(&mut self, place: usize) {
        let log = &mut self.logs[place];
        match log.head(&mut self.oddities) {
            Ok(Some(at)) => self.heads.push(Reverse((at, place))),
            Ok(None) => (),
            Err(error) => self.failed = Some((log.feed.0.clone(), error)),
        }
    }
}

impl<R: Read> Iterator for Merge<R> {
    type Item = Arrived;

    fn next(&mut self) -> Option<Arrived> {
        let Reverse((at, place)) = self.heads.pop()?;
        let log = &mut self.logs[place];
        let held = log.sorted.pop();
        let feed = log.feed.clone();
        self.show_head(place);
        let Reverse(Held { line, too_long, .. }) = held?;
        if at < self.last {
            self.oddities.late += 1;
        }
        self.last = self.last.max(at);
        Some(Arrived { at: self.last, feed, line, too_long })
    }
}

/// A line with the stamp it carries itself.
struct Stamped {
    stamp: Option<Moment>,
    line: Vec<u8>,
    too_long: bool,
}

/// A line with its arrival, waiting for lines that may be earlier.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Held {
    at: Moment,
    number: u64,
    line: Vec<u8>,
    too_long: bool,
}

struct Log<R> {
    feed: FeedName,
    read: R,
    ended: bool,
    framer: Framer,
    buffer: Vec<u8>,
    clock: SentenceClock,
    /// Whether any line so far had a stamp in a TAG block: then the sentences' clocks do not count.
    tagged: bool,
    ahead: VecDeque<Stamped>,
    sorted: BinaryHeap<Reverse<Held>>,
    known: Option<Moment>,
    count: u64,
}

impl<R: Read> Log<R> {
    fn new(feed: FeedName, read: R) -> Log<R> {
        Log {
            feed,
            read,
            ended: false,
            framer: Framer::default(),
            buffer: vec![0; READ],
            clock: SentenceClock::default(),
            tagged: false,
            ahead: VecDeque::new(),
            sorted: BinaryHeap::new(),
            known: None,
            count: 0,
        }
    }

    /// The arrival of the earliest line; `None` at the end.
    fn head(&mut self, oddities: &mut Oddities) -> io::Result<Option<Moment>> {
        let filled = self.fill_sorted(oddities);
        let head = self.sorted.peek().map(|Reverse(held)| held.at);
        match (head, filled) {
            (Some(at), _) => Ok(Some(at)),
            (None, filled) => filled.map(|()| None),
        }
    }

    fn fill_sorted(&mut self, oddities: &mut Oddities) -> io::Result<()> {
        while self.sorted.len() < SORTED {
            let filled = self.fill_ahead();
            let Some(next) = self.ahead.pop_front() else {
                return filled;
            };
            let at = self.arrival(&next, oddities);
            self.sorted.push(Reverse(Held {
                at,
                number: self.count,
                line: next.line,
                too_long: next.too_long,
            }));
            self.count += 1;
        }
        Ok(())
    }

    fn fill_ahead(&mut self) -> io::Result<()> {
        while self.ahead.len() < AHEAD && !self.ended {
            let count = match self.read.read(&mut self.buffer) {
                Ok(count) => count,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => {
                    self.ended = true;
                    return Err(error);
                }
            };
            let (ahead, tagged_before) = (&mut self.ahead, &mut self.tagged);
            let clock = &mut self.clock;
            let keep = |piece: Piece| {
                let (line, too_long) = match piece {
                    Piece::Line(line) => (line, false),
                    Piece::TooLong { start, .. } => (start, true),
                };
                let stamp = tagged(line);
                *tagged_before |= stamp.is_some();
                let stamp = match *tagged_before {
                    true => stamp,
                    false => clock.read(line),
                };
                ahead.push_back(Stamped { stamp, line: line.to_vec(), too_long });
            };
            if count == 0 {
                self.ended = true;
                self.framer.end(keep);
            } else {
                self.framer.push(&self.buffer[..count], keep);
            }
        }
        Ok(())
    }

    /// When the line arrived: its stamp if that is credible, else what was last known of this log,
    /// else what will first be known of it.
    fn arrival(&mut self, line: &Stamped, oddities: &mut Oddities) -> Moment {
        if let Some(stamp) = line.stamp {
            if self.credible(stamp) {
                self.known = Some(stamp);
            } else {
                oddities.bad_stamps += 1;
            }
        }
        if let Some(known) = self.known {
            return known;
        }
        let first = self.ahead.iter().find_map(|next| next.stamp);
        if first.is_none() {
            oddities.timeless += 1;
        }
        first.unwrap_or(Moment(0))
    }

    fn credible(&self, stamp: Moment) -> bool {
        let following = || self.ahead.iter().filter_map(|next| next.stamp).take(16);
        let denying = |earlier: bool| {
            following()
                .filter(|next| {
                    let later_ms = next.ms_since(stamp);
                    later_ms < -LEAP_MS / 2 || (!earlier && later_ms > LEAP_MS / 2)
                })
                .count()
        };
        let count = following().count();
        match self.known {
            Some(known) if stamp.ms_since(known) > LEAP_MS => count > 0 && 2 * denying(true) < count,
            Some(known) => stamp.ms_since(known) > -LEAP_MS || 2 * denying(false) < count,
            None => 2 * denying(false) <= count,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn merged(logs: &[(&str, &str)]) -> (Vec<(i64, String, String)>, Oddities) {
        let logs = logs.iter().map(|(name, text)| (FeedName((*name).to_owned()), text.as_bytes()));
        let mut merge = Merge::new(logs);
        let lines = merge
            .by_ref()
            .map(|arrived| {
                let line = String::from_utf8_lossy(&arrived.line);
                let body = line.rsplit('\\').next().unwrap_or_default().to_owned();
                (arrived.at.0 / 1000 - 1_780_000_000, arrived.feed.0, body)
            })
            .collect();
        (lines, merge.oddities())
    }

    fn order(logs: &[(&str, &str)]) -> String {
        let (lines, _) = merged(logs);
        let words: Vec<String> = lines.iter().map(|(at, _, body)| format!("{at}{body}")).collect();
        words.join(" ")
    }

    #[test]
    fn logs_are_merged_by_arrival_and_lines_without_one_stay_with_the_line_before() {
        let a = "\\c:1780000001\\$A\n$B\n\\c:1780000005\\$C\n";
        let b = "$D\n\\c:1780000001\\$E\n\\c:1780000003\\$F\n";
        assert_eq!(order(&[("a", a), ("b", b)]), "1$A 1$B 1$D 1$E 3$F 5$C");
    }

    #[test]
    fn one_bad_stamp_is_not_believed_and_a_long_pause_is() {
        let good = |s: i64| format!("\\c:{}\\$G\n", 1_780_000_000 + s);
        let mut text: String = (0..20).map(good).collect();
        text.push_str("\\c:1990000000\\$BAD\n");
        text.extend((20..40).map(good));
        text.extend((90_000..90_020).map(good));
        let (lines, oddities) = merged(&[("a", &text)]);
        assert_eq!(lines[20].0, 19, "the bad line arrives with the one before it");
        assert_eq!(lines.last().map(|line| line.0), Some(90_019));
        assert_eq!(oddities.bad_stamps, 1);
        assert_eq!(oddities.late, 0);
    }

    #[test]
    fn small_disorder_is_put_right() {
        let text = "\\c:1780000002\\$B\n\\c:1780000001\\$A\n\\c:1780000003\\$C\n";
        assert_eq!(order(&[("a", text)]), "1$A 2$B 3$C");
    }

    #[test]
    fn a_plain_log_goes_by_its_sentences() {
        let sentence = |body: &str| {
            let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
            format!("${body}*{sum:02X}\r\n")
        };
        let text = [
            "$GPGSV,nothing*00\r\n".to_owned(),
            sentence("GPRMC,202640,A,,,,,,,280526,,,A"),
            sentence("GPVTG,,,,,,,,,A"),
            sentence("GPGGA,202641,,,,,,,,,,,,,"),
        ]
        .concat();
        let (lines, oddities) = merged(&[("boat", &text)]);
        let at: Vec<i64> = lines.iter().map(|line| line.0).collect();
        assert_eq!(at, [0, 0, 0, 1]);
        assert_eq!(oddities, Oddities::default());
    }
}
