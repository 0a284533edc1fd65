//! Where a crew steers to: at the mark if the wind lets them, else as close or as low as they can.

/// No boat is sailed lower than this, for fear of a gybe: a guess.
const LOW_DEG: f64 = 165.0;
/// The mark must lie this far past the layline before they tack for it: beginners overstand.
const PAST_DEG: f64 = 6.0;

/// What the helm does next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Wish {
    /// Sail at this angle off the wind, on the side she is on.
    Off(f64),
    Tack(f64),
    Gybe(f64),
}

/// `side`: of the wind, +1 starboard; `mark_off_deg`: signed angle off the wind that would lead straight to the mark.
pub(super) fn wish(
    side: f64,
    mark_off_deg: f64,
    close_deg: f64,
    is_board_over: bool,
    turns_up: bool,
) -> Wish {
    let here = mark_off_deg * side > 0.0;
    let off_deg = mark_off_deg.abs();
    if off_deg < close_deg + PAST_DEG && !here {
        return if is_board_over { Wish::Tack(close_deg) } else { Wish::Off(close_deg) };
    }
    if here {
        return if off_deg < close_deg && is_board_over {
            Wish::Tack(close_deg)
        } else {
            Wish::Off(off_deg.clamp(close_deg, LOW_DEG))
        };
    }
    // The other side. Dead before the wind they stay where they are until it clearly pays.
    if turns_up || off_deg < 100.0 {
        Wish::Tack(off_deg)
    } else if off_deg > LOW_DEG - 10.0 {
        Wish::Off(LOW_DEG)
    } else {
        Wish::Gybe(off_deg)
    }
}
