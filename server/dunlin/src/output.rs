//! Effects as JSON Lines: the public form of `dunlin replay`, of the journal and of exports.
//!
//! Keys stand in a fixed order and numbers have a fixed count of decimals, so that the same effects
//! give the same bytes.

use std::fmt::Write as _;

use dunlin_engine::{
    effect::{
        AlertChange, Discard, Effect, Level, Manoeuvre, Phase, Rounding, Side, TallyChange, Turn, WindNow,
    },
    fleet::{Boat, BoatIx},
    moment::Moment,
    units::kn_from_mps,
};

/// The word for a level: `caution`, `warning`, `alarm`, `emergency`.
pub fn level(level: Level) -> &'static str {
    match level {
        Level::Caution => "caution",
        Level::Warning => "warning",
        Level::Alarm => "alarm",
        Level::Emergency => "emergency",
    }
}

/// The word for a phase: `raised`, `changed`, `cleared`.
pub fn phase(phase: Phase) -> &'static str {
    match phase {
        Phase::Raised => "raised",
        Phase::Changed => "changed",
        Phase::Cleared => "cleared",
    }
}

/// `effect` as one JSON object without a line end, as told at `t`.
///
/// ```text
/// {"type":"alert","t":"2026-06-01T10:02:13.000Z","boat":"07","kind":"capsize","level":"alarm",
///  "phase":"raised","evidence":["..."],"confidence":0.981,"id":3}
/// ```
///
/// `at` of a manoeuvre is when she had settled on her new side: it is told some seconds later, and what was sailed
/// before any wind was known minutes later, when one is. `boat` is `null` for alerts of the whole session; `confidence` is left out for facts; speeds that
/// are not known are `null`.
pub fn line(fleet: &[Boat], t: Moment, effect: &Effect) -> String {
    let mut object = Object::begin(kind(effect), t);
    match effect {
        Effect::Alert(change) => alert(&mut object, fleet, change),
        Effect::Manoeuvre(manoeuvre) => turn(&mut object, fleet, manoeuvre),
        Effect::Rounding(rounding) => round(&mut object, fleet, rounding),
        Effect::Wind(now) => wind(&mut object, now),
        Effect::Tally(change) => tally(&mut object, fleet, change),
        Effect::Discard(refused) => discard(&mut object, refused),
    }
    object.end()
}

/// The value of `type` for an effect.
pub fn kind(effect: &Effect) -> &'static str {
    match effect {
        Effect::Alert(_) => "alert",
        Effect::Manoeuvre(_) => "manoeuvre",
        Effect::Rounding(_) => "rounding",
        Effect::Wind(_) => "wind",
        Effect::Tally(_) => "tally",
        Effect::Discard(_) => "discard",
    }
}

fn alert(object: &mut Object, fleet: &[Boat], change: &AlertChange) {
    let alert = &change.alert;
    match alert.boat {
        Some(boat) => object.text("boat", id(fleet, boat)),
        None => object.raw("boat", "null"),
    }
    object.text("kind", alert.kind.word());
    object.text("level", level(alert.level));
    object.text("phase", phase(change.phase));
    object.texts("evidence", &alert.evidence);
    if let Some(confidence) = alert.confidence {
        object.number("confidence", confidence, 3);
    }
    object.raw("id", &alert.id.0.to_string());
}

fn turn(object: &mut Object, fleet: &[Boat], manoeuvre: &Manoeuvre) {
    object.text("boat", id(fleet, manoeuvre.boat));
    object.text(
        "kind",
        match manoeuvre.turn {
            Turn::Tack => "tack",
            Turn::Gybe => "gybe",
        },
    );
    object.text("at", &manoeuvre.at.to_string());
    object.number("turn_deg", manoeuvre.turn_deg, 1);
    object.number("speed_before_kn", kn_from_mps(manoeuvre.before_mps), 2);
    object.number("speed_after_kn", kn_from_mps(manoeuvre.after_mps), 2);
}

fn round(object: &mut Object, fleet: &[Boat], rounding: &Rounding) {
    object.text("boat", id(fleet, rounding.boat));
    object.text("mark", &rounding.mark);
    object.text(
        "hand",
        match rounding.hand {
            Side::Port => "port",
            Side::Starboard => "starboard",
        },
    );
}

fn wind(object: &mut Object, now: &WindNow) {
    object.number("from_deg", now.from.deg(), 1);
    object.maybe("speed_kn", now.speed_mps.map(kn_from_mps), 2);
    object.number("sd_deg", now.sd_deg, 1);
    object.text("basis", now.basis.word());
    object.maybe("gust_kn", now.gust_mps.map(kn_from_mps), 2);
    object.maybe("lull_kn", now.lull_mps.map(kn_from_mps), 2);
}

fn tally(object: &mut Object, fleet: &[Boat], change: &TallyChange) {
    object.text("boat", id(fleet, change.boat));
    object.text("standing", change.standing.word());
    object.raw("persons", &change.persons.to_string());
    match &change.by {
        Some(by) => object.text("by", by),
        None => object.raw("by", "null"),
    }
}

fn discard(object: &mut Object, refused: &Discard) {
    object.text("feed", &refused.feed);
    match &refused.source {
        Some(source) => object.text("source", source),
        None => object.raw("source", "null"),
    }
    object.text("reason", &refused.reason.to_string());
    object.text("excerpt", &refused.excerpt);
}

/// What is painted on the boat; `?` for a place outside the fleet, which no engine gives.
pub fn id(fleet: &[Boat], boat: BoatIx) -> &str {
    fleet.get(usize::from(boat.0)).map_or("?", |boat| &boat.id)
}

/// One JSON object being written. Written by hand because the order of keys and the decimals are
/// part of the contract.
struct Object(String);

impl Object {
    fn begin(kind: &str, t: Moment) -> Object {
        let mut object = Object(String::with_capacity(192));
        object.0.push_str("{\"type\":");
        object.quote(kind);
        object.text("t", &t.to_string());
        object
    }

    fn raw(&mut self, key: &str, value: &str) {
        self.0.push(',');
        self.quote(key);
        self.0.push(':');
        self.0.push_str(value);
    }

    fn text(&mut self, key: &str, value: &str) {
        self.raw(key, "");
        self.quote(value);
    }

    fn texts(&mut self, key: &str, values: &[String]) {
        self.raw(key, "[");
        for (place, value) in values.iter().enumerate() {
            if place > 0 {
                self.0.push(',');
            }
            self.quote(value);
        }
        self.0.push(']');
    }

    fn number(&mut self, key: &str, value: f64, decimals: usize) {
        self.maybe(key, Some(value), decimals);
    }

    /// JSON has no NaN and no infinity: such a number is not known, and says so.
    fn maybe(&mut self, key: &str, value: Option<f64>, decimals: usize) {
        let Some(value) = value.filter(|value| value.is_finite()) else {
            return self.raw(key, "null");
        };
        let text = format!("{value:.decimals$}");
        // "-0.0" is a number of its own in some readers; nobody means it.
        let negative_zero = text.starts_with('-') && !text.bytes().any(|b| (b'1'..=b'9').contains(&b));
        self.raw(key, if negative_zero { &text[1..] } else { &text });
    }

    fn quote(&mut self, text: &str) {
        self.0.push('"');
        for c in text.chars() {
            match c {
                '"' => self.0.push_str("\\\""),
                '\\' => self.0.push_str("\\\\"),
                c if c.is_control() => {
                    // Writing to a String cannot fail.
                    let _written = write!(self.0, "\\u{:04x}", u32::from(c));
                }
                c => self.0.push(c),
            }
        }
        self.0.push('"');
    }

    fn end(mut self) -> String {
        self.0.push('}');
        self.0
    }
}

#[cfg(test)]
mod tests {
    use dunlin_engine::{
        effect::{Alert, AlertKind, Basis, Standing},
        fleet::{Class, Role},
        input::AlertId,
        units::Bearing,
    };

    use super::*;

    fn fleet() -> Vec<Boat> {
        vec![Boat {
            id: "07".to_owned(),
            name: None,
            role: Role::Dinghy,
            sources: Vec::new(),
            mmsi: None,
            crew: 3,
            class: Class::default(),
        }]
    }

    #[test]
    fn each_kind_of_effect_has_its_form() {
        let at = Moment(1_780_308_133_000);
        let alert = Alert {
            id: AlertId(3),
            boat: Some(BoatIx(0)),
            person: None,
            kind: AlertKind::Capsize,
            level: Level::Alarm,
            raised: at,
            began: at,
            confidence: Some(0.98149),
            evidence: vec!["4.1 kn to 0.5 kn in 3 s".to_owned(), "a \"quote\"\n".to_owned()],
            acknowledged: None,
            silenced: None,
            attended: None,
            heads: None,
            heads_by: None,
            cleared: None,
        };
        let session = Alert {
            boat: None,
            kind: AlertKind::WindOverLimit,
            confidence: None,
            evidence: Vec::new(),
            ..alert.clone()
        };
        let change =
            |alert: &Alert| Effect::Alert(AlertChange { at, phase: Phase::Raised, alert: alert.clone() });
        let from = Bearing::from_degrees_true(231.04).expect("a finite angle");
        let wind = WindNow {
            at,
            from,
            sd_deg: 4.25,
            speed_mps: None,
            gust_mps: None,
            lull_mps: None,
            trend_deg: None,
            basis: Basis::Fleet,
            heard: at,
            because: String::new(),
        };
        for (effect, expected) in [
            (
                change(&alert),
                r#"{"type":"alert","t":"2026-06-01T10:02:13.000Z","boat":"07","kind":"capsize","level":"alarm","phase":"raised","evidence":["4.1 kn to 0.5 kn in 3 s","a \"quote\"\u000a"],"confidence":0.981,"id":3}"#,
            ),
            (
                change(&session),
                r#"{"type":"alert","t":"2026-06-01T10:02:13.000Z","boat":null,"kind":"wind-over-limit","level":"alarm","phase":"raised","evidence":[],"id":3}"#,
            ),
            (
                Effect::Manoeuvre(Manoeuvre {
                    at,
                    boat: BoatIx(0),
                    turn: Turn::Gybe,
                    turn_deg: -0.04,
                    before_mps: 2.0,
                    after_mps: 1.0,
                }),
                r#"{"type":"manoeuvre","t":"2026-06-01T10:02:13.000Z","boat":"07","kind":"gybe","at":"2026-06-01T10:02:13.000Z","turn_deg":0.0,"speed_before_kn":3.89,"speed_after_kn":1.94}"#,
            ),
            (
                Effect::Rounding(Rounding { at, boat: BoatIx(0), mark: "A".to_owned(), hand: Side::Port }),
                r#"{"type":"rounding","t":"2026-06-01T10:02:13.000Z","boat":"07","mark":"A","hand":"port"}"#,
            ),
            (
                Effect::Wind(wind),
                r#"{"type":"wind","t":"2026-06-01T10:02:13.000Z","from_deg":231.0,"speed_kn":null,"sd_deg":4.2,"basis":"fleet","gust_kn":null,"lull_kn":null}"#,
            ),
            (
                Effect::Tally(TallyChange {
                    at,
                    boat: BoatIx(0),
                    standing: Standing::Afloat,
                    persons: 3,
                    by: None,
                }),
                r#"{"type":"tally","t":"2026-06-01T10:02:13.000Z","boat":"07","standing":"afloat","persons":3,"by":null}"#,
            ),
        ] {
            let line = line(&fleet(), at, &effect);
            assert_eq!(line, expected);
            let parsed: Result<serde_json::Value, _> = serde_json::from_str(&line);
            assert!(parsed.is_ok(), "{line}");
        }
    }
}
