//! The wind of real afternoons against the notes beside the recordings.
#![allow(clippy::unwrap_used)]

use dunlin_engine::{effect::Basis, units::Bearing};
use dunlin_tests::{
    afternoon::{logged, moment, reported},
    field::recording,
};

#[test]
fn one_dinghys_track_gives_the_wind() {
    // Directions inferred in two ways (symmetric courses, sign of heel): between 60 and 65 degrees,
    // 32 and 50, 70 and 79. No instrument was there.
    for (file, low, high) in [
        ("toronto-laser-dinghy/2023-05-30.csv", 60.0, 65.0),
        ("toronto-laser-dinghy/2023-06-20.csv", 32.0, 50.0),
        ("toronto-dinghy-evenings/2023-07-14.csv", 70.0, 79.0),
    ] {
        let Some(csv_text) = recording(file) else { continue };
        let said = reported(&csv_text);
        let middle = (low + high) / 2.0;
        let error = said.median_error_deg(middle) - (high - low) / 2.0;
        println!("{file}: {} winds, {error:.1} degrees beside the notes", said.winds.len());
        assert!(said.winds.len() > 50, "{file}: {} winds", said.winds.len());
        assert!(said.winds.iter().all(|wind| wind.basis == Basis::Fleet), "{file}");
        assert!(error < 10.0, "{file}: {error} degrees beside the notes");
    }
}

#[test]
fn a_vane_and_a_compass_give_each_half_hours_wind() {
    let Some(log) = recording("helsinki-yacht-wind/morning.nmea") else { return };
    let said = logged(&log);
    for (clock, from_deg) in
        [("07:30", 70.0), ("08:00", 76.0), ("08:30", 66.0), ("09:00", 72.0), ("09:30", 81.0)]
    {
        let start = moment(&format!("2010-05-15T{clock}:00"));
        let truth = Bearing::from_degrees_true(from_deg).unwrap();
        let errors: Vec<f64> = said
            .winds
            .iter()
            .filter(|wind| (0..1_800_000).contains(&wind.at.ms_since(start)))
            .map(|wind| truth.turn_to(wind.from))
            .collect();
        assert!(errors.len() >= 50, "{clock}: {} winds", errors.len());
        let mean = errors.iter().sum::<f64>() / errors.len() as f64;
        println!("{clock}: mean {mean:.1} degrees beside the notes");
        // The notes are the means of her own vane. While she only reaches to and fro her track pulls the
        // fused wind by seven degrees; on the other half hours it lies within five.
        let most = if clock == "07:30" { 8.0 } else { 6.0 };
        assert!(mean.abs() < most, "{clock}: mean {mean} degrees beside the notes");
    }
}

#[test]
fn boats_that_only_reach_to_and_fro_leave_the_wind_doubtful() {
    // Robots that never sail close-hauled, with a shore station that had 315 degrees: whatever is
    // said must carry enough doubt.
    for file in ["sailing-robots-area/ENSTA1.csv", "sailing-robots-area/Southampton2.csv"] {
        let Some(csv_text) = recording(file) else { continue };
        let text = String::from_utf8(csv_text).unwrap();
        let said = reported(robot_columns(&text).as_bytes());
        let truth = Bearing::from_degrees_true(315.0).unwrap();
        let wrong =
            said.winds.iter().filter(|wind| truth.turn_to(wind.from).abs() > 3.0 * wind.sd_deg).count();
        let chances = said.lasted_s / 30.0;
        println!("{file}: {} winds, {wrong} beyond three times their doubt", said.winds.len());
        assert!((wrong as f64) < 0.15 * chances, "{file}: {wrong} of {chances}");
    }
}

/// The robots' columns under the names of the other recordings; their speed is in km/h.
fn robot_columns(text: &str) -> String {
    let mut out = String::from("time_local,lat_deg,lon_deg,sog_kn,cog_deg\n");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    for row in reader.deserialize::<std::collections::BTreeMap<String, String>>() {
        let row = row.unwrap();
        let speed_kn = row["speed"].parse::<f64>().unwrap() / 1.852;
        let time = row["datetime"].trim_end_matches('Z').replace(' ', "T");
        out += &format!("{time},{},{},{speed_kn},{}\n", row["latitude"], row["longitude"], row["course"]);
    }
    out
}
