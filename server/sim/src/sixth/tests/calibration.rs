//! Measures on the water what was measured in the recordings, in the same manner, and holds it to that.

use super::*;
use crate::sixth::helm::Kind as Turning;

/// A boat's speed over the ground, a quarter of a second apart, and what she was at.
#[derive(Clone, Copy)]
struct Moment {
    mps: f64,
    reason: Option<Reason>,
    turn: Option<Turning>,
    off_down_deg: f64,
    of_wind: f64,
}

const A_SECOND: usize = 4;

fn tracks() -> Vec<Vec<Moment>> {
    let mut all = Vec::new();
    for (ix, scenario) in
        ["sixth-steady", "sixth-gusty", "sixth-no-vane"].into_iter().cycle().take(9).enumerate()
    {
        let mut boats: Vec<Vec<Moment>> = Vec::new();
        sailed(scenario, 70 + ix as u64, |water, ix| {
            boats.resize_with(water.boats.len(), Vec::new);
            let boat = &water.boats[ix];
            let (through, air) = (boat.hull.through(), water.field.at(boat.hull.at, water.t_s()));
            let off_deg = crate::plane::fold_180(through.bearing_deg() - air.from_deg - 180.0);
            boats[ix].push(Moment {
                mps: through.length(),
                reason: boat.reason(),
                turn: boat.helm.turn.map(|turn| turn.kind),
                off_down_deg: off_deg.abs(),
                of_wind: through.length() / air.speed_mps,
            });
        });
        all.append(&mut boats);
    }
    all
}

/// At that share of the way through the sorted values.
fn share(values: &[f64], share: f64) -> f64 {
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    values[((values.len() - 1) as f64 * share) as usize]
}

/// What does not lie within the bounds at a share of the way through.
fn near(what: &str, values: &[f64], bounds: [(f64, f64, f64); 3]) -> Vec<String> {
    let all = [0.1, 0.5, 0.9].map(|at| share(values, at));
    println!("{what}: n={} {all:.3?}", values.len());
    let is_off = |&(at, least, most): &(f64, f64, f64)| !(least..=most).contains(&share(values, at));
    bounds
        .iter()
        .filter(|bound| is_off(bound))
        .map(|bound| format!("{what}: {all:?} not in {bound:?}"))
        .collect()
}

fn hold(off: &[Vec<String>]) {
    assert!(off.iter().all(Vec::is_empty), "{off:#?}");
}

/// The most lost within 3 s, of `way`, in `from..to`.
fn worst(track: &[Moment], from: usize, to: usize, way_mps: f64) -> f64 {
    let to = to.min(track.len() - 3 * A_SECOND - 1);
    (from..to.max(from + 1))
        .map(|at| (track[at].mps - track[at + 3 * A_SECOND].mps) / way_mps)
        .fold(0.0, f64::max)
}

/// Median of what she did over 0.9 m/s in the three minutes before.
fn way(track: &[Moment], at: usize) -> Option<f64> {
    let before = &track[at.saturating_sub(180 * A_SECOND)..at];
    let moving: Vec<f64> = before.iter().map(|moment| moment.mps).filter(|mps| *mps > 0.9).collect();
    (moving.len() > 30 * A_SECOND).then(|| share(&moving, 0.5))
}

#[test]
fn turns_lose_what_was_measured() {
    let (mut tacks, mut gybes, mut recovers_s) = (Vec::new(), Vec::new(), Vec::new());
    for track in tracks() {
        let mut at = 12 * A_SECOND;
        while at + 40 * A_SECOND < track.len() {
            let (before, now) = (track[at - 1], track[at]);
            let window = &track[at - 12 * A_SECOND..at + 12 * A_SECOND];
            let sails = window.iter().all(|moment| moment.reason.is_none());
            let base_mps = track[at - 6 * A_SECOND..at].iter().map(|moment| moment.mps).sum::<f64>()
                / (6 * A_SECOND) as f64;
            if let (None, Some(kind), true) = (before.turn, now.turn, sails && base_mps > 0.8) {
                let lost = worst(&track, at - A_SECOND, at + 8 * A_SECOND, base_mps);
                // As in the recordings: from close-hauled, or from well off the wind.
                let off_down_deg = track[at - A_SECOND].off_down_deg;
                if kind == Turning::Tack && off_down_deg > 100.0 {
                    tacks.push(lost);
                    let end = at + 10 * A_SECOND;
                    let least =
                        (at..end).min_by(|a, b| track[*a].mps.total_cmp(&track[*b].mps)).expect("moments");
                    let again = (least..track.len()).find(|at| track[*at].mps > 0.9 * base_mps);
                    recovers_s.extend(again.map(|again| (again - least) as f64 / A_SECOND as f64));
                } else if kind == Turning::Gybe && off_down_deg < 85.0 {
                    gybes.push(lost);
                }
            }
            at += 1;
        }
    }
    // Measured: 0.26, 0.35, 0.45; 0.03, 0.10, 0.24; 1.5, 5.5, 24 s.
    hold(&[
        near("tack loses", &tacks, [(0.1, 0.2, 0.3), (0.5, 0.31, 0.39), (0.9, 0.4, 0.55)]),
        near("gybe loses", &gybes, [(0.1, 0.0, 0.08), (0.5, 0.06, 0.16), (0.9, 0.17, 0.34)]),
        near("tack recovers s", &recovers_s, [(0.1, 1.0, 4.0), (0.5, 4.0, 8.0), (0.9, 12.0, 30.0)]),
    ]);
}

#[test]
fn stops_take_as_long_as_was_measured() {
    let (mut lost, mut falls_s, mut rests, mut off_deg) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let mut kinds: BTreeMap<Reason, Vec<f64>> = BTreeMap::new();
    for track in tracks() {
        for at in 1..track.len() {
            let began = track[at].reason.filter(|_| track[at - 1].reason.is_none());
            let Some(reason) = began else { continue };
            let Some(way_mps) = way(&track, at) else { continue };
            let end = (at..track.len()).find(|end| track[*end].reason != Some(reason)).unwrap_or(track.len());
            let low = (at..end).find(|at| track[*at].mps < 0.3 * way_mps);
            let full = (0..at + 4).rev().find(|at| track[*at].mps > 0.85 * way_mps).unwrap_or(at);
            let full = (full..end).rev().find(|at| track[*at].mps > 0.85 * way_mps).unwrap_or(full);
            kinds.entry(reason).or_default().push(worst(&track, at.saturating_sub(4), at + 40, way_mps));
            let Some(low) = low.filter(|_| matches!(reason, Reason::Waiting | Reason::HoveTo)) else {
                continue;
            };
            falls_s.push(low.saturating_sub(full) as f64 / A_SECOND as f64);
            lost.push(worst(&track, full, low + 4, way_mps));
            let rest = &track[low..end];
            rests.push(rest.iter().map(|moment| moment.mps).sum::<f64>() / rest.len() as f64 / way_mps);
            if reason == Reason::Waiting {
                // Where she went in all, as in the recordings.
                let sum = |part: fn(f64) -> f64| {
                    rest.iter().map(|moment| moment.mps * part(moment.off_down_deg.to_radians())).sum::<f64>()
                };
                off_deg.push(sum(f64::sin).atan2(sum(f64::cos)).to_degrees());
            }
        }
    }
    for (reason, lost) in &kinds {
        println!("{reason:?}: n={} median {:.2} p90 {:.2}", lost.len(), share(lost, 0.5), share(lost, 0.9));
    }
    // Measured: 0.16, 0.28, 0.51; 8, 30, 86 s; 0.13, 0.32, 0.39; 65, 112, 130 degrees.
    hold(&[
        near("stop loses", &lost, [(0.1, 0.12, 0.24), (0.5, 0.23, 0.36), (0.9, 0.36, 0.6)]),
        near("stop falls s", &falls_s, [(0.1, 4.0, 13.0), (0.5, 20.0, 40.0), (0.9, 60.0, 120.0)]),
        near("stop rests", &rests, [(0.1, 0.08, 0.2), (0.5, 0.2, 0.36), (0.9, 0.3, 0.5)]),
        near("stop off downwind", &off_deg, [(0.1, 15.0, 75.0), (0.5, 70.0, 115.0), (0.9, 105.0, 140.0)]),
    ]);
}

#[test]
fn a_capsize_stops_her_and_she_drifts_as_published() {
    let (mut lost, mut drifts, mut off_deg) = (Vec::new(), Vec::new(), Vec::new());
    for track in tracks() {
        for at in A_SECOND..track.len() - 40 * A_SECOND {
            let began = track[at].reason == Some(Reason::Capsized) && track[at - 1].reason.is_none();
            if !began || track[at].mps < 0.6 {
                continue;
            }
            lost.push(worst(&track, at - A_SECOND, at + 6 * A_SECOND, track[at].mps));
            let settled = &track[at + 18 * A_SECOND..at + 20 * A_SECOND];
            drifts.extend(settled.iter().map(|moment| moment.of_wind).step_by(8));
            off_deg.extend(settled.iter().map(|moment| moment.off_down_deg).step_by(8));
        }
    }
    // A windsurfer's falls on a watch that smooths: 0.47, 0.57, 0.70. Drift 1.65 to 2.3 %, more if she
    // sheers.
    hold(&[
        near("capsize loses", &lost, [(0.1, 0.4, 0.6), (0.5, 0.55, 0.75), (0.9, 0.7, 0.95)]),
        near("drift", &drifts, [(0.1, 0.012, 0.02), (0.5, 0.018, 0.03), (0.9, 0.03, 0.06)]),
        near("drift off downwind", &off_deg, [(0.1, 0.0, 20.0), (0.5, 8.0, 35.0), (0.9, 40.0, 75.0)]),
    ]);
}

#[test]
fn her_speed_varies_as_it_was_measured_to() {
    let (mut spreads, mut changes, mut kept) = (Vec::new(), Vec::new(), Vec::new());
    let mean = |piece: &[Moment]| piece.iter().map(|moment| moment.mps).sum::<f64>() / piece.len() as f64;
    for track in tracks() {
        let minutes: Vec<&[Moment]> = track.chunks_exact(60 * A_SECOND).collect();
        for pair in minutes.windows(2) {
            if pair.iter().any(|minute| minute.iter().any(|moment| moment.mps < 0.7)) {
                continue;
            }
            changes.push((mean(pair[1]) / mean(pair[0]) - 1.0).abs());
        }
        let far = 8 * A_SECOND;
        for piece in track.chunks_exact(120 * A_SECOND) {
            if piece.iter().any(|moment| moment.mps < 0.8) {
                continue;
            }
            let mean_mps = mean(piece);
            let of: Vec<f64> = piece.iter().map(|moment| moment.mps - mean_mps).collect();
            let var = of.iter().map(|value| value * value).sum::<f64>() / of.len() as f64;
            let both = of.iter().zip(&of[far..]).map(|(now, then)| now * then).sum::<f64>();
            spreads.push(var.sqrt() / mean_mps);
            kept.push(both / (of.len() - far) as f64 / var);
        }
    }
    // Measured: about 0.1 to 0.2 within two minutes; medians of 0.06 to 0.11; 0.36 to 0.64 kept after 8 s.
    hold(&[
        near("spread of speed", &spreads, [(0.1, 0.03, 0.15), (0.5, 0.1, 0.22), (0.9, 0.15, 0.35)]),
        near("minute to minute", &changes, [(0.1, 0.005, 0.04), (0.5, 0.05, 0.15), (0.9, 0.15, 0.4)]),
        near("kept after 8 s", &kept, [(0.1, -0.2, 0.4), (0.5, 0.3, 0.7), (0.9, 0.5, 0.9)]),
    ]);
}
