//! One stop, followed from the last way she had: how she lost it, and how she lies since.

use super::way_lost::{self, Sample, WayLost};

/// Seconds of speed and course kept to look back to where a stop began.
const KEPT_S: f64 = 40.0;
/// Her way is the most she made in this time before the stop, s.
const WAY_S: f64 = 10.0;
/// The stop began when she last made this share of it, ...
const BEGUN_SHARE: f64 = 0.85;
/// ... and is over below this one.
const DONE_SHARE: f64 = 0.28;
/// While she makes more than this share of it, her course tells where her bow went.
const COURSE_SHARE: f64 = 0.35;
/// The course before is the mean of so many seconds.
const COURSE_S: f64 = 4.0;
/// A gust, a swing or a sudden loss of way belongs to the stop within these times of it, s.
const SWING_WITHIN_S: f64 = 12.0;
/// See [`SWING_WITHIN_S`].
const FALL_WITHIN_S: f64 = 25.0;
/// The decay of her way is fitted from so long before she began to slow until so long after, s.
const DECAY_S: (f64, f64) = (-8.0, 18.0);
/// After so long she lies, whatever way she has left, s.
const LIES_AFTER_S: f64 = 15.0;
/// Where she lies is averaged over this time, s.
const LIE_S: f64 = 45.0;

/// One second looked back at.
#[derive(Clone, Copy, Debug)]
struct Past {
    at_s: f64,
    speed_mps: f64,
    smooth_mps: f64,
    course_deg: f64,
    velocity: (f64, f64),
}

/// What one second shows.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Second {
    /// Since the second before, s.
    pub dt_s: f64,
    /// Velocity over the water, down and across the wind, m/s.
    pub velocity: (f64, f64),
    /// Speed smoothed over a second or so, m/s.
    pub smooth_mps: f64,
    /// The wind of the moment against its mean.
    pub gust: f64,
}

/// The last way she had, and how she has lain since.
#[derive(Clone, Debug, Default)]
pub(crate) struct Stopping {
    past: std::collections::VecDeque<Past>,
    clock_s: f64,
    began_s: f64,
    /// Seconds since she stopped making way; 0 while she makes it.
    pub age_s: f64,
    /// Her way before, m/s.
    pub way_mps: f64,
    /// From the last of her way to none; `None` while she still loses it.
    pub took_s: Option<f64>,
    /// Her course before, off the wind, degrees -180..=180.
    pub course_deg: f64,
    /// Most that her course swung while she still moved, degrees.
    pub swung_deg: f64,
    /// How far it came up towards the wind, degrees.
    pub luffed_deg: f64,
    /// Most of her way lost within 3 s, as a share.
    pub fell: f64,
    /// The decay of her way; `None` while too little of it is seen.
    pub decay: Option<WayLost>,
    /// The slowest she has been since she stopped, m/s.
    pub slowest_mps: f64,
    /// The strongest gust of the stop.
    pub gust: f64,
    /// Seconds that she lies.
    pub lies_s: f64,
    /// The mean velocity she lies with, down and across the wind, m/s.
    pub lie: (f64, f64),
    square: f64,
    slow: (f64, f64),
    /// How far her velocity of the last 5 s strays from that mean, m/s.
    pub wanders_mps: f64,
    /// The fastest she has gone for 5 s since she lies, m/s.
    pub burst_mps: f64,
}

/// One step of an average with time constant `tau_s`.
pub(crate) fn follow(average: &mut f64, value: f64, dt_s: f64, tau_s: f64) {
    *average += (1.0 - (-dt_s / tau_s).exp()) * (value - *average);
}

impl Stopping {
    /// Takes one second in; `stopped` says whether she has lost her way.
    pub(crate) fn see(&mut self, second: &Second, stopped: bool) {
        let (down, across) = second.velocity;
        let speed_mps = down.hypot(across);
        let course_deg = across.atan2(-down).to_degrees();
        self.clock_s += second.dt_s;
        let at_s = self.clock_s;
        let velocity = second.velocity;
        self.past.push_back(Past { at_s, speed_mps, smooth_mps: second.smooth_mps, course_deg, velocity });
        while self.past.front().is_some_and(|first| at_s - first.at_s > KEPT_S) {
            self.past.pop_front();
        }
        if !stopped {
            let past = std::mem::take(&mut self.past);
            *self = Stopping { past, clock_s: at_s, ..Stopping::default() };
            return;
        }
        if self.age_s == 0.0 {
            self.begin(second);
        }
        self.age_s += second.dt_s;
        self.slowest_mps = self.slowest_mps.min(second.smooth_mps);
        self.lose_way(speed_mps, course_deg, second);
        if self.lies_s > 0.0 || speed_mps < COURSE_SHARE * self.way_mps.max(0.6) || self.age_s > LIES_AFTER_S
        {
            self.lies(second);
        }
    }

    /// Seconds since she began to lose her way.
    pub(crate) fn since_began_s(&self) -> f64 {
        self.clock_s - self.began_s
    }

    fn begin(&mut self, second: &Second) {
        let now_s = self.clock_s;
        let lately = self.past.iter().filter(|past| now_s - past.at_s <= WAY_S);
        self.way_mps = lately.map(|past| past.smooth_mps).fold(0.3, f64::max);
        let full = self.past.iter().rev().find(|past| past.smooth_mps >= BEGUN_SHARE * self.way_mps);
        self.began_s = full.map_or(now_s, |past| past.at_s);
        let before = self.past.iter().filter(|past| (0.0..=COURSE_S).contains(&(self.began_s - past.at_s)));
        let (x, y) = before.fold((0.0, 0.0), |(x, y), past| {
            let (sin, cos) = past.course_deg.to_radians().sin_cos();
            (x + cos, y + sin)
        });
        self.course_deg = f64::atan2(y, x).to_degrees();
        self.slowest_mps = second.smooth_mps;
        self.gust = second.gust;
    }

    fn lose_way(&mut self, speed_mps: f64, course_deg: f64, second: &Second) {
        if self.age_s < SWING_WITHIN_S {
            self.gust = self.gust.max(second.gust);
            if speed_mps > COURSE_SHARE * self.way_mps {
                let swung = ((course_deg - self.course_deg + 540.0).rem_euclid(360.0) - 180.0).abs();
                self.swung_deg = self.swung_deg.max(swung);
                self.luffed_deg = self.luffed_deg.max(self.course_deg.abs() - course_deg.abs());
            }
        }
        if self.age_s < FALL_WITHIN_S {
            let then = self.past.iter().rev().find(|past| self.clock_s - past.at_s >= 2.7);
            let fell = then.map_or(0.0, |past| (past.speed_mps - speed_mps) / self.way_mps);
            self.fell = self.fell.max(fell);
        }
        if self.since_began_s() <= DECAY_S.1 {
            let since = self.past.iter().map(|past| (past.at_s - self.began_s, past.velocity));
            let samples: Vec<Sample> = since
                .filter(|(at_s, _)| *at_s >= DECAY_S.0)
                .map(|(at_s, velocity)| Sample { at_s, velocity })
                .collect();
            self.decay = way_lost::fit(&samples);
        }
        if self.took_s.is_none() && second.smooth_mps < DONE_SHARE * self.way_mps {
            self.took_s = Some(self.since_began_s());
        }
    }

    fn lies(&mut self, second: &Second) {
        let ((down, across), dt_s) = (second.velocity, second.dt_s);
        if self.lies_s == 0.0 {
            self.slow = second.velocity;
        }
        self.lies_s += dt_s;
        let gain = (dt_s / self.lies_s).max(1.0 - (-dt_s / LIE_S).exp()).min(1.0);
        self.lie.0 += gain * (down - self.lie.0);
        self.lie.1 += gain * (across - self.lie.1);
        let off = (down - self.lie.0).powi(2) + (across - self.lie.1).powi(2);
        follow(&mut self.square, off, dt_s, 12.0);
        follow(&mut self.slow.0, down, dt_s, 5.0);
        follow(&mut self.slow.1, across, dt_s, 5.0);
        let strays = (self.slow.0 - self.lie.0).hypot(self.slow.1 - self.lie.1);
        follow(&mut self.wanders_mps, strays, dt_s, 20.0);
        if self.lies_s > 8.0 {
            self.burst_mps = self.burst_mps.max(self.slow.0.hypot(self.slow.1));
        }
    }

    /// How much her velocity swings about the mean she lies with, m/s.
    pub(crate) fn swings_mps(&self) -> f64 {
        self.square.sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sail(stop: &[(f64, f64)]) -> Stopping {
        let mut stopping = Stopping::default();
        let mut smooth_mps = 2.0;
        let sailing = std::iter::repeat_n((0.0, 2.0), 30);
        for velocity in sailing.chain(stop.iter().copied()) {
            follow(&mut smooth_mps, velocity.0.hypot(velocity.1), 1.0, 1.2);
            stopping.see(&Second { dt_s: 1.0, velocity, smooth_mps, gust: 1.0 }, smooth_mps < 1.1);
        }
        stopping
    }

    #[test]
    fn a_sudden_stop_falls_and_a_luff_turns() {
        let sudden = sail(&[(0.0, 1.0), (0.05, 0.2), (0.1, 0.1), (0.15, 0.0), (0.15, 0.0), (0.15, 0.0)]);
        assert!(sudden.fell > 0.9 && sudden.swung_deg < 20.0, "{sudden:?}");
        let luff: Vec<_> = (1..20)
            .map(|s| {
                let (speed, off) = (2.0 * f64::exp(-f64::from(s) / 6.0), 90.0 - 12.0 * f64::from(s.min(6)));
                (-speed * off.to_radians().cos(), speed * off.to_radians().sin())
            })
            .collect();
        let luff = sail(&luff);
        assert!(luff.fell < 0.5 && luff.luffed_deg > 40.0, "{luff:?}");
        assert!(luff.took_s > sudden.took_s, "{:?} {:?}", luff.took_s, sudden.took_s);
    }
}
