//! What the wind does to a main, a jib and what stands up in it.

/// Air, kg/m3.
const AIR: f64 = 1.22;
/// The jib's part of the sail area.
const JIB: f64 = 0.27;

/// How the sheets are.
#[derive(Clone, Copy, Debug)]
pub(super) struct Trim {
    /// The boom may swing out so far, degrees.
    pub(super) boom_deg: f64,
    /// The side the jib is held on against the wind: 1 to starboard, -1 to port, 0 not at all.
    pub(super) backed: f64,
}

/// Forces of the air on a boat, N, and what they do to her heading.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Push {
    pub(super) ahead_n: f64,
    /// To starboard.
    pub(super) aside_n: f64,
    /// What of it acts high in the rig.
    pub(super) high_n: f64,
    /// Clockwise, degrees a second.
    pub(super) turn_dps: f64,
}

/// Lift of a soft sail: full at some twenty-five degrees, stalled beyond. The shape is common knowledge, not a
/// measurement.
fn lift(attack_deg: f64) -> f64 {
    let full_deg = 25.0;
    if attack_deg < full_deg {
        1.25 * (attack_deg / full_deg * 90.0).to_radians().sin()
    } else {
        1.25 * ((attack_deg - full_deg) / 65.0 * 90.0).to_radians().cos().max(0.0)
    }
}

fn drag(attack_deg: f64) -> f64 {
    0.07 + 1.1 * attack_deg.to_radians().sin().powi(2)
}

/// `from_deg` is whence the wind that is felt comes, off the bow, starboard positive; `good` how well the sail sets.
pub(super) fn push(from_deg: f64, speed_mps: f64, sail_m2: f64, good: f64, trim: Trim) -> Push {
    let side = if from_deg < 0.0 { -1.0 } else { 1.0 };
    let off_deg = from_deg.abs();
    let (sin, cos) = off_deg.to_radians().sin_cos();
    let pressure = 0.5 * AIR * speed_mps * speed_mps;
    let backed = trim.backed != 0.0;
    let set_m2 = if backed { sail_m2 * (1.0 - JIB) } else { sail_m2 };
    let attack_deg = (off_deg - trim.boom_deg).max(0.0);
    // A sail that flaps begins to draw by and by.
    let draws = (attack_deg / 9.0).min(1.0);
    let (lift, drag) = (good * draws * lift(attack_deg), drag(attack_deg));
    let (lift_n, drag_n) = (pressure * set_m2 * lift, pressure * set_m2 * drag);
    let mut ahead_n = lift_n * sin - drag_n * cos;
    let mut lee_n = lift_n * cos + drag_n * sin;
    let mut turn_dps = 0.0;
    if backed {
        let jib_n = pressure * sail_m2 * JIB;
        ahead_n -= 0.75 * jib_n * cos.max(0.0);
        lee_n += 0.9 * jib_n * sin;
        turn_dps -= trim.backed * 0.62 * speed_mps * cos.max(0.0);
    }
    let high_n = lee_n;
    // Hull, mast and people. With nothing drawing she comes to lie about beam on.
    ahead_n -= pressure * 0.45 * cos;
    lee_n += pressure * 1.35 * sin;
    turn_dps -= side * 0.14 * speed_mps * cos;
    Push { ahead_n, aside_n: -side * lee_n, high_n: -side * high_n, turn_dps }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sail_let_go_drives_nobody_and_a_trimmed_one_does() {
        let at = |off_deg, boom_deg| push(off_deg, 5.0, 10.0, 0.9, Trim { boom_deg, backed: 0.0 });
        assert!(at(60.0, 40.0).ahead_n > 60.0 && at(60.0, 80.0).ahead_n < 5.0);
        assert!(at(5.0, 5.0).ahead_n < 0.0, "nobody sails into the wind");
        assert!(at(60.0, 40.0).aside_n < 0.0 && at(-60.0, 40.0).aside_n > 0.0, "to leeward");
    }
}
