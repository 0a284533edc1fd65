//! The ways of stopping, and how well each is held. Angles, way kept and times are guesses.

use super::{crew::Crew, doing::Stop};
use crate::{dice::Dice, truth::Reason};

/// Jib backed, tiller to leeward. Beginners fore-reach and luff in turns.
pub(super) fn heaves_to(crew: &Crew, side: f64, until_s: f64, dice: &mut Dice) -> Stop {
    let fore_mps = (0.27 - 0.14 * crew.skill + 0.14 * dice.normal()).max(0.03);
    stop(Reason::HoveTo, until_s, side * dice.between(42.0, 66.0), fore_mps)
}

/// Sheets let fly, waiting for the others.
pub(super) fn waits(crew: &Crew, side: f64, until_s: f64, dice: &mut Dice) -> Stop {
    let fore_mps = (0.18 - 0.08 * crew.skill + 0.1 * dice.normal()).max(0.0);
    stop(Reason::Waiting, until_s, side * dice.between(50.0, 88.0), fore_mps)
}

/// Caught head to wind: going astern until somebody backs the jib.
pub(super) fn is_in_irons(crew: &Crew, to: f64, t_s: f64, dice: &mut Dice) -> Stop {
    let lasts_s = dice.log_normal(22.0 - 16.0 * crew.skill, 0.8).clamp(3.0, 180.0);
    stop(Reason::InIrons, t_s + lasts_s, to * dice.between(0.0, 12.0), -dice.between(0.0, 0.25))
}

/// Beside something or somebody in the water.
pub(super) fn picks_up(side: f64, until_s: f64, dice: &mut Dice) -> Stop {
    stop(Reason::DrillPickUp, until_s, side * dice.between(35.0, 60.0), dice.between(0.0, 0.15))
}

/// Alongside the safety boat.
pub(super) fn lies_alongside(side: f64, until_s: f64, dice: &mut Dice) -> Stop {
    stop(Reason::Rafted, until_s, side * dice.between(45.0, 80.0), dice.between(0.0, 0.08))
}

/// Upright again: climbing in, bailing, sorting out ropes. Who was over for longer is wetter and more tired.
pub(super) fn recovers(crew: &Crew, side: f64, t_s: f64, over_s: f64, dice: &mut Dice) -> Stop {
    let lasts_s =
        dice.log_normal((42.0 - 28.0 * crew.skill) * (over_s / 60.0).powf(0.8), 0.7).clamp(3.0, 240.0);
    stop(Reason::Recovering, t_s + lasts_s, side * dice.between(50.0, 95.0), 0.0)
}

fn stop(reason: Reason, until_s: f64, off_deg: f64, fore_mps: f64) -> Stop {
    Stop { reason, until_s, off_deg, fore_mps, leaves_s: None }
}
