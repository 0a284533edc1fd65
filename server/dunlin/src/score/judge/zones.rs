//! Boundaries: boats outside the area or in no-go zones, and those that drift towards them.

use dunlin_sim::Crossing;

use super::{Judge, seconds};
use crate::score::measures::Share;

/// Crossings shallower than this (about two errors of a phone) are not asked for, m.
const DEEP_M: f64 = 10.0;
/// Who is heard for this long on the wrong side was there to be seen, ms.
const INSIDE_MS: i64 = 20_000;

impl Judge<'_> {
    pub(super) fn crossings(&mut self) {
        let truth = self.truth;
        for (kind, early, crossings) in
            [("outside-area", "drifting-out", &truth.exits), ("no-go", "nearing-no-go", &truth.no_go)]
        {
            let (mut found, mut heard_found) = (Share::default(), Share::default());
            let (mut delays, mut missed) = (Vec::new(), Vec::new());
            for crossing in crossings {
                let end = crossing.end_ms.unwrap_or(truth.end_ms);
                if crossing.depth_m < DEEP_M || end - crossing.start_ms < 10_000 {
                    continue;
                }
                let hit = self
                    .of(&crossing.boat, kind)
                    .into_iter()
                    .find(|episode| episode.stands_in(crossing.start_ms - 5_000, end + 5_000));
                found.note(hit.is_some());
                if self.heard(&crossing.boat, crossing.start_ms, end.min(crossing.start_ms + INSIDE_MS)) {
                    heard_found.note(hit.is_some());
                }
                delays
                    .extend(hit.map(|episode| seconds((episode.start_ms() - crossing.start_ms).max(-5_000))));
                if hit.is_none() {
                    missed.push((
                        crossing.boat.clone(),
                        crossing.start_ms,
                        format!("missed {kind}, {:.0} m deep", crossing.depth_m),
                    ));
                }
                self.drift_lead(crossing, kind, early);
            }
            let mut wrong = Vec::new();
            for episode in self.output.episodes.iter().filter(|episode| episode.kind == kind) {
                let at = episode.start_ms();
                let real = crossings.iter().any(|c| {
                    c.boat == episode.boat
                        && c.start_ms - 20_000 <= at
                        && at <= c.end_ms.unwrap_or(truth.end_ms) + 20_000
                });
                if !real && self.is_dinghy(&episode.boat) {
                    wrong.push((episode.boat.clone(), at, format!("false {kind}")));
                }
            }
            let early_wrong =
                self.output.episodes.iter().filter(|episode| episode.kind == early).filter(|episode| {
                    let at = episode.start_ms();
                    !crossings.iter().any(|c| {
                        c.boat == episode.boat
                            && c.end_ms.unwrap_or(truth.end_ms) >= at
                            && c.start_ms <= at + 300_000
                    })
                });
            self.m.drift_false += early_wrong.count() as u64;
            let m = &mut self.m;
            let (share, heard, all_delays, false_n) = if kind == "no-go" {
                (&mut m.no_go, &mut m.no_go_heard, &mut m.no_go_delays_s, &mut m.no_go_false)
            } else {
                (&mut m.exits, &mut m.exits_heard, &mut m.exit_delays_s, &mut m.exit_false)
            };
            share.add(found);
            heard.add(heard_found);
            all_delays.extend(delays);
            *false_n += wrong.len() as u64;
            for (boat, at, what) in missed.into_iter().chain(wrong) {
                let cause = self.cause(&boat, at);
                self.finding(&boat, at, &what, &cause);
            }
        }
    }

    fn drift_lead(&mut self, crossing: &Crossing, kind: &str, early: &str) {
        let Some(since) = crossing.drifting_since_ms else { return };
        if crossing.start_ms - since < 60_000 {
            return;
        }
        let standing = self
            .output
            .episodes
            .iter()
            .filter(|e| e.boat == crossing.boat && (e.kind == early || e.kind == kind));
        // Announced without a gap up to the crossing (fifteen seconds are forgiven).
        let lead = standing
            .filter(|e| e.start_ms() <= crossing.start_ms && e.end_or_never() >= crossing.start_ms - 15_000)
            .map(|e| seconds(crossing.start_ms - e.start_ms()))
            .fold(0.0, f64::max);
        self.m.drift_45.note(lead >= 45.0);
        if self.heard(&crossing.boat, crossing.start_ms - 60_000, crossing.start_ms) {
            self.m.drift_45_heard.note(lead >= 45.0);
        }
        self.m.drift_leads_s.push(lead);
        if lead < 45.0 {
            let what = format!("drift over a boundary announced {lead:.0} s before, {early}");
            let cause = self.cause(&crossing.boat, crossing.start_ms);
            self.finding(&crossing.boat, crossing.start_ms, &what, &cause);
        }
    }
}
