//! What is written down as the truth of each dinghy of the third water.

use crate::{
    plane::{fold_180, kn},
    third::{air::Air, boat::Boat, doing::Doing},
    truth::{CapsizeTruth, HeelSensor, ManoeuvreTruth, Reason, Silence, Spell, Truth},
};

/// Two turns within this of each other are a zigzag, which nobody can fairly be asked for, ms.
const ZIGZAG_MS: i64 = 20_000;
/// A turn so soon after a righting is not asked for either, ms; nor one with less way than this, m/s.
const RIGHTED_MS: i64 = 75_000;
const WAY_MPS: f64 = 0.3;
/// Silences shorter than this are not noted, ms.
const SILENCE_MS: i64 = 10_000;
/// A capsize within this of a righting is the same one going on, ms.
const AGAIN_MS: i64 = 90_000;

#[derive(Clone, Debug, Default)]
pub(super) struct Noted {
    spell: Option<(Reason, i64)>,
    /// Where in the truth her capsize stands, until she is under way again.
    pub(super) capsize: Option<usize>,
    righted_ms: Option<i64>,
    due: u32,
    came: u32,
    heard_ms: Option<i64>,
    /// The side she sails on, when she passed through the wind, and whether she did anything else since.
    side: f64,
    passed_ms: Option<i64>,
    spoiled: bool,
    before_deg: f64,
    turn: Option<usize>,
}

impl Noted {
    /// After each step of a boat.
    pub(super) fn step(&mut self, truth: &mut Truth, boat: &Boat, air: Air, t_s: f64, now_ms: i64) {
        let reason = boat.reason();
        if self.spell.map(|(was, _)| was) != reason {
            self.close_spell(truth, boat, now_ms);
            self.spell = reason.map(|reason| (reason, now_ms));
            if let Doing::Over(over) = &boat.doing {
                let before_mps = boat.speeds.front().copied().unwrap_or_default();
                (self.due, self.came) = (0, 0);
                self.capsize = Some(truth.capsizes.len());
                truth.capsizes.push(CapsizeTruth {
                    boat: boat.id.clone(),
                    start_ms: now_ms,
                    righted_ms: None,
                    sailing_ms: None,
                    cause: over.cause.name().to_owned(),
                    quick: over.is_quick(),
                    inverted: false,
                    drill: false,
                    feed_alive: 1.0,
                    heel: HeelSensor::None,
                    speed_before_kn: kn(before_mps),
                    again: self.righted_ms.is_some_and(|up_ms| now_ms - up_ms < AGAIN_MS),
                    attended: false,
                });
            }
        }
        if let (Doing::Over(over), Some(capsize)) =
            (&boat.doing, self.capsize.and_then(|ix| truth.capsizes.get_mut(ix)))
        {
            capsize.inverted |= over.is_inverted(t_s);
        }
        self.note_turn(truth, boat, air, now_ms);
    }

    fn close_spell(&mut self, truth: &mut Truth, boat: &Boat, now_ms: i64) {
        let Some((reason, start_ms)) = self.spell.take() else { return };
        truth.spells.push(Spell { boat: boat.id.clone(), reason, start_ms, end_ms: now_ms });
        let open = self.capsize.and_then(|ix| truth.capsizes.get_mut(ix));
        match (reason, open) {
            (Reason::Capsized, Some(capsize)) => {
                capsize.righted_ms = Some(now_ms);
                capsize.feed_alive = self.share_that_came();
                self.righted_ms = Some(now_ms);
            }
            (Reason::Recovering, Some(capsize)) => {
                capsize.sailing_ms = Some(now_ms);
                self.capsize = None;
            }
            _ => {}
        }
    }

    /// At the end of the session: what still goes on stays open.
    pub(super) fn finish(mut self, truth: &mut Truth, boat: &Boat, end_ms: i64) {
        if let Some((reason, start_ms)) = self.spell.take() {
            truth.spells.push(Spell { boat: boat.id.clone(), reason, start_ms, end_ms });
        }
        self.note_silence(truth, boat, self.heard_ms, end_ms, true);
        let open = self.capsize.and_then(|ix| truth.capsizes.get_mut(ix));
        if let Some(capsize) = open.filter(|capsize| capsize.righted_ms.is_none()) {
            capsize.feed_alive = self.share_that_came();
        }
    }

    /// Share of the fixes due while she was over that came.
    fn share_that_came(&self) -> f64 {
        f64::from(self.came) / f64::from(self.due.max(1))
    }

    /// A fix was due.
    pub(super) fn fix(&mut self, truth: &mut Truth, boat: &Boat, came: bool, now_ms: i64) {
        self.due += 1;
        if came {
            self.came += 1;
            let since_ms = self.heard_ms.replace(now_ms);
            self.note_silence(truth, boat, since_ms, now_ms, false);
        }
    }

    fn note_silence(&self, truth: &mut Truth, boat: &Boat, since_ms: Option<i64>, now_ms: i64, lasts: bool) {
        let Some(start_ms) = since_ms.filter(|since_ms| now_ms - since_ms >= SILENCE_MS) else { return };
        // The boat may have been righted a moment before her phone was heard again.
        let capsized = self.capsize.is_some();
        let end_ms = (!lasts).then_some(now_ms);
        truth.silences.push(Silence { boat: boat.id.clone(), start_ms, end_ms, capsized });
    }

    /// Tacks and gybes: the wind passed to the other side, and she settled there (20 degrees).
    fn note_turn(&mut self, truth: &mut Truth, boat: &Boat, air: Air, now_ms: i64) {
        let off_deg = boat.off_deg(air);
        let side = off_deg.signum();
        let settled = (20.0..=171.0).contains(&off_deg.abs());
        let slow = boat.hull.ahead_mps() < WAY_MPS;
        let fresh = self.righted_ms.is_some_and(|up_ms| now_ms - up_ms < RIGHTED_MS);
        let spoils = self.spell.is_some() || fresh || slow;
        self.spoiled |= spoils;
        if self.side == 0.0 || (settled && side == self.side) {
            if settled {
                (self.side, self.passed_ms, self.before_deg) = (side, None, boat.hull.heading_deg);
                self.spoiled = spoils;
            }
            return;
        }
        if side == self.side {
            return;
        }
        let crossed_ms = *self.passed_ms.get_or_insert(now_ms);
        if !settled {
            return;
        }
        let kind = if off_deg.abs() < 90.0 { "tack" } else { "gybe" };
        let last = self.turn.and_then(|ix| truth.manoeuvres.get_mut(ix));
        let zigzag = last.filter(|last| crossed_ms - last.settled_ms < ZIGZAG_MS);
        let unscored = self.spoiled || zigzag.is_some();
        if let Some(last) = zigzag {
            last.unscored = true;
        }
        self.turn = Some(truth.manoeuvres.len());
        truth.manoeuvres.push(ManoeuvreTruth {
            boat: boat.id.clone(),
            kind: kind.to_owned(),
            crossed_ms,
            settled_ms: now_ms,
            turn_deg: fold_180(boat.hull.heading_deg - self.before_deg),
            unscored,
        });
        (self.side, self.passed_ms, self.before_deg) = (side, None, boat.hull.heading_deg);
        self.spoiled = spoils;
    }
}
