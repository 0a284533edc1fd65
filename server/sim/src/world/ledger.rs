//! The truth of the session as it is completed.

use super::{
    World,
    radio::{MAST_LIES_FROM_S, silent},
};
use crate::truth::{BoatTruth, Frozen, HeelSensor, LyingVane, Silence, Truth};

impl World {
    /// She is upright again: the capsize's truth is complete but for the sailing off.
    pub(crate) fn righted(&mut self, i: usize) {
        let now = self.now_ms();
        let sailor = &mut self.sailors[i];
        sailor.ever_capsized_until_ms = now;
        sailor.record.unscored_until_ms = now + 75_000;
        let (due, got) = std::mem::take(&mut sailor.fixes_due);
        if let Some(capsize) = &mut sailor.capsize {
            capsize.righted_ms = Some(now);
            capsize.feed_alive = share(got, due);
        }
    }

    /// She is under way again or in a safety boat's hands.
    pub(crate) fn under_way(&mut self, i: usize) {
        let now = self.now_ms();
        if let Some(mut capsize) = self.sailors[i].capsize.take() {
            capsize.sailing_ms = Some(now);
            self.truth.capsizes.push(capsize);
        }
    }

    /// Ends the session and gives its truth.
    pub fn finish(mut self) -> Truth {
        let now = self.now_ms();
        for sailor in &mut self.sailors {
            sailor.record.close(now, &mut self.finished);
            if let Some(mut capsize) = sailor.capsize.take() {
                if capsize.righted_ms.is_none() {
                    capsize.feed_alive = share(sailor.fixes_due.1, sailor.fixes_due.0);
                }
                self.truth.capsizes.push(capsize);
            }
            if let Some(last) = sailor.last_arrival_ms
                && silent(last, now, sailor.receiver.interval_s)
            {
                let capsized = sailor.dinghy.is_capsized() || sailor.ever_capsized_until_ms >= last;
                self.truth.silences.push(Silence {
                    boat: sailor.id.clone(),
                    start_ms: last,
                    end_ms: None,
                    capsized,
                });
            }
            if let Some((start_ms, _, moved_m)) = sailor.frozen.take() {
                self.truth.frozen.push(Frozen { boat: sailor.id.clone(), start_ms, end_ms: now, moved_m });
            }
            self.truth.boats.push(BoatTruth {
                id: sailor.id.clone(),
                role: "dinghy".into(),
                crew: sailor.crew,
                afloat_from_ms: sailor.afloat.0,
                afloat_to_ms: sailor.afloat.1,
                heel: sailor.receiver.heel,
                interval_s: sailor.receiver.interval_s,
            });
        }
        for (i, receiver) in self.safety_receivers.iter().enumerate() {
            self.truth.boats.push(BoatTruth {
                id: format!("S{}", i + 1),
                role: "safety".into(),
                crew: 2,
                afloat_from_ms: Some(self.start_ms),
                afloat_to_ms: None,
                heel: HeelSensor::None,
                interval_s: receiver.interval_s,
            });
        }
        self.truth.overboard = self.people.into_iter().map(|person| person.truth).collect();
        self.truth.spells = self.finished.spells;
        self.truth.exits = self.finished.exits;
        self.truth.no_go = self.finished.no_go;
        self.truth.manoeuvres = self.finished.manoeuvres;
        self.truth.roundings = self.finished.roundings;
        self.truth.capsizes.sort_by_key(|capsize| capsize.start_ms);
        if self.mast.is_some() && self.plan.instruments.mast_fault_deg != 0.0 {
            self.truth.lying_vanes.push(LyingVane {
                source: "mast".into(),
                start_ms: self.start_ms + (MAST_LIES_FROM_S * 1000.0) as i64,
                off_deg: self.plan.instruments.mast_fault_deg,
            });
        }
        self.truth.end_ms = now;
        round_off(&mut self.truth);
        self.truth
    }
}

fn share(part: u32, whole: u32) -> f64 {
    if whole == 0 { 1.0 } else { f64::from(part) / f64::from(whole) }
}

/// Three decimals are finer than anything here is known, and short numbers survive being written and read.
fn round_off(truth: &mut Truth) {
    let round = |value: &mut f64| *value = (*value * 1000.0).round() / 1000.0;
    for capsize in &mut truth.capsizes {
        round(&mut capsize.feed_alive);
        round(&mut capsize.speed_before_kn);
    }
    for crossing in truth.exits.iter_mut().chain(&mut truth.no_go) {
        round(&mut crossing.depth_m);
        round(&mut crossing.speed_kn);
    }
    truth.frozen.iter_mut().for_each(|frozen| round(&mut frozen.moved_m));
    truth.manoeuvres.iter_mut().for_each(|turn| round(&mut turn.turn_deg));
    truth.roundings.iter_mut().for_each(|rounding| round(&mut rounding.sweep_deg));
    for wind in &mut truth.wind {
        // Rounding up to 360 would leave the circle.
        wind.from_deg = if wind.from_deg >= 359.9995 { 0.0 } else { wind.from_deg };
        for value in [&mut wind.from_deg, &mut wind.speed_kn, &mut wind.stream_to_deg, &mut wind.stream_kn] {
            round(value);
        }
    }
}
