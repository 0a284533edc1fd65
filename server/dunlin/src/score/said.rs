//! What a watch said: its JSON Lines, and alerts put together from raise to clear.

use std::collections::BTreeMap;

use serde::Deserialize;

/// How urgent, in rising order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// Look when you can.
    Caution,
    /// Look now.
    Warning,
    /// Act.
    Alarm,
    /// Act at once.
    Emergency,
}

/// One line of output, as far as the score reads it; unknown fields are ignored.
#[derive(Clone, Debug, Deserialize)]
pub struct Said {
    #[serde(rename = "type")]
    what: String,
    t: String,
    /// Of a manoeuvre: its own time, which is long before `t` when no wind was known.
    at: Option<String>,
    boat: Option<String>,
    kind: Option<String>,
    level: Option<Level>,
    phase: Option<String>,
    confidence: Option<f64>,
    from_deg: Option<f64>,
    sd_deg: Option<f64>,
    basis: Option<String>,
    mark: Option<String>,
    hand: Option<String>,
    /// Tells two alerts of one kind on one boat apart.
    id: Option<u64>,
}

/// One state of an alert.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Unix ms.
    pub t_ms: i64,
    /// Level from then on.
    pub level: Level,
    /// Probability it stated, if any.
    pub confidence: Option<f64>,
}

/// An alert from raise to clear.
#[derive(Clone, Debug, PartialEq)]
pub struct Episode {
    /// Whose; empty for the session's own.
    pub boat: String,
    /// What about.
    pub kind: String,
    /// Never empty.
    pub points: Vec<Point>,
    /// Cleared; `None`: still standing at the end.
    pub end_ms: Option<i64>,
}

impl Episode {
    /// When it was raised.
    pub fn start_ms(&self) -> i64 {
        self.points[0].t_ms
    }

    /// Cleared, or the far future.
    pub fn end_or_never(&self) -> i64 {
        self.end_ms.unwrap_or(i64::MAX / 2)
    }

    /// Whether it stands at some moment of `from..=to`.
    pub fn stands_in(&self, from: i64, to: i64) -> bool {
        self.start_ms() <= to && self.end_or_never() >= from
    }

    /// The spans in which it stands at `level` or above.
    pub fn spans_at(&self, level: Level) -> Vec<(i64, i64)> {
        let mut spans = Vec::new();
        let mut since = None;
        for point in &self.points {
            match (since, point.level >= level) {
                (None, true) => since = Some(point.t_ms),
                (Some(from), false) => {
                    spans.push((from, point.t_ms));
                    since = None;
                }
                (None, false) | (Some(_), true) => {}
            }
        }
        spans.extend(since.map(|from| (from, self.end_or_never())));
        spans
    }

    /// The first moment at `level` or above.
    pub fn first_at(&self, level: Level) -> Option<i64> {
        self.points.iter().find(|point| point.level >= level).map(|point| point.t_ms)
    }
}

/// A tack or gybe reported.
#[derive(Clone, Debug)]
pub struct Turned {
    /// When it was made, Unix ms.
    pub t_ms: i64,
    /// Whose.
    pub boat: String,
    /// `tack` or `gybe`.
    pub kind: String,
}

/// A rounding reported.
#[derive(Clone, Debug)]
pub struct Rounded {
    /// Unix ms.
    pub t_ms: i64,
    /// Whose.
    pub boat: String,
    /// Which mark.
    pub mark: String,
    /// `port` or `starboard`.
    pub hand: String,
}

/// A wind reported.
#[derive(Clone, Debug)]
pub struct Wind {
    /// Unix ms.
    pub t_ms: i64,
    /// From, degrees true.
    pub from_deg: f64,
    /// Stated standard deviation, degrees.
    pub sd_deg: Option<f64>,
    /// `instrument`, `fleet` or `manual`.
    pub basis: String,
}

/// All that was said in a session.
#[derive(Clone, Debug, Default)]
pub struct Output {
    /// Alerts.
    pub episodes: Vec<Episode>,
    /// Tacks and gybes.
    pub turns: Vec<Turned>,
    /// Roundings.
    pub roundings: Vec<Rounded>,
    /// Wind.
    pub winds: Vec<Wind>,
}

/// Gathers lines into an [`Output`].
#[derive(Clone, Debug, Default)]
pub struct Gatherer {
    output: Output,
    open: BTreeMap<(String, String, Option<u64>), usize>,
}

impl Gatherer {
    /// Takes one line; blank ones are skipped.
    ///
    /// # Errors
    /// Not JSON, a field of the wrong type, or a time that is not RFC 3339.
    pub fn take(&mut self, line: &str) -> anyhow::Result<()> {
        if line.trim().is_empty() {
            return Ok(());
        }
        let said: Said = serde_json::from_str(line)?;
        let t_ms = said.t.parse::<jiff::Timestamp>()?.as_millisecond();
        let boat = said.boat.clone().unwrap_or_default();
        match said.what.as_str() {
            "alert" => self.alert(t_ms, boat, &said),
            "manoeuvre" => {
                let t_ms = match said.at {
                    Some(at) => at.parse::<jiff::Timestamp>()?.as_millisecond(),
                    None => t_ms,
                };
                self.output.turns.push(Turned { t_ms, boat, kind: said.kind.unwrap_or_default() });
            }
            "rounding" => self.output.roundings.push(Rounded {
                t_ms,
                boat,
                mark: said.mark.unwrap_or_default(),
                hand: said.hand.unwrap_or_default(),
            }),
            "wind" => {
                if let Some(from_deg) = said.from_deg {
                    let basis = said.basis.unwrap_or_else(|| "unknown".into());
                    self.output.winds.push(Wind { t_ms, from_deg, sd_deg: said.sd_deg, basis });
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn alert(&mut self, t_ms: i64, boat: String, said: &Said) {
        let kind = said.kind.clone().unwrap_or_default();
        let key = (boat.clone(), kind.clone(), said.id);
        let open = self.open.get(&key).copied();
        if said.phase.as_deref() == Some("cleared") {
            if let Some(at) = self.open.remove(&key) {
                self.output.episodes[at].end_ms = Some(t_ms);
            }
            return;
        }
        let point = Point { t_ms, level: said.level.unwrap_or(Level::Caution), confidence: said.confidence };
        if let Some(at) = open {
            self.output.episodes[at].points.push(point);
        } else {
            self.open.insert(key, self.output.episodes.len());
            self.output.episodes.push(Episode { boat, kind, points: vec![point], end_ms: None });
        }
    }

    /// Everything said.
    pub fn finish(self) -> Output {
        self.output
    }
}
