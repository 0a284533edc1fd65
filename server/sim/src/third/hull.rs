//! The mechanics of a dinghy: sails, hull, board and rudder as forces on a mass. Mass and drag are reasoned, and such that
//! she slows down no more abruptly than recorded ones (`tests/slowing.rs`).
//!
//! Signs: `off` and `beta` are where the wind comes from, clockwise from the bow, -180 to 180; positive is
//! starboard tack. Ahead and to starboard are positive.

use crate::{
    dice::Dice,
    plane::{Vec2, fold_180, wrap_360},
    third::air::{AT_SAILS, Air},
};

/// Half the density of air and of sea water, kg/m^3.
const HALF_AIR: f64 = 0.6;
const HALF_WATER: f64 = 512.0;
/// The hull's own wave is as long as she is (waterline 3.6 m) at this speed: sqrt(g L / 2 pi), m/s.
const HULL_MPS: f64 = 2.37;
/// Board and rudder, m^2; their lift per radian; the sine of the leeway at which they stall. Reasoned.
const BOARD_M2: f64 = 0.45;
const BOARD_LIFT: f64 = 3.2;
const STALL: f64 = 0.27;
/// Crossflow of hull and board, m^2 times drag coefficient. Reasoned.
const CROSS_M2: f64 = 1.15;
/// Hull, crew and mast seen from ahead and from the side, m^2 times drag coefficient. Reasoned.
const WINDAGE_AHEAD_M2: f64 = 0.35;
const WINDAGE_SIDE_M2: f64 = 1.5;
/// Boom close in, and right out, degrees.
const BOOM_IN_DEG: f64 = 7.0;
const BOOM_OUT_DEG: f64 = 84.0;
/// From the middle of the board to that of the sails, m.
const ARM_M: f64 = 2.3;
/// Drag coefficient of flogging sails. Reasoned.
const FLOGS: f64 = 0.04;
/// Turn at full helm, degrees per metre sailed: a circle two lengths across. Common practice, no source.
const HELM_DEG_PER_M: f64 = 13.0;

/// What her crew do with her in this step.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Hands {
    /// Helm, -1 to 1; positive turns her clockwise when she goes ahead.
    pub(super) helm: f64,
    /// Sheet, 0 right in to 1 right out, and how fast it runs, per second.
    pub(super) sheet: f64,
    pub(super) sheet_per_s: f64,
    /// The jib is held aback so that she ends on this side of the wind.
    pub(super) aback: Option<f64>,
    /// Pushed ahead (sculling) or astern (boom held out), N.
    pub(super) push_n: f64,
    /// She lies balanced between backed jib and helm, this far off the wind.
    pub(super) balanced_deg: Option<f64>,
}

#[derive(Clone, Debug)]
pub(super) struct Hull {
    pub(super) at: Vec2,
    /// Velocity through the water.
    pub(super) through: Vec2,
    pub(super) heading_deg: f64,
    pub(super) turn_dps: f64,
    helm: f64,
    pub(super) sheet: f64,
    /// Heeling moment against all that her crew can set against it.
    pub(super) load: f64,
    dry_kg: f64,
    /// Water in her.
    pub(super) water_kg: f64,
    sail_m2: f64,
    /// How much of the sails' lift she makes: cut, slot, weed on the board.
    cut: f64,
    friction: f64,
    crew_nm: f64,
}

impl Hull {
    pub(super) fn draw(dice: &mut Dice) -> Hull {
        let crew_kg = dice.between(95.0, 160.0);
        Hull {
            at: Vec2::default(),
            through: Vec2::default(),
            heading_deg: 0.0,
            turn_dps: 0.0,
            helm: 0.0,
            sheet: 0.5,
            load: 0.0,
            dry_kg: dice.between(140.0, 185.0) + crew_kg,
            water_kg: 0.0,
            sail_m2: dice.between(8.3, 10.2),
            cut: dice.between(0.55, 0.75),
            friction: dice.between(6.0, 8.5),
            crew_nm: 9.2 * crew_kg,
        }
    }

    pub(super) fn mass_kg(&self) -> f64 {
        self.dry_kg + self.water_kg
    }

    /// Speed ahead through the water.
    pub(super) fn ahead_mps(&self) -> f64 {
        self.through.dot(Vec2::along(self.heading_deg, 1.0))
    }

    /// Off the true wind, starboard tack positive.
    pub(super) fn off_deg(&self, from_deg: f64) -> f64 {
        fold_180(from_deg - self.heading_deg)
    }

    /// Speed of the wind she feels at her sails, and how far off the bow.
    pub(super) fn felt(&self, air: Air, stream: Vec2) -> (f64, f64) {
        let felt = air.flow() * AT_SAILS - self.through - stream;
        (felt.length(), fold_180(felt.bearing_deg() + 180.0 - self.heading_deg))
    }

    pub(super) fn step(&mut self, step_s: f64, air: Air, stream: Vec2, hands: &Hands) {
        let (felt_mps, beta_deg) = self.felt(air, stream);
        let run = hands.sheet_per_s * step_s;
        self.sheet = (self.sheet + (hands.sheet - self.sheet).clamp(-run, run)).clamp(0.0, 1.0);
        self.helm += (hands.helm - self.helm).clamp(-2.0 * step_s, 2.0 * step_s);

        let ahead = Vec2::along(self.heading_deg, 1.0);
        let right = Vec2::along(self.heading_deg + 90.0, 1.0);
        let (u, v) = (self.through.dot(ahead), self.through.dot(right));

        let q = HALF_AIR * felt_mps * felt_mps;
        let (sin, cos) = beta_deg.to_radians().sin_cos();
        // A backed jib is a plate across the wind; the main alone drives her.
        let main_m2 = if hands.aback.is_some() { 0.68 * self.sail_m2 } else { self.sail_m2 };
        let heeled = 1.0 - 0.35 * self.load.min(1.2).powi(2);
        let boom_deg = BOOM_IN_DEG + self.sheet * (BOOM_OUT_DEG - BOOM_IN_DEG);
        let (lift, drag) = sail(beta_deg.abs() - boom_deg, self.cut * heeled);
        // Let go as she passes through the wind it costs little; hove to it is held there.
        let plate_m2 = match (hands.aback, hands.balanced_deg) {
            (Some(_), Some(_)) => 0.15 * self.sail_m2,
            (Some(_), None) => 0.08 * self.sail_m2,
            (None, _) => 0.0,
        };
        let drive = q * main_m2 * (lift * sin.abs() - drag * cos) - q * (WINDAGE_AHEAD_M2 + plate_m2) * cos
            + hands.push_n;
        let to_lee =
            q * main_m2 * (lift * cos + drag * sin.abs()) + q * (WINDAGE_SIDE_M2 + plate_m2) * sin.abs();
        let side = -to_lee * beta_deg.signum();
        let load = (to_lee * ARM_M / self.crew_nm).max(0.0);
        self.load += (load - self.load) * (step_s / 0.8).min(1.0);

        // Both axes are taken implicitly: board and drag are stiff at this step.
        let mass_kg = self.mass_kg();
        let slow = self.drag_n(u, to_lee) / u.abs().max(0.05);
        let u = (u + step_s * drive / (1.05 * mass_kg)) / (1.0 + step_s * slow / (1.05 * mass_kg));
        let bite = (BOARD_LIFT * u.abs()).min(BOARD_LIFT * STALL * (u * u + v * v) / v.abs().max(1e-3));
        let hold = HALF_WATER * (BOARD_M2 * bite + CROSS_M2 * v.abs());
        let v = (v + step_s * side / (1.5 * mass_kg)) / (1.0 + step_s * hold / (1.5 * mass_kg));

        self.yaw(step_s, u, felt_mps, beta_deg, air, hands);
        self.through = ahead * u + right * v;
        self.at += (self.through + stream) * step_s;
    }

    /// Resistance against going ahead or astern: friction, her own wave, the helm, and the board's lift.
    fn drag_n(&self, u: f64, to_lee_n: f64) -> f64 {
        if u < 0.0 {
            // Transom first, and the helm never amidships.
            return 110.0 * u * u;
        }
        let froude = u / HULL_MPS;
        let wave = 90.0 * froude.powi(5) / (1.0 + 0.22 * froude.powi(3));
        (self.friction + 4.0 * self.helm * self.helm) * u * u + wave + 0.07 * to_lee_n.abs()
    }

    fn yaw(&mut self, step_s: f64, u: f64, felt_mps: f64, beta_deg: f64, air: Air, hands: &Hands) {
        let grip = if u < 0.0 { 0.55 } else { 1.0 };
        // Water in her makes her sluggish.
        let heavy = self.dry_kg / self.mass_kg();
        let mut dps = self.helm * HELM_DEG_PER_M * u * grip * heavy;
        // Heeled she wants to round up; with little way on the wind lays her across it.
        dps += beta_deg.signum() * 1.6 * self.load.min(1.5) * u.max(0.0);
        dps -= 0.55 * felt_mps * (2.0 * beta_deg.to_radians()).sin() / (1.0 + u * u);
        if let Some(side) = hands.aback.filter(|_| beta_deg.abs() < 70.0) {
            dps -= side * (0.16 * felt_mps * felt_mps).min(9.0);
        }
        if let Some(off_deg) = hands.balanced_deg {
            let error_deg = fold_180(air.from_deg - off_deg - self.heading_deg);
            dps = (0.22 * error_deg).clamp(-7.0, 7.0);
        }
        self.turn_dps += (dps - self.turn_dps) * (step_s / 0.6).min(1.0);
        self.heading_deg = wrap_360(self.heading_deg + self.turn_dps * step_s);
    }
}

/// Lift and drag coefficients of the sails at an angle to the wind; a sail that is let out past it flogs.
/// A thin plate's shape with a stall. Reasoned.
fn sail(attack_deg: f64, cut: f64) -> (f64, f64) {
    if attack_deg <= 1.0 {
        return (0.0, FLOGS);
    }
    let full = ((attack_deg - 1.0) / 5.0).min(1.0);
    let lift = if attack_deg < 18.0 { attack_deg / 18.0 } else { ((90.0 - attack_deg) / 72.0).max(0.0) };
    let drag = 0.08 + 1.1 * attack_deg.to_radians().sin().powi(2);
    (1.35 * cut * lift * full, FLOGS * (1.0 - full) + drag * full)
}

/// The sheet that lets the sails stand at `attack_deg` to the felt wind.
pub(super) fn sheet_for(beta_deg: f64, attack_deg: f64) -> f64 {
    ((beta_deg.abs() - attack_deg - BOOM_IN_DEG) / (BOOM_OUT_DEG - BOOM_IN_DEG)).clamp(0.0, 1.0)
}
