//! What befalls a boat under sail, and what waits for its moment.

use super::{
    boat::{Around, Boat},
    over::{self, Cause},
    passage::{After, Kind, Passage},
    stops, turns,
};

/// A capsize that found no fitting moment for so long comes by a gust, s.
const PATIENCE_S: f64 = 480.0;
/// This near the place where she was called she stops, m.
const NEAR_M: (f64, f64) = (12.0, 45.0);

/// A capsize that is to come when its moment does.
#[derive(Clone, Debug)]
pub(super) struct Fate {
    pub(super) cause: Cause,
    /// Not before, s.
    pub(super) from_s: f64,
}

/// What a boat asks of the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ask {
    /// The safety boat alongside.
    Raft,
    /// Not to be run into.
    Way,
}

/// Draws what befalls her in this step; it may begin a passage.
pub(super) fn befalls(boat: &mut Boat, water: &Around<'_>) -> Option<Ask> {
    let (t_s, step_s, habits) = (water.t_s, water.step_s, water.habits);
    if fated(boat, water) {
        return None;
    }
    if let Some((place, lasts_s)) = water.called {
        let near_m = boat.dice.between(NEAR_M.0, NEAR_M.1);
        if (place - boat.at).length() < near_m {
            let lasts_s = lasts_s + boat.dice.between(0.0, 40.0);
            boat.settle_side();
            let passage = stops::wait(boat, habits, lasts_s);
            lie(boat, passage, t_s);
        }
        return None;
    }
    let pressure = (boat.local.mps / water.mean_mps.max(0.5)).powi(2).min(3.0);
    let capsizes = habits.capsize * boat.proneness * pressure;
    if boat.fate.is_none() && boat.dice.happens(capsizes, step_s) {
        boat.fate = Some(Fate { cause: Cause::draw(boat.dice.unit()), from_s: t_s });
        return None;
    }
    // With no wind there is nothing to stop for.
    if water.is_lull {
        return None;
    }
    boat.settle_side();
    let passage = if boat.dice.happens(habits.heave_to, step_s) {
        stops::heave_to(boat, habits)
    } else if boat.dice.happens(habits.wait, step_s) {
        let lasts_s = stops::wait_s(boat, habits);
        stops::wait(boat, habits, lasts_s)
    } else if boat.dice.happens(habits.pick_up, step_s) {
        stops::pick_up(boat)
    } else if boat.dice.happens(habits.swap, step_s) {
        stops::swap(boat)
    } else if boat.dice.happens(habits.luff, step_s) && boat.off_deg < 140.0 {
        turns::luff(boat)
    } else if boat.dice.happens(habits.raft, step_s) {
        return Some(Ask::Raft);
    } else {
        // Each tangle is two boats'.
        return boat.dice.happens(0.5 * habits.tangle, step_s).then_some(Ask::Way);
    };
    lie(boat, passage, t_s);
    None
}

/// Begins a passage; a capsize that waited for her to lie comes somewhere in it.
fn lie(boat: &mut Boat, mut passage: Passage, t_s: f64) {
    let lies = matches!(passage.kind, Kind::Lie);
    let meant = boat.fate.as_ref().is_some_and(|fate| t_s >= fate.from_s && fate.cause == Cause::Lying);
    if lies && meant {
        passage.lasts_s *= boat.dice.between(0.4, 0.9);
        passage.then = After::Over(Cause::Lying);
    }
    boat.begin(passage, t_s);
}

/// Whether a capsize that waits begins now. Those in turns and stops are found there.
fn fated(boat: &mut Boat, water: &Around<'_>) -> bool {
    let Some(fate) = &boat.fate else { return false };
    let waited_s = water.t_s - fate.from_s;
    if waited_s < 0.0 {
        return false;
    }
    let now = match fate.cause {
        Cause::Gust => true,
        Cause::Broach => boat.off_deg > 65.0,
        Cause::ToWindward => boat.off_deg > 138.0,
        // Not meant: the boom comes over by itself.
        Cause::Gybe => boat.off_deg > 145.0,
        Cause::Tack | Cause::Irons | Cause::Lying => false,
    };
    let cause = if now { fate.cause } else { Cause::Gust };
    if !now && waited_s < PATIENCE_S {
        return false;
    }
    boat.settle_side();
    let passage = match cause {
        Cause::Gybe => Passage { then: After::Over(cause), ..turns::gybe(boat, 150.0) },
        _ => over::before(boat, cause),
    };
    boat.begin(passage, water.t_s);
    true
}
