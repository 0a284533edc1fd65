//! When the sun rises and sets, and when it gets dark.
//!
//! The solar equations of the NOAA Global Monitoring Laboratory, after Meeus, Astronomical
//! Algorithms; evaluated again at the event itself until it settles. Checked against Skyfield with
//! JPL DE421 in `tests/reference/sun.csv`. Real refraction, hills and weather change what is seen
//! by minutes.

/// Zenith angle of the sun's centre at sunrise and sunset: 34' of refraction and 16' of
/// semidiameter below the horizon (US Naval Observatory definition).
const RISE_SET_ZENITH_DEG: f64 = 90.833;

/// Zenith angle at the ends of civil twilight.
const CIVIL_ZENITH_DEG: f64 = 96.0;

/// Rounds of evaluating at the event. The sun's declination moves at most 0.4 degrees a day, so
/// the third round already moves the event by less than a second.
const ROUNDS: u32 = 5;

const DAY_MS: f64 = 86_400_000.0;

/// The events of one day at one place, ms UTC. `None`: it does not happen that day.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sun {
    /// Civil dawn.
    pub dawn_ms: Option<i64>,
    /// Sunrise, upper limb, on a flat horizon.
    pub rise_ms: Option<i64>,
    /// Sunset, upper limb, on a flat horizon.
    pub set_ms: Option<i64>,
    /// Civil dusk following that sunset, perhaps after midnight.
    pub dusk_ms: Option<i64>,
}

/// The day at `lon_deg` east that `now_ms` belongs to, counted from 1970-01-01, by the sun: it
/// changes at local solar midnight, so no time zone is needed.
pub fn solar_day(now_ms: i64, lon_deg: f64) -> i64 {
    ((now_ms as f64 + lon_deg / 360.0 * DAY_MS) / DAY_MS).floor() as i64
}

/// The sun on the day `day` (days since 1970-01-01) at a place in degrees north and east.
///
/// Accurate to a minute between latitudes 72 N and 72 S, to ten beyond, as NOAA states.
pub fn on_day(day: i64, lat_deg: f64, lon_deg: f64) -> Sun {
    let at = |zenith_deg: f64, side: f64| event(day, lat_deg, lon_deg, zenith_deg, side);
    Sun {
        dawn_ms: at(CIVIL_ZENITH_DEG, -1.0),
        rise_ms: at(RISE_SET_ZENITH_DEG, -1.0),
        set_ms: at(RISE_SET_ZENITH_DEG, 1.0),
        dusk_ms: at(CIVIL_ZENITH_DEG, 1.0),
    }
}

/// The moment at which the sun's centre is `zenith_deg` from the zenith, before (`side` -1) or
/// after (`side` 1) noon.
fn event(day: i64, lat_deg: f64, lon_deg: f64, zenith_deg: f64, side: f64) -> Option<i64> {
    let midnight_ms = day as f64 * DAY_MS;
    let mut at_ms = midnight_ms + (0.5 - lon_deg / 360.0) * DAY_MS;
    let mut happens = false;
    for _ in 0..ROUNDS {
        let (declination_deg, equation_min) = sun_at(at_ms);
        let (lat, declination) = (lat_deg.to_radians(), declination_deg.to_radians());
        let cos_hour =
            zenith_deg.to_radians().cos() / (lat.cos() * declination.cos()) - lat.tan() * declination.tan();
        happens = (-1.0..=1.0).contains(&cos_hour);
        let hour_deg = cos_hour.clamp(-1.0, 1.0).acos().to_degrees();
        let minutes = 720.0 - 4.0 * lon_deg - equation_min + side * 4.0 * hour_deg;
        at_ms = midnight_ms + minutes * 60_000.0;
    }
    happens.then_some(at_ms.round() as i64)
}

/// Declination in degrees and equation of time in minutes.
fn sun_at(at_ms: f64) -> (f64, f64) {
    let century = (at_ms / DAY_MS + 2_440_587.5 - 2_451_545.0) / 36_525.0;
    let t = century;
    let mean_longitude = (280.46646 + t * (36000.76983 + 0.0003032 * t)).to_radians();
    let anomaly = (357.52911 + t * (35999.05029 - 0.0001537 * t)).to_radians();
    let eccentricity = 0.016_708_634 - t * (0.000_042_037 + 0.000_000_126_7 * t);
    let centre_deg = anomaly.sin() * (1.914602 - t * (0.004817 + 0.000014 * t))
        + (2.0 * anomaly).sin() * (0.019993 - 0.000101 * t)
        + (3.0 * anomaly).sin() * 0.000289;
    let node = (125.04 - 1934.136 * t).to_radians();
    let apparent = mean_longitude + (centre_deg - 0.00569 - 0.00478 * node.sin()).to_radians();
    let arc_seconds = 21.448 - t * (46.815 + t * (0.00059 - t * 0.001813));
    let obliquity = (23.0 + (26.0 + arc_seconds / 60.0) / 60.0 + 0.00256 * node.cos()).to_radians();
    let declination = (obliquity.sin() * apparent.sin()).asin();
    let y = (obliquity / 2.0).tan().powi(2);
    let equation = y * (2.0 * mean_longitude).sin() - 2.0 * eccentricity * anomaly.sin()
        + 4.0 * eccentricity * y * anomaly.sin() * (2.0 * mean_longitude).cos()
        - 0.5 * y * y * (4.0 * mean_longitude).sin()
        - 1.25 * eccentricity * eccentricity * (2.0 * anomaly).sin();
    (declination.to_degrees(), 4.0 * equation.to_degrees())
}

#[cfg(test)]
mod tests {
    use super::*;
    use dunlin_engine::moment::days_from_civil;

    const TABLE: &str = include_str!("../../../../tests/reference/sun.csv");

    fn utc_ms(text: &str) -> Option<i64> {
        let at: Option<jiff::Timestamp> = text.parse().ok();
        at.map(|at| at.as_millisecond())
    }

    #[test]
    fn events_agree_with_an_ephemeris_within_a_minute() {
        let mut reader = csv::Reader::from_reader(TABLE.as_bytes());
        let mut compared = 0;
        for row in reader.records() {
            let row = row.expect("a row");
            let number = |ix: usize| row[ix].parse::<f64>().expect("a number");
            let date: Vec<u32> = row[4].split('-').map(|part| part.parse().expect("a date")).collect();
            let day = days_from_civil(i64::from(date[0]), date[1], date[2]);
            let sun = on_day(day, number(2), number(3));
            for (name, ours, theirs) in [
                ("rise", sun.rise_ms, &row[6]),
                ("set", sun.set_ms, &row[7]),
                ("dawn", sun.dawn_ms, &row[8]),
                ("dusk", sun.dusk_ms, &row[9]),
            ] {
                match (ours, utc_ms(theirs)) {
                    (Some(ours), Some(theirs)) => {
                        assert!(
                            (ours - theirs).abs() <= 60_000,
                            "{} {name}: {} s off",
                            &row[0],
                            (ours - theirs) / 1000
                        );
                        compared += 1;
                    }
                    (None, None) => (),
                    (ours, theirs) => panic!("{} {name}: {ours:?}, should be {theirs:?}", &row[0]),
                }
            }
        }
        assert!(compared >= 40, "{compared} events compared");
    }

    #[test]
    fn the_day_changes_at_solar_midnight() {
        let noon_in_london = 12 * 3_600_000;
        assert_eq!(solar_day(noon_in_london, 0.0), 0);
        assert_eq!(solar_day(noon_in_london, 175.0), 0);
        assert_eq!(solar_day(noon_in_london + 3_600_000, 175.0), 1);
        assert_eq!(solar_day(0, -1.0), -1);
    }
}
