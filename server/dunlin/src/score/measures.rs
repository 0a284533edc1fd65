//! The figures of one or many sessions, as counts and delays that can be added up.

use std::collections::BTreeMap;

use serde::Serialize;

/// Found out of asked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Share {
    /// How many were found.
    pub found: u64,
    /// How many there were.
    pub of: u64,
}

impl Share {
    /// Counts one more.
    pub fn note(&mut self, found: bool) {
        self.found += u64::from(found);
        self.of += 1;
    }

    /// `None` when there were none.
    pub fn ratio(self) -> Option<f64> {
        (self.of > 0).then(|| self.found as f64 / self.of as f64)
    }

    /// Adds another's counts.
    pub fn add(&mut self, other: Share) {
        self.found += other.found;
        self.of += other.of;
    }
}

/// Right, false and missed reports of one kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Matched {
    /// Reported and true.
    pub right: u64,
    /// Reported and not true.
    pub wrong: u64,
    /// True and not reported.
    pub missed: u64,
}

impl Matched {
    /// Share of reports that are true.
    pub fn precision(self) -> Option<f64> {
        Share { found: self.right, of: self.right + self.wrong }.ratio()
    }

    /// Share of the truth that was reported.
    pub fn recall(self) -> Option<f64> {
        Share { found: self.right, of: self.right + self.missed }.ratio()
    }

    fn add(&mut self, other: Matched) {
        self.right += other.right;
        self.wrong += other.wrong;
        self.missed += other.missed;
    }
}

/// Wind direction errors of one basis.
#[derive(Clone, Debug, Default, Serialize)]
pub struct WindErrors {
    /// Absolute error of each line, degrees.
    pub errors_deg: Vec<f64>,
    /// Lines whose error is within the stated standard deviation.
    pub within_sd: Share,
}

/// One bin of the reliability table: alerts that stated a probability in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Bin {
    /// How many.
    pub n: u64,
    /// How many were true.
    pub true_n: u64,
    /// Sum of the stated probabilities.
    pub stated: f64,
}

/// Stated probabilities against what was true.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Calibration {
    /// Ten bins, 0.0..0.1 first.
    pub bins: [Bin; 10],
    /// Sum of squared differences between stated and true (0 or 1).
    pub squares: f64,
}

impl Calibration {
    /// Takes one statement.
    pub fn note(&mut self, stated: f64, is_true: bool) {
        let bin = &mut self.bins[((stated * 10.0) as usize).min(9)];
        bin.n += 1;
        bin.true_n += u64::from(is_true);
        bin.stated += stated;
        self.squares += (stated - f64::from(u8::from(is_true))).powi(2);
    }

    /// Mean squared difference (Brier 1950); `None` without statements.
    pub fn brier(&self) -> Option<f64> {
        let n: u64 = self.bins.iter().map(|bin| bin.n).sum();
        (n > 0).then(|| self.squares / n as f64)
    }

    fn add(&mut self, other: &Calibration) {
        for (bin, more) in self.bins.iter_mut().zip(other.bins) {
            bin.n += more.n;
            bin.true_n += more.true_n;
            bin.stated += more.stated;
        }
        self.squares += other.squares;
    }
}

/// One threshold of the working-point curve.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct CurvePoint {
    /// Capsizes with a living feed found within 60 s by an alert of at least this confidence.
    pub found_60: Share,
    /// Alerts that reached it with nobody capsized.
    pub false_n: u64,
}

/// The thresholds of the curve.
pub const THRESHOLDS: [f64; 14] = [0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 0.98, 0.99];

/// Something to look at: a miss or a false alert.
#[derive(Clone, Debug, Serialize)]
pub struct Finding {
    /// Scenario and seed.
    pub session: String,
    /// Whose.
    pub boat: String,
    /// When, RFC 3339.
    pub t: String,
    /// `missed` or `false`, of what, and why.
    pub what: String,
    /// The true cause.
    pub cause: String,
}

/// Every figure, before division.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Measures {
    /// Sessions added up.
    pub sessions: u64,
    /// Dinghies' hours between launch and landing.
    pub boat_hours: f64,
    /// Capsizes that were no drill.
    pub capsizes: u64,
    /// Lasting 60 s or more with the feed alive: at warning or above while it lasts.
    pub long_alive: Share,
    /// All capsizes: any alert of any kind while it lasts.
    pub any_alert: Share,
    /// Feed alive: at warning or above within 30 s of the start.
    pub within_30: Share,
    /// Likewise 60 s.
    pub within_60: Share,
    /// Seconds from the start to warning or above, feed alive.
    pub delays_s: Vec<f64>,
    /// Feed alive and a sound heel sensor: found at warning or above.
    pub with_heel: Share,
    /// And their delays.
    pub heel_delays_s: Vec<f64>,
    /// Capsizes on purpose that were seen at warning or above.
    pub drills: Share,
    /// Seconds from righted until no longer at warning.
    pub clear_s: Vec<f64>,
    /// Seconds from under way again until no longer at warning.
    pub clear_after_sailing_s: Vec<f64>,
    /// False capsize alerts at warning or above, by true cause.
    pub false_warnings: BTreeMap<String, u64>,
    /// False capsize cautions that never grew, by true cause.
    pub false_cautions: BTreeMap<String, u64>,
    /// Seconds at warning or above in a false capsize alert, or 60 s past sailing on.
    pub false_seconds: f64,
    /// Those of them in which her feed told where she was.
    pub false_seconds_heard: f64,
    /// All alerts raised, by kind and first level.
    pub raised: BTreeMap<String, u64>,
    /// Area exits found.
    pub exits: Share,
    /// The same of boats whose feed told where they were as they crossed.
    pub exits_heard: Share,
    /// Their delays from the true crossing, s; negative: before it.
    pub exit_delays_s: Vec<f64>,
    /// Alerts with nobody outside.
    pub exit_false: u64,
    /// No-go entries found.
    pub no_go: Share,
    /// Likewise of boats that were heard.
    pub no_go_heard: Share,
    /// Delays.
    pub no_go_delays_s: Vec<f64>,
    /// Alerts with nobody inside.
    pub no_go_false: u64,
    /// Boats that drifted over a boundary after 60 s of drifting: announced 45 s before.
    pub drift_45: Share,
    /// Likewise of boats that were heard all that minute.
    pub drift_45_heard: Share,
    /// Seconds of warning before the crossing (0 when none).
    pub drift_leads_s: Vec<f64>,
    /// Announcements of a crossing that did not follow within five minutes.
    pub drift_false: u64,
    /// Silences of 60 s or more: reported as lost contact.
    pub lost: Share,
    /// Delay from the last line heard.
    pub lost_delays_s: Vec<f64>,
    /// Lost contact with lines arriving.
    pub lost_false: u64,
    /// Frozen trackers of moving boats noticed within 60 s of freezing, or of being heard again.
    pub frozen: Share,
    /// Frozen trackers reported that were not.
    pub frozen_false: u64,
    /// People overboard with a beacon: reported within 60 s of its first message.
    pub overboard: Share,
    /// Lying vanes reported within ten minutes.
    pub vanes: Share,
    /// Vanes reported that did not lie.
    pub vanes_false: u64,
    /// Tacks.
    pub tacks: Matched,
    /// Gybes.
    pub gybes: Matched,
    /// Roundings with mark and hand.
    pub roundings: Matched,
    /// True tacks, gybes and meant roundings of boats that were heard meanwhile: told.
    pub tacks_heard: Share,
    /// See `tacks_heard`.
    pub gybes_heard: Share,
    /// See `tacks_heard`.
    pub roundings_heard: Share,
    /// By basis.
    pub wind: BTreeMap<String, WindErrors>,
    /// Confidence of capsize alerts when raised.
    pub at_raise: Calibration,
    /// One entry for each of [`THRESHOLDS`].
    pub curve: [CurvePoint; THRESHOLDS.len()],
    /// What to look at.
    pub findings: Vec<Finding>,
}

impl Measures {
    /// Adds another's counts.
    pub fn add(&mut self, other: &Measures) {
        self.sessions += other.sessions;
        self.boat_hours += other.boat_hours;
        self.capsizes += other.capsizes;
        for (mine, more) in [
            (&mut self.long_alive, other.long_alive),
            (&mut self.any_alert, other.any_alert),
            (&mut self.within_30, other.within_30),
            (&mut self.within_60, other.within_60),
            (&mut self.with_heel, other.with_heel),
            (&mut self.drills, other.drills),
            (&mut self.exits, other.exits),
            (&mut self.exits_heard, other.exits_heard),
            (&mut self.no_go, other.no_go),
            (&mut self.no_go_heard, other.no_go_heard),
            (&mut self.drift_45, other.drift_45),
            (&mut self.drift_45_heard, other.drift_45_heard),
            (&mut self.tacks_heard, other.tacks_heard),
            (&mut self.gybes_heard, other.gybes_heard),
            (&mut self.roundings_heard, other.roundings_heard),
            (&mut self.lost, other.lost),
            (&mut self.frozen, other.frozen),
            (&mut self.overboard, other.overboard),
            (&mut self.vanes, other.vanes),
        ] {
            mine.add(more);
        }
        for (mine, more) in [
            (&mut self.delays_s, &other.delays_s),
            (&mut self.heel_delays_s, &other.heel_delays_s),
            (&mut self.clear_s, &other.clear_s),
            (&mut self.clear_after_sailing_s, &other.clear_after_sailing_s),
            (&mut self.exit_delays_s, &other.exit_delays_s),
            (&mut self.no_go_delays_s, &other.no_go_delays_s),
            (&mut self.drift_leads_s, &other.drift_leads_s),
            (&mut self.lost_delays_s, &other.lost_delays_s),
        ] {
            mine.extend_from_slice(more);
        }
        for (mine, more) in [
            (&mut self.false_warnings, &other.false_warnings),
            (&mut self.false_cautions, &other.false_cautions),
            (&mut self.raised, &other.raised),
        ] {
            for (cause, n) in more {
                *mine.entry(cause.clone()).or_default() += n;
            }
        }
        self.false_seconds += other.false_seconds;
        self.false_seconds_heard += other.false_seconds_heard;
        self.exit_false += other.exit_false;
        self.no_go_false += other.no_go_false;
        self.drift_false += other.drift_false;
        self.lost_false += other.lost_false;
        self.frozen_false += other.frozen_false;
        self.vanes_false += other.vanes_false;
        self.tacks.add(other.tacks);
        self.gybes.add(other.gybes);
        self.roundings.add(other.roundings);
        for (basis, more) in &other.wind {
            let mine = self.wind.entry(basis.clone()).or_default();
            mine.errors_deg.extend_from_slice(&more.errors_deg);
            mine.within_sd.add(more.within_sd);
        }
        self.at_raise.add(&other.at_raise);
        for (mine, more) in self.curve.iter_mut().zip(other.curve) {
            mine.found_60.add(more.found_60);
            mine.false_n += more.false_n;
        }
        self.findings.extend_from_slice(&other.findings);
    }

    /// `n` per boat-hour; `None` without boat-hours.
    pub fn per_hour(&self, n: f64) -> Option<f64> {
        (self.boat_hours > 0.0).then(|| n / self.boat_hours)
    }
}

/// The `share` quantile (nearest rank); `None` of nothing.
pub fn quantile(values: &[f64], share: f64) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let rank = (share * sorted.len() as f64).ceil() as usize;
    sorted.get(rank.max(1) - 1).copied()
}
