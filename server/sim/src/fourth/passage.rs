//! A passage: anything a boat does that has a shape of its own, told as curves of heading, way and drift over
//! time. Turns, stops and capsizes are all told so, and one player in `boat.rs` sails them.

use super::{
    curve::Curve,
    over::{Cause, Over},
};
use crate::truth::Reason;

/// What comes after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum After {
    Sail,
    Over(Cause),
    Bail,
}

/// What must be known of it beside its shape.
#[derive(Clone, Debug)]
pub(super) enum Kind {
    /// She sails, turns or tries to.
    Way,
    /// She lies with crew in charge.
    Lie,
    /// She lies and waits for the safety boat to come alongside.
    Hail,
    Rafted,
    Over(Over),
    Bail,
}

#[derive(Clone, Debug)]
pub(super) struct Passage {
    pub(super) kind: Kind,
    pub(super) lasts_s: f64,
    /// Angle off the wind on the side she began on: negative past head to wind, over 180 past dead downwind.
    pub(super) off_deg: Curve,
    /// Way along her heading, m/s; negative astern.
    pub(super) way_mps: Curve,
    /// Drift as a share of the wind, and how far off downwind.
    pub(super) drift: Curve,
    pub(super) drift_off_deg: f64,
    /// Slow swinging about the curve: how far, how long, and from when on.
    pub(super) yaw_deg: f64,
    pub(super) yaw_s: f64,
    pub(super) yaw_from_s: f64,
    /// Jerks by people moving, m/s.
    pub(super) jerk_mps: f64,
    /// What the truth calls it, from and to, s of the passage.
    pub(super) reason: Option<(Reason, f64, f64)>,
    pub(super) then: After,
}

impl Passage {
    /// Under way, for as long as the heading has a shape.
    pub(super) fn under_way(off_deg: Curve, way_mps: Curve) -> Passage {
        Passage {
            kind: Kind::Way,
            lasts_s: off_deg.end_s(),
            off_deg,
            way_mps,
            drift: Curve::from(0.008),
            drift_off_deg: 0.0,
            yaw_deg: 0.0,
            yaw_s: 20.0,
            yaw_from_s: 0.0,
            jerk_mps: 0.0,
            reason: None,
            then: After::Sail,
        }
    }

    /// Lying for so long, for a reason that holds from the beginning.
    pub(super) fn lying(reason: Reason, lasts_s: f64, off_deg: Curve, way_mps: Curve) -> Passage {
        Passage {
            kind: Kind::Lie,
            lasts_s,
            reason: Some((reason, 0.0, f64::INFINITY)),
            ..Passage::under_way(off_deg, way_mps)
        }
    }

    pub(super) fn reason(&self, since_s: f64) -> Option<Reason> {
        self.reason
            .filter(|(_, from_s, to_s)| (*from_s..*to_s).contains(&since_s))
            .map(|(reason, _, _)| reason)
    }
}
