//! What the water does to a hull that is upright: drag, the board's grip, the rudder, and how she heels.

use crate::plane::{Vec2, fold_180, wrap_360};

use super::{
    class::Class,
    day::Wind,
    sails::{self, Trim},
};

/// Mass of the water that moves with her, of her own: ahead and aside. Guesses of the usual size.
const ADDED: (f64, f64) = (1.1, 1.7);
/// Past this she does not come back, degrees.
pub(super) const LOST_DEG: f64 = 62.0;
/// From here on water comes in over the side, degrees: a guess.
const FLOODS_DEG: f64 = 28.0;
/// Rolls of that much are upright, degrees.
const UPRIGHT_DEG: f64 = 18.0;

/// How she moves.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hull {
    pub(super) at: Vec2,
    /// Through the water.
    pub(super) way: Vec2,
    pub(super) heading_deg: f64,
    pub(super) turn_dps: f64,
    /// To starboard positive.
    pub(super) heel_deg: f64,
    pub(super) roll_dps: f64,
    /// Water in her, of what makes her tender.
    pub(super) swamped: f64,
    /// Since she was last upright, s.
    pub(super) leans_s: f64,
    /// Moment of the wind, N m, to starboard positive.
    pub(super) press_nm: f64,
}

/// What the hands hold.
#[derive(Clone, Copy, Debug)]
pub(super) struct Held {
    /// Above 0 she turns to starboard, degrees.
    pub(super) rudder_deg: f64,
    pub(super) trim: Trim,
    /// How well the sails are set.
    pub(super) good: f64,
    /// Where the crew's weight is, m to starboard.
    pub(super) weight_m: f64,
}

impl Hull {
    pub(super) fn at_rest(at: Vec2, heading_deg: f64) -> Hull {
        Hull {
            at,
            way: Vec2::along(heading_deg, 1.0),
            heading_deg,
            turn_dps: 0.0,
            heel_deg: 0.0,
            roll_dps: 0.0,
            swamped: 0.0,
            leans_s: 0.0,
            press_nm: 0.0,
        }
    }

    /// Way along her own length, m/s; astern below 0.
    pub(super) fn ahead_mps(&self) -> f64 {
        self.way.dot(Vec2::along(self.heading_deg, 1.0))
    }

    /// Whence the wind over the water comes, off her bow, starboard positive.
    pub(super) fn off_deg(&self, wind: Wind) -> f64 {
        fold_180(wind.from_deg - self.heading_deg)
    }

    /// Lets a moment pass. Drag is taken at its end, which keeps the numbers quiet at any step.
    pub(super) fn step(&mut self, class: &Class, held: &Held, wind: Wind, stream: Vec2, dt_s: f64) {
        let felt = Vec2::along(wind.from_deg + 180.0, wind.speed_mps) - self.way;
        let from_deg = fold_180(felt.bearing_deg() + 180.0 - self.heading_deg);
        let upright = self.heel_deg.to_radians().cos().max(0.2);
        let push = sails::push(from_deg, felt.length() * upright, class.sail_m2, held.good, held.trim);
        let forward = Vec2::along(self.heading_deg, 1.0);
        let starboard = Vec2::along(self.heading_deg + 90.0, 1.0);
        let (mut ahead, mut aside) = (self.way.dot(forward), self.way.dot(starboard));
        let mass_kg = class.mass_kg * (1.0 + 0.5 * self.swamped);

        let froude = ahead.abs() / (9.81 * class.waterline_m).sqrt();
        // Waves of her own stop her near two fifths of that number; astern a transom drags a hole of water.
        let shape = if ahead < 0.0 { 20.0 } else { 1.0 + (froude / 0.36).powi(4) };
        let rudder = 60.0 * (0.5 * held.rudder_deg).to_radians().sin().powi(2);
        let drag =
            (class.skin_n * shape * (1.0 + 1.5 * self.swamped) + rudder) * ahead.abs() / (ADDED.0 * mass_kg);
        ahead = (ahead + dt_s * push.ahead_n / (ADDED.0 * mass_kg)) / (1.0 + dt_s * drag);
        // The board grips while she has way, and is a plate when she has none.
        let grip = (880.0 * ahead.abs() + 700.0 * class.side_m2 * aside.abs()) / (ADDED.1 * mass_kg);
        aside = (aside + dt_s * push.aside_n / (ADDED.1 * mass_kg)) / (1.0 + dt_s * grip);
        self.way = forward * ahead + starboard * aside;
        self.at += (self.way + stream) * dt_s;

        self.turn(class, held, push.turn_dps, ahead, dt_s);
        self.roll(class, held, push.high_n, dt_s);
    }

    fn turn(&mut self, class: &Class, held: &Held, blown_dps: f64, ahead: f64, dt_s: f64) {
        // A hull that heels turns towards her high side.
        let heeled_dps = -0.035 * (self.heel_deg.abs() - 6.0).max(0.0) * self.heel_deg.signum() * ahead;
        let wants_dps = class.turns * ahead * held.rudder_deg + blown_dps + heeled_dps;
        self.turn_dps += (wants_dps - self.turn_dps) * (dt_s / class.sluggish_s).min(1.0);
        self.heading_deg = wrap_360(self.heading_deg + self.turn_dps * dt_s);
    }

    fn roll(&mut self, class: &Class, held: &Held, high_n: f64, dt_s: f64) {
        let heel = self.heel_deg.to_radians();
        self.press_nm = high_n * class.arm_m;
        let wind_nm = self.press_nm * heel.cos();
        // Nothing of the hull's own rights her past some eighty degrees, and less with water in her.
        let stiff = class.stiff_m * (1.0 - 0.6 * self.swamped);
        let hull_nm = -class.mass_kg * 9.81 * stiff * heel.sin() * (1.1 * heel).cos();
        let crew_nm = class.crew_kg * 9.81 * held.weight_m * heel.cos();
        let inertia = 0.42 * class.mass_kg;
        let damps = 7.0;
        let push = (wind_nm + hull_nm + crew_nm) / inertia;
        self.roll_dps = (self.roll_dps + dt_s * push.to_degrees()) / (1.0 + dt_s * damps);
        self.heel_deg = (self.heel_deg + self.roll_dps * dt_s).clamp(-95.0, 95.0);
        // Water comes over the low side, and is bailed out by and by.
        let floods = if self.heel_deg.abs() > FLOODS_DEG { 1.0 / 5.0 } else { -1.0 / 90.0 };
        self.swamped = (self.swamped + dt_s * floods).clamp(0.0, 1.0);
        self.leans_s = if self.heel_deg.abs() < UPRIGHT_DEG { 0.0 } else { self.leans_s + dt_s };
    }
}
