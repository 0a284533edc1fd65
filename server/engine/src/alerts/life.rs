//! The states of the bridge-alert scheme.

use crate::effect::Alert;

/// Where an alert stands, after IMO MSC.302(87) and IEC 62923 (the list read in secondary texts).
///
/// ```text
///              appears                     acknowledge
///   Normal -------------> Unacknowledged ---------------> Acknowledged --ends--> Normal
///     ^                    |  ^     |  ^  \---take over--> Transferred --ends--> Normal
///     |            silence |  |30 s |  | appears again
///     |                    v  |     |  |
///     |                  Silenced   v  |
///     +--acknowledge--- RectifiedUnacknowledged <--ends-- (Silenced too)
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AlertState {
    /// Nothing to see.
    Normal,
    /// It holds and nobody has acknowledged it: sound, flashing.
    Unacknowledged,
    /// Its sound is stopped for a moment.
    Silenced,
    /// Somebody has it.
    Acknowledged,
    /// Another boat has taken it on.
    Transferred,
    /// Over before anyone acknowledged it; stays visible.
    RectifiedUnacknowledged,
}

impl AlertState {
    /// The state an alert's fields amount to.
    pub fn of(alert: &Alert) -> AlertState {
        let heeded = alert.acknowledged.is_some();
        match (&alert.cleared, heeded, &alert.attended, &alert.silenced) {
            (Some(_), true, _, _) => AlertState::Normal,
            (Some(_), false, _, _) => AlertState::RectifiedUnacknowledged,
            (None, true, Some(_), _) => AlertState::Transferred,
            (None, true, None, _) => AlertState::Acknowledged,
            (None, false, _, Some(_)) => AlertState::Silenced,
            (None, false, _, None) => AlertState::Unacknowledged,
        }
    }
}
