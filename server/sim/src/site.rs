//! The invented place: shore, landing, sailing area, no-go zones and marks, and the courses laid in it.

use crate::{
    dice::Dice,
    plane::{Chart, Ring, Vec2},
};

/// Points of open ocean far from any land or training centre; one is drawn for each session so that all
/// four quarters of the globe are met.
const ORIGINS: [(f64, f64); 4] = [(46.20, -11.40), (-38.70, 21.90), (-36.40, -16.80), (41.30, 163.20)];

/// A named mark.
#[derive(Clone, Debug)]
pub(crate) struct Mark {
    pub(crate) name: String,
    pub(crate) at: Vec2,
}

/// Everything fixed.
#[derive(Clone, Debug)]
pub(crate) struct Site {
    pub(crate) chart: Chart,
    pub(crate) area: Ring,
    pub(crate) no_go: Vec<(String, Ring)>,
    pub(crate) landing: Ring,
    pub(crate) shore: Ring,
    pub(crate) marks: Vec<Mark>,
    /// Unit vector from the beach out over the water.
    pub(crate) offshore: Vec2,
    /// Where the wind mast stands.
    pub(crate) mast: Vec2,
}

impl Site {
    /// Lays a site out with the shore's outward direction turned by chance.
    pub(crate) fn draw(dice: &mut Dice) -> (Site, f64) {
        let (lat, lon) = ORIGINS[dice.pick(ORIGINS.len())];
        let turn = dice.between(0.0, 360.0);
        let (wide, deep) = (dice.between(430.0, 560.0), dice.between(680.0, 820.0));
        let place = |along: f64, out: f64| Vec2::new(along, out).turned(turn);
        let area = Ring(vec![
            place(-wide, 30.0 + dice.between(0.0, 25.0)),
            place(-wide - 20.0, deep * 0.55),
            place(-wide * 0.8, deep),
            place(dice.between(-50.0, 50.0), deep + 30.0),
            place(wide * 0.85, deep - 20.0),
            place(wide, deep * 0.4),
            place(wide * 0.9, 30.0),
        ]);
        let side = dice.sign();
        let shoal = (side * wide * 0.62, deep * dice.between(0.62, 0.74));
        let no_go = vec![
            (
                "fairway".to_owned(),
                Ring(vec![
                    place(-side * (wide + 45.0), -20.0),
                    place(-side * (wide + 150.0), -20.0),
                    place(-side * (wide + 150.0), deep),
                    place(-side * (wide + 55.0), deep),
                ]),
            ),
            (
                "shoal".to_owned(),
                Ring(vec![
                    place(shoal.0 - 45.0, shoal.1 - 40.0),
                    place(shoal.0 + 50.0, shoal.1 - 30.0),
                    place(shoal.0 + 35.0, shoal.1 + 45.0),
                    place(shoal.0 - 40.0, shoal.1 + 35.0),
                ]),
            ),
        ];
        let site = Site {
            chart: Chart::at(lat, lon),
            area,
            no_go,
            landing: Ring(vec![
                place(-90.0, -25.0),
                place(-90.0, 48.0),
                place(90.0, 48.0),
                place(90.0, -25.0),
            ]),
            shore: Ring(vec![
                place(-wide - 160.0, -60.0),
                place(-wide - 160.0, 0.0),
                place(wide + 160.0, 0.0),
                place(wide + 160.0, -60.0),
            ]),
            marks: Vec::new(),
            offshore: place(0.0, 1.0),
            mast: place(dice.between(-60.0, 60.0), -18.0),
        };
        (site, turn)
    }

    /// How deep a point lies outside the area (negative inside), metres.
    pub(crate) fn outside_m(&self, at: Vec2) -> f64 {
        // The landing place and the strip between it and the area belong to the centre: nobody calls a boat
        // on the beach "outside".
        if self.landing.holds(at) { -1.0 } else { -self.area.margin(at) }
    }
}

/// What is sailed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Exercise {
    FigureOfEight,
    TrianglePort,
    TriangleStarboard,
    WindwardLeeward,
    Free,
}

/// How one gets to the next point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Leg {
    pub(crate) to: Vec2,
    /// Near enough, metres.
    pub(crate) near_m: f64,
    /// Rounding this mark (index into the site's marks) at this point.
    pub(crate) mark: Option<usize>,
}

/// The marks of an exercise laid for a wind, and one lap as legs.
pub(crate) struct Course {
    pub(crate) marks: Vec<Vec2>,
    pub(crate) lap: Vec<Leg>,
}

/// How far from a mark boats round it, m.
const ROUND_M: f64 = 11.0;

/// Lays `exercise` round `centre` for a wind from `from_deg`; marks are numbered from `first`.
pub(crate) fn lay(exercise: Exercise, centre: Vec2, from_deg: f64, size_m: f64, first: usize) -> Course {
    let up = Vec2::along(from_deg, 1.0);
    let right = Vec2::along(from_deg + 90.0, 1.0);
    let at = |across: f64, upwind: f64| centre + right * across + up * upwind;
    match exercise {
        Exercise::FigureOfEight => {
            let d = size_m * 0.55;
            let marks = vec![at(-d, 0.0), at(d, 0.0)];
            let r = ROUND_M;
            let leg = |across: f64, upwind: f64, mark: usize| Leg {
                to: at(across, upwind),
                near_m: 7.0,
                mark: Some(first + mark),
            };
            let lap = vec![
                leg(d - 2.0, -r, 1),
                leg(d + r, -2.0, 1),
                leg(d - r, r + 3.0, 1),
                leg(-d + 2.0, -r, 0),
                leg(-d - r, -2.0, 0),
                leg(-d + r, r + 3.0, 0),
            ];
            Course { marks, lap }
        }
        Exercise::TrianglePort => ring(
            vec![at(0.0, size_m), at(-size_m, 0.0), at(0.0, -size_m)],
            &[first, first + 1, first + 2],
            true,
        ),
        Exercise::TriangleStarboard => ring(
            vec![at(0.0, size_m), at(size_m, 0.0), at(0.0, -size_m)],
            &[first, first + 1, first + 2],
            false,
        ),
        Exercise::WindwardLeeward => {
            ring(vec![at(0.0, size_m * 1.2), at(0.0, -size_m * 0.9)], &[first, first + 1, first + 2], true)
        }
        Exercise::Free => Course { marks: Vec::new(), lap: Vec::new() },
    }
}

/// A lap round marks, all left to the same hand; `numbers` are their places in the site's list.
pub(crate) fn ring(marks: Vec<Vec2>, numbers: &[usize], to_port: bool) -> Course {
    let n = marks.len();
    let quarter = if to_port { 90.0 } else { -90.0 };
    let mut lap = Vec::new();
    for i in 0..n {
        let (mark, before, after) = (marks[i], marks[(i + n - 1) % n], marks[(i + 1) % n]);
        let (inward, outward) = ((mark - before).unit(), (after - mark).unit());
        let (a, b) = (inward.turned(quarter), outward.turned(quarter));
        let middle = if (a + b).length() < 0.2 { inward } else { (a + b).unit() };
        for side in [a, middle, b] {
            lap.push(Leg { to: mark + side * ROUND_M, near_m: 7.0, mark: Some(numbers[i]) });
        }
    }
    Course { marks, lap }
}
