//! AIS messages into what they say, by whom.

use nmea_0183_rs::{
    NmeaFrame,
    ais::{
        AisDecodeOutcome, AisMessage, AisParser, NavigationStatus, PositionReport, PositionTimestamp,
        StaticDataReport,
    },
};

use crate::{
    effect::DiscardReason,
    fixes::{Fix, What, range::speed_mps},
    units::{Bearing, Position, mps_from_kn},
};

/// 68 % radius of a position whose accuracy flag is set, metres: the flag says better than 10 m
/// (Raymond 2023), read as twice the 68 % radius.
const FINE_M: f64 = 5.0;

/// The same without the flag, metres: "worse than 10 m", which receivers without correction say of
/// good positions too.
const COARSE_M: f64 = 10.0;

/// One message: who speaks, and what is said.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct AisSaid {
    /// The identity.
    pub(crate) mmsi: u32,
    /// What was said, a beacon first.
    pub(crate) what: Vec<What>,
    /// The UTC second of a position report, which tells a repetition from a new report.
    pub(crate) second: Option<u8>,
}

/// Decodes one whole payload.
pub(crate) fn decode(payload: &str, fill: u8) -> Result<AisSaid, DiscardReason> {
    let kind = payload.bytes().next().and_then(sextet).ok_or(DiscardReason::Unreadable)?;
    let bits = (payload.len() * 6).saturating_sub(usize::from(fill));
    if !length_fits(kind, bits) {
        return Err(DiscardReason::Unreadable);
    }
    let fill = match fill {
        0 => "0",
        1 => "1",
        2 => "2",
        3 => "3",
        4 => "4",
        _ => "5",
    };
    let frame = NmeaFrame {
        prefix: '!',
        talker: "AI",
        sentence_type: "VDM",
        fields: vec!["1", "1", "", "A", payload, fill],
        tag_block: None,
    };
    let Ok(AisDecodeOutcome::Message(message)) = AisParser::new().decode(&frame) else {
        return Err(DiscardReason::Unreadable);
    };
    match message {
        AisMessage::Position(report) => position(report),
        AisMessage::Safety(safety) => {
            if !is_beacon(safety.mmsi) {
                return Err(DiscardReason::NotUsed);
            }
            let test = safety.text.to_ascii_uppercase().contains("TEST");
            Ok(AisSaid {
                mmsi: safety.mmsi,
                what: vec![What::Beacon { mmsi: safety.mmsi, test, text: Some(safety.text) }],
                second: None,
            })
        }
        AisMessage::AidToNavigation(aid) => {
            let place = aid.lat.zip(aid.lon).and_then(|(lat, lon)| Position::new(lat, lon));
            let position = place.ok_or(DiscardReason::NoFix)?;
            let mut name = aid.name.trim().to_owned();
            name.push_str(aid.name_extension.as_deref().unwrap_or("").trim_end());
            Ok(AisSaid { mmsi: aid.mmsi, what: vec![What::Aid { name, position }], second: None })
        }
        AisMessage::StaticReport(StaticDataReport::PartA { mmsi, vessel_name, .. }) => {
            named(mmsi, &vessel_name)
        }
        AisMessage::StaticVoyage(voyage) => named(voyage.mmsi, &voyage.vessel_name),
        _ => Err(DiscardReason::NotUsed),
    }
}

/// Whether an identity belongs to a search-and-rescue transmitter (970), a person-overboard device
/// (972) or an emergency beacon (974) (ITU-R M.585, after Raymond 2023).
fn is_beacon(mmsi: u32) -> bool {
    matches!(mmsi / 1_000_000, 970 | 972 | 974)
}

fn position(report: PositionReport) -> Result<AisSaid, DiscardReason> {
    let mmsi = report.mmsi;
    let mut what = Vec::new();
    if is_beacon(mmsi) {
        // Status 15 is a test; whatever else such a device says, it is on and somebody may be
        // in the water.
        let test = report.nav_status == Some(NavigationStatus::Undefined);
        what.push(What::Beacon { mmsi, test, text: None });
    }
    let fix = fix(&report);
    if let Ok(fix) = fix {
        what.push(What::Fix(fix));
    }
    if let Some(heading) =
        report.heading.filter(|_| fix.is_ok()).and_then(|deg| Bearing::from_degrees_true(f64::from(deg)))
    {
        what.push(What::Heading(heading));
    }
    if let Some(extended) = &report.class_b_extended
        && !extended.vessel_name.trim().is_empty()
    {
        what.push(What::Name(extended.vessel_name.trim().to_owned()));
    }
    if what.is_empty() {
        fix?;
    }
    let second = match report.timestamp {
        PositionTimestamp::Exact(second) => Some(second),
        _ => None,
    };
    Ok(AisSaid { mmsi, what, second })
}

fn fix(report: &PositionReport) -> Result<Fix, DiscardReason> {
    match report.timestamp {
        PositionTimestamp::ManualInput => return Err(DiscardReason::NotReal),
        PositionTimestamp::DeadReckoning | PositionTimestamp::Inoperative => {
            return Err(DiscardReason::NoFix);
        }
        PositionTimestamp::Exact(_) | PositionTimestamp::NotAvailable => (),
    }
    let (lat, lon) = report.latitude.zip(report.longitude).ok_or(DiscardReason::NoFix)?;
    let position = Position::new(lat, lon).ok_or(DiscardReason::OutOfRange)?;
    if lat == 0.0 && lon == 0.0 {
        return Err(DiscardReason::PoorFix);
    }
    Ok(Fix {
        position,
        accuracy_m: Some(if report.position_accuracy { FINE_M } else { COARSE_M }),
        speed_mps: speed_mps(report.sog.map(|kn| mps_from_kn(f64::from(kn))))?,
        course: report.cog.and_then(|deg| Bearing::from_degrees_true(f64::from(deg))),
    })
}

fn named(mmsi: u32, name: &str) -> Result<AisSaid, DiscardReason> {
    let name = name.trim();
    if name.is_empty() {
        return Err(DiscardReason::NoValue);
    }
    Ok(AisSaid { mmsi, what: vec![What::Name(name.to_owned())], second: None })
}

/// The number a character of the payload stands for.
fn sextet(byte: u8) -> Option<u8> {
    match byte {
        b'0'..=b'W' => Some(byte - b'0'),
        b'`'..=b'w' => Some(byte - b'`' + 40),
        _ => None,
    }
}

/// Lengths in bits by type (Raymond 2023): about 0.3 % of the lines of a public feed had a fitting
/// checksum and a wrong length. Types that are not used are not judged.
fn length_fits(kind: u8, bits: usize) -> bool {
    match kind {
        1..=3 | 18 => bits == 168,
        19 => bits == 312,
        5 => (420..=426).contains(&bits), // many units fill up to a whole character
        14 => (40..=1008).contains(&bits),
        21 => (272..=360).contains(&bits),
        24 => bits == 160 || bits == 168,
        _ => true,
    }
}
