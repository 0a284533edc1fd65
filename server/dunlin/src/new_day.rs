//! When one day ends and the next begins.
//!
//! Nothing is cut at midnight: an evening session that runs over it belongs, with its head count, its
//! log and its tracks, to the day on which it began. A day ends at three in the morning by the sun at
//! the site, and even then only when no dinghy is out and no alert stands; until then its file goes on.

use dunlin_engine::{
    Engine,
    effect::Standing,
    fleet::Role,
    moment::Moment,
    units::Position,
    venue::{Site, ZoneKind},
};

use crate::day::sun;

/// How long after midnight by the sun a day ends, ms: when nobody sails (common practice, no source).
const ENDS_MS: i64 = 3 * 3_600_000;

/// The day that a moment belongs to at a site, counted from 1970-01-01. By the sun where the site is,
/// so that no time zone is needed; by UTC while there is no site.
pub fn number(now: Moment, site: &Site) -> i64 {
    let lon_deg = middle(site).map_or(0.0, |at| at.lon_deg());
    sun::solar_day(now.0.saturating_sub(ENDS_MS), lon_deg)
}

/// The same as a date, `2026-06-01`: names the day's file.
pub fn date(now: Moment, site: &Site) -> String {
    let midnight = Moment(number(now, site).saturating_mul(86_400_000));
    midnight.to_string()[..10].to_owned()
}

/// Boats that are named; beyond it they are counted. A notice is one sentence to read.
const NAMED_MAX: usize = 8;

/// What keeps a day from ending.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeptOpen {
    /// What is painted on the dinghies that are out, or back without their people having been counted.
    pub boats: Vec<String>,
    /// How many alerts stand.
    pub alerts: usize,
}

impl KeptOpen {
    /// What keeps the day of `engine` from ending. Safety boats and masts may be heard all night at their
    /// moorings.
    pub fn by(engine: &Engine) -> KeptOpen {
        let fleet = &engine.setup().fleet;
        let is_out = |standing| match standing {
            Standing::Afloat | Standing::Landed => true,
            Standing::Ashore | Standing::Returned | Standing::StoodDown => false,
        };
        let out = engine.boats().into_iter().filter(|view| is_out(view.standing));
        let boats = out.filter_map(|view| fleet.get(usize::from(view.boat.0)));
        let dinghies = boats.filter(|boat| boat.role == Role::Dinghy).map(|boat| boat.id.clone());
        let alerts = engine.alerts().iter().filter(|alert| alert.cleared.is_none()).count();
        KeptOpen { boats: dinghies.collect(), alerts }
    }

    /// Whether nothing does, and a new day may begin.
    pub fn is_quiet(&self) -> bool {
        self.boats.is_empty() && self.alerts == 0
    }

    /// The same in a sentence, and what to do. A dinghy on a mooring counts as out until somebody says
    /// otherwise: nobody is back because of where a tracker lies.
    pub fn words(&self, day: &str) -> String {
        let named = self.boats.iter().take(NAMED_MAX).map(String::as_str).collect::<Vec<_>>().join(", ");
        let boats = match self.boats.len().saturating_sub(NAMED_MAX) {
            0 => named,
            more => format!("{named} and {more} more"),
        };
        let alerts = match self.alerts {
            1 => "1 alert stands".to_owned(),
            count => format!("{count} alerts stand"),
        };
        let count = "Count them, then mark each boat ashore by hand.";
        let clear = "End each once all is well.";
        match (self.boats.is_empty(), self.alerts) {
            (false, 0) => {
                format!("The day of {day} stays open: nobody has counted back {boats}. {count}")
            }
            (true, _) => format!("The day of {day} stays open: {alerts}. {clear}"),
            (false, _) => format!(
                "The day of {day} stays open: nobody has counted back {boats}, and {alerts}. {count} {clear}"
            ),
        }
    }
}

/// The middle of the sailing areas, or of everything drawn when there are none; `None`: nothing is.
pub fn middle(site: &Site) -> Option<Position> {
    let of = |wanted: &dyn Fn(ZoneKind) -> bool| {
        let zones = site.zones.iter().filter(|zone| wanted(zone.kind));
        let corners: Vec<Position> =
            zones.flat_map(|zone| zone.polygons.iter().flatten().flatten().copied()).collect();
        mean(&corners)
    };
    of(&|kind| kind == ZoneKind::SailingArea)
        .or_else(|| of(&|_| true))
        .or_else(|| site.marks.first().map(|mark| mark.position))
}

fn mean(corners: &[Position]) -> Option<Position> {
    let count = corners.len() as f64;
    let lat = corners.iter().map(|at| at.lat_deg()).sum::<f64>() / count;
    let lon = corners.iter().map(|at| at.lon_deg()).sum::<f64>() / count;
    Position::new(lat, lon)
}

#[cfg(test)]
mod tests {
    use super::*;
    use dunlin_engine::venue::Mark;

    fn at(lon_deg: f64) -> Site {
        let position = Position::new(50.0, lon_deg).expect("on the earth");
        Site { marks: vec![Mark { name: "A".to_owned(), position }], ..Site::default() }
    }

    fn utc(text: &str) -> Moment {
        let at: jiff::Timestamp = text.parse().expect("a time");
        Moment(at.as_millisecond())
    }

    #[test]
    fn what_keeps_a_day_open_is_said_with_what_to_do() {
        let kept = |boats: usize, alerts: usize| {
            let boats = (1..=boats).map(|number| format!("{number:02}")).collect();
            KeptOpen { boats, alerts }.words("2026-06-01")
        };
        let count = "Count them, then mark each boat ashore by hand.";
        let clear = "End each once all is well.";
        assert_eq!(
            [kept(2, 0), kept(0, 1), kept(1, 2), kept(10, 0)],
            [
                format!("The day of 2026-06-01 stays open: nobody has counted back 01, 02. {count}"),
                format!("The day of 2026-06-01 stays open: 1 alert stands. {clear}"),
                format!(
                    "The day of 2026-06-01 stays open: nobody has counted back 01, and 2 alerts stand. {count} {clear}"
                ),
                format!(
                    "The day of 2026-06-01 stays open: nobody has counted back 01, 02, 03, 04, 05, 06, 07, 08 and 2 more. {count}"
                ),
            ]
        );
    }

    #[test]
    fn an_evening_that_runs_over_midnight_is_one_day_wherever_it_is() {
        for (lon_deg, moment, expected) in [
            // 23:50 to 00:30 and the packing up after it, on the meridian of Greenwich.
            (0.0, "2026-06-01T23:50:00Z", "2026-06-01"),
            (0.0, "2026-06-02T00:30:00Z", "2026-06-01"),
            (0.0, "2026-06-02T02:59:00Z", "2026-06-01"),
            (0.0, "2026-06-02T03:01:00Z", "2026-06-02"),
            // A morning at 175 E is still the day before in UTC, and UTC's midnight is noon there.
            (175.0, "2026-06-01T21:00:00Z", "2026-06-02"),
            (175.0, "2026-06-02T00:30:00Z", "2026-06-02"),
            (175.0, "2026-06-02T12:10:00Z", "2026-06-02"),
            // An evening at 120 W is the next day in UTC.
            (-120.0, "2026-06-02T03:00:00Z", "2026-06-01"),
            (-120.0, "2026-06-02T08:30:00Z", "2026-06-01"),
        ] {
            assert_eq!(date(utc(moment), &at(lon_deg)), expected, "{moment} at {lon_deg}");
        }
        assert_eq!(date(utc("2026-06-01T23:50:00Z"), &Site::default()), "2026-06-01", "without a site");
    }
}
