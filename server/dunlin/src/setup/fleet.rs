//! The fleet file: TOML to a list of [`Boat`].
//!
//! ```toml
//! [[boat]]
//! id = "07"                 # what is painted on her
//! source = "07"             # TAG-block source or feed name; or a list of them
//! mmsi = 232001234          # AIS identity, instead of or beside source
//! crew = 3                  # persons aboard
//! role = "dinghy"           # dinghy, safety, station
//! class = "trainer"         # names a class below, or is a table of its own
//! name = "Redshank"
//!
//! [class.trainer]
//! waterline_m = 3.8
//! crew = 3
//! beating_kn = 3.0
//! reaching_kn = 4.0
//! running_kn = 3.3
//! ```

use std::collections::BTreeMap;

use dunlin_engine::{
    fleet::{Boat, Class, Role},
    limits::BOATS_MAX,
    units::mps_from_kn,
};
use toml::de::DeValue;

use super::{
    Findings, Problem, Severity,
    toml_walk::{Section, document},
};

/// Persons in a dinghy whose file does not say.
const CREW_UNSAID: u8 = 2;

/// A class as the file gives it.
#[derive(Clone, Default)]
struct ClassEntry {
    class: Class,
    crew: Option<u8>,
}

/// The boats in `text` in the file's order, and all that is wrong with it. `file` names it in the
/// problems.
pub fn parse(file: &str, text: &str) -> (Vec<Boat>, Vec<Problem>) {
    let mut findings = Findings::new(file, text);
    let table = document(&mut findings, text);
    let mut root = Section::new(&table, 0, "the fleet file");
    let classes = classes(&mut root, &mut findings);
    let sections = root.sections(&mut findings, "boat");
    root.finish(&mut findings, Severity::Warning);
    if sections.is_empty() && !findings.any_error() {
        findings.warn(
            None,
            "has no boats",
            "add a [[boat]] table with id, crew, role and source or mmsi for each",
        );
    }
    if sections.len() > BOATS_MAX {
        findings.error(
            None,
            format!("has {} boats", sections.len()),
            format!("a fleet has at most {BOATS_MAX}"),
        );
        return (Vec::new(), findings.finish());
    }
    let mut claims = Claims::default();
    let boats = sections
        .into_iter()
        .filter_map(|section| boat(section, &classes, &mut claims, &mut findings))
        .collect();
    (boats, findings.finish())
}

/// Who claimed what first, and on which line.
#[derive(Default)]
struct Claims {
    ids: BTreeMap<String, usize>,
    sources: BTreeMap<String, (String, usize)>,
}

impl Claims {
    fn id(&mut self, findings: &mut Findings, id: &str, at: usize) {
        let line = findings.line(at);
        if let Some(first) = self.ids.insert(id.to_owned(), line) {
            findings.error(
                Some(at),
                format!("boat \"{id}\" is already in line {first}"),
                "give each boat the id that is painted on her, once",
            );
        }
    }

    fn source(&mut self, findings: &mut Findings, word: &str, source: &str, id: &str, at: usize) {
        let line = findings.line(at);
        let mine = (id.to_owned(), line);
        if let Some((other, first)) = self.sources.insert(format!("{word} {source}"), mine) {
            findings.error(
                Some(at),
                format!(
                    "{word} \"{source}\" of boat \"{id}\" already speaks for boat \"{other}\" (line {first})"
                ),
                "one source speaks for one boat; correct one of the two",
            );
        }
    }
}

fn boat(
    mut section: Section,
    classes: &BTreeMap<String, ClassEntry>,
    claims: &mut Claims,
    findings: &mut Findings,
) -> Option<Boat> {
    let at = section.at;
    section.what = "a boat".to_owned();
    let id = section.text(findings, "id");
    match &id {
        Some(id) => section.what = format!("boat \"{id}\""),
        None => findings.error(Some(at), "a boat has no id", "give it id = \"...\" as painted on her"),
    }
    if let Some(id) = &id {
        let id_at = section.value("id").map_or(at, |(_, at)| at);
        claims.id(findings, id, id_at);
    }
    // A boat without an id is no boat; what else is wrong with her is told all the same.
    let known = id.clone();
    let id = id.unwrap_or_else(|| "?".to_owned());
    let name = section.text(findings, "name");
    let role = role(&mut section, findings);
    let sources = sources(&mut section, claims, findings, &id);
    let mmsi = mmsi(&mut section, findings);
    if let Some((mmsi, at)) = mmsi {
        claims.source(findings, "mmsi", &mmsi.to_string(), &id, at);
    }
    let class = class(&mut section, classes, findings);
    let said = section.value("crew").is_some();
    let crew = section.whole(findings, "crew", 0..=200).and_then(|crew| u8::try_from(crew).ok());
    let crew = match (crew.or(class.crew), role) {
        (Some(crew), _) => crew,
        (None, Role::Station) => 0,
        (None, Role::Safety) => CREW_UNSAID,
        (None, Role::Dinghy) => {
            if !said && known.is_some() {
                findings.warn(
                    Some(at),
                    format!("boat \"{id}\" has no crew; {CREW_UNSAID} persons are assumed"),
                    "give it crew = the number of persons aboard",
                );
            }
            CREW_UNSAID
        }
    };
    section.finish(findings, Severity::Warning);
    known.map(|id| Boat {
        id,
        name,
        role,
        sources,
        mmsi: mmsi.map(|(mmsi, _)| mmsi),
        crew,
        class: class.class,
    })
}

fn role(section: &mut Section, findings: &mut Findings) -> Role {
    let Some(role) = section.text(findings, "role") else {
        return Role::Dinghy;
    };
    match role.to_ascii_lowercase().as_str() {
        "dinghy" => Role::Dinghy,
        "safety" => Role::Safety,
        "station" => Role::Station,
        _ => {
            let at = section.value("role").map(|(_, at)| at);
            findings.error(
                at,
                format!("{} has the unknown role \"{role}\"", section.what),
                "role is dinghy, safety or station",
            );
            Role::Dinghy
        }
    }
}

fn sources(section: &mut Section, claims: &mut Claims, findings: &mut Findings, id: &str) -> Vec<String> {
    let mut sources: Vec<String> = Vec::new();
    for (source, at) in section.texts(findings, "source") {
        if sources.contains(&source) {
            findings.warn(
                Some(at),
                format!("boat \"{id}\" names the source \"{source}\" twice"),
                "name it once",
            );
            continue;
        }
        claims.source(findings, "source", &source, id, at);
        sources.push(source);
    }
    sources
}

fn mmsi(section: &mut Section, findings: &mut Findings) -> Option<(u32, usize)> {
    let (value, at) = section.value("mmsi")?;
    let digits = match value {
        DeValue::Integer(number) => number.as_str(),
        DeValue::String(text) => text.trim(),
        _ => "",
    };
    // ITU-R M.585: a maritime identity has nine digits; coast and group identities begin with 0,
    // which a TOML integer cannot carry.
    let mmsi =
        digits.parse::<u32>().ok().filter(|mmsi| (1..=999_999_999).contains(mmsi) && digits.len() <= 9);
    if mmsi.is_none() {
        section.wrong(findings, "mmsi", at, "nine digits");
    }
    mmsi.map(|mmsi| (mmsi, at))
}

fn class(
    section: &mut Section,
    classes: &BTreeMap<String, ClassEntry>,
    findings: &mut Findings,
) -> ClassEntry {
    let Some((value, at)) = section.value("class") else {
        return ClassEntry::default();
    };
    if let Some(table) = value.as_table() {
        return class_table(Section::new(table, at, "class"), None, findings);
    }
    match value.as_str().map(str::trim) {
        Some(name) => classes.get(name).cloned().unwrap_or_else(|| ClassEntry {
            class: Class { name: name.to_owned(), ..Class::default() },
            crew: None,
        }),
        None => {
            section.wrong(findings, "class", at, "the name of a class or a table");
            ClassEntry::default()
        }
    }
}

/// The classes of `[class.NAME]` and of `[[class]]`, by name.
fn classes(root: &mut Section, findings: &mut Findings) -> BTreeMap<String, ClassEntry> {
    let mut classes = BTreeMap::new();
    let Some((value, at)) = root.value("class") else {
        return classes;
    };
    if let Some(table) = value.as_table() {
        for (name, value, at) in Section::new(table, at, "class").entries() {
            match value.as_table() {
                Some(table) => {
                    let section = Section::new(table, at, format!("class \"{name}\""));
                    let entry = class_table(section, Some(name), findings);
                    classes.insert(name.to_owned(), entry);
                }
                None => findings.error(
                    Some(at),
                    format!("class \"{name}\" is not a table"),
                    "begin it with [class.NAME]",
                ),
            }
        }
        return classes;
    }
    for section in root.sections(findings, "class") {
        let at = section.at;
        let entry = class_table(section, None, findings);
        let name = entry.class.name.clone();
        if name.is_empty() {
            findings.error(
                Some(at),
                "a class has no name",
                "give it name = \"...\", by which boats refer to it",
            );
        } else if classes.insert(name.clone(), entry).is_some() {
            findings.error(
                Some(at),
                format!("class \"{name}\" is described twice"),
                "describe each class once",
            );
        }
    }
    classes
}

fn class_table(mut section: Section, name: Option<&str>, findings: &mut Findings) -> ClassEntry {
    let mut class = Class::default();
    if let Some(name) = section.text(findings, "name").or(name.map(str::to_owned)) {
        section.what = format!("class \"{name}\"");
        class.name = name;
    }
    const LENGTH_M: std::ops::RangeInclusive<f64> = 1.0..=30.0;
    let length = section.number(findings, "waterline_m", LENGTH_M);
    let short = section.number(findings, "lwl_m", LENGTH_M);
    if let Some(length) = length.or(short) {
        class.waterline_m = length;
    }
    let crew = section.whole(findings, "crew", 0..=200).and_then(|crew| u8::try_from(crew).ok());
    speeds(&mut section, &mut class, findings);
    if let Some(mut inner) = section.section(findings, "speeds") {
        speeds(&mut inner, &mut class, findings);
        inner.finish(findings, Severity::Warning);
    }
    section.finish(findings, Severity::Warning);
    ClassEntry { class, crew }
}

fn speeds(section: &mut Section, class: &mut Class, findings: &mut Findings) {
    const SPEED_KN: std::ops::RangeInclusive<f64> = 0.2..=40.0;
    for (long, short, speed_mps) in [
        ("beating_kn", "beating", &mut class.beating_mps),
        ("reaching_kn", "reaching", &mut class.reaching_mps),
        ("running_kn", "running", &mut class.running_mps),
    ] {
        let given = section.number(findings, long, SPEED_KN);
        let given = match section.what.as_str() {
            "speeds" => given.or_else(|| section.number(findings, short, SPEED_KN)),
            _ => given,
        };
        if let Some(speed_kn) = given {
            *speed_mps = mps_from_kn(speed_kn);
        }
    }
}
