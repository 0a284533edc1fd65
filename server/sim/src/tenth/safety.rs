//! A safety boat: where she is bound, and what she tells.

use super::{
    STEP_S,
    air::{Vane, Wind},
    widely,
};
use crate::{
    dice::{Dice, Wander},
    plane::{Chart, Vec2, fold_180, wrap_360},
    sentence,
};

/// What she is about.
#[derive(Clone, Copy, Debug)]
pub(super) enum Task {
    Roams {
        to: Vec2,
        until_s: f64,
    },
    /// To a boat: to help her, or for a talk.
    Goes {
        boat: usize,
        helps: bool,
    },
    /// Beside one that is over or bails.
    Helps {
        boat: usize,
    },
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
pub(super) struct Safety {
    pub(super) name: String,
    pub(super) at: Vec2,
    heading_deg: f64,
    way_mps: f64,
    pub(super) cruise_mps: f64,
    pub(super) task: Task,
    pub(super) talks_at_s: f64,
    vane: Option<Vane>,
    error: [Wander; 2],
    pub(super) dice: Dice,
}

impl Safety {
    pub(super) fn draw(ix: usize, vane: Option<Vane>, mut dice: Dice) -> Safety {
        Safety {
            name: format!("safety-t{}", ix + 1),
            at: Vec2::along(dice.between(0.0, 360.0), dice.between(20.0, 120.0)),
            heading_deg: dice.between(0.0, 360.0),
            way_mps: 0.0,
            cruise_mps: dice.between(3.0, 7.0),
            task: Task::Roams { to: Vec2::default(), until_s: 60.0 },
            talks_at_s: widely(&mut dice, 100.0, 1_500.0),
            vane,
            error: [0; 2].map(|_| Wander::new(2.5, 120.0, &mut dice)),
            dice,
        }
    }

    /// A step towards there, to come to rest so far off.
    pub(super) fn steers(&mut self, to: Vec2, off_m: f64, most_mps: f64, stream: Vec2) {
        let way = to - self.at;
        let left_m = way.length() - off_m;
        let want_mps = (left_m * 0.4).clamp(0.0, most_mps);
        if left_m > 0.5 {
            let most_deg = 40.0 * STEP_S;
            let turn_deg = fold_180(way.bearing_deg() - self.heading_deg).clamp(-most_deg, most_deg);
            self.heading_deg = wrap_360(self.heading_deg + turn_deg);
        }
        self.way_mps += (want_mps - self.way_mps) * (STEP_S / 2.0);
        // With her engine she holds her place against most of the stream.
        self.at += (self.over_ground() + stream * 0.15) * STEP_S;
    }

    fn over_ground(&self) -> Vec2 {
        Vec2::along(self.heading_deg, self.way_mps)
    }

    /// Each second: her own place, and the wind if she has an instrument.
    pub(super) fn speak(&mut self, now_ms: i64, second: u32, chart: &Chart, wind: Wind) -> Vec<String> {
        let dice = &mut self.dice;
        let error = self.error.each_mut().map(|axis| axis.step(1.0, dice));
        let (lat, lon) = chart.lat_lon(self.at + Vec2::new(error[0], error[1]));
        let told = self.over_ground() + Vec2::new(self.dice.normal(), self.dice.normal()) * 0.05;
        let mut lines = vec![sentence::rmc(
            now_ms,
            lat,
            lon,
            told.length(),
            (told.length() > 0.3).then(|| told.bearing_deg()),
        )];
        if let Some(vane) = self.vane.as_mut().filter(|vane| second.is_multiple_of(vane.every_s)) {
            lines.push(vane.line(wind));
        }
        lines
    }
}
