//! Watches the true boats and writes down what really happened.

use std::collections::VecDeque;

use crate::{
    dinghy::Dinghy,
    mode::{Air, Mode},
    plane::{Vec2, fold_180, kn},
    site::Site,
    truth::{Crossing, ManoeuvreTruth, Reason, RoundingTruth, Spell},
};

/// Settled on the new side of the wind (reference: at least 20 degrees).
const SETTLED_DEG: f64 = 20.0;
/// Within this of a mark is its neighbourhood, m; out of it again a little further.
const NEAR_MARK_M: f64 = 30.0;
const CLEAR_OF_MARK_M: f64 = 36.0;
/// Angle swept round a mark that makes a rounding (reference: at least 60 degrees).
const ROUNDED_DEG: f64 = 60.0;

/// Where a boat stands to the wind and marks; one for each dinghy.
#[derive(Clone, Debug, Default)]
pub(crate) struct Record {
    boat: String,
    open: Option<(Reason, i64)>,
    exit: Option<Crossing>,
    no_go: Vec<Option<Crossing>>,
    turn: TurnRecord,
    marks: Vec<Option<MarkPass>>,
    /// One a second: over-ground speed, unwrapped heading, way; the last half minute.
    past: VecDeque<(i64, f64, f64, f64)>,
    idle_since: Option<i64>,
    /// No manoeuvre is scored before this (just righted, let go from tow).
    pub(crate) unscored_until_ms: i64,
}

#[derive(Clone, Debug, Default)]
struct TurnRecord {
    twa: Option<f64>,
    unwrapped_twa: f64,
    heading: f64,
    unwrapped_heading: f64,
    settled: Option<(f64, f64)>,
    crossed_ms: i64,
    run_since_ms: i64,
}

#[derive(Clone, Debug)]
struct MarkPass {
    bearing: f64,
    sweep: f64,
    nearest_m: f64,
    meant: bool,
    spoiled: bool,
}

/// Everything finished, gathered from all boats.
#[derive(Clone, Debug, Default)]
pub(crate) struct Finished {
    pub(crate) spells: Vec<Spell>,
    pub(crate) exits: Vec<Crossing>,
    pub(crate) no_go: Vec<Crossing>,
    pub(crate) manoeuvres: Vec<ManoeuvreTruth>,
    pub(crate) roundings: Vec<RoundingTruth>,
}

/// The reason a mode stands for; `None` while she sails.
pub(crate) fn reason(dinghy: &Dinghy, air: Air) -> Option<Reason> {
    match &dinghy.mode {
        Mode::Ashore { .. } | Mode::Beached => Some(Reason::Landing),
        Mode::Irons { .. } => Some(Reason::InIrons),
        Mode::HoveTo { .. } => Some(Reason::HoveTo),
        Mode::Waiting { .. } => Some(Reason::Waiting),
        Mode::Rafted { made_fast, .. } => Some(if *made_fast { Reason::Rafted } else { Reason::Waiting }),
        Mode::Towed { .. } => Some(Reason::Towed),
        Mode::PickUp { person: false, .. } => Some(Reason::DrillPickUp),
        Mode::PickUp { person: true, .. } => Some(Reason::PersonPickUp),
        Mode::Capsized(_) => Some(Reason::Capsized),
        Mode::Recovering { .. } => Some(Reason::Recovering),
        Mode::Aground { .. } => Some(Reason::Aground),
        Mode::Sailing => (air.speed_mps < 1.3 && dinghy.way_mps.abs() < 0.4).then_some(Reason::Becalmed),
    }
}

/// What one step shows of one boat.
pub(crate) struct Seen<'a> {
    pub(crate) t_ms: i64,
    pub(crate) dinghy: &'a Dinghy,
    /// The wind over the water at the boat.
    pub(crate) air: Air,
    pub(crate) site: &'a Site,
}

impl Record {
    pub(crate) fn new(boat: &str, zones: usize, marks: usize) -> Record {
        Record {
            boat: boat.to_owned(),
            no_go: vec![None; zones],
            marks: vec![None; marks],
            ..Record::default()
        }
    }

    pub(crate) fn rename(&mut self, boat: &str) {
        boat.clone_into(&mut self.boat);
    }

    /// A leg that ends at a mark was completed: the rounding in progress is meant.
    pub(crate) fn meant(&mut self, mark: usize) {
        if let Some(Some(pass)) = self.marks.get_mut(mark) {
            pass.meant = true;
        }
    }

    /// Takes note of one step.
    pub(crate) fn see(&mut self, seen: &Seen<'_>, out: &mut Finished) {
        let why = reason(seen.dinghy, seen.air);
        self.see_spell(seen.t_ms, why, out);
        let idle = why.is_some_and(|why| !matches!(why, Reason::Landing | Reason::Towed));
        self.idle_since = if idle { self.idle_since.or(Some(seen.t_ms)) } else { None };
        self.see_past(seen);
        self.see_boundaries(seen, why, out);
        self.see_turns(seen, why, out);
        self.see_marks(seen, why, out);
    }

    /// Closes what is open at the end.
    pub(crate) fn close(&mut self, t_ms: i64, out: &mut Finished) {
        self.see_spell(t_ms, None, out);
        out.exits.extend(self.exit.take());
        out.no_go.extend(self.no_go.iter_mut().filter_map(Option::take));
    }

    fn see_spell(&mut self, t_ms: i64, why: Option<Reason>, out: &mut Finished) {
        if self.open.map(|(was, _)| was) == why {
            return;
        }
        if let Some((reason, start_ms)) = self.open.take() {
            out.spells.push(Spell { boat: self.boat.clone(), reason, start_ms, end_ms: t_ms });
        }
        self.open = why.map(|why| (why, t_ms));
    }

    fn see_past(&mut self, seen: &Seen<'_>) {
        if self.past.back().is_none_or(|last| seen.t_ms - last.0 >= 1000) {
            self.past.push_back((
                seen.t_ms,
                seen.dinghy.velocity.length(),
                self.turn.unwrapped_heading,
                seen.dinghy.way_mps,
            ));
            if self.past.len() > 30 {
                self.past.pop_front();
            }
        }
    }

    fn see_boundaries(&mut self, seen: &Seen<'_>, why: Option<Reason>, out: &mut Finished) {
        let afloat = why != Some(Reason::Landing);
        let outside = if afloat { seen.site.outside_m(seen.dinghy.at) } else { -10.0 };
        let drifting = self.idle_since;
        let speed_kn = kn(self.past.iter().map(|p| p.1).sum::<f64>() / self.past.len().max(1) as f64);
        let open = |zone: &str| Crossing {
            boat: self.boat.clone(),
            zone: zone.to_owned(),
            start_ms: seen.t_ms,
            end_ms: None,
            depth_m: 0.0,
            drifting_since_ms: drifting,
            speed_kn,
        };
        let finished = cross(&mut self.exit, outside, seen.t_ms, || open("sailing area"));
        out.exits.extend(finished);
        for (i, (name, ring)) in seen.site.no_go.iter().enumerate() {
            let inside = if afloat { ring.margin(seen.dinghy.at) } else { -10.0 };
            let finished = cross(&mut self.no_go[i], inside, seen.t_ms, || open(name));
            out.no_go.extend(finished);
        }
    }

    fn see_turns(&mut self, seen: &Seen<'_>, why: Option<Reason>, out: &mut Finished) {
        let twa = fold_180(seen.air.from_deg - seen.dinghy.heading_deg);
        let turn = &mut self.turn;
        let Some(before) = turn.twa.replace(twa) else {
            turn.unwrapped_twa = twa;
            turn.heading = seen.dinghy.heading_deg;
            turn.unwrapped_heading = turn.heading;
            return;
        };
        let step = fold_180(twa - before);
        let side_before = (turn.unwrapped_twa / 180.0).floor();
        turn.unwrapped_twa += step;
        turn.unwrapped_heading += fold_180(seen.dinghy.heading_deg - turn.heading);
        turn.heading = seen.dinghy.heading_deg;
        if (turn.unwrapped_twa / 180.0).floor() != side_before {
            turn.crossed_ms = seen.t_ms;
            turn.run_since_ms = seen.t_ms;
        }
        let running = twa.abs() > 180.0 - SETTLED_DEG;
        let with_boom = twa * seen.dinghy.boom > 0.0;
        // On a run the sail decides: settled once it has stayed over for four seconds.
        let settled =
            twa.abs() >= SETTLED_DEG && with_boom && (!running || seen.t_ms - turn.run_since_ms >= 4000);
        if !settled {
            return;
        }
        let now_side = (turn.unwrapped_twa / 180.0).floor();
        let Some((was_side, _)) = turn.settled.replace((now_side, turn.unwrapped_heading)) else { return };
        if was_side == now_side {
            return;
        }
        let crossing = was_side.max(now_side);
        let kind = if crossing.rem_euclid(2.0) == 0.0 { "tack" } else { "gybe" };
        let crossed_ms = turn.crossed_ms;
        let heading_before = self
            .past
            .iter()
            .rev()
            .find(|p| p.0 <= crossed_ms - 8000)
            .or(self.past.front())
            .map_or(turn.unwrapped_heading, |p| p.2);
        let way_before =
            self.past.iter().filter(|p| p.0 <= crossed_ms + 1000).map(|p| p.3).fold(0.0, f64::max);
        let zigzag = out
            .manoeuvres
            .iter_mut()
            .rev()
            .take(40)
            .find(|m| m.boat == self.boat && seen.t_ms - m.settled_ms < 10_000);
        let mut unscored = why.is_some_and(|why| why != Reason::Becalmed)
            || way_before < 0.6
            || seen.t_ms < self.unscored_until_ms
            || (was_side - now_side).abs() > 1.5;
        if let Some(zigzag) = zigzag {
            zigzag.unscored = true;
            unscored = true;
        }
        out.manoeuvres.push(ManoeuvreTruth {
            boat: self.boat.clone(),
            kind: kind.to_owned(),
            crossed_ms,
            settled_ms: seen.t_ms,
            turn_deg: turn.unwrapped_heading - heading_before,
            unscored,
        });
    }

    fn see_marks(&mut self, seen: &Seen<'_>, why: Option<Reason>, out: &mut Finished) {
        for (i, mark) in seen.site.marks.iter().enumerate() {
            let off: Vec2 = seen.dinghy.at - mark.at;
            let distance = off.length();
            let Some(pass) = &mut self.marks[i] else {
                if distance < NEAR_MARK_M && why != Some(Reason::Landing) {
                    self.marks[i] = Some(MarkPass {
                        bearing: off.bearing_deg(),
                        sweep: 0.0,
                        nearest_m: distance,
                        meant: false,
                        spoiled: false,
                    });
                }
                continue;
            };
            pass.sweep += fold_180(off.bearing_deg() - pass.bearing);
            pass.bearing = off.bearing_deg();
            pass.nearest_m = pass.nearest_m.min(distance);
            pass.spoiled |= why.is_some();
            if distance > CLEAR_OF_MARK_M {
                if pass.sweep.abs() >= ROUNDED_DEG {
                    out.roundings.push(RoundingTruth {
                        boat: self.boat.clone(),
                        mark: mark.name.clone(),
                        // Bearing from the mark decreasing, anticlockwise from above: left to port.
                        hand: if pass.sweep < 0.0 { "port" } else { "starboard" }.to_owned(),
                        left_ms: seen.t_ms,
                        sweep_deg: pass.sweep,
                        meant: pass.meant && !pass.spoiled && pass.sweep.abs() < 330.0,
                    });
                }
                self.marks[i] = None;
            }
        }
    }
}

/// Opens, deepens or closes a crossing; `past_m` is how far past the boundary she is.
fn cross(
    open: &mut Option<Crossing>,
    past_m: f64,
    t_ms: i64,
    new: impl FnOnce() -> Crossing,
) -> Option<Crossing> {
    match open {
        None if past_m > 0.0 => {
            *open = Some(new());
            None
        }
        None => None,
        Some(crossing) => {
            crossing.depth_m = crossing.depth_m.max(past_m);
            if past_m > -1.0 {
                return None;
            }
            let mut done = open.take()?;
            done.end_ms = Some(t_ms);
            Some(done)
        }
    }
}
