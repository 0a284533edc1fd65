//! How a source is doing, for the people who have to mend it.

use std::collections::BTreeMap;

use crate::{
    effect::DiscardReason,
    fixes::{Source, clock::Clock},
    moment::Moment,
};

/// Sentence types counted apart for one source; a further one is counted as `***`.
const TYPES_MAX: usize = 32;

/// Characters of a sentence by the standard, without the line end.
const STANDARD_MAX: usize = 80;

/// Weight of the newest interval in the fix rate.
const RATE_GAIN: f64 = 0.1;

/// How one source is doing.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceHealth {
    /// Who.
    pub source: Source,
    /// The feed it was first heard through.
    pub feed: String,
    /// When it was first heard, by arrival.
    pub first_heard: Moment,
    /// When anything of it was last heard, refused or not, by arrival.
    pub last_heard: Moment,
    /// Bytes of its sentences, refused ones included.
    pub bytes: u64,
    /// Statements by sentence type (`RMC`; `PHN` for a phone's report, `***` for the rest).
    pub sentences: Vec<(String, u64)>,
    /// Sentences longer than the standard's 82 characters, line end included; up to 102 they are
    /// taken all the same, since good receivers send them.
    pub overlong: u64,
    /// What was refused, by reason.
    pub discards: Vec<(DiscardReason, u64)>,
    /// Our clock minus its own, ms, at the quickest delivery; `None` while it tells no time. The
    /// delay of a quick network is part of it.
    pub clock_offset_ms: Option<i64>,
    /// Whether its week number has overflowed and is being put right.
    pub rolled_over: bool,
    /// Fixes a second by its own clock, over about the last ten; `None` before the second.
    pub fix_rate_hz: Option<f64>,
}

/// The counters behind a [`SourceHealth`].
#[derive(Clone, Debug)]
pub(crate) struct Counts {
    first: Moment,
    last: Moment,
    bytes: u64,
    overlong: u64,
    sentences: BTreeMap<[u8; 3], u64>,
    discards: BTreeMap<DiscardReason, u64>,
    newest_ms: Option<i64>,
    interval_s: Option<f64>,
}

impl Counts {
    pub(crate) fn new(now: Moment) -> Counts {
        Counts {
            first: now,
            last: now,
            bytes: 0,
            overlong: 0,
            sentences: BTreeMap::new(),
            discards: BTreeMap::new(),
            newest_ms: None,
            interval_s: None,
        }
    }

    pub(crate) fn line(&mut self, now: Moment, kind: &[u8; 3], bytes: usize) {
        self.heard(now, bytes);
        self.overlong += u64::from(bytes > STANDARD_MAX);
        let full = self.sentences.len() >= TYPES_MAX && !self.sentences.contains_key(kind);
        let kind = if full { *b"***" } else { *kind };
        *self.sentences.entry(kind).or_default() += 1;
    }

    pub(crate) fn discard(&mut self, now: Moment, reason: DiscardReason, bytes: usize) {
        self.heard(now, bytes);
        *self.discards.entry(reason).or_default() += 1;
    }

    /// A new fix, with its time by the source's own clock.
    pub(crate) fn fix(&mut self, time_ms: i64) {
        if let Some(before) = self.newest_ms.replace(time_ms) {
            let interval_s = (time_ms - before) as f64 / 1000.0;
            if interval_s > 0.0 {
                let last = self.interval_s.unwrap_or(interval_s);
                self.interval_s = Some(last + RATE_GAIN * (interval_s - last));
            }
        }
    }

    pub(crate) fn health(&self, source: &Source, feed: &str, clock: &Clock) -> SourceHealth {
        SourceHealth {
            source: source.clone(),
            feed: feed.to_owned(),
            first_heard: self.first,
            last_heard: self.last,
            bytes: self.bytes,
            overlong: self.overlong,
            sentences: self
                .sentences
                .iter()
                .map(|(kind, count)| (String::from_utf8_lossy(kind).into_owned(), *count))
                .collect(),
            discards: self.discards.iter().map(|(reason, count)| (*reason, *count)).collect(),
            clock_offset_ms: clock.offset_ms(),
            rolled_over: clock.rolled_over(),
            fix_rate_hz: self.interval_s.map(|s| 1.0 / s),
        }
    }

    fn heard(&mut self, now: Moment, bytes: usize) {
        self.last = self.last.max(now);
        self.bytes = self.bytes.saturating_add(bytes as u64);
    }
}
