//! Chance, all of it from one seed: named streams, so that adding a draw in one place moves no other.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// One stream of chance. The same seed and name give the same draws on every machine.
#[derive(Clone, Debug)]
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    /// A stream of its own for `name` (and `index` within it) under `seed`.
    pub(crate) fn new(seed: u64, name: &str, index: usize) -> Dice {
        // FNV-1a (Fowler, Noll, Vo) spreads the name over 64 bits; ChaCha does the rest.
        let mut hash = 0xcbf2_9ce4_8422_2325_u64;
        for byte in name.bytes().chain((index as u64).to_le_bytes()) {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        Dice(ChaCha8Rng::seed_from_u64(seed ^ hash.rotate_left(17)))
    }

    /// Uniform in `0.0..1.0`.
    pub(crate) fn unit(&mut self) -> f64 {
        self.0.random::<f64>()
    }

    /// Uniform in `low..high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Normal with mean 0 and standard deviation 1 (Box and Muller 1958).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// Log-normal with the given median; `spread` is the standard deviation of the logarithm.
    pub(crate) fn log_normal(&mut self, median: f64, spread: f64) -> f64 {
        median * (spread * self.normal()).exp()
    }

    /// True with probability `p`.
    pub(crate) fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// True with probability `rate * dt`: an event of a Poisson process with `per_hour` events an hour.
    pub(crate) fn happens(&mut self, per_hour: f64, dt_s: f64) -> bool {
        per_hour > 0.0 && self.unit() < per_hour * dt_s / 3600.0
    }

    /// One of `0..n`; 0 when `n` is 0.
    pub(crate) fn pick(&mut self, n: usize) -> usize {
        ((self.unit() * n as f64) as usize).min(n.saturating_sub(1))
    }

    /// +1 or -1.
    pub(crate) fn sign(&mut self) -> f64 {
        if self.chance(0.5) { 1.0 } else { -1.0 }
    }
}

/// A first-order Gauss-Markov process: noise that remembers itself for about `tau_s` seconds.
#[derive(Clone, Debug)]
pub(crate) struct Wander {
    /// The present value, in the unit of `sd`.
    pub(crate) value: f64,
    sd: f64,
    tau_s: f64,
}

impl Wander {
    /// A process already in its steady state.
    pub(crate) fn new(sd: f64, tau_s: f64, dice: &mut Dice) -> Wander {
        Wander { value: sd * dice.normal(), sd, tau_s }
    }

    /// Lets `dt_s` seconds pass (exact discretisation) and returns the new value.
    pub(crate) fn step(&mut self, dt_s: f64, dice: &mut Dice) -> f64 {
        let keep = (-dt_s / self.tau_s).exp();
        self.value = keep * self.value + self.sd * (1.0 - keep * keep).sqrt() * dice.normal();
        self.value
    }
}
