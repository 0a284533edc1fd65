//! The phones err as stated.

use super::*;

#[test]
fn phones_err_as_stated() {
    let (mut all_m, mut all_mps, mut stills, mut step_m) = (Vec::new(), Vec::new(), 0, Vec::new());
    for ix in 0..60 {
        let mut phone = Phone::draw(Dice::new(5, "sixth phone test", ix));
        let velocity = Vec2::new(1.5, 0.0);
        let (mut last, mut still) = (None, 0);
        for second in 0..1_800 {
            (0..FIX_STEPS).for_each(|_| phone.watch(velocity, STEP_S));
            let Some(told) = phone.fix(Vec2::default(), f64::from(second)) else { continue };
            if second > 10 {
                all_m.push(told.at.east);
                all_mps.push(told.speed_mps - 1.5);
                step_m.extend(last.map(|last: Vec2| told.at.east - last.east));
            }
            last = Some(told.at);
        }
        for second in 0..120 {
            (0..FIX_STEPS).for_each(|_| phone.watch(Vec2::default(), STEP_S));
            let told = phone.fix(Vec2::default(), f64::from(second));
            still += usize::from(told.is_some_and(|told| told.course_deg.is_none()));
        }
        stills += usize::from(still > 60);
    }
    let sd =
        |values: &[f64]| (values.iter().map(|value| value * value).sum::<f64>() / values.len() as f64).sqrt();
    let (all_m, all_mps, step_m) = (sd(&all_m), sd(&all_mps), sd(&step_m));
    assert!((2.4..3.8).contains(&all_m), "one axis of the position is off by {all_m} m");
    assert!((0.8..1.4).contains(&step_m), "white noise alone moves a fix by {step_m} m");
    assert!((0.06..0.11).contains(&all_mps), "speed is off by {all_mps} m/s");
    assert!((3..=18).contains(&stills), "{stills} of 60 phones know a boat that lies still");
}

#[test]
fn some_fall_silent_under_the_hull_and_most_do_not() {
    let (mut silent, mut capsizes) = (0, 0);
    for (ix, scenario) in SIXTH_WATER.into_iter().cycle().take(8).enumerate() {
        let truth = sailed(scenario, 90 + ix as u64, |_, _| {});
        capsizes += truth.capsizes.len();
        silent += truth.silences.iter().filter(|silence| silence.capsized).count();
    }
    let share = silent as f64 / capsizes as f64;
    assert!((0.04..0.35).contains(&share), "{silent} of {capsizes}");
}
