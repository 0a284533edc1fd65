//! What a boat can be doing.

/// The wind a sail feels: over the water, at sail height.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Air {
    pub(crate) from_deg: f64,
    pub(crate) speed_mps: f64,
}

/// What a boat is doing. Times are seconds from the start of the session.
#[derive(Clone, Debug)]
pub(crate) enum Mode {
    /// On the beach or held in the shallows until the launch.
    Ashore { launch_s: f64 },
    /// Under sail towards the next point.
    Sailing,
    /// Head to wind and stuck; will fall off to `side`.
    Irons { until_s: f64, side: f64 },
    /// Jib backed, helm down.
    HoveTo { until_s: f64, twa_deg: f64 },
    /// Sails flapping on purpose; now and then she makes a few lengths (until `burst_s`).
    Waiting { until_s: f64, twa_deg: f64, burst_s: f64 },
    /// Alongside safety boat `by`, once she has come.
    Rafted { by: usize, until_s: f64, made_fast: bool },
    /// In tow of safety boat `by` at place `slot` of the string.
    Towed { by: usize, slot: usize },
    /// Luffed up beside a dummy or a person.
    PickUp { until_s: f64, twa_deg: f64, person: bool },
    /// Over.
    Capsized(Over),
    /// Upright, full of water, crew climbing in.
    Recovering { until_s: f64, again: bool },
    /// Touching the ground.
    Aground { until_s: f64 },
    /// Back on the beach.
    Beached,
}

/// A capsize in progress.
#[derive(Clone, Debug)]
pub(crate) struct Over {
    pub(crate) start_s: f64,
    /// From upright to flat, s.
    pub(crate) roll_s: f64,
    /// Side she falls to: +1 starboard.
    pub(crate) side: f64,
    /// When she turns turtle, if she does.
    pub(crate) turtle_s: Option<f64>,
    /// When her crew has her up.
    pub(crate) right_s: f64,
    /// Drift as a share of the 10 m wind.
    pub(crate) drift_share: f64,
    /// Drift direction off downwind, degrees, clockwise positive.
    pub(crate) drift_off_deg: f64,
    /// Swing while she rolls, deg/s: broaching up, or round in a gybe.
    pub(crate) swing_dps: f64,
    /// How fast her way is lost: time constant, s.
    pub(crate) stops_s: f64,
    /// A safety boat's crew may have her up sooner.
    pub(crate) helped: bool,
    /// Will go over again within a minute of being righted.
    pub(crate) again: bool,
}
