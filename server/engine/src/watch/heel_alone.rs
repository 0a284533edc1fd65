//! Heel without a position: a phone under a thwart, or under a boat, feels how she lies and sees no sky.
//!
//! Where positions come, what she is doing is weighed from both (`conditions`). Where they do not, a heel
//! past 75 degrees that lasts is near proof by itself; all that is missing is where. So it is of a boat that
//! left the beach a moment ago and is not yet counted as out: nothing is weighed of her motion there.

use crate::{
    effect::Level,
    moment::Moment,
    tracks::Motion,
    watch::words::{duration, making},
};

/// Heel beyond which a boat lies on her side, degrees: most dinghies no longer right themselves
/// (common practice, no source).
pub const ON_HER_SIDE_DEG: f64 = 75.0;

/// Below this she is up again, degrees.
const UPRIGHT_DEG: f64 = 45.0;

/// Of a boat that counts as ashore it is worth a warning after so long, ms: she may be lifted or laid over by those
/// who launch her (our choice).
const LASTS_ASHORE_MS: i64 = 30_000;

/// How long the heel has to last, ms: a knockdown or a phone dropped and picked up is over sooner
/// (our choice).
const LASTS_MS: i64 = 8_000;

/// Older than this, the newest position says nothing of now, ms: three reports of a source that gives one
/// every 5 s.
const NO_POSITION_MS: i64 = 15_000;

/// A sensor that showed her on her side while she made way, m/s, ...
const SAILS_ON_MPS: f64 = 1.0;

/// ... so long after she went over, ms: by then the way that she had is gone, ...
const SAILS_ON_MS: i64 = 5_000;

/// ... is not believed by itself for this long, ms: it is in a pocket, or was knocked loose.
const LOOSE_MS: i64 = 900_000;

/// What the heel of one boat shows by itself.
#[derive(Clone, Copy, Debug, Default)]
pub struct HeelAlone {
    /// Since when on her side, by arrival.
    over_since: Option<Moment>,
    /// The newest reading.
    newest: Option<(Moment, f64)>,
    /// When it last was proved to be loose.
    loose: Option<Moment>,
}

/// A boat that lies on her side while nobody knows where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lying {
    /// Since when.
    pub since: Moment,
    /// The newest heel, degrees, either side.
    pub heel_deg: f64,
    /// When it was told.
    pub told: Moment,
}

impl HeelAlone {
    /// Heel was told; `motion` is what her newest fix shows, however old.
    pub fn on_heel(&mut self, now: Moment, heel_deg: f64, motion: Option<&Motion>) {
        let heel_deg = heel_deg.abs();
        self.newest = Some((now, heel_deg));
        if heel_deg > ON_HER_SIDE_DEG {
            let since = *self.over_since.get_or_insert(now);
            // A way that she still had when she went over is none that she makes on her side.
            let sails_on = |motion: &Motion| {
                motion.at.ms_since(since) > SAILS_ON_MS && motion.speed_mps() > SAILS_ON_MPS
            };
            if motion.is_some_and(sails_on) {
                self.loose = Some(now);
            }
        } else if heel_deg < UPRIGHT_DEG {
            self.over_since = None;
        }
    }

    /// Whether she lies on her side as far as heel alone can tell; `None` while positions come, which
    /// tell more. Silence afterwards proves nothing better: it stands until she is felt upright or seen.
    pub fn lying(&self, now: Moment, motion: Option<&Motion>) -> Option<Lying> {
        self.over(now).filter(|_| motion.is_none_or(|motion| is_old(now, motion)))
    }

    /// Whether she has lain on her side for some seconds, wherever she is.
    pub fn over(&self, now: Moment) -> Option<Lying> {
        let ((told, heel_deg), since) = (self.newest?, self.over_since?);
        let is_loose = self.loose.is_some_and(|at| now.ms_since(at) < LOOSE_MS);
        let has_lasted = told.ms_since(since) >= LASTS_MS;
        (has_lasted && !is_loose).then_some(Lying { since, heel_deg, told })
    }
}

fn is_old(now: Moment, motion: &Motion) -> bool {
    now.ms_since(motion.at) > NO_POSITION_MS
}

impl Lying {
    /// What it is worth of a boat that counts as ashore and has moved from where she lay.
    pub fn level_off_the_beach(&self) -> Level {
        let is_long = self.told.ms_since(self.since) >= LASTS_ASHORE_MS;
        if is_long { Level::Warning } else { Level::Caution }
    }

    /// The same in words.
    pub fn words_off_the_beach(&self) -> Vec<String> {
        let lasted = duration(self.told, self.since);
        let heel = format!("heel {:.0} deg for {lasted}", self.heel_deg);
        vec![heel, "not yet counted as out, but moved from where she lay".to_owned()]
    }

    /// In words, most telling first.
    pub fn words(&self, now: Moment, motion: Option<&Motion>) -> Vec<String> {
        let lasted = duration(self.told, self.since);
        let mut words = vec![format!("heel {:.0} deg for {lasted}", self.heel_deg)];
        match motion {
            Some(motion) => {
                words.push(format!("no position for {}", duration(now, motion.at)));
                words.push(format!("last seen {}", making(motion)));
            }
            None => words.push("no position yet: where she is, is not known".to_owned()),
        }
        words
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        fixes::{Fix, What},
        tracks::{Plane, Track},
        units::{Bearing, Position, Velocity},
    };

    /// Her motion after a fix at `at_ms` that says `speed_mps`.
    fn motion(at_ms: i64, speed_mps: f64) -> Motion {
        let position = Position::new(50.0, -5.0).expect("on the earth");
        let fix = Fix { position, accuracy_m: None, speed_mps: Some(speed_mps), course: None };
        let mut track = Track::default();
        track.hear(Moment(at_ms), &What::Fix(fix), Moment(at_ms), &Plane::at(position));
        Motion { velocity: Velocity::towards(Bearing::NORTH, speed_mps), ..*track.motion().expect("a fix") }
    }

    /// Tells heel each second from 0 on and gives the first second at which she is said to lie.
    fn first_said(heels: impl Iterator<Item = f64>, motion: Option<&Motion>) -> Option<i64> {
        let mut heel = HeelAlone::default();
        for (second, deg) in (0..).zip(heels) {
            let now = Moment(second * 1_000);
            heel.on_heel(now, deg, motion);
            if heel.lying(now, motion).is_some() {
                return Some(second);
            }
        }
        None
    }

    #[test]
    fn only_a_heel_that_lasts_and_that_no_position_speaks_for_counts() {
        let (on_her_side, knocked) = (|| [-100.0; 30].into_iter(), [100.0; 5].into_iter().chain([20.0; 30]));
        let old = motion(-30_000, 2.0);
        assert_eq!(first_said(on_her_side(), Some(&old)), Some(8));
        assert_eq!(first_said(on_her_side(), None), Some(8), "never seen, and felt all the same");
        assert_eq!(first_said(knocked, Some(&old)), None);
        assert_eq!(first_said([40.0; 60].into_iter(), Some(&old)), None);
        // Positions came until second 3: from then on they are missing.
        assert_eq!(first_said(on_her_side(), Some(&motion(3_000, 0.2))), Some(19));
    }

    #[test]
    fn a_sensor_that_lay_over_while_she_sailed_on_is_not_believed() {
        assert_eq!(first_said([120.0; 60].into_iter(), Some(&motion(9_000, 2.0))), None);
        // Her way of the moment before says nothing.
        assert!(first_said([120.0; 60].into_iter(), Some(&motion(1_000, 2.0))).is_some());
    }

    #[test]
    fn silence_after_it_does_not_take_it_back_and_standing_up_does() {
        let mut heel = HeelAlone::default();
        for second in 0..10 {
            heel.on_heel(Moment(second * 1_000), 100.0, None);
        }
        assert!(heel.lying(Moment(300_000), None).is_some());
        let words = heel.lying(Moment(300_000), None).map(|lying| lying.words(Moment(300_000), None));
        let expected = ["heel 100 deg for 9 s", "no position yet: where she is, is not known"];
        assert_eq!(words, Some(expected.map(str::to_owned).to_vec()));
        heel.on_heel(Moment(301_000), 10.0, None);
        assert_eq!(heel.lying(Moment(301_000), None), None);
    }
}
