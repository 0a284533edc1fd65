//! What a demonstration is to show, as its file says it.

use serde::Deserialize;

/// A scripted afternoon. Read from `scenario.toml`; times are seconds from the start.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Script {
    /// All chance follows from it.
    pub seed: u64,
    /// From then on things also happen by chance, as in an ordinary session; `None`: never.
    pub by_chance_from_s: Option<f64>,
    /// The wind.
    pub wind: WindScript,
    /// The tidal stream; `None`: still water.
    pub stream: Option<StreamScript>,
    /// Where the wind mast stands; `None`: there is none.
    pub mast: Option<MastScript>,
    /// Names of marks in the site file, in the order in which they are rounded.
    pub lap: Vec<String>,
    /// On which hand they are left.
    pub leave_to: Hand,
    /// The dinghies.
    pub boat: Vec<BoatScript>,
    /// The safety boats.
    pub safety: Vec<SafetyScript>,
    /// What happens.
    pub happening: Vec<Happening>,
}

/// The wind of a script.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WindScript {
    /// Where it comes from at the start, degrees true.
    pub from_deg: f64,
    /// Mean at 10 m, knots.
    pub speed_kn: f64,
    /// Strength of gusts as a share of the mean, 0..=0.5.
    pub gustiness: f64,
    /// How far it veers (positive) or backs over `veer_over_s`, degrees.
    #[serde(default)]
    pub veer_deg: f64,
    /// See `veer_deg`.
    #[serde(default)]
    pub veer_over_s: f64,
}

/// A stream.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StreamScript {
    /// Where it goes, degrees true.
    pub to_deg: f64,
    /// Knots.
    pub speed_kn: f64,
}

/// The mast ashore.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MastScript {
    /// The name its lines carry.
    pub source: String,
    /// Degrees.
    pub lat: f64,
    /// Degrees.
    pub lon: f64,
}

/// A side.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hand {
    /// Left.
    Port,
    /// Right.
    Starboard,
}

/// How a boat's reports travel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Feed {
    /// JSON over a phone's socket.
    Phone,
    /// Sentences.
    Nmea,
}

/// A dinghy.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BoatScript {
    /// As in the fleet file.
    pub id: String,
    /// As in the fleet file.
    pub source: String,
    /// How her reports travel.
    pub feed: Feed,
    /// `trainer`, `single-hander` or `pram`.
    pub class: String,
    /// 0 (first day) to 1 (old hand).
    pub skill: f64,
    /// Whether her phone says heel and heading.
    #[serde(default)]
    pub heel: bool,
    /// When she leaves the beach; `None`: already sailing.
    pub launch_s: Option<f64>,
}

/// A safety boat.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SafetyScript {
    /// As in the fleet file.
    pub id: String,
    /// As in the fleet file.
    pub source: String,
    /// Whether she has a wind vane.
    pub vane: bool,
}

/// Something that happens.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Happening {
    /// When.
    pub at_s: f64,
    /// To whom.
    pub boat: String,
    /// What.
    pub what: What,
    /// How long it lasts: until righted, out of irons, heard again; `None`: the usual.
    pub for_s: Option<f64>,
    /// A capsize goes right over.
    #[serde(default)]
    pub inverted: bool,
}

/// Kinds of happening.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// She goes over.
    Capsize,
    /// She gets stuck head to wind.
    InIrons,
    /// Her crew lets her lie and drift, near the edge that drift leads to.
    DriftOut,
    /// She sails into the nearest no-go zone.
    NoGo,
    /// Nothing is heard of her.
    Silence,
    /// A person falls out; her crew says so with the help button.
    Overboard,
}

/// Why a script cannot be played.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ScriptError {
    /// The site is not GeoJSON, or lacks something the simulation needs.
    #[error("the site has no usable {0}")]
    Site(&'static str),
    /// A name that nothing has.
    #[error("there is no {what} \"{name}\"")]
    Unknown {
        /// A boat, mark or class.
        what: &'static str,
        /// The name.
        name: String,
    },
}
