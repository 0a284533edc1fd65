//! Normalised densities, as natural logarithms.

use std::f64::consts::PI;

/// ln of the modified Bessel function I0: Abramowitz and Stegun 9.8.1 and 9.8.2 (error below
/// 2e-7 of the value; coefficients from memory, checked in the tests against the power series).
pub(crate) fn ln_i0(x: f64) -> f64 {
    let x = x.abs();
    if x < 3.75 {
        let t = (x / 3.75) * (x / 3.75);
        (1.0 + t
            * (3.515_622_9
                + t * (3.089_942_4
                    + t * (1.206_749_2 + t * (0.265_973_2 + t * (0.036_076_8 + t * 0.004_581_3))))))
            .ln()
    } else {
        let t = 3.75 / x;
        let series = 0.398_942_28
            + t * (0.013_285_92
                + t * (0.002_253_19
                    + t * (-0.001_575_65
                        + t * (0.009_162_81
                            + t * (-0.020_577_06
                                + t * (0.026_355_37 + t * (-0.016_476_33 + t * 0.003_923_77)))))));
        x - 0.5 * x.ln() + series.ln()
    }
}

/// Density of a velocity `(x, y)` seen with variance `var` on each axis, when its true length is
/// `radius` and its direction is von Mises of concentration `kappa` about the unit vector `about`.
///
/// With `kappa` 0 it is a ring: "she moves at this speed, who knows where". Closed form: the
/// integral of a normal over the direction is a quotient of Bessel functions.
pub(crate) fn ln_ring((x, y): (f64, f64), about: (f64, f64), radius: f64, kappa: f64, var: f64) -> f64 {
    let pull = radius / var;
    let (sum_x, sum_y) = (kappa * about.0 + pull * x, kappa * about.1 + pull * y);
    let square = x * x + y * y + radius * radius;
    -(2.0 * PI * var).ln() - square / (2.0 * var) + ln_i0(sum_x.hypot(sum_y)) - ln_i0(kappa)
}

/// Normal density.
pub(crate) fn ln_normal(x: f64, mean: f64, var: f64) -> f64 {
    -0.5 * (2.0 * PI * var).ln() - (x - mean) * (x - mean) / (2.0 * var)
}

/// The upper tail of the normal distribution, 1 - Phi(z), as so many times its density at `z`, which is not
/// negative: Abramowitz and Stegun 26.2.17 (error below 7.5e-8; from memory, checked in the tests).
fn tail_in_densities(z: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * z);
    t * (0.319_381_530
        + t * (-0.356_563_782 + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))))
}

/// The hazard (chance a second of ending now, having lasted `age_s`) of a duration that is
/// lognormal with the given median and spread of its logarithm.
pub(crate) fn lognormal_hazard(age_s: f64, median_s: f64, spread: f64) -> f64 {
    let age_s = age_s.max(0.05);
    let z = (age_s / median_s).ln() / spread;
    let by = 1.0 / (spread * age_s);
    if z > 5.0 {
        return z * by; // the tail's own limit; the quotient below would be 0/0
    }
    if z >= 0.0 {
        return by / tail_in_densities(z);
    }
    let density = (-z * z / 2.0).exp() / (2.0 * PI).sqrt();
    by * density / (1.0 - density * tail_in_densities(-z))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn i0_agrees_with_its_power_series() {
        for x in [0.0, 0.5, 2.0, 3.7, 3.8, 10.0, 30.0] {
            let (mut term, mut sum) = (1.0, 1.0);
            for k in 1..200 {
                term *= x * x / 4.0 / f64::from(k * k);
                sum += term;
            }
            assert!((ln_i0(x) - f64::ln(sum)).abs() < 1e-6, "I0({x})");
        }
    }

    #[test]
    fn densities_integrate_to_one() {
        for (radius, kappa, var) in [(0.0, 0.0, 0.04), (1.5, 0.0, 0.04), (1.5, 8.0, 0.09)] {
            let (mut sum, step) = (0.0, 0.05);
            for i in -80..80 {
                for j in -80..80 {
                    let at = (f64::from(i) * step, f64::from(j) * step);
                    sum += ln_ring(at, (0.6, 0.8), radius, kappa, var).exp() * step * step;
                }
            }
            assert!((sum - 1.0).abs() < 1e-3, "{radius} {kappa} {var}: {sum}");
        }
    }

    #[test]
    fn half_of_all_durations_outlast_the_median() {
        let (mut survival, step) = (1.0, 0.01);
        let mut age = 0.0;
        while age < 40.0 {
            survival *= 1.0 - lognormal_hazard(age + step / 2.0, 40.0, 0.8) * step;
            age += step;
        }
        assert!((survival - 0.5).abs() < 0.01, "{survival}");
        // 1 - Phi(1) and the normal density at 1, from the usual tables.
        assert!((tail_in_densities(1.0) * 0.241_971 - 0.158_655).abs() < 1e-5);
    }
}
