//! From probability to alert: when telling costs less than waiting.
//!
//! A needless warning costs the crew of the safety boat a look and some trust; a minute's delay at
//! a capsize costs more the longer it lasts. So the probability asked for falls as a stop goes on,
//! and a warning that has stood becomes an alarm.

use crate::{effect::Level, moment::Moment};

/// Probability for a caution.
pub(crate) const CAUTION: f64 = 0.21;
/// Probability for a warning when the stop is new, and after [`PATIENCE_S`] more (chosen on tuning seeds; what other
/// prices cost is told in `docs/belief.md`).
pub(crate) const WARNING: (f64, f64) = (0.48, 0.38);
/// Probability for an alarm: at 0.90 a boat that stopped dead waited too long for it (`docs/belief.md`, the nets).
pub(crate) const ALARM: f64 = 0.83;
/// Over this time the asking price falls from the first to the second value, s.
pub(crate) const PATIENCE_S: f64 = 60.0;
/// A warning that stood so long becomes an alarm, s: nothing has explained the stop.
pub(crate) const UNEXPLAINED_S: f64 = 45.0;
/// An alert ends when the probability is below this.
pub(crate) const CLEAR: f64 = 0.12;
/// And steps back to a caution below this.
pub(crate) const EASE: f64 = 0.2;

/// The probability that alerts go by: the belief averaged over the last seconds, so that one odd
/// second, a lurch in a tack, says nothing; but near proof (a mast in the water) does not wait.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Smoothed {
    value: f64,
    at: Option<Moment>,
}

/// Averaged over this time, s.
const SMOOTH_S: f64 = 4.0;
/// A boat that makes way again is up: that is believed within this time, s.
const UP_S: f64 = 2.5;
/// So little probability means that she makes way.
const UP: f64 = 0.03;
/// Near proof.
const PROOF: f64 = 0.85;

impl Smoothed {
    /// Takes the belief's probability of `now` in and gives the smoothed one.
    pub(crate) fn take(&mut self, now: Moment, probability: f64) -> f64 {
        let dt_s = self.at.map_or(0.0, |at| now.s_since(at)).max(0.0);
        self.at = Some(now);
        let over_s = if probability < UP { UP_S } else { SMOOTH_S };
        let gain = 1.0 - (-dt_s / over_s).exp();
        self.value += gain * (probability - self.value);
        if probability > PROOF {
            self.value = self.value.max(probability);
        }
        self.value
    }

    /// The smoothed probability.
    pub(crate) fn value(self) -> f64 {
        self.value
    }
}

/// The level that stands, and since when.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Standing {
    pub level: Level,
    pub began: Moment,
    pub since: Moment,
}

/// None --CAUTION--> Caution --WARNING--> Warning --ALARM or UNEXPLAINED_S--> Alarm;
/// any --below EASE--> Caution --below CLEAR--> None.
pub(crate) fn step(
    standing: Option<Standing>,
    now: Moment,
    probability: f64,
    stopped_s: f64,
) -> Option<Standing> {
    let patience = (stopped_s / PATIENCE_S).clamp(0.0, 1.0);
    let warning = WARNING.0 + (WARNING.1 - WARNING.0) * patience;
    let asked = if probability >= ALARM {
        Some(Level::Alarm)
    } else if probability >= warning {
        Some(Level::Warning)
    } else if probability >= CAUTION {
        Some(Level::Caution)
    } else {
        None
    };
    let began = now.plus_ms((-stopped_s * 1000.0) as i64);
    match (standing, asked) {
        (None, None) => None,
        (None, Some(level)) => Some(Standing { level, began, since: now }),
        (Some(_), _) if probability < CLEAR => None,
        (Some(old), _) if probability < EASE && old.level > Level::Caution => {
            Some(Standing { level: Level::Caution, since: now, ..old })
        }
        (Some(old), Some(level)) if level > old.level => Some(Standing { level, since: now, ..old }),
        (Some(old), _) if old.level == Level::Warning && now.s_since(old.since) >= UNEXPLAINED_S => {
            Some(Standing { level: Level::Alarm, since: now, ..old })
        }
        (Some(old), _) => Some(old),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_rise_with_probability_and_time_and_fall_only_when_it_is_over() {
        let at = |s: i64| Moment(s * 1000);
        let of = |level: Level, since: i64| Some(Standing { level, began: at(0), since: at(since) });
        for (standing, now, probability, expected) in [
            (None, 0, 0.20, None),
            (None, 0, 0.35, Some(Level::Caution)),
            (None, 0, 0.65, Some(Level::Warning)),
            (None, 0, 0.95, Some(Level::Alarm)),
            (of(Level::Caution, 0), 5, 0.18, Some(Level::Caution)), // kept: between the limits
            (of(Level::Warning, 0), 44, 0.40, Some(Level::Warning)),
            (of(Level::Warning, 0), 45, 0.40, Some(Level::Alarm)), // unexplained for 45 s
            (of(Level::Alarm, 0), 5, 0.18, Some(Level::Caution)),
            (of(Level::Alarm, 0), 5, 0.11, None),
        ] {
            let got = step(standing, at(now), probability, 0.0).map(|standing| standing.level);
            assert_eq!(got, expected, "{standing:?} at {now} s with {probability}");
        }
    }
}
