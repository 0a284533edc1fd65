//! What really happened: the judge's side of a session, as public JSON (`TRUTH.md` describes each field).
//!
//! Times are Unix milliseconds, UTC, on a true clock. Directions are degrees true; speeds knots.

use serde::{Deserialize, Serialize};

use crate::plane::{Vec2, kn};

/// Version of the truth file's form.
pub const TRUTH_VERSION: u32 = 1;

/// A whole session's truth.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Truth {
    /// [`TRUTH_VERSION`].
    pub version: u32,
    /// The scenario's name.
    pub scenario: String,
    /// The seed it was drawn from.
    pub seed: u64,
    /// First and last moment of the session.
    pub start_ms: i64,
    /// See `start_ms`.
    pub end_ms: i64,
    /// Every craft.
    pub boats: Vec<BoatTruth>,
    /// Capsizes, drills on purpose among them.
    pub capsizes: Vec<CapsizeTruth>,
    /// Every spell in which a boat afloat was not simply sailing.
    pub spells: Vec<Spell>,
    /// Boats outside the sailing area.
    pub exits: Vec<Crossing>,
    /// Boats inside a no-go zone.
    pub no_go: Vec<Crossing>,
    /// Nothing arrived from a boat's feed.
    pub silences: Vec<Silence>,
    /// A tracker repeated one fix.
    pub frozen: Vec<Frozen>,
    /// People in the water away from their boat.
    pub overboard: Vec<Overboard>,
    /// Tacks and gybes.
    pub manoeuvres: Vec<ManoeuvreTruth>,
    /// Marks rounded or passed.
    pub roundings: Vec<RoundingTruth>,
    /// Vanes that lie.
    #[serde(default)]
    pub lying_vanes: Vec<LyingVane>,
    /// The venue's wind, every ten seconds.
    pub wind: Vec<WindTruth>,
}

impl Truth {
    /// Of a session that begins then.
    pub(crate) fn begun(scenario: &str, seed: u64, start_ms: i64) -> Truth {
        Truth { version: TRUTH_VERSION, scenario: scenario.to_owned(), seed, start_ms, ..Truth::default() }
    }
}

/// One craft.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct BoatTruth {
    /// As in the fleet file.
    pub id: String,
    /// `dinghy`, `safety` or `station`.
    pub role: String,
    /// Persons aboard.
    pub crew: u32,
    /// Afloat from the launch on; `None`: never launched.
    pub afloat_from_ms: Option<i64>,
    /// Back on the beach; `None`: still afloat at the end.
    pub afloat_to_ms: Option<i64>,
    /// Whether the feed carries heel, and whether that sensor can be believed.
    pub heel: HeelSensor,
    /// Seconds between fixes.
    pub interval_s: f64,
}

impl BoatTruth {
    /// One that is afloat from then on until the end, whose feed tells no heel.
    pub(crate) fn afloat(id: &str, role: &str, crew: u32, from_ms: i64, interval_s: f64) -> BoatTruth {
        BoatTruth {
            id: id.to_owned(),
            role: role.to_owned(),
            crew,
            afloat_from_ms: Some(from_ms),
            afloat_to_ms: None,
            heel: HeelSensor::None,
            interval_s,
        }
    }
}

/// What a boat's heel sensor is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeelSensor {
    /// None sent.
    None,
    /// Fixed to the boat.
    Sound,
    /// In someone's hand or pocket.
    HandHeld,
    /// Knocked over at some moment.
    Knocked,
    /// Off by a constant.
    Biased,
}

/// One capsize.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct CapsizeTruth {
    /// Whose.
    pub boat: String,
    /// When she began to go over past recovery.
    pub start_ms: i64,
    /// When she was upright again; `None`: not before the end.
    pub righted_ms: Option<i64>,
    /// When she was under way again, or made fast to a safety boat.
    pub sailing_ms: Option<i64>,
    /// `gust`, `gybe`, `irons`, `tack`, `to-windward`, `front`, `drill`.
    pub cause: String,
    /// From upright to flat in less than 4 s.
    pub quick: bool,
    /// Turned right over.
    pub inverted: bool,
    /// On purpose, with a safety boat standing by.
    pub drill: bool,
    /// How many of the fixes that were due while she was over arrived, 0..=1.
    pub feed_alive: f64,
    /// The heel sensor aboard, if any.
    pub heel: HeelSensor,
    /// True speed through the water 5 s before, knots.
    pub speed_before_kn: f64,
    /// Less than 90 s after she was righted from the capsize before.
    pub again: bool,
    /// A safety boat was within 15 m while she was over.
    pub attended: bool,
}

/// Why a boat afloat was not simply sailing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reason {
    /// At the landing place: wading, holding the boat, aground on the beach.
    Landing,
    /// Stopped head to wind, against her crew's will.
    InIrons,
    /// Jib backed on purpose.
    HoveTo,
    /// Sails flapping, waiting.
    Waiting,
    /// Alongside a safety boat.
    Rafted,
    /// Towed, and being taken in and let go.
    Towed,
    /// Stopped by a dummy in the water.
    DrillPickUp,
    /// Hardly any wind.
    Becalmed,
    /// On her side or upside down.
    Capsized,
    /// Righted, crew climbing in and bailing.
    Recovering,
    /// Stopped by a person in the water.
    PersonPickUp,
    /// Touching the ground away from the landing place.
    Aground,
}

/// A time for which a reason held.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Spell {
    /// Whose.
    pub boat: String,
    /// Why.
    pub reason: Reason,
    /// From.
    pub start_ms: i64,
    /// To.
    pub end_ms: i64,
}

/// A boat on the wrong side of a boundary.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Crossing {
    /// Whose.
    pub boat: String,
    /// The zone's name.
    pub zone: String,
    /// True position crossed.
    pub start_ms: i64,
    /// Back; `None`: not before the end.
    pub end_ms: Option<i64>,
    /// Furthest past the boundary, metres.
    pub depth_m: f64,
    /// Not under sail when she crossed: since when. `None`: she sailed or was towed over.
    pub drifting_since_ms: Option<i64>,
    /// Mean speed over the ground in the 30 s before, knots.
    pub speed_kn: f64,
}

/// A feed that gave nothing.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Silence {
    /// Whose.
    pub boat: String,
    /// When the last line before it arrived.
    pub start_ms: i64,
    /// When the next one arrived; `None`: none did.
    pub end_ms: Option<i64>,
    /// She was capsized at some moment of it.
    pub capsized: bool,
}

/// A tracker that repeats one fix.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Frozen {
    /// Whose.
    pub boat: String,
    /// First repeated fix.
    pub start_ms: i64,
    /// Last one.
    pub end_ms: i64,
    /// How far she really went meanwhile, metres.
    pub moved_m: f64,
}

/// A person in the water away from the boat.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Overboard {
    /// From which boat.
    pub boat: String,
    /// Fell.
    pub start_ms: i64,
    /// Back aboard.
    pub end_ms: Option<i64>,
    /// A beacon told of it, from when.
    pub beacon_ms: Option<i64>,
}

/// A tack or a gybe.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ManoeuvreTruth {
    /// Whose.
    pub boat: String,
    /// `tack` or `gybe`.
    pub kind: String,
    /// Bow or stern passed through the wind.
    pub crossed_ms: i64,
    /// Settled on the new side.
    pub settled_ms: i64,
    /// Signed change of heading, clockwise positive, degrees.
    pub turn_deg: f64,
    /// Cannot fairly be asked for or held against anyone: hardly any way on, a zigzag within seconds, just
    /// after a righting, under tow.
    pub unscored: bool,
}

/// A mark passed close by.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct RoundingTruth {
    /// Whose.
    pub boat: String,
    /// The mark's name.
    pub mark: String,
    /// `port` or `starboard`: the side the mark was left on.
    pub hand: String,
    /// When she left its neighbourhood.
    pub left_ms: i64,
    /// Angle swept as seen from the mark, degrees.
    pub sweep_deg: f64,
    /// She sailed to it and turned round it. Otherwise she only passed, and nobody is asked for it.
    pub meant: bool,
}

/// A vane that points wrong by more than anyone's calibration.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct LyingVane {
    /// The source's name.
    pub source: String,
    /// From then to the end.
    pub start_ms: i64,
    /// By how much, clockwise positive, degrees.
    pub off_deg: f64,
}

/// The venue's wind.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct WindTruth {
    /// When.
    pub t_ms: i64,
    /// From, over the ground.
    pub from_deg: f64,
    /// At 10 m, knots.
    pub speed_kn: f64,
    /// Stream at the middle: towards, degrees.
    pub stream_to_deg: f64,
    /// And how fast, knots.
    pub stream_kn: f64,
}

impl WindTruth {
    /// A wind over the ground, and the stream's velocity.
    pub(crate) fn of(t_ms: i64, from_deg: f64, mps: f64, stream: Vec2) -> WindTruth {
        WindTruth {
            t_ms,
            from_deg,
            speed_kn: kn(mps),
            stream_to_deg: stream.bearing_deg(),
            stream_kn: kn(stream.length()),
        }
    }
}
