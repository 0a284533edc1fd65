//! Safety cover against the centre's own rule. Local rules and the person in charge decide.

use dunlin_engine::{
    effect::Standing,
    fleet::{Boat, Role},
    units::{Position, mps_from_kn},
    view::BoatView,
};

use super::record::Rules;
use crate::hub::wire;

/// Speed at which a safety boat is taken to cover open water, knots: at 15 kn one minute is 463 m
/// (`reference/safety.md`, derived). The way to a real casualty is computed by the engine.
pub const SAFETY_BOAT_KN: f64 = 15.0;

/// A position older than this says nothing of where a boat is, ms.
const STALE_MS: i64 = 120_000;

/// Mean radius of the earth, metres (IUGG). For cover a per cent is enough.
const EARTH_M: f64 = 6_371_008.8;

/// Metres between two positions a few kilometres apart, on a flat plane.
fn distance_m(one: Position, other: Position) -> f64 {
    let mean_lat = ((one.lat_deg() + other.lat_deg()) / 2.0).to_radians();
    let east = (other.lon_deg() - one.lon_deg()).to_radians() * mean_lat.cos();
    let north = (other.lat_deg() - one.lat_deg()).to_radians();
    EARTH_M * east.hypot(north)
}

/// What the rule says now; `None` while no dinghy is afloat.
pub fn judge(fleet: &[Boat], boats: &[BoatView], rules: &Rules, now_ms: i64) -> Option<wire::Cover> {
    let role = |view: &BoatView| fleet.get(usize::from(view.boat.0)).map(|boat| boat.role);
    let painted = |view: &BoatView| fleet.get(usize::from(view.boat.0)).map_or("?", |boat| boat.id.as_str());
    let fresh = |view: &BoatView| {
        view.seen.filter(|seen| now_ms - seen.taken.0 <= STALE_MS).map(|seen| seen.position)
    };
    let is_out = |view: &&BoatView| matches!(view.standing, Standing::Afloat | Standing::Landed);
    let dinghies: Vec<&BoatView> =
        boats.iter().filter(is_out).filter(|view| role(view) == Some(Role::Dinghy)).collect();
    if dinghies.is_empty() {
        return None;
    }
    let safety: Vec<Position> = boats
        .iter()
        .filter(|view| role(view) == Some(Role::Safety))
        .filter(|view| matches!(view.standing, Standing::Afloat))
        .filter_map(fresh)
        .collect();
    let reach = |view: &BoatView| {
        let at = fresh(view)?;
        let nearest = safety.iter().map(|boat| distance_m(*boat, at)).min_by(f64::total_cmp)?;
        Some(nearest / mps_from_kn(SAFETY_BOAT_KN))
    };
    let unknown: Vec<&str> =
        dinghies.iter().filter(|view| reach(view).is_none()).map(|view| painted(view)).collect();
    let furthest = dinghies
        .iter()
        .filter_map(|view| Some((view, reach(view)?)))
        .max_by(|one, other| one.1.total_cmp(&other.1));

    let mut thin = Vec::new();
    if safety.is_empty() {
        thin.push("no safety boat is afloat and heard".to_owned());
    } else if let Some(rule) = rules.dinghies_per_safety_boat
        && dinghies.len() as f64 > rule * safety.len() as f64
    {
        let boats = if safety.len() == 1 { "safety boat" } else { "safety boats" };
        thin.push(format!(
            "{} {boats} for {} dinghies; the centre's rule is 1 for {rule}",
            safety.len(),
            dinghies.len()
        ));
    }
    if let (Some((view, seconds)), Some(rule)) = (furthest, rules.reach_within_s)
        && seconds > rule
    {
        thin.push(format!("{:.0} s to {}; the centre's rule is {rule:.0} s", seconds.ceil(), painted(view)));
    }
    if !safety.is_empty() && !unknown.is_empty() {
        thin.push(format!("no position of {}: cannot be judged", unknown.join(", ")));
    }
    Some(wire::Cover {
        safety_boats: u32::try_from(safety.len()).unwrap_or(u32::MAX),
        dinghies: u32::try_from(dinghies.len()).unwrap_or(u32::MAX),
        // With one of them unknown, the furthest is unknown too.
        furthest_s: furthest.filter(|_| unknown.is_empty()).map(|(_, seconds)| seconds.round()),
        furthest_boat: furthest.map(|(view, _)| u32::from(view.boat.0)),
        thin: (!thin.is_empty()).then(|| format!("{}. Local rules decide.", thin.join("; "))),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use dunlin_engine::{
        effect::Seen,
        fleet::{BoatIx, Class},
        moment::Moment,
    };

    fn craft(role: Role, id: &str) -> Boat {
        let (id, name) = (id.to_owned(), None);
        Boat { id, name, role, sources: Vec::new(), mmsi: None, crew: 2, class: Class::default() }
    }

    /// A boat afloat `north_m` metres north of a place on the equator, seen at `taken_s`.
    fn afloat(ix: u16, north_m: Option<f64>, taken_s: i64) -> BoatView {
        let position =
            |north_m: f64| Position::new((north_m / EARTH_M).to_degrees(), 5.0).expect("on the earth");
        BoatView {
            boat: BoatIx(ix),
            seen: north_m.map(|north_m| Seen { position: position(north_m), taken: Moment(taken_s * 1_000) }),
            sd_m: None,
            speed_mps: None,
            course: None,
            heading: None,
            heel_deg: None,
            wind_angle_deg: None,
            sail: None,
            doing: "reaching",
            p_capsize: None,
            standing: Standing::Afloat,
            standing_since: Moment(0),
            standing_by: None,
            persons: 2,
            battery_pct: None,
            heard: None,
        }
    }

    fn fleet() -> Vec<Boat> {
        vec![craft(Role::Dinghy, "07"), craft(Role::Dinghy, "08"), craft(Role::Safety, "S1")]
    }

    fn rules(dinghies: f64, reach_s: f64) -> Rules {
        let (dinghies, reach) = (Some(dinghies), Some(reach_s));
        Rules { dinghies_per_safety_boat: dinghies, reach_within_s: reach, keep_days: None }
    }

    #[test]
    fn fifteen_knots_cover_463_metres_in_a_minute() {
        // `reference/safety.md`, derived: at 15 kn one minute is 463 m.
        let boats = [afloat(0, Some(463.0), 0), afloat(2, Some(0.0), 0)];
        let cover = judge(&fleet(), &boats, &rules(6.0, 61.0), 0).expect("a dinghy is afloat");
        assert_eq!((cover.furthest_s, cover.furthest_boat, cover.thin), (Some(60.0), Some(0), None));
    }

    #[test]
    fn thin_cover_says_why_and_an_unknown_boat_is_never_covered() {
        for (boats, rules, says) in [
            (vec![afloat(0, Some(463.0), 0), afloat(2, Some(0.0), 0)], rules(6.0, 30.0), "60 s to 07"),
            (
                vec![afloat(0, Some(9.0), 0), afloat(1, Some(9.0), 0), afloat(2, Some(0.0), 0)],
                rules(1.0, 60.0),
                "1 safety boat for 2 dinghies",
            ),
            (vec![afloat(0, Some(9.0), 0)], rules(6.0, 60.0), "no safety boat"),
            (vec![afloat(0, None, 0), afloat(2, Some(0.0), 0)], rules(6.0, 60.0), "no position of 07"),
            (
                vec![afloat(0, Some(9.0), -600), afloat(2, Some(0.0), 0)],
                rules(6.0, 60.0),
                "no position of 07",
            ),
            (vec![afloat(0, Some(9.0), 0), afloat(2, Some(0.0), -600)], rules(6.0, 60.0), "no safety boat"),
        ] {
            let cover = judge(&fleet(), &boats, &rules, 0).expect("a dinghy is afloat");
            let thin = cover.thin.unwrap_or_default();
            assert!(thin.contains(says) && thin.ends_with("Local rules decide."), "{says}: {thin}");
        }
        assert_eq!(judge(&fleet(), &[afloat(2, Some(0.0), 0)], &rules(6.0, 60.0), 0), None);
    }
}
