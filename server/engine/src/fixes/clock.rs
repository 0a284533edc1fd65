//! The receiver's time on our clock: dates it does not tell, clocks that are wrong, fixes that are
//! late.

use crate::moment::Moment;

/// One day, ms.
const DAY_MS: i64 = 86_400_000;

/// The week number of GPS overflows every 1024 weeks (IS-GPS-200, from memory); receivers older
/// than the last overflow are wrong by a multiple of it. ms.
const ROLL_OVER_MS: i64 = 1024 * 7 * DAY_MS;

/// Arrivals are judged in spans of this length, ms; the offset is the least of the last two spans,
/// so that a delay must last a minute before it is believed to be a clock.
const SPAN_MS: i64 = 60_000;

/// Fixes a span must hold before the next begins: silence proves nothing.
const SPAN_FIXES: u32 = 10;

/// A first fix late by less than this is on time, ms: networks are that slow.
const PROMPT_MS: i64 = 1_500;

/// A first fix late by more than this has a wrong clock rather than a long queue, ms.
const QUEUE_MAX_MS: i64 = 1_800_000;

/// How long and over how many fixes a new source must be steadily late to be called wrong, ms.
const NEW_MS: i64 = 10_000;
const NEW_FIXES: u32 = 3;

/// A clock this far ahead of its own past is not believed on one sentence, ms.
const LEAP_MS: i64 = 600_000;

/// Steps of a clock need this many fixes at the pace of their arrival, over this long, ms.
const STEP_FIXES: u32 = 3;
const STEP_MS: i64 = 900;

/// What the order of a source's times says of one of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Order {
    /// Newer than all before.
    Newer,
    /// The newest again.
    Same,
    /// Older than the newest.
    Older,
    /// So far ahead that it is not believed yet.
    Leap,
}

/// A few fixes that run on a time of their own.
#[derive(Clone, Copy, Debug)]
struct Run {
    first: (i64, Moment),
    last_ms: i64,
    count: u32,
}

/// One source's clock against ours.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Clock {
    /// Newest receiver time and its arrival.
    newest: Option<(i64, Moment)>,
    /// The newest whole time that came with a date, and its arrival.
    dated: Option<(i64, Moment)>,
    /// Whether the day of `newest` was only guessed from our own clock.
    guessed: bool,
    /// Our clock minus the receiver's, ms, at the quickest delivery.
    offset_ms: Option<i64>,
    /// Whether the offset was only assumed.
    assumed: bool,
    span_start: Option<Moment>,
    span_least_ms: i64,
    span_fixes: u32,
    before_least_ms: Option<i64>,
    stray: Option<Run>,
    rolled_over: bool,
}

impl Clock {
    /// Our clock minus the receiver's, ms; `None` before the first dated or timed fix.
    pub(crate) fn offset_ms(&self) -> Option<i64> {
        self.offset_ms
    }

    /// Whether the receiver's week number has overflowed.
    pub(crate) fn rolled_over(&self) -> bool {
        self.rolled_over
    }

    /// The whole time, ms since 1970, of a day (if told) and a time of day.
    ///
    /// Without a day it is the one that puts the time nearest to where this source's time must have
    /// got to; before any was told, nearest to our own, `usual_ms` being the offset of the others.
    pub(crate) fn whole(&mut self, now: Moment, day: Option<i64>, ms_of_day: i64, usual_ms: i64) -> i64 {
        let ours = now.0.saturating_sub(usual_ms);
        let Some(day) = day else {
            let expected = match self.dated.or(self.newest) {
                Some((time, arrival)) => time.saturating_add(now.ms_since(arrival)),
                None => ours,
            };
            self.guessed = self.dated.is_none();
            let days = (expected - ms_of_day + DAY_MS / 2).div_euclid(DAY_MS);
            return days * DAY_MS + ms_of_day;
        };
        let told = day * DAY_MS + ms_of_day;
        let overflows = (ours - told + ROLL_OVER_MS / 2).div_euclid(ROLL_OVER_MS);
        let corrected = told + overflows * ROLL_OVER_MS;
        self.rolled_over = overflows != 0 && (ours - corrected).abs() < 2 * DAY_MS;
        let time = if self.rolled_over { corrected } else { told };
        let off = self.newest.is_some_and(|(newest, _)| (time - newest).abs() > DAY_MS / 2);
        if self.guessed && off {
            *self = Clock { rolled_over: self.rolled_over, ..Clock::default() };
        }
        self.guessed = false;
        self.dated = Some((time, now));
        time
    }

    /// Where `time` stands in the order of this source's times. A clock that was set is followed
    /// once it has run on from its new time for a few fixes.
    pub(crate) fn order(&mut self, now: Moment, time: i64) -> Order {
        let Some((newest, arrival)) = self.newest else {
            return Order::Newer;
        };
        let order = match time.cmp(&newest) {
            std::cmp::Ordering::Equal => return Order::Same,
            std::cmp::Ordering::Less => Order::Older,
            std::cmp::Ordering::Greater => {
                let ahead = (time - newest).saturating_sub(now.ms_since(arrival).max(0));
                if ahead <= LEAP_MS {
                    self.stray = None;
                    return Order::Newer;
                }
                Order::Leap
            }
        };
        let run = match self.stray {
            Some(run) if run.last_ms < time => Run { last_ms: time, count: run.count + 1, ..run },
            Some(run) if run.last_ms == time => run,
            _ => Run { first: (time, now), last_ms: time, count: 1 },
        };
        self.stray = Some(run);
        let (ran_ms, took_ms) = (time - run.first.0, now.ms_since(run.first.1));
        let paced = (ran_ms - took_ms).abs() <= took_ms / 2 + 500;
        if run.count >= STEP_FIXES && took_ms >= STEP_MS && paced {
            *self = Clock {
                dated: self.dated,
                rolled_over: self.rolled_over,
                offset_ms: Some(now.0 - time),
                ..Clock::default()
            };
            return Order::Newer;
        }
        order
    }

    /// When the newest fix was taken, on our clock; never later than `now`. `usual_ms` is the
    /// offset of other sources, taken for this one's until it shows its own.
    pub(crate) fn taken(&mut self, now: Moment, time: i64, usual_ms: i64) -> Moment {
        self.newest = Some((time, now));
        let late_ms = now.0.saturating_sub(time);
        let start = *self.span_start.get_or_insert(now);
        if self.span_fixes == 0 || late_ms < self.span_least_ms {
            self.span_least_ms = late_ms;
        }
        self.span_fixes = self.span_fixes.saturating_add(1);
        let span_ms = now.ms_since(start);
        match self.offset_ms {
            None => {
                let queue_ms = late_ms.saturating_sub(usual_ms);
                self.assumed = (PROMPT_MS..QUEUE_MAX_MS).contains(&queue_ms);
                self.offset_ms = Some(if self.assumed { usual_ms } else { late_ms });
            }
            Some(offset_ms) if late_ms < offset_ms => {
                self.offset_ms = Some(late_ms);
                self.assumed = false;
            }
            Some(offset_ms) if self.assumed => {
                if late_ms - offset_ms < PROMPT_MS {
                    // The queue has drained to what was assumed: it was right.
                    self.assumed = false;
                } else if span_ms >= NEW_MS && self.span_fixes >= NEW_FIXES {
                    self.offset_ms = Some(self.span_least_ms);
                    self.assumed = false;
                }
            }
            Some(_) if span_ms >= SPAN_MS && self.span_fixes >= SPAN_FIXES => {
                let least_ms =
                    self.before_least_ms.map_or(self.span_least_ms, |before| before.min(self.span_least_ms));
                // The first span only remembers; the offset moves up once two agree.
                if self.before_least_ms.is_some() {
                    self.offset_ms = Some(least_ms);
                }
                self.before_least_ms = Some(self.span_least_ms);
                self.span_start = None;
                self.span_fixes = 0;
            }
            Some(_) => (),
        }
        let offset_ms = self.offset_ms.unwrap_or(late_ms);
        Moment(time.saturating_add(offset_ms).min(now.0))
    }
}
