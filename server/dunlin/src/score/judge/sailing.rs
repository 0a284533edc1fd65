//! Seamanship: tacks, gybes, roundings and the wind.

use std::collections::BTreeMap;

use super::Judge;
use crate::score::measures::{Matched, Share};

/// A tack or gybe report belongs to a true one from this long before the wind was passed to this long
/// after she had settled, ms.
const TURN_EARLY_MS: i64 = 3_000;
const TURN_LATE_MS: i64 = 25_000;
/// Who is heard from this long before to this long after was there to be seen, ms.
const AROUND_MS: i64 = 10_000;

impl Judge<'_> {
    pub(super) fn turns(&mut self) {
        let truth = self.truth;
        let mut used = vec![false; self.output.turns.len()];
        let mut by_boat: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (i, turn) in self.output.turns.iter().enumerate() {
            by_boat.entry(&turn.boat).or_default().push(i);
        }
        let (mut tacks, mut gybes) = (Matched::default(), Matched::default());
        let (mut tacks_heard, mut gybes_heard) = (Share::default(), Share::default());
        for real in truth.manoeuvres.iter().filter(|real| !real.unscored) {
            let matched = if real.kind == "tack" { &mut tacks } else { &mut gybes };
            let candidates = by_boat.get(real.boat.as_str()).into_iter().flatten();
            let hit = candidates.copied().find(|i| {
                let said = &self.output.turns[*i];
                !used[*i]
                    && said.kind == real.kind
                    && said.t_ms >= real.crossed_ms - TURN_EARLY_MS
                    && said.t_ms <= real.settled_ms + TURN_LATE_MS
            });
            match hit {
                Some(i) => {
                    used[i] = true;
                    matched.right += 1;
                }
                None => matched.missed += 1,
            }
            if self.heard(&real.boat, real.crossed_ms - AROUND_MS, real.settled_ms) {
                if real.kind == "tack" { &mut tacks_heard } else { &mut gybes_heard }.note(hit.is_some());
            }
        }
        for (i, said) in self.output.turns.iter().enumerate() {
            let excused = truth.manoeuvres.iter().any(|real| {
                real.unscored
                    && real.boat == said.boat
                    && said.t_ms >= real.crossed_ms - 20_000
                    && said.t_ms <= real.settled_ms + 40_000
            });
            if !used[i] && !excused {
                if said.kind == "tack" { tacks.wrong += 1 } else { gybes.wrong += 1 }
            }
        }
        self.m.tacks = tacks;
        self.m.gybes = gybes;
        self.m.tacks_heard = tacks_heard;
        self.m.gybes_heard = gybes_heard;
    }

    pub(super) fn roundings(&mut self) {
        let truth = self.truth;
        let mut used = vec![false; self.output.roundings.len()];
        let near = |said_ms: i64, left_ms: i64| said_ms >= left_ms - 60_000 && said_ms <= left_ms + 30_000;
        for real in truth.roundings.iter().filter(|real| real.meant) {
            let hit = self.output.roundings.iter().enumerate().position(|(i, said)| {
                !used[i]
                    && said.boat == real.boat
                    && said.mark == real.mark
                    && said.hand == real.hand
                    && near(said.t_ms, real.left_ms)
            });
            if self.heard(&real.boat, real.left_ms - AROUND_MS, real.left_ms + AROUND_MS) {
                self.m.roundings_heard.note(hit.is_some());
            }
            match hit {
                Some(i) => {
                    used[i] = true;
                    self.m.roundings.right += 1;
                }
                None => self.m.roundings.missed += 1,
            }
        }
        for (i, said) in self.output.roundings.iter().enumerate() {
            let passed = truth.roundings.iter().any(|real| {
                !real.meant
                    && real.boat == said.boat
                    && real.mark == said.mark
                    && near(said.t_ms, real.left_ms)
            });
            self.m.roundings.wrong += u64::from(!used[i] && !passed);
        }
    }

    pub(super) fn wind(&mut self) {
        for said in &self.output.winds {
            let after = self.truth.wind.partition_point(|wind| wind.t_ms < said.t_ms);
            let Some(real) = self.truth.wind.get(after.min(self.truth.wind.len().saturating_sub(1))) else {
                continue;
            };
            // There is no direction to speak of in a calm.
            if real.speed_kn < 1.5 {
                continue;
            }
            let error = ((said.from_deg - real.from_deg + 180.0).rem_euclid(360.0) - 180.0).abs();
            let errors = self.m.wind.entry(said.basis.clone()).or_default();
            errors.errors_deg.push(error);
            if let Some(sd) = said.sd_deg {
                errors.within_sd.note(error <= sd);
            }
        }
    }
}
