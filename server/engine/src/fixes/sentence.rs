//! One checked sentence into what it says, every value in range.

use nmea::{ParseResult, sentences::FixType};
use nmea_0183_rs::NmeaSentence;

use crate::{
    effect::DiscardReason,
    fixes::{
        What,
        fields::{Fields, day_of, last_century, ms_of_day, position},
        instrument::{self, frame},
        range::{accuracy, course_of, depth, direction, speed_mps, unit_mps, unit_of, variation, wind_mps},
    },
    units::{Bearing, Position, fold, mps_from_kn},
};

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

/// Reads one sentence (`$...*hh`) whose checksum is known to fit.
pub(crate) fn read(text: &str, out: &mut Vec<Said>) -> Result<(), DiscardReason> {
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
            if !fields.well_formed() || fields.count() < fields_min(&address[2..]) {
                return Err(DiscardReason::Unreadable);
            }
        }
        "XDR" => (),
        _ => return Err(DiscardReason::NotUsed),
    }
    match &address[2..] {
        "RMC" => rmc(text, fields, out),
        "GGA" => gga(text, fields, out),
        "GLL" => gll(text, fields, out),
        "GNS" => gns(text, fields, out),
        "DPT" => dpt(text, fields, out),
        "ZDA" => zda(text, fields, out),
        "MWV" => mwv(text, fields, out),
        "HDG" | "HDM" | "MWD" | "VWR" | "DBT" | "XDR" => instrument::read(address, fields, out),
        _ => plain(text, fields, out),
    }
}

/// Fields without which a position sentence is a torso; the last ones came with later versions.
fn fields_min(kind: &str) -> usize {
    match kind {
        "RMC" => 9,
        "GGA" | "GNS" => 8,
        "GLL" => 4,
        _ => 1,
    }
}

fn is_address(byte: u8) -> bool {
    byte.is_ascii_uppercase() || byte.is_ascii_digit()
}

/// Adds one statement.
pub(super) fn say(out: &mut Vec<Said>, said: Said) -> Result<(), DiscardReason> {
    out.push(said);
    Ok(())
}

fn rmc(text: &str, fields: Fields<'_>, out: &mut Vec<Said>) -> Result<(), DiscardReason> {
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
            let parts: Vec<&str> = fields.parts().collect();
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
    say(
        out,
        Said::Fix(RawFix {
            position,
            day: day.map(last_century),
            ms_of_day,
            accuracy_m: None,
            speed_mps: speed_mps(speed_kn.map(mps_from_kn))?,
            course: course_of(course)?,
            variation_deg: variation(fields.get(10), fields.get(11)),
        }),
    )
}

fn gga(text: &str, fields: Fields<'_>, out: &mut Vec<Said>) -> Result<(), DiscardReason> {
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
    say(
        out,
        Said::Fix(RawFix {
            position,
            day: None,
            ms_of_day: gga
                .fix_time
                .map(|time| time.signed_duration_since(Default::default()).num_milliseconds()),
            accuracy_m: accuracy(gga.hdop.map(f64::from))?,
            speed_mps: None,
            course: None,
            variation_deg: None,
        }),
    )
}

fn gll(text: &str, fields: Fields<'_>, out: &mut Vec<Said>) -> Result<(), DiscardReason> {
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
    say(
        out,
        Said::Fix(RawFix {
            position,
            day: None,
            ms_of_day,
            accuracy_m: None,
            speed_mps: None,
            course: None,
            variation_deg: None,
        }),
    )
}

fn gns(text: &str, fields: Fields<'_>, out: &mut Vec<Said>) -> Result<(), DiscardReason> {
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
    say(
        out,
        Said::Fix(RawFix {
            position,
            day: None,
            ms_of_day: gns
                .fix_time
                .map(|time| time.signed_duration_since(Default::default()).num_milliseconds()),
            accuracy_m: accuracy(gns.hdop.map(f64::from))?,
            speed_mps: None,
            course: None,
            variation_deg: None,
        }),
    )
}

fn dpt(text: &str, fields: Fields<'_>, out: &mut Vec<Said>) -> Result<(), DiscardReason> {
    let depth_m = match nmea::parse_str(text) {
        Ok(ParseResult::DPT(dpt)) => dpt.water_depth,
        // A transducer above the keel has a negative offset, an error to the parser.
        _ => fields.number(1)?,
    };
    say(out, Said::What(What::Depth(depth(depth_m.ok_or(DiscardReason::NoValue)?)?)))
}

fn zda(text: &str, fields: Fields<'_>, out: &mut Vec<Said>) -> Result<(), DiscardReason> {
    let ms_of_day = match nmea::parse_str(text) {
        Ok(ParseResult::ZDA(zda)) => {
            let time = zda.utc_time.ok_or(DiscardReason::NoValue)?;
            time.signed_duration_since(Default::default()).num_milliseconds()
        }
        // A zone of "+00" is an error to the parser, and so is a leap second.
        _ => ms_of_day(fields.get(1))?,
    };
    let day = fields.date(2)?.ok_or(DiscardReason::NoValue)?;
    say(out, Said::Date { day, ms_of_day })
}

fn mwv(text: &str, fields: Fields<'_>, out: &mut Vec<Said>) -> Result<(), DiscardReason> {
    let (angle, speed, unit_mps) = match nmea::parse_str(text) {
        Ok(ParseResult::MWV(mwv)) if mwv.data_valid => {
            let unit = mwv.wind_speed_units.map(unit_mps);
            (mwv.wind_direction.map(f64::from), mwv.wind_speed.map(f64::from), unit)
        }
        Ok(ParseResult::MWV(_)) => return Err(DiscardReason::NoValue),
        // Some gateways leave the status out, which is an error to the parser.
        _ if fields.count() == 4 => (fields.number(1)?, fields.number(3)?, unit_of(fields.get(4))),
        _ => return Err(DiscardReason::Unreadable),
    };
    let (Some(angle), Some(speed), Some(unit_mps)) = (angle, speed, unit_mps) else {
        return Err(DiscardReason::NoValue);
    };
    let angle_deg = fold(direction(angle)?.deg());
    let speed_mps = wind_mps(speed * unit_mps)?;
    let what = match fields.get(2) {
        "R" => What::ApparentWind { angle_deg, speed_mps },
        "T" => What::TrueWindFromBow { angle_deg, speed_mps },
        _ => return Err(DiscardReason::Unreadable),
    };
    say(out, Said::What(what))
}

/// The types the first parser reads whole.
fn plain(text: &str, fields: Fields<'_>, out: &mut Vec<Said>) -> Result<(), DiscardReason> {
    match nmea::parse_str(text).map_err(|_| DiscardReason::Unreadable)? {
        ParseResult::VTG(vtg) => {
            mode(fields.get(9))?;
            let speed_mps = speed_mps(vtg.speed_over_ground.map(f64::from).map(mps_from_kn))?;
            let course = course_of(vtg.true_course.map(f64::from))?;
            if speed_mps.is_none() && course.is_none() {
                return Err(DiscardReason::NoValue);
            }
            say(out, Said::Motion { speed_mps, course })
        }
        ParseResult::HDT(hdt) => {
            let heading = hdt.heading.ok_or(DiscardReason::NoValue)?;
            say(out, Said::What(What::Heading(direction(f64::from(heading))?)))
        }
        ParseResult::VHW(vhw) => {
            let speed_mps =
                vhw.relative_speed_knots.map(mps_from_kn).or(vhw.relative_speed_kmph.map(|kmh| kmh / 3.6));
            let before = out.len();
            if let Some(speed_mps) = self::speed_mps(speed_mps)? {
                out.push(Said::What(What::WaterSpeed(speed_mps)));
            }
            if let Some(heading) = vhw.heading_true {
                out.push(Said::SpareHeading(direction(heading)?));
            }
            if out.len() == before { Err(DiscardReason::NoValue) } else { Ok(()) }
        }
        _ => Err(DiscardReason::NotUsed),
    }
}

/// Refuses what the mode indicator marks as no fix, simulated or set by hand (it wins over status).
fn mode(mode: &str) -> Result<(), DiscardReason> {
    match mode {
        "N" | "E" => Err(DiscardReason::NoFix),
        "M" | "S" => Err(DiscardReason::NotReal),
        _ => Ok(()),
    }
}
