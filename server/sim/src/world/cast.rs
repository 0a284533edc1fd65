//! Who sails, and what.

use super::Sailor;
use crate::{
    boats::CLASSES,
    dice::Dice,
    dinghy::Dinghy,
    plane::Vec2,
    receiver::{Kit, Receiver},
    record::Record,
    scenario::SessionPlan,
    site::{self, Course, Exercise, Leg, Mark, Site},
};

/// Lays this session's two exercises and drops their marks.
pub(super) fn lay_courses(
    site: &mut Site,
    plan: &SessionPlan,
    middle: Vec2,
    dice: &mut Dice,
) -> Vec<Vec<Leg>> {
    let choices = [
        Exercise::FigureOfEight,
        Exercise::TrianglePort,
        Exercise::TriangleStarboard,
        Exercise::WindwardLeeward,
        Exercise::Free,
    ];
    let first = if plan.gun_s.is_some() { Exercise::WindwardLeeward } else { choices[dice.pick(4)] };
    let second = choices[dice.pick(5)];
    let mut laps = Vec::new();
    for (n, exercise) in [first, second].into_iter().enumerate() {
        let size = dice.between(95.0, 150.0);
        // Laid for the wind of the hour when the session began; it shifts, the marks do not. Nobody lays
        // two marks so close together that crews would mistake one for the other.
        let mut course = lay_aside(site, plan, exercise, middle, size, dice);
        for _ in 0..30 {
            let nearest =
                course.marks.iter().flat_map(|new| site.marks.iter().map(|old| (*new - old.at).length()));
            if nearest.fold(f64::INFINITY, f64::min) > 55.0 {
                break;
            }
            course = lay_aside(site, plan, exercise, middle, size, dice);
        }
        for (m, at) in course.marks.iter().enumerate() {
            site.marks.push(Mark { name: format!("{}{}", ["red", "yellow"][n], m + 1), at: *at });
        }
        laps.push(course.lap);
    }
    laps
}

fn lay_aside(
    site: &Site,
    plan: &SessionPlan,
    exercise: Exercise,
    middle: Vec2,
    size_m: f64,
    dice: &mut Dice,
) -> Course {
    let aside = Vec2::new(dice.between(-80.0, 80.0), dice.between(-80.0, 80.0));
    site::lay(exercise, middle + aside, plan.weather.from_deg, size_m, site.marks.len())
}

pub(super) fn new_sailor(
    plan: &SessionPlan,
    site: &Site,
    courses: &[Vec<Leg>],
    i: usize,
    seed: u64,
) -> Sailor {
    let mut dice = Dice::new(seed, "dinghy", i);
    let class = &CLASSES[[0, 0, 0, 1, 1, 2][dice.pick(6)]];
    let skill = (plan.skill + 0.2 * dice.normal()).clamp(0.1, 0.95);
    let along = Vec2::along(site.offshore.bearing_deg() + 90.0, dice.between(-65.0, 65.0));
    let beach = site.landing.centre() - site.offshore * 8.0 + along;
    let launch_s = dice.between(20.0, 420.0);
    let home_s = plan.lasts_s - dice.between(300.0, 800.0);
    let id = format!("{:02}", i + 1);
    let offset = Vec2::new(6.0 * dice.normal(), 6.0 * dice.normal());
    let switch_s = plan.lasts_s * dice.between(0.48, 0.55);
    // Where feeds are sparse one boat carries only an AIS transponder.
    let sparse = plan.radio.interval_s > 2.0 && i == 0;
    let kit = if sparse { Kit::Ais { mmsi: 235_000_700 } } else { Kit::Phone };
    let receiver =
        Receiver::new(kit, format!("phone-{id}"), plan.radio, plan.faulty, Dice::new(seed, "receiver", i));
    let record = Record::new(&id, site.no_go.len(), site.marks.len());
    Sailor {
        dinghy: Dinghy::new(class, skill, beach, plan.rates.irons, plan.habits, launch_s, dice),
        receiver,
        record,
        legs: courses.first().cloned().unwrap_or_default(),
        next_leg: 0,
        second: courses.get(1).map(|laps| (switch_s, laps.clone())),
        errand: None,
        avoid: None,
        home_s,
        beach,
        offset,
        doom: None,
        noticed_s: None,
        capsize: None,
        fixes_due: (0, 0),
        was_in_front: false,
        speeds: [0.0; 8],
        held: Vec::new(),
        last_arrival_ms: None,
        frozen: None,
        ever_capsized_until_ms: i64::MIN,
        afloat: (None, None),
        crew: class.crew,
        help: None,
        id,
    }
}

/// A few points anywhere in the area.
pub(super) fn free_legs(site: &Site, dice: &mut Dice) -> Vec<Leg> {
    let centre = site.area.centre();
    (0..4)
        .map(|_| {
            let to = centre + Vec2::along(dice.between(0.0, 360.0), dice.between(40.0, 260.0));
            Leg { to, near_m: 12.0, mark: None }
        })
        .collect()
}
