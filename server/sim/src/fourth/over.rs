//! Capsizes: how they announce themselves, the going over, the lying there, and the bailing after it.

use super::{
    boat::Boat,
    curve::Curve,
    habits::Habits,
    passage::{After, Kind, Passage},
};
use crate::truth::Reason;

/// How long she lies on her side, s: half of all times, and the least. Common practice, no source.
const LIES_S: f64 = 95.0;
const LIES_SPREAD: f64 = 0.9;
const LEAST_S: f64 = 8.0;
/// Share that cannot come up alone, and when they do at last if nobody comes, s.
const HELPLESS: f64 = 0.08;
const AT_LAST_S: f64 = 900.0;
const TURTLES: f64 = 1.0 / 6.0;
/// Share that goes over again within a minute and a half.
const AGAIN: f64 = 0.12;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cause {
    Gust,
    Gybe,
    Tack,
    ToWindward,
    Irons,
    /// A gust while she lay stopped.
    Lying,
    /// Rounded up slowly, out of hand.
    Broach,
}

/// What is most often told of capsizes in training. Common practice, no source.
const CAUSES: [(Cause, f64); 7] = [
    (Cause::Gust, 0.38),
    (Cause::Gybe, 0.18),
    (Cause::Tack, 0.13),
    (Cause::ToWindward, 0.08),
    (Cause::Irons, 0.05),
    (Cause::Lying, 0.05),
    (Cause::Broach, 0.13),
];

impl Cause {
    pub(super) fn draw(share: f64) -> Cause {
        let mut left = share;
        for (cause, weight) in CAUSES {
            left -= weight;
            if left < 0.0 {
                return cause;
            }
        }
        Cause::Gust
    }

    pub(super) fn name(self) -> &'static str {
        match self {
            Cause::Gust | Cause::Lying | Cause::Broach => "gust",
            Cause::Gybe => "gybe",
            Cause::Tack => "tack",
            Cause::ToWindward => "to-windward",
            Cause::Irons => "irons",
        }
    }

    /// Share of these that round up while going over; the others bear away.
    fn rounds_up(self) -> f64 {
        match self {
            Cause::Gust | Cause::Lying => 0.75,
            Cause::Broach => 0.95,
            Cause::Gybe => 0.6,
            Cause::Tack | Cause::Irons => 0.35,
            Cause::ToWindward => 0.15,
        }
    }
}

/// What the truth wants to know of one.
#[derive(Clone, Debug)]
pub(super) struct Over {
    pub(super) cause: Cause,
    pub(super) inverted: bool,
    pub(super) quick: bool,
    /// Somebody must come.
    pub(super) helpless: bool,
}

/// The seconds before: a gust and more way, a slow broach, or a roll from side to side.
pub(super) fn before(boat: &mut Boat, cause: Cause) -> Passage {
    boat.gust.value += boat.dice.between(0.15, 0.55);
    let (dice, off, way) = (&mut boat.dice, boat.off_deg, boat.way_mps);
    let (off, way) = match cause {
        Cause::Broach => {
            let lasts_s = dice.between(4.0, 10.0);
            let up_deg = (off - dice.between(25.0, 60.0)).max(15.0);
            let faster_mps = way * dice.between(1.0, 1.15);
            let slower_mps = way * dice.between(0.4, 0.7);
            let way = Curve::from(way).to(0.3 * lasts_s, faster_mps).to(0.7 * lasts_s, slower_mps);
            (Curve::from(off).to(lasts_s, up_deg), way)
        }
        Cause::ToWindward => {
            let (half_s, rolls_deg) = (dice.between(1.0, 1.7), dice.between(4.0, 16.0));
            let curve = Curve::from(off).to(half_s, off + rolls_deg * 0.6).to(half_s, off - rolls_deg);
            (curve.to(half_s, off + rolls_deg), Curve::from(way).to(3.0, way * dice.between(0.95, 1.15)))
        }
        _ => {
            let lasts_s = dice.between(0.5, 4.5);
            let moved_deg = off + dice.between(-14.0, 5.0);
            (
                Curve::from(off).to(lasts_s, moved_deg),
                Curve::from(way).to(lasts_s, way * dice.between(0.95, 1.25)),
            )
        }
    };
    Passage { then: After::Over(cause), ..Passage::under_way(off, way) }
}

/// She goes over and lies there.
pub(super) fn over(boat: &mut Boat, habits: &Habits, cause: Cause) -> Passage {
    let dice = &mut boat.dice;
    let (falls_s, turn_deg) = (dice.between(1.0, 4.0), dice.between(10.0, 70.0));
    let round = if dice.chance(cause.rounds_up()) { -1.0 } else { 1.0 };
    let fallen_deg = (boat.off_deg + round * turn_deg).clamp(-30.0, 200.0);
    // The heavy one carries her way for longer.
    let gone_s = boat.class.of(dice.between(3.5, 7.0), dice.between(2.0, 5.0));
    let helpless = dice.chance(HELPLESS);
    let drawn_s = (dice.log_normal(LIES_S, LIES_SPREAD) * habits.over_length).max(LEAST_S);
    let lasts_s = if helpless { AT_LAST_S } else { drawn_s };
    let inverted = lasts_s > 20.0 && dice.chance(TURTLES);
    let way = boat.way_mps;
    let mut curve = Curve::from(way)
        .to(falls_s, way * dice.between(0.6, 0.95))
        .to(gone_s, way * 0.2)
        .to(dice.between(2.0, 7.0), dice.between(-0.03, 0.05));
    let share = (habits.over_drift * dice.log_normal(1.0, 0.3)).clamp(0.01, 0.035);
    let share = if inverted { (share * 0.75).max(0.01) } else { share };
    let mut drift = Curve::from(0.008).to(falls_s + gone_s, share);
    // Now and then she comes half up, moves a little, and falls back.
    for _ in 0..dice.pick(4) {
        let (until_s, up_s) = (dice.between(10.0, 70.0), dice.between(2.0, 6.0));
        curve = curve.hold(until_s).to(0.5 * up_s, dice.between(0.05, 0.5)).to(0.7 * up_s, 0.0);
        drift = drift.hold(until_s).to(0.5 * up_s, (share * 1.4).min(0.035)).to(0.7 * up_s, share);
    }
    let swings_s = dice.between(10.0, 50.0);
    let off = Curve::from(boat.off_deg)
        .to(falls_s + 0.5 * gone_s, fallen_deg)
        .hold(0.5 * gone_s)
        .to(swings_s, dice.between(50.0, 140.0))
        .to(dice.between(40.0, 120.0), dice.between(30.0, 150.0));
    let mut passage = Passage::lying(Reason::Capsized, lasts_s, off, curve);
    passage.kind = Kind::Over(Over { cause, inverted, quick: falls_s < 4.0, helpless });
    passage.drift = drift;
    passage.drift_off_deg = dice.sign() * (habits.over_off_deg * dice.normal().abs()).min(60.0);
    (passage.yaw_deg, passage.yaw_s) = (dice.between(3.0, 20.0), dice.between(15.0, 60.0));
    passage.yaw_from_s = falls_s + gone_s;
    passage.jerk_mps = dice.between(0.1, 0.3);
    passage.then = After::Bail;
    passage
}

/// Upright again, everybody climbing in and bailing; some boats run off for a moment, one in eight falls over
/// once more. The second value tells in how many seconds, when that is later than the bailing.
pub(super) fn bail(boat: &mut Boat, habits: &Habits) -> (Passage, Option<f64>) {
    let dice = &mut boat.dice;
    let lasts_s = dice.log_normal(40.0, 0.6).clamp(10.0, 120.0);
    let again_s = dice.chance(AGAIN).then(|| dice.between(5.0, 85.0));
    let off = Curve::from(boat.off_deg).to(dice.between(4.0, 15.0), dice.between(50.0, 110.0));
    let runs_mps = if dice.chance(0.3) { dice.between(0.3, 1.0) } else { dice.between(0.0, 0.2) };
    let way = Curve::from(boat.way_mps)
        .to(2.5, runs_mps)
        .hold(dice.between(0.0, 6.0))
        .to(4.0, dice.between(0.0, 0.2));
    let mut passage = Passage::lying(Reason::Recovering, again_s.unwrap_or(lasts_s).min(lasts_s), off, way);
    passage.kind = Kind::Bail;
    let share = (habits.loose_drift + 0.004 * dice.normal()).clamp(0.02, 0.04);
    passage.drift = Curve::from(0.018).to(5.0, share);
    passage.drift_off_deg = dice.between(-30.0, 30.0);
    (passage.yaw_deg, passage.yaw_s) = (dice.between(3.0, 15.0), dice.between(12.0, 40.0));
    passage.jerk_mps = dice.between(0.05, 0.2);
    let at_once = again_s.is_some_and(|again_s| again_s < lasts_s);
    if at_once {
        passage.then = After::Over(Cause::Gust);
    }
    (passage, again_s.filter(|_| !at_once))
}
