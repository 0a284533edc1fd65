//! The table of figures with the goals beside them.

use super::measures::{Measures, THRESHOLDS, quantile};

/// One row: a figure's name, its goal in words, and its value for one watch.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Stable key for floors.
    pub key: &'static str,
    /// What it is.
    pub name: &'static str,
    /// What it should be.
    pub goal: &'static str,
    /// Whether more is better.
    pub up: bool,
    /// `None`: nothing to measure.
    pub value: Option<f64>,
}

/// All figures of the table.
pub fn rows(m: &Measures) -> Vec<Row> {
    let row = |key, name, goal, up, value| Row { key, name, goal, up, value };
    let sum = |counts: &std::collections::BTreeMap<String, u64>| counts.values().sum::<u64>() as f64;
    let wind = |basis: &str, share: f64| m.wind.get(basis).and_then(|wind| quantile(&wind.errors_deg, share));
    let honest = |basis: &str| m.wind.get(basis).and_then(|wind| wind.within_sd.ratio());
    vec![
        row(
            "long-alive",
            "capsizes of 60 s or more, feed alive, at warning or above",
            "0.99",
            true,
            m.long_alive.ratio(),
        ),
        row("any-alert", "all capsizes, some alert while it lasts", "0.98", true, m.any_alert.ratio()),
        row("within-30", "capsizes with a living feed, within 30 s", "0.85", true, m.within_30.ratio()),
        row("within-60", "likewise within 60 s", "0.95", true, m.within_60.ratio()),
        row("delay-median", "delay, median, s", "12", false, quantile(&m.delays_s, 0.5)),
        row("delay-p90", "delay, p90, s", "30", false, quantile(&m.delays_s, 0.9)),
        row("delay-max", "delay, longest, s", "-", false, quantile(&m.delays_s, 1.0)),
        row("heel-found", "with heel: found", "0.99", true, m.with_heel.ratio()),
        row("heel-delay", "with heel: delay, median, s", "5", false, quantile(&m.heel_delays_s, 0.5)),
        row(
            "false",
            "false capsize alerts at warning or above, per boat-hour",
            "0.10",
            false,
            m.per_hour(sum(&m.false_warnings)),
        ),
        row(
            "cautions",
            "false capsize cautions, per boat-hour",
            "1",
            false,
            m.per_hour(sum(&m.false_cautions)),
        ),
        row(
            "false-seconds",
            "seconds per boat-hour in a false capsize alert",
            "10",
            false,
            m.per_hour(m.false_seconds),
        ),
        row("false-seconds-heard", "of boats that were heard", "-", false, m.per_hour(m.false_seconds_heard)),
        row("clear-median", "cleared after righting, median, s", "20", false, quantile(&m.clear_s, 0.5)),
        row("clear-p90", "cleared after righting, p90, s", "45", false, quantile(&m.clear_s, 0.9)),
        row(
            "clear-sailing",
            "cleared after sailing on, median, s",
            "-",
            false,
            quantile(&m.clear_after_sailing_s, 0.5),
        ),
        row("exits", "area exits found", "1.00", true, m.exits.ratio()),
        row("exits-heard", "of boats that were heard", "-", true, m.exits_heard.ratio()),
        row("exit-delay", "area exit delay, median, s", "-", false, quantile(&m.exit_delays_s, 0.5)),
        row(
            "exit-false",
            "false area alerts, per boat-hour",
            "0.005",
            false,
            m.per_hour(m.exit_false as f64),
        ),
        row("no-go", "no-go entries found", "1.00", true, m.no_go.ratio()),
        row("no-go-heard", "of boats that were heard", "-", true, m.no_go_heard.ratio()),
        row("no-go-delay", "no-go delay, median, s", "-", false, quantile(&m.no_go_delays_s, 0.5)),
        row(
            "no-go-false",
            "false no-go alerts, per boat-hour",
            "0.005",
            false,
            m.per_hour(m.no_go_false as f64),
        ),
        row("drift-45", "drifts over a boundary announced 45 s before", "0.90", true, m.drift_45.ratio()),
        row("drift-45-heard", "of boats that were heard", "-", true, m.drift_45_heard.ratio()),
        row("drift-lead", "lead, median, s", "-", true, quantile(&m.drift_leads_s, 0.5)),
        row(
            "drift-false",
            "announced and not crossed in 5 min, per boat-hour",
            "-",
            false,
            m.per_hour(m.drift_false as f64),
        ),
        row("lost", "lost contact found", "1.00", true, m.lost.ratio()),
        row("lost-delay", "lost contact delay, median, s", "30", false, quantile(&m.lost_delays_s, 0.5)),
        row(
            "lost-false",
            "false lost contact, per boat-hour",
            "0.005",
            false,
            m.per_hour(m.lost_false as f64),
        ),
        row("frozen", "frozen trackers noticed within 60 s", "1.00", true, m.frozen.ratio()),
        row(
            "frozen-false",
            "false frozen trackers, per boat-hour",
            "-",
            false,
            m.per_hour(m.frozen_false as f64),
        ),
        row("overboard", "beacons of people overboard within 60 s", "1.00", true, m.overboard.ratio()),
        row("vanes", "lying vanes reported within 10 min", "-", true, m.vanes.ratio()),
        row(
            "vanes-false",
            "sound vanes called liars, per boat-hour",
            "-",
            false,
            m.per_hour(m.vanes_false as f64),
        ),
        row("tack-precision", "tack precision", "0.97", true, m.tacks.precision()),
        row("tack-recall", "tack recall", "0.97", true, m.tacks.recall()),
        row("tack-heard", "of boats that were heard", "-", true, m.tacks_heard.ratio()),
        row("gybe-precision", "gybe precision", "0.92", true, m.gybes.precision()),
        row("gybe-recall", "gybe recall", "0.92", true, m.gybes.recall()),
        row("gybe-heard", "of boats that were heard", "-", true, m.gybes_heard.ratio()),
        row("rounding-precision", "rounding precision", "0.97", true, m.roundings.precision()),
        row("rounding-recall", "rounding recall", "0.97", true, m.roundings.recall()),
        row("rounding-heard", "of boats that were heard", "-", true, m.roundings_heard.ratio()),
        row(
            "wind-instrument",
            "wind direction error, instrument, median, deg",
            "3",
            false,
            wind("instrument", 0.5),
        ),
        row(
            "wind-instrument-sd",
            "share within the stated sd, instrument",
            "0.68",
            true,
            honest("instrument"),
        ),
        row("wind-fleet", "wind direction error, fleet alone, median, deg", "6", false, wind("fleet", 0.5)),
        row("wind-fleet-sd", "share within the stated sd, fleet", "0.68", true, honest("fleet")),
        row("brier", "Brier score of capsize alerts when raised", "-", false, m.at_raise.brier()),
    ]
}

/// A number for a table; a dash for none.
pub fn figure(value: Option<f64>) -> String {
    match value {
        None => "-".into(),
        Some(value) if value.abs() >= 100.0 => format!("{value:.0}"),
        Some(value) if value.abs() >= 10.0 => format!("{value:.1}"),
        Some(value) => format!("{value:.3}"),
    }
}

/// The main table; `beside` is another watch in the same sessions.
pub fn table(m: &Measures, beside: Option<(&str, &Measures)>) -> String {
    let mut text = format!(
        "{} sessions, {:.0} boat-hours afloat, {} capsizes\n\n| figure | goal | dunlin |{}\n| --- | --- | --- |{}\n",
        m.sessions,
        m.boat_hours,
        m.capsizes,
        beside.map(|(name, _)| format!(" {name} |")).unwrap_or_default(),
        if beside.is_some() { " --- |" } else { "" }
    );
    let other = beside.map(|(_, other)| rows(other));
    for (i, row) in rows(m).iter().enumerate() {
        let naive = other.as_ref().map(|rows| format!(" {} |", figure(rows[i].value))).unwrap_or_default();
        text += &format!("| {} | {} | {} |{naive}\n", row.name, row.goal, figure(row.value));
    }
    text
}

/// False alerts by cause, the reliability table and the curve.
pub fn details(m: &Measures) -> String {
    let mut text =
        String::from("\nFalse capsize alerts by true cause (warning or above; cautions that never grew)\n");
    let mut causes: Vec<&String> = m.false_warnings.keys().chain(m.false_cautions.keys()).collect();
    causes.sort();
    causes.dedup();
    for cause in causes {
        let count =
            |counts: &std::collections::BTreeMap<String, u64>| counts.get(cause).copied().unwrap_or(0);
        text += &format!("  {cause:24} {:5} {:5}\n", count(&m.false_warnings), count(&m.false_cautions));
    }
    text += "\nAlerts raised, by kind and first level\n";
    for (kind, n) in &m.raised {
        text += &format!("  {kind:32} {n:6}  {} per boat-hour\n", figure(m.per_hour(*n as f64)));
    }
    if m.at_raise.brier().is_some() {
        text += "\nReliability of capsize alerts when raised: stated, true, how many\n";
        for bin in m.at_raise.bins.iter().filter(|bin| bin.n > 0) {
            let n = bin.n as f64;
            text += &format!("  {:.2}  {:.2}  {}\n", bin.stated / n, bin.true_n as f64 / n, bin.n);
        }
        text += "\nWorking points: confidence threshold, found within 60 s, false per boat-hour\n";
        for (threshold, point) in THRESHOLDS.iter().zip(m.curve) {
            text += &format!(
                "  {threshold:.2}  {}  {}\n",
                figure(point.found_60.ratio()),
                figure(m.per_hour(point.false_n as f64))
            );
        }
    }
    text
}

/// How many misses and false alerts of each kind there are, by true cause.
pub fn remaining(m: &Measures) -> String {
    let mut counts: std::collections::BTreeMap<(String, &str), u64> = std::collections::BTreeMap::new();
    for finding in &m.findings {
        // "missed capsize of 125 s, feed alive": the kind without its numbers.
        let kind: Vec<&str> =
            finding.what.split(' ').filter(|word| !word.chars().any(|c| c.is_ascii_digit())).collect();
        *counts.entry((kind.join(" "), &finding.cause)).or_default() += 1;
    }
    let mut text = String::from("\nWhat remains: misses and false alerts by true cause\n");
    for ((kind, cause), n) in counts {
        text += &format!("  {n:5}  {kind} ({cause})\n");
    }
    text
}

/// The misses and false alerts, one a line.
pub fn findings(m: &Measures) -> String {
    m.findings
        .iter()
        .map(|f| format!("{} boat {} {}: {} ({})\n", f.session, f.boat, f.t, f.what, f.cause))
        .collect()
}
