//! What befalls a boat: stops her crew means, and capsizes nobody does.

use super::{
    boat::{Around, Boat, Doing},
    helm::Kind as Turning,
    measured,
    stops::Kind,
};

/// Capsizes in an hour of a usual wind: under sail without a gust, for a gust of double the wind, all through
/// a gybe, all through a tack, lying stopped, and bailing. Reasoned, so that about one a boat-hour comes of
/// it, most in gusts and in gybes.
const PLAIN: f64 = 0.05;
const GUST: f64 = 20.0;
const GYBE: f64 = 6.0;
const TACK: f64 = 1.5;
const STOPPED: f64 = 0.45;
const BAILING: f64 = 1.5;
/// The usual wind, m/s: twice of it is three times as bad.
const USUAL_MPS: f64 = 6.5;
/// A gust is one from this much over the wind of the last half minute.
const GUST_FROM: f64 = 1.08;

impl Boat {
    pub(super) fn befall(&mut self, around: &Around) {
        let (t_s, step_s) = (around.t_s, around.step_s);
        let force = around.habits.tips * (around.air.speed_mps / USUAL_MPS).powf(1.6);
        match &self.doing {
            Doing::Sail | Doing::Ease(..) => {
                let tips = self.tips(around, force);
                if !tips && self.is_sailing() && self.helm.turn.is_none() {
                    self.choose(around);
                }
            }
            Doing::Stop(stop) if self.dice.happens(STOPPED * force, step_s) => {
                let cause = if stop.kind == Kind::Irons { "irons" } else { "to-windward" };
                let slow = self.dice.chance(0.7);
                self.capsize(cause, slow, t_s);
            }
            Doing::Recover(..) if self.dice.happens(BAILING * force, step_s) => {
                self.capsize("to-windward", true, t_s);
            }
            _ => {}
        }
    }

    fn tips(&mut self, around: &Around, force: f64) -> bool {
        let (t_s, step_s) = (around.t_s, around.step_s);
        let gust = (around.air.speed_mps / self.used_mps.max(0.5) - GUST_FROM).max(0.0);
        let held = 0.4 + self.own.spills_to;
        let turning = self.helm.turn.map(|turn| turn.kind);
        let (rate, cause) = match turning {
            Some(Turning::Gybe) => (GYBE, "gybe"),
            Some(Turning::Tack) => (TACK, "tack"),
            None => ((PLAIN + GUST * gust) * held, if gust > 0.02 { "gust" } else { "to-windward" }),
        };
        let tips = self.dice.happens(rate * force, step_s);
        if tips && cause == "gust" && self.dice.chance(0.3) {
            self.doing = Doing::RoundUp(t_s + self.dice.between(2.0, 7.0));
        } else if tips {
            let slow = self.dice.chance(if cause == "tack" { 0.5 } else { 0.12 });
            self.capsize(cause, slow, t_s);
        }
        tips
    }

    /// What her crew decides on.
    fn choose(&mut self, around: &Around) {
        let (t_s, step_s, habits) = (around.t_s, around.step_s, around.habits);
        let dice = &mut self.dice;
        let mut kind = None;
        let meant = [
            (habits.heaves_to, Kind::HeaveTo),
            (habits.waits, Kind::Wait),
            (habits.drills, Kind::Drill),
            (habits.rafts, Kind::Raft),
        ];
        for (per_hour, meant) in meant {
            if dice.happens(per_hour, step_s) {
                kind = Some(meant);
            }
        }
        if t_s >= self.joins_s {
            (kind, self.joins_s) = (Some(Kind::Wait), f64::INFINITY);
        }
        let dawdles = dice.happens(habits.dawdles, step_s);
        if kind.is_none() && !dawdles {
            return;
        }
        let share = dice.between(measured::EASED_SHARE.0, measured::EASED_SHARE.1);
        let (eased_s, spread) = measured::EASED_S;
        let lasts_s = dice.log_normal(eased_s, spread).min(110.0);
        match kind {
            Some(Kind::Drill) => self.doing = Doing::Ease(t_s + 0.5 * lasts_s, share, kind),
            Some(_) if dice.chance(measured::EASED_FIRST) => {
                self.doing = Doing::Ease(t_s + lasts_s, share, kind)
            }
            Some(kind) => self.begin_stop(kind, t_s),
            None => self.doing = Doing::Ease(t_s + 0.4 * lasts_s, 0.8 * share, None),
        }
    }
}
