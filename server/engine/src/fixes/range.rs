//! Numbers into quantities, each within what can be.

use nmea::sentences::mwv::MwvWindSpeedUnits;

use crate::{effect::DiscardReason, units::Bearing};

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

pub(super) fn direction(deg: f64) -> Result<Bearing, DiscardReason> {
    if !(0.0..=360.0).contains(&deg) {
        return Err(DiscardReason::OutOfRange);
    }
    Bearing::from_degrees_true(deg).ok_or(DiscardReason::OutOfRange)
}

pub(super) fn course_of(deg: Option<f64>) -> Result<Option<Bearing>, DiscardReason> {
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

pub(super) fn wind_mps(mps: f64) -> Result<f64, DiscardReason> {
    if (0.0..=WIND_MAX_MPS).contains(&mps) { Ok(mps) } else { Err(DiscardReason::OutOfRange) }
}

pub(super) fn depth(metres: f64) -> Result<f64, DiscardReason> {
    if (0.0..=12_000.0).contains(&metres) { Ok(metres) } else { Err(DiscardReason::OutOfRange) }
}

/// 68 % radius from a horizontal dilution; 0 and 99.99 are what receivers write for "unknown".
pub(super) fn accuracy(hdop: Option<f64>) -> Result<Option<f64>, DiscardReason> {
    match hdop {
        Some(hdop) if !hdop.is_finite() || hdop < 0.0 => Err(DiscardReason::OutOfRange),
        Some(hdop) if hdop > HDOP_MAX => Err(DiscardReason::PoorFix),
        Some(0.0) | None => Ok(None),
        Some(hdop) => Ok(Some(hdop * HDOP_RADIUS_M)),
    }
}

/// Metres a second of one unit.
pub(super) fn unit_mps(unit: MwvWindSpeedUnits) -> f64 {
    match unit {
        MwvWindSpeedUnits::KilometersPerHour => 1.0 / 3.6,
        MwvWindSpeedUnits::MetersPerSecond => 1.0,
        MwvWindSpeedUnits::Knots => 1852.0 / 3600.0,
        MwvWindSpeedUnits::MilesPerHour => 0.447_04,
    }
}

/// Degrees with E or W, east positive; `None` when either is missing or it is no such angle.
pub(super) fn signed(deg: Option<f32>, ew: Option<char>) -> Option<f64> {
    let deg = f64::from(deg?);
    let side = match ew? {
        'E' => 1.0,
        'W' => -1.0,
        _ => return None,
    };
    (deg.abs() <= 180.0).then_some(side * deg)
}

pub(super) fn variation(deg: &str, ew: &str) -> Option<f64> {
    signed(deg.parse().ok(), ew.chars().next())
}

/// Metres a second of the unit a letter stands for.
pub(super) fn unit_of(letter: &str) -> Option<f64> {
    let unit = match letter {
        "K" => MwvWindSpeedUnits::KilometersPerHour,
        "M" => MwvWindSpeedUnits::MetersPerSecond,
        "N" => MwvWindSpeedUnits::Knots,
        "S" => MwvWindSpeedUnits::MilesPerHour,
        _ => return None,
    };
    Some(unit_mps(unit))
}
