//! Weighing instruments, a person's word and the fleet against each other.

use std::collections::BTreeMap;

use super::{
    Disagreement, WaterWind, Wind,
    circle::{Circle, Summary},
    vane::Vane,
    vectors::{air_from, from_of},
};
use crate::{
    effect::{Basis, WindNow},
    moment::Moment,
    units::{Bearing, Velocity},
};

/// The chance that an instrument is wrong altogether: knocked, seized, set up backwards (our choice).
const LIE: f64 = 0.03;
/// Error of a direction a person gives by eye and compass, degrees (our choice).
const HAND_SD_DEG: f64 = 8.0;
/// What an unknown stream does to courses over the ground, degrees: 0.5 kn across the wind turns
/// them by 6 to 8 (`wind_from_tracks_current_bias.csv`); most sailing waters have less.
const UNKNOWN_STREAM_DEG: f64 = 4.0;
/// What the doubt of a known stream does to them, degrees for each m/s: 5.8 degrees for 0.5 kn at a
/// boat speed of 3.5 kn (the same table).
const STREAM_DEG_PER_MPS: f64 = 22.0;
/// Error of the fleet's answer that more boats do not take away, degrees (our choice): all of them
/// may favour one tack, or sail in one bend of the wind.
const FLEET_BIAS_DEG: f64 = 3.0;
/// What all instruments of one venue get wrong together, degrees (our choice): the wind where they
/// stand is not quite the wind of the whole water, nor is a minute's mean the wind of this moment.
const VENUE_DEG: f64 = 2.5;
/// The same of the fleet, degrees: its courses of the last minutes tell less of the wind of this moment than a vane
/// does (measured: with 2.5 the truth lay within the stated deviation in 0.60 of tuning sessions' time).
const FLEET_VENUE_DEG: f64 = 4.5;
/// With more doubt than this the fleet's answer is not given, degrees.
const FLEET_SD_MAX_DEG: f64 = 25.0;
/// An instrument this far from everything else is reported, degrees.
const DISAGREE_DEG: f64 = 25.0;
/// After so long, s.
const DISAGREE_S: f64 = 120.0;

/// What weighing came to.
pub(super) struct Fused {
    pub(super) now: Option<WindNow>,
    pub(super) water: Option<WaterWind>,
}

/// What the fleet shows, kept between the times it is worked out.
#[derive(Clone, Debug)]
pub(super) struct Shown {
    /// Over the water, as far as the stream is known.
    felt: Circle,
    /// The same with the doubt of an unknown stream.
    ground: Circle,
    /// In short, over the water.
    summary: Summary,
}

impl Default for Shown {
    fn default() -> Shown {
        Shown::by(&Circle::default(), None)
    }
}

impl Shown {
    /// What a belief from courses comes to.
    pub(super) fn by(belief: &Circle, stream_sd_mps: Option<f64>) -> Shown {
        let felt = belief.blurred(FLEET_BIAS_DEG);
        let ground = felt.blurred(stream_sd_mps.map_or(UNKNOWN_STREAM_DEG, |sd| STREAM_DEG_PER_MPS * sd));
        Shown { summary: felt.summary(), felt, ground }
    }
}

/// One instrument's word at this moment.
struct Word<'a> {
    source: &'a str,
    vane: &'a Vane,
    from: Bearing,
    sd_deg: f64,
    speed_mps: Option<f64>,
}

impl Wind {
    pub(super) fn fuse(&self, now: Moment) -> Fused {
        let words = self.words(now);
        let speed_mps = self.speed_mps(&words);
        let stream = self.stream_mps();
        let stream_known = self.stream.now().is_some();
        let unknown_stream_deg = if stream_known { 0.0 } else { UNKNOWN_STREAM_DEG };

        let mut felt = self.shown.felt.clone();
        let mut ground = self.shown.ground.clone();
        if let Some(shift_deg) = ground_shift_deg(self.shown.summary.from, speed_mps, stream) {
            ground = ground.turned(shift_deg);
        }
        for word in &words {
            ground.state(word.from, word.sd_deg, LIE);
            let over_water = over_water(word.from, word.speed_mps, stream);
            felt.state(over_water, word.sd_deg.hypot(unknown_stream_deg), LIE);
        }
        if let Some((from, sd_deg, speed_mps)) = self.hand_word(now) {
            let over_water = over_water(from, speed_mps, stream);
            felt.state(over_water, sd_deg.hypot(unknown_stream_deg), LIE);
        }

        let fleet_summary = self.shown.summary;
        Fused {
            now: self.wind_now(now, &words, &ground.summary(), &fleet_summary, speed_mps),
            water: self.water(now, &words, &felt.summary(), speed_mps, stream),
        }
    }

    fn words(&self, now: Moment) -> Vec<Word<'_>> {
        self.vanes
            .iter()
            .filter_map(|(source, vane)| {
                let (from, sd_deg) = vane.direction(now)?;
                Some(Word { source, vane, from, sd_deg, speed_mps: vane.speed_mps(now) })
            })
            .collect()
    }

    fn hand_word(&self, now: Moment) -> Option<(Bearing, f64, Option<f64>)> {
        let (hand, said) = self.hand?;
        let grown = HAND_SD_DEG.powi(2) + super::DRIFT_DEG2_PER_S * now.s_since(said).max(0.0);
        Some((hand.from, grown.sqrt(), hand.speed_mps))
    }

    /// The person's word, else the middle one of what the instruments say.
    fn speed_mps(&self, words: &[Word<'_>]) -> Option<f64> {
        if let Some((hand, _)) = self.hand
            && hand.speed_mps.is_some()
        {
            return hand.speed_mps;
        }
        let mut speeds: Vec<f64> = words.iter().filter_map(|word| word.speed_mps).collect();
        speeds.sort_by(f64::total_cmp);
        let middle = speeds.len() / 2;
        match speeds.len() {
            0 => None,
            2 => Some((speeds[0] + speeds[1]) / 2.0),
            _ => Some(speeds[middle]),
        }
    }

    fn wind_now(
        &self,
        now: Moment,
        words: &[Word<'_>],
        ground: &Summary,
        fleet: &Summary,
        speed_mps: Option<f64>,
    ) -> Option<WindNow> {
        let fleet_heard = self.fleet.heard().filter(|_| fleet.sd_deg <= FLEET_SD_MAX_DEG);
        let (basis, from, sd_deg, heard) = if let Some((from, sd_deg, _)) = self.hand_word(now) {
            (Basis::Manual, from, sd_deg, self.hand?.1)
        } else if let Some(heard) = words.iter().map(|word| word.vane.heard()).max() {
            (Basis::Instrument, ground.from, ground.sd_deg.hypot(VENUE_DEG), heard)
        } else {
            (Basis::Fleet, ground.from, ground.sd_deg.hypot(FLEET_VENUE_DEG), fleet_heard?)
        };
        let best = words.iter().min_by(|a, b| a.sd_deg.total_cmp(&b.sd_deg)).map(|word| &word.vane.gusts);
        Some(WindNow {
            at: now,
            from,
            sd_deg,
            speed_mps,
            gust_mps: best.and_then(super::gusts::Gusts::gust_mps),
            lull_mps: best.and_then(super::gusts::Gusts::lull_mps),
            trend_deg: self.trend_deg(now, from),
            basis,
            heard,
            because: self.because(basis, words, fleet_heard.is_some()),
        })
    }

    fn water(
        &self,
        now: Moment,
        words: &[Word<'_>],
        felt: &Summary,
        speed_mps: Option<f64>,
        stream: Velocity,
    ) -> Option<WaterWind> {
        let told = !words.is_empty() || self.hand_word(now).is_some();
        let over_water = |ground_mps: f64| air_from(felt.from, ground_mps).minus(stream).speed_mps();
        (told || felt.sd_deg <= FLEET_SD_MAX_DEG).then(|| WaterWind {
            from: felt.from,
            sd_deg: felt.sd_deg,
            speed_mps: speed_mps.map(over_water),
            now_mps: speed_mps
                .zip(gust_ratio(now, words))
                .map(|(speed_mps, ratio)| over_water(speed_mps * ratio)),
            stream,
        })
    }

    fn because(&self, basis: Basis, words: &[Word<'_>], fleet_tells: bool) -> String {
        let (boats, turns) = self.fleet.counts();
        let fleet = format!("{boats} boat{} and {turns:.0} turns", if boats == 1 { "" } else { "s" });
        match basis {
            Basis::Manual => "set by hand".to_string(),
            Basis::Fleet => fleet,
            Basis::Instrument => {
                let vanes = match words {
                    [one] => one.source.to_string(),
                    _ => format!("{} instruments", words.len()),
                };
                if fleet_tells { format!("{vanes} and {fleet}") } else { vanes }
            }
        }
    }

    pub(super) fn disagreements_at(&self, now: Moment) -> BTreeMap<String, Disagreement> {
        let words = self.words(now);
        words
            .iter()
            .filter_map(|word| {
                let (other, other_sd_deg, with) = self.others(now, &words, word.source)?;
                let off_deg = other.turn_to(word.from);
                let limit = DISAGREE_DEG.max(2.5 * other_sd_deg.hypot(word.sd_deg));
                (off_deg.abs() > limit).then(|| {
                    let since = self.suspect_since(word.source).unwrap_or(now);
                    (
                        word.source.to_string(),
                        Disagreement { source: word.source.to_string(), off_deg, since, with },
                    )
                })
            })
            .collect()
    }

    /// The wind according to everything but one instrument, with its doubt and grounds.
    fn others(&self, now: Moment, words: &[Word<'_>], source: &str) -> Option<(Bearing, f64, String)> {
        let mut belief = self.shown.ground.clone();
        let mut grounds = Vec::new();
        if self.shown.summary.sd_deg <= FLEET_SD_MAX_DEG {
            grounds.push(format!("the courses of {} boats", self.fleet.counts().0));
        }
        for word in words.iter().filter(|word| word.source != source) {
            belief.state(word.from, word.sd_deg, LIE);
            grounds.push(word.source.to_string());
        }
        if let Some((from, sd_deg, _)) = self.hand_word(now) {
            belief.state(from, sd_deg, LIE);
            grounds.push("the wind set by hand".to_string());
        }
        let summary = belief.summary();
        (!grounds.is_empty() && summary.sd_deg <= FLEET_SD_MAX_DEG)
            .then(|| (summary.from, summary.sd_deg, grounds.join(", ")))
    }

    fn suspect_since(&self, source: &str) -> Option<Moment> {
        self.disagreeing.get(source).map(|known| known.since)
    }
}

impl Disagreement {
    /// Whether it has lasted long enough to be told.
    pub fn lasting(&self, now: Moment) -> bool {
        now.s_since(self.since) >= DISAGREE_S
    }
}

/// How the last seconds compare with the mean, over all instruments that tell; `None`: none does.
///
/// A ratio, so that it holds as well for a mean that a person gave.
fn gust_ratio(now: Moment, words: &[Word<'_>]) -> Option<f64> {
    let ratios = words.iter().filter_map(|word| {
        let mean_mps = word.speed_mps.filter(|mean_mps| *mean_mps > 0.5)?;
        Some(word.vane.gusts.now_mps(now)? / mean_mps)
    });
    let (sum, count) = ratios.fold((0.0, 0.0), |(sum, count), ratio| (sum + ratio, count + 1.0));
    (count > 0.0).then(|| sum / count)
}

/// The direction of a ground wind as felt over moving water. Without a speed it cannot be turned.
fn over_water(from: Bearing, speed_mps: Option<f64>, stream: Velocity) -> Bearing {
    speed_mps.and_then(|speed_mps| from_of(air_from(from, speed_mps).minus(stream))).unwrap_or(from)
}

/// How far the wind over the ground lies from the wind over the water, clockwise positive.
fn ground_shift_deg(water_from: Bearing, speed_mps: Option<f64>, stream: Velocity) -> Option<f64> {
    if stream.speed_mps() == 0.0 {
        return None;
    }
    let ground = from_of(air_from(water_from, speed_mps?).plus(stream))?;
    Some(water_from.turn_to(ground))
}

impl Circle {
    /// The belief with every direction turned clockwise by `deg`.
    fn turned(&self, deg: f64) -> Circle {
        let mut turned = Circle::default();
        turned.add(|direction| self.log_at(direction - deg));
        turned
    }
}
