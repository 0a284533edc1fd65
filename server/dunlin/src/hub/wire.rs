//! Every message between the hub and a tablet. TypeScript is generated from here.
//!
//! Times are milliseconds since 1970-01-01T00:00:00Z on the server's scale; speeds are knots,
//! distances metres, angles degrees true clockwise from north unless a field says otherwise.
//! `null` is "not known" and never zero.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// The version of this protocol; a tablet that speaks another reloads itself.
pub const WIRE_VERSION: u32 = 1;

/// What the hub tells a tablet.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[ts(export)]
pub enum ToTablet {
    /// Everything, replacing all that was known before. First message of every connection.
    Snapshot(Box<Snapshot>),
    /// Positions and what follows from them, several times a second.
    Tick(Tick),
    /// One alert as it stands now; sent at once, outside the tick.
    Alert(AlertState),
    /// A tack or gybe completed.
    Manoeuvre(ManoeuvreState),
    /// The head count changed.
    Tally(TallyState),
    /// The day's papers changed: session, crews, persons, checks, defects.
    Day(DayState),
    /// The set-up changed: site, fleet, settings.
    Setup(SetupState),
    /// dunlin itself is degraded, or no longer: "not recording", "feed mast is silent".
    Notices {
        /// All that stand; replaces the list before.
        notices: Vec<Notice>,
    },
    /// A signal to everyone afloat changed (all in, stop, move).
    Signal {
        /// The one that stands; `null`: none.
        signal: Option<SignalState>,
    },
    /// A line of the day's log.
    Log(LogLine),
    /// The answer to an action this tablet asked for.
    Outcome(Outcome),
}

/// Everything a tablet needs to show what the others show.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Snapshot {
    /// [`WIRE_VERSION`].
    pub version: u32,
    /// Server time.
    pub now_ms: i64,
    /// When the server began watching; a restart is a gap in the watch and is shown.
    pub watching_since_ms: i64,
    /// Who this tablet is.
    pub you: You,
    /// Site, fleet, settings.
    pub setup: SetupState,
    /// All boats.
    pub tick: Tick,
    /// Trails, newest last.
    pub trails: Vec<Trail>,
    /// The wind of the last twenty minutes, newest last.
    pub winds: Vec<WindPoint>,
    /// Standing alerts and those cleared lately.
    pub alerts: Vec<AlertState>,
    /// Recent manoeuvres.
    pub manoeuvres: Vec<ManoeuvreState>,
    /// Head count.
    pub tally: TallyState,
    /// Session papers.
    pub day: DayState,
    /// Degradations.
    pub notices: Vec<Notice>,
    /// Signal to everyone afloat, if one stands.
    pub signal: Option<SignalState>,
    /// The day's log, newest last, at most 200 lines.
    pub log: Vec<LogLine>,
}

/// Who a tablet is to the server.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct You {
    /// The name its actions are signed with.
    pub name: String,
    /// What it may do.
    pub role: AccessRole,
}

/// What a person may do.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, PartialEq, Eq, PartialOrd, Ord, TS)]
#[serde(rename_all = "snake_case")]
#[ts(export)]
pub enum AccessRole {
    /// See.
    Viewer,
    /// Act on alerts, tally, marks.
    Instructor,
    /// Set up, override, close the day.
    DutyOfficer,
}

/// Site, fleet and settings.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct SetupState {
    /// The centre's name; empty before set-up.
    pub centre: String,
    /// Whether this is the invented demonstration.
    pub demo: bool,
    /// Zones and marks, ready to draw.
    pub zones: Vec<ZoneShape>,
    /// Marks.
    pub marks: Vec<MarkShape>,
    /// The fleet.
    pub boats: Vec<BoatInfo>,
    /// Wind limit, knots.
    pub wind_limit_kn: Option<f64>,
    /// Stream as entered: direction it goes to and knots.
    pub stream: Option<StreamState>,
    /// Whether a local base map can be had at `/basemap.pmtiles`.
    pub base_map: bool,
}

/// Tidal stream.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct StreamState {
    /// Where it goes to.
    pub towards_deg: f64,
    /// How fast.
    pub speed_kn: f64,
    /// `entered` or `estimated`.
    pub basis: String,
}

/// One zone of the site.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct ZoneShape {
    /// `sailing-area`, `no-go`, `landing`, `shore`.
    pub zone: String,
    /// Its name.
    pub name: String,
    /// Polygons of rings of `[lon, lat]`, as in RFC 7946.
    pub polygons: Vec<Vec<Vec<[f64; 2]>>>,
}

/// One mark.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct MarkShape {
    /// Its name.
    pub name: String,
    /// `[lon, lat]`.
    pub at: [f64; 2],
}

/// One boat as set up.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct BoatInfo {
    /// Her place in the fleet; names her in every other message.
    pub ix: u32,
    /// What is painted on her.
    pub id: String,
    /// Name, if any.
    pub name: Option<String>,
    /// `dinghy`, `safety`, `station`.
    pub role: String,
    /// Class, if given.
    pub class: Option<String>,
    /// Persons as planned.
    pub crew: u32,
    /// Whether any feed could report her.
    pub has_feed: bool,
}

/// Positions and what follows from them.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Tick {
    /// Server time.
    pub now_ms: i64,
    /// Boats that changed since the last tick (all of them in a snapshot).
    pub boats: Vec<BoatNow>,
    /// Who needs help, first first. Replaces the list before.
    pub needs: Vec<Need>,
    /// Wind; `null` is unknown.
    pub wind: Option<WindState>,
    /// Sources no boat claims.
    pub strangers: Vec<Stranger>,
}

/// One boat now. A tuple in JSON, since it is most of the traffic.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct BoatNow(
    /// `ix`.
    pub u32,
    /// The rest.
    pub BoatFacts,
);

/// What is known of a boat. Fields that are absent are not known.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct BoatFacts {
    /// When the fix under `at` was taken; its age is shown, never hidden. Absent: never seen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub t: Option<i64>,
    /// `[lon_e7, lat_e7]`: degrees times 10^7, as filtered at `t`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub at: Option<[i32; 2]>,
    /// One standard deviation of the position, metres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub sd_m: Option<f64>,
    /// Speed over the ground, knots, one decimal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub kn: Option<f64>,
    /// Course over the ground.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub cog: Option<f64>,
    /// Heading (sensed, or from the course when fast enough).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub hdg: Option<f64>,
    /// Heel, positive to starboard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub heel: Option<f64>,
    /// Side the sail is on: `port` or `starboard`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub sail: Option<String>,
    /// Signed true wind angle, positive: wind on the starboard side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub twa: Option<f64>,
    /// Point of sailing or condition, as a word to show: `close-hauled`, `in irons`, `waiting`,
    /// `rafted`, `towed`, `becalmed`, `capsized?`, `not tracked`, `no contact`, `ashore`.
    pub doing: String,
    /// Probability of capsize, 0..=1, two decimals; absent when it is not judged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub p_capsize: Option<f64>,
    /// Standing in the tally: `ashore`, `afloat`, `landed`, `returned`, `stood-down`.
    pub standing: String,
    /// Persons aboard.
    pub persons: u32,
    /// Battery of her tracker or phone, per cent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub battery: Option<f64>,
    /// When her feed was last heard at all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[ts(optional)]
    pub heard: Option<i64>,
}

/// `[t_ms, lon_e7, lat_e7, speed_dkn or null, heel_deg or null]`.
pub type TrailPoint = (i64, i32, i32, Option<i32>, Option<i32>);

/// Where a boat has been.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Trail {
    /// Whose.
    pub ix: u32,
    /// `[t_ms, lon_e7, lat_e7, speed_dkn or null, heel_deg or null]`, oldest first.
    pub points: Vec<TrailPoint>,
}

/// A source that no boat claims.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Stranger {
    /// Its name: a TAG source, a feed, `mmsi:...`.
    pub source: String,
    /// What it calls itself, if it does.
    pub name: Option<String>,
    /// Last position `[lon_e7, lat_e7]`.
    pub at: Option<[i32; 2]>,
    /// When last heard.
    pub heard_ms: i64,
}

/// The wind as believed now.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct WindState {
    /// When computed.
    pub at_ms: i64,
    /// When its newest evidence was heard.
    pub heard_ms: i64,
    /// Where from.
    pub from_deg: f64,
    /// One standard deviation of it.
    pub sd_deg: f64,
    /// Mean.
    pub speed_kn: Option<f64>,
    /// Gust.
    pub gust_kn: Option<f64>,
    /// Lull.
    pub lull_kn: Option<f64>,
    /// Veer (+) or back (-) over ten minutes.
    pub trend_deg: Option<f64>,
    /// `instrument`, `fleet`, `manual`.
    pub basis: String,
    /// In words.
    pub because: String,
}

/// The wind as it was believed: when, where from in degrees true, mean and gust in knots.
pub type WindPoint = (i64, f64, Option<f64>, Option<f64>);

/// An alert as it stands.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct AlertState {
    /// Its name.
    pub id: u32,
    /// Whose; `null`: the session's.
    pub boat: Option<u32>,
    /// `capsize`, `person-overboard`, `needs-help`, `outside-area`, `drifting-out`, `no-go`,
    /// `nearing-no-go`, `lost-contact`, `frozen-tracker`, `wind-over-limit`, `wind-disagrees`,
    /// `doubled-source`, `overdue`.
    pub about: String,
    /// `caution`, `warning`, `alarm`, `emergency`.
    pub level: String,
    /// Raised.
    pub raised_ms: i64,
    /// When the situation began as far as dunlin can tell.
    pub began_ms: i64,
    /// Last change.
    pub changed_ms: i64,
    /// 0..=1; `null` for facts.
    pub confidence: Option<f64>,
    /// Plain words, most telling first.
    pub evidence: Vec<String>,
    /// Who acknowledged, when.
    pub acknowledged: Option<Said>,
    /// Who stopped its sound for a moment; `at_ms` is when it may sound again.
    pub silenced: Option<Said>,
    /// Who is on the way.
    pub attended: Option<Attending>,
    /// Heads counted there; `null`: not counted.
    pub heads: Option<u32>,
    /// Over; reason in `by`-less words.
    pub cleared: Option<Cleared>,
    /// Whether this state is on disk already.
    pub recorded: bool,
}

/// A person and a time.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Said {
    /// Who.
    pub by: String,
    /// When.
    pub at_ms: i64,
}

/// A boat on her way to another.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Attending {
    /// Which safety boat.
    pub boat: u32,
    /// Who said so.
    pub by: String,
    /// When.
    pub at_ms: i64,
}

/// How an alert ended.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Cleared {
    /// When.
    pub at_ms: i64,
    /// Why.
    pub reason: String,
}

/// One line of the need list, ordered by the engine.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Need {
    /// The alert it is about.
    pub alert: u32,
    /// Whose; `null`: a person or a beacon of no boat we know.
    pub boat: Option<u32>,
    /// Why in this place, in words.
    pub why: String,
    /// Persons aboard (or in the water).
    pub persons: u32,
    /// Way there for each safety boat that is tracked, nearest in time first.
    pub ways: Vec<Way>,
    /// Where she will be: centre, and half-axes and direction of an area, per time ahead.
    pub drift: Vec<DriftArea>,
}

/// How a safety boat gets there.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Way {
    /// Which safety boat.
    pub safety: u32,
    /// Now.
    pub distance_m: f64,
    /// True bearing from the safety boat now.
    pub bearing_deg: f64,
    /// Course to steer to meet the drifting boat; `null`: cannot be met at that speed.
    pub steer_deg: Option<f64>,
    /// Seconds to get there; `null`: cannot be met.
    pub time_s: Option<f64>,
    /// The speed assumed for the safety boat, knots.
    pub at_kn: f64,
}

/// An area in which she will be with about 90 %.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct DriftArea {
    /// Minutes ahead.
    pub minutes: f64,
    /// Outline, `[lon, lat]`, closed.
    pub ring: Vec<[f64; 2]>,
}

/// A completed tack or gybe.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct ManoeuvreState {
    /// When settled.
    pub at_ms: i64,
    /// Whose.
    pub boat: u32,
    /// `tack` or `gybe`.
    pub turn: String,
    /// Signed, clockwise positive.
    pub turn_deg: f64,
    /// Before.
    pub before_kn: f64,
    /// After.
    pub after_kn: f64,
}

/// The head count.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct TallyState {
    /// One entry a boat, in fleet order.
    pub entries: Vec<TallyEntry>,
    /// Boats afloat or landed and not counted.
    pub boats_out: u32,
    /// Persons in them.
    pub persons_out: u32,
    /// Persons whose whereabouts are not known: in a boat of no contact, or heads short.
    pub unaccounted: u32,
}

/// One boat in the head count.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct TallyEntry {
    /// Whose.
    pub boat: u32,
    /// `ashore`, `afloat`, `landed`, `returned`, `stood-down`.
    pub standing: String,
    /// Persons aboard.
    pub persons: u32,
    /// Since.
    pub since_ms: i64,
    /// Who said so; `null`: seen by her track.
    pub by: Option<String>,
}

/// The day's papers.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct DayState {
    /// The open session; `null`: none was opened, and the watch runs all the same.
    pub session: Option<SessionState>,
    /// Everyone on the list.
    pub people: Vec<Person>,
    /// Launch checks by boat.
    pub checks: Vec<BoatCheck>,
    /// Defects by boat, open ones and those mended today.
    pub defects: Vec<Defect>,
    /// The centre's own check list.
    pub check_items: Vec<String>,
    /// The centre's own list for after sailing.
    pub after_items: Vec<String>,
    /// Sun and dusk for today at the site; `null` without a site or where they do not happen.
    pub sunset_ms: Option<i64>,
    /// End of civil twilight.
    pub dusk_ms: Option<i64>,
    /// Cover: what the centre's rule says of the safety boats now.
    pub cover: Option<Cover>,
    /// The centre's own rules.
    pub rules: CentreRules,
}

/// The centre's own rules; local codes and the person in charge prevail over them.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct CentreRules {
    /// Dinghies one safety boat may look after; `null`: no such rule.
    pub dinghies_per_safety_boat: Option<f64>,
    /// Seconds within which every dinghy afloat must be reached; `null`: no such rule.
    pub reach_within_s: Option<f64>,
    /// Days after which positions and names are deleted; `null`: kept until deleted by hand.
    pub keep_days: Option<u32>,
}

/// One session.
#[derive(Clone, Debug, Default, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct SessionState {
    /// Its number in the journal.
    pub id: u32,
    /// What it is called: "Tuesday beginners".
    pub title: String,
    /// Who runs it.
    pub staff: Vec<String>,
    /// Opened.
    pub opened_ms: i64,
    /// Everyone is expected back.
    pub back_by_ms: Option<i64>,
    /// Water temperature, degrees Celsius.
    pub water_c: Option<f64>,
    /// Wind limit, knots.
    pub wind_limit_kn: Option<f64>,
    /// Tide and stream as entered.
    pub tides: Vec<TideRow>,
    /// Closed; `null`: still open.
    pub closed: Option<Closed>,
}

/// A row of the tide table entered by hand.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct TideRow {
    /// When.
    pub at_ms: i64,
    /// Height of tide, metres, if entered.
    pub height_m: Option<f64>,
    /// Stream goes to, if entered.
    pub towards_deg: Option<f64>,
    /// Stream, knots, if entered.
    pub speed_kn: Option<f64>,
}

/// How a session was closed.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Closed {
    /// Who.
    pub by: String,
    /// When.
    pub at_ms: i64,
    /// Reason, when somebody was still out: an override.
    pub override_reason: Option<String>,
}

/// One person of the day.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Person {
    /// Number for the session.
    pub id: u32,
    /// First name, or however the centre lists them.
    pub name: String,
    /// `learner`, `crew`, `staff`.
    pub part: String,
    /// Boat they are in, or were in last.
    pub boat: Option<u32>,
    /// `ashore`, `afloat`, `back`, `unaccounted`.
    pub standing: String,
    /// Since.
    pub since_ms: i64,
    /// Who said so.
    pub by: Option<String>,
    /// Buoyancy aid seen on them.
    pub buoyancy_checked: bool,
    /// Anything staff must know; duty officers and instructors only.
    pub note: Option<String>,
}

/// Launch or after-sailing check of one boat.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct BoatCheck {
    /// Whose.
    pub boat: u32,
    /// Items ticked before launching.
    pub ready: Vec<String>,
    /// Items ticked after sailing.
    pub after: Vec<String>,
    /// Sails reefed.
    pub reefed: Option<bool>,
    /// Who overrode an open safety defect, and why.
    pub override_by: Option<String>,
    /// Why.
    pub override_reason: Option<String>,
}

/// Something broken.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Defect {
    /// Its number.
    pub id: u32,
    /// Which boat.
    pub boat: u32,
    /// What.
    pub text: String,
    /// She must not go out with it.
    pub safety: bool,
    /// Who wrote it down.
    pub by: String,
    /// When.
    pub at_ms: i64,
    /// Mended: who and when.
    pub mended: Option<Said>,
}

/// Safety cover against the centre's own rule.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Cover {
    /// Safety boats afloat and heard.
    pub safety_boats: u32,
    /// Dinghies afloat.
    pub dinghies: u32,
    /// Seconds to the boat that takes longest to reach; `null`: unknown.
    pub furthest_s: Option<f64>,
    /// Which that is.
    pub furthest_boat: Option<u32>,
    /// Thin, in words; `null`: within the centre's rule.
    pub thin: Option<String>,
}

/// dunlin itself is not well.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Notice {
    /// Stable name: `not-recording`, `feed-silent:mast`, `clock-moved`, `restarted`.
    pub code: String,
    /// Plain words with the remedy.
    pub text: String,
    /// Since.
    pub since_ms: i64,
}

/// A signal to everyone afloat.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct SignalState {
    /// `all-in`, `stop`, `move`.
    pub signal: String,
    /// A few words: "to the west area".
    pub words: String,
    /// Who gave it.
    pub by: String,
    /// When.
    pub at_ms: i64,
    /// Boats whose phones have shown it.
    pub seen: Vec<u32>,
    /// Boats that can be reached by phone at all.
    pub reachable: Vec<u32>,
}

/// A line of the day's log.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct LogLine {
    /// When.
    pub at_ms: i64,
    /// Who, or `dunlin`.
    pub by: String,
    /// About which boat.
    pub boat: Option<u32>,
    /// About which alert.
    pub alert: Option<u32>,
    /// What, in words.
    pub text: String,
}

/// The answer to an action.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Outcome {
    /// The request it answers.
    pub request: u32,
    /// `null`: done and on disk. Else why not, in words.
    pub refused: Option<String>,
    /// A handle for undoing it, while it can be undone.
    pub undo: Option<u32>,
}

/// What a tablet asks.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(deny_unknown_fields)]
#[ts(export)]
pub struct FromTablet {
    /// The tablet's own number for it; answered by an [`Outcome`]. Sending the same number again
    /// on one connection is answered again and done once.
    pub request: u32,
    /// What.
    pub action: Action,
}

/// What a person can do from a tablet.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
#[ts(export)]
pub enum Action {
    /// "I have seen it."
    Acknowledge {
        /// Which.
        alert: u32,
    },
    /// "Quiet for a moment": no sound for 30 s on any tablet; nobody has taken the alert on.
    Silence {
        /// Which.
        alert: u32,
    },
    /// A safety boat goes (or no longer: `null`). Handing over is the same with another boat.
    Attend {
        /// Which.
        alert: u32,
        /// Which safety boat.
        boat: Option<u32>,
    },
    /// All clear.
    Clear {
        /// Which.
        alert: u32,
        /// Why.
        reason: String,
    },
    /// Heads counted.
    Heads {
        /// Which.
        alert: u32,
        /// How many.
        counted: u32,
    },
    /// What a person sees of a boat.
    Mark {
        /// Which.
        boat: u32,
        /// `capsized`, `person_overboard`, `needs_help`, `fine`, `ashore`, `afloat`, `stood_down`.
        mark: String,
    },
    /// Persons aboard.
    Aboard {
        /// Which.
        boat: u32,
        /// How many.
        persons: u32,
    },
    /// Wind by hand; `null` direction takes it back.
    SetWind {
        /// Where from.
        from_deg: Option<f64>,
        /// How strong.
        speed_kn: Option<f64>,
    },
    /// Stream by hand; `null` takes it back.
    SetStream {
        /// Where to.
        towards_deg: Option<f64>,
        /// How fast.
        speed_kn: Option<f64>,
    },
    /// Session's wind limit.
    SetWindLimit {
        /// Knots.
        limit_kn: Option<f64>,
    },
    /// A source speaks for a boat.
    Assign {
        /// Which source.
        source: String,
        /// Which boat; `null`: nobody.
        boat: Option<u32>,
    },
    /// A person-overboard exercise begins or ends.
    Drill {
        /// Which.
        boat: u32,
        /// Begins.
        on: bool,
    },
    /// A signal to everyone afloat; `null` takes it down.
    Signal {
        /// `all-in`, `stop`, `move`.
        signal: Option<String>,
        /// A few words.
        words: String,
    },
    /// A line in the log.
    Note {
        /// About which boat.
        boat: Option<u32>,
        /// What.
        text: String,
    },
    /// Takes an action back.
    Undo {
        /// The handle from its outcome.
        undo: u32,
    },
    /// A change to the day's papers.
    Day {
        /// What.
        change: DayChange,
    },
}

/// A change to the day's papers.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
#[ts(export)]
pub enum DayChange {
    /// Opens a session, or changes the open one.
    Session {
        /// Title.
        title: String,
        /// Staff.
        staff: Vec<String>,
        /// Back by.
        back_by_ms: Option<i64>,
        /// Water temperature.
        water_c: Option<f64>,
        /// Wind limit, knots.
        wind_limit_kn: Option<f64>,
        /// Tide rows.
        tides: Vec<TideRow>,
    },
    /// Closes it; refused while anyone is out unless a reason is given by a duty officer.
    Close {
        /// The override.
        override_reason: Option<String>,
    },
    /// Adds people: one a line "name" or "name;part;boat id".
    AddPeople {
        /// The pasted text.
        text: String,
    },
    /// Removes a person and everything personal about them.
    DeletePerson {
        /// Who.
        person: u32,
    },
    /// Puts a person in a boat (also a swap afloat), or ashore with `null`.
    Place {
        /// Who.
        person: u32,
        /// Which.
        boat: Option<u32>,
    },
    /// Says where a person stands: `ashore`, `afloat`, `back`, `unaccounted`.
    Stand {
        /// Who.
        person: u32,
        /// How.
        standing: String,
    },
    /// What staff must know of a person; `null` takes it away.
    PersonNote {
        /// Who.
        person: u32,
        /// What.
        note: Option<String>,
    },
    /// Buoyancy aid seen.
    Buoyancy {
        /// Who.
        person: u32,
        /// Seen.
        checked: bool,
    },
    /// Ticks an item of the launch check.
    Ready {
        /// Which.
        boat: u32,
        /// Item.
        item: String,
        /// Ticked.
        done: bool,
    },
    /// Ticks an item of the after-sailing list.
    After {
        /// Which.
        boat: u32,
        /// Item.
        item: String,
        /// Ticked.
        done: bool,
    },
    /// Reefed or not.
    Reefed {
        /// Which.
        boat: u32,
        /// Reefed.
        reefed: bool,
    },
    /// Lets a boat with an open safety defect go out.
    Override {
        /// Which.
        boat: u32,
        /// Why.
        reason: String,
    },
    /// Writes down a defect.
    Defect {
        /// Which.
        boat: u32,
        /// What.
        text: String,
        /// She must not go out with it.
        safety: bool,
    },
    /// A defect is mended.
    Mended {
        /// Which.
        defect: u32,
    },
    /// The centre's own lists.
    Items {
        /// Before launching.
        check_items: Vec<String>,
        /// After sailing.
        after_items: Vec<String>,
    },
    /// The centre's own rules.
    Rules {
        /// All of them; replaces those before.
        rules: CentreRules,
    },
}
