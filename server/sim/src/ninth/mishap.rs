//! How a boat comes to be over, how she comes up, and how she lies beside another.

use crate::plane::{Vec2, wrap_360};

use super::{
    boat::{Around, Boat},
    doing::Doing,
    hull::LOST_DEG,
    over::Over,
};

/// Full of water and on her side for so long she is as good as over, s.
const FULL_S: f64 = 12.0;

impl Boat {
    /// She is past righting herself.
    pub(super) fn is_lost(&self) -> bool {
        let full = self.hull.swamped >= 1.0 && self.hull.leans_s > FULL_S;
        full || self.hull.heel_deg.abs() > LOST_DEG
    }

    pub(super) fn goes_over(&mut self, t_s: f64) {
        let (cause, whose) = (self.cause(t_s), (&self.class, &self.people));
        self.doing = Doing::Over(Over::goes(&self.hull, whose, cause, t_s, &mut self.dice));
        self.phone.may_drown(t_s);
        (self.drill, self.called) = (None, None);
        self.hands.let_go();
    }

    fn cause(&self, t_s: f64) -> &'static str {
        if matches!(self.doing, Doing::Irons(_)) {
            return "irons";
        }
        match self.turned {
            Some((turn, at_s)) if t_s - at_s < 7.0 => turn,
            _ if self.hull.press_nm * self.hull.heel_deg < 0.0 => "to-windward",
            _ => "gust",
        }
    }

    pub(super) fn rights(&mut self, dry: bool, around: &Around) {
        let (bails_s, wettest) = if dry { (7.0, 0.3) } else { (40.0, 1.0) };
        let until_s = around.t_s + self.dice.log_normal(bails_s, 0.6);
        self.doing = Doing::Bails { until_s };
        // She comes up with the wind abeam or ahead of it, full of water.
        let off_deg = self.dice.sign() * self.dice.between(35.0, 100.0);
        self.hull.heading_deg = wrap_360(around.wind.from_deg - off_deg);
        (self.hull.heel_deg, self.hull.roll_dps, self.hull.turn_dps) = (0.0, 0.0, 0.0);
        (self.hull.swamped, self.hull.leans_s, self.stuck_s) =
            (wettest * self.dice.between(0.4, 1.0), 0.0, 0.0);
        self.phone.comes_up(around.t_s);
    }

    /// Alongside or on a line: the other boat's way, soon.
    pub(super) fn is_held(&mut self, at: Vec2, moves: Vec2, around: &Around) {
        let apart = at - self.hull.at;
        let far_m = if matches!(self.doing, Doing::Towed) { 9.0 } else { 2.5 };
        let pull = apart.unit() * (0.25 * (apart.length() - far_m)).clamp(-0.4, 0.8);
        let meant = moves + pull - around.stream;
        self.hull.way = self.hull.way + (meant - self.hull.way) * (around.dt_s / 3.0);
        self.hull.at += (self.hull.way + around.stream) * around.dt_s;
    }
}
