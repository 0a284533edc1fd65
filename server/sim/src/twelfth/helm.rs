//! Which way to point her: straight to the aim, or on a board if it lies too close to the wind.

/// Turns follow each other no faster than that.
const TURNS_APART_S: f64 = 9.0;
/// Further off the wind nobody steers a beginners' boat.
const LOWEST_DEG: f64 = 165.0;

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Choice {
    /// Hold that angle; wind on the starboard side above 0.
    Hold(f64),
    Tack(f64),
    Gybe(f64),
}

/// What the helm has before them.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sight {
    /// Off the wind now, and if she pointed to the aim.
    pub(super) off_deg: f64,
    pub(super) aim_deg: f64,
    pub(super) close_deg: f64,
    /// Since the last turn, and as long as the crew stand on.
    pub(super) stood_s: f64,
    pub(super) board_s: f64,
}

pub(super) fn choose(sight: &Sight) -> Choice {
    let Sight { off_deg, aim_deg, close_deg, stood_s, board_s } = *sight;
    let side = if off_deg < 0.0 { -1.0 } else { 1.0 };
    if stood_s < TURNS_APART_S {
        let here = if aim_deg * side > 0.0 { aim_deg.abs() } else { off_deg.abs() };
        return Choice::Hold(side * here.clamp(close_deg, LOWEST_DEG));
    }
    if aim_deg.abs() < close_deg {
        // Standing on makes sense as long as the aim is not well behind the other tack's bow.
        let stands_on = stood_s < board_s || aim_deg * side > close_deg - 12.0;
        return if stands_on { Choice::Hold(side * close_deg) } else { Choice::Tack(-side) };
    }
    if aim_deg * side > 0.0 {
        return Choice::Hold(side * aim_deg.abs().min(LOWEST_DEG));
    }
    if aim_deg.abs() + off_deg.abs() < 180.0 {
        Choice::Tack(-side)
    } else if aim_deg.abs() > LOWEST_DEG - 10.0 {
        // Nearly dead downwind: no gybe for so little.
        Choice::Hold(side * LOWEST_DEG)
    } else {
        Choice::Gybe(-side)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boards_turns_and_straight_courses() {
        let sight =
            |off_deg, aim_deg, stood_s| Sight { off_deg, aim_deg, close_deg: 48.0, stood_s, board_s: 30.0 };
        for (sight, expected) in [
            (sight(48.0, 5.0, 20.0), Choice::Hold(48.0)),
            (sight(48.0, 5.0, 31.0), Choice::Tack(-1.0)),
            (sight(48.0, 40.0, 31.0), Choice::Hold(48.0)),
            (sight(48.0, -60.0, 20.0), Choice::Tack(-1.0)),
            (sight(-120.0, 140.0, 20.0), Choice::Gybe(1.0)),
            (sight(-150.0, 160.0, 20.0), Choice::Hold(-165.0)),
            (sight(-120.0, 140.0, 3.0), Choice::Hold(-120.0)),
        ] {
            assert_eq!(choose(&sight), expected, "{sight:?}");
        }
    }
}
