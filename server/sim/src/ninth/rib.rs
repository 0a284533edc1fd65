//! Safety boats: they lie about, go from boat to boat, talk to crews alongside, and go to those who are over.

use crate::{
    dice::{Dice, Wander},
    plane::{Chart, Vec2, fold_180, wrap_360},
    sentence,
};

use super::day::Wind;

/// Why one goes to a boat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Why {
    Talk,
    Help,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum Task {
    /// Engine idling.
    Lies {
        until_s: f64,
    },
    Roams {
        to: Vec2,
    },
    Goes {
        boat: usize,
        why: Why,
        since_s: f64,
    },
    Beside {
        boat: usize,
        until_s: f64,
    },
    Tows {
        boat: usize,
        to_deg: f64,
        until_s: f64,
    },
}

#[derive(Clone, Debug)]
pub(super) struct Rib {
    pub(super) name: String,
    pub(super) at: Vec2,
    /// Over the ground.
    pub(super) moves: Vec2,
    pub(super) task: Task,
    heading_deg: f64,
    vane: Option<Vane>,
    error: [Wander; 2],
    pub(super) dice: Dice,
}

/// A wind instrument on a pole.
#[derive(Clone, Debug)]
struct Vane {
    off_deg: f64,
    /// It is joined to a compass and a receiver, and tells the true wind.
    true_wind: bool,
}

impl Rib {
    pub(super) fn draw(ix: usize, has_vane: bool, mut dice: Dice) -> Rib {
        // detection.md: 7 degrees before calibration, here after one: a guess.
        let vane = has_vane.then(|| Vane { off_deg: 4.0 * dice.normal(), true_wind: dice.chance(0.6) });
        Rib {
            name: format!("rib-{}", ix + 1),
            at: Vec2::new(dice.between(-150.0, 150.0), dice.between(-150.0, 150.0)),
            moves: Vec2::default(),
            task: Task::Lies { until_s: dice.between(20.0, 120.0) },
            heading_deg: dice.between(0.0, 360.0),
            vane,
            error: [Wander::new(1.5, 200.0, &mut dice), Wander::new(1.5, 200.0, &mut dice)],
            dice,
        }
    }

    /// The boat she holds or tows.
    pub(super) fn holds(&self) -> Option<usize> {
        match self.task {
            Task::Beside { boat, .. } | Task::Tows { boat, .. } => Some(boat),
            Task::Lies { .. } | Task::Roams { .. } | Task::Goes { .. } => None,
        }
    }

    pub(super) fn is_free(&self) -> bool {
        matches!(self.task, Task::Lies { .. } | Task::Roams { .. })
    }

    /// `to` is where the boat is that she goes to, `air` the wind over the water.
    pub(super) fn step(&mut self, to: Option<(Vec2, Vec2)>, air: Vec2, stream: Vec2, dt_s: f64) {
        // leeway.md: SKIFF-2, an upright V-shaped hull, 2.87 % and 4 cm/s.
        let drift = stream + air * 0.0287 + air.unit() * 0.04;
        let meant = match (self.task, to) {
            (Task::Lies { .. }, _) => drift,
            (Task::Roams { to }, _) => towards(to - self.at, 3.2),
            (Task::Goes { why, .. }, Some((at, moves))) => {
                let fast_mps = if why == Why::Help { 7.0 } else { 3.5 };
                moves + towards(at - self.at, fast_mps)
            }
            // With a boat alongside the engine is out of gear: both drift.
            (Task::Beside { .. }, Some((at, _))) => {
                let apart = at - self.at;
                drift + apart.unit() * (0.2 * (apart.length() - 3.0)).clamp(-0.3, 0.8)
            }
            (Task::Tows { to_deg, .. }, _) => Vec2::along(to_deg, 1.7),
            (Task::Goes { .. } | Task::Beside { .. }, None) => drift,
        };
        let change = meant - self.moves;
        let most = 1.1 * dt_s;
        self.moves += if change.length() > most { change.unit() * most } else { change };
        self.at += self.moves * dt_s;
        if self.moves.length() > 0.8 {
            let turn_deg = fold_180(self.moves.bearing_deg() - self.heading_deg);
            self.heading_deg = wrap_360(self.heading_deg + turn_deg * dt_s);
        }
    }

    /// Each second.
    pub(super) fn speak(&mut self, now_ms: i64, chart: &Chart, wind: Wind) -> Vec<String> {
        let [east, north] = self.error.each_mut().map(|part| part.step(1.0, &mut self.dice));
        let (lat, lon) = chart.lat_lon(self.at + Vec2::new(east, north));
        let noise = Vec2::new(0.05 * self.dice.normal(), 0.05 * self.dice.normal());
        let told = self.moves + noise;
        let mut lines = vec![sentence::rmc(now_ms, lat, lon, told.length(), Some(told.bearing_deg()))];
        let Some(vane) = &self.vane else { return lines };
        let shake_deg = vane.off_deg + 5.0 * self.dice.normal();
        let shakes = self.dice.log_normal(1.0, 0.06);
        if vane.true_wind {
            lines.push(sentence::mwd(wrap_360(wind.from_deg + shake_deg), wind.speed_mps * shakes));
        } else {
            let felt = Vec2::along(wind.from_deg + 180.0, wind.speed_mps) - self.moves;
            let from_deg = wrap_360(felt.bearing_deg() + 180.0 - self.heading_deg + shake_deg);
            lines.push(sentence::hdt(wrap_360(self.heading_deg + 2.0 * self.dice.normal())));
            lines.push(sentence::mwv_relative(from_deg, felt.length() * shakes));
        }
        lines
    }
}

/// Full speed when far, slower when near.
fn towards(there: Vec2, fast_mps: f64) -> Vec2 {
    there.unit() * (0.16 * there.length()).min(fast_mps)
}
