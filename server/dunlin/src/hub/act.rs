//! What a person asks from a tablet, carried out: checked, told to the engine or written to the
//! papers, answered once it is on disk.

use dunlin_engine::{
    effect::{Effect, Phase, Standing},
    fleet::{BoatIx, Role},
    input::{AlertId, Command, HandMark, HandWind},
    units::{Bearing, mps_from_kn},
    view::BoatView,
};

use super::{
    Hub,
    undo::Undo,
    wire::{AccessRole, Action, DayChange},
};
use crate::{
    access::role::{action_needs, role_word},
    day::{
        change::{Outcome, text},
        desk::DeskError,
        record::Record,
    },
    link::{Done, Picture},
};

/// Who acts.
#[derive(Clone, Debug)]
pub struct Actor {
    /// The name their actions are signed with.
    pub name: String,
    /// What they may do.
    pub role: AccessRole,
}

/// Carries an action out. Gives a handle for taking it back, where that is possible.
///
/// # Errors
/// Why it was not done, in words for the person who asked.
pub async fn act(hub: &Hub, who: &Actor, action: Action) -> Result<Option<u32>, String> {
    let needs = action_needs(&action);
    if who.role < needs {
        return Err(format!("only a {} may do this", role_word(needs).replace('-', " ")));
    }
    let undo = match action {
        Action::Day { change } => day(hub, who, change).await?,
        Action::Note { boat, text: words } => note(hub, who, boat, &words).await?,
        Action::Signal { signal, words } => give_signal(hub, who, signal, &words).await?,
        Action::Undo { undo } => return take_back(hub, who, undo).await.map(|()| None),
        Action::Mark { boat, mark } => set_mark(hub, who, boat, &mark).await?,
        other => {
            let picture = hub.picture();
            let (command, back) = command(&other, &picture)?;
            tell(hub, who, command).await?;
            Undo { commands: back.into_iter().collect(), what: "an action".to_owned(), ..Undo::default() }
        }
    };
    Ok(hub.undo.keep(Undo { needs: Some(needs), ..undo }))
}

async fn tell(hub: &Hub, who: &Actor, command: Command) -> Result<Done, String> {
    hub.link.command(&who.name, command).await.map_err(|refusal| refusal.to_string())
}

/// The boat at this place in the fleet, and how she is seen.
fn boat_at(picture: &Picture, ix: u32) -> Result<(BoatIx, Option<&BoatView>), String> {
    let known = usize::try_from(ix).is_ok_and(|at| at < picture.setup.fleet.len());
    let boat = u16::try_from(ix).ok().filter(|_| known).map(BoatIx);
    let boat = boat.ok_or_else(|| "this boat is not in the fleet".to_owned())?;
    Ok((boat, picture.boats.iter().find(|view| view.boat == boat)))
}

fn within(value: f64, least: f64, most: f64, what: &str) -> Result<f64, String> {
    if (least..=most).contains(&value) {
        Ok(value)
    } else {
        Err(format!("{what} must be from {least} to {most}"))
    }
}

fn bearing(deg: f64, what: &str) -> Result<Bearing, String> {
    let deg = within(deg, 0.0, 360.0, what)?;
    Bearing::from_degrees_true(deg).ok_or_else(|| format!("{what} is not a direction"))
}

fn heads(count: u32) -> Result<u8, String> {
    u8::try_from(count).ok().filter(|count| *count <= 60).ok_or_else(|| "at most 60 persons".to_owned())
}

/// What the engine is told, and what would take it back.
fn command(action: &Action, picture: &Picture) -> Result<(Command, Option<Command>), String> {
    let alert = |id: u32| picture.alerts.iter().find(|alert| alert.id == AlertId(id));
    Ok(match action {
        Action::Acknowledge { alert } => (Command::Acknowledge(AlertId(*alert)), None),
        Action::Silence { alert } => (Command::Silence(AlertId(*alert)), None),
        Action::Attend { alert: id, boat } => {
            let boat = boat.map(|ix| boat_at(picture, ix).map(|(boat, _)| boat)).transpose()?;
            if let Some(boat) = boat
                && picture.setup.fleet.get(usize::from(boat.0)).map(|boat| boat.role) != Some(Role::Safety)
            {
                return Err("only a safety boat can be sent".to_owned());
            }
            let before = alert(*id).and_then(|alert| alert.attended.as_ref()).map(|(boat, ..)| *boat);
            let back = (before != boat).then_some(Command::Attend(AlertId(*id), before));
            (Command::Attend(AlertId(*id), boat), back)
        }
        Action::Clear { alert, reason } => {
            (Command::Clear(AlertId(*alert), text(reason, "the reason")?), None)
        }
        Action::Heads { alert: id, counted } => {
            let before = alert(*id).and_then(|alert| alert.heads);
            let back = before.map(|heads| Command::HeadsCounted(AlertId(*id), heads));
            (Command::HeadsCounted(AlertId(*id), heads(*counted)?), back)
        }
        Action::Aboard { boat, persons } => {
            let (boat, view) = boat_at(picture, *boat)?;
            (Command::Aboard(boat, heads(*persons)?), view.map(|view| Command::Aboard(boat, view.persons)))
        }
        Action::SetWind { from_deg, speed_kn } => {
            let wind = match from_deg {
                Some(from) => Some(HandWind {
                    from: bearing(*from, "the wind's direction")?,
                    speed_mps: speed_kn
                        .map(|kn| within(kn, 0.0, 100.0, "the wind"))
                        .transpose()?
                        .map(mps_from_kn),
                }),
                None => None,
            };
            (Command::SetWind(wind), wind.is_some().then_some(Command::SetWind(None)))
        }
        Action::SetStream { towards_deg, speed_kn } => {
            let stream = match (towards_deg, speed_kn) {
                (Some(towards), Some(kn)) => Some((
                    bearing(*towards, "the stream's direction")?,
                    mps_from_kn(within(*kn, 0.0, 15.0, "the stream")?),
                )),
                (None, None) => None,
                _ => return Err("a stream needs both a direction and a speed".to_owned()),
            };
            let before = picture.stream.filter(|stream| stream.entered);
            let back = before.map(|stream| (stream.towards, stream.speed_mps));
            (Command::SetStream(stream), Some(Command::SetStream(back)))
        }
        Action::SetWindLimit { limit_kn } => {
            let limit = limit_kn.map(|kn| within(kn, 1.0, 80.0, "the wind limit")).transpose()?;
            let back = Command::SetWindLimit(picture.setup.wind_limit_mps);
            (Command::SetWindLimit(limit.map(mps_from_kn)), Some(back))
        }
        Action::Assign { source, boat } => {
            let source = text(source, "the source")?;
            let boat = boat.map(|ix| boat_at(picture, ix).map(|(boat, _)| boat)).transpose()?;
            let back = boat.is_some().then(|| Command::Assign(source.clone(), None));
            (Command::Assign(source, boat), back)
        }
        Action::Drill { boat, on } => {
            let (boat, _) = boat_at(picture, *boat)?;
            (Command::Drill(boat, *on), Some(Command::Drill(boat, !on)))
        }
        Action::Mark { .. }
        | Action::Signal { .. }
        | Action::Note { .. }
        | Action::Undo { .. }
        | Action::Day { .. } => return Err("this is not a command".to_owned()),
    })
}

/// What a person sees of a boat.
async fn set_mark(hub: &Hub, who: &Actor, ix: u32, word: &str) -> Result<Undo, String> {
    let picture = hub.picture();
    let (boat, view) = boat_at(&picture, ix)?;
    let painted = picture.setup.fleet.get(usize::from(boat.0)).map_or("?", |boat| boat.id.as_str());
    let mark = match word {
        "capsized" => HandMark::Capsized,
        "person_overboard" => HandMark::PersonOverboard,
        "needs_help" => HandMark::NeedsHelp,
        "fine" => HandMark::Fine,
        "ashore" => HandMark::Ashore,
        "afloat" => HandMark::Afloat,
        "stood_down" => HandMark::StoodDown,
        other => return Err(format!("\"{other}\" is not a mark")),
    };
    if mark == HandMark::Afloat {
        let desk = hub.desk.lock().await;
        if !desk.book().may_launch(painted) {
            let what = desk.book().safety_defects(painted).next().map_or("", |defect| defect.text.as_str());
            return Err(format!(
                "{painted} has an open safety defect: {what}. A duty officer can override it with a reason."
            ));
        }
    }
    let before = view.map(|view| view.standing);
    let done = tell(hub, who, Command::Mark(boat, mark)).await?;
    // A mark that raised alerts is taken back by ending just those; one in the tally by the mark
    // of the standing before.
    let raised = done.effects.iter().filter_map(|effect| match effect {
        Effect::Alert(change) if change.phase == Phase::Raised => Some(change.alert.id),
        _ => None,
    });
    let mut commands: Vec<Command> =
        raised.map(|alert| Command::Clear(alert, "taken back".to_owned())).collect();
    if matches!(mark, HandMark::Ashore | HandMark::Afloat | HandMark::StoodDown) {
        commands.extend(before.map(|standing| {
            Command::Mark(
                boat,
                match standing {
                    Standing::Ashore | Standing::Returned => HandMark::Ashore,
                    Standing::Afloat | Standing::Landed => HandMark::Afloat,
                    Standing::StoodDown => HandMark::StoodDown,
                },
            )
        }));
    }
    Ok(Undo { commands, what: format!("{} on {painted}", word.replace('_', " ")), ..Undo::default() })
}

async fn day(hub: &Hub, who: &Actor, change: DayChange) -> Result<Undo, String> {
    let mut desk = hub.desk.lock().await;
    let picture = hub.picture();
    let planned = desk.plan(hub.facts(&picture), &change).map_err(|error| error.to_string())?;
    if let DayChange::DeletePerson { person } = change {
        desk.delete_person(person, &who.name, hub.now_ms()).await.map_err(|error| error.to_string())?;
        hub.retell_log(&desk);
        hub.tell_day(&desk);
        hub.tell_anew(); // tablets forget the name with their old snapshot
        return Ok(Undo::default());
    }
    let Outcome { records, commands } = planned;
    let entries = hub.write(&mut desk, &who.name, records).await.map_err(|error| error.to_string())?;
    drop(desk);
    let mut back = Vec::new();
    for command in commands {
        back.extend(undo_of(&command, &picture));
        tell(hub, who, command).await.map_err(|refused| format!("written down, but: {refused}"))?;
    }
    let can_undo = !matches!(change, DayChange::Session { .. } | DayChange::Close { .. });
    let entries = if can_undo { entries } else { Vec::new() };
    Ok(Undo {
        commands: if can_undo { back } else { Vec::new() },
        entries,
        what: "a change to the day's papers".to_owned(),
        needs: None,
    })
}

/// How a command that followed from the papers is taken back.
fn undo_of(command: &Command, picture: &Picture) -> Option<Command> {
    match command {
        Command::Aboard(boat, _) => {
            let view = picture.boats.iter().find(|view| view.boat == *boat)?;
            Some(Command::Aboard(*boat, view.persons))
        }
        _ => None,
    }
}

async fn note(hub: &Hub, who: &Actor, boat: Option<u32>, words: &str) -> Result<Undo, String> {
    let picture = hub.picture();
    let boat = boat.map(|ix| hub.facts(&picture).painted(ix)).transpose()?;
    let record = Record::Note { boat, text: text(words, "the note")? };
    let mut desk = hub.desk.lock().await;
    let entries = hub.write(&mut desk, &who.name, vec![record]).await.map_err(|error| error.to_string())?;
    Ok(Undo { entries, what: "a note".to_owned(), ..Undo::default() })
}

async fn give_signal(hub: &Hub, who: &Actor, signal: Option<String>, words: &str) -> Result<Undo, String> {
    if let Some(signal) = &signal
        && !["all-in", "stop", "move"].contains(&signal.as_str())
    {
        return Err(format!("\"{signal}\" is not a signal: all-in, stop or move"));
    }
    let words = if words.trim().is_empty() { String::new() } else { text(words, "the words")? };
    let mut desk = hub.desk.lock().await;
    let record = Record::Signal { signal, words };
    let entries = hub.write(&mut desk, &who.name, vec![record]).await.map_err(|error| error.to_string())?;
    Ok(Undo { entries, what: "a signal".to_owned(), ..Undo::default() })
}

async fn take_back(hub: &Hub, who: &Actor, handle: u32) -> Result<(), String> {
    let undo = hub.undo.take(handle).ok_or_else(|| "this can no longer be taken back".to_owned())?;
    let done = match undo.needs.filter(|needs| who.role < *needs) {
        Some(needs) => Err(format!("only a {} may take this back", role_word(needs).replace('-', " "))),
        None => try_back(hub, who, &undo).await,
    };
    if done.is_err() {
        hub.undo.put_back(handle, undo);
    }
    done
}

async fn try_back(hub: &Hub, who: &Actor, undo: &Undo) -> Result<(), String> {
    let mut desk = hub.desk.lock().await;
    if !undo.entries.is_empty() {
        desk.undo(&undo.entries, hub.now_ms()).await.map_err(|error: DeskError| error.to_string())?;
        hub.retell_log(&desk);
        hub.tell_anew();
    }
    let record = Record::Note { boat: None, text: format!("took back: {}", undo.what) };
    hub.write(&mut desk, &who.name, vec![record]).await.map_err(|error| error.to_string())?;
    drop(desk);
    for command in undo.commands.clone() {
        tell(hub, who, command).await?;
    }
    Ok(())
}
