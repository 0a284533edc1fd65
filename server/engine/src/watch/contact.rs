//! Lost contact: silence longer than this source is ever silent.

use crate::moment::Moment;

/// No source is called lost sooner than this, ms. A phone sends every second, so this is silence
/// far beyond its habit; the season's goal is a median of 30 s.
pub const SILENCE_LEAST_MS: i64 = 27_000;

/// However seldom a source speaks, it is called lost after this, ms: a class B transponder at rest
/// is due every 3 min (ITU-R M.1371), and a quarter of an hour of silence is news from any source.
pub const SILENCE_MOST_MS: i64 = 900_000;

/// Silence in usual intervals that chance does not explain. With half of all reports lost it still
/// comes once in 250 intervals; a source that loses so many teaches a longer interval.
const USUAL_INTERVALS: f64 = 8.0;

/// Silence in terms of the longest gap the source has lately had and recovered from.
const LONGEST_GAPS: f64 = 1.6;

/// The longest gap fades by this share with each report after it, towards the usual interval.
const FADING: f64 = 1.0 / 1200.0;

/// Weight of the newest gap in the usual interval.
const NEWEST: f64 = 0.05;

/// Losses in a row that make a habit, and how much of one each ordinary report forgives.
const HABIT: f64 = 2.0;
/// See [`HABIT`].
const FORGIVEN: f64 = 0.5;

/// Before a source has spoken this often its habit is not known, and it may be silent for longer.
const KNOWN_REPORTS: u32 = 4;

/// Silence of a source that is not known yet that still is no loss, ms.
const UNKNOWN_SILENCE_MS: i64 = 90_000;

/// Reports after silence within this, ms, that show contact is back and not one stray packet.
const BACK_HOLD_MS: i64 = 2_000;

/// What arrives this soon after the last, ms, is another sentence of one report, or the next of a
/// batch that was held up, and says nothing of how often the source speaks.
const ONE_REPORT_MS: i64 = 100;

/// A transponder of class B reports every 30 s when faster than 2 kn and every 3 min when slower
/// (ITU-R M.1371-5 table 2): silence it may show without having lost anything, ms.
const TRANSPONDER_SILENCE_MS: i64 = 420_000;

/// Below 14 kn no transponder of class B is due more often than every 30 s (the same table). One that speaks within
/// this, ms, so many times in a row while slower than that, m/s, keeps a schedule of its own, and that is learnt.
const OFF_TABLE_MS: i64 = 20_000;
/// See [`OFF_TABLE_MS`].
const OFF_TABLE_REPORTS: u32 = 12;
/// See [`OFF_TABLE_MS`]: a little less than 14 kn.
pub const TABLE_MPS: f64 = 6.5;

/// Who spoke.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Voice {
    /// A transponder of hers, at a speed at which none is due more often than every 30 s.
    Transponder,
    /// A transponder of hers, faster than [`TABLE_MPS`] or at a speed that is not known.
    FastTransponder,
    /// Anything else.
    Other,
}

/// What is believed of a boat's contact.
///
/// ```text
///   Never --heard--> Heard --silent too long--> Lost --heard--> Back --heard for BACK_HOLD--> Heard
///                                                ^                |
///                                                +---silent again-+
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Contact {
    /// Not once heard.
    #[default]
    Never,
    /// Heard as usual.
    Heard,
    /// Silent too long.
    Lost {
        /// The last report before the silence.
        since: Moment,
    },
    /// Heard again, not yet for good.
    Back {
        /// The last report before the silence.
        since: Moment,
        /// The first report after it.
        back: Moment,
    },
}

/// How often a boat's source speaks, learnt from its reports, and whether it is silent now.
#[derive(Clone, Copy, Debug, Default)]
pub struct Silence {
    state: Contact,
    last: Option<Moment>,
    usual_ms: f64,
    longest_ms: f64,
    /// The longest of the losses that made a habit, until the habit ends.
    habit_ms: f64,
    /// Losses lately, each report in between forgiving a part of one.
    losses: f64,
    reports: u32,
    /// Reports of a transponder in a row, no other source between, that came sooner than they are due.
    off_table: u32,
}

impl Silence {
    /// A report arrived.
    pub fn on_report(&mut self, now: Moment, voice: Voice) {
        let gap_ms = self.last.map(|last| now.ms_since(last));
        if gap_ms.is_some_and(|gap_ms| gap_ms < ONE_REPORT_MS) {
            return;
        }
        if let Some(gap_ms) = gap_ms {
            self.learn(gap_ms as f64);
            self.off_table = match voice {
                // A phone beside it says nothing of how often the transponder will speak alone.
                Voice::Other => 0,
                _ if self.off_table >= OFF_TABLE_REPORTS => OFF_TABLE_REPORTS,
                Voice::Transponder if gap_ms <= OFF_TABLE_MS => self.off_table + 1,
                Voice::Transponder | Voice::FastTransponder => 0,
            };
        }
        self.last = Some(now);
        self.reports = self.reports.saturating_add(1);
        self.state = match self.state {
            Contact::Never | Contact::Heard => Contact::Heard,
            Contact::Lost { since } => Contact::Back { since, back: now },
            Contact::Back { back, .. } if now.ms_since(back) >= BACK_HOLD_MS => Contact::Heard,
            Contact::Back { since, back } => Contact::Back { since, back },
        };
    }

    /// Time passed.
    pub fn on_tick(&mut self, now: Moment, transponder: bool) {
        let Some(last) = self.last else { return };
        let silent = now.ms_since(last) >= self.allowed_ms(transponder);
        self.state = match (self.state, silent) {
            (Contact::Heard, true) => Contact::Lost { since: last },
            (Contact::Back { since, .. }, true) => Contact::Lost { since },
            (Contact::Back { since, back }, false) => {
                // A source of a slow habit proves itself by not falling silent for as long again.
                let steady = now.ms_since(back) >= self.allowed_ms(transponder);
                if steady { Contact::Heard } else { Contact::Back { since, back } }
            }
            (state @ (Contact::Never | Contact::Heard | Contact::Lost { .. }), _) => state,
        };
    }

    /// What is believed now.
    pub fn state(&self) -> Contact {
        self.state
    }

    /// The last report; `None` before the first.
    pub fn last(&self) -> Option<Moment> {
        self.last
    }

    /// The usual time between reports, seconds; `None` before two reports.
    pub fn usual_s(&self) -> Option<f64> {
        (self.reports > 1).then_some(self.usual_ms / 1000.0)
    }

    /// Silence that still is no loss, ms.
    fn allowed_ms(&self, transponder: bool) -> i64 {
        let learnt_ms =
            (USUAL_INTERVALS * self.usual_ms).max(LONGEST_GAPS * self.longest_ms.max(self.habit_ms));
        let by_table = transponder && self.off_table < OFF_TABLE_REPORTS;
        let least_ms = match (by_table, self.reports < KNOWN_REPORTS) {
            (true, _) => TRANSPONDER_SILENCE_MS,
            (false, true) => UNKNOWN_SILENCE_MS,
            (false, false) => SILENCE_LEAST_MS,
        };
        (learnt_ms as i64).clamp(least_ms, SILENCE_MOST_MS)
    }

    fn learn(&mut self, gap_ms: f64) {
        // A loss is no habit and teaches nothing, unless this source is lost again and again; what is usual it never
        // teaches.
        if gap_ms >= self.allowed_ms(false) as f64 {
            self.losses += 1.0;
            if self.losses >= HABIT {
                self.habit_ms = self.habit_ms.max(gap_ms);
            }
            return;
        }
        // A phone that went under twice in a row and speaks every second again has lost that habit: else it could
        // go under for two minutes more before anyone were told.
        self.losses = (self.losses - FORGIVEN).max(0.0);
        if self.losses == 0.0 {
            self.habit_ms = 0.0;
        }
        let weight = NEWEST.max(1.0 / f64::from(self.reports.max(1)));
        self.usual_ms += weight * (gap_ms - self.usual_ms);
        self.longest_ms -= FADING * (self.longest_ms - self.usual_ms).max(0.0);
        self.longest_ms = self.longest_ms.max(gap_ms);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Hears a report at each of `at_ms`, ticks every second until `until_ms`, and gives when contact
    /// was lost and found, seconds.
    fn watch(at_ms: impl IntoIterator<Item = i64>, until_ms: i64, transponder: bool) -> Vec<(i64, bool)> {
        let mut silence = Silence::default();
        let voice = if transponder { Voice::Transponder } else { Voice::Other };
        let mut reports = at_ms.into_iter().peekable();
        let mut lost = false;
        let mut told = Vec::new();
        for now in (0..=until_ms).step_by(1000) {
            while let Some(at) = reports.next_if(|at| *at <= now) {
                silence.on_report(Moment(at), voice);
            }
            silence.on_tick(Moment(now), transponder);
            let is_lost = matches!(silence.state(), Contact::Lost { .. } | Contact::Back { .. });
            if is_lost != lost {
                told.push((now / 1000, is_lost));
                lost = is_lost;
            }
        }
        told
    }

    #[test]
    fn a_phone_is_lost_after_27_s() {
        let every_second = (0..600).map(|s| s * 1000);
        assert_eq!(watch(every_second, 700_000, false), [(626, true)]);
    }

    #[test]
    fn a_stray_packet_is_not_contact() {
        let reports = (0..100).map(|s| s * 1000).chain([150_000]).chain((200..210).map(|s| s * 1000));
        assert_eq!(watch(reports, 215_000, false), [(126, true), (202, false)]);
    }

    #[test]
    fn a_slow_or_lossy_feed_has_its_own_patience() {
        let every_5_s = (0..720_i64).map(|n| n * 5_000);
        // Loses 3 of 8 in a fixed pattern, up to 2 in a row.
        let lossy = every_5_s.clone().filter(|at| ![1, 3, 4].contains(&(at / 5_000 % 8)));
        let told = watch(lossy, 3_700_000, false);
        assert!(matches!(told[..], [(lost_s, true)] if (3_640..3_680).contains(&lost_s)), "{told:?}");
        let told = watch(every_5_s, 3_700_000, false);
        assert!(matches!(told[..], [(lost_s, true)] if (3_625..3_640).contains(&lost_s)), "{told:?}");
    }

    #[test]
    fn losses_of_a_phone_do_not_make_the_watch_patient() {
        // Out of reach for two minutes at a time, again and again, heard for two in between.
        let reports = (0..10).flat_map(|spell| (0..120).map(move |s| (spell * 240 + s) * 1000));
        let lost: Vec<i64> = watch(reports, 2_400_000, false)
            .into_iter()
            .filter_map(|(at_s, lost)| lost.then_some(at_s % 240))
            .collect();
        assert_eq!(lost, [119 + 27; 10]);
    }

    #[test]
    fn a_habit_of_losses_ends_when_a_phone_speaks_every_second_again() {
        // Under water twice, with one stray report between, then ten minutes well, then under again.
        let at_s = (0..60).chain([160]).chain(240..840);
        let told = watch(at_s.map(|s| s * 1000), 1_000_000, false);
        let lost: Vec<i64> = told.into_iter().filter_map(|(at_s, lost)| lost.then_some(at_s)).collect();
        assert_eq!(lost, [59 + 27, 839 + 27]);
    }

    #[test]
    fn a_habit_of_losses_is_forgotten_within_five_seconds_of_a_phone_that_speaks() {
        // Under water for minutes twice, one stray report between, up for five seconds, and under again.
        let at_s = (0..60).chain([300]).chain(660..666);
        let told = watch(at_s.map(|s| s * 1000), 800_000, false);
        let lost: Vec<i64> = told.into_iter().filter_map(|(at_s, lost)| lost.then_some(at_s)).collect();
        assert_eq!(lost, [59 + 27, 665 + 27]);
    }

    #[test]
    fn a_source_that_speaks_once_a_minute_teaches_it() {
        let told = watch((0..60).map(|n| n * 60_000), 3_600_000, false);
        let lost = told.iter().filter(|(_, lost)| *lost).count();
        assert!(lost <= 2, "{told:?}");
    }

    #[test]
    fn a_transponder_at_rest_speaks_every_three_minutes() {
        let at_rest = (0..20).map(|n| n * 180_000);
        assert_eq!(watch(at_rest, 20 * 180_000, true), []);
    }

    #[test]
    fn a_tracker_that_speaks_sooner_than_transponders_do_is_not_given_their_patience() {
        let every = |s: i64| (0..60).map(move |n| n * s * 1000);
        assert_eq!(watch(every(10), 1_200_000, true), [(590 + 80, true)]);
        assert_eq!(watch(every(30), 2_400_000, true), [(1770 + 420, true)]);
    }

    #[test]
    fn a_transponder_at_speed_proves_no_schedule_of_its_own() {
        let mut silence = Silence::default();
        (0..60).for_each(|n| silence.on_report(Moment(n * 5_000), Voice::FastTransponder));
        silence.on_tick(Moment(295_000 + 180_000), true);
        assert_eq!(silence.state(), Contact::Heard);
    }

    #[test]
    fn a_phone_beside_a_transponder_takes_none_of_its_patience() {
        let mut silence = Silence::default();
        for s in 0..120 {
            let voice = if s % 30 == 0 { Voice::Transponder } else { Voice::Other };
            silence.on_report(Moment(s * 1_000), voice);
        }
        // The phone falls silent, and the transponder of a boat at rest is due every three minutes.
        silence.on_report(Moment(120_000), Voice::Transponder);
        silence.on_tick(Moment(299_000), true);
        assert_eq!(silence.state(), Contact::Heard);
    }

    #[test]
    fn a_batch_that_was_held_up_is_one_report() {
        let mut silence = Silence::default();
        for at in (0..60).map(|s| s * 1000).chain((80_000..80_030).step_by(1)) {
            silence.on_report(Moment(at), Voice::Other);
        }
        let usual_s = silence.usual_s().expect("many reports");
        assert!((0.9..3.0).contains(&usual_s), "{usual_s}");
    }

    #[test]
    fn what_never_spoke_is_not_lost() {
        assert_eq!(watch([], 3_600_000, false), []);
    }
}
