//! All sources of a session: each line or report heard, dated, ordered, and passed or refused.

use std::{collections::BTreeMap, sync::Arc};

use crate::{
    effect::{Discard, DiscardReason},
    fixes::{
        Fix, Heard, Source, Verdict, What,
        clock::{Clock, Order},
        frame::{Piece, TagBlock, pieces},
        health::{Counts, SourceHealth},
        sentence::{RawFix, Said, read},
    },
    input::{FeedName, Report},
    limits::{LINE_MAX, SOURCES_MAX},
    moment::Moment,
};

/// Bytes of a refused line that are shown to whoever has to find the fault.
const EXCERPT_MAX: usize = 48;

/// A sentence without a time belongs to the fix heard this shortly before it, ms.
const EPOCH_MS: i64 = 900;

/// A delay seen this shortly before is still the delay, ms.
const LAG_MS: i64 = 2_000;

/// 68 % radius above which a phone's position is no position, metres: a cell tower's.
const ACCURACY_MAX_M: f64 = 200.0;

/// The newest fix of a source and how it has grown.
#[derive(Clone, Copy, Debug)]
struct Epoch {
    time: i64,
    taken: Moment,
    arrival: Moment,
    fix: Fix,
    /// Sentence types that spoke of it, one bit each.
    types: u8,
}

/// What is remembered of one source.
#[derive(Clone, Debug)]
struct Ear {
    source: Source,
    feed: String,
    clock: Clock,
    epoch: Option<Epoch>,
    variation_deg: Option<f64>,
    heading_heard: Option<Moment>,
    counts: Counts,
}

/// Hears every source and keeps each one's clock, epoch and health.
#[derive(Clone, Debug, Default)]
pub struct Listener {
    ears: BTreeMap<Arc<str>, Ear>,
    /// The variation last told by anyone: one for all, since a venue is small.
    variation_deg: Option<f64>,
}

/// Where a piece came from, for the discard that may become of it.
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
    /// itself. A line that only fills in what is known (a second sentence of one epoch, a date)
    /// appends nothing.
    pub fn hear(&mut self, now: Moment, feed: &FeedName, line: &[u8], out: &mut Vec<Verdict>) {
        if line.len() > LINE_MAX {
            let origin = Origin { now, feed: &feed.0, source: &feed.0, bytes: line };
            self.refuse(&origin, DiscardReason::TooLong, out);
            return;
        }
        pieces(line, |piece| match piece {
            Piece::Sentence { text, tag } => self.sentence(now, feed, text, tag, out),
            Piece::Refused { bytes, reason, tag } => {
                let origin = Origin { now, feed: &feed.0, source: tag.source.unwrap_or(&feed.0), bytes };
                self.refuse(&origin, reason, out);
            }
        });
    }

    /// Takes one report of a phone that arrived at `now`.
    ///
    /// A report older than the newest of its source is refused, but a press of its help button is
    /// passed on however old.
    pub fn report(&mut self, now: Moment, source: &str, report: &Report, out: &mut Vec<Verdict>) {
        let origin = Origin { now, feed: source, source, bytes: b"report" };
        let usual_ms = self.usual_offset_ms(source);
        let Some(ear) = self.ear(&origin) else {
            self.refuse(&origin, DiscardReason::TooManySources, out);
            return;
        };
        ear.counts.line(now, b"PHN", 0);
        let time = report.taken.0;
        let name = ear.source.clone();
        let order = ear.clock.order(now, time);
        let taken = match order {
            Order::Newer => ear.clock.taken(now, time, usual_ms),
            Order::Same | Order::Older | Order::Leap => now,
        };
        let mut say = |what| {
            out.push(Verdict::Heard(Heard { source: name.clone(), taken, what }));
        };
        if let Some(help) = report.help {
            say(What::Help(help));
        }
        let refused = match order {
            Order::Newer => None,
            Order::Same => Some(DiscardReason::Duplicate),
            Order::Older => Some(DiscardReason::OutOfOrder),
            Order::Leap => Some(DiscardReason::ImpossibleTime),
        };
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
        if let Some(deg) = report.heel_deg
            && (-180.0..=180.0).contains(&deg)
        {
            say(What::Heel(deg));
        }
        if let Some(pct) = report.battery_pct
            && (0.0..=100.0).contains(&pct)
        {
            say(What::BatteryPct(pct));
        }
        if let Err(reason) = fix {
            self.refuse(&origin, reason, out);
        }
    }

    /// How every source is doing, in the order of their names.
    pub fn health(&self) -> Vec<SourceHealth> {
        self.ears.values().map(|ear| ear.counts.health(&ear.source, &ear.feed, &ear.clock)).collect()
    }

    fn sentence(
        &mut self,
        now: Moment,
        feed: &FeedName,
        text: &str,
        tag: TagBlock<'_>,
        out: &mut Vec<Verdict>,
    ) {
        let origin =
            Origin { now, feed: &feed.0, source: tag.source.unwrap_or(&feed.0), bytes: text.as_bytes() };
        let said = match read(text) {
            Ok(said) => said,
            Err(reason) => return self.refuse(&origin, reason, out),
        };
        for said in said {
            if let Err(reason) = self.said(&origin, text, said, out) {
                self.refuse(&origin, reason, out);
            }
        }
    }

    fn said(
        &mut self,
        origin: &Origin<'_>,
        text: &str,
        said: Said,
        out: &mut Vec<Verdict>,
    ) -> Result<(), DiscardReason> {
        let now = origin.now;
        let usual_ms = self.usual_offset_ms(origin.source);
        let session_variation_deg = self.variation_deg;
        let ear = self.ear(origin).ok_or(DiscardReason::TooManySources)?;
        let kind = sentence_type(text);
        ear.counts.line(now, &kind, text.len());
        let source = ear.source.clone();
        let mut learnt = None;
        let heard = match said {
            Said::Fix(raw) => {
                learnt = raw.variation_deg;
                if learnt.is_some() {
                    ear.variation_deg = learnt;
                }
                ear.fix(now, kind, &raw, usual_ms)?.map(|(taken, fix)| (taken, What::Fix(fix)))
            }
            Said::Date { day, ms_of_day } => {
                let time = ear.clock.whole(now, Some(day), ms_of_day, usual_ms);
                ear.clock.order(now, time);
                None
            }
            Said::Motion { speed_mps, course } => {
                let taken = ear.epoch_taken(now);
                Some((taken, What::Motion { speed_mps, course }))
            }
            Said::SpareHeading(heading) => {
                let covered = ear.heading_heard.is_some_and(|then| now.ms_since(then) < 5_000);
                (!covered).then(|| (ear.untimed(now), What::Heading(heading)))
            }
            Said::Magnetic { heading, variation_deg } => {
                learnt = variation_deg;
                ear.variation_deg = variation_deg.or(ear.variation_deg);
                ear.heading_heard = Some(now);
                let what = match ear.variation_deg.or(session_variation_deg) {
                    Some(variation_deg) => What::Heading(heading.turned(variation_deg)),
                    None => What::MagneticHeading(heading),
                };
                Some((ear.untimed(now), what))
            }
            Said::What(what) => {
                if matches!(what, What::Heading(_)) {
                    ear.heading_heard = Some(now);
                }
                Some((ear.untimed(now), what))
            }
        };
        // Zero is what instruments write that do not know it; it must not be spread to others.
        if let Some(variation_deg) = learnt.filter(|deg| *deg != 0.0) {
            self.variation_deg = Some(variation_deg);
        }
        if let Some((taken, what)) = heard {
            out.push(Verdict::Heard(Heard { source, taken, what }));
        }
        Ok(())
    }

    /// The median offset of all other sources' clocks; 0, our clock being right, without any.
    fn usual_offset_ms(&self, source: &str) -> i64 {
        if let Some(ear) = self.ears.get(source)
            && ear.clock.offset_ms().is_some()
        {
            return 0; // not needed: it has its own
        }
        let mut offsets: Vec<i64> = self.ears.values().filter_map(|ear| ear.clock.offset_ms()).collect();
        offsets.sort_unstable();
        offsets.get(offsets.len() / 2).copied().unwrap_or(0)
    }

    fn ear(&mut self, origin: &Origin<'_>) -> Option<&mut Ear> {
        if !self.ears.contains_key(origin.source) {
            if self.ears.len() >= SOURCES_MAX {
                return None;
            }
            let name: Arc<str> = origin.source.into();
            self.ears.insert(
                name.clone(),
                Ear {
                    source: Source(name),
                    feed: origin.feed.to_owned(),
                    clock: Clock::default(),
                    epoch: None,
                    variation_deg: None,
                    heading_heard: None,
                    counts: Counts::new(origin.now),
                },
            );
        }
        self.ears.get_mut(origin.source)
    }

    fn refuse(&mut self, origin: &Origin<'_>, reason: DiscardReason, out: &mut Vec<Verdict>) {
        if let Some(ear) = self.ear(origin) {
            ear.counts.discard(origin.now, reason, origin.bytes.len());
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

impl Ear {
    /// Dates one position; `None` when it adds nothing to its epoch.
    fn fix(
        &mut self,
        now: Moment,
        kind: [u8; 3],
        raw: &RawFix,
        usual_ms: i64,
    ) -> Result<Option<(Moment, Fix)>, DiscardReason> {
        let mut fix = Fix {
            position: raw.position,
            accuracy_m: raw.accuracy_m,
            speed_mps: raw.speed_mps,
            course: raw.course,
        };
        let Some(ms_of_day) = raw.ms_of_day else {
            return Ok(Some((self.untimed(now), fix)));
        };
        let time = self.clock.whole(now, raw.day, ms_of_day, usual_ms);
        let bit = type_bit(kind);
        match (self.clock.order(now, time), self.epoch) {
            (Order::Same, Some(epoch)) if epoch.time == time => {
                let grown = Fix {
                    position: fix.position,
                    accuracy_m: fix.accuracy_m.or(epoch.fix.accuracy_m),
                    speed_mps: fix.speed_mps.or(epoch.fix.speed_mps),
                    course: fix.course.or(epoch.fix.course),
                };
                if grown == epoch.fix && epoch.types & bit != 0 {
                    return Err(DiscardReason::Duplicate);
                }
                self.epoch = Some(Epoch { fix: grown, types: epoch.types | bit, arrival: now, ..epoch });
                return Ok((grown != epoch.fix).then_some((epoch.taken, grown)));
            }
            (Order::Older, _) => return Err(DiscardReason::OutOfOrder),
            (Order::Leap, _) => return Err(DiscardReason::ImpossibleTime),
            (Order::Newer | Order::Same, _) => (),
        }
        // The accuracy of the epoch before stands until this one's own is told.
        if let (None, Some(epoch)) = (fix.accuracy_m, self.epoch) {
            fix.accuracy_m = epoch.fix.accuracy_m;
        }
        let taken = self.clock.taken(now, time, usual_ms);
        self.counts.fix(time);
        self.epoch = Some(Epoch { time, taken, arrival: now, fix, types: bit });
        Ok(Some((taken, fix)))
    }

    /// When something without a time of its own was true: as late as the fix just before it.
    fn untimed(&self, now: Moment) -> Moment {
        match self.epoch {
            Some(epoch) if now.ms_since(epoch.arrival) <= LAG_MS => {
                Moment(now.0 - epoch.arrival.ms_since(epoch.taken).max(0))
            }
            _ => now,
        }
    }

    /// The time of the fix a velocity belongs to.
    fn epoch_taken(&self, now: Moment) -> Moment {
        match self.epoch {
            Some(epoch) if now.ms_since(epoch.arrival) <= EPOCH_MS => epoch.taken,
            _ => self.untimed(now),
        }
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
    let speed_mps = super::sentence::speed_mps(report.speed_mps)?;
    Ok(Some(Fix { position, accuracy_m, speed_mps, course: report.course }))
}

/// The last three letters of the address.
fn sentence_type(text: &str) -> [u8; 3] {
    let address = text.get(3..6).unwrap_or("???");
    let mut kind = *b"???";
    kind.copy_from_slice(address.as_bytes());
    kind
}

/// A bit for each type of sentence that carries a position.
fn type_bit(kind: [u8; 3]) -> u8 {
    match &kind {
        b"RMC" => 1,
        b"GGA" => 2,
        b"GLL" => 4,
        b"GNS" => 8,
        _ => 16,
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
