//! The tidal stream: a person's word, or what a log and a compass show against the track.

use crate::{moment::Moment, tracks::Motion, units::Velocity};

/// Time constant of the estimate, s: a stream turns over hours.
const SMOOTHING_S: f64 = 600.0;
/// The estimate counts once this many seconds of log readings went into it.
const ENOUGH_S: f64 = 120.0;
/// Error of one instrument-made estimate that averaging does not take away, m/s (log and compass).
const INSTRUMENT_SD_MPS: f64 = 0.15;

/// The tidal stream as believed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stream {
    /// Where the water goes.
    pub velocity: Velocity,
    /// One standard deviation of each component, m/s.
    pub sd_mps: f64,
    /// Whether a person said so.
    pub by_hand: bool,
}

/// What is known of the stream.
#[derive(Clone, Debug, Default)]
pub struct StreamBook {
    hand: Option<Velocity>,
    sum: Velocity,
    weight_s: f64,
    heard: Option<Moment>,
}

impl StreamBook {
    /// A person's word, which stands until taken back.
    pub fn by_hand(&mut self, stream: Option<Velocity>) {
        self.hand = stream;
    }

    /// A log's speed through the water beside the same craft's heading and track.
    ///
    /// Only with a compass, and only under way: at rest a log reads what weed and waves make of it.
    pub fn water_speed(&mut self, now: Moment, motion: &Motion, speed_mps: f64) {
        let Some(heading) = motion.heading.filter(|_| motion.heading_sensed) else {
            return;
        };
        if speed_mps < 1.0 || motion.turn_rate_dps.is_some_and(|rate| rate.abs() > 3.0) {
            return;
        }
        let elapsed_s = self.heard.map_or(1.0, |at| now.s_since(at).clamp(0.0, 5.0));
        self.heard = Some(now);
        let keep = (-elapsed_s / SMOOTHING_S).exp();
        let set = motion.velocity.minus(Velocity::towards(heading, speed_mps));
        self.sum = Velocity {
            east_mps: self.sum.east_mps * keep + elapsed_s * set.east_mps,
            north_mps: self.sum.north_mps * keep + elapsed_s * set.north_mps,
        };
        self.weight_s = self.weight_s * keep + elapsed_s;
    }

    /// The stream; `None` while nothing tells.
    pub fn now(&self) -> Option<Stream> {
        if let Some(velocity) = self.hand {
            return Some(Stream { velocity, sd_mps: 0.1, by_hand: true });
        }
        (self.weight_s >= ENOUGH_S).then(|| Stream {
            velocity: Velocity {
                east_mps: self.sum.east_mps / self.weight_s,
                north_mps: self.sum.north_mps / self.weight_s,
            },
            sd_mps: INSTRUMENT_SD_MPS,
            by_hand: false,
        })
    }
}
