//! Recorded logs through the engine: the same alerts on every run, as fast as the machine can.

mod arrival;
pub mod command;
mod day;
pub mod merge;
mod summary;

use std::convert::Infallible;

use dunlin_engine::{
    Engine, Setup,
    effect::{Discard, DiscardReason, Effect},
    input::Input,
    moment::Moment,
};

use self::merge::Arrived;

/// Runs `lines`, in the order of their arrival, through a fresh engine. `sink` gets every effect
/// with the moment `t` at which it would have reached a person: never earlier than the line that
/// caused it, never earlier than the effect before it. Returns the engine as it stands at the end.
///
/// Memory does not grow with the count of lines.
pub fn run(
    setup: Setup,
    lines: impl IntoIterator<Item = Arrived>,
    mut sink: impl FnMut(Moment, &Effect),
) -> Engine {
    let ran = try_run(setup, lines, |t, effect| {
        sink(t, effect);
        Ok::<(), Infallible>(())
    });
    match ran {
        Ok(engine) => engine,
        Err(never) => match never {},
    }
}

/// As [`run`], for a sink that can fail.
///
/// # Errors
/// The sink's first error; nothing more is read or told after it.
pub fn try_run<E>(
    setup: Setup,
    lines: impl IntoIterator<Item = Arrived>,
    mut sink: impl FnMut(Moment, &Effect) -> Result<(), E>,
) -> Result<Engine, E> {
    let mut engine = Engine::new(setup);
    let mut told = Moment(i64::MIN);
    for arrived in lines {
        let Arrived { at, feed, line, too_long } = arrived;
        if too_long {
            told = told.max(at);
            sink(told, &Effect::Discard(too_long_discard(at, feed.0, &line)))?;
            continue;
        }
        for effect in engine.on(at, Input::Line { feed, line }) {
            told = told.max(moment(&effect));
            sink(told, &effect)?;
        }
        // What is told from now on follows from this line or from time after it.
        told = told.max(at);
    }
    Ok(engine)
}

/// The refusal of a line that was longer than the engine takes; the shell cuts it, so the shell
/// says so.
pub fn too_long_discard(at: Moment, feed: String, start: &[u8]) -> Discard {
    Discard { at, feed, source: None, reason: DiscardReason::TooLong, excerpt: excerpt(start) }
}

/// When the engine says that an effect happened.
pub fn moment(effect: &Effect) -> Moment {
    match effect {
        Effect::Alert(change) => change.at,
        Effect::Manoeuvre(manoeuvre) => manoeuvre.at,
        Effect::Rounding(rounding) => rounding.at,
        Effect::Wind(wind) => wind.at,
        Effect::Tally(change) => change.at,
        Effect::Discard(discard) => discard.at,
    }
}

/// The first bytes of a line, made printable.
pub fn excerpt(line: &[u8]) -> String {
    line[..line.len().min(60)].escape_ascii().to_string()
}
