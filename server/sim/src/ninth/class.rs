//! The boats a school owns: a light dinghy or a heavy one, and what clubs have done to them since.

use crate::dice::Dice;

/// What a boat is made of.
#[derive(Clone, Copy, Debug)]
pub(super) struct Class {
    pub(super) name: &'static str,
    pub(super) waterline_m: f64,
    /// Hull, rig and crew, kg.
    pub(super) mass_kg: f64,
    pub(super) crew_kg: f64,
    pub(super) sail_m2: f64,
    /// Centre of effort above the centre of lateral resistance, m.
    pub(super) arm_m: f64,
    /// Metacentric height, m.
    pub(super) stiff_m: f64,
    /// How far out a crew's weight can go, m.
    pub(super) reach_m: f64,
    /// Skin drag, N at 1 m/s.
    pub(super) skin_n: f64,
    /// Board and hull seen from the side, m2.
    pub(super) side_m2: f64,
    /// Degrees a second for each m/s of way and degree of rudder.
    pub(super) turns: f64,
    /// How long she takes to begin to turn, s.
    pub(super) sluggish_s: f64,
}

impl Class {
    /// One of a club's boats. All sizes are those of ordinary two-handed school dinghies: guesses, no boat was measured.
    pub(super) fn draw(heavy: bool, reef: f64, dice: &mut Dice) -> Class {
        let crew_kg = dice.between(95.0, 165.0);
        let near = |value: f64, dice: &mut Dice| value * dice.between(0.92, 1.08);
        if heavy {
            Class {
                name: "heavy school dinghy",
                waterline_m: near(4.7, dice),
                mass_kg: near(235.0, dice) + crew_kg,
                crew_kg,
                sail_m2: near(11.5, dice) * reef,
                arm_m: 2.3,
                stiff_m: near(0.72, dice),
                reach_m: 0.75,
                skin_n: near(12.5, dice),
                side_m2: near(1.75, dice),
                turns: near(0.36, dice),
                sluggish_s: near(1.0, dice),
            }
        } else {
            Class {
                name: "light school dinghy",
                waterline_m: near(4.0, dice),
                mass_kg: near(105.0, dice) + crew_kg,
                crew_kg,
                sail_m2: near(9.3, dice) * reef,
                arm_m: 2.1,
                stiff_m: near(0.55, dice),
                reach_m: 0.7,
                skin_n: near(9.5, dice),
                side_m2: near(1.3, dice),
                turns: near(0.55, dice),
                sluggish_s: near(0.65, dice),
            }
        }
    }
}
