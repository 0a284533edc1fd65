//! One source: its clock, the epoch it is telling of, and what else must be remembered of it.

use crate::{
    effect::DiscardReason,
    fixes::{
        Fix, Source, What,
        clock::{Clock, Order},
        fragments::Fragments,
        health::Counts,
        sentence::{RawFix, Said},
    },
    moment::Moment,
};

/// A sentence without a time belongs to the fix heard this shortly before it, ms.
const EPOCH_MS: i64 = 900;

/// A delay seen this shortly before is still the delay, ms.
const LAG_MS: i64 = 2_000;

/// A heading or position of its own heard this shortly before makes a second-hand one needless, ms.
const HEADING_MS: i64 = 5_000;

/// One AIS report reaches several receivers, and repeaters, within this, ms; the second of its
/// time stamp comes round after 60 s.
const REPEAT_MS: i64 = 30_000;

/// What a source is taken to be like until it has shown its own ways.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Usual {
    /// Our clock minus the receivers', ms.
    pub(crate) offset_ms: i64,
    /// Magnetic variation, degrees, east positive.
    pub(crate) variation_deg: Option<f64>,
}

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
pub(crate) struct Ear {
    pub(crate) source: Source,
    /// The feed it was first heard through.
    pub(crate) feed: String,
    pub(crate) clock: Clock,
    pub(crate) counts: Counts,
    /// AIS messages of this receiver that are not complete yet.
    pub(crate) fragments: Fragments,
    epoch: Option<Epoch>,
    variation_deg: Option<f64>,
    heading_heard: Option<Moment>,
    /// The newest AIS report of this identity: what, its second, and its arrival.
    reported: Option<(Fix, Option<u8>, Moment)>,
}

impl Ear {
    pub(crate) fn new(now: Moment, source: Source, feed: &str) -> Ear {
        Ear {
            source,
            feed: feed.to_owned(),
            clock: Clock::default(),
            counts: Counts::new(now),
            fragments: Fragments::default(),
            epoch: None,
            variation_deg: None,
            heading_heard: None,
            reported: None,
        }
    }

    /// What one statement comes to, with when it was true; `None` when it only fills in what was
    /// said already.
    pub(crate) fn hear(
        &mut self,
        now: Moment,
        kind: [u8; 3],
        said: Said,
        usual: &Usual,
    ) -> Result<Option<(Moment, What)>, DiscardReason> {
        Ok(match said {
            Said::Fix(raw) => {
                self.variation_deg = raw.variation_deg.or(self.variation_deg);
                self.fix(now, kind, &raw, usual.offset_ms)?.map(|(taken, fix)| (taken, What::Fix(fix)))
            }
            Said::Date { day, ms_of_day } => {
                self.clock.whole(now, Some(day), ms_of_day, usual.offset_ms);
                None
            }
            Said::Motion { speed_mps, course } => {
                Some((self.epoch_taken(now), What::Motion { speed_mps, course }))
            }
            Said::SpareHeading(heading) => {
                let covered = self.heading_heard.is_some_and(|then| now.ms_since(then) < HEADING_MS);
                (!covered).then(|| (self.untimed(now), What::Heading(heading)))
            }
            Said::Magnetic { heading, variation_deg } => {
                self.variation_deg = variation_deg.or(self.variation_deg);
                self.heading_heard = Some(now);
                let what = match self.variation_deg.or(usual.variation_deg) {
                    Some(variation_deg) => What::Heading(heading.turned(variation_deg)),
                    None => What::MagneticHeading(heading),
                };
                Some((self.untimed(now), what))
            }
            Said::What(what) => {
                if matches!(what, What::Heading(_)) {
                    self.heading_heard = Some(now);
                }
                Some((self.untimed(now), what))
            }
        })
    }

    /// Whether its clock has yet to be compared with ours.
    pub(crate) fn awaits_clock(&self) -> bool {
        self.clock.offset_ms().is_none()
    }

    /// Whether an AIS report is the one before once more, through another receiver.
    pub(crate) fn repeated(&mut self, now: Moment, fix: &Fix, second: Option<u8>) -> bool {
        let window_ms = if second.is_some() { REPEAT_MS } else { REPEAT_MS / 10 };
        let again = self.reported.is_some_and(|(old, old_second, then)| {
            old == *fix && old_second == second && now.ms_since(then) < window_ms
        });
        if !again {
            self.reported = Some((*fix, second, now));
        }
        again
    }

    /// Whether this source has told a dated position of its own lately.
    pub(crate) fn has_receiver(&self, now: Moment) -> bool {
        self.epoch.is_some_and(|epoch| now.ms_since(epoch.arrival) < HEADING_MS)
    }

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
