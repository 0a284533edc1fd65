//! Our own clock and the receiver's claim, kept apart by type.

use std::fmt;

/// A moment on dunlin's own scale, in milliseconds since 1970-01-01T00:00:00Z.
///
/// Drives every rule. In a live session it is the wall clock read once at the start plus a
/// monotonic count since, so it never goes back; in a replay it is the arrival time of the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(pub i64);

impl Moment {
    /// Milliseconds from `earlier` to `self`; negative when `earlier` is in fact later.
    pub fn ms_since(self, earlier: Moment) -> i64 {
        self.0.saturating_sub(earlier.0)
    }

    /// Seconds from `earlier` to `self`; negative when `earlier` is in fact later.
    pub fn s_since(self, earlier: Moment) -> f64 {
        self.ms_since(earlier) as f64 / 1000.0
    }

    /// The moment `ms` milliseconds later.
    #[must_use]
    pub fn plus_ms(self, ms: i64) -> Moment {
        Moment(self.0.saturating_add(ms))
    }
}

/// The receiver's own UTC, in milliseconds since 1970-01-01T00:00:00Z; perhaps hours or years off.
///
/// Only orders one source's reports; never compared with a [`Moment`] except to estimate the
/// source's clock offset.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FixTime(pub i64);

impl fmt::Display for Moment {
    /// RFC 3339 in UTC with milliseconds: `2026-06-01T10:02:13.000Z`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let days = self.0.div_euclid(86_400_000);
        let ms = self.0.rem_euclid(86_400_000);
        let (year, month, day) = civil_from_days(days);
        let (hour, minute, second) = (ms / 3_600_000, ms / 60_000 % 60, ms / 1000 % 60);
        write!(f, "{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}.{:03}Z", ms % 1000)
    }
}

/// The proleptic Gregorian date of a day number counted from 1970-01-01.
///
/// Source: Hinnant, H., "chrono-compatible low-level date algorithms" (`civil_from_days`), from
/// memory; checked against known dates in the tests below.
pub fn civil_from_days(days: i64) -> (i64, u32, u32) {
    let z = days + 719_468;
    let era = z.div_euclid(146_097);
    let day_of_era = z.rem_euclid(146_097);
    let year_of_era = (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let shifted_month = (5 * day_of_year + 2) / 153;
    let day = (day_of_year - (153 * shifted_month + 2) / 5 + 1) as u32;
    let month = if shifted_month < 10 { shifted_month + 3 } else { shifted_month - 9 } as u32;
    (year_of_era + era * 400 + i64::from(month <= 2), month, day)
}

/// The day number, counted from 1970-01-01, of a proleptic Gregorian date.
///
/// Source: as [`civil_from_days`] (`days_from_civil`). `month` is 1..=12 and `day` 1..=31; values
/// outside give a day number that is arithmetically continued, never a panic.
pub fn days_from_civil(year: i64, month: u32, day: u32) -> i64 {
    let year = if month <= 2 { year - 1 } else { year };
    let era = year.div_euclid(400);
    let year_of_era = year.rem_euclid(400);
    let shifted_month = (i64::from(month) + 9) % 12;
    let day_of_year = (153 * shifted_month + 2) / 5 + i64::from(day) - 1;
    let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    era * 146_097 + day_of_era - 719_468
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_print_as_utc() {
        for (ms, text) in [
            (0, "1970-01-01T00:00:00.000Z"),
            (951_782_400_000, "2000-02-29T00:00:00.000Z"),
            (1_780_308_133_000, "2026-06-01T10:02:13.000Z"),
            (-1, "1969-12-31T23:59:59.999Z"),
        ] {
            assert_eq!(Moment(ms).to_string(), text, "{ms}");
        }
    }

    #[test]
    fn days_and_dates_are_each_others_inverse() {
        for days in (-800_000..800_000).step_by(97) {
            let (year, month, day) = civil_from_days(days);
            assert_eq!(days_from_civil(year, month, day), days);
        }
    }
}
