//! How a dinghy moves in what she is doing: way, drift and heading go to their aims with a lag each.

use super::{
    STEP_S,
    boat::{Around, Boat},
    deed::Doing,
    helm::Wish,
    polar,
    stop::Stop,
};
use crate::plane::{Vec2, fold_180, wrap_360};

/// Time constants, s: of gathering way, of losing it with sails eased, of drift and of heading. Guesses.
const GATHERS_S: f64 = 6.0;
const LOSES_S: f64 = 7.5;
const SLIDES_S: f64 = 4.0;
const SWINGS_S: f64 = 2.0;
/// Beginners do not turn faster than this when they only steer, degrees a second: a guess.
const STEERS_DEG_S: f64 = 12.0;
/// Speed varies by so much from trim alone, and in a stop by more: guesses.
const PACE: f64 = 0.08;
const STOP_PACE: f64 = 0.2;
/// Sideways drift under sail, a share of the wind: some 4 degrees close-hauled, a guess.
const SAILING_LEEWAY: f64 = 0.015;
/// Righted and full of water she drifts between 1.73 and 3.65 % of the wind (open boat, `leeway.md`).
const BAILING_LEEWAY: f64 = 0.025;
/// The hull is moved about by waves, a share of the wind's speed; over, with people climbing about, by more. Guesses.
const WAVES: f64 = 0.004;
const WAVES_OVER: f64 = 0.009;
/// Within this of a dummy, or of the boat ahead, they slow down to a share of their speed.
const NEAR_DUMMY_M: f64 = 30.0;
const NEAR_AHEAD_M: f64 = 18.0;
const SLOWED: f64 = 0.55;
/// Speed of a tow, m/s, and its length, m: common practice, no source.
const TOW_MPS: f64 = 1.8;
const TOW_M: f64 = 10.0;

impl Boat {
    /// Through the water.
    pub(super) fn through(&self) -> Vec2 {
        let size = self.wind.mps * if self.doing.over().is_some() { WAVES_OVER } else { WAVES };
        let [east, north] = [0, 1].map(|axis: usize| self.waves[axis].value * size);
        Vec2::along(self.heading_deg, self.way_mps) + self.slide + Vec2::new(east, north)
    }

    pub(super) fn moves(&mut self, around: &Around) {
        for noise in self.waves.iter_mut().chain([&mut self.sway, &mut self.pace]) {
            noise.step(STEP_S, &mut self.dice);
        }
        let down = Vec2::along(self.wind.from_deg + 180.0, self.wind.mps);
        match self.doing.clone() {
            Doing::Sails => self.under_sail(around),
            Doing::Turns(turn) => {
                self.heading_deg = wrap_360(self.heading_deg + turn.clockwise() * turn.rate_deg_s * STEP_S);
                self.sailing_way(1.0);
            }
            Doing::Stops(stop) => self.stopped(&stop, down),
            Doing::IsOver(over) => {
                // A sixth of her way is left after that time.
                let tau_s = over.takes_s / 1.8;
                self.aim(0.0, tau_s, over.drift(self.wind), tau_s.max(SLIDES_S));
            }
            Doing::Bails { .. } => self.aim(0.0, LOSES_S, down * BAILING_LEEWAY, SLIDES_S),
            Doing::Towed => {
                let line = around.tow.map_or(Vec2::default(), |tow| tow - self.at);
                self.swing(line.bearing_deg());
                let way_mps = if line.length() > TOW_M { TOW_MPS } else { 0.5 * TOW_MPS };
                self.aim(way_mps, GATHERS_S, Vec2::default(), SLIDES_S);
            }
        }
        self.at += (self.through() + around.stream) * STEP_S;
    }

    fn under_sail(&mut self, around: &Around) {
        let off_deg = match self.wish(around) {
            Wish::Off(off_deg) | Wish::Tack(off_deg) | Wish::Gybe(off_deg) => off_deg,
        };
        let off_deg = off_deg + self.crew.sways_deg * self.sway.value;
        // Never through the wind by steering alone: that is a turn.
        let off_deg = off_deg.clamp(self.crew.close_deg - 12.0, 172.0);
        let side = if self.off_deg() < 0.0 { -1.0 } else { 1.0 };
        self.swing(self.wind.from_deg - side * off_deg);
        let to_dummy_m = (self.course.mark() - self.at).length();
        let near_dummy = self.course.is_to_the_dummy() && to_dummy_m < NEAR_DUMMY_M;
        let near_ahead = around.ahead.is_some_and(|ahead| (ahead - self.at).length() < NEAR_AHEAD_M);
        self.sailing_way(if near_dummy || near_ahead { SLOWED } else { 1.0 });
    }

    fn sailing_way(&mut self, eased: f64) {
        let pace = self.crew.speed * (1.0 + PACE * self.pace.value) * eased;
        let way_mps = polar::way_mps(self.off_deg(), self.wind.mps) * pace;
        let tau_s = if way_mps > self.way_mps { GATHERS_S } else { LOSES_S };
        let down = Vec2::along(self.wind.from_deg + 180.0, self.wind.mps);
        self.aim(way_mps, tau_s, down * SAILING_LEEWAY, SLIDES_S);
    }

    fn stopped(&mut self, stop: &Stop, down: Vec2) {
        self.swing(self.wind.from_deg - stop.off_deg);
        let ahead_mps = stop.ahead * self.wind.mps * (1.0 + STOP_PACE * self.pace.value);
        self.aim(ahead_mps, LOSES_S, down * stop.down, SLIDES_S);
    }

    fn aim(&mut self, way_mps: f64, way_s: f64, slide: Vec2, slide_s: f64) {
        self.way_mps += (way_mps - self.way_mps) * (STEP_S / way_s).min(1.0);
        self.slide += (slide - self.slide) * (STEP_S / slide_s).min(1.0);
    }

    fn swing(&mut self, to_deg: f64) {
        let turn_deg = fold_180(to_deg - self.heading_deg) * (STEP_S / SWINGS_S);
        let most_deg = STEERS_DEG_S * STEP_S;
        self.heading_deg = wrap_360(self.heading_deg + turn_deg.clamp(-most_deg, most_deg));
    }
}
