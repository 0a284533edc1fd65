//! When a line of a log arrived: what its TAG block says, or else the clock in its sentence.

use dunlin_engine::moment::{Moment, days_from_civil};

use crate::feeds::framing::tag_fields;

/// Above this a `c` is in milliseconds: in seconds it would be the year 5138, in milliseconds it is
/// 1973.
const SECONDS_END: f64 = 1e11;

/// The arrival that a TAG block gives (`c`, Unix seconds or milliseconds); `None` without one, with
/// one that is no number, and before 1980.
pub fn tagged(line: &[u8]) -> Option<Moment> {
    let (_, value) = tag_fields(line).find(|(letter, _)| *letter == b'c')?;
    let value: f64 = std::str::from_utf8(value).ok()?.trim().parse().ok()?;
    let ms = if value < SECONDS_END { value * 1000.0 } else { value };
    // 1980-01-06 is the first day of GPS time; no log of ours is older.
    let sound = (315_964_800_000.0..SECONDS_END * 1000.0).contains(&ms);
    sound.then_some(Moment(ms.round() as i64))
}

/// Reads the clocks of plain sentences, for logs without TAG blocks.
///
/// RMC and ZDA carry a date; GGA, GLL and GNS only a time of day, which is put on the last known
/// date, or on 1970-01-01 when there was none, and rolls over midnight.
#[derive(Clone, Debug, Default)]
pub struct SentenceClock {
    /// Days since 1970-01-01.
    date: Option<i64>,
    last_ms: Option<i64>,
}

const DAY_MS: i64 = 86_400_000;

impl SentenceClock {
    /// The time in the sentence; `None` when it carries none that can be read.
    pub fn read(&mut self, line: &[u8]) -> Option<Moment> {
        let text = std::str::from_utf8(line).ok()?;
        let body = text.strip_prefix(['$', '!'])?;
        let (body, sum) = body.split_once('*')?;
        let said = u8::from_str_radix(sum.trim().get(..2)?, 16).ok()?;
        if said != body.bytes().fold(0, |sum, byte| sum ^ byte) {
            return None;
        }
        let fields: Vec<&str> = body.split(',').collect();
        let kind = fields.first()?.get(2..)?;
        let field = |place: usize| fields.get(place).copied().unwrap_or_default();
        let (time, date) = match kind {
            "RMC" => (field(1), date_of_six(field(9))),
            "ZDA" => (field(1), date_of_three(field(2), field(3), field(4))),
            "GGA" | "GNS" => (field(1), None),
            "GLL" => (field(5), None),
            _ => return None,
        };
        let of_day = time_of_day_ms(time)?;
        if let Some(date) = date {
            self.date = Some(date);
        }
        let mut ms = self.date.unwrap_or(0) * DAY_MS + of_day;
        // A time of day that jumps back by most of a day is past midnight.
        if date.is_none() && self.last_ms.is_some_and(|last| ms < last - DAY_MS / 2) {
            self.date = Some(self.date.unwrap_or(0) + 1);
            ms += DAY_MS;
        }
        self.last_ms = Some(ms);
        Some(Moment(ms))
    }
}

fn number(text: &str) -> Option<u32> {
    let digits = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    digits.then(|| text.parse().ok()).flatten()
}

/// `hhmmss.sss` in milliseconds. Second 60 is a leap second and reads as the next minute's first.
fn time_of_day_ms(time: &str) -> Option<i64> {
    let (hour, minute) = (number(time.get(..2)?)?, number(time.get(2..4)?)?);
    let second: f64 = time.get(4..)?.parse().ok()?;
    let sound = hour < 24 && minute < 60 && (0.0..61.0).contains(&second);
    let whole = i64::from(hour * 3600 + minute * 60) * 1000;
    sound.then(|| whole + (second * 1000.0).round() as i64)
}

/// `ddmmyy`; years 80 to 99 are of the last century, since GPS began in 1980.
fn date_of_six(date: &str) -> Option<i64> {
    let year = number(date.get(4..6)?)?;
    let year = if year >= 80 { 1900 + year } else { 2000 + year };
    days(year, number(date.get(2..4)?)?, number(date.get(..2)?)?)
}

fn date_of_three(day: &str, month: &str, year: &str) -> Option<i64> {
    days(number(year)?, number(month)?, number(day)?)
}

fn days(year: u32, month: u32, day: u32) -> Option<i64> {
    let sound = (1980..2500).contains(&year) && (1..=12).contains(&month) && (1..=31).contains(&day);
    sound.then(|| days_from_civil(i64::from(year), month, day))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The sentence with its checksum.
    fn sentence(body: &str) -> Vec<u8> {
        let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
        format!("${body}*{sum:02X}").into_bytes()
    }

    #[test]
    fn tag_blocks_give_seconds_or_milliseconds() {
        for (line, expected) in [
            ("\\s:07,c:1780308133\\$X", Some(1_780_308_133_000)),
            ("\\c:1780308133250\\$X", Some(1_780_308_133_250)),
            ("\\c:1780308133.25\\$X", Some(1_780_308_133_250)),
            ("\\c:nan\\$X", None),
            ("\\c:-5\\$X", None),
            ("\\c:0\\$X", None),
            ("\\c:99999999999999999\\$X", None),
            ("\\s:07\\$X", None),
            ("$X", None),
        ] {
            assert_eq!(tagged(line.as_bytes()).map(|m| m.0), expected, "{line}");
        }
    }

    #[test]
    fn sentences_without_a_date_keep_the_last_and_roll_over_midnight() {
        let mut clock = SentenceClock::default();
        for (body, expected) in [
            ("GPGGA,235958.00,,,,,,,,,,,,,", Some("1970-01-01T23:59:58.000Z")),
            ("GPRMC,235959.50,A,,,,,,,310526,,,A", Some("2026-05-31T23:59:59.500Z")),
            ("GPGGA,000000.50,,,,,,,,,,,,,", Some("2026-06-01T00:00:00.500Z")),
            ("GPRMC,000001.00,A,,,,,,,010626,,,A", Some("2026-06-01T00:00:01.000Z")),
            ("GPGLL,,,,,000002,A", Some("2026-06-01T00:00:02.000Z")),
            ("GPZDA,000003,01,06,2026,00,00", Some("2026-06-01T00:00:03.000Z")),
            ("GPVTG,,,,,,,,,A", None),
            ("GPRMC,0000nan,A,,,,,,,010626,,,A", None),
        ] {
            let read = clock.read(&sentence(body)).map(|moment| moment.to_string());
            assert_eq!(read.as_deref(), expected, "{body}");
        }
        assert_eq!(clock.read(b"$GPRMC,000001.00,A,,,,,,,010626,,,A*00"), None);
    }
}
