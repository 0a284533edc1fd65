//! All sources of a session: each line or report heard, dated, ordered, and passed or refused.

use std::{
    collections::{BTreeMap, VecDeque},
    sync::Arc,
};

use crate::{
    effect::{Discard, DiscardReason},
    fixes::{
        Fix, Heard, Source, Verdict, What,
        ais::{AisSaid, decode},
        clock::Order,
        ear::{Ear, Usual},
        fields::Fields,
        fragments::Fragment,
        frame::{Piece, TagBlock, pieces},
        health::SourceHealth,
        range::speed_mps,
        sentence::{RawFix, Said, read},
    },
    input::{FeedName, Report},
    limits::{LINE_MAX, SOURCES_MAX},
    moment::Moment,
};

/// Bytes of a refused line that are shown to whoever has to find the fault.
const EXCERPT_MAX: usize = 48;

/// 68 % radius above which a phone's position is no position, metres: a cell tower's.
const ACCURACY_MAX_M: f64 = 200.0;

/// Times of phones that can be a clock's at all, ms: 1970 to 2200. Sentences cannot say others.
const TIMES: std::ops::Range<i64> = 0..7_258_118_400_000;

/// Groups of sentences whose source is remembered: only the first of a group need name it.
const GROUPS_MAX: usize = 16;

/// Hears every source and keeps each one's clock, epoch and health.
#[derive(Clone, Debug, Default)]
pub struct Listener {
    ears: Vec<Ear>,
    /// Where in `ears` a source is.
    names: BTreeMap<Arc<str>, usize>,
    /// The variation last told by anyone: one for all, since a venue is small.
    variation_deg: Option<f64>,
    /// Feed and number of the last groups with the source their first sentence named.
    groups: VecDeque<(String, u32, String)>,
    /// Kept for its memory.
    said: Vec<Said>,
}

/// Where a piece came from, for the discard that may become of it.
#[derive(Clone, Copy)]
struct Origin<'a> {
    now: Moment,
    feed: &'a str,
    source: &'a str,
    bytes: &'a [u8],
}

impl Listener {
    /// A listener that has heard nothing.
    pub fn new() -> Listener {
        Listener::default()
    }

    /// Takes one raw line that arrived at `now` through `feed` and appends what became of it.
    ///
    /// A line may hold several sentences run together and rubbish around them; each is judged by
    /// itself. A line that only fills in what is known (a second sentence of one epoch, a date, a
    /// part of a longer message) appends nothing.
    pub fn hear(&mut self, now: Moment, feed: &FeedName, line: &[u8], out: &mut Vec<Verdict>) {
        let whole = Origin { now, feed: &feed.0, source: &feed.0, bytes: line };
        if line.len() > LINE_MAX {
            self.refuse(&whole, DiscardReason::TooLong, out);
            return;
        }
        pieces(line, |piece| match piece {
            Piece::Sentence { text, tag } => self.sentence(now, feed, text, tag, out),
            Piece::Refused { bytes, reason, tag } => {
                let source = tag.source.unwrap_or(&feed.0);
                self.refuse(&Origin { source, bytes, ..whole }, reason, out);
            }
        });
    }

    /// Takes one report of a phone that arrived at `now`.
    ///
    /// A report older than the newest of its source is refused, but a press of its help button is
    /// passed on however old.
    pub fn report(&mut self, now: Moment, source: &str, report: &Report, out: &mut Vec<Verdict>) {
        let origin = Origin { now, feed: source, source, bytes: b"report" };
        let Some(at) = self.ear(&origin) else {
            self.refuse(&origin, DiscardReason::TooManySources, out);
            return;
        };
        let usual = self.usual(at);
        let ear = &mut self.ears[at];
        ear.counts.line(now, b"PHN", 0);
        let time = report.taken.0;
        let order = match TIMES.contains(&time) {
            true => ear.clock.order(now, time),
            false => Order::Leap,
        };
        let taken = match order {
            Order::Newer => ear.clock.taken(now, time, usual.offset_ms),
            Order::Same | Order::Older | Order::Leap => now,
        };
        let refused = match order {
            Order::Newer => None,
            Order::Same => Some(DiscardReason::Duplicate),
            Order::Older => Some(DiscardReason::OutOfOrder),
            Order::Leap => Some(DiscardReason::ImpossibleTime),
        };
        let name = ear.source.clone();
        let mut say = |what| {
            out.push(Verdict::Heard(Heard { source: name.clone(), taken, what }));
        };
        if let Some(help) = report.help {
            say(What::Help(help));
        }
        if let Some(reason) = refused {
            self.refuse(&origin, reason, out);
            return;
        }
        let fix = report_fix(report);
        if let Ok(Some(fix)) = fix {
            say(What::Fix(fix));
            ear.counts.fix(time);
        }
        if let Some(heading) = report.heading {
            say(What::Heading(heading));
        }
        if let Some(deg) = report.heel_deg.filter(|deg| (-180.0..=180.0).contains(deg)) {
            say(What::Heel(deg));
        }
        if let Some(pct) = report.battery_pct.filter(|pct| (0.0..=100.0).contains(pct)) {
            say(What::BatteryPct(pct));
        }
        if let Err(reason) = fix {
            self.refuse(&origin, reason, out);
        }
    }

    /// How every source is doing, in the order of their names.
    pub fn health(&self) -> Vec<SourceHealth> {
        let ears = self.names.values().map(|at| &self.ears[*at]);
        ears.map(|ear| ear.counts.health(&ear.source, &ear.feed, &ear.clock)).collect()
    }

    fn sentence(
        &mut self,
        now: Moment,
        feed: &FeedName,
        text: &str,
        tag: TagBlock<'_>,
        out: &mut Vec<Verdict>,
    ) {
        let remembered = self.group_source(feed, &tag);
        let source = tag.source.or(remembered.as_deref()).unwrap_or(&feed.0);
        let origin = Origin { now, feed: &feed.0, source, bytes: text.as_bytes() };
        if text.starts_with('!') {
            self.ais(&origin, text, out);
            return;
        }
        let mut said = std::mem::take(&mut self.said);
        match (read(text, &mut said), self.ear(&origin)) {
            (Ok(()), Some(at)) => {
                let kind = sentence_type(text);
                self.ears[at].counts.line(now, &kind, text.len());
                for said in said.drain(..) {
                    if let Err(reason) = self.take(at, now, kind, said, out) {
                        self.refuse(&origin, reason, out);
                    }
                }
            }
            (Ok(()), None) => self.refuse(&origin, DiscardReason::TooManySources, out),
            (Err(reason), _) => self.refuse(&origin, reason, out),
        }
        said.clear(); // a sentence refused half-way says nothing
        self.said = said;
    }

    /// One statement of the source at `at`.
    fn take(
        &mut self,
        at: usize,
        now: Moment,
        kind: [u8; 3],
        said: Said,
        out: &mut Vec<Verdict>,
    ) -> Result<(), DiscardReason> {
        let usual = match said {
            Said::Fix(_) | Said::Date { .. } => self.usual(at),
            _ => Usual { offset_ms: 0, variation_deg: self.variation_deg },
        };
        let told_deg = match said {
            Said::Fix(RawFix { variation_deg, .. }) | Said::Magnetic { variation_deg, .. } => variation_deg,
            _ => None,
        };
        // Zero is what instruments write that do not know it; it must not be spread to others.
        if let Some(variation_deg) = told_deg.filter(|deg| *deg != 0.0) {
            self.variation_deg = Some(variation_deg);
        }
        let ear = &mut self.ears[at];
        if let Some((taken, what)) = ear.hear(now, kind, said, &usual)? {
            let source = ear.source.clone();
            out.push(Verdict::Heard(Heard { source, taken, what }));
        }
        Ok(())
    }

    /// One line of an AIS receiver. VDM speaks of others, VDO of the boat that carries it.
    fn ais(&mut self, origin: &Origin<'_>, text: &str, out: &mut Vec<Verdict>) {
        let now = origin.now;
        let kind = sentence_type(text);
        if !matches!(&kind, b"VDM" | b"VDO") {
            return self.refuse(origin, DiscardReason::NotUsed, out);
        }
        let Some(fragment) = Fragment::of(Fields::of(text).body) else {
            return self.refuse(origin, DiscardReason::Unreadable, out);
        };
        let Some(at) = self.ear(origin) else {
            return self.refuse(origin, DiscardReason::TooManySources, out);
        };
        let ear = &mut self.ears[at];
        ear.counts.line(now, &kind, text.len());
        let mut lost = ear.fragments.expire(now);
        let decoded = if fragment.total == 1 {
            Some(decode(fragment.payload, fragment.fill))
        } else {
            let (whole, replaced) = ear.fragments.take(now, fragment);
            lost += replaced;
            whole.map(|(payload, fill)| decode(&payload, fill))
        };
        for _ in 0..lost {
            self.refuse(&Origin { bytes: b"", ..*origin }, DiscardReason::Incomplete, out);
        }
        match decoded {
            None => (), // its other lines are still to come
            Some(Err(reason)) => self.refuse(origin, reason, out),
            Some(Ok(said)) => self.identity(origin, &kind, said, out),
        }
    }

    /// What an AIS station said, under its own name, or as the boat's own when she carries it.
    fn identity(&mut self, origin: &Origin<'_>, kind: &[u8; 3], said: AisSaid, out: &mut Vec<Verdict>) {
        let now = origin.now;
        let own = kind == b"VDO";
        let name = format!("mmsi:{:09}", said.mmsi);
        let station = Origin { source: if own { origin.source } else { &name }, ..*origin };
        let Some(at) = self.ear(&station) else {
            return self.refuse(&station, DiscardReason::TooManySources, out);
        };
        let ear = &mut self.ears[at];
        if !own {
            ear.counts.line(now, kind, origin.bytes.len());
        }
        let source = ear.source.clone();
        for what in said.what {
            if let What::Fix(fix) = &what {
                if ear.repeated(now, fix, said.second) {
                    return self.refuse(&station, DiscardReason::Duplicate, out);
                }
                if own && ear.has_receiver(now) {
                    return; // her own receiver says the same, finer
                }
            }
            out.push(Verdict::Heard(Heard { source: source.clone(), taken: now, what }));
        }
    }

    /// The source a later sentence of a group belongs to; remembers what the first one named.
    fn group_source(&mut self, feed: &FeedName, tag: &TagBlock<'_>) -> Option<String> {
        let (_, _, group) = tag.group?;
        let known = self.groups.iter().rev().find(|(of, number, _)| *of == feed.0 && *number == group);
        match tag.source {
            None => known.map(|(_, _, source)| source.clone()),
            Some(source) => {
                if self.groups.len() >= GROUPS_MAX {
                    self.groups.pop_front();
                }
                self.groups.push_back((feed.0.clone(), group, source.to_owned()));
                None
            }
        }
    }

    /// What the source at `at` is taken to be like: the median offset of the other sources' clocks
    /// (0, our clock being right, without any) until it has its own, and the variation last told.
    fn usual(&self, at: usize) -> Usual {
        let variation_deg = self.variation_deg;
        if !self.ears[at].awaits_clock() {
            return Usual { offset_ms: 0, variation_deg };
        }
        let mut offsets: Vec<i64> = self.ears.iter().filter_map(|ear| ear.clock.offset_ms()).collect();
        offsets.sort_unstable();
        let offset_ms = offsets.get(offsets.len() / 2).copied().unwrap_or(0);
        Usual { offset_ms, variation_deg }
    }

    /// The place of the origin's source; a new one is taken in while there is room.
    fn ear(&mut self, origin: &Origin<'_>) -> Option<usize> {
        if let Some(at) = self.names.get(origin.source) {
            return Some(*at);
        }
        if self.ears.len() >= SOURCES_MAX {
            return None;
        }
        let name: Arc<str> = origin.source.into();
        self.ears.push(Ear::new(origin.now, Source(name.clone()), origin.feed));
        self.names.insert(name, self.ears.len() - 1);
        Some(self.ears.len() - 1)
    }

    fn refuse(&mut self, origin: &Origin<'_>, reason: DiscardReason, out: &mut Vec<Verdict>) {
        if let Some(at) = self.ear(origin) {
            self.ears[at].counts.discard(origin.now, reason, origin.bytes.len());
        }
        out.push(Verdict::Discard(Discard {
            at: origin.now,
            feed: origin.feed.to_owned(),
            source: (origin.source != origin.feed).then(|| origin.source.to_owned()),
            reason,
            excerpt: excerpt(origin.bytes),
        }));
    }
}

/// The fix of a phone's report, checked; `None` when it has no position.
fn report_fix(report: &Report) -> Result<Option<Fix>, DiscardReason> {
    let Some(position) = report.position else {
        return Ok(None);
    };
    let accuracy_m = match report.accuracy_m {
        Some(m) if !m.is_finite() || m < 0.0 => return Err(DiscardReason::OutOfRange),
        Some(m) if m > ACCURACY_MAX_M => return Err(DiscardReason::PoorFix),
        Some(0.0) | None => None,
        accuracy_m => accuracy_m,
    };
    if position.lat_deg() == 0.0 && position.lon_deg() == 0.0 {
        return Err(DiscardReason::PoorFix);
    }
    let speed_mps = speed_mps(report.speed_mps)?;
    Ok(Some(Fix { position, accuracy_m, speed_mps, course: report.course }))
}

/// The last three letters of the address; `???` when it is not of the usual length.
fn sentence_type(text: &str) -> [u8; 3] {
    match text.as_bytes() {
        [_, _, _, a, b, c, b',' | b'*', ..] => [*a, *b, *c],
        _ => *b"???",
    }
}

fn excerpt(bytes: &[u8]) -> String {
    bytes
        .iter()
        .take(EXCERPT_MAX)
        .map(|byte| match byte {
            b' '..=b'~' => char::from(*byte),
            _ => '.',
        })
        .collect()
}
