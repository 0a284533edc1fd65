//! The speed to expect of this boat, now: class, wind, point of sailing, and her crew's last minutes.

use crate::{fleet::Class, units::mps_from_kn};

/// Hull speed in knots is this times the root of the waterline in feet (`hull_speed.csv`: the wave
/// as long as the waterline).
const HULL_KN_PER_ROOT_FT: f64 = 1.34;
/// Feet in a metre.
const FEET_PER_M: f64 = 1.0 / 0.3048;
/// The wind that [`Class`]'s speeds are given for, m/s.
const CLASS_WIND_MPS: f64 = 5.0;
/// Boat speed grows with the wind to this power until the hull holds it back: `detection.md` (f)
/// gives 1 to 2 kn in 5 kn of wind and 2.5 to 4 in 11, a power of 0.7 to 1.
const WIND_POWER: f64 = 0.8;
/// Off the wind a dinghy may plane past hull speed: 8 to 12 kn in 15 kn and more (`detection.md`
/// (f)); a beginner's boat seldom goes past this multiple of it.
const PLANING: f64 = 1.5;
/// The crew's pace forgets with this time constant, s: "the crew's own last minutes".
const PACE_MEMORY_S: f64 = 45.0;
/// Before she has been seen to sail, her pace is taken as the class's with the weight of so many
/// seconds of sailing.
const PACE_PRIOR_S: f64 = 8.0;
/// Pace is believed within these multiples of the class's: a crew slower than the lower one is not
/// sailing but waiting.
const PACE_RANGE: (f64, f64) = (0.4, 2.0);

/// What a boat makes of the wind, learned as she goes.
#[derive(Clone, Debug)]
pub(crate) struct Pace {
    class: Class,
    hull_mps: f64,
    /// Weighted sums of speed made good and speed expected of the class, over [`PACE_MEMORY_S`].
    made: f64,
    expected: f64,
    weight_s: f64,
}

impl Pace {
    pub(crate) fn new(class: Class) -> Pace {
        let waterline_m = class.waterline_m.clamp(1.5, 15.0);
        let hull_mps = mps_from_kn(HULL_KN_PER_ROOT_FT * (waterline_m * FEET_PER_M).sqrt());
        Pace { class, hull_mps, made: 0.0, expected: 0.0, weight_s: 0.0 }
    }

    /// The class's speed in m/s at `twa_deg` (0..=180; `None`: not known) off a wind of `wind_mps`
    /// (`None`: not known, taken as [`CLASS_WIND_MPS`]).
    pub(crate) fn of_class(&self, wind_mps: Option<f64>, twa_deg: Option<f64>) -> f64 {
        let class = &self.class;
        let moderate = match twa_deg {
            None => (class.beating_mps + class.reaching_mps + class.running_mps) / 3.0,
            Some(twa) => between(
                twa,
                &[
                    (0.0, 0.8 * class.beating_mps),
                    (45.0, class.beating_mps),
                    (90.0, class.reaching_mps),
                    (130.0, class.reaching_mps),
                    (180.0, class.running_mps),
                ],
            ),
        };
        let wind = wind_mps.unwrap_or(CLASS_WIND_MPS).max(0.0);
        let free = moderate * (wind / CLASS_WIND_MPS).powf(WIND_POWER);
        let upwind_share = twa_deg.map_or(0.5, |twa| (1.0 - (twa - 45.0) / 60.0).clamp(0.0, 1.0));
        let ceiling = self.hull_mps * (upwind_share + (1.0 - upwind_share) * PLANING);
        free.min(ceiling)
    }

    /// The speed to expect of her and her crew, m/s.
    pub(crate) fn expected_mps(&self, wind_mps: Option<f64>, twa_deg: Option<f64>) -> f64 {
        let class = self.of_class(wind_mps, twa_deg);
        let prior = PACE_PRIOR_S * class;
        let ratio = (self.made + prior) / (self.expected + prior).max(1e-6);
        class * ratio.clamp(PACE_RANGE.0, PACE_RANGE.1)
    }

    /// Learns from `dt_s` seconds at `speed_mps`, believed to be sailing with probability `sailing`.
    pub(crate) fn learn(
        &mut self,
        dt_s: f64,
        speed_mps: f64,
        wind_mps: Option<f64>,
        twa_deg: Option<f64>,
        sailing: f64,
    ) {
        let keep = (-dt_s * sailing / PACE_MEMORY_S).exp();
        let add = dt_s * sailing;
        self.made = self.made * keep + add * speed_mps;
        self.expected = self.expected * keep + add * self.of_class(wind_mps, twa_deg);
        self.weight_s = self.weight_s * keep + add;
    }

    /// Seconds of sailing that the pace rests on.
    pub(crate) fn known_s(&self) -> f64 {
        self.weight_s
    }
}

/// Straight-line interpolation in `points` (ascending), held beyond their ends.
fn between(x: f64, points: &[(f64, f64)]) -> f64 {
    let Some(&(first_x, first_y)) = points.first() else {
        return 0.0;
    };
    let mut last = (first_x, first_y);
    for &(next_x, next_y) in points {
        if x <= next_x {
            let span = next_x - last.0;
            let share = if span > 0.0 { ((x - last.0) / span).max(0.0) } else { 0.0 };
            return last.1 + share * (next_y - last.1);
        }
        last = (next_x, next_y);
    }
    last.1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::kn_from_mps;

    #[test]
    fn a_class_in_a_moderate_wind_goes_as_its_row_says() {
        let pace = Pace::new(Class::default());
        for (wind, twa, knots) in [
            (5.0, 45.0, 3.0),
            (5.0, 90.0, 4.0),
            (5.0, 180.0, 3.3),
            (2.5, 45.0, 1.7), // detection.md (f): 1 to 2 kn in 4 to 6 kn of wind
        ] {
            let got = kn_from_mps(pace.of_class(Some(wind), Some(twa)));
            assert!((got - knots).abs() < 0.1, "{wind} m/s at {twa} deg: {got} kn");
        }
    }

    #[test]
    fn upwind_the_hull_holds_her() {
        let pace = Pace::new(Class::default());
        let knots = kn_from_mps(pace.of_class(Some(15.0), Some(45.0)));
        assert!((knots - 4.73).abs() < 0.02, "{knots}"); // hull_speed.csv: 3.8 m
    }

    #[test]
    fn a_slow_crew_is_expected_to_be_slow() {
        let mut pace = Pace::new(Class::default());
        for _ in 0..300 {
            pace.learn(1.0, 0.8, Some(5.0), Some(45.0), 1.0);
        }
        let expected = pace.expected_mps(Some(5.0), Some(45.0));
        assert!((expected - 0.8).abs() < 0.2, "{expected}");
    }
}
