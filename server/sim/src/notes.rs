//! The truth of each dinghy, written down while she sails: of the fourth water and all after it.

use crate::{
    plane::{fold_180, kn},
    truth::{CapsizeTruth, HeelSensor, ManoeuvreTruth, Reason, Silence, Spell, Truth},
};

/// What makes a turn unfair to ask for: another so soon before or after it, a righting so short before,
/// less way.
const ZIGZAG_MS: i64 = 20_000;
const RIGHTED_MS: i64 = 75_000;
const WAY_MPS: f64 = 0.3;
/// Shorter silences are no matter, ms.
const SILENCE_MS: i64 = 10_000;
/// A capsize this soon after a righting is one more of the same, ms.
const AGAIN_MS: i64 = 90_000;

/// What is to be seen of a boat after a step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seen<'a> {
    pub(crate) id: &'a str,
    /// Why she is not simply sailing.
    pub(crate) reason: Option<Reason>,
    /// It began with this step, even if it is the reason of the step before.
    pub(crate) began: bool,
    /// She is over.
    pub(crate) over: Option<SeenOver>,
    /// Some seconds ago, m/s.
    pub(crate) before_mps: f64,
    /// Wind on the starboard side above 0.
    pub(crate) off_deg: f64,
    pub(crate) heading_deg: f64,
    pub(crate) way_mps: f64,
}

/// How she went over.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SeenOver {
    pub(crate) cause: &'static str,
    pub(crate) quick: bool,
    pub(crate) inverted: bool,
}

/// The last side of the wind she was settled on, and how.
#[derive(Clone, Copy, Debug)]
struct Settled {
    side: f64,
    heading_deg: f64,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Noted {
    spell: Option<(Reason, i64)>,
    /// Her capsize in the truth, until she is under way again.
    pub(crate) capsize: Option<usize>,
    righted_ms: Option<i64>,
    /// Fixes due and fixes sent since she went over.
    due: u32,
    sent: u32,
    heard_ms: Option<i64>,
    settled: Option<Settled>,
    crossed_ms: Option<i64>,
    unfair: bool,
    last_turn: Option<usize>,
}

impl Noted {
    /// After each step.
    pub(crate) fn step(&mut self, truth: &mut Truth, boat: &Seen, now_ms: i64) {
        let (reason, began) = (boat.reason, boat.began);
        if self.spell.map(|spell| spell.0) != reason || (began && self.spell.is_some()) {
            self.end_spell(truth, boat.id, now_ms);
            self.spell = reason.map(|reason| (reason, now_ms));
            if reason == Some(Reason::Capsized) {
                self.begin_capsize(truth, boat, now_ms);
            }
        }
        self.turn(truth, boat, now_ms);
    }

    fn begin_capsize(&mut self, truth: &mut Truth, boat: &Seen, now_ms: i64) {
        let Some(over) = boat.over else { return };
        (self.due, self.sent) = (0, 0);
        self.capsize = Some(truth.capsizes.len());
        truth.capsizes.push(CapsizeTruth {
            boat: boat.id.to_owned(),
            start_ms: now_ms,
            righted_ms: None,
            sailing_ms: None,
            cause: over.cause.to_owned(),
            quick: over.quick,
            inverted: over.inverted,
            drill: false,
            feed_alive: 1.0,
            heel: HeelSensor::None,
            speed_before_kn: kn(boat.before_mps),
            again: self.righted_ms.is_some_and(|righted_ms| now_ms - righted_ms < AGAIN_MS),
            attended: false,
        });
    }

    fn end_spell(&mut self, truth: &mut Truth, boat: &str, now_ms: i64) {
        let Some((reason, start_ms)) = self.spell.take() else { return };
        truth.spells.push(Spell { boat: boat.to_owned(), reason, start_ms, end_ms: now_ms });
        let share = self.share_sent();
        let Some(capsize) = self.capsize.and_then(|ix| truth.capsizes.get_mut(ix)) else { return };
        if reason == Reason::Capsized {
            (capsize.righted_ms, capsize.feed_alive) = (Some(now_ms), share);
            self.righted_ms = Some(now_ms);
        } else if reason == Reason::Recovering {
            capsize.sailing_ms = Some(now_ms);
            self.capsize = None;
        }
    }

    /// A fix was due.
    pub(crate) fn fix(&mut self, truth: &mut Truth, boat: &str, came: bool, now_ms: i64) {
        self.due += 1;
        if came {
            self.sent += 1;
            self.silence(truth, boat, Some(now_ms), now_ms);
            self.heard_ms = Some(now_ms);
        }
    }

    /// The session is over: whatever lasts stays open.
    pub(crate) fn finish(mut self, truth: &mut Truth, boat: &str, end_ms: i64) {
        if let Some((reason, start_ms)) = self.spell.take() {
            truth.spells.push(Spell { boat: boat.to_owned(), reason, start_ms, end_ms });
        }
        self.silence(truth, boat, None, end_ms);
        let share = self.share_sent();
        let open = self.capsize.and_then(|ix| truth.capsizes.get_mut(ix));
        if let Some(capsize) = open.filter(|capsize| capsize.righted_ms.is_none()) {
            capsize.feed_alive = share;
        }
    }

    fn share_sent(&self) -> f64 {
        f64::from(self.sent) / f64::from(self.due.max(1))
    }

    fn silence(&self, truth: &mut Truth, boat: &str, end_ms: Option<i64>, now_ms: i64) {
        let Some(start_ms) = self.heard_ms.filter(|heard_ms| now_ms - heard_ms >= SILENCE_MS) else { return };
        // Bailing counts: the phone is heard again a moment after she came up.
        let capsized = self.capsize.is_some();
        truth.silences.push(Silence { boat: boat.to_owned(), start_ms, end_ms, capsized });
    }

    fn turn(&mut self, truth: &mut Truth, boat: &Seen, now_ms: i64) {
        let off_deg = boat.off_deg;
        let side = off_deg.signum();
        let is_settled = (20.0..=171.0).contains(&off_deg.abs());
        let fresh = self.righted_ms.is_some_and(|righted_ms| now_ms - righted_ms < RIGHTED_MS);
        let unfair = self.spell.is_some() || fresh || boat.way_mps < WAY_MPS;
        self.unfair |= unfair;
        let here = Settled { side, heading_deg: boat.heading_deg };
        let Some(before) = self.settled.filter(|before| before.side != side) else {
            if is_settled {
                (self.settled, self.crossed_ms, self.unfair) = (Some(here), None, unfair);
            }
            return;
        };
        let crossed_ms = *self.crossed_ms.get_or_insert(now_ms);
        if !is_settled {
            return;
        }
        let last = self.last_turn.and_then(|ix| truth.manoeuvres.get_mut(ix));
        let zigzag = last.filter(|last| crossed_ms - last.settled_ms < ZIGZAG_MS);
        let unscored = self.unfair || zigzag.is_some();
        if let Some(last) = zigzag {
            last.unscored = true;
        }
        self.last_turn = Some(truth.manoeuvres.len());
        truth.manoeuvres.push(ManoeuvreTruth {
            boat: boat.id.to_owned(),
            kind: if off_deg.abs() < 90.0 { "tack" } else { "gybe" }.to_owned(),
            crossed_ms,
            settled_ms: now_ms,
            turn_deg: fold_180(boat.heading_deg - before.heading_deg),
            unscored,
        });
        (self.settled, self.crossed_ms, self.unfair) = (Some(here), None, unfair);
    }
}
