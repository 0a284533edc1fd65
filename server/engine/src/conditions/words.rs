//! The evidence in plain words and numbers, most telling first.

use crate::{
    moment::Moment,
    tracks::Motion,
    units::{Bearing, kn_from_mps},
};

use super::around::Surroundings;

/// Seconds before the stop in which her speed under way is looked for.
const BEFORE_S: f64 = 12.0;

/// " for 12 s", " for 2 min 5 s"; nothing while it says nothing.
pub(crate) fn lasts(s: f64) -> String {
    match s as u32 {
        0..2 => String::new(),
        s @ 2..120 => format!(" for {s} s"),
        s => format!(" for {} min {} s", s / 60, s % 60),
    }
}

/// "4.1 kn to 0.5 kn in 3 s": from the fastest of the last seconds before `began` to the first
/// moment at a third of it.
pub(crate) fn stop<'a>(
    history: impl DoubleEndedIterator<Item = &'a Motion>,
    began: Moment,
) -> Option<String> {
    let mut fastest: Option<(Moment, f64)> = None;
    let mut slow: Option<(Moment, f64)> = None;
    for motion in history {
        let speed = motion.said.map_or(motion.speed_mps(), |said| said.speed_mps());
        let after_s = motion.at.s_since(began);
        if !(-BEFORE_S..=2.0 * BEFORE_S).contains(&after_s) {
            continue;
        }
        if after_s <= 2.0 && fastest.is_none_or(|(_, best)| speed >= best * 0.95) {
            fastest = Some((motion.at, speed));
            slow = None;
        } else if let Some((_, best)) = fastest
            && slow.is_none()
            && speed < best / 3.0
        {
            slow = Some((motion.at, speed));
        }
    }
    let ((from_at, from), (to_at, to)) = (fastest?, slow?);
    Some(format!(
        "{:.1} kn to {:.1} kn in {:.0} s",
        kn_from_mps(from),
        kn_from_mps(to),
        to_at.s_since(from_at).max(1.0)
    ))
}

/// "drifting 041 with the wind for 14 s".
pub(crate) fn drift(
    toward: Bearing,
    speed_mps: f64,
    wind_from: Option<Bearing>,
    for_s: f64,
) -> Option<String> {
    if speed_mps < 0.05 {
        return Some(format!("lying still for {for_s:.0} s"));
    }
    let with = wind_from.map(|from| from.reversed().turn_to(toward).abs());
    let relation = match with {
        Some(off) if off < 50.0 => " with the wind",
        Some(off) if off < 100.0 => " across the wind",
        Some(_) => " against the wind",
        None => "",
    };
    Some(format!(
        "drifting {:03.0} at {:.1} kn{relation} for {for_s:.0} s",
        toward.deg().round() % 360.0,
        kn_from_mps(speed_mps)
    ))
}

/// What around her made it likelier.
pub(crate) fn context(around: &Surroundings, since_gybe_at_stop_s: Option<f64>, gust: f64) -> Vec<String> {
    let mut words = Vec::new();
    if since_gybe_at_stop_s.is_some_and(|s| s < 10.0) {
        words.push("just after a gybe".to_owned());
    }
    if gust > 1.25 {
        words.push("in a gust".to_owned());
    }
    if around.wind.is_none() {
        words.push("wind unknown".to_owned());
    }
    words
}
