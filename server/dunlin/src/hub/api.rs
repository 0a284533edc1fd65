//! What pages ask for besides the live socket, as JSON. TypeScript is generated from here too.

use serde::{Deserialize, Serialize};
use ts_rs::TS;

use super::wire::AccessRole;

/// Answer of `GET /api/me`, which anyone may ask.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Me {
    /// Name and role; `null`: this browser has not joined.
    pub you: Option<super::wire::You>,
    /// The centre's name; empty before set-up.
    pub centre: String,
    /// Nobody has ever joined: the code on the server's screen makes the first duty officer.
    pub first_start: bool,
    /// This is the invented demonstration: everyone here may do everything.
    pub demo: bool,
    /// Roles that can be joined by PIN.
    pub pins: Vec<AccessRole>,
}

/// Body of `POST /api/join`. One of `code` and `pin` is given.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(deny_unknown_fields)]
#[ts(export)]
pub struct Join {
    /// The name that actions are signed with.
    pub name: String,
    /// From a link, a QR code or the server's screen.
    #[serde(default)]
    pub code: Option<String>,
    /// A role's PIN.
    #[serde(default)]
    pub pin: Option<String>,
}

/// Body of `PUT /api/pins`.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(deny_unknown_fields)]
#[ts(export)]
pub struct SetPin {
    /// Which role.
    pub role: AccessRole,
    /// The new PIN; `null`: none.
    pub pin: Option<String>,
}

/// Body of `POST /api/invitations`.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(deny_unknown_fields)]
#[ts(export)]
pub struct Invite {
    /// What those who use it become.
    pub role: AccessRole,
    /// Used up by the first.
    pub once: bool,
    /// Hours it lasts, 1 to 720.
    pub hours: u32,
}

/// Body of `POST /api/boat-keys`.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[serde(deny_unknown_fields)]
#[ts(export)]
pub struct BoatKey {
    /// What is painted on her.
    pub boat: String,
}

/// A link that carries a secret, to be shown once.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Link {
    /// The secret stands behind `#`, which a browser does not send to any server.
    pub url: String,
    /// The same as a QR code, an SVG image.
    pub qr_svg: String,
    /// The secret alone, to be typed or read out.
    pub code: String,
}

/// A key in force; never the key itself.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct KeyInfo {
    /// Its number, for `DELETE /api/keys/{id}`.
    pub id: i64,
    /// `viewer`, `instructor`, `duty-officer`, `boat`.
    pub role: String,
    /// The person, or what is painted on the boat.
    pub name: String,
    /// Made.
    pub made_ms: i64,
    /// By whom.
    pub made_by: String,
    /// Until; `null`: until revoked.
    pub ends_ms: Option<i64>,
    /// Whether this request was made with it.
    pub yours: bool,
}

/// One alert with all that belongs to it: `GET /api/incident/{alert}`.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Incident {
    /// The alert as it stands or ended.
    pub alert: super::wire::AlertState,
    /// The report's span begins ten minutes before the situation did.
    pub from_ms: i64,
    /// And ends when the alert was over, or now.
    pub until_ms: i64,
    /// The boat's track in it, oldest first.
    pub track: Vec<super::wire::TrailPoint>,
    /// The wind in it, each time it was told.
    pub wind: Vec<super::wire::WindState>,
    /// What people wrote in it, about this boat or all, and what was said and done about her alerts:
    /// seen, on the way, heads counted, over. Oldest first.
    pub log: Vec<super::wire::LogLine>,
}

/// How the server does: `GET /api/health`.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Health {
    /// Version of the program.
    pub version: String,
    /// Server time.
    pub now_ms: i64,
    /// Watching since.
    pub watching_since_ms: i64,
    /// When the watch last gave a picture.
    pub pictured_ms: i64,
    /// Turns that are not on disk yet.
    pub unrecorded_turns: f64,
    /// Tablets connected.
    pub tablets: u32,
    /// Phones connected.
    pub phones: u32,
    /// Every feed.
    pub feeds: Vec<FeedState>,
    /// Sources that people have given to a boat, or taken from her. Phones with a boat's key are not
    /// among them: the key is what is revoked.
    pub assigned: Vec<Assigned>,
}

/// A source that does not speak for whom the fleet says.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Assigned {
    /// Which.
    pub source: String,
    /// Place in the fleet of the boat that it speaks for; `null`: nobody.
    pub boat: Option<u32>,
    /// The same by the fleet alone: what it goes back to.
    pub by_file: Option<u32>,
}

/// How a feed does.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct FeedState {
    /// As the set-up names it.
    pub name: String,
    /// `tcp-connect`, `tcp-listen`, `udp`, `serial`, `file`, `stdin`, `phone`.
    pub kind: String,
    /// Open now.
    pub up: bool,
    /// Why not.
    pub trouble: Option<String>,
    /// Connections to it.
    pub connections: u32,
    /// Bytes since the start.
    pub bytes: f64,
    /// Lines or reports taken since the start.
    pub lines: f64,
    /// Lines refused, by cause.
    pub refused: Vec<Refused>,
    /// The newest refusal, in words with the beginning of what was refused.
    pub latest_refusal: Option<String>,
    /// Opened again after a loss.
    pub reconnects: f64,
    /// Newest byte; `null`: never.
    pub heard_ms: Option<i64>,
}

/// Lines refused for one cause.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Refused {
    /// In words.
    pub cause: String,
    /// How many.
    pub count: f64,
}

/// A version of the site or the fleet, newest first in `GET /api/versions/{kind}`.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Version {
    /// Its number, for `POST /api/versions/{kind}/{id}`, which puts it in force again.
    pub id: i64,
    /// When it was put in force.
    pub at_ms: i64,
    /// By whom.
    pub by: String,
    /// What it was: "drawn on the tablet", "bay.kml".
    pub note: String,
}

/// Something wrong with a set-up that was sent.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Problem {
    /// It can be used all the same.
    pub is_warning: bool,
    /// Line in what was sent; `null`: the whole.
    pub line: Option<u32>,
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub remedy: String,
}

/// Answer to a set-up that was sent.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, TS)]
#[ts(export)]
pub struct Checked {
    /// Whether it is in force now.
    pub in_force: bool,
    /// The version it became.
    pub version: Option<i64>,
    /// All that is wrong with it.
    pub problems: Vec<Problem>,
}
