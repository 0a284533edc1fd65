//! The table that `dunlin replay --summary` prints for people.

use std::{
    collections::BTreeMap,
    fmt::{self, Write as _},
};

use dunlin_engine::{
    effect::{Effect, Phase, Turn},
    fleet::{Boat, BoatIx},
    moment::Moment,
    units::kn_from_mps,
};

use crate::output;

/// How much was read, and from when to when.
#[derive(Clone, Copy, Debug, Default)]
pub struct Span {
    lines: u64,
    first: Option<Moment>,
    last: Option<Moment>,
}

impl Span {
    /// Counts a line that arrived.
    pub fn line(&mut self, at: Moment) {
        self.lines += 1;
        self.first.get_or_insert(at);
        self.last = Some(at);
    }
}

/// Counts what a replay told.
#[derive(Debug, Default)]
pub struct Summary {
    boats: BTreeMap<BoatIx, BoatCount>,
    alerts: Vec<Row>,
    winds: u64,
    wind_kn: Option<(f64, f64)>,
    bases: BTreeMap<&'static str, u64>,
    refused: BTreeMap<String, u64>,
}

#[derive(Debug, Default)]
struct BoatCount {
    tacks: u64,
    gybes: u64,
    roundings: u64,
    alerts: u64,
}

#[derive(Debug)]
struct Row {
    id: u32,
    boat: Option<BoatIx>,
    kind: &'static str,
    level: dunlin_engine::effect::Level,
    raised: Moment,
    cleared: Option<Moment>,
    evidence: String,
}

/// Alerts listed one by one; of more, the first are listed and the rest counted.
const ROWS_MAX: usize = 500;

impl Summary {
    /// Counts an effect told at `t`.
    pub fn effect(&mut self, t: Moment, effect: &Effect) {
        match effect {
            Effect::Alert(change) => {
                let alert = &change.alert;
                if change.phase == Phase::Raised {
                    if let Some(boat) = alert.boat {
                        self.boats.entry(boat).or_default().alerts += 1;
                    }
                    self.alerts.push(Row {
                        id: alert.id.0,
                        boat: alert.boat,
                        kind: alert.kind.word(),
                        level: alert.level,
                        raised: t,
                        cleared: None,
                        evidence: alert.evidence.first().cloned().unwrap_or_default(),
                    });
                }
                let row = self.alerts.iter_mut().rev().find(|row| row.id == alert.id.0);
                if let Some(row) = row {
                    row.level = row.level.max(alert.level);
                    row.cleared = (change.phase == Phase::Cleared).then_some(t);
                }
            }
            Effect::Manoeuvre(manoeuvre) => {
                let count = self.boats.entry(manoeuvre.boat).or_default();
                match manoeuvre.turn {
                    Turn::Tack => count.tacks += 1,
                    Turn::Gybe => count.gybes += 1,
                }
            }
            Effect::Rounding(rounding) => {
                self.boats.entry(rounding.boat).or_default().roundings += 1;
            }
            Effect::Wind(wind) => {
                self.winds += 1;
                *self.bases.entry(wind.basis.word()).or_default() += 1;
                if let Some(speed) = wind.speed_mps.map(kn_from_mps) {
                    let (low, high) = self.wind_kn.unwrap_or((speed, speed));
                    self.wind_kn = Some((low.min(speed), high.max(speed)));
                }
            }
            Effect::Discard(discard) => {
                *self.refused.entry(discard.reason.to_string()).or_default() += 1;
            }
            Effect::Tally(_) => (),
        }
    }

    /// The table.
    pub fn table(&self, fleet: &[Boat], span: &Span) -> String {
        let mut out = String::new();
        // Writing to a String cannot fail.
        let _written = self.write(&mut out, fleet, span);
        out
    }

    fn write(&self, out: &mut String, fleet: &[Boat], span: &Span) -> fmt::Result {
        match (span.first, span.last) {
            (Some(first), Some(last)) => {
                let minutes = last.s_since(first) / 60.0;
                writeln!(out, "{} lines, {first} to {last}, {minutes:.1} minutes", span.lines)?;
            }
            _ => writeln!(out, "no lines")?,
        }
        for (reason, count) in &self.refused {
            writeln!(out, "  refused: {count:>8}  {reason}")?;
        }
        match self.winds {
            0 => writeln!(out, "wind: unknown")?,
            _ => {
                let bases: Vec<&str> = self.bases.keys().copied().collect();
                write!(out, "wind: from {}", bases.join(", "))?;
                match self.wind_kn {
                    Some((low, high)) => writeln!(out, ", {low:.0} to {high:.0} kn")?,
                    None => writeln!(out, ", direction only")?,
                }
            }
        }
        writeln!(out, "\n{:<8} {:>6} {:>6} {:>9} {:>7}", "boat", "tacks", "gybes", "roundings", "alerts")?;
        for place in 0..fleet.len() {
            let boat = BoatIx(u16::try_from(place).unwrap_or(u16::MAX));
            let none = BoatCount::default();
            let count = self.boats.get(&boat).unwrap_or(&none);
            writeln!(
                out,
                "{:<8} {:>6} {:>6} {:>9} {:>7}",
                output::id(fleet, boat),
                count.tacks,
                count.gybes,
                count.roundings,
                count.alerts
            )?;
        }
        writeln!(out, "\n{} alerts", self.alerts.len())?;
        for row in self.alerts.iter().take(ROWS_MAX) {
            let boat = row.boat.map_or("-", |boat| output::id(fleet, boat));
            let lasted = match row.cleared {
                Some(cleared) => format!("{:.0} s", cleared.s_since(row.raised)),
                None => "open".to_owned(),
            };
            writeln!(
                out,
                "{}  {boat:<6} {:<16} {:<9} {lasted:>7}  {}",
                row.raised,
                row.kind,
                output::level(row.level),
                row.evidence
            )?;
        }
        if self.alerts.len() > ROWS_MAX {
            writeln!(out, "... and {} more", self.alerts.len() - ROWS_MAX)?;
        }
        Ok(())
    }
}
