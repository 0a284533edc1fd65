//! The safety boats' work: who goes where, and the work itself.

use crate::{mode::Mode, plane::Vec2, safety::Task, world::World};

/// Fast: to people in trouble; slow: among beginners; and with dinghies in tow. All m/s.
const FAST_MPS: f64 = 9.0;
const SLOW_MPS: f64 = 3.0;
const TOW_MPS: f64 = 1.9;

impl World {
    /// One step of all safety boats.
    pub(crate) fn move_safety(&mut self, dt_s: f64) {
        self.dispatch();
        for k in 0..self.safety.len() {
            let drift = self.drift_of_powered(self.safety[k].at);
            match self.safety[k].task.clone() {
                Task::Patrol { to, rest_until_s } => self.patrol(k, to, rest_until_s, drift, dt_s),
                Task::Attend { dinghy, arrived_s } => self.attend(k, dinghy, arrived_s, drift, dt_s),
                Task::Talk { dinghy } => self.talk(k, dinghy, drift, dt_s),
                Task::Tow { dinghies, to, made_fast_s, beach } => {
                    self.tow(k, &dinghies, to, made_fast_s, beach, drift, dt_s)
                }
            }
        }
    }

    fn drift_of_powered(&self, at: Vec2) -> Vec2 {
        let (from, wind10) = self.weather.wind10(at);
        self.weather.stream(at) + Vec2::along(from + 180.0, 0.025 * wind10)
    }

    /// Sends free boats to capsizes they have noticed, and starts the tow home when it is time.
    fn dispatch(&mut self) {
        let t_s = self.t_s;
        for i in 0..self.sailors.len() {
            if self.sailors[i].noticed_s.is_some_and(|at_s| t_s > at_s)
                && self.sailors[i].dinghy.is_capsized()
                && self.send_safety(i)
            {
                self.sailors[i].noticed_s = None;
            }
        }
        if self.plan.tow_home_s.is_some_and(|from_s| t_s > from_s) && !self.scripted {
            for k in 0..self.safety.len() {
                if self.safety[k].is_free() {
                    self.begin_string(k);
                }
            }
        }
    }

    /// The nearest free boat goes to dinghy `i`; false when none is free.
    pub(crate) fn send_safety(&mut self, i: usize) -> bool {
        let at = self.sailors[i].dinghy.at;
        let free = (0..self.safety.len()).filter(|k| self.safety[*k].is_free());
        let nearest = free
            .min_by(|a, b| (self.safety[*a].at - at).length().total_cmp(&(self.safety[*b].at - at).length()));
        let Some(k) = nearest else { return false };
        self.safety[k].task = Task::Attend { dinghy: i, arrived_s: None };
        true
    }

    fn patrol(&mut self, k: usize, to: Vec2, rest_until_s: f64, drift: Vec2, dt_s: f64) {
        let t_s = self.t_s;
        self.safety[k].drive(to, 8.0, SLOW_MPS, drift, dt_s);
        if t_s > rest_until_s && (to - self.safety[k].at).length() < 25.0 {
            let n = self.sailors.len().max(1);
            let i = self.safety[k].dice.pick(n);
            let near = self.sailors.get(i).map_or(to, |sailor| sailor.dinghy.at);
            let boat = &mut self.safety[k];
            let aside = Vec2::along(boat.dice.between(0.0, 360.0), boat.dice.between(18.0, 70.0));
            let rest = boat.dice.between(20.0, 150.0);
            boat.task = Task::Patrol { to: near + aside, rest_until_s: t_s + rest };
        } else if t_s > rest_until_s + 240.0 {
            let here = self.safety[k].at;
            self.safety[k].task = Task::Patrol { to: here, rest_until_s: t_s };
        }
    }

    fn attend(&mut self, k: usize, i: usize, arrived_s: Option<f64>, drift: Vec2, dt_s: f64) {
        let t_s = self.t_s;
        let at = self.sailors[i].dinghy.at;
        let boat = &mut self.safety[k];
        boat.drive(at, 5.0, FAST_MPS, drift, dt_s);
        let near = (boat.at - at).length() < 9.0;
        let arrived_s = arrived_s.or(near.then_some(t_s));
        let helped = !self.sailors[i].dinghy.is_capsized();
        let drill_ahead = self.sailors[i].doom.is_some();
        let boat = &mut self.safety[k];
        // Stays a little after she is up, then leaves.
        boat.task = if helped && !drill_ahead && (arrived_s.is_none_or(|at_s| t_s - at_s > 25.0)) {
            Task::Patrol {
                to: at + Vec2::along(boat.dice.between(0.0, 360.0), 40.0),
                rest_until_s: t_s + 20.0,
            }
        } else {
            Task::Attend { dinghy: i, arrived_s }
        };
    }

    /// A crew wants a word, or the instructor does.
    pub(crate) fn ask_alongside(&mut self, i: usize, lasts_s: f64) {
        let at = self.sailors[i].dinghy.at;
        let free = (0..self.safety.len()).filter(|k| self.safety[*k].is_free());
        let nearest = free
            .min_by(|a, b| (self.safety[*a].at - at).length().total_cmp(&(self.safety[*b].at - at).length()));
        let Some(k) = nearest else { return };
        self.safety[k].task = Task::Talk { dinghy: i };
        let way_there = (self.safety[k].at - at).length() / SLOW_MPS;
        self.sailors[i].dinghy.mode =
            Mode::Rafted { by: k, until_s: self.t_s + way_there + lasts_s, made_fast: false };
    }

    fn talk(&mut self, k: usize, i: usize, drift: Vec2, dt_s: f64) {
        let t_s = self.t_s;
        let Mode::Rafted { by, made_fast, .. } = self.sailors[i].dinghy.mode else {
            let here = self.safety[k].at;
            self.safety[k].task = Task::Patrol { to: here, rest_until_s: t_s + 30.0 };
            return;
        };
        if by != k {
            self.safety[k].task = Task::Patrol { to: self.safety[k].at, rest_until_s: t_s };
            return;
        }
        let dinghy = &self.sailors[i].dinghy;
        let beside = dinghy.at + Vec2::along(dinghy.heading_deg + 90.0, 1.9);
        if made_fast {
            // Held together: she moves as the dinghy does.
            let (velocity, heading) = (dinghy.velocity, dinghy.heading_deg);
            let boat = &mut self.safety[k];
            boat.velocity = velocity;
            boat.speed_mps = 0.0;
            boat.heading_deg = heading;
            boat.at += (beside - boat.at) * (dt_s / 1.5).min(1.0);
        } else {
            self.safety[k].drive(beside, 0.6, SLOW_MPS, drift, dt_s);
        }
    }

    /// A tow to somewhere else in the area: out of the way, back to windward.
    pub(crate) fn ask_tow(&mut self, i: usize) {
        let at = self.sailors[i].dinghy.at;
        let free = (0..self.safety.len()).filter(|k| self.safety[*k].is_free());
        let nearest = free
            .min_by(|a, b| (self.safety[*a].at - at).length().total_cmp(&(self.safety[*b].at - at).length()));
        let Some(k) = nearest else { return };
        let (from, _) = self.weather.mean();
        let to = self.site.area.centre() + Vec2::along(from, 120.0);
        self.safety[k].task = Task::Tow { dinghies: vec![i], to, made_fast_s: None, beach: false };
        self.sailors[i].dinghy.mode = Mode::Towed { by: k, slot: 0 };
        self.sailors[i].dinghy.turn = None;
    }

    /// Takes up to three boats that are near one another home in a string.
    fn begin_string(&mut self, k: usize) {
        let at = self.safety[k].at;
        // Those that were let go off the beach paddle in: nobody tows them about there.
        let mut free: Vec<usize> = (0..self.sailors.len())
            .filter(|i| self.sailors[*i].dinghy.is_sailing())
            .filter(|i| !self.site.landing.holds(self.sailors[*i].dinghy.at))
            .collect();
        free.sort_by(|a, b| {
            (self.sailors[*a].dinghy.at - at).length().total_cmp(&(self.sailors[*b].dinghy.at - at).length())
        });
        free.truncate(3);
        if free.is_empty() {
            return;
        }
        for (slot, i) in free.iter().enumerate() {
            self.sailors[*i].dinghy.mode = Mode::Towed { by: k, slot };
            self.sailors[*i].dinghy.turn = None;
            self.sailors[*i].errand = None;
        }
        let to = self.site.landing.centre() + self.site.offshore * 22.0;
        self.safety[k].task = Task::Tow { dinghies: free, to, made_fast_s: None, beach: true };
    }

    #[allow(clippy::too_many_arguments)]
    fn tow(
        &mut self,
        k: usize,
        dinghies: &[usize],
        to: Vec2,
        made_fast_s: Option<f64>,
        beach: bool,
        drift: Vec2,
        dt_s: f64,
    ) {
        let t_s = self.t_s;
        let Some(first) = dinghies.first().map(|i| self.sailors[*i].dinghy.at) else {
            self.safety[k].task = Task::Patrol { to, rest_until_s: t_s };
            return;
        };
        let boat = &mut self.safety[k];
        let Some(since_s) = made_fast_s else {
            boat.drive(first, 2.5, SLOW_MPS, drift, dt_s);
            let near = (boat.at - first).length() < 4.0;
            let made_fast_s = near.then_some(t_s);
            boat.task = Task::Tow { dinghies: dinghies.to_vec(), to, made_fast_s, beach };
            return;
        };
        // Passing ropes takes most of a minute; the others of a string paddle up meanwhile.
        if t_s - since_s < 35.0 + 20.0 * dinghies.len() as f64 {
            boat.drive(boat.at, 1.0, 0.0, drift, dt_s);
            return;
        }
        boat.drive(to, 4.0, TOW_MPS, drift, dt_s);
        if (boat.at - to).length() < 9.0 || t_s - since_s > 900.0 {
            self.let_go(k, dinghies, beach);
        }
    }

    fn let_go(&mut self, k: usize, dinghies: &[usize], beach: bool) {
        let (t_s, now) = (self.t_s, self.now_ms());
        for i in dinghies {
            let sailor = &mut self.sailors[*i];
            if !matches!(sailor.dinghy.mode, Mode::Towed { by, .. } if by == k) {
                continue;
            }
            sailor.record.unscored_until_ms = now + 15_000;
            if beach {
                // The last lengths onto the beach are paddled.
                sailor.home_s = t_s;
                sailor.dinghy.mode = Mode::Sailing;
            } else {
                sailor.dinghy.mode = Mode::Sailing;
            }
            sailor.dinghy.new_leg(t_s);
        }
        self.safety[k].task = Task::Patrol { to: self.safety[k].at, rest_until_s: t_s + 20.0 };
    }
}
