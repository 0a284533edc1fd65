//! What a crew is about: how she lies and moves for it, how long it lasts, and what it is called in the truth.
//! The numbers are guesses unless they name a source.

use super::law::Law;
use crate::truth::Reason;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Intent {
    Reach,
    Beat,
    Run,
    Tack,
    Gybe,
    /// Sheets half out, talking.
    Dawdle,
    /// Luffs and waits.
    Luff,
    HoveTo,
    InIrons,
    /// Beside the safety boat.
    Alongside,
    /// Stopped by the dummy of the drill.
    PickUp,
    Towed,
    Over,
    /// Upright again; the crew climbs in and bails.
    Righted,
}

/// How she does it, as ranges to draw from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Manner {
    /// Angle of the bow off the wind, degrees.
    pub(super) off_deg: (f64, f64),
    /// Of the way she could make at that angle.
    pub(super) share: (f64, f64),
    /// Way besides, in a wind of 6 m/s; below 0 astern.
    pub(super) creep_mps: (f64, f64),
    pub(super) lasts: Law,
    /// Times as likely to go over as on a reach.
    pub(super) risk: f64,
}

impl Intent {
    pub(super) fn manner(self) -> Manner {
        let gamma = |mean_s, shape| Law::Gamma { mean_s, shape };
        let drags = |median_s, spread| Law::LogNormal { median_s, spread };
        // Close-hauled about 45 degrees, beginners wider; a reach about 90, a run up to 180 (`wind.md`).
        let (off_deg, share, creep_mps, lasts, risk) = match self {
            Intent::Reach => ((70.0, 130.0), (0.75, 1.0), (0.0, 0.0), gamma(55.0, 2.0), 1.0),
            Intent::Beat => ((43.0, 58.0), (0.75, 1.0), (0.0, 0.0), gamma(50.0, 2.0), 0.8),
            Intent::Run => ((140.0, 172.0), (0.75, 1.0), (0.0, 0.0), gamma(50.0, 2.0), 1.2),
            Intent::Tack => ((45.0, 60.0), (0.4, 0.8), (0.0, 0.15), gamma(8.0, 6.0), 4.0),
            Intent::Gybe => ((135.0, 160.0), (0.7, 0.95), (0.0, 0.0), gamma(6.0, 6.0), 11.0),
            Intent::Dawdle => ((55.0, 120.0), (0.2, 0.5), (0.08, 0.3), drags(45.0, 0.6), 0.3),
            Intent::Luff => ((35.0, 85.0), (0.0, 0.02), (-0.08, 0.16), drags(105.0, 0.92), 0.5),
            Intent::HoveTo => ((45.0, 75.0), (0.0, 0.04), (0.0, 0.18), drags(130.0, 0.82), 0.4),
            Intent::InIrons => ((0.0, 14.0), (0.0, 0.0), (-0.25, 0.02), drags(32.0, 0.75), 2.0),
            Intent::Alongside => ((20.0, 100.0), (0.0, 0.0), (-0.05, 0.12), drags(90.0, 0.7), 0.1),
            Intent::PickUp => ((40.0, 70.0), (0.0, 0.0), (-0.05, 0.15), drags(50.0, 0.6), 0.7),
            Intent::Towed => ((0.0, 0.0), (0.0, 0.0), (0.0, 0.0), drags(120.0, 0.4), 0.1),
            Intent::Over => ((60.0, 120.0), (0.0, 0.0), (0.0, 0.0), drags(70.0, 0.6), 0.0),
            // From the righting to under way 43 s in the middle, 111 s at nine in ten, elsewhere.
            Intent::Righted => ((20.0, 80.0), (0.0, 0.02), (-0.05, 0.2), drags(35.0, 0.7), 0.0),
        };
        Manner { off_deg, share, creep_mps, lasts, risk }
    }

    pub(super) fn reason(self) -> Option<Reason> {
        match self {
            Intent::Reach | Intent::Beat | Intent::Run => None,
            Intent::Tack | Intent::Gybe | Intent::Dawdle => None,
            Intent::Luff => Some(Reason::Waiting),
            Intent::HoveTo => Some(Reason::HoveTo),
            Intent::InIrons => Some(Reason::InIrons),
            Intent::Alongside => Some(Reason::Rafted),
            Intent::PickUp => Some(Reason::DrillPickUp),
            Intent::Towed => Some(Reason::Towed),
            Intent::Over => Some(Reason::Capsized),
            Intent::Righted => Some(Reason::Recovering),
        }
    }

    /// On a leg of the course.
    pub(super) fn is_leg(self) -> bool {
        matches!(self, Intent::Reach | Intent::Beat | Intent::Run)
    }

    /// The crew can do as they are asked.
    pub(super) fn is_free(self) -> bool {
        self.is_leg() || matches!(self, Intent::Dawdle | Intent::Luff | Intent::HoveTo)
    }

    /// The leg that leads that far off the wind.
    pub(super) fn leg(off_deg: f64) -> Intent {
        match off_deg.abs() {
            off if off < 62.0 => Intent::Beat,
            off if off < 135.0 => Intent::Reach,
            _ => Intent::Run,
        }
    }

    /// What the truth calls the cause when she goes over meanwhile.
    pub(super) fn cause(self, is_gust: bool) -> &'static str {
        match self {
            Intent::Tack => "tack",
            Intent::Gybe => "gybe",
            Intent::InIrons => "irons",
            _ if is_gust => "gust",
            _ => "to-windward",
        }
    }
}
