//! The sentences receivers speak, written out by hand: NMEA 0183 with checksums, and AIS payloads.

use crate::plane::kn;

/// A UTC calendar moment.
struct Utc {
    year: i64,
    month: u32,
    day: u32,
    of_day_ms: i64,
}

/// Unix milliseconds to the calendar (Hinnant's days-to-civil algorithm, from memory).
fn utc(unix_ms: i64) -> Utc {
    let days = unix_ms.div_euclid(86_400_000);
    let z = days + 719_468;
    let era = z.div_euclid(146_097);
    let doe = z.rem_euclid(146_097);
    let yoe = (doe - doe / 1460 + doe / 36_524 - doe / 146_096) / 365;
    let doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
    let mp = (5 * doy + 2) / 153;
    let month = if mp < 10 { mp + 3 } else { mp - 9 };
    Utc {
        year: yoe + era * 400 + i64::from(month <= 2),
        month: month as u32,
        day: (doy - (153 * mp + 2) / 5 + 1) as u32,
        of_day_ms: unix_ms.rem_euclid(86_400_000),
    }
}

impl Utc {
    fn hhmmss(&self) -> String {
        let s = self.of_day_ms / 1000;
        format!("{:02}{:02}{:02}.{:02}", s / 3600, s / 60 % 60, s % 60, self.of_day_ms % 1000 / 10)
    }
}

/// RFC 3339 with milliseconds, as the alert lines carry it.
pub fn rfc3339(unix_ms: i64) -> String {
    let at = utc(unix_ms);
    let s = at.of_day_ms / 1000;
    format!(
        "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}Z",
        at.year,
        at.month,
        at.day,
        s / 3600,
        s / 60 % 60,
        s % 60,
        at.of_day_ms % 1000
    )
}

fn xor(body: &str) -> u8 {
    body.bytes().fold(0, |sum, byte| sum ^ byte)
}

fn sentence(body: &str) -> String {
    format!("${body}*{:02X}", xor(body))
}

/// A line as a log holds it: TAG block with source and arrival, then the sentence.
pub fn tagged(source: &str, arrival_ms: i64, line: &str) -> String {
    let tag = format!("s:{source},c:{arrival_ms}");
    format!("\\{tag}*{:02X}\\{line}", xor(&tag))
}

/// Degrees and minutes with five decimals of a minute (about 2 cm).
fn degrees_minutes(value: f64, wide: bool, positive: char, negative: char) -> String {
    let hemisphere = if value < 0.0 { negative } else { positive };
    let units = (value.abs() * 60.0 * 100_000.0).round() as u64;
    let (degrees, minutes) = (units / 6_000_000, units % 6_000_000);
    let minutes = format!("{:02}.{:05}", minutes / 100_000, minutes % 100_000);
    if wide {
        format!("{degrees:03}{minutes},{hemisphere}")
    } else {
        format!("{degrees:02}{minutes},{hemisphere}")
    }
}

fn position(lat: f64, lon: f64) -> String {
    format!("{},{}", degrees_minutes(lat, false, 'N', 'S'), degrees_minutes(lon, true, 'E', 'W'))
}

pub(crate) fn rmc(taken_ms: i64, lat: f64, lon: f64, speed_mps: f64, course_deg: Option<f64>) -> String {
    let at = utc(taken_ms);
    let course = course_deg.map(|course| format!("{course:.1}")).unwrap_or_default();
    sentence(&format!(
        "GPRMC,{},A,{},{:.2},{course},{:02}{:02}{:02},,,A",
        at.hhmmss(),
        position(lat, lon),
        kn(speed_mps),
        at.day,
        at.month,
        at.year.rem_euclid(100)
    ))
}

pub(crate) fn gga(taken_ms: i64, lat: f64, lon: f64, satellites: u32, hdop: f64) -> String {
    sentence(&format!(
        "GPGGA,{},{},1,{satellites:02},{hdop:.1},1.0,M,48.0,M,,",
        utc(taken_ms).hhmmss(),
        position(lat, lon)
    ))
}

pub(crate) fn hdt(heading_deg: f64) -> String {
    sentence(&format!("HEHDT,{heading_deg:.1},T"))
}

pub(crate) fn heel(heel_deg: f64) -> String {
    sentence(&format!("IIXDR,A,{heel_deg:.1},D,ROLL"))
}

pub(crate) fn mwv_relative(angle_deg: f64, speed_mps: f64) -> String {
    sentence(&format!("WIMWV,{angle_deg:.1},R,{:.1},N,A", kn(speed_mps)))
}

pub(crate) fn mwd(from_deg: f64, speed_mps: f64) -> String {
    sentence(&format!("WIMWD,{from_deg:.1},T,,M,{:.1},N,{speed_mps:.1},M", kn(speed_mps)))
}

/// Bits of an AIS message, most significant first.
struct Bits(Vec<bool>);

impl Bits {
    fn put(&mut self, value: i64, width: u32) {
        for bit in (0..width).rev() {
            self.0.push(value >> bit & 1 == 1);
        }
    }

    fn line(&self) -> String {
        let mut payload = String::new();
        for six in self.0.chunks(6) {
            let value = (0..6).fold(0u8, |sum, i| sum << 1 | u8::from(six.get(i).copied().unwrap_or(false)));
            payload.push(char::from(if value < 40 { value + 48 } else { value + 56 }));
        }
        let fill = (6 - self.0.len() % 6) % 6;
        let body = format!("AIVDM,1,1,,A,{payload},{fill}");
        format!("!{body}*{:02X}", xor(&body))
    }
}

/// What both AIS position messages carry.
pub(crate) struct AisPosition {
    pub(crate) mmsi: u32,
    pub(crate) lat: f64,
    pub(crate) lon: f64,
    pub(crate) speed_mps: f64,
    pub(crate) course_deg: f64,
    pub(crate) taken_ms: i64,
}

/// Message 18, class B.
pub(crate) fn ais_class_b(said: &AisPosition) -> String {
    let mut bits = Bits(Vec::with_capacity(168));
    bits.put(18, 6);
    bits.put(0, 2);
    bits.put(i64::from(said.mmsi), 30);
    bits.put(0, 8);
    common(&mut bits, said);
    bits.put(511, 9); // heading not available
    bits.put(utc(said.taken_ms).of_day_ms / 1000 % 60, 6);
    bits.put(0, 2);
    bits.put(0b1110100, 7); // unit, display, DSC, band, message 22, assigned, RAIM
    bits.put(0, 20);
    bits.line()
}

/// Message 1 with status 14: an active beacon.
pub(crate) fn ais_beacon(said: &AisPosition) -> String {
    let mut bits = Bits(Vec::with_capacity(168));
    bits.put(1, 6);
    bits.put(0, 2);
    bits.put(i64::from(said.mmsi), 30);
    bits.put(14, 4);
    bits.put(-128, 8);
    common(&mut bits, said);
    bits.put(511, 9);
    bits.put(utc(said.taken_ms).of_day_ms / 1000 % 60, 6);
    bits.put(0, 2 + 3 + 1);
    bits.put(0, 19);
    bits.line()
}

/// Speed, accuracy, position and course stand in the same order in both.
fn common(bits: &mut Bits, said: &AisPosition) {
    bits.put((kn(said.speed_mps) * 10.0).round() as i64, 10);
    bits.put(1, 1);
    bits.put((said.lon * 600_000.0).round() as i64, 28);
    bits.put((said.lat * 600_000.0).round() as i64, 27);
    bits.put((said.course_deg * 10.0).round() as i64 % 3600, 12);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_known_line_comes_out_as_published() {
        // The checksum rule and field order of the reference; date arithmetic against a known instant.
        assert_eq!(rfc3339(1_780_308_000_000), "2026-06-01T10:00:00.000Z");
        assert_eq!(rfc3339(951_782_399_999), "2000-02-28T23:59:59.999Z");
        assert_eq!(rfc3339(951_868_800_000), "2000-03-01T00:00:00.000Z");
        let line = rmc(1_780_308_000_000, 46.5, -11.25, 1.852, Some(84.4));
        assert_eq!(line, "$GPRMC,100000.00,A,4630.00000,N,01115.00000,W,3.60,84.4,010626,,,A*46");
    }

    #[test]
    fn minutes_never_reach_sixty() {
        assert_eq!(position(9.999_999_999, -0.000_000_001), "1000.00000,N,00000.00000,W");
    }
}
