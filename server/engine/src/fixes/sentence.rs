//! One checked sentence into what it says, every value in range.

use nmea::{
    ParseResult,
    sentences::{
        FixType,
        mwv::{MwvReference, MwvWindSpeedUnits},
    },
};
use nmea_0183_rs::{NmeaFrame, NmeaSentence};

use crate::{
    effect::DiscardReason,
    fixes::What,
    units::{Bearing, Position, fold, mps_from_kn},
};

/// Statements of one sentence, at most this many (an XDR carries several).
const SAYS_MAX: usize = 6;

/// Highest speed over the ground that is passed on, m/s: 60 kn. A faster claim is an error of the
/// receiver, and its position stands without it.
const SPEED_MAX_MPS: f64 = 60.0 * 1852.0 / 3600.0;

/// Highest wind speed that is passed on, m/s: above any hurricane's mean.
const WIND_MAX_MPS: f64 = 100.0;

/// Horizontal dilution above which a position is hopeless. Common practice, no source.
const HDOP_MAX: f64 = 20.0;

/// 68 % radius of a fix per unit of HDOP, metres: 4.9 m is quoted for phones under open sky
/// (GPS.gov, after van Diggelen and Enge 2015), at an HDOP of about 1.2.
const HDOP_RADIUS_M: f64 = 4.0;

/// A statement with what it needs to be dated.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Said {
    /// A position of a receiver, dated by itself.
    Fix(RawFix),
    /// A date and time without a position.
    Date { day: i64, ms_of_day: i64 },
    /// Speed and course without a position.
    Motion { speed_mps: Option<f64>, course: Option<Bearing> },
    /// True heading that came along with something else (VHW).
    SpareHeading(Bearing),
    /// Magnetic heading, with the variation if the sentence had it.
    Magnetic { heading: Bearing, variation_deg: Option<f64> },
    /// Anything that stands for itself.
    What(What),
}

/// A position sentence as read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct RawFix {
    pub(crate) position: Position,
    /// Days since 1970; `None` when the sentence has no date.
    pub(crate) day: Option<i64>,
    /// Milliseconds of the UTC day; `None` when empty.
    pub(crate) ms_of_day: Option<i64>,
    pub(crate) accuracy_m: Option<f64>,
    pub(crate) speed_mps: Option<f64>,
    pub(crate) course: Option<Bearing>,
    pub(crate) variation_deg: Option<f64>,
}

/// The fields of a sentence, address first, in place.
#[derive(Clone, Copy)]
pub(crate) struct Fields<'a> {
    body: &'a str,
}

impl<'a> Fields<'a> {
    /// `text` from its start character to its checksum.
    pub(crate) fn of(text: &'a str) -> Fields<'a> {
        let end = text.rfind('*').unwrap_or(text.len());
        Fields { body: text.get(1..end).unwrap_or("") }
    }

    /// The address: talker and type.
    pub(crate) fn address(self) -> &'a str {
        self.body.split(',').next().unwrap_or("")
    }

    /// Field `n`, 1 being the first after the address; empty when there is none.
    fn get(self, n: usize) -> &'a str {
        self.body.split(',').nth(n).unwrap_or("")
    }

    /// Whether all fields are numbers as NMEA writes them, or letters.
    fn well_formed(self) -> bool {
        self.body.split(',').skip(1).all(|field| {
            let bytes = field.as_bytes();
            bytes.iter().all(u8::is_ascii_uppercase)
                || (bytes.len() == 1 && bytes[0].is_ascii_lowercase())
                || is_number(field)
        })
    }
}

/// Digits with at most one point and a sign in front: no exponent, no "nan".
fn is_number(field: &str) -> bool {
    let digits = field.strip_prefix(['-', '+']).unwrap_or(field);
    let points = digits.bytes().filter(|byte| *byte == b'.').count();
    points <= 1 && digits.len() > points && digits.bytes().all(|byte| byte == b'.' || byte.is_ascii_digit())
}

/// Reads one sentence (`$...*hh`) whose checksum is known to fit.
pub(crate) fn read(text: &str) -> Result<Vec<Said>, DiscardReason> {
    let fields = Fields::of(text);
    let address = fields.address();
    if address.len() != 5 || !address.bytes().all(is_address) {
        return Err(match address.as_bytes() {
            [b'P', rest @ ..] if !rest.is_empty() => DiscardReason::NotUsed,
            _ => DiscardReason::Unreadable,
        });
    }
    match &address[2..] {
        "RMC" | "GGA" | "GLL" | "GNS" | "VTG" | "HDT" | "HDG" | "HDM" | "MWV" | "MWD" | "VWR" | "VHW"
        | "ZDA" | "DPT" | "DBT" => {
            if !fields.well_formed() {
                return Err(DiscardReason::Unreadable);
            }
        }
        "XDR" => (),
        _ => return Err(DiscardReason::NotUsed),
    }
    match &address[2..] {
        "RMC" => rmc(text, fields),
        "GGA" => gga(text, fields),
        "GLL" => gll(text, fields),
        "GNS" => gns(text, fields),
        "HDG" | "HDM" | "MWD" | "VWR" | "DBT" | "XDR" => other(address, fields),
        _ => plain(text),
    }
}

fn is_address(byte: u8) -> bool {
    byte.is_ascii_uppercase() || byte.is_ascii_digit()
}

fn one(said: Said) -> Result<Vec<Said>, DiscardReason> {
    Ok(vec![said])
}

fn rmc(text: &str, fields: Fields<'_>) -> Result<Vec<Said>, DiscardReason> {
    mode(fields.get(12))?;
    match fields.get(2) {
        "A" | "D" | "" => (),
        _ => return Err(DiscardReason::NoFix),
    }
    let position = position(fields, 3)?;
    let (day, ms_of_day, speed_kn, course) = match nmea::parse_str(text) {
        Ok(ParseResult::RMC(rmc)) => (
            rmc.fix_date.map(|date| date.signed_duration_since(Default::default()).num_days()),
            rmc.fix_time.map(|time| time.signed_duration_since(Default::default()).num_milliseconds()),
            rmc.speed_over_ground.map(f64::from),
            rmc.true_course.map(f64::from),
        ),
        // An empty status (old instruments) and a leap second are errors to the first parser.
        _ => {
            let parts: Vec<&str> = fields.body.split(',').skip(1).collect();
            let frame = frame(fields.address(), parts);
            let NmeaSentence::Rmc(rmc) = NmeaSentence::parse(&frame) else {
                return Err(DiscardReason::Unreadable);
            };
            (
                rmc.date.as_deref().map(day_of).transpose()?,
                rmc.time.as_deref().map(ms_of_day).transpose()?,
                rmc.sog.map(f64::from),
                rmc.cog.map(f64::from),
            )
        }
    };
    one(Said::Fix(RawFix {
        position,
        day: day.map(last_century),
        ms_of_day,
        accuracy_m: None,
        speed_mps: speed_mps(speed_kn.map(mps_from_kn))?,
        course: course_of(course)?,
        variation_deg: variation(fields.get(10), fields.get(11)),
    }))
}

fn gga(text: &str, fields: Fields<'_>) -> Result<Vec<Said>, DiscardReason> {
    match fields.get(6) {
        "" | "0" | "6" => return Err(DiscardReason::NoFix),
        "7" | "8" => return Err(DiscardReason::NotReal),
        _ => (),
    }
    let position = position(fields, 2)?;
    let Ok(ParseResult::GGA(gga)) = nmea::parse_str(text) else {
        return Err(DiscardReason::Unreadable);
    };
    if matches!(gga.fix_type, None | Some(FixType::Invalid)) {
        return Err(DiscardReason::NoFix);
    }
    one(Said::Fix(RawFix {
        position,
        day: None,
        ms_of_day: gga.fix_time.map(|time| time.signed_duration_since(Default::default()).num_milliseconds()),
        accuracy_m: accuracy(gga.hdop.map(f64::from))?,
        speed_mps: None,
        course: None,
        variation_deg: None,
    }))
}

fn gll(text: &str, fields: Fields<'_>) -> Result<Vec<Said>, DiscardReason> {
    mode(fields.get(7))?;
    match fields.get(6) {
        "A" | "D" | "" => (),
        _ => return Err(DiscardReason::NoFix),
    }
    let position = position(fields, 1)?;
    let ms_of_day = match nmea::parse_str(text) {
        Ok(ParseResult::GLL(gll)) => {
            gll.fix_time.map(|time| time.signed_duration_since(Default::default()).num_milliseconds())
        }
        // Without the mode field or without a time: old instruments.
        _ => match fields.get(5) {
            "" => None,
            time => Some(ms_of_day(time)?),
        },
    };
    one(Said::Fix(RawFix {
        position,
        day: None,
        ms_of_day,
        accuracy_m: None,
        speed_mps: None,
        course: None,
        variation_deg: None,
    }))
}

fn gns(text: &str, fields: Fields<'_>) -> Result<Vec<Said>, DiscardReason> {
    let modes = fields.get(6);
    if modes.bytes().any(|mode| matches!(mode, b'M' | b'S')) {
        return Err(DiscardReason::NotReal);
    }
    if modes.bytes().all(|mode| matches!(mode, b'N' | b'E')) {
        return Err(DiscardReason::NoFix);
    }
    let position = position(fields, 2)?;
    let Ok(ParseResult::GNS(gns)) = nmea::parse_str(text) else {
        return Err(DiscardReason::Unreadable);
    };
    one(Said::Fix(RawFix {
        position,
        day: None,
        ms_of_day: gns.fix_time.map(|time| time.signed_duration_since(Default::default()).num_milliseconds()),
        accuracy_m: accuracy(gns.hdop.map(f64::from))?,
        speed_mps: None,
        course: None,
        variation_deg: None,
    }))
}

/// The types the first parser reads whole.
fn plain(text: &str) -> Result<Vec<Said>, DiscardReason> {
    match nmea::parse_str(text).map_err(|_| DiscardReason::Unreadable)? {
        ParseResult::VTG(vtg) => {
            mode(vtg_mode(text))?;
            let speed_mps = speed_mps(vtg.speed_over_ground.map(f64::from).map(mps_from_kn))?;
            let course = course_of(vtg.true_course.map(f64::from))?;
            if speed_mps.is_none() && course.is_none() {
                return Err(DiscardReason::NoValue);
            }
            one(Said::Motion { speed_mps, course })
        }
        ParseResult::HDT(hdt) => {
            let heading = hdt.heading.ok_or(DiscardReason::NoValue)?;
            one(Said::What(What::Heading(direction(f64::from(heading))?)))
        }
        ParseResult::MWV(mwv) => {
            let (Some(angle), Some(speed), Some(unit), true) =
                (mwv.wind_direction, mwv.wind_speed, mwv.wind_speed_units, mwv.data_valid)
            else {
                return Err(DiscardReason::NoValue);
            };
            let angle_deg = fold(direction(f64::from(angle))?.deg());
            let speed_mps = wind_mps(f64::from(speed) * unit_mps(unit))?;
            one(Said::What(match mwv.reference {
                Some(MwvReference::Relative) => What::ApparentWind { angle_deg, speed_mps },
                Some(MwvReference::Theoretical) => What::TrueWindFromBow { angle_deg, speed_mps },
                None => return Err(DiscardReason::Unreadable),
            }))
        }
        ParseResult::VHW(vhw) => {
            let speed_mps =
                vhw.relative_speed_knots.map(mps_from_kn).or(vhw.relative_speed_kmph.map(|kmh| kmh / 3.6));
            let mut said = Vec::new();
            if let Some(speed_mps) = self::speed_mps(speed_mps)? {
                said.push(Said::What(What::WaterSpeed(speed_mps)));
            }
            if let Some(heading) = vhw.heading_true {
                said.push(Said::SpareHeading(direction(heading)?));
            }
            some(said)
        }
        ParseResult::ZDA(zda) => {
            let (Some(date), Some(time)) = (zda.utc_date(), zda.utc_time) else {
                return Err(DiscardReason::NoValue);
            };
            one(Said::Date {
                day: date.signed_duration_since(Default::default()).num_days(),
                ms_of_day: time.signed_duration_since(Default::default()).num_milliseconds(),
            })
        }
        ParseResult::DPT(dpt) => {
            let depth_m = dpt.water_depth.ok_or(DiscardReason::NoValue)?;
            one(Said::What(What::Depth(depth(depth_m)?)))
        }
        _ => Err(DiscardReason::NotUsed),
    }
}

/// The types only the second parser reads.
fn other(address: &str, fields: Fields<'_>) -> Result<Vec<Said>, DiscardReason> {
    let parts: Vec<&str> = fields.body.split(',').skip(1).collect();
    match NmeaSentence::parse(&frame(address, parts)) {
        NmeaSentence::Hdg(hdg) => {
            let heading = f64::from(hdg.heading_mag.ok_or(DiscardReason::NoValue)?);
            let deviation = signed(hdg.deviation, hdg.deviation_ew).unwrap_or(0.0);
            one(Said::Magnetic {
                heading: direction(heading)?.turned(deviation),
                variation_deg: signed(hdg.variation, hdg.variation_ew),
            })
        }
        NmeaSentence::Hdm(hdm) => one(Said::Magnetic {
            heading: direction(f64::from(hdm.heading_mag.ok_or(DiscardReason::NoValue)?))?,
            variation_deg: None,
        }),
        NmeaSentence::Mwd(mwd) => {
            let from = f64::from(mwd.wind_dir_true.ok_or(DiscardReason::NoValue)?);
            let speed_mps =
                mwd.wind_speed_ms.map(f64::from).or(mwd.wind_speed_kts.map(|kn| mps_from_kn(f64::from(kn))));
            one(Said::What(What::GroundWind {
                from: direction(from)?,
                speed_mps: speed_mps.map(wind_mps).transpose()?,
            }))
        }
        NmeaSentence::Vwr(vwr) => {
            let speed_mps = vwr
                .speed_knots
                .map(|kn| mps_from_kn(f64::from(kn)))
                .or(vwr.speed_ms.map(f64::from))
                .or(vwr.speed_kmh.map(|kmh| f64::from(kmh) / 3.6));
            let (Some(angle), Some(speed_mps)) = (vwr.angle, speed_mps) else {
                return Err(DiscardReason::NoValue);
            };
            let side = match vwr.angle_lr {
                Some('R') => 1.0,
                Some('L') => -1.0,
                _ => return Err(DiscardReason::Unreadable),
            };
            if !(0.0..=180.0).contains(&angle) {
                return Err(DiscardReason::OutOfRange);
            }
            one(Said::What(What::ApparentWind {
                angle_deg: fold(side * f64::from(angle)),
                speed_mps: wind_mps(speed_mps)?,
            }))
        }
        NmeaSentence::Dbt(dbt) => {
            let depth_m = dbt
                .depth_meters
                .map(f64::from)
                .or(dbt.depth_feet.map(|feet| f64::from(feet) * 0.3048))
                .ok_or(DiscardReason::NoValue)?;
            one(Said::What(What::Depth(depth(depth_m)?)))
        }
        NmeaSentence::Xdr(xdr) => {
            let mut said = Vec::new();
            for group in xdr.groups.iter().take(SAYS_MAX) {
                let Some(value) = group.value.map(f64::from).filter(|v| v.is_finite()) else {
                    continue;
                };
                let name = group.name.as_deref().unwrap_or("").to_ascii_uppercase();
                let battery = name.contains("BAT");
                match (group.sensor_type, group.unit) {
                    (Some('A'), _) if name.contains("ROLL") || name.contains("HEEL") => {
                        if !(-180.0..=180.0).contains(&value) {
                            return Err(DiscardReason::OutOfRange);
                        }
                        said.push(Said::What(What::Heel(value)));
                    }
                    (Some('U'), _) if (0.0..=100.0).contains(&value) => {
                        said.push(Said::What(What::BatteryVolts(value)));
                    }
                    (_, Some('P')) if battery && (0.0..=100.0).contains(&value) => {
                        said.push(Said::What(What::BatteryPct(value)));
                    }
                    _ => (),
                }
            }
            if said.is_empty() {
                return Err(DiscardReason::NotUsed);
            }
            Ok(said)
        }
        _ => Err(DiscardReason::NotUsed),
    }
}

fn some(said: Vec<Said>) -> Result<Vec<Said>, DiscardReason> {
    if said.is_empty() { Err(DiscardReason::NoValue) } else { Ok(said) }
}

fn frame<'a>(address: &'a str, fields: Vec<&'a str>) -> NmeaFrame<'a> {
    NmeaFrame { prefix: '$', talker: &address[..2], sentence_type: &address[2..], fields, tag_block: None }
}

/// Refuses what the mode indicator marks as no fix, simulated or set by hand (it wins over status).
fn mode(mode: &str) -> Result<(), DiscardReason> {
    match mode {
        "N" | "E" => Err(DiscardReason::NoFix),
        "M" | "S" => Err(DiscardReason::NotReal),
        _ => Ok(()),
    }
}

/// The mode of a VTG: its ninth field.
fn vtg_mode(text: &str) -> &str {
    Fields::of(text).get(9)
}

/// The position in fields `first..first + 4`, checked digit by digit: the parser takes 65 minutes.
fn position(fields: Fields<'_>, first: usize) -> Result<Position, DiscardReason> {
    let mut parts = fields.body.split(',').skip(first);
    let mut next = || parts.next().unwrap_or("");
    let (lat, ns, lon, ew) = (next(), next(), next(), next());
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
fn degrees(text: &str, whole: usize) -> Result<f64, DiscardReason> {
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
fn ms_of_day(text: &str) -> Result<i64, DiscardReason> {
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
fn day_of(text: &str) -> Result<i64, DiscardReason> {
    let impossible = DiscardReason::ImpossibleTime;
    if text.len() != 6 || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(impossible);
    }
    let number = |range| -> Result<u32, DiscardReason> {
        let digits: &str = text.get(range).ok_or(impossible)?;
        digits.parse().map_err(|_| impossible)
    };
    let (day, month, year) = (number(0..2)?, number(2..4)?, number(4..6)?);
    let days = crate::moment::days_from_civil(2000 + i64::from(year), month, day);
    let whole = crate::moment::civil_from_days(days) == (2000 + i64::from(year), month, day);
    if !whole {
        return Err(impossible);
    }
    Ok(days)
}

/// Two-digit years 80 to 99 are of the last century (common practice, no source); the parsers put
/// some of them a hundred years on.
fn last_century(day: i64) -> i64 {
    /// 2080-01-01.
    const PIVOT: i64 = 40_177;
    /// From 1980-01-01 to 2080-01-01.
    const CENTURY: i64 = 36_525;
    if day >= PIVOT { day - CENTURY } else { day }
}

fn direction(deg: f64) -> Result<Bearing, DiscardReason> {
    if !(0.0..=360.0).contains(&deg) {
        return Err(DiscardReason::OutOfRange);
    }
    Bearing::from_degrees_true(deg).ok_or(DiscardReason::OutOfRange)
}

fn course_of(deg: Option<f64>) -> Result<Option<Bearing>, DiscardReason> {
    deg.map(direction).transpose()
}

/// A negative or non-finite speed spoils the sentence; an impossible one is left out.
pub(super) fn speed_mps(mps: Option<f64>) -> Result<Option<f64>, DiscardReason> {
    match mps {
        Some(mps) if !mps.is_finite() || mps < 0.0 => Err(DiscardReason::OutOfRange),
        Some(mps) if mps > SPEED_MAX_MPS => Ok(None),
        mps => Ok(mps),
    }
}

fn wind_mps(mps: f64) -> Result<f64, DiscardReason> {
    if (0.0..=WIND_MAX_MPS).contains(&mps) { Ok(mps) } else { Err(DiscardReason::OutOfRange) }
}

fn depth(metres: f64) -> Result<f64, DiscardReason> {
    if (0.0..=12_000.0).contains(&metres) { Ok(metres) } else { Err(DiscardReason::OutOfRange) }
}

/// 68 % radius from a horizontal dilution; 0 and 99.99 are what receivers write for "unknown".
fn accuracy(hdop: Option<f64>) -> Result<Option<f64>, DiscardReason> {
    match hdop {
        Some(hdop) if !hdop.is_finite() || hdop < 0.0 => Err(DiscardReason::OutOfRange),
        Some(hdop) if hdop > HDOP_MAX => Err(DiscardReason::PoorFix),
        Some(0.0) | None => Ok(None),
        Some(hdop) => Ok(Some(hdop * HDOP_RADIUS_M)),
    }
}

/// Metres a second of one unit.
fn unit_mps(unit: MwvWindSpeedUnits) -> f64 {
    match unit {
        MwvWindSpeedUnits::KilometersPerHour => 1.0 / 3.6,
        MwvWindSpeedUnits::MetersPerSecond => 1.0,
        MwvWindSpeedUnits::Knots => 1852.0 / 3600.0,
        MwvWindSpeedUnits::MilesPerHour => 0.447_04,
    }
}

/// Degrees with E or W, east positive; `None` when either is missing or it is no such angle.
fn signed(deg: Option<f32>, ew: Option<char>) -> Option<f64> {
    let deg = f64::from(deg?);
    let side = match ew? {
        'E' => 1.0,
        'W' => -1.0,
        _ => return None,
    };
    (deg.abs() <= 180.0).then_some(side * deg)
}

fn variation(deg: &str, ew: &str) -> Option<f64> {
    signed(deg.parse().ok(), ew.chars().next())
}
