//! What goes out: everything the engine has to say, as data.

use crate::{
    fleet::BoatIx,
    input::{AlertId, PersonId},
    moment::Moment,
    units::{Bearing, Position},
};

/// One thing worth telling. Order within one call is the order in which it happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// An alert was raised, changed or cleared.
    Alert(AlertChange),
    /// A tack or a gybe completed.
    Manoeuvre(Manoeuvre),
    /// A mark was rounded.
    Rounding(Rounding),
    /// What the wind is now; at least every 30 s while known.
    Wind(WindNow),
    /// A boat went afloat, came ashore, or was counted.
    Tally(TallyChange),
    /// Something heard was refused. Counted for each feed and shown.
    Discard(Discard),
}

/// How urgent, after IMO MSC.302(87) 6.1.1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Out of the ordinary; look when you can.
    Caution,
    /// Look now; not hazardous yet.
    Warning,
    /// Act now to avoid harm.
    Alarm,
    /// Life in danger; act at once.
    Emergency,
}

/// What an alert is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AlertKind {
    /// She stopped as a boat on her side does.
    Capsize,
    /// Someone is in the water: declared, or a beacon.
    PersonOverboard,
    /// Her crew asked for help.
    NeedsHelp,
    /// Outside every sailing area.
    OutsideArea,
    /// Will leave the area on her present motion.
    DriftingOut,
    /// Inside a no-go zone.
    NoGo,
    /// Will enter a no-go zone on her present motion.
    NearingNoGo,
    /// Not heard for too long.
    LostContact,
    /// Her tracker repeats one position.
    FrozenTracker,
    /// More wind than the session allows.
    WindOverLimit,
    /// An instrument says another wind than the fleet sails in.
    WindDisagrees,
    /// Two places at once claim to be her.
    DoubledSource,
    /// Still out after the time at which everyone is expected back.
    Overdue,
    /// A person not counted back by then, in no boat that is out.
    PersonOverdue,
}

impl AlertKind {
    /// The word for it in every output: `capsize`, `person-overboard`.
    pub fn word(self) -> &'static str {
        match self {
            AlertKind::Capsize => "capsize",
            AlertKind::PersonOverboard => "person-overboard",
            AlertKind::NeedsHelp => "needs-help",
            AlertKind::OutsideArea => "outside-area",
            AlertKind::DriftingOut => "drifting-out",
            AlertKind::NoGo => "no-go",
            AlertKind::NearingNoGo => "nearing-no-go",
            AlertKind::LostContact => "lost-contact",
            AlertKind::FrozenTracker => "frozen-tracker",
            AlertKind::WindOverLimit => "wind-over-limit",
            AlertKind::WindDisagrees => "wind-disagrees",
            AlertKind::DoubledSource => "doubled-source",
            AlertKind::Overdue => "overdue",
            AlertKind::PersonOverdue => "person-overdue",
        }
    }
}

/// What just happened to an alert.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// New.
    Raised,
    /// Level, evidence, acknowledgement or attendance changed.
    Changed,
    /// Over.
    Cleared,
}

/// An alert as it stands. One situation, one alert (MSC.302(87) 5.2).
#[derive(Clone, Debug, PartialEq)]
pub struct Alert {
    /// Its name.
    pub id: AlertId,
    /// Whose; `None` for the session's own (wind) and for persons in no boat.
    pub boat: Option<BoatIx>,
    /// The person it is about, where it is about one of the list.
    pub person: Option<PersonId>,
    /// What about.
    pub kind: AlertKind,
    /// How urgent now.
    pub level: Level,
    /// When it was raised.
    pub raised: Moment,
    /// When the situation itself began as far as dunlin can tell: the stop, not the alert.
    pub began: Moment,
    /// The probability, 0..=1, that it is what it says; `None` for facts (a person declared it).
    pub confidence: Option<f64>,
    /// In words and numbers, most telling first.
    pub evidence: Vec<String>,
    /// Who acknowledged it, and when. `None` again after it grew to a higher level.
    pub acknowledged: Option<(String, Moment)>,
    /// Who stopped its sound, and until when; `None` when it may sound.
    pub silenced: Option<(String, Moment)>,
    /// The boat on its way, who said so, and when.
    pub attended: Option<(BoatIx, String, Moment)>,
    /// Heads counted by whoever is there.
    pub heads: Option<u8>,
    /// Who counted them; `None`: nobody yet.
    pub heads_by: Option<String>,
    /// Over since; with the reason: its own rule's words or a person's.
    pub cleared: Option<(Moment, String)>,
}

/// One change of an alert, with the alert as it stands after.
#[derive(Clone, Debug, PartialEq)]
pub struct AlertChange {
    /// When.
    pub at: Moment,
    /// What happened.
    pub phase: Phase,
    /// The alert now.
    pub alert: Alert,
}

/// Which way the bow or the stern went through the wind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// The bow passed through the wind.
    Tack,
    /// The stern passed through the wind.
    Gybe,
}

/// A completed tack or gybe.
#[derive(Clone, Debug, PartialEq)]
pub struct Manoeuvre {
    /// When she had settled on the new side.
    pub at: Moment,
    /// Who.
    pub boat: BoatIx,
    /// Which.
    pub turn: Turn,
    /// Signed change of heading, clockwise positive, degrees.
    pub turn_deg: f64,
    /// Speed over the ground before, m/s.
    pub before_mps: f64,
    /// Speed over the ground after, m/s.
    pub after_mps: f64,
}

/// Side of a boat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Left, facing forward.
    Port,
    /// Right, facing forward.
    Starboard,
}

/// A mark rounded.
#[derive(Clone, Debug, PartialEq)]
pub struct Rounding {
    /// When she left it.
    pub at: Moment,
    /// Who.
    pub boat: BoatIx,
    /// The mark's name in the site file.
    pub mark: String,
    /// On which side of her the mark was left.
    pub hand: Side,
}

/// What a wind rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Basis {
    /// A vane: the safety boat's, a dinghy's, or a mast ashore.
    Instrument,
    /// The courses the fleet sails.
    Fleet,
    /// A person's word.
    Manual,
}

impl Basis {
    /// `instrument`, `fleet`, `manual`.
    pub fn word(self) -> &'static str {
        match self {
            Basis::Instrument => "instrument",
            Basis::Fleet => "fleet",
            Basis::Manual => "manual",
        }
    }
}

/// The wind over the ground as believed at one moment.
#[derive(Clone, Debug, PartialEq)]
pub struct WindNow {
    /// When this was computed.
    pub at: Moment,
    /// Where it comes from, over the ground.
    pub from: Bearing,
    /// One standard deviation of `from`, degrees; honest: 68 % of the time the truth is within it.
    pub sd_deg: f64,
    /// Mean speed over the last minutes, m/s; `None` when only the direction is known.
    pub speed_mps: Option<f64>,
    /// Highest 3 s mean of the last ten minutes, m/s.
    pub gust_mps: Option<f64>,
    /// Lowest 3 s mean of the last ten minutes, m/s.
    pub lull_mps: Option<f64>,
    /// Veer (positive) or back over ten minutes, degrees; `None` before ten minutes of wind.
    pub trend_deg: Option<f64>,
    /// What it rests on.
    pub basis: Basis,
    /// When the newest evidence was heard.
    pub heard: Moment,
    /// In words: "mast and 9 boats agree", "4 boats on both tacks, 11 boards".
    pub because: String,
}

/// Where a boat stands in the head count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Not yet out today.
    Ashore,
    /// Out.
    Afloat,
    /// Seen back at a landing place, people not counted yet.
    Landed,
    /// Back, and a person counted them.
    Returned,
    /// Out of use for the session.
    StoodDown,
}

impl Standing {
    /// Whether she is out and under watch.
    pub fn is_afloat(self) -> bool {
        match self {
            Standing::Afloat => true,
            Standing::Ashore | Standing::Landed | Standing::Returned | Standing::StoodDown => false,
        }
    }

    /// `ashore`, `afloat`, `landed`, `returned`, `stood-down`.
    pub fn word(self) -> &'static str {
        match self {
            Standing::Ashore => "ashore",
            Standing::Afloat => "afloat",
            Standing::Landed => "landed",
            Standing::Returned => "returned",
            Standing::StoodDown => "stood-down",
        }
    }
}

/// One boat's entry in the tally changed.
#[derive(Clone, Debug, PartialEq)]
pub struct TallyChange {
    /// When.
    pub at: Moment,
    /// Who.
    pub boat: BoatIx,
    /// Where she stands now.
    pub standing: Standing,
    /// Persons aboard, as last said.
    pub persons: u8,
    /// A person's name, or `None` when a landing place was crossed.
    pub by: Option<String>,
}

/// Something heard and refused, with the reason.
#[derive(Clone, Debug, PartialEq)]
pub struct Discard {
    /// When.
    pub at: Moment,
    /// The feed it came through.
    pub feed: String,
    /// The source it named, if that could be read.
    pub source: Option<String>,
    /// Why.
    pub reason: DiscardReason,
    /// The first bytes of it, made printable, for the person who has to find the fault.
    pub excerpt: String,
}

/// Why something heard was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, thiserror::Error)]
pub enum DiscardReason {
    /// Not a sentence at all.
    #[error("not a sentence")]
    Rubbish,
    /// Longer than allowed.
    #[error("line too long")]
    TooLong,
    /// No checksum where one is required.
    #[error("no checksum")]
    NoChecksum,
    /// The checksum does not fit.
    #[error("wrong checksum")]
    WrongChecksum,
    /// A sentence type dunlin does not use.
    #[error("sentence not used")]
    NotUsed,
    /// The fields do not have their type's form.
    #[error("fields cannot be read")]
    Unreadable,
    /// Well formed, but empty or marked as not valid by the instrument itself.
    #[error("no value in it")]
    NoValue,
    /// A number outside its range: latitude 100, course 954, NaN.
    #[error("value out of range")]
    OutOfRange,
    /// The receiver says it has no fix.
    #[error("receiver has no fix")]
    NoFix,
    /// The receiver says it is simulating, or positioned by hand.
    #[error("simulated or hand-set position")]
    NotReal,
    /// 0 N 0 E, or the dilution of precision is hopeless.
    #[error("position not credible")]
    PoorFix,
    /// The same fix again.
    #[error("heard before")]
    Duplicate,
    /// Older than what is already known.
    #[error("older than what is known")]
    OutOfOrder,
    /// The time in the sentence cannot be believed even after correction.
    #[error("impossible time")]
    ImpossibleTime,
    /// The boat cannot have got there.
    #[error("impossible jump")]
    ImpossibleJump,
    /// Part of a multi-line message whose rest never came.
    #[error("message incomplete")]
    Incomplete,
    /// More sources than dunlin keeps.
    #[error("too many sources")]
    TooManySources,
}

impl DiscardReason {
    /// The word for it in every output: `wrong-checksum`.
    pub fn word(self) -> &'static str {
        match self {
            DiscardReason::Rubbish => "rubbish",
            DiscardReason::TooLong => "too-long",
            DiscardReason::NoChecksum => "no-checksum",
            DiscardReason::WrongChecksum => "wrong-checksum",
            DiscardReason::NotUsed => "not-used",
            DiscardReason::Unreadable => "unreadable",
            DiscardReason::NoValue => "no-value",
            DiscardReason::OutOfRange => "out-of-range",
            DiscardReason::NoFix => "no-fix",
            DiscardReason::NotReal => "not-real",
            DiscardReason::PoorFix => "poor-fix",
            DiscardReason::Duplicate => "duplicate",
            DiscardReason::OutOfOrder => "out-of-order",
            DiscardReason::ImpossibleTime => "impossible-time",
            DiscardReason::ImpossibleJump => "impossible-jump",
            DiscardReason::Incomplete => "incomplete",
            DiscardReason::TooManySources => "too-many-sources",
        }
    }
}

/// Where something is, for the edges: the plane is undone here.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// Where.
    pub position: Position,
    /// When the fix under it was taken, on our clock.
    pub taken: Moment,
}
