//! The strength of the wind over the last ten minutes: gusts and lulls.

use std::collections::VecDeque;

use crate::moment::Moment;

/// A gust is the highest, a lull the lowest mean over this long (WMO-No. 8: 3 s; from memory).
const MEAN_MS: i64 = 3_000;
/// How far back gusts and lulls are looked for (WMO-No. 8: ten minutes; from memory).
const WINDOW_MS: i64 = 600_000;
/// The wind of the moment is not told from readings older than this, ms: gusts come and go faster.
const MOMENT_MS: i64 = 10_000;

/// Three-second means of the last ten minutes; at most two hundred and one of them.
#[derive(Clone, Debug, Default)]
pub struct Gusts {
    means: VecDeque<(Moment, f64)>,
    open: Option<(Moment, f64, u32)>,
    heard: Option<Moment>,
}

impl Gusts {
    /// Takes one speed in, m/s.
    pub fn hear(&mut self, now: Moment, speed_mps: f64) {
        self.heard = Some(now);
        match &mut self.open {
            Some((began, sum, count)) if now.ms_since(*began) < MEAN_MS => {
                *sum += speed_mps;
                *count += 1;
            }
            open => {
                if let Some((began, sum, count)) = open.take() {
                    self.means.push_back((began, sum / f64::from(count)));
                }
                self.open = Some((now, speed_mps, 1));
            }
        }
        while self.means.front().is_some_and(|(at, _)| now.ms_since(*at) > WINDOW_MS) {
            self.means.pop_front();
        }
    }

    /// Mean of the last three to six seconds, m/s, or the last reading of a slower instrument;
    /// `None` before the first and once it is ten seconds old.
    pub fn now_mps(&self, now: Moment) -> Option<f64> {
        self.heard.filter(|heard| now.ms_since(*heard) <= MOMENT_MS)?;
        let (began, sum, count) = self.open?;
        let open = (sum / f64::from(count), now.s_since(began).max(0.5));
        let closed = self.means.back().filter(|(at, _)| now.ms_since(*at) <= 2 * MEAN_MS);
        Some(match closed {
            Some((_, mean)) => {
                let closed_s = MEAN_MS as f64 / 1000.0;
                (open.0 * open.1 + mean * closed_s) / (open.1 + closed_s)
            }
            None => open.0,
        })
    }

    /// Highest three-second mean, m/s; `None` before the first.
    pub fn gust_mps(&self) -> Option<f64> {
        self.means.iter().map(|(_, mean)| *mean).reduce(f64::max)
    }

    /// Lowest three-second mean, m/s; `None` before the first.
    pub fn lull_mps(&self) -> Option<f64> {
        self.means.iter().map(|(_, mean)| *mean).reduce(f64::min)
    }
}
