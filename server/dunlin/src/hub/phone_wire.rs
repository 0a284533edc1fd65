//! Every message between the hub and a phone on board, as `docs/feed.md` describes them.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// The version of this protocol. A phone that speaks another is told so and sent away.
pub const FEED_VERSION: u32 = 1;

/// What a phone says.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
#[ts(export)]
pub enum FromPhone {
    /// First message of every connection.
    Hello {
        /// [`FEED_VERSION`].
        v: u32,
        /// The boat's key.
        key: String,
        /// A name the phone made up when its sequence numbers began at 1, and keeps with them.
        run: String,
    },
    /// Fixes, oldest first, at most 600 of them. Late ones are welcome.
    Fixes {
        /// In the order of their sequence numbers.
        fixes: Vec<PhoneFix>,
    },
    /// The phone has shown a signal to its crew.
    Seen {
        /// `at_ms` of that signal.
        at_ms: i64,
    },
}

/// One fix. What the phone does not know is left out, never zero.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[serde(deny_unknown_fields)]
#[ts(export)]
pub struct PhoneFix {
    /// The phone's own count, from 1, without end; never used again within a run.
    pub seq: u32,
    /// When the fix was taken, ms since 1970 by the phone's clock.
    pub t: i64,
    /// Degrees north; with `lon`, or neither for a fix that only carries a button or a battery.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub lat: Option<f64>,
    /// Degrees east.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub lon: Option<f64>,
    /// Radius within which the position is right with 68 %, metres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub acc: Option<f64>,
    /// Speed over the ground, metres a second.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub sog: Option<f64>,
    /// Course over the ground, degrees true.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub cog: Option<f64>,
    /// Where the bow points, degrees true.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub hdg: Option<f64>,
    /// Heel, degrees, positive to starboard, -180 to 180.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub heel: Option<f64>,
    /// Battery, per cent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub bat: Option<f64>,
    /// `true`: "we need help" was held; `false`: "we are fine" was pressed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub help: Option<bool>,
}

/// What the hub tells a phone.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[ts(export)]
pub enum ToPhone {
    /// The key is good.
    Welcome {
        /// [`FEED_VERSION`].
        v: u32,
        /// What is painted on the boat.
        boat: String,
        /// The centre's name.
        centre: String,
        /// Server time.
        now_ms: i64,
        /// Fixes of this run up to this number are on disk; `null`: not known, send what you have.
        acked: Option<u32>,
    },
    /// Fixes up to this number are on disk and need not be sent again.
    Ack {
        /// The number.
        seq: u32,
        /// Those among them that could not be used, with the reason.
        refused: Vec<RefusedFix>,
    },
    /// Every two seconds: that this link works, and what the watch has of the boat.
    Heard {
        /// Server time.
        now_ms: i64,
        /// Age of the boat's newest position in the watch, seconds; `null`: none.
        age_s: Option<f64>,
        /// What became of a call for help: `none`, `raised`, `seen`, `coming`.
        help: String,
    },
    /// A signal to everyone afloat; `null`: taken down. Sent at the start too.
    Signal {
        /// The one that stands.
        signal: Option<PhoneSignal>,
    },
    /// The last message was not understood or not taken; the connection goes on unless it closes.
    Error {
        /// Why, in words.
        text: String,
    },
}

/// A signal to everyone afloat, as a phone shows it.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct PhoneSignal {
    /// `all-in`, `stop`, `move`.
    pub signal: String,
    /// A few words.
    pub words: String,
    /// When it was given; names it in [`FromPhone::Seen`].
    pub at_ms: i64,
}

/// A fix that could not be used.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct RefusedFix {
    /// Which.
    pub seq: u32,
    /// Why.
    pub why: String,
}
