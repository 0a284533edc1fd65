//! What an alert's changes leave in the log: raised, worse, seen, on the way, counted, over.

use dunlin_engine::{
    effect::{AlertChange, Phase},
    fleet::Boat,
};

use super::wire;

/// What is painted on a boat, or "the session" for alerts of no boat.
fn painted(fleet: &[Boat], boat: Option<u32>) -> String {
    boat.and_then(|ix| fleet.get(ix as usize))
        .map_or_else(|| "the session".to_owned(), |boat| boat.id.clone())
}

/// The line an alert's change leaves in the day's log; `None` for a mere change of evidence.
pub fn alert_line(
    change: &AlertChange,
    now: &wire::AlertState,
    before: Option<&wire::AlertState>,
    fleet: &[Boat],
) -> Option<wire::LogLine> {
    // Their name is the papers' alone; a tablet puts it here.
    let boat = if now.person.is_some() { "a person".to_owned() } else { painted(fleet, now.boat) };
    let about = now.about.replace('-', " ");
    let line = |by: &str, text: String| {
        Some(wire::LogLine {
            at_ms: change.at.0,
            by: by.to_owned(),
            boat: now.boat,
            alert: Some(now.id),
            text,
        })
    };
    let own = "dunlin";
    if let (Phase::Cleared, Some(cleared)) = (change.phase, &now.cleared) {
        return line(own, format!("{boat}: {about} over: {}", cleared.reason));
    }
    let Some(before) = before.filter(|_| change.phase != Phase::Raised) else {
        let evidence = now.evidence.first().map_or_else(String::new, |first| format!(": {first}"));
        return line(own, format!("{boat}: {about}, {}{evidence}", now.level));
    };
    if now.level != before.level {
        return line(own, format!("{boat}: {about} is now {}", now.level));
    }
    if now.attended != before.attended {
        return match &now.attended {
            Some(by) => line(&by.by, format!("{boat}: {} is going", painted(fleet, Some(by.boat)))),
            None => line(own, format!("{boat}: nobody is going any more")),
        };
    }
    if now.heads != before.heads
        && let Some(heads) = now.heads
    {
        let by = change.alert.heads_by.as_deref().unwrap_or(own);
        let word = if heads == 1 { "head" } else { "heads" };
        return line(by, format!("{boat}: {heads} {word} counted"));
    }
    match &now.acknowledged {
        Some(by) if before.acknowledged.as_ref() != Some(by) => {
            line(&by.by, format!("{boat}: {about} acknowledged"))
        }
        Some(_) | None => None,
    }
}
