//! What a heel sensor says, and how far it is to be believed.
//!
//! A phone fixed in a boat shows her heel; one in a pocket or knocked loose shows anything. Whether
//! hers is honest is learned, separately under each condition: a sensor that cried wolf while she
//! sailed on at four knots is not believed later, and one that shows 3 degrees does not prove that
//! a boat is upright if it may be in somebody's hand.

use super::{density::ln_normal, model::Condition};

/// Chance that a sensor not yet known is fixed to the boat (reasoned: crews are told to, most do).
const HONEST_AT_FIRST: f64 = 0.95;
/// On the beach sensors are being fitted, carried and turned over.
const HONEST_ASHORE: f64 = 0.3;
/// Honesty is forgotten towards [`HONEST_AT_FIRST`] with this time constant, s: sensors get knocked
/// and put right.
const HONESTY_MEMORY_S: f64 = 900.0;
/// Never surer than this either way.
const HONESTY: (f64, f64) = (0.01, 0.995);
/// A sensor that shows small heel while she sails earns trust with this time constant, s: a loose one
/// would point anywhere.
const TRUST_S: f64 = 120.0;
/// Small heel, degrees.
const SMALL_DEG: f64 = 40.0;
/// A dishonest sensor stays about where it was with this spread, degrees per root second, ...
const LOOSE_DEG: f64 = 12.0;
/// ... or, with this chance a second, shows anything at all.
const LOOSE_ANY: f64 = 0.05;
/// Readings that repeat exactly so often are a frozen sensor's: no evidence of anything.
const FROZEN_AFTER: u32 = 8;
/// Heel settles with this time constant, s: a capsize takes a second or two.
const SETTLE_S: f64 = 1.2;
/// Share of readings that fit no model.
const ODD: f64 = 0.03;

/// Mean and spread of |heel|, degrees. Capsized: on her side with the mast awash, 75 and more, to
/// 180 upside down. Sailing dinghies are kept under some 30 (practice; in the recordings 95 % of
/// readings under sail are below 25). In a turn or a knockdown more.
fn usual(condition: Condition) -> (f64, f64) {
    match condition {
        Condition::Capsized => (100.0, 28.0),
        Condition::Sailing => (8.0, 13.0),
        Condition::Manoeuvring => (12.0, 24.0),
        Condition::Righted => (10.0, 18.0),
        _ => (5.0, 11.0),
    }
}

/// Learned honesty and the last reading.
#[derive(Clone, Debug)]
pub(crate) struct Heel {
    honest: [f64; Condition::COUNT],
    last: Option<f64>,
    repeats: u32,
}

fn honest_at_first(condition: Condition) -> f64 {
    match condition {
        Condition::Ashore => HONEST_ASHORE,
        _ => HONEST_AT_FIRST,
    }
}

impl Heel {
    pub(crate) fn new() -> Heel {
        Heel { honest: Condition::ALL.map(honest_at_first), last: None, repeats: 0 }
    }

    /// ln likelihood of `heel_deg` by condition, `dt_s` after the reading before. Zeros when there
    /// is none or the sensor is frozen.
    pub(crate) fn told(
        &mut self,
        heel_deg: Option<f64>,
        dt_s: f64,
        shares: impl Fn(Condition) -> f64,
    ) -> [f64; Condition::COUNT] {
        let mut ln = [0.0; Condition::COUNT];
        let Some(heel) = heel_deg.map(f64::abs) else {
            return ln;
        };
        let Some(last) = self.last.replace(heel) else {
            return ln;
        };
        self.repeats = if heel == last { self.repeats + 1 } else { 0 };
        if self.repeats >= FROZEN_AFTER {
            return ln;
        }
        if heel < SMALL_DEG {
            let gain = shares(Condition::Sailing) * (1.0 - (-dt_s / TRUST_S).exp());
            for honest in &mut self.honest {
                *honest += gain * (HONESTY.1 - *honest);
            }
        }
        let keep = (-dt_s / SETTLE_S).exp();
        let loose = loose_density(heel, last, dt_s);
        // Beliefs mix as conditions do: each keeps most of its own view of the sensor.
        let mean: f64 = Condition::ALL.iter().map(|&c| shares(c) * self.honest[c.ix()]).sum();
        let forget = (-dt_s / HONESTY_MEMORY_S).exp();
        for condition in Condition::ALL {
            let ix = condition.ix();
            let (middle, spread) = usual(condition);
            let var = (spread * spread * (1.0 - keep * keep)).max(9.0);
            let fixed = (1.0 - ODD) * folded(heel, middle + keep * (last - middle), var) + ODD / 180.0;
            // A condition of no weight has no view of its own.
            let own = shares(condition) / (shares(condition) + 1e-4);
            let prior = own * self.honest[ix] + (1.0 - own) * mean;
            let first = honest_at_first(condition);
            let prior = if prior > first { prior } else { first + forget * (prior - first) };
            let density = prior * fixed + (1.0 - prior) * loose;
            self.honest[ix] = (prior * fixed / density).clamp(HONESTY.0, HONESTY.1);
            ln[ix] = density.ln();
        }
        ln
    }
}

/// A normal density of |heel| folded at both ends of 0..=180.
fn folded(heel: f64, mean: f64, var: f64) -> f64 {
    [heel, -heel, 360.0 - heel].into_iter().map(|x| ln_normal(x, mean, var).exp()).sum()
}

fn loose_density(heel: f64, last: f64, dt_s: f64) -> f64 {
    let any = 1.0 - (1.0 - LOOSE_ANY).powf(dt_s);
    (1.0 - any) * folded(heel, last, LOOSE_DEG * LOOSE_DEG * dt_s.min(30.0)) + any / 180.0
}
