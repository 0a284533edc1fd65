//! Fixes that never came: a phone in the water is heard worse than one in the boat.
//!
//! What counts is how many more are missing since she stopped than while she sailed: a feed with holes in it
//! always had them. A whole silence is told apart from this (`Conditions::wait`).

/// The rhythm is the median time between fixes; it is followed in steps of this share.
const RHYTHM_STEP: f64 = 0.04;
/// Share of fixes missing from any feed, before more is known: some must be, or one gap would be a miracle.
const USUAL: f64 = 0.02;
/// Her usual share is learned over so many fixes.
const LEARN: f64 = 300.0;
/// So many fixes of her usual kind are counted in: a few seconds prove nothing.
const SHRINK: f64 = 8.0;
/// One gap counts for so many fixes at most: a dead spot is not news every second.
const GAP_MOST: f64 = 3.0;
/// Fixes since the stop are counted up to here; then older ones fade.
const COUNT_MOST: f64 = 60.0;

/// Share of that which is believed: a boat that waits in a dead spot loses fixes too (reasoned).
const TRUST: f64 = 0.5;
/// And no more than this, as a ln likelihood ratio.
const MOST: f64 = 1.0;

/// Missing fixes, before and since the stop.
#[derive(Clone, Debug)]
pub(crate) struct Gaps {
    /// Usual time between fixes, s.
    pub(crate) rhythm_s: f64,
    usual: f64,
    due: f64,
    missing: f64,
}

impl Default for Gaps {
    fn default() -> Gaps {
        Gaps { rhythm_s: 1.0, usual: 0.0, due: 0.0, missing: 0.0 }
    }
}

impl Gaps {
    /// A fix came `dt_s` after the one before.
    pub(crate) fn see(&mut self, dt_s: f64, stopped: bool) {
        let missing = ((dt_s / self.rhythm_s).round() - 1.0).clamp(0.0, GAP_MOST);
        self.rhythm_s *= if dt_s > self.rhythm_s { 1.0 + RHYTHM_STEP } else { 1.0 - RHYTHM_STEP };
        let due = missing + 1.0;
        if stopped {
            let kept = (1.0 - due / COUNT_MOST).clamp(0.0, 1.0);
            let kept = if self.due + due > COUNT_MOST { kept } else { 1.0 };
            self.due = self.due * kept + due;
            self.missing = self.missing * kept + missing;
        } else {
            (self.due, self.missing) = (0.0, 0.0);
            self.usual += (missing / due - self.usual) * (due / LEARN).min(1.0);
        }
    }

    /// What the missing ones say for a capsize, as a ln likelihood ratio: nothing while no more are missing
    /// than usual, for many a phone is heard from the water as well as from the boat.
    pub(crate) fn ln_ratio(&self) -> f64 {
        let usual = self.usual + USUAL;
        let times = (self.missing + SHRINK * usual) / ((self.due + SHRINK) * usual);
        (TRUST * times.ln()).clamp(0.0, MOST)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fed(before: &[f64], since: &[f64]) -> f64 {
        let mut gaps = Gaps::default();
        before.iter().cycle().take(300).for_each(|dt_s| gaps.see(*dt_s, false));
        since.iter().cycle().take(30).for_each(|dt_s| gaps.see(*dt_s, true));
        gaps.ln_ratio()
    }

    #[test]
    fn more_missing_than_usual_is_a_sign_and_the_usual_is_none() {
        let (whole, holed) = ([1.0], [1.0, 1.0, 1.0, 2.0]);
        assert!(fed(&whole, &holed) > 0.5);
        assert_eq!(fed(&whole, &whole), 0.0);
        assert!(fed(&holed, &holed) < 0.25);
        // A slow feed is a slow feed.
        assert_eq!(fed(&[5.0], &[5.0]), 0.0);
    }
}
