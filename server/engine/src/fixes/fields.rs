//! The fields of a sentence as text: what the parsers take too lightly is judged here.

use crate::{
    effect::DiscardReason,
    moment::{civil_from_days, days_from_civil},
    units::Position,
};

/// Fields of one sentence that are kept apart; no type that is used has as many.
const FIELDS_MAX: usize = 40;

/// The fields of a sentence, address first, in place.
#[derive(Clone, Copy)]
pub(crate) struct Fields<'a> {
    pub(super) body: &'a str,
    /// Where each begins, and one past the end of the last: a sentence has at most 102 characters.
    starts: [u8; FIELDS_MAX + 1],
    len: usize,
}

impl<'a> Fields<'a> {
    /// `text` from its start character to its checksum.
    pub(crate) fn of(text: &'a str) -> Fields<'a> {
        let end = text.rfind('*').unwrap_or(text.len());
        let body = text.get(1..end).unwrap_or("");
        let mut fields = Fields { body, starts: [0; FIELDS_MAX + 1], len: 1 };
        for (at, byte) in body.bytes().enumerate() {
            if byte == b',' && fields.len < FIELDS_MAX {
                fields.starts[fields.len] = u8::try_from(at + 1).unwrap_or(u8::MAX);
                fields.len += 1;
            }
        }
        fields.starts[fields.len] = u8::try_from(body.len() + 1).unwrap_or(u8::MAX);
        fields
    }

    /// The address: talker and type.
    pub(crate) fn address(self) -> &'a str {
        self.get(0)
    }

    /// Field `n`, 1 being the first after the address; empty when there is none.
    pub(super) fn get(self, n: usize) -> &'a str {
        if n >= self.len {
            return "";
        }
        let (start, end) = (usize::from(self.starts[n]), usize::from(self.starts[n + 1]));
        self.body.get(start..end.saturating_sub(1)).unwrap_or("")
    }

    /// The fields after the address, in order.
    pub(super) fn parts(self) -> impl Iterator<Item = &'a str> {
        (1..self.len).map(move |n| self.get(n))
    }

    /// Fields after the address.
    pub(super) fn count(self) -> usize {
        self.len - 1
    }

    /// Field `n` as a number; `None` when empty.
    pub(super) fn number(self, n: usize) -> Result<Option<f64>, DiscardReason> {
        match self.get(n) {
            "" => Ok(None),
            field if is_number(field) => field.parse().map(Some).map_err(|_| DiscardReason::Unreadable),
            _ => Err(DiscardReason::Unreadable),
        }
    }

    /// Days since 1970 of the day, month and year in fields `first..first + 3`; `None` when they are
    /// empty. Some gateways write two digits of the year where four are due.
    pub(super) fn date(self, first: usize) -> Result<Option<i64>, DiscardReason> {
        let impossible = DiscardReason::ImpossibleTime;
        let number = |n: usize| -> Result<u32, DiscardReason> { self.get(n).parse().map_err(|_| impossible) };
        if self.get(first).is_empty() {
            return Ok(None);
        }
        let (day, month, year) = (number(first)?, number(first + 1)?, i64::from(number(first + 2)?));
        let year = match year {
            0..80 => year + 2000,
            80..100 => year + 1900,
            1980..2200 => year,
            _ => return Err(impossible),
        };
        let days = days_from_civil(year, month, day);
        let whole = civil_from_days(days) == (year, month, day);
        if whole { Ok(Some(days)) } else { Err(impossible) }
    }

    /// Whether all fields are numbers as NMEA writes them, or letters.
    pub(super) fn well_formed(self) -> bool {
        self.parts().all(|field| {
            let bytes = field.as_bytes();
            bytes.iter().all(u8::is_ascii_uppercase)
                || (bytes.len() == 1 && bytes[0].is_ascii_lowercase())
                || is_number(field)
        })
    }
}

/// Digits with at most one point and a sign in front: no exponent, no "nan".
pub(super) fn is_number(field: &str) -> bool {
    let digits = field.strip_prefix(['-', '+']).unwrap_or(field);
    let mut points = 0;
    for byte in digits.bytes() {
        match byte {
            b'.' => points += 1,
            b'0'..=b'9' => (),
            _ => return false,
        }
    }
    points <= 1 && digits.len() > points
}

/// The position in fields `first..first + 4`, checked digit by digit: the parser takes 65 minutes.
pub(super) fn position(fields: Fields<'_>, first: usize) -> Result<Position, DiscardReason> {
    let (lat, ns) = (fields.get(first), fields.get(first + 1));
    let (lon, ew) = (fields.get(first + 2), fields.get(first + 3));
    if lat.is_empty() && lon.is_empty() {
        return Err(DiscardReason::NoFix);
    }
    let north = match ns {
        "N" => 1.0,
        "S" => -1.0,
        _ => return Err(DiscardReason::Unreadable),
    };
    let east = match ew {
        "E" => 1.0,
        "W" => -1.0,
        _ => return Err(DiscardReason::Unreadable),
    };
    let (lat_deg, lon_deg) = (degrees(lat, 2)?, degrees(lon, 3)?);
    let position = Position::new(north * lat_deg, east * lon_deg).ok_or(DiscardReason::OutOfRange)?;
    // Exactly 0 N 0 E is what a receiver without a fix fills in.
    if lat_deg == 0.0 && lon_deg == 0.0 {
        return Err(DiscardReason::PoorFix);
    }
    Ok(position)
}

/// Degrees of `ddmm.mmmm` with `whole` digits of degrees.
pub(super) fn degrees(text: &str, whole: usize) -> Result<f64, DiscardReason> {
    let (deg, min) = text.split_at_checked(whole).ok_or(DiscardReason::Unreadable)?;
    let minute_digits = min.find('.').unwrap_or(min.len());
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(deg) || minute_digits != 2 || !is_number(min) || min.starts_with(['-', '+']) {
        return Err(DiscardReason::Unreadable);
    }
    let deg: f64 = deg.parse().map_err(|_| DiscardReason::Unreadable)?;
    let min: f64 = min.parse().map_err(|_| DiscardReason::Unreadable)?;
    if min >= 60.0 {
        return Err(DiscardReason::OutOfRange);
    }
    Ok(deg + min / 60.0)
}

/// Milliseconds of the day of `hhmmss.sss`; a leap second counts as the start of the next minute.
pub(super) fn ms_of_day(text: &str) -> Result<i64, DiscardReason> {
    let impossible = DiscardReason::ImpossibleTime;
    let two = |at: usize| -> Result<i64, DiscardReason> {
        let digits = text.get(at..at + 2).ok_or(impossible)?;
        digits.parse().map_err(|_| impossible)
    };
    if !is_number(text) || text.starts_with(['-', '+']) {
        return Err(impossible);
    }
    let (hour, minute, second) = (two(0)?, two(2)?, two(4)?);
    let fraction: f64 = match text.get(6..) {
        None | Some("") => 0.0,
        Some(rest) => rest.parse().map_err(|_| impossible)?,
    };
    if hour > 23 || minute > 59 || second > 60 || !(0.0..1.0).contains(&fraction) {
        return Err(impossible);
    }
    Ok(((hour * 60 + minute) * 60 + second) * 1000 + (fraction * 1000.0).round() as i64)
}

/// Days since 1970 of `ddmmyy`.
pub(super) fn day_of(text: &str) -> Result<i64, DiscardReason> {
    let impossible = DiscardReason::ImpossibleTime;
    if text.len() != 6 || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(impossible);
    }
    let number = |range| -> Result<u32, DiscardReason> {
        let digits: &str = text.get(range).ok_or(impossible)?;
        digits.parse().map_err(|_| impossible)
    };
    let (day, month, year) = (number(0..2)?, number(2..4)?, number(4..6)?);
    let days = days_from_civil(2000 + i64::from(year), month, day);
    let whole = civil_from_days(days) == (2000 + i64::from(year), month, day);
    if !whole {
        return Err(impossible);
    }
    Ok(days)
}

/// Two-digit years 80 to 99 are of the last century (common practice, no source); the parsers put
/// some of them a hundred years on.
pub(super) fn last_century(day: i64) -> i64 {
    /// 2080-01-01.
    const PIVOT: i64 = 40_177;
    /// From 1980-01-01 to 2080-01-01.
    const CENTURY: i64 = 36_525;
    if day >= PIVOT { day - CENTURY } else { day }
}
