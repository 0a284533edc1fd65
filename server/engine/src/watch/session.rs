//! The rules of the session itself: more wind than allowed, instruments that contradict.

use super::{
    fact,
    latch::{Holds, Latch, Says},
    words,
};
use crate::{
    alerts::{Alerts, Topic},
    effect::{AlertKind, Level, WindNow},
    input::PersonId,
    moment::Moment,
    units::kn_from_mps,
    wind::Disagreement,
};

/// The mean has to stay over the limit this long, and well under it for longer: groups are not
/// called in for one gust, nor sent out for one lull. Common practice, no source.
const LIMIT_HOLDS: Holds = Holds { raise_ms: 20_000, clear_ms: 180_000 };

/// Below this share of the limit the wind counts as within it again.
const WITHIN: f64 = 0.9;

/// Gusts of this share of the limit count as over it though the mean is not.
const GUSTS: f64 = 1.4;

/// A vane already counts as differing only when it persists; it has to agree again for longer.
const DISAGREE_HOLDS: Holds = Holds { raise_ms: 10_000, clear_ms: 60_000 };

/// A vane this far off the fleet's wind counts as wrong, degrees, and below half of it as right: twice
/// the 95 % error of four boards on each tack (wind_from_tracks.csv).
const DISAGREE_DEG: f64 = 25.0;

/// The state of the session's own rules.
#[derive(Clone, Copy, Debug, Default)]
pub struct SessionRules {
    limit: Latch,
    disagree: Latch,
}

impl SessionRules {
    /// A second passed. `limit_mps`: the session's wind limit, if it has one; `disagreement`: the
    /// instrument furthest from the fleet, while both speak.
    pub fn on_tick(
        &mut self,
        now: Moment,
        wind: Option<&WindNow>,
        limit_mps: Option<f64>,
        disagreement: Option<&Disagreement>,
        alerts: &mut Alerts,
    ) {
        self.watch_limit(now, wind, limit_mps, alerts);
        self.watch_instruments(now, disagreement, alerts);
    }

    fn watch_limit(
        &mut self,
        now: Moment,
        wind: Option<&WindNow>,
        limit_mps: Option<f64>,
        alerts: &mut Alerts,
    ) {
        let topic = Topic::session(AlertKind::WindOverLimit);
        let Some(limit_mps) = limit_mps else {
            self.limit = Latch::Off;
            return alerts.release(now, topic, "no limit is set");
        };
        let speed_mps = wind.and_then(|wind| wind.speed_mps);
        let gust_mps = wind.and_then(|wind| wind.gust_mps);
        let says = match speed_mps {
            Some(mean) if mean > limit_mps || gust_mps.is_some_and(|gust| gust > GUSTS * limit_mps) => {
                Says::Yes
            }
            Some(mean) if mean < WITHIN * limit_mps => Says::No,
            Some(_) | None => Says::Unsure, // an unknown wind is no wind within the limit
        };
        self.limit = self.limit.after(now, says, LIMIT_HOLDS);
        match (self.limit.on_since(), speed_mps) {
            (Some(since), Some(mean_mps)) => {
                alerts.hold(now, topic, fact(Level::Warning, since), || {
                    limit_words(now, since, mean_mps, gust_mps, limit_mps)
                });
            }
            (Some(_), None) => (),
            (None, _) => alerts.release(now, topic, "the wind is within the limit again"),
        }
    }

    fn watch_instruments(&mut self, now: Moment, disagreement: Option<&Disagreement>, alerts: &mut Alerts) {
        let topic = Topic::session(AlertKind::WindDisagrees);
        let off_deg = disagreement.map(|found| found.off_deg);
        let says = match off_deg.map(f64::abs) {
            Some(off) if off > DISAGREE_DEG => Says::Yes,
            Some(off) if off > DISAGREE_DEG / 2.0 => Says::Unsure,
            Some(_) | None => Says::No,
        };
        self.disagree = self.disagree.after(now, says, DISAGREE_HOLDS);
        match (self.disagree.on_since(), disagreement, off_deg) {
            (Some(since), Some(found), Some(off)) => {
                alerts.hold(now, topic, fact(Level::Caution, since), || {
                    let side = if off > 0.0 { "clockwise" } else { "anticlockwise" };
                    vec![format!(
                        "{} says a wind {:.0} degrees {side} of {}",
                        found.source,
                        off.abs(),
                        found.with
                    )]
                });
            }
            (Some(_), _, _) => (),
            (None, _, _) => alerts.release(now, topic, "instrument and fleet agree again"),
        }
    }
}

/// Somebody should have been back `since` then, and no boat's own alert tells of them. At the level of a
/// boat that is overdue.
pub fn person_overdue(now: Moment, person: PersonId, since: Moment, alerts: &mut Alerts) {
    alerts.hold(now, Topic::overdue(person), fact(Level::Warning, since), || {
        vec!["not counted back, and in no boat that is out".to_owned()]
    });
}

fn limit_words(
    now: Moment,
    since: Moment,
    mean_mps: f64,
    gust_mps: Option<f64>,
    limit_mps: f64,
) -> Vec<String> {
    let kn = kn_from_mps;
    let mut evidence = vec![format!(
        "mean wind {:.0} kn, limit {:.0} kn, for {}",
        kn(mean_mps),
        kn(limit_mps),
        words::duration(now, since)
    )];
    evidence.extend(gust_mps.map(|gust| format!("gusts of {:.0} kn in the last ten minutes", kn(gust))));
    evidence
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        effect::{Effect, Phase},
        engine::{Engine, Setup},
        input::{Command, Input},
    };

    /// Gives commands at their seconds; tells what was said of whom, when.
    fn run(commands: &[(i64, Command)], until_s: i64) -> Vec<(i64, u32, Phase, Level)> {
        let mut engine = Engine::new(Setup::default());
        let mut said = Vec::new();
        for s in 0..=until_s {
            let given = commands.iter().filter(|(at_s, _)| *at_s == s);
            let orders =
                given.map(|(_, command)| Input::Command { by: "Ann".to_owned(), command: command.clone() });
            for input in orders.chain([Input::Wake]) {
                for effect in engine.on(Moment(s * 1_000), input) {
                    let Effect::Alert(change) = effect else { continue };
                    let person = change.alert.person.map_or(0, |person| person.number);
                    said.push((s, person, change.phase, change.alert.level));
                }
            }
        }
        said
    }

    fn person(number: u32) -> PersonId {
        PersonId { session: 1, number }
    }

    #[test]
    fn each_overdue_person_is_an_alert_of_its_own() {
        let late = |number| Command::PersonOverdue(person(number), Moment(0));
        let back = |number| Command::PersonAccounted(person(number), "counted back".to_owned());
        let id = crate::input::AlertId;
        let (raised, changed, cleared) = (Phase::Raised, Phase::Changed, Phase::Cleared);
        // The first is seen; the second nobody heeds, and grows as any warning does.
        let commands =
            [(1, late(4)), (1, late(9)), (3, Command::Acknowledge(id(1))), (150, back(4)), (151, back(9))];
        let expected = [
            (1, 4, raised, Level::Warning),
            (1, 9, raised, Level::Warning),
            (3, 4, changed, Level::Warning),
            (121, 9, changed, Level::Alarm),
            (150, 4, cleared, Level::Warning),
            (151, 9, cleared, Level::Alarm),
        ];
        assert_eq!(run(&commands, 160), expected);
    }

    #[test]
    fn one_that_a_person_has_ended_is_not_raised_by_the_same_word_again() {
        let late = || Command::PersonOverdue(person(4), Moment(0));
        let end = Command::Clear(crate::input::AlertId(1), "is at home".to_owned());
        let told = run(&[(1, late()), (2, end), (3, late())], 10);
        let phases: Vec<Phase> = told.iter().map(|(_, _, phase, _)| *phase).collect();
        assert_eq!(phases, [Phase::Raised, Phase::Cleared]);
    }

    #[test]
    fn a_topic_tells_whom_it_is_about() {
        for given in [person(0), PersonId { session: u32::MAX, number: u32::MAX }, person(7)] {
            assert_eq!(Topic::overdue(given).person(), Some(given));
        }
        assert_eq!(Topic::session(AlertKind::WindOverLimit).person(), None);
    }
}
