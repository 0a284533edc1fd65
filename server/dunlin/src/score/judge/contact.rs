//! Feeds and instruments: silence, frozen trackers, beacons, vanes that lie.

use dunlin_sim::{Reason, Silence};

use super::{FOREVER_MS, Judge, seconds};

impl Judge<'_> {
    pub(super) fn contact(&mut self) {
        let truth = self.truth;
        for silence in &truth.silences {
            let end = silence.end_ms.unwrap_or(truth.end_ms);
            if end - silence.start_ms < 60_000 || self.ashore(&silence.boat, silence.start_ms) {
                continue;
            }
            let said = self
                .of(&silence.boat, "lost-contact")
                .into_iter()
                .find(|e| e.stands_in(silence.start_ms, end));
            self.m.lost.note(said.is_some());
            self.m.lost_delays_s.extend(said.map(|e| seconds((e.start_ms() - silence.start_ms).max(0))));
            if said.is_none() {
                self.finding(
                    &silence.boat,
                    silence.start_ms,
                    "missed lost contact",
                    if silence.capsized { "capsized" } else { "well" },
                );
            }
        }
        for frozen in &truth.frozen {
            // One that says nothing cannot repeat itself: it counts from when it is heard again.
            let mute = |s: &&Silence| {
                s.boat == frozen.boat
                    && s.start_ms <= frozen.start_ms
                    && s.end_ms.is_none_or(|end_ms| frozen.start_ms < end_ms)
            };
            let silence = truth.silences.iter().find(mute);
            let heard_ms = silence.map_or(frozen.start_ms, |s| s.end_ms.unwrap_or(FOREVER_MS));
            if frozen.end_ms < heard_ms.saturating_add(60_000) || frozen.moved_m < 30.0 {
                continue;
            }
            let said = self
                .of(&frozen.boat, "frozen-tracker")
                .into_iter()
                .any(|e| e.stands_in(heard_ms, heard_ms + 60_000));
            self.m.frozen.note(said);
            if !said {
                self.finding(&frozen.boat, frozen.start_ms, "missed frozen tracker", "");
            }
        }
        let output = self.output;
        for episode in &output.episodes {
            let at = episode.start_ms();
            let covered = match episode.kind.as_str() {
                "lost-contact" => truth.silences.iter().any(|s| {
                    s.boat == episode.boat && s.start_ms <= at && at <= s.end_ms.unwrap_or(FOREVER_MS) + 2_000
                }),
                "frozen-tracker" => truth
                    .frozen
                    .iter()
                    .any(|f| f.boat == episode.boat && f.start_ms <= at && at <= f.end_ms + 10_000),
                _ => continue,
            };
            if !covered {
                let n = if episode.kind == "lost-contact" {
                    &mut self.m.lost_false
                } else {
                    &mut self.m.frozen_false
                };
                *n += 1;
                let cause = self.cause(&episode.boat, at);
                self.finding(&episode.boat, at, &format!("false {}", episode.kind), &cause);
            }
        }
        for person in &truth.overboard {
            if let Some(beacon) = person
                .beacon_ms
                .filter(|at| *at < truth.end_ms - 60_000 && person.end_ms.is_none_or(|end| end > *at))
            {
                let said = output
                    .episodes
                    .iter()
                    .any(|e| e.kind == "person-overboard" && e.stands_in(beacon, beacon + 60_000));
                self.m.overboard.note(said);
            }
        }
    }

    pub(super) fn vanes(&mut self) {
        let said = || self.output.episodes.iter().filter(|e| e.kind == "wind-disagrees");
        for lying in &self.truth.lying_vanes {
            self.m.vanes.note(said().any(|e| e.stands_in(lying.start_ms, lying.start_ms + 600_000)));
        }
        let lies = |at: i64| self.truth.lying_vanes.iter().any(|lying| at >= lying.start_ms);
        self.m.vanes_false = said().filter(|e| !lies(e.start_ms())).count() as u64;
    }

    fn ashore(&self, boat: &str, t_ms: i64) -> bool {
        self.truth
            .spells
            .iter()
            .any(|s| s.boat == boat && s.reason == Reason::Landing && s.start_ms <= t_ms && t_ms <= s.end_ms)
    }
}
