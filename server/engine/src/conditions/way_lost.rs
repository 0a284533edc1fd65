//! How fast a boat lost her way, by least squares: her velocity goes from what it was to what it is along a
//! decaying exponential, as a hull that drags in the water does. Sails that are let go leave the hull to
//! carry her way for seconds; a rig in the water stops her in one or two.
//!
//! The time constant is not one number but a spread of likelihood over [`TAUS_S`], with the moment the stop
//! began taken at its best for each (a profile likelihood), and tempered because a receiver's errors of
//! speed last some seconds.

/// Time constants tried, s: from a boat stopped dead to one that hardly slows.
pub(crate) const TAUS_S: [f64; 10] = [0.4, 0.7, 1.0, 1.4, 1.9, 2.5, 3.3, 4.4, 6.0, 8.5];
/// Up to this time constant something other than her crew stopped her: light dinghies with their sails let go
/// carry their way for three seconds and more (common practice, no source).
const SHARP_S: f64 = 2.2;
/// Moments tried, before and after the one at which she began to slow, s, ...
const SEARCH_S: (f64, f64) = (-3.0, 5.0);
/// ... in steps of this.
const SEARCH_STEP_S: f64 = 0.5;
/// A receiver's speed errs by this at least, m/s (`detection.md` has 0.1 kn from memory).
const SPEED_SD_MPS: f64 = 0.05;
/// Seconds of error that say the same: the likelihood is this much flatter.
const CORRELATED: f64 = 2.5;
/// She ends near rest: a look at `(0, 0)` with this weight holds the end that is not seen yet.
const REST_WEIGHT: f64 = 0.04;
/// Fewer seconds than this show no decay.
const SECONDS_MIN: usize = 5;

/// One second of it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sample {
    /// Seconds after she began to slow.
    pub at_s: f64,
    /// Velocity over the water, m/s, on any two axes.
    pub velocity: (f64, f64),
}

/// What the fit says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct WayLost {
    /// Mean of the time constant's natural logarithm, ln s.
    pub ln_tau: f64,
    /// Its standard deviation.
    pub ln_tau_sd: f64,
    /// ln odds that the time constant is that of a boat stopped by something other than her crew.
    pub sharp: f64,
    /// Way before, m/s.
    pub from_mps: f64,
    /// What is left at the end, m/s.
    pub to_mps: f64,
    /// Scatter about the fit, m/s.
    pub scatter_mps: f64,
    /// The best moment of the stop against the one at which she began to slow, s.
    pub late_s: f64,
}

#[derive(Clone, Copy, Debug)]
struct Best {
    rest: f64,
    late_s: f64,
    from: (f64, f64),
    to: (f64, f64),
}

/// Fits `samples`, oldest first; `None` while they are too few.
pub(crate) fn fit(samples: &[Sample]) -> Option<WayLost> {
    let last_s = samples.last()?.at_s;
    if samples.len() < SECONDS_MIN {
        return None;
    }
    let tried = TAUS_S.map(|tau_s| best_moment(samples, tau_s, last_s - 1.0));
    let least = tried.iter().flatten().min_by(|a, b| a.rest.total_cmp(&b.rest))?;
    let freedom = (2 * samples.len()).saturating_sub(6).max(1) as f64;
    let var = (least.rest / freedom).max(SPEED_SD_MPS * SPEED_SD_MPS);
    let likely = tried
        .map(|best| best.map_or(0.0, |best| ((least.rest - best.rest) / (2.0 * var * CORRELATED)).exp()));
    let all: f64 = likely.iter().sum();
    let mean = |of: &dyn Fn(usize, &Best) -> f64| -> f64 {
        let parts = tried.iter().enumerate().zip(likely);
        parts.filter_map(|((at, best), share)| Some(of(at, best.as_ref()?) * share)).sum::<f64>() / all
    };
    let ln_tau = mean(&|at, _| TAUS_S[at].ln());
    let sharp = mean(&|at, _| f64::from(u8::from(TAUS_S[at] < SHARP_S)));
    Some(WayLost {
        ln_tau,
        ln_tau_sd: mean(&|at, _| (TAUS_S[at].ln() - ln_tau).powi(2)).sqrt(),
        sharp: ((sharp + 0.01) / (1.01 - sharp)).ln(),
        from_mps: mean(&|_, best| best.from.0).hypot(mean(&|_, best| best.from.1)),
        to_mps: mean(&|_, best| best.to.0).hypot(mean(&|_, best| best.to.1)),
        scatter_mps: var.sqrt(),
        late_s: least.late_s,
    })
}

/// The best moment for one time constant, and the straight line of velocity over what is left of the
/// exponential there.
fn best_moment(samples: &[Sample], tau_s: f64, latest_s: f64) -> Option<Best> {
    let weight = samples.len() as f64 + REST_WEIGHT;
    let (mut sum, mut square) = ((0.0, 0.0), 0.0);
    for Sample { velocity: (x, y), .. } in samples {
        sum = (sum.0 + x, sum.1 + y);
        square += x * x + y * y;
    }
    // exp((late - at) / tau) as a product: one exponential for each second instead of one for each moment too.
    let decayed: Vec<f64> = samples.iter().map(|sample| (-sample.at_s / tau_s).exp()).collect();
    let steps = ((latest_s.min(SEARCH_S.1) - SEARCH_S.0) / SEARCH_STEP_S).max(0.0) as usize;
    let mut best: Option<Best> = None;
    for step in 0..=steps {
        let late_s = SEARCH_S.0 + step as f64 * SEARCH_STEP_S;
        let shift = (late_s / tau_s).exp();
        let (mut left, mut left_square, mut with) = (0.0, 0.0, (0.0, 0.0));
        for (Sample { at_s, velocity: (x, y) }, decayed) in samples.iter().zip(&decayed) {
            let share = if *at_s <= late_s { 1.0 } else { decayed * shift };
            left += share;
            left_square += share * share;
            with = (with.0 + share * x, with.1 + share * y);
        }
        let spread = left_square - left * left / weight;
        if spread < 1e-6 {
            continue;
        }
        let together = (with.0 - left * sum.0 / weight, with.1 - left * sum.1 / weight);
        let rest = square
            - (sum.0 * sum.0 + sum.1 * sum.1) / weight
            - (together.0 * together.0 + together.1 * together.1) / spread;
        if best.is_none_or(|best| rest < best.rest) {
            let slope = (together.0 / spread, together.1 / spread);
            let to = ((sum.0 - slope.0 * left) / weight, (sum.1 - slope.1 * left) / weight);
            best = Some(Best { rest: rest.max(0.0), late_s, from: (to.0 + slope.0, to.1 + slope.1), to });
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stop(tau_s: f64, late_s: f64) -> Vec<Sample> {
        let left = |at_s: f64| if at_s < late_s { 1.0 } else { (-(at_s - late_s) / tau_s).exp() };
        let velocity = |at_s: f64| {
            // From 2 m/s across the wind to a drift of 0.2 m/s down it; an even ripple for noise.
            let ripple = 0.05 * (at_s * 2.3).sin();
            (0.2 * (1.0 - left(at_s)) + ripple, 2.0 * left(at_s) - ripple)
        };
        (-8..18).map(f64::from).map(|at_s| Sample { at_s, velocity: velocity(at_s) }).collect()
    }

    #[test]
    fn the_time_constant_that_made_the_stop_is_found() {
        for tau_s in [0.7, 1.4, 3.0, 5.0] {
            for late_s in [-1.3, 0.0, 2.2] {
                let fitted = fit(&stop(tau_s, late_s)).expect("enough seconds");
                assert!((fitted.ln_tau - tau_s.ln()).abs() < 0.4, "{tau_s} {late_s}: {fitted:?}");
                assert!((fitted.from_mps - 2.0).abs() < 0.15, "{fitted:?}");
                assert!((fitted.to_mps - 0.2).abs() < 0.15, "{fitted:?}");
                assert_eq!(fitted.sharp > 0.0, tau_s < SHARP_S, "{tau_s}: {fitted:?}");
            }
        }
    }

    #[test]
    fn too_few_seconds_say_nothing_and_steady_sailing_does_not_trip_it() {
        assert_eq!(fit(&stop(1.0, 0.0)[..4]), None);
        let steady = [Sample { at_s: 0.0, velocity: (0.0, 2.0) }; 12];
        assert!(fit(&steady).is_none_or(|decay| decay.ln_tau.is_finite() && decay.sharp.is_finite()));
    }
}
