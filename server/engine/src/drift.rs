//! Leeway and stream: where a boat or a person will be, as an area and never as a point.
//!
//! Leeway is motion through the water that the wind causes, fitted to the wind 10 m above it: a part
//! straight downwind and a part to one side. An object keeps to its side for a long time, and which
//! one it is cannot be known beforehand. Coefficients: Allen, A. A. and Plourde, J. V., 1999, Review
//! of Leeway, US Coast Guard CG-D-08-99, and Allen, A. A., 2005, Leeway Divergence, CG-D-05-05, as
//! carried in the object table of OpenDrift 1.14.12 (MET Norway). Method: Breivik, O. and Allen,
//! A. A., 2008, Journal of Marine Systems 69, 99-113.

use crate::units::{Bearing, Local, Velocity};

/// What drifts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Adrift {
    /// On her side or upside down, crew beside her.
    CapsizedDinghy,
    /// Upright, not sailing.
    UprightDinghy,
    /// A person, posture unknown.
    PersonInWater,
}

/// How the wind moves one kind of thing: speeds in per cent of the wind plus an offset in cm/s, with
/// standard deviations in cm/s at a wind of 10 m/s. Left and right of downwind mirror each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leeway {
    /// Downwind, per cent of the wind.
    pub down_pct: f64,
    /// Downwind, cm/s at no wind (an artefact of the straight-line fit when not 0).
    pub down_offset_cms: f64,
    /// Spread of it.
    pub down_sd_cms: f64,
    /// Across the wind, per cent.
    pub cross_pct: f64,
    /// Across the wind, cm/s at no wind.
    pub cross_offset_cms: f64,
    /// Spread of it.
    pub cross_sd_cms: f64,
}

impl Leeway {
    /// PIW-1: a person in the water, posture unknown.
    pub const PERSON: Leeway = Leeway {
        down_pct: 0.96,
        down_offset_cms: 0.0,
        down_sd_cms: 12.0,
        cross_pct: 0.54,
        cross_offset_cms: 0.0,
        cross_sd_cms: 9.4,
    };

    /// SKIFF-3: a small open skiff, swamped or capsized. She has no rig in the water.
    pub const SWAMPED_SKIFF: Leeway = Leeway {
        down_pct: 1.65,
        down_offset_cms: 0.0,
        down_sd_cms: 3.1,
        cross_pct: 0.39,
        cross_offset_cms: 0.0,
        cross_sd_cms: 2.9,
    };

    /// SAILBOAT-8: a small sailing dinghy, bare pole, no rudder, upright.
    pub const UPRIGHT_DINGHY: Leeway = Leeway {
        down_pct: 1.79,
        down_offset_cms: 3.09,
        down_sd_cms: 4.04,
        cross_pct: 0.10,
        cross_offset_cms: 3.53,
        cross_sd_cms: 4.05,
    };

    /// A capsized dinghy with her rig. No table has her: between the swamped skiff (1.65 %) and the
    /// windsurf board with its rig in the water (2.25 %), and much wider than either, since one real
    /// capsized dinghy was seen to move at 0.4 m/s some 60 to 75 degrees off downwind. Our choice.
    pub const CAPSIZED_DINGHY: Leeway = Leeway {
        down_pct: 1.95,
        down_offset_cms: 0.0,
        down_sd_cms: 6.0,
        cross_pct: 0.55,
        cross_offset_cms: 0.0,
        cross_sd_cms: 14.0,
    };

    /// The coefficients for what drifts.
    pub fn of(what: Adrift) -> Leeway {
        match what {
            Adrift::CapsizedDinghy => Leeway::CAPSIZED_DINGHY,
            Adrift::UprightDinghy => Leeway::UPRIGHT_DINGHY,
            Adrift::PersonInWater => Leeway::PERSON,
        }
    }

    /// Its motion through the water in a wind of `wind_mps` m/s, 10 m above the water.
    pub fn in_wind(&self, wind_mps: f64) -> Slip {
        let cms = |pct: f64, offset: f64| (pct * wind_mps + offset) / 100.0; // per cent times m/s is cm/s
        let sd = |sd_cms: f64| sd_cms * (wind_mps / 20.0 + 0.5) / 100.0;
        Slip {
            down_mps: cms(self.down_pct, self.down_offset_cms).max(0.0), // nothing drifts upwind
            cross_mps: cms(self.cross_pct, self.cross_offset_cms),
            down_sd_mps: sd(self.down_sd_cms),
            cross_sd_mps: sd(self.cross_sd_cms),
        }
    }
}

/// Motion through the water caused by one wind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slip {
    /// Downwind, m/s, never negative.
    pub down_mps: f64,
    /// To the side she keeps to, m/s.
    pub cross_mps: f64,
    /// One standard deviation of the downwind part, m/s.
    pub down_sd_mps: f64,
    /// One standard deviation of the part across, m/s.
    pub cross_sd_mps: f64,
}

/// To which side of downwind a thing drifts, looking downwind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// Left of downwind.
    Left,
    /// Right of downwind.
    Right,
}

/// What pushes: wind and stream where they are known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Push {
    /// Where the wind comes from and how strong it is, m/s; `None`: unknown.
    pub wind: Option<(Bearing, f64)>,
    /// The stream over the ground; `None`: unknown, which is not slack.
    pub stream: Option<Velocity>,
}

/// One standard deviation of a stream somebody entered or the fleet's tracks gave, m/s per
/// component. Common practice, no source.
const STREAM_SD_MPS: f64 = 0.05;

/// The same while nobody knows of a stream: about a quarter of a knot. Common practice, no source.
const STREAM_UNKNOWN_SD_MPS: f64 = 0.12;

/// Radius in standard deviations of the ellipse that holds 0.9 of a plane normal distribution:
/// sqrt(-2 ln 0.1).
const NINE_TENTHS_SDS: f64 = 2.145_966;

/// Corners of a forecast area's outline before the hull is taken, for each side of downwind.
const OUTLINE_CORNERS: u32 = 24;

impl Push {
    /// The expected velocity over the ground of what drifts to one side; `None` when the wind is
    /// unknown.
    pub fn velocity(&self, what: Adrift, hand: Hand) -> Option<Velocity> {
        let (from, wind_mps) = self.wind?;
        let slip = Leeway::of(what).in_wind(wind_mps);
        Some(slip.over_ground(from, hand).plus(self.stream.unwrap_or_default()))
    }

    /// The middle of both sides: the best single guess of a drift whose side is unknown.
    pub fn mean_velocity(&self, what: Adrift) -> Option<Velocity> {
        let (from, wind_mps) = self.wind?;
        let down_mps = Leeway::of(what).in_wind(wind_mps).down_mps;
        Some(Velocity::towards(from.reversed(), down_mps).plus(self.stream.unwrap_or_default()))
    }

    /// The outline of the area in which what was at `start` (one standard deviation `start_sd_m`)
    /// will be after `s` seconds with a probability of about 0.9; convex, closed, clockwise. `None`
    /// when the wind is unknown.
    pub fn area(&self, what: Adrift, start: Local, start_sd_m: f64, s: f64) -> Option<Vec<Local>> {
        let (from, wind_mps) = self.wind?;
        let slip = Leeway::of(what).in_wind(wind_mps);
        let stream_sd_mps = if self.stream.is_some() { STREAM_SD_MPS } else { STREAM_UNKNOWN_SD_MPS };
        let radius_m = |sd_mps: f64| NINE_TENTHS_SDS * start_sd_m.hypot(s * sd_mps.hypot(stream_sd_mps));
        let (down_m, cross_m) = (radius_m(slip.down_sd_mps), radius_m(slip.cross_sd_mps));
        let downwind = from.reversed();
        let mut points = Vec::new();
        for hand in [Hand::Left, Hand::Right] {
            let centre = start.after(self.velocity(what, hand)?, s);
            for corner in 0..OUTLINE_CORNERS {
                let (sin, cos) =
                    (f64::from(corner) / f64::from(OUTLINE_CORNERS) * std::f64::consts::TAU).sin_cos();
                let out = Velocity::towards(downwind, cos * down_m)
                    .plus(Velocity::towards(downwind.turned(90.0), sin * cross_m));
                points.push(centre.after(out, 1.0));
            }
        }
        Some(hull(points))
    }
}

impl Slip {
    /// The same as a velocity over the ground in still water.
    pub fn over_ground(&self, wind_from: Bearing, hand: Hand) -> Velocity {
        let downwind = wind_from.reversed();
        let aside = match hand {
            Hand::Left => downwind.turned(-90.0),
            Hand::Right => downwind.turned(90.0),
        };
        Velocity::towards(downwind, self.down_mps).plus(Velocity::towards(aside, self.cross_mps))
    }
}

/// The area in which something measured to move at `velocity` (one standard deviation of a component
/// `velocity_sd_mps`) from `start` will be after `s` seconds with a probability of about 0.9.
pub fn area_of_motion(
    start: Local,
    start_sd_m: f64,
    velocity: Velocity,
    velocity_sd_mps: f64,
    s: f64,
) -> Vec<Local> {
    let radius_m = NINE_TENTHS_SDS * start_sd_m.hypot(velocity_sd_mps * s);
    let centre = start.after(velocity, s);
    let corner = |corner: u32| {
        let direction = Bearing::wrap(f64::from(corner) * 360.0 / f64::from(OUTLINE_CORNERS));
        centre.after(Velocity::towards(direction, radius_m), 1.0)
    };
    (0..=OUTLINE_CORNERS).map(corner).collect()
}

/// The convex hull, closed and clockwise (Andrew's monotone chain, 1979).
fn hull(mut points: Vec<Local>) -> Vec<Local> {
    points.sort_by(|a, b| a.east_m.total_cmp(&b.east_m).then(a.north_m.total_cmp(&b.north_m)));
    let turns_right = |a: Local, b: Local, c: Local| {
        (b.east_m - a.east_m) * (c.north_m - a.north_m) - (b.north_m - a.north_m) * (c.east_m - a.east_m)
            < 0.0
    };
    let chain = |points: &mut dyn Iterator<Item = Local>| {
        let mut chain: Vec<Local> = Vec::new();
        for point in points {
            while let [.., before, last] = chain[..] {
                if turns_right(before, last, point) {
                    break;
                }
                chain.pop();
            }
            chain.push(point);
        }
        chain
    };
    let mut upper = chain(&mut points.iter().copied());
    let lower = chain(&mut points.iter().rev().copied());
    upper.extend(lower.into_iter().skip(1)); // starts where the upper chain ends, ends where it began
    upper
}
