//! What a crew is about while she sails: points to go round, a leader to follow, and the heading for it.

use crate::{
    dice::Dice,
    plane::{Vec2, fold_180},
};

use super::own::Own;

#[derive(Clone, Debug)]
pub(super) struct Errand {
    points: Vec<Vec2>,
    next: usize,
    /// Another boat to follow.
    pub(super) leader: Option<usize>,
    until_s: f64,
    leg_until_s: f64,
    /// Side the wind is wanted on, +1 starboard.
    board: f64,
    board_until_s: f64,
}

/// A point is reached within this, m.
const REACHED_M: f64 = 16.0;

impl Errand {
    pub(super) fn draw(t_s: f64, from_deg: f64, fleet: usize, dice: &mut Dice) -> Errand {
        // In the wind's own frame: across to the right of it, and against it.
        let point =
            |across_m: f64, up_m: f64| Vec2::along(from_deg, up_m) + Vec2::along(from_deg + 90.0, across_m);
        let middle = point(dice.between(-250.0, 250.0), dice.between(-250.0, 250.0));
        let size_m = dice.between(80.0, 260.0);
        let mut leader = None;
        let offs: Vec<(f64, f64)> = match dice.pick(10) {
            // To and fro across the wind.
            0..=3 => vec![(-1.0, dice.between(-0.2, 0.2)), (1.0, dice.between(-0.2, 0.2))],
            4 | 5 => vec![(0.0, 1.0), (-0.9, 0.0), (0.0, -1.0)],
            // A beat and a run.
            6 | 7 => vec![(dice.between(-0.3, 0.3), 1.2), (dice.between(-0.3, 0.3), -1.2)],
            8 => {
                leader = Some(dice.pick(fleet));
                vec![(0.0, 0.0)]
            }
            _ => (0..4).map(|_| (dice.between(-1.3, 1.3), dice.between(-1.3, 1.3))).collect(),
        };
        let points = offs.into_iter().map(|(across, up)| middle + point(size_m * across, size_m * up));
        Errand {
            points: points.collect(),
            next: 0,
            leader,
            until_s: t_s + dice.between(240.0, 1_000.0),
            leg_until_s: t_s + 240.0,
            board: dice.sign(),
            board_until_s: 0.0,
        }
    }

    pub(super) fn is_done(&self, t_s: f64) -> bool {
        t_s > self.until_s
    }

    /// The heading to steer; `followed` is where the leader is.
    pub(super) fn heading_deg(
        &mut self,
        at: Vec2,
        followed: Option<Vec2>,
        from_deg: f64,
        own: &Own,
        t_s: f64,
        dice: &mut Dice,
    ) -> f64 {
        let mut to = followed.unwrap_or_else(|| self.points[self.next % self.points.len()]);
        if followed.is_none() && ((to - at).length() < REACHED_M || t_s > self.leg_until_s) {
            self.next += 1;
            self.leg_until_s = t_s + dice.between(150.0, 300.0);
            to = self.points[self.next % self.points.len()];
        }
        let bearing_deg = (to - at).bearing_deg();
        let off_deg = fold_180(from_deg - bearing_deg);
        let mut change = |gone_far: bool, board: &mut f64| {
            if gone_far || t_s > self.board_until_s {
                // The clock is only for boards that are too long for their liking.
                if gone_far || self.board_until_s > 0.0 {
                    *board = -*board;
                }
                self.board_until_s = t_s + dice.log_normal(48.0, 0.5).max(16.0);
            }
        };
        let pointing_deg = own.pointing_deg;
        if off_deg.abs() < pointing_deg {
            change(off_deg * self.board < -(pointing_deg - 6.0), &mut self.board);
            from_deg - self.board * pointing_deg
        } else if off_deg.abs() > own.running_deg {
            change(off_deg * self.board < 0.0 && off_deg.abs() < own.running_deg + 3.0, &mut self.board);
            from_deg - self.board * own.running_deg
        } else {
            self.board = off_deg.signum();
            self.board_until_s = t_s + dice.between(15.0, 40.0);
            bearing_deg
        }
    }
}
