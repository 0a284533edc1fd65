//! The safety boats: they potter among the fleet, lie and watch, talk to a crew alongside, go to whoever is over
//! and take the tired in tow.

use crate::{
    dice::Dice,
    plane::{Chart, Vec2, fold_180, wrap_360},
    sentence,
};

use super::air::Wind;

/// What it is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Task {
    Lies {
        until_s: f64,
    },
    GoesTo {
        to: Vec2,
        fast_mps: f64,
    },
    /// To a boat that is over; there since.
    Helps {
        boat: usize,
    },
    /// Alongside a boat.
    Talks {
        boat: usize,
    },
    Tows {
        boat: usize,
        to: Vec2,
        until_s: f64,
    },
}

#[derive(Clone, Debug)]
pub(super) struct Rib {
    pub(super) name: String,
    pub(super) at: Vec2,
    velocity: Vec2,
    heading_deg: f64,
    pub(super) task: Task,
    /// Its vane reads so much to the right, degrees; `None`: none.
    vane_off_deg: Option<f64>,
    /// It works out the true wind itself.
    says_true: bool,
    low: f64,
    dice: Dice,
}

impl Rib {
    pub(super) fn draw(ix: usize, has_vane: bool, says_true: bool, mut dice: Dice) -> Rib {
        Rib {
            name: format!("rib-{}", ix + 1),
            at: Vec2::new(dice.between(-150.0, 150.0), dice.between(-150.0, 150.0)),
            velocity: Vec2::default(),
            heading_deg: dice.between(0.0, 360.0),
            task: Task::Lies { until_s: dice.between(10.0, 120.0) },
            // 7 degrees before calibration, and it is seldom done well (EP 2354798 in wind.md).
            vane_off_deg: has_vane.then(|| 5.0 * dice.normal()),
            says_true,
            // The wind at 2 m is the 10 m wind over 1.1 to 1.3 (leeway.md).
            low: 1.0 / dice.between(1.1, 1.3),
            dice,
        }
    }

    pub(super) fn is_free(&self) -> bool {
        matches!(self.task, Task::Lies { .. } | Task::GoesTo { .. })
    }

    /// `boats`: where they are and how they move over the ground.
    pub(super) fn step(&mut self, t_s: f64, dt_s: f64, boats: &[(Vec2, Vec2)], wind: Wind, stream: Vec2) {
        let near = |ix: usize| boats.get(ix).copied().unwrap_or_default();
        let drifts = Vec2::along(wind.from_deg + 180.0, 0.035 * wind.speed_mps) + stream;
        let wish = match self.task {
            Task::Lies { until_s } => {
                if t_s > until_s {
                    let (at, _) = near(self.dice.pick(boats.len()));
                    let off = Vec2::along(self.dice.between(0.0, 360.0), self.dice.between(15.0, 70.0));
                    self.task = Task::GoesTo { to: at + off, fast_mps: self.dice.between(1.5, 5.0) };
                }
                drifts
            }
            Task::GoesTo { to, fast_mps } => {
                if (to - self.at).length() < 8.0 {
                    self.task = Task::Lies { until_s: t_s + self.dice.log_normal(60.0, 0.8) };
                }
                self.towards(to, fast_mps, Vec2::default())
            }
            Task::Helps { boat } => {
                let (at, moves) = near(boat);
                self.towards(at, 7.0, moves)
            }
            Task::Talks { boat } => {
                let (at, moves) = near(boat);
                self.towards(at, 5.0, moves)
            }
            Task::Tows { to, .. } => (to - self.at).unit() * 2.2,
        };
        let change = wish - self.velocity;
        self.velocity += change * (1.8 * dt_s / change.length().max(1.8 * dt_s));
        self.at += self.velocity * dt_s;
        if (self.velocity - stream).length() > 0.7 {
            let turn_deg = fold_180(self.velocity.bearing_deg() - self.heading_deg);
            self.heading_deg = wrap_360(self.heading_deg + turn_deg * (dt_s / 1.5).min(1.0));
        }
    }

    /// To within arm's length of something that moves so.
    fn towards(&self, at: Vec2, most_mps: f64, moves: Vec2) -> Vec2 {
        let way = at - self.at;
        moves + way.unit() * (0.4 * (way.length() - 2.5)).clamp(-0.5, most_mps)
    }

    /// Its lines of this second.
    pub(super) fn speak(&mut self, now_ms: i64, second: u32, chart: &Chart, wind: Wind) -> Vec<String> {
        let dice = &mut self.dice;
        let off = Vec2::new(dice.normal(), dice.normal());
        let (lat, lon) = chart.lat_lon(self.at + off * 0.8);
        let speed_mps = (self.velocity.length() + 0.03 * dice.normal()).max(0.0);
        let course_deg = (speed_mps > 0.1).then(|| self.velocity.bearing_deg());
        let mut lines = vec![sentence::rmc(now_ms, lat, lon, speed_mps, course_deg)];
        let Some(vane_off_deg) = self.vane_off_deg else { return lines };
        let blows = Vec2::along(wind.from_deg + 180.0, self.low * wind.speed_mps);
        let felt = (blows - self.velocity) * -1.0;
        let read_deg = vane_off_deg + 5.0 * dice.normal();
        let read_mps = (felt.length() * (1.0 + 0.05 * dice.normal())).max(0.0);
        let heading_deg = wrap_360(self.heading_deg + 2.0 * dice.normal());
        lines.push(sentence::hdt(heading_deg));
        lines.push(sentence::mwv_relative(
            wrap_360(felt.bearing_deg() - self.heading_deg + read_deg),
            read_mps,
        ));
        if self.says_true && second.is_multiple_of(4) {
            lines.push(sentence::mwd(wrap_360(wind.from_deg + read_deg), self.low * wind.speed_mps));
        }
        lines
    }
}
