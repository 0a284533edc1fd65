//! Sentences of instruments that only the second parser reads.

use nmea_0183_rs::{NmeaFrame, NmeaSentence};

use crate::{
    effect::DiscardReason,
    fixes::{
        What,
        fields::Fields,
        range::{depth, direction, signed, wind_mps},
        sentence::{Said, say},
    },
    units::{fold, mps_from_kn},
};

/// Statements of one sentence, at most this many (an XDR carries several).
const SAYS_MAX: usize = 6;

/// The types only the second parser reads.
pub(super) fn read(address: &str, fields: Fields<'_>, out: &mut Vec<Said>) -> Result<(), DiscardReason> {
    let parts: Vec<&str> = fields.parts().collect();
    match NmeaSentence::parse(&frame(address, parts)) {
        NmeaSentence::Hdg(hdg) => {
            let heading = f64::from(hdg.heading_mag.ok_or(DiscardReason::NoValue)?);
            let deviation = signed(hdg.deviation, hdg.deviation_ew).unwrap_or(0.0);
            say(
                out,
                Said::Magnetic {
                    heading: direction(heading)?.turned(deviation),
                    variation_deg: signed(hdg.variation, hdg.variation_ew),
                },
            )
        }
        NmeaSentence::Hdm(hdm) => say(
            out,
            Said::Magnetic {
                heading: direction(f64::from(hdm.heading_mag.ok_or(DiscardReason::NoValue)?))?,
                variation_deg: None,
            },
        ),
        NmeaSentence::Mwd(mwd) => {
            let from = f64::from(mwd.wind_dir_true.ok_or(DiscardReason::NoValue)?);
            let speed_mps =
                mwd.wind_speed_ms.map(f64::from).or(mwd.wind_speed_kts.map(|kn| mps_from_kn(f64::from(kn))));
            say(
                out,
                Said::What(What::GroundWind {
                    from: direction(from)?,
                    speed_mps: speed_mps.map(wind_mps).transpose()?,
                }),
            )
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
            say(
                out,
                Said::What(What::ApparentWind {
                    angle_deg: fold(side * f64::from(angle)),
                    speed_mps: wind_mps(speed_mps)?,
                }),
            )
        }
        NmeaSentence::Dbt(dbt) => {
            let depth_m = dbt
                .depth_meters
                .map(f64::from)
                .or(dbt.depth_feet.map(|feet| f64::from(feet) * 0.3048))
                .ok_or(DiscardReason::NoValue)?;
            say(out, Said::What(What::Depth(depth(depth_m)?)))
        }
        NmeaSentence::Xdr(xdr) => {
            let before = out.len();
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
                        out.push(Said::What(What::Heel(value)));
                    }
                    (Some('U'), _) if (0.0..=100.0).contains(&value) => {
                        out.push(Said::What(What::BatteryVolts(value)));
                    }
                    (_, Some('P')) if battery && (0.0..=100.0).contains(&value) => {
                        out.push(Said::What(What::BatteryPct(value)));
                    }
                    _ => (),
                }
            }
            if out.len() == before {
                return Err(DiscardReason::NotUsed);
            }
            Ok(())
        }
        _ => Err(DiscardReason::NotUsed),
    }
}

pub(super) fn frame<'a>(address: &'a str, fields: Vec<&'a str>) -> NmeaFrame<'a> {
    NmeaFrame { prefix: '$', talker: &address[..2], sentence_type: &address[2..], fields, tag_block: None }
}
