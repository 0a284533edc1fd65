//! Drift by wind and stream: `leeway.csv` (US Coast Guard list as carried in OpenDrift 1.14.12),
//! `leeway_examples.csv` (computed from it) and `leeway_montecarlo.csv` (OpenDrift runs).

use dunlin_engine::{
    drift::{Adrift, Hand, Leeway, Push},
    units::{Bearing, Local, Velocity, mps_from_kn},
    venue::Region,
};
use rand::Rng;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use serde::Deserialize;

const TABLE: [(&str, Leeway); 3] =
    [("PIW-1", Leeway::PERSON), ("SKIFF-3", Leeway::SWAMPED_SKIFF), ("SAILBOAT-8", Leeway::UPRIGHT_DINGHY)];

#[derive(Debug, Deserialize)]
struct LeewayRow {
    key: String,
    downwind_slope_pct: f64,
    downwind_offset_cm_s: f64,
    downwind_std_cm_s: f64,
    right_slope_pct: f64,
    right_offset_cm_s: f64,
    right_std_cm_s: f64,
    left_slope_pct: f64,
}

#[test]
fn the_coefficients_are_those_of_the_list() {
    let mut found = 0;
    for row in dunlin_tests::rows::<LeewayRow>("leeway.csv") {
        let Some((_, leeway)) = TABLE.iter().find(|(key, _)| *key == row.key) else { continue };
        let listed = Leeway {
            down_pct: row.downwind_slope_pct,
            down_offset_cms: row.downwind_offset_cm_s,
            down_sd_cms: row.downwind_std_cm_s,
            cross_pct: row.right_slope_pct,
            cross_offset_cms: row.right_offset_cm_s,
            cross_sd_cms: row.right_std_cm_s,
        };
        assert_eq!(*leeway, listed, "{}", row.key);
        assert_eq!(row.left_slope_pct, -row.right_slope_pct, "{} mirrors", row.key);
        found += 1;
    }
    assert_eq!(found, TABLE.len());
}

#[derive(Debug, Deserialize)]
struct ExampleRow {
    key: String,
    wind_m_s: f64,
    minutes: f64,
    downwind_clamped_m_s: f64,
    right_m_s: f64,
    downwind_sd_m_s: f64,
    right_sd_m_s: f64,
    downwind_distance_m: f64,
    right_distance_m: f64,
}

#[test]
fn every_drift_is_as_the_examples_say() {
    let mut rows = 0;
    for row in dunlin_tests::rows::<ExampleRow>("leeway_examples.csv") {
        let Some((_, leeway)) = TABLE.iter().find(|(key, _)| *key == row.key) else { continue };
        // The table prints the wind to four decimals, so a speed may be off by 2 parts in 10,000.
        let slip = leeway.in_wind(row.wind_m_s);
        for (found, expected, what) in [
            (slip.down_mps, row.downwind_clamped_m_s, "downwind"),
            (slip.cross_mps, row.right_m_s, "across"),
            (slip.down_sd_mps, row.downwind_sd_m_s, "downwind spread"),
            (slip.cross_sd_mps, row.right_sd_m_s, "spread across"),
        ] {
            assert!((found - expected).abs() < 1.1e-5, "{row:?}: {what} {found}");
        }
        // Wind from the north-west drives to the south-east; right of that is south-west.
        let north_west = Bearing::from_degrees_true(315.0).expect("finite");
        let s = row.minutes * 60.0;
        let there = Local::default().after(slip.over_ground(north_west, Hand::Right), s);
        let down = Velocity::towards(north_west.reversed(), 1.0);
        let down_m = there.east_m * down.east_mps + there.north_m * down.north_mps;
        let right_m = there.east_m * down.north_mps - there.north_m * down.east_mps;
        assert!((down_m - row.downwind_distance_m).abs() < 0.1, "{row:?}: {down_m} m downwind");
        assert!((right_m - row.right_distance_m).abs() < 0.1, "{row:?}: {right_m} m right of it");
        rows += 1;
    }
    assert_eq!(rows, 3 * 7);
}

/// A pair of independent standard normal numbers (Box and Muller, 1958).
fn normals(rng: &mut ChaCha8Rng) -> (f64, f64) {
    let (u, v): (f64, f64) = (rng.random_range(f64::MIN_POSITIVE..1.0), rng.random());
    let radius = (-2.0 * u.ln()).sqrt();
    let (sin, cos) = (v * std::f64::consts::TAU).sin_cos();
    (radius * cos, radius * sin)
}

#[derive(Debug, Deserialize)]
struct MonteCarloRow {
    key: String,
    wind_kn: f64,
    minutes: f64,
    distance_p05_m: f64,
    distance_p50_m: f64,
    distance_p95_m: f64,
}

#[test]
fn spreads_agree_with_the_published_model_run() {
    let mut rows = 0;
    for row in dunlin_tests::rows::<MonteCarloRow>("leeway_montecarlo.csv") {
        let Some((_, leeway)) = TABLE.iter().find(|(key, _)| *key == row.key) else { continue };
        let slip = leeway.in_wind(mps_from_kn(row.wind_kn));
        let mut rng = ChaCha8Rng::seed_from_u64(1);
        let mut distances: Vec<f64> = (0..10_000)
            .map(|member| {
                let (down, cross) = normals(&mut rng);
                let side = if member % 2 == 0 { 1.0 } else { -1.0 };
                let down_mps = slip.down_mps + slip.down_sd_mps * down;
                let cross_mps = side * slip.cross_mps + slip.cross_sd_mps * cross;
                down_mps.hypot(cross_mps) * row.minutes * 60.0
            })
            .collect();
        distances.sort_by(f64::total_cmp);
        for (share, expected_m) in
            [(0.05, row.distance_p05_m), (0.5, row.distance_p50_m), (0.95, row.distance_p95_m)]
        {
            let found_m = distances[(share * 10_000.0) as usize];
            // Sampling error of both runs together, about 2 % at the tails.
            assert!((found_m / expected_m - 1.0).abs() < 0.06, "{row:?}: {found_m} m at {share}");
        }
        rows += 1;
    }
    assert_eq!(rows, 5);
}

#[test]
fn the_forecast_area_holds_about_nine_tenths() {
    let from = Bearing::from_degrees_true(240.0).expect("finite");
    let stream = Velocity { east_mps: 0.1, north_mps: -0.2 };
    for what in [Adrift::CapsizedDinghy, Adrift::UprightDinghy, Adrift::PersonInWater] {
        for (wind_mps, s) in [(4.0, 180.0), (10.0, 600.0), (10.0, 1800.0)] {
            let push = Push { wind: Some((from, wind_mps)), stream: Some(stream) };
            let ring = push.area(what, Local::default(), 4.0, s).expect("a wind gives an area");
            let area = Region::from_rings(&[ring]).expect("an area");
            let slip = Leeway::of(what).in_wind(wind_mps);
            let mut rng = ChaCha8Rng::seed_from_u64(2);
            let inside = (0..4_000)
                .filter(|member| {
                    let (down, cross) = normals(&mut rng);
                    let (east, north) = normals(&mut rng);
                    let (stream_east, stream_north) = normals(&mut rng);
                    let side = if member % 2 == 0 { 1.0 } else { -1.0 };
                    let downwind = from.reversed();
                    let drift = Velocity::towards(downwind, slip.down_mps + slip.down_sd_mps * down)
                        .plus(Velocity::towards(
                            downwind.turned(90.0),
                            side * slip.cross_mps + slip.cross_sd_mps * cross,
                        ))
                        .plus(stream)
                        .plus(Velocity { east_mps: 0.05 * stream_east, north_mps: 0.05 * stream_north });
                    let start = Local { east_m: 4.0 * east, north_m: 4.0 * north };
                    area.contains(start.after(drift, s))
                })
                .count();
            let share = inside as f64 / 4_000.0;
            assert!((0.88..0.985).contains(&share), "{what:?} in {wind_mps} m/s for {s} s: {share}");
        }
    }
}

#[test]
fn no_wind_known_is_no_forecast() {
    let push = Push { wind: None, stream: Some(Velocity::default()) };
    assert_eq!(push.area(Adrift::CapsizedDinghy, Local::default(), 3.0, 600.0), None);
    assert_eq!(push.mean_velocity(Adrift::PersonInWater), None);
}
